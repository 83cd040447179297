"""Bust point raised, lowered or moved.

When: the dart points above, below or beside the fullest part of the bust.

By hand: the bust point is marked anew. A dart that points across the way it moves (a side dart, for raising and
lowering) is cut out in a box, mouth and all, and the box is slid along its seam; the paper it slides over is folded
out, what opens behind it is filled, and the seam is drawn smooth again. A dart that points along the way it moves keeps
its mouth, and its legs are ruled longer or shorter to the new point.

Source: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import shapely

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import hem_side_normal, largest_part, square_direction
from geometry.darts import bust_marks_carried, bust_point_of, is_at, mouth_of, without_bust
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.hand_bust import box_slid
from geometry.motions import Point, slide
from geometry.moves import lay_together
from geometry.notes import Target
from geometry.pieces import LEVELS, Dart, EdgeKind, LineKind, Piece
from geometry.readings import mm_words
from geometry.regions import FAR_MM, Patch, Region
from geometry.stages import Strip

RAISE, LOWER, INWARD, OUTWARD = "raise", "lower", "move to the centre", "move to the side"
#: The box about a dart lies this far outside its mouth and beyond its bust point (mm).
_MARGIN_MM = 12.0
#: A dart is left at least this long (mm).
_LEAST_MM = 5.0
_KEPT = LEVELS | {LineKind.GRAIN, LineKind.STRETCH, LineKind.CENTRE, LineKind.LENGTHEN}


@dataclass(frozen=True)
class BustPointMoved:
    way: str = choice("which way", RAISE, LOWER, INWARD, OUTWARD)
    amount: float = mm("amount", 20.0, 0.0, 80.0, main=True, basis="from the bust point as it is")


def do(garment: Garment, amounts: BustPointMoved, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        bust = bust_point_of(piece)
        shift = _shift(piece, bust, amounts.way, amount)
        new, findings, strips = _moved(piece, bust, shift, note)
        words = f"the bust point of “{piece.name}” moves {mm_words(amount)}; its darts follow"
        return PieceDone(new, findings, strips, (words,))

    return piece_by_piece(garment, targets, one)


def _shift(piece: Piece, bust: Point, way: str, amount: float) -> Point:
    up = hem_side_normal(piece, bust, square_direction(piece))
    if way in (RAISE, LOWER):
        sign = 1.0 if way == RAISE else -1.0
        return (sign * amount * up[0], sign * amount * up[1])
    for edge in piece.edges:
        if edge.on_fold or edge.kind is EdgeKind.CENTRE_FRONT:
            centre = edge.start
            break
    else:
        raise PatternError(f"“{piece.name}” has no centre front; raise or lower the bust point only.", piece.id)
    side = (up[1], -up[0])
    if (centre[0] - bust[0]) * side[0] + (centre[1] - bust[1]) * side[1] > 0:
        side = (-side[0], -side[1])
    sign = 1.0 if way == OUTWARD else -1.0
    return (sign * amount * side[0], sign * amount * side[1])


def _moved(
    piece: Piece, bust: Point, shift: Point, note: str
) -> tuple[Piece, tuple[Finding, ...], tuple[Strip, ...]]:
    """The piece with its bust point moved, and every dart that aims at it."""
    aiming = [dart for dart in piece.darts if is_at(dart.bust_point, bust)]
    new, strips = without_bust(piece, aiming, bust), []
    new = replace(new, lines=tuple(line for line in new.lines if line.kind not in _KEPT))
    findings: tuple[Finding, ...] = ()
    darts = {dart.id: dart for dart in piece.darts}
    for dart in aiming:
        if _along(piece, dart, shift):
            darts[dart.id] = _reaching(piece, dart, shift)
            continue
        by = _along_mouth(piece, dart, shift)
        box, swept = _box(piece, dart, by)
        strips.append(Strip(piece.id, largest_part(shapely.Polygon(swept.corners).intersection(new.polygon)), False))
        regions = [Region(swept, None), Region(box, slide(*by))]
        moved = lay_together(new, regions, note, _unit(dart.bust_point, mouth_of(piece, dart).point(0.5)))
        new, findings = moved.piece, findings + moved.findings
        reached = _reaching(piece, dart, (shift[0] - by[0], shift[1] - by[1]))
        ends = (_sum(reached.bust_point, by), _sum(reached.sewn_point, by))
        darts[dart.id] = replace(reached, bust_point=ends[0], sewn_point=ends[1])
    placed = {d.id: d for d in new.darts}
    new = replace(new, darts=tuple(placed.get(d.id, darts[d.id]) for d in piece.darts))
    kept = {line.id: line for line in new.lines}
    new = replace(new, lines=tuple(kept.get(line.id, line) for line in piece.lines))
    return bust_marks_carried(piece, new, slide(*shift)), findings, tuple(strips)


def _along(piece: Piece, dart: Dart, shift: Point) -> bool:
    ux, uy = _unit(dart.bust_point, mouth_of(piece, dart).point(0.5))
    return abs(shift[0] * ux + shift[1] * uy) >= abs(shift[0] * uy - shift[1] * ux)


def _along_mouth(piece: Piece, dart: Dart, shift: Point) -> Point:
    """The slide along the dart's mouth that goes as far the wanted way, so that the seam hardly jogs."""
    ux, uy = mouth_of(piece, dart).start_tangent
    scale = (shift[0] ** 2 + shift[1] ** 2) / (shift[0] * ux + shift[1] * uy)
    return (scale * ux, scale * uy)


def _reaching(piece: Piece, dart: Dart, shift: Point) -> Dart:
    """The dart with its points moved square to its mouth as far as a shift goes that way; its legs stay equal."""
    ux, uy = mouth_of(piece, dart).start_tangent
    along = -shift[0] * uy + shift[1] * ux
    by = (-along * uy, along * ux)
    new = replace(dart, bust_point=_sum(dart.bust_point, by), sewn_point=_sum(dart.sewn_point, by))
    if -along >= math.dist(dart.sewn_point, mouth_of(piece, dart).point(0.5)) - _LEAST_MM:
        raise PatternError(
            f"The {dart.name} of “{piece.name}” would have no length left.", piece.id, dart.edge, dart.sewn_point
        )
    return new


def _box(piece: Piece, dart: Dart, shift: Point) -> tuple[Patch, Patch]:
    """The box about a dart, its ends along the way it slides, and the paper that it slides over."""
    mouth = mouth_of(piece, dart)
    middle = mouth.point(0.5)
    out, way = _unit(dart.bust_point, middle), _unit((0.0, 0.0), shift)
    cross = out[0] * way[1] - out[1] * way[0]
    # A point is the mouth's middle + deep * out + beside * way.
    beside = [((p[1] - middle[1]) * out[0] - (p[0] - middle[0]) * out[1]) / cross for p in (mouth.start, mouth.end)]
    low, high = min(beside) - _MARGIN_MM, max(beside) + _MARGIN_MM
    inner, front = -math.dist(dart.bust_point, middle) - _MARGIN_MM, high + math.hypot(*shift)

    def patch(first: float, last: float) -> Patch:
        corners = ((inner, first), (FAR_MM, first), (FAR_MM, last), (inner, last))
        return Patch(tuple(
            (middle[0] + deep * out[0] + side * way[0], middle[1] + deep * out[1] + side * way[1])
            for deep, side in corners
        ))  # fmt: skip

    return patch(low, high), patch(high, front)


def _unit(start: Point, end: Point) -> Point:
    size = math.dist(start, end)
    return ((end[0] - start[0]) / size, (end[1] - start[1]) / size)


def _sum(point: Point, shift: Point) -> Point:
    return (point[0] + shift[0], point[1] + shift[1])


ALTERATION = Alteration(
    name="bust_point_moved",
    title="Bust point moved",
    region="bust and chest",
    order=51,
    sentence="Bust point: {way} by {amount} on {pieces}",
    amounts=BustPointMoved,
    do=do,
    steps=box_slid,
    examples=(
        Example(
            "a side dart raised by 20 mm with its bust point",
            "the same dart, mouth and legs as long, 20 mm higher",
            "common practice, no source; follows from sliding the box",
        ),
    ),
    describes=__doc__,
)
