"""How far a new line lies off the old ones, measured point by point."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from geometry.jogs import Band, Spot
from geometry.motions import FloatArray


def old_lines(band: Band, start: Spot, end: Spot) -> list[FloatArray]:
    """The old lines between two places as points, each run on straight as far as the gap at its jog reaches.

    So a line drawn across added paper is measured from where either old line would have gone on.
    """
    parts = band.parts(start, end)
    lines = [part.sampled for part in parts]
    for index, (before, after) in enumerate(pairwise(parts)):
        gap = np.subtract(after.start, before.end)
        way, back = np.array(before.end_tangent), np.array(after.start_tangent)
        ahead, behind = float(gap @ way), float(gap @ back)
        if ahead > 1e-3:
            lines[index] = np.concatenate([lines[index], [np.array(before.end) + ahead * way]])
        if behind > 1e-3:
            lines[index + 1] = np.concatenate([[np.array(after.start) - behind * back], lines[index + 1]])
    return lines


def off_lines(points: FloatArray, old_lines: Sequence[FloatArray]) -> float:
    """The greatest distance in mm from points (m, 2) to the nearer of some polylines."""
    nearest = np.full(len(points), np.inf)
    x, y = np.ascontiguousarray(points.T)
    for old in old_lines:
        best = np.argmin(np.einsum("kd,kd->k", old, old) - 2 * points @ old.T, axis=1)
        old_x, old_y = np.ascontiguousarray(old.T)
        step_x, step_y = old_x[1:] - old_x[:-1], old_y[1:] - old_y[:-1]
        sizes = np.maximum(step_x * step_x + step_y * step_y, 1e-18)
        for first in (np.maximum(best - 1, 0), np.minimum(best, len(old) - 2)):
            sx, sy, dx, dy = step_x[first], step_y[first], x - old_x[first], y - old_y[first]
            along = np.minimum(np.maximum((dx * sx + dy * sy) / sizes[first], 0.0), 1.0)
            nearest = np.minimum(nearest, np.hypot(dx - along * sx, dy - along * sy))
    return float(nearest.max())


def feet(points: FloatArray, old_lines: Sequence[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """The places (m, 2) nearest to points (m, 2) on some polylines, and the unit normals (m, 2) there.

    Where the nearest place is an end of a polyline the normal points from there to the point.
    """
    nearest = np.full(len(points), np.inf)
    found, normals = np.empty_like(points), np.empty_like(points)
    number = np.arange(len(points))
    for old in old_lines:
        steps = old[1:] - old[:-1]
        sizes = np.maximum(np.einsum("kd,kd->k", steps, steps), 1e-18)
        along = np.clip(np.einsum("mkd,kd->mk", points[:, None] - old[:-1], steps) / sizes, 0.0, 1.0)
        places = old[:-1] + along[..., None] * steps
        away = np.hypot(*np.moveaxis(points[:, None] - places, 2, 0))
        best = np.argmin(away, axis=1)
        there, far, share = places[number, best], away[number, best], along[number, best]
        square = np.stack([-steps[best, 1], steps[best, 0]], axis=1) / np.sqrt(sizes[best])[:, None]
        beyond = ((best == 0) & (share <= 0.0) | (best == len(steps) - 1) & (share >= 1.0)) & (far > 1e-6)
        square[beyond] = (points[beyond] - there[beyond]) / far[beyond, None]
        nearer = far < nearest
        nearest[nearer], found[nearer], normals[nearer] = far[nearer], there[nearer], square[nearer]
    return found, normals
