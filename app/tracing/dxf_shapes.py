"""The drawn entities of a DXF as lines: arcs, ellipses, bulges and splines as curves, exactly where a cubic can be."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np

from app.tracing.path_maker import PathMaker
from geometry.lines import Chain
from geometry.motions import Motion, Point

#: Curves that no cubic can be are drawn with points this share of their size close.
_FINE = 2e-6
#: Control points of the cubic through four points of it, at 0, 1/3, 2/3 and 1.
_THROUGH = np.array([[6, 0, 0, 0], [-5, 18, -9, 2], [2, -9, 18, -5], [0, 0, 0, 6]]) / 6
#: Straight lines from knot to knot where no cubic is the spline.
_STEPS = 200
CURVES = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "POLYLINE", "LWPOLYLINE"})


def entity_lines(entity: Any) -> list[tuple[Chain, bool]]:
    """The lines of an entity in file units, and whether each is closed. Raises ValueError for damaged numbers."""
    maker = PathMaker(Motion())
    kind = entity.dxftype()
    if kind == "LINE":
        maker.move(_xy(entity.dxf.start))
        maker.line(_xy(entity.dxf.end))
    elif kind in ("ARC", "CIRCLE"):
        _arc(entity, maker, kind == "CIRCLE")
    elif kind == "ELLIPSE":
        _ellipse(entity, maker)
    elif kind == "LWPOLYLINE":
        points = [(_in_world(entity, (x, y, 0.0)), bulge) for x, y, bulge in entity.get_points("xyb")]
        _polyline(points, bool(entity.closed), _turns_over(entity), maker)
    elif kind == "POLYLINE":
        _old_polyline(entity, maker)
    elif kind == "SPLINE":
        _spline(entity, maker)
    return maker.lines()


def _xy(point: Any) -> Point:
    return (float(point[0]), float(point[1]))


def _in_world(entity: Any, point: Any) -> Point:
    ocs = entity.ocs()
    return _xy(ocs.to_wcs(tuple(point))) if ocs.transform else _xy(point)


def _turns_over(entity: Any) -> bool:
    """True where the entity's own plane is seen from below, so that left and right change places."""
    return bool(entity.dxf.get("extrusion", (0, 0, 1))[2] < 0)


def _arc(entity: Any, maker: PathMaker, whole: bool) -> None:
    radius = float(entity.dxf.radius)
    if not radius > 0:
        return
    centre = entity.dxf.center
    x, y, z = float(centre[0]), float(centre[1]), float(centre[2])
    at = _in_world(entity, (x, y, z))
    first = _minus(_in_world(entity, (x + radius, y, z)), at)
    second = _minus(_in_world(entity, (x, y + radius, z)), at)
    start = 0.0 if whole else math.radians(float(entity.dxf.start_angle))
    end = math.tau if whole else math.radians(float(entity.dxf.end_angle))
    sweep = math.tau if whole else (end - start) % math.tau or math.tau
    _draw_arc(maker, at, first, second, start, sweep, whole)


def _ellipse(entity: Any, maker: PathMaker) -> None:
    at = _xy(entity.dxf.center)
    first, second = _xy(entity.dxf.major_axis), _xy(entity.minor_axis)
    start, end = float(entity.dxf.start_param), float(entity.dxf.end_param)
    sweep = (end - start) % math.tau
    whole = sweep < 1e-9 or sweep > math.tau - 1e-9
    _draw_arc(maker, at, first, second, start, math.tau if whole else sweep, whole)


def _draw_arc(
    maker: PathMaker, at: Point, first: Point, second: Point, start: float, sweep: float, whole: bool
) -> None:
    cos, sin = math.cos(start), math.sin(start)
    maker.move((at[0] + first[0] * cos + second[0] * sin, at[1] + first[1] * cos + second[1] * sin))
    maker.ellipse(at, first, second, start, sweep)
    if whole:
        maker.close()


def _minus(a: Point, b: Point) -> Point:
    return (a[0] - b[0], a[1] - b[1])


def _polyline(points: list[tuple[Point, float]], closed: bool, over: bool, maker: PathMaker) -> None:
    if len(points) < 2:
        return
    maker.move(points[0][0])
    ends = [*points[1:], points[0]] if closed else points[1:]
    for (start, bulge), (end, _) in zip(points, ends):
        _bulge(start, end, -float(bulge) if over else float(bulge), maker)
    if closed:
        maker.close()


def _bulge(start: Point, end: Point, bulge: float, maker: PathMaker) -> None:
    """A straight line, or the arc whose bulge is the tangent of a quarter of its angle, left turns positive."""
    chord = math.dist(start, end)
    if abs(bulge) < 1e-12 or chord == 0 or not math.isfinite(bulge):
        maker.line(end)
        return
    angle = 4 * math.atan(bulge)
    # From the middle of the chord to the left by so much of half the chord lies the centre.
    off = (1 - bulge * bulge) / (4 * bulge)
    cx = (start[0] + end[0]) / 2 - off * (end[1] - start[1])
    cy = (start[1] + end[1]) / 2 + off * (end[0] - start[0])
    radius = math.dist((cx, cy), start)
    at = math.atan2(start[1] - cy, start[0] - cx)
    maker.ellipse((cx, cy), (radius, 0.0), (0.0, radius), at, angle)
    maker.line(end)


def _old_polyline(entity: Any, maker: PathMaker) -> None:
    if entity.is_polygon_mesh or entity.is_poly_face_mesh:
        return
    # Bit 4 marks the frame points of a spline, which are not on the line.
    vertices = [v for v in entity.vertices if not v.dxf.flags & 16]
    flat = entity.is_2d_polyline
    points = [
        (
            _in_world(entity, v.dxf.location) if flat else _xy(v.dxf.location),
            float(v.dxf.get("bulge", 0.0)) if flat else 0.0,
        )
        for v in vertices
    ]
    _polyline(points, bool(entity.is_closed), flat and _turns_over(entity), maker)


def _spline(entity: Any, maker: PathMaker) -> None:
    try:
        tool = entity.construction_tool()
        beziers = _as_beziers(tool)
        if beziers is None and not tool.is_clamped:
            beziers = _within_its_knots(tool)
        if beziers is None:
            points = np.array([_xy(point) for point in tool.control_points])
            size = float(np.abs(points - points.mean(axis=0)).max()) or 1.0
            flat = [_xy(point) for point in tool.flattening(_FINE * size)]
            beziers = [flat[i : i + 2] for i in range(len(flat) - 1)]
    except (ArithmeticError, IndexError, TypeError, AttributeError) as error:
        raise ValueError("a spline cannot be made out") from error
    for index, control in enumerate(beziers):
        if index == 0:
            maker.move(control[0])
        if len(control) == 2:
            maker.line(control[1])
        elif len(control) == 3:
            maker.quadratic(control[1], control[2])
        else:
            maker.curve(control[1], control[2], control[3])
    if entity.closed:
        maker.close()


def _as_beziers(tool: Any) -> list[list[Point]] | None:
    """The control points of each Bezier curve of a spline of degree 3 or less without weights, else None."""
    if tool.is_rational or tool.degree > 3 or not tool.is_clamped:
        return None
    return [[_xy(point) for point in control] for control in tool.bezier_decomposition()]


def _within_its_knots(tool: Any) -> list[list[Point]]:
    """The same for a spline that does not reach its first and last control points, as periodic ones do not.

    It runs from knot number degree to the one as far from the end (Piegl and Tiller, The NURBS Book, 2.2), between two
    knots as one polynomial; what no cubic can be is drawn in short straight lines.
    """
    knots = np.array(tool.knots())
    inner = np.unique(knots[tool.degree : len(knots) - tool.degree])
    exact = not tool.is_rational and tool.degree <= 3
    shares = np.array([0.0, 1 / 3, 2 / 3, 1.0]) if exact else np.linspace(0.0, 1.0, _STEPS + 1)
    spans = []
    for start, stop in pairwise(inner):
        points = np.array([_xy(point) for point in tool.points(start + shares * (stop - start))])
        lines = [_THROUGH @ points] if exact else [points[i : i + 2] for i in range(_STEPS)]
        spans += [[(float(x), float(y)) for x, y in line] for line in lines]
    return spans
