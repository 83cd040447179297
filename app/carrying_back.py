"""Carrying a place back through earlier notes to the piece as traced, so that later strips can be shown there.

What each note did to the paper is read off the piece before and after it: the strip parts the paper, and every
corner, notch and mark that both pieces have says how its part was moved.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from app.handles import strip_of
from geometry.motions import STAY, FloatArray, Motion, Point
from geometry.pieces import Piece
from geometry.stages import Step

#: Points this near the strip may belong to either part (mm).
_NEAR_MM = 0.05
#: Half the width of the cut that parts the paper where strip and dart meet in a point (mm).
_CUT_MM = 0.01


def carried_back(points: FloatArray, steps: Sequence[Step], piece_id: str) -> FloatArray:
    """Points (m, 2) on a piece after ``steps``, on the piece before them; a strip put in closes up again."""
    for step in reversed(steps):
        points = _back_through(step, piece_id, np.asarray(points, dtype=float))
    return points


def motion_back(point: Point, steps: Sequence[Step], piece_id: str) -> Motion:
    """The motion that carries the paper about a point after ``steps`` back to where it lay before them."""
    motion = STAY
    for step in reversed(steps):
        (way,) = _ways_back(step, piece_id, np.array([motion.point(point)]))
        motion = motion.then(way)
    return motion


def _back_through(step: Step, piece_id: str, points: FloatArray) -> FloatArray:
    ways = _ways_back(step, piece_id, points)
    return np.array([way.points(point) for way, point in zip(ways, points, strict=True)]).reshape(-1, 2)


def _ways_back(step: Step, piece_id: str, points: FloatArray) -> list[Motion]:
    """For each point the motion that takes its part of the paper back to before the note."""
    before, after = step.before.piece(piece_id), step.after.piece(piece_id)
    strip = strip_of(step.strips, piece_id)
    if before is after or strip is None:
        return [STAY] * len(points)
    read = after if strip.added else before
    cut = shapely.union_all([shapely.Polygon(strip.outline), *_dart_wedges(read)]).buffer(_CUT_MM)
    parts = [part for part in shapely.get_parts(read.polygon.difference(cut)) if part.area > 1.0]
    pairs = list(_pairs(before, after))
    motions = [_motion([pair for pair in pairs if _clear(pair[strip.added], part, cut)]) for part in parts]
    if not parts:
        return [STAY] * len(points)
    away = [
        shapely.distance(part, shapely.points(points if strip.added else motion.undone().points(points)))
        for part, motion in zip(parts, motions, strict=True)
    ]
    nearest = np.argmin(np.round(np.array(away), 6), axis=0)
    return [motions[int(index)].undone() for index in nearest]


def _dart_wedges(piece: Piece) -> Iterator[shapely.Polygon]:
    """What lies between a dart's legs, drawn to the bust point: a wedge turned into it parts the paper there."""
    for dart in piece.darts:
        mouth = next(run.chain for run in piece.edge(dart.edge).runs if run.dart == dart.id)
        yield shapely.Polygon([mouth.start, dart.bust_point, mouth.end])


def _clear(point: Point, part: shapely.Geometry, cut: shapely.Geometry) -> bool:
    here = shapely.Point(point)
    return bool(shapely.distance(part, here) < _NEAR_MM and shapely.distance(cut, here) > _NEAR_MM)


def _pairs(before: Piece, after: Piece) -> Iterator[tuple[Point, Point]]:
    """The same place on the piece before and after: corners, marks, notches, ends of lines."""
    old = _named_places(before)
    for key, point in _named_places(after).items():
        if key in old:
            yield old[key], point


def _named_places(piece: Piece) -> dict[tuple[str, str], Point]:
    places = {("corner", corner.id): edge.start for corner, edge in zip(piece.corners, piece.edges, strict=True)}
    places |= {("notch", notch.id): piece.point_at(notch.place) for notch in piece.notches}
    places |= {("mark", mark.id): mark.point for mark in piece.marks}
    for line in piece.lines:
        places["start", line.id], places["end", line.id] = line.chain.start, line.chain.end
    return places


def _motion(pairs: list[tuple[Point, Point]]) -> Motion:
    """The slide or turn that takes the first of each pair to the second, told from the two farthest apart."""
    if not pairs:
        return STAY
    first = pairs[0]
    second = max(pairs, key=lambda pair: math.dist(pair[0], first[0]))
    if math.dist(second[0], first[0]) < 1.0:
        return Motion(e=first[1][0] - first[0][0], f=first[1][1] - first[0][1])
    ax, ay = second[0][0] - first[0][0], second[0][1] - first[0][1]
    bx, by = second[1][0] - first[1][0], second[1][1] - first[1][1]
    turned = math.atan2(by, bx) - math.atan2(ay, ax)
    cos, sin = math.cos(turned), math.sin(turned)
    x, y = first[0]
    return Motion(cos, sin, -sin, cos, first[1][0] - cos * x + sin * y, first[1][1] - sin * x - cos * y)
