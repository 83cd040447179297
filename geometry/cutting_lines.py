"""Where a note cuts: a line of the piece, a line drawn across it, which side is the hem, and the strip between."""

from __future__ import annotations

import math

import numpy as np
import shapely

from geometry.errors import PatternError
from geometry.motions import FloatArray, Point
from geometry.notes import Target, point_of
from geometry.pieces import EdgeKind, Line, LineKind, Piece
from geometry.regions import FAR_MM
from geometry.tolerances import SIMPLE_MM


def cut_line(piece: Piece, kind: str, target: Target) -> tuple[Point, Point]:
    """A point and the unit direction of the line a note cuts along.

    The line drawn across in the target, else the line the target names, else the piece's first line of ``kind``.
    One address alone is squared to the fold or centre, else to the grainline. Raises PatternError when there is
    no such line or it is not straight.
    """
    if target.across:
        return _drawn_across(piece, target)
    line = _named(piece, kind, target)
    if not line.chain.is_straight:
        raise PatternError(
            f"The {line.name} of “{piece.name}” is not straight; draw a straight line across.",
            piece.id,
            point=line.chain.start,
        )
    return line.chain.start, _unit(line.chain.start, line.chain.end)


def square_direction(piece: Piece) -> Point:
    """The unit direction square to the fold or centre, else to the grainline, else level."""
    for edge in piece.edges:
        if edge.on_fold or (
            edge.kind in (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK) and edge.chain.turning_deg < 0.5
        ):
            ux, uy = _unit(edge.start, edge.end)
            return (-uy, ux)
    for kind in (LineKind.CENTRE, LineKind.GRAIN):
        line = piece.line(kind)
        if line is not None:
            ux, uy = _unit(line.chain.start, line.chain.end)
            return (-uy, ux)
    return (1.0, 0.0)


def hem_side_normal(piece: Piece, through: Point, along: Point) -> Point:
    """The unit normal of a line that points away from the hem (the wrist on a sleeve)."""
    normal = (-along[1], along[0])
    hems = [edge for edge in piece.edges if edge.kind in (EdgeKind.HEM, EdgeKind.WRIST)]
    if hems:
        x = sum(edge.start[0] + edge.end[0] for edge in hems) / (2 * len(hems))
        y = sum(edge.start[1] + edge.end[1] for edge in hems) / (2 * len(hems))
        side = (x - through[0]) * normal[0] + (y - through[1]) * normal[1]
    else:
        side = -normal[1] if abs(normal[1]) > 1e-6 else -normal[0]
    return normal if side < 0 else (-normal[0], -normal[1])


def runs_into(piece: Piece, point: Point, way: Point) -> bool:
    """Whether a line run on from a point of the outline, the unit direction ``way``, cuts more than 1 mm of the piece.

    Running along the outline, as along the step that another note left there, is no cut.
    """
    line = shapely.LineString([point, (point[0] + FAR_MM * way[0], point[1] + FAR_MM * way[1])])
    if line.intersection(piece.polygon).length <= 1.0:
        return False
    return bool(line.intersection(piece.polygon.buffer(-SIMPLE_MM)).length > 1.0)


def strip_between(piece: Piece, through: Point, along: Point, low: float, high: float) -> FloatArray:
    """The outline (m, 2) of the paper between two parallels of a line, left of ``along`` positive, for hatching.

    The largest part where the strip falls apart; empty (0, 2) where it misses the piece.
    """
    normal = (-along[1], along[0])
    corners = [
        (through[0] + s * along[0] + d * normal[0], through[1] + s * along[1] + d * normal[1])
        for s, d in ((-FAR_MM, low), (FAR_MM, low), (FAR_MM, high), (-FAR_MM, high))
    ]
    strip: shapely.Polygon = shapely.polygons(np.array(corners))  # type: ignore[assignment]
    return largest_part(piece.polygon.intersection(strip))


def largest_part(shape: shapely.Geometry) -> FloatArray:
    """The outline (m, 2) of the largest polygon in a shape, last point not repeated; (0, 2) when there is none."""
    if isinstance(shape, shapely.Polygon):
        return shapely.get_coordinates(shape.exterior)[:-1] if not shape.is_empty else np.empty((0, 2))
    parts = [g for g in shapely.get_parts(shape) if g.geom_type == "Polygon" and not g.is_empty]
    if not parts:
        return np.empty((0, 2))
    return np.asarray(max(parts, key=lambda part: part.area).exterior.coords)[:-1]


def paper_lost(before: Piece, after: Piece) -> shapely.Geometry:
    """The paper of a piece that it has no more, without the slivers that come of rounding along edges that stayed."""
    parts = shapely.get_parts(shapely.difference(before.polygon, after.polygon))
    return shapely.union_all(parts[~shapely.is_empty(shapely.buffer(parts, -SIMPLE_MM / 2))])


def _drawn_across(piece: Piece, target: Target) -> tuple[Point, Point]:
    assert target.across is not None
    start = point_of(piece, target.across[0])
    if len(target.across) == 1:
        return start, square_direction(piece)
    end = point_of(piece, target.across[1])
    if math.dist(start, end) < 1.0:
        raise PatternError(
            f"The line drawn across “{piece.name}” has no length; draw it from edge to edge.", piece.id, point=start
        )
    return start, _unit(start, end)


def _named(piece: Piece, kind: str, target: Target) -> Line:
    if target.line is not None:
        for line in piece.lines:
            if line.id == target.line:
                return line
        raise PatternError(f"“{piece.name}” has no line “{target.line}” any more.", piece.id)
    for line in piece.lines:
        if line.kind == kind:
            return line
    raise PatternError(f"“{piece.name}” has no {kind}; choose another line or draw one across.", piece.id)


def _unit(start: Point, end: Point) -> Point:
    size = math.dist(start, end)
    if size == 0.0:
        raise PatternError("A line from a place to the same place has no direction; draw it from edge to edge.")
    return ((end[0] - start[0]) / size, (end[1] - start[1]) / size)
