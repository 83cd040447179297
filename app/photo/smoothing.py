"""Measured points drawn as smooth as their own error allows: splines with a penalty (Eilers and Marx 1996).

The penalty that is taken leaves least to be said by points that were not asked (generalised cross-validation, Golub,
Heath and Wahba 1979). A line that is straight within its error becomes straight.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.motions import FloatArray

#: Places of the spline's knots (mm), and how near neighbouring points are taken as one (their errors go together).
KNOT_MM = 9.0
BIN_MM = 4.0
_PENALTIES = 10.0 ** np.arange(7.0, -2.1, -0.75)
#: A side that nowhere leaves a straight line by more than this, or four times its error, is straight (mm).
RULED_MM = 0.05


@dataclass(frozen=True, eq=False)
class Smooth:
    """A smooth side: x and y as splines of the length (mm) along it; ``error`` expected rms error of its points in mm,
    ``noise`` the rms (mm) of single bins about it, ``is_straight`` whether it is a straight line."""

    start: float
    stop: float
    factors: FloatArray
    error: float
    noise: float
    is_straight: bool

    def at(self, lengths: FloatArray) -> FloatArray:
        """(n, 2) points in mm at lengths (n,); beyond the ends it runs on."""
        if self.is_straight:
            return np.asarray(self.factors[0] + lengths[:, None] * self.factors[1])
        points: FloatArray = _basis(lengths, self.start, self.stop, len(self.factors) - 3) @ self.factors
        return points

    def ways(self, lengths: FloatArray) -> FloatArray:
        """(n, 2) unit tangents at lengths (n,)."""
        ahead = self.at(lengths + 0.05) - self.at(lengths - 0.05)
        ways: FloatArray = ahead / np.linalg.norm(ahead, axis=1)[:, None]
        return ways


def smoothed(lengths: FloatArray, points: FloatArray, weights: FloatArray, *, may_rule: bool = True) -> Smooth:
    """The smooth line through points (n, 2) measured at lengths (n,) along a side, each with its weight (n,)."""
    lengths, points, weights = _binned(lengths, points, weights)
    start, stop = float(lengths[0]), float(lengths[-1])
    line, line_off = _ruled(lengths, points, weights)
    if len(lengths) < 5:
        return Smooth(start, stop, line, line_off, line_off, True)
    parts = max(2, min(round((stop - start) / KNOT_MM), len(lengths) - 1))
    basis = _basis(lengths, start, stop, parts)
    bends = np.diff(np.eye(parts + 3), n=3, axis=0)
    normal, pull = basis.T @ (basis * weights[:, None]), basis.T @ (points * weights[:, None])
    scale = float(np.trace(normal)) / len(normal)
    best = None
    for penalty in _PENALTIES:
        inverse = np.linalg.inv(normal + penalty * scale * bends.T @ bends + 1e-9 * scale * np.eye(len(normal)))
        free = float((inverse * normal.T).sum())
        factors = inverse @ pull
        off = np.hypot(*(basis @ factors - points).T)
        count = float(weights.sum())
        left = float((weights * off**2).sum())
        score = count * left / max(count - 1.4 * free, 0.05 * count) ** 2
        if best is None or score < best[0]:
            best = (score, factors, left / max(count - free, 1.0), free)
    assert best is not None
    _, factors, square, free = best
    count = float(weights.sum())
    strays = basis @ factors - line[0]
    within = max(RULED_MM, 4 * math.sqrt(square * min(free / count, 1.0)))
    if may_rule and float(np.abs(strays[:, 0] * line[1][1] - strays[:, 1] * line[1][0]).max()) <= within:
        return Smooth(start, stop, line, line_off * math.sqrt(2 / count), line_off, True)
    noise = math.sqrt(square)
    return Smooth(start, stop, factors, noise * math.sqrt(min(free / count, 1.0)), noise, False)


def _binned(lengths: FloatArray, points: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Means over bins of BIN_MM, their weights near 1."""
    count = max(1, round(float(lengths[-1] - lengths[0]) / BIN_MM))
    at = np.clip(
        ((lengths - lengths[0]) / max(float(lengths[-1] - lengths[0]), 1e-9) * count).astype(int), 0, count - 1
    )
    sums = np.bincount(at, weights, count)
    used = sums > 1e-6 * max(float(sums.max()), 1e-12)
    divided = np.maximum(sums, 1e-12)
    means = [np.bincount(at, weights * row, count) / divided for row in (lengths, points[:, 0], points[:, 1])]
    heavy = sums[used] / float(np.median(sums[used]))
    return means[0][used], np.stack(means[1:], axis=1)[used], np.minimum(heavy, 1.5)


def _ruled(lengths: FloatArray, points: FloatArray, weights: FloatArray) -> tuple[FloatArray, float]:
    """The straight line by least squares square to it: its point at length 0 and its step for each mm; rms off it."""
    total = float(weights.sum())
    middle = (weights[:, None] * points).sum(axis=0) / total
    away = points - middle
    _, _, ways = np.linalg.svd(away * np.sqrt(weights)[:, None], full_matrices=False)
    way = ways[0] if float(ways[0] @ (points[-1] - points[0])) >= 0 else -ways[0]
    off = away[:, 0] * -way[1] + away[:, 1] * way[0]
    centre = float((weights * lengths).sum()) / total
    return np.array([middle - centre * way, way]), math.sqrt(float((weights * off**2).sum()) / total)


def _basis(lengths: FloatArray, start: float, stop: float, parts: int) -> FloatArray:
    """(n, parts + 3) values of the cubic B-splines with even knots; beyond the ends the last stretch runs on."""
    place = (lengths - start) / max(stop - start, 1e-9) * parts
    index = np.clip(np.floor(place).astype(int), 0, parts - 1)
    t = place - index
    values = np.stack(
        [(1 - t) ** 3 / 6, (3 * t**3 - 6 * t**2 + 4) / 6, (-3 * t**3 + 3 * t**2 + 3 * t + 1) / 6, t**3 / 6], axis=1
    )
    basis = np.zeros((len(lengths), parts + 3))
    np.put_along_axis(basis, index[:, None] + np.arange(4), values, axis=1)
    return basis
