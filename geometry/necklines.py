"""The neckline of a piece: its two ends, and drawing it anew from one of them.

A facing with its own inner edge keeps its width: that edge is carried along with the neckline.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.carrying import followed, run_on, slid, stretched, with_edges
from geometry.cutting_lines import square_direction
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.motions import Point, slide
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, Line, Piece, neighbours

_CENTRES = (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK)


@dataclass(frozen=True, eq=False)
class Neckline:
    """A neckline with the centre edge and the shoulder seam that meet it.

    ``centre_first`` is True where the neckline starts at the centre in outline order.
    """

    edge: Edge
    centre: Edge
    shoulder: Edge
    centre_first: bool

    @property
    def centre_end(self) -> Point:
        return self.edge.start if self.centre_first else self.edge.end

    @property
    def shoulder_end(self) -> Point:
        return self.edge.end if self.centre_first else self.edge.start


def neckline_of(piece: Piece) -> Neckline:
    """The neckline of a piece that is cut on the fold or as a pair.

    Raises PatternError when it has none, and when its neckline does not run from a centre to a shoulder seam.
    """
    necks = piece.edges_of(EdgeKind.NECKLINE)
    if not necks:
        raise PatternError(f"“{piece.name}” has no neckline; choose another piece.", piece.id)
    for edge in necks:
        before, after = neighbours(piece, edge.id)
        for centre, shoulder, first in ((before, after, True), (after, before, False)):
            if _is_centre(centre) and shoulder.kind is EdgeKind.SHOULDER:
                return Neckline(edge, centre, shoulder, first)
    raise PatternError(
        f"The neckline of “{piece.name}” does not run from a centre to a shoulder seam, as it would on half a piece.",
        piece.id,
        necks[0].id,
        necks[0].start,
    )


def neckline_raised(piece: Piece, up: float) -> Piece:
    """The piece with its neckline raised by ``up`` mm along the centre (lowered when negative).

    The shoulder end stays; every point goes by its share of the neckline's height, so that it stays square to the
    centre. Raises PatternError where there is no room.
    """
    neck = neckline_of(piece)
    across = square_direction(piece)
    longer = run_on(piece, neck.centre, not neck.centre_first, up)
    corner = longer.end if neck.centre_first else longer.start
    shift = (corner[0] - neck.centre_end[0], corner[1] - neck.centre_end[1])
    drawn = stretched(piece, neck.edge, neck.centre_first, shift, across)
    inner = _inner(piece, neck.centre, neck.edge)
    if inner is None:
        return with_edges(piece, (drawn,), (longer,), reach=abs(up) + 30.0)
    carried = _carried(piece, inner, not neck.centre_first, shift)
    new = with_edges(piece, (drawn, slid(neck.centre, shift), carried))
    return replace(new, lines=tuple(_with_the_neck(line, neck, shift, across) for line in new.lines))


def neckline_widened(piece: Piece, out: float) -> Piece:
    """The piece with its neckline widened by ``out`` mm along the shoulder seam (narrowed when negative).

    The centre end stays. Raises PatternError where there is no room.
    """
    neck = neckline_of(piece)
    shorter = run_on(piece, neck.shoulder, neck.centre_first, -out)
    corner = shorter.start if neck.centre_first else shorter.end
    shift = (corner[0] - neck.shoulder_end[0], corner[1] - neck.shoulder_end[1])
    drawn = stretched(piece, neck.edge, not neck.centre_first, shift, square_direction(piece))
    inner = _inner(piece, neck.shoulder, neck.edge)
    if inner is None:
        return with_edges(piece, (drawn,), (shorter,), reach=abs(out) + 30.0)
    carried = _carried(piece, inner, neck.centre_first, shift)
    return with_edges(piece, (drawn, slid(neck.shoulder, shift), carried))


def necks_that_copy(garment: Garment, targets: tuple[Target, ...]) -> tuple[Target, ...]:
    """The facings and linings whose neckline copies a target's and that are no targets themselves."""
    done = {target.piece: target for target in targets}
    found: dict[str, Target] = {}
    for piece in garment.pieces:
        for copy in piece.copies:
            of = done.get(copy.piece)
            if of is None or piece.id in done:
                continue
            if garment.piece(copy.piece).edge(copy.of_edge).kind is EdgeKind.NECKLINE:
                found.setdefault(piece.id, Target(piece.id, amount=of.amount))
    return tuple(found.values())


def named(garment: Garment, targets: tuple[Target, ...]) -> str:
    """The names of the targets' pieces in quotes, strung together."""
    return " and ".join(f"“{garment.piece(target.piece).name}”" for target in targets)


def _is_centre(edge: Edge) -> bool:
    return edge.on_fold or edge.kind in _CENTRES


def _inner(piece: Piece, between: Edge, neck: Edge) -> Edge | None:
    """A facing's inner edge beyond an end of its neckline, None on any other piece."""
    other = next(edge for edge in neighbours(piece, between.id) if edge.id != neck.id)
    return other if other.kind is EdgeKind.FACING else None


def _carried(piece: Piece, inner: Edge, at_start: bool, shift: Point) -> Edge:
    try:
        return stretched(piece, inner, at_start, shift, square_direction(piece))
    except PatternError:
        return followed(piece, inner, at_start, shift)


def _with_the_neck(line: Line, neck: Neckline, shift: Point, across: Point) -> Line:
    """A line on a facing goes with the neckline beside it."""
    middle = line.chain.point(len(line.chain) / 2)
    start, end = (across[0] * p[0] + across[1] * p[1] for p in (neck.shoulder_end, neck.centre_end))
    share = min(max((across[0] * middle[0] + across[1] * middle[1] - start) / (end - start), 0.0), 1.0)
    return replace(line, chain=line.chain.moved(slide(share * shift[0], share * shift[1])))
