"""What a photograph's outline is worth: laid on the true one as well as it can be, and compared both ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.lines import Chain, flatten
from tests.photo_scenes import Array, Scene


@dataclass(frozen=True)
class Worth:
    """Errors in mm: rms and worst over both outlines a millimetre apart, the worst corner, the mean outward.

    ``size`` is how much larger the outline is as a whole (a share)."""

    rms: float
    worst: float
    corner: float
    outward: float
    size: float


def worth(found: Chain, scene: Scene) -> Worth:
    """The found outline against the scene's own."""
    assert scene.outline is not None
    true = shapely.LinearRing(scene.truth)
    there = shapely.get_coordinates(shapely.segmentize(true, 1.0))[:-1]
    # Straight lines too count by their length: an outline that is too wide all round cannot be slid into place.
    here = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(flatten(found, 0.002)[0]), 1.0))[:-1]
    here = here - here.mean(axis=0) + there.mean(axis=0)
    here = min(
        (_settled(_turned(here, angle), true, 6) for angle in range(0, 360, 30)), key=lambda p: _rms(p[::8], true)
    )
    here = _settled(here, true, 10)
    off = shapely.distance(true, shapely.points(here))
    ring = shapely.LinearRing(here)
    back = shapely.distance(ring, shapely.points(there))
    inside = shapely.contains_xy(shapely.Polygon(true), here)
    near = _nearest(here, true)
    middle = here.mean(axis=0)
    away, goal = here - middle, near - near.mean(axis=0)
    corners = shapely.points(scene.outline.cubics[:, 0])
    vertices = shapely.MultiPoint(here)
    return Worth(
        float(np.sqrt((off**2).mean())),
        float(max(off.max(), back.max())),
        float(shapely.distance(corners, vertices).max()),
        float(np.where(inside, -off, off).mean()),
        float((away * away).sum() / (away * goal).sum() - 1),
    )


def _turned(points: Array, angle: float) -> Array:
    middle, cos, sin = points.mean(axis=0), np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return (points - middle) @ np.array([[cos, sin], [-sin, cos]]) + middle


def _rms(points: Array, true: shapely.LinearRing) -> float:
    return float(np.sqrt((shapely.distance(true, shapely.points(points)) ** 2).mean()))


def _nearest(points: Array, true: shapely.LinearRing) -> Array:
    along = shapely.line_locate_point(true, shapely.points(points))
    return shapely.get_coordinates(shapely.line_interpolate_point(true, along))


def _settled(points: Array, true: shapely.LinearRing, times: int) -> Array:
    """The points slid and turned onto the true outline, distances square to it made least (Chen and Medioni 1992)."""
    some = slice(None, None, 8 if times < 10 else 1)
    for _ in range(times):
        here = points[some]
        along = shapely.line_locate_point(true, shapely.points(here))
        near = shapely.get_coordinates(shapely.line_interpolate_point(true, along))
        ahead = shapely.get_coordinates(shapely.line_interpolate_point(true, (along + 0.01) % true.length))
        ways = ahead - near
        ways /= np.linalg.norm(ways, axis=1)[:, None]
        square = np.stack([ways[:, 1], -ways[:, 0]], axis=1)
        middle = here.mean(axis=0)
        spun = here - middle
        rows = np.column_stack([square, square[:, 1] * spun[:, 0] - square[:, 0] * spun[:, 1]])
        x, y, turn = np.linalg.lstsq(rows, (square * (near - here)).sum(axis=1), rcond=None)[0]
        cos, sin = np.cos(turn), np.sin(turn)
        points = (points - middle) @ np.array([[cos, sin], [-sin, cos]]) + middle + [x, y]
    return points
