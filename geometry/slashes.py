"""One slash from edge to edge: parallel or to a hinge, spread or overlapped; the paper lies flat in every case."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.cutting_lines import runs_into, strip_between
from geometry.errors import PatternError
from geometry.motions import FloatArray, Motion, Point, slide, turn
from geometry.moves import Moved, lay_together
from geometry.pieces import EdgeKind, LineKind, Piece
from geometry.readings import mm_words
from geometry.regions import Band, Region, Sector


@dataclass(frozen=True, eq=False)
class Slashed:
    """A piece after a slash, and the paper put in or taken out (m, 2)."""

    moved: Moved
    strip: FloatArray


def slashed(
    piece: Piece, start: Point, end: Point, amount: float, note: str, stays: Point, hinge: Point | None
) -> Slashed:
    """A piece slashed along the line from ``start`` to ``end`` and spread by ``amount`` mm (overlapped when negative).

    The side that holds ``stays`` stays. Without a ``hinge`` the halves move apart by ``amount``, square to the line;
    with one, an end of the line that lies on the stitching line, the other end opens by ``amount``, measured straight
    across. Raises PatternError where the line has no length, the paper does not fit, or the outline would cross itself.
    """
    reach = math.dist(start, end)
    if reach < 1.0:
        raise PatternError(f"The line drawn across “{piece.name}” has no length; draw it from edge to edge.", piece.id)
    _check_once(piece, start, end)
    along = _unit(start, end)
    if along[0] * (stays[1] - start[1]) - along[1] * (stays[0] - start[0]) > 0:
        along = (-along[0], -along[1])
    # The side to the left of the line moves.
    if hinge is None:
        return _parallel(piece, start, along, amount, note)
    return _hinged(piece, hinge, end if hinge == start else start, along, amount, note)


def staying(piece: Piece) -> Point:
    """A point of the paper that stays: on the fold, else on the centre, else the foot of the grainline."""
    for edge in piece.edges:
        if edge.on_fold:
            return edge.chain.point(0.5)
    for edge in piece.edges:
        if edge.kind in (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK):
            return edge.chain.point(len(edge.chain) / 2)
    grain = piece.line(LineKind.GRAIN)
    return grain.chain.start if grain is not None else piece.edges[0].chain.point(0.5)


def _check_once(piece: Piece, start: Point, end: Point) -> None:
    """Refuses a line that would cut the piece elsewhere too when it is run on."""
    x, y = _unit(start, end)
    for point, sense in ((start, -1.0), (end, 1.0)):
        if runs_into(piece, point, (sense * x, sense * y)):
            raise PatternError(
                f"The line drawn across “{piece.name}” runs on into the piece; draw it from edge to edge, or "
                "another way.",
                piece.id,
                point=point,
            )


def _parallel(piece: Piece, start: Point, along: Point, amount: float, note: str) -> Slashed:
    normal = (-along[1], along[0])
    motion = slide(amount * normal[0], amount * normal[1])
    regions = [Region(Band(start, along, 0.0, math.inf), motion)]
    if amount < 0:
        regions.insert(0, Region(Band(start, along, 0.0, -amount), None))
    moved = lay_together(piece, regions, note, along)
    seen = moved.piece if amount > 0 else piece
    return Slashed(moved, strip_between(seen, start, along, 0.0, abs(amount)))


def _hinged(piece: Piece, hinge: Point, open_end: Point, along: Point, amount: float, note: str) -> Slashed:
    reach = math.dist(hinge, open_end)
    if abs(amount) >= reach:
        raise PatternError(
            f"A slash of {mm_words(reach)} on “{piece.name}” cannot open by {mm_words(abs(amount))}.",
            piece.id,
            point=open_end,
        )
    angle = math.degrees(2 * math.asin(abs(amount) / (2 * reach)))
    bearing = math.degrees(math.atan2(open_end[1] - hinge[1], open_end[0] - hinge[0]))
    # Left of the line is ahead of the bearing when the line runs from the hinge to the open end.
    sense = 1.0 if along[0] * (open_end[0] - hinge[0]) + along[1] * (open_end[1] - hinge[1]) > 0 else -1.0
    wedge = Sector(hinge, bearing if sense > 0 else bearing - angle, angle)
    side = Sector(hinge, bearing if sense > 0 else bearing - 180.0, 180.0)
    motion: Motion = turn(sense * math.copysign(angle, amount), hinge)
    regions = [Region(side, motion)] if amount > 0 else [Region(wedge, None), Region(side, motion)]
    moved = lay_together(piece, regions, note, _unit(hinge, open_end))
    turned = turn(sense * angle, hinge).point(open_end)
    return Slashed(moved, np.array([hinge, open_end, turned]))


def _unit(start: Point, end: Point) -> Point:
    size = math.dist(start, end)
    return ((end[0] - start[0]) / size, (end[1] - start[1]) / size)
