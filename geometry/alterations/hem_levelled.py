"""Hem levelled.

When: one end of a hem hangs lower on the body than the other, or a curved hem is wanted level.

By hand: where the hem is to be level all round, rule it straight and square to the fold or centre at the height of one
of its ends, and trim the seams to it or rule them on.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, piece_by_piece, share
from geometry.alterations.hem import cut_away, cut_off, hem_of
from geometry.crossings import met
from geometry.cutting_lines import hem_side_normal, largest_part, paper_lost, square_direction
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.lines import Chain, chain, tidied
from geometry.motions import Point
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, Notch, Piece, Run, neighbours
from geometry.readings import mm_words
from geometry.reseating import lines_reseated
from geometry.stages import Strip

AT_CENTRE, AT_SIDE = "as high as at the centre", "as high as at the side"
_CENTRES = (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK)


@dataclass(frozen=True)
class HemLevelled:
    height: str = choice("how high", AT_CENTRE, AT_SIDE)
    part: float = share("part of the slant and curve taken out", 1.0, basis="of the hem's height over the level")


def do(garment: Garment, amounts: HemLevelled, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        return PieceDone(piece) if amounts.part == 0 else _levelled(piece, amounts, target, note)

    return piece_by_piece(garment, targets, one)


def _levelled(piece: Piece, amounts: HemLevelled, target: Target, note: str) -> PieceDone:
    hem = hem_of(piece, target)
    middle = piece.polygon.centroid
    up = hem_side_normal(piece, (middle.x, middle.y), square_direction(piece))
    before, after = neighbours(piece, hem.id)
    centre_first = before.on_fold or (before.kind in _CENTRES and not after.on_fold)
    kept = hem.start if centre_first == (amounts.height == AT_CENTRE) else hem.end
    heights = [(x - kept[0]) * up[0] + (y - kept[1]) * up[1] for x, y in hem.chain.flat[0].tolist()]
    if max(map(abs, heights)) < 1e-9:
        return PieceDone(piece)
    line = _pressed_flat(hem.chain, kept, up, amounts.part)
    new = _with_hem(piece, hem, line, max(map(abs, heights)))
    out, gone = paper_lost(new, piece), paper_lost(piece, new)
    new = replace(new, lines=tuple(cut_off(line, gone) for line in new.lines))
    added = bool(shapely.area(out) > shapely.area(gone))
    strip = Strip(piece.id, largest_part(out if added else gone), added)
    rise, fall = max(0.0, -min(heights)) * amounts.part, max(0.0, *heights) * amounts.part
    words = f"the hem of “{piece.name}” goes up by {mm_words(rise)} and down by {mm_words(fall)} at the most"
    return PieceDone(new, cut_away(new, gone, note), (strip,), (words,))


def _pressed_flat(line: Chain, kept: Point, up: Point, part: float) -> Chain:
    """The line with ``part`` of its height over a level taken out, which is exact for its control points."""
    height = (line.cubics[..., 0] - kept[0]) * up[0] + (line.cubics[..., 1] - kept[1]) * up[1]
    x, y = line.cubics[..., 0] - part * height * up[0], line.cubics[..., 1] - part * height * up[1]
    if part == 1.0:
        return chain([((float(x[0, 0]), float(y[0, 0])), (float(x[-1, 3]), float(y[-1, 3])))])
    return chain([list(zip(xs, ys, strict=True)) for xs, ys in zip(x.tolist(), y.tolist(), strict=True)])


def _with_hem(piece: Piece, hem: Edge, line: Chain, most: float) -> Piece:
    before, after = neighbours(piece, hem.id)
    reach = 5 * most + 1.0
    first = met(before.runs[-1].chain, line, reach)
    second = met(first[1], after.runs[0].chain, reach) if first is not None else None
    if first is None or second is None:
        raise PatternError(
            f"The levelled hem of “{piece.name}” would no longer meet its seams; take out less.", piece.id, hem.id
        )
    runs_before = (*before.runs[:-1], replace(before.runs[-1], chain=tidied(first[0])))
    runs_after = (replace(after.runs[0], chain=tidied(second[1])), *after.runs[1:])
    edges = {
        before.id: replace(before, runs=runs_before),
        hem.id: replace(hem, runs=(Run(tidied(second[0])),), joints=()),
        after.id: replace(after, runs=runs_after),
    }
    outline = tuple(edges.get(edge.id, edge) for edge in piece.edges)
    notches = tuple(_seated(piece, notch, edges) for notch in piece.notches)
    return replace(piece, edges=outline, notches=notches, lines=lines_reseated(piece, edges, reach))


def _seated(piece: Piece, notch: Notch, edges: dict[str, Edge]) -> Notch:
    place = notch.place
    if place.edge not in edges:
        return notch
    point, run = piece.point_at(place), place.run if len(edges[place.edge].runs) > place.run else 0
    u, gap = edges[place.edge].runs[run].chain.nearest(point)
    if gap > 0.5 and edges[place.edge].kind not in (EdgeKind.HEM, EdgeKind.WRIST):
        raise PatternError(f"Notch “{notch.name}” of “{piece.name}” would be cut away.", piece.id, place.edge, point)
    return replace(notch, place=replace(place, run=run, u=u))


ALTERATION = Alteration(
    name="hem_levelled",
    title="Hem levelled",
    region="length",
    order=16,
    sentence="Level the hem of {pieces}, {height}: take out {part} of its slant and curve",
    amounts=HemLevelled,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a hem that was raised by 40 mm at the side, levelled as high as at the centre",
            "straight and square to the fold; the side as long as before it was raised",
            "geometry",
        ),
    ),
    describes=__doc__,
)
