"""What a photograph's outline is worth: laid on the true one as well as it can be, and compared both ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.lines import Chain, flatten
from tests.photo_scenes import Array, Scene


@dataclass(frozen=True)
class Worth:
    """Errors in mm: rms and worst over both outlines a millimetre apart, the worst corner, the mean outward; ``size`` is
    how much larger the outline is as a whole (a share)."""

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
    here = flatten(found, 0.002, 1.0)[0][:-1]
    here = here - here.mean(axis=0) + there.mean(axis=0)
    here = min((_settled(_turned(here, angle), true, 4) for angle in range(0, 360, 15)), key=lambda p: _rms(p, true))
    here = _settled(here, true, 30)
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
    """The points slid and turned onto the true outline (Besl and McKay 1992)."""
    some = slice(None, None, 4 if times < 10 else 1)
    for _ in range(times):
        near = _nearest(points[some], true)
        one, two = points[some] - points[some].mean(axis=0), near - near.mean(axis=0)
        turn = np.arctan2((one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum(), (one * two).sum())
        cos, sin = np.cos(turn), np.sin(turn)
        points = (points - points[some].mean(axis=0)) @ np.array([[cos, sin], [-sin, cos]]) + near.mean(axis=0)
    return points
