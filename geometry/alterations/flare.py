"""Flare added or removed.

When: the hem is to stand out further, or less far, and the waist is to stay as it is.

By hand: slash from the hem straight up to the waist at even distances, leave hinges on the waist stitching line and
spread the slips fanwise, the same at each; or overlap them to take flare out. The waist keeps its length and turns
into a rounder line; waist and hem are drawn smooth again. A flare at the side seam alone is a seam let out at the hem.

Source: a slash ends in a hinge on the stitching line so that the paper lies flat: Robinson, ch. 17, Central Washington
University. Even slashes, upright from the waist: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import shapely

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import square_direction
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.hand_ways import fanned
from geometry.handwork import HandStep, Work
from geometry.lines import joined, tidied
from geometry.motions import Point
from geometry.notes import Target, edge_run_length, place_at
from geometry.pieces import Edge, EdgeKind, LineKind, Piece, Place, Run, RunKind, neighbours
from geometry.readings import mm_words
from geometry.slashes import slashed
from geometry.splines import spline
from geometry.stages import Offer, Strip

ADD, REMOVE = "add", "remove"
COUNTS = {"two slashes": 2, "one slash": 1, "three slashes": 3, "four slashes": 4, "five slashes": 5}
_CENTRES = (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK)


@dataclass(frozen=True)
class Flare:
    way: str = choice("add or remove", ADD, REMOVE)
    amount: float = mm("amount", 60.0, 0.0, 1000.0, main=True, basis="at the hem of each piece, over all its slashes")
    slashes: str = choice("slashes", *COUNTS)


def do(garment: Garment, amounts: Flare, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        return PieceDone(piece) if amount == 0 else _flared(piece, amounts, amount, note)

    done = piece_by_piece(garment, targets, one)
    return done if done.garment is garment else replace(done, offers=_joined(garment, amounts, targets))


def _flared(piece: Piece, amounts: Flare, amount: float, note: str) -> PieceDone:
    count = COUNTS[amounts.slashes]
    waist, hem, inner, from_start = _edges(piece)
    each = amount / count if amounts.way == ADD else -amount / count
    # What is spread last moves everything beyond it, so that every slash is cut in paper that still hangs straight.
    order = range(count, 0, -1) if amounts.way == ADD else range(1, count + 1)
    findings: list[Finding] = []
    strips: list[Strip] = []
    now = piece
    for number in order:
        hinge = _hinge(now, waist, number / (count + 1), from_start)
        foot = _foot(now, hem, hinge)
        done = slashed(now, hinge, foot, each, note, inner.chain.point(len(inner.chain) / 2), hinge)
        now = done.moved.piece
        findings.extend(done.moved.findings)
        strips.append(Strip(piece.id, done.strip, amounts.way == ADD))
    now = _grain_kept(_drawn_round(now, hem), piece)
    if piece.edge(waist).chain.is_straight:
        now = _drawn_round(now, waist)
    findings = [one for one in findings if one.code != "line-straightened"]
    words = "adds" if amounts.way == ADD else "takes out"
    whole = f"{mm_words(amount)} at the hem of each “{piece.name}”, {mm_words(amount * piece.cut_count)} in all"
    said = f"{words} {whole}, {mm_words(amount / count)} at each slash; the waist keeps its length"
    return PieceDone(now, tuple(findings), tuple(strips), (said,))


def _drawn_round(piece: Piece, edge_id: str) -> Piece:
    """A fanned edge as one smooth line through the middles of the slips, which keeps both of its corners."""
    slips = [run.chain for run in piece.edge(edge_id).runs if run.kind is not RunKind.FILLED]
    if len(slips) < 2:
        return piece
    middles = [slip.at_length(slip.length / 2) for slip in slips]
    first, last = slips[0].part(0.0, middles[0]), slips[-1].part(middles[-1], float(len(slips[-1])))
    points = [slip.point(u) for slip, u in zip(slips, middles, strict=True)]
    line = tidied(joined([first, spline(points, first.end_tangent, last.start_tangent), last]))
    notches = tuple(
        replace(n, place=Place(edge_id, 0, line.nearest(piece.point_at(n.place))[0])) if n.place.edge == edge_id else n
        for n in piece.notches
    )
    edges = tuple(replace(e, runs=(Run(line),), joints=()) if e.id == edge_id else e for e in piece.edges)
    return replace(piece, edges=edges, notches=notches)


def _grain_kept(piece: Piece, before: Piece) -> Piece:
    """The grainline as it lay beside the centre, which stays, wherever the piece still holds it."""
    held = piece.polygon.buffer(0.5)
    kept = {
        line.id: line
        for line in before.lines
        if line.kind in (LineKind.GRAIN, LineKind.STRETCH) and held.covers(shapely.LineString(line.chain.flat[0]))
    }
    return replace(piece, lines=tuple(kept.get(line.id, line) for line in piece.lines))


def _edges(piece: Piece) -> tuple[str, str, Edge, bool]:
    """The ids of waist and hem, the edge that stays, and whether the waist starts at it."""
    waists, hems = piece.edges_of(EdgeKind.WAIST), piece.edges_of(EdgeKind.HEM)
    if len(waists) != 1 or len(hems) != 1:
        raise PatternError(f"“{piece.name}” needs one waist edge and one hem to be slashed between them.", piece.id)
    before, after = neighbours(piece, waists[0].id)
    from_start = before.on_fold or (before.kind in _CENTRES and not after.on_fold)
    return waists[0].id, hems[0].id, before if from_start else after, from_start


def _hinge(piece: Piece, waist_id: str, share: float, from_start: bool) -> Point:
    waist = piece.edge(waist_id)
    length = edge_run_length(waist)
    return piece.point_at(place_at(waist, length * (share if from_start else 1 - share)))


def _foot(piece: Piece, hem_id: str, hinge: Point) -> Point:
    """Where the slash straight down from the waist meets the hem."""
    x, y = square_direction(piece)
    hem = piece.edge(hem_id).chain
    found = [hem.point(u) for u in hem.crossings(hinge, (-y, x))]
    if not found:
        raise PatternError(
            f"A slash straight down from the waist misses the hem of “{piece.name}”; make fewer slashes.",
            piece.id,
            hem_id,
            hinge,
        )
    return min(found, key=lambda point: math.dist(point, hinge))


def _joined(garment: Garment, amounts: Flare, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """The same offered for the pieces that hang beside these."""
    done = {target.piece for target in targets}
    left: dict[str, None] = {}
    for target in targets:
        piece = garment.piece(target.piece)
        for beside in neighbours(piece, piece.edges_of(EdgeKind.HEM)[0].id):
            for seam in garment.seams_of(piece.id, beside.id):
                left |= {ref.piece: None for ref in (*seam.first, *seam.second) if ref.piece not in done}
    if not left:
        return ()
    names = " and ".join(f"“{garment.piece(piece).name}”" for piece in left)
    return (Offer(f"Do the same to {names}", "flare", amounts, tuple(map(Target, left))),)


def steps(work: Work) -> list[HandStep]:
    before, count = work.before, COUNTS[work.amounts.slashes]
    waist, hem, _, from_start = _edges(before)
    hinges = [_hinge(before, waist, number / (count + 1), from_start) for number in range(1, count + 1)]
    return fanned(work, [(hinge, _foot(before, hem, hinge)) for hinge in hinges], work.amount(part=1 / count))


ALTERATION = Alteration(
    name="flare",
    title="Flare added or removed",
    region="width",
    order=14,
    sentence="{way} {amount} of flare at the hem of {pieces}, in {slashes} from the waist",
    amounts=Flare,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a straight panel 400 mm long, 60 mm of flare in two slashes",
            "30 mm at each, which turns the outer paper by 4.298 degrees twice; the waist keeps its length",
            "2 asin(30 / 800), worked by hand",
        ),
    ),
    describes=__doc__,
)
