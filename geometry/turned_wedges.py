"""A wedge closed at an edge and turned into a dart, about the dart's bust point.

The angle is conserved: a pinch p at the distance R from the bust point opens the dart by 2 asin(p / 2R) (geometry;
turning a dart about the bust point is common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.darts import mouth_of, opening_deg
from geometry.errors import PatternError
from geometry.motions import Point, bearing, direction, turn
from geometry.moves import Moved, lay_together
from geometry.pieces import Dart, Edge, Piece
from geometry.pinches import grain_kept
from geometry.readings import mm_words
from geometry.regions import Region, Sector
from geometry.stages import Strip


@dataclass(frozen=True, eq=False)
class IntoDart:
    """A piece whose wedge was closed: the dart's opening ``before`` and ``after`` (degrees), the paper taken out.

    ``step_mm`` is how much further out the edge lies on one side of the wedge than on the other.
    """

    moved: Moved
    before: float
    after: float
    strip: Strip
    step_mm: float


def into_dart(piece: Piece, edge: Edge, middle: Point, amount: float, turning: Point, note: str) -> IntoDart:
    """``amount`` mm pinched out of an edge about a place on it, turned into the dart whose bust point lies nearest.

    Of the two parts between wedge and dart the one that holds ``turning`` turns; the other stays. Raises PatternError
    where the piece has no dart, and where the wedge is wider than long.
    """
    dart = nearest_dart(piece, middle)
    apex = dart.bust_point
    angle = _wedge_deg(piece, apex, middle, amount)
    wedge = bearing(apex, middle)
    opening = bearing(apex, mouth_of(piece, dart).point(0.5))
    if (bearing(apex, turning) - opening) % 360 < (wedge - opening) % 360:
        start, sweep = opening, (wedge - angle / 2 - opening) % 360
        motion = turn(angle, apex)
    else:
        start, sweep = wedge + angle / 2, (opening - wedge - angle / 2) % 360
        motion = turn(-angle, apex)
    regions = [Region(Sector(apex, wedge - angle / 2, angle), None), Region(Sector(apex, start, sweep), motion)]
    moved = grain_kept(piece, lay_together(piece, regions, note, direction(wedge)))
    now = next(one for one in moved.piece.darts if one.id == dart.id)
    return IntoDart(
        moved,
        opening_deg(piece, dart),
        opening_deg(moved.piece, now),
        _taken(piece, apex, middle, wedge, angle),
        _step(edge, apex, wedge - angle / 2, angle),
    )


def nearest_dart(piece: Piece, place: Point) -> Dart:
    """The dart whose bust point lies nearest to a place; raises PatternError where there is none."""
    if not piece.darts:
        raise PatternError(
            f"“{piece.name}” has no bust dart to turn the wedge into; let it run out at another edge.", piece.id
        )
    return min(piece.darts, key=lambda dart: math.dist(dart.bust_point, place))


def _wedge_deg(piece: Piece, apex: Point, middle: Point, amount: float) -> float:
    reach = math.dist(apex, middle)
    if amount >= reach:
        raise PatternError(
            f"A wedge of {mm_words(amount)} is wider than it is long on “{piece.name}”; pinch out less.",
            piece.id,
            point=middle,
        )
    return math.degrees(2 * math.asin(amount / (2 * reach)))


def _taken(piece: Piece, apex: Point, middle: Point, middle_deg: float, angle: float) -> Strip:
    reach = math.dist(apex, middle)
    sides = [direction(middle_deg + side * angle / 2) for side in (-1, 1)]
    points = [apex] + [(apex[0] + reach * x, apex[1] + reach * y) for x, y in sides]
    return Strip(piece.id, np.array(points), False)


def _step(edge: Edge, apex: Point, start: float, angle: float) -> float:
    """How much further out an edge lies on one side of a wedge than on the other (mm), 0 where it is not met."""
    reaches = []
    for side in (start, start + angle):
        (x, y) = direction(side)
        points = [edge.chain.point(u) for u in edge.chain.crossings(apex, (x, y))]
        ahead = [math.dist(apex, p) for p in points if (p[0] - apex[0]) * x + (p[1] - apex[1]) * y > 0]
        if not ahead:
            return 0.0
        reaches.append(min(ahead))
    return abs(reaches[0] - reaches[1])
