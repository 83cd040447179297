"""Refitting: points with known directions, drawn again as few smooth cubics within a tolerance.

Each cubic keeps the exact points and tangents at its ends, so neighbours share their tangent (G1); the two handle
lengths are the least-squares ones. The places to divide follow from the errors, the same read from either end.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.lines import Chain, chain
from geometry.motions import FloatArray
from geometry.tolerances import REFIT_MM

_INNER = np.linspace(0.0, 1.0, 11)[1:-1]
_SHRINK = 0.9
_MOST = 400


def refit(points: FloatArray, angles: FloatArray, lengths: FloatArray, tolerance: float = REFIT_MM) -> Chain:
    """A chain within ``tolerance`` mm of the smooth line through points (n, 2), with directions (n,) in radians.

    lengths: (n,) mm along the line. First and last point and direction are kept exactly; at most as many segments as
    there are steps.
    """
    line = _Line(points, angles, lengths)
    count = max(1, math.ceil(line.turn / math.radians(60)), math.ceil(line.length / 150))
    density = np.ones(1)
    breaks = np.array([0.0, line.length])
    limit = _SHRINK * tolerance
    while True:
        breaks = _divided(breaks, density, count)
        cubics, errors = line.fitted(breaks)
        for _ in range(2):
            if errors.max() <= limit or count == 1:
                break
            density = np.maximum(errors, errors.max() * 1e-3) ** (1 / 8) / np.diff(breaks)
            breaks = _divided(breaks, density, count)
            cubics, errors = line.fitted(breaks)
        if errors.max() <= limit or count >= min(_MOST, len(points) - 1):
            return chain(list(cubics))
        count = max(count + 1, math.floor(count * min((errors.max() / limit) ** (1 / 6), 3.0)))
        density = np.ones(1)
        breaks = np.array([0.0, line.length])


def _divided(breaks: FloatArray, density: FloatArray, count: int) -> FloatArray:
    """``count`` stretches with equal shares of a density given between breaks."""
    sums = np.concatenate([[0.0], np.cumsum(density * np.diff(breaks))])
    divided = np.interp(np.linspace(0.0, sums[-1], count + 1), sums, breaks)
    divided[0], divided[-1] = breaks[0], breaks[-1]
    return divided


class _Line:
    """The smooth line: cubic Hermite between the given points, fine enough that nothing shows."""

    def __init__(self, points: FloatArray, angles: FloatArray, lengths: FloatArray) -> None:
        self.points, self.lengths = points, lengths
        self.angles = angles
        self.ways = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        self.length = float(lengths[-1])
        self.turn = float(np.abs(np.diff(angles)).sum())

    def at(self, lengths: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Points and unit tangents (m, 2) at lengths (m,)."""
        index = np.clip(np.searchsorted(self.lengths, lengths, side="right") - 1, 0, len(self.lengths) - 2)
        size = np.maximum(self.lengths[index + 1] - self.lengths[index], 1e-12)
        t = ((lengths - self.lengths[index]) / size)[:, None]
        p0, p1 = self.points[index], self.points[index + 1]
        m0, m1 = size[:, None] * self.ways[index], size[:, None] * self.ways[index + 1]
        points = (2 * t**3 - 3 * t**2 + 1) * p0 + (t**3 - 2 * t**2 + t) * m0
        points = points + (3 * t**2 - 2 * t**3) * p1 + (t**3 - t**2) * m1
        slopes = 6 * (t**2 - t) * (p0 - p1) + (3 * t**2 - 4 * t + 1) * m0 + (3 * t**2 - 2 * t) * m1
        slopes /= np.maximum(np.hypot(slopes[:, 0], slopes[:, 1])[:, None], 1e-12)
        return points, slopes

    def fitted(self, breaks: FloatArray) -> tuple[FloatArray, FloatArray]:
        """One cubic (m, 4, 2) per stretch between breaks, and how far each lies off the line (m,) in mm."""
        ends, ways = self.at(breaks)
        ends[0], ends[-1], ways[0], ways[-1] = self.points[0], self.points[-1], self.ways[0], self.ways[-1]
        sizes = np.diff(breaks)
        inner, tangents = self.at((breaks[:-1, None] + sizes[:, None] * _INNER).ravel())
        inner = inner.reshape(len(sizes), -1, 2)
        normals = np.stack([-tangents[:, 1], tangents[:, 0]], axis=1).reshape(inner.shape)
        return _fit(ends, ways, sizes, inner, normals)


def _fit(
    ends: FloatArray, ways: FloatArray, sizes: FloatArray, inner: FloatArray, normals: FloatArray
) -> tuple[FloatArray, FloatArray]:
    p0, p3, w0, w3 = ends[:-1], ends[1:], ways[:-1], ways[1:]
    t = np.tile(_INNER, (len(sizes), 1))
    cubics = np.stack([p0, p0, p3, p3], axis=1)
    for _ in range(3):
        s = 1 - t
        b1, b2 = 3 * s * s * t, 3 * s * t * t
        base = (s**3 + b1)[..., None] * p0[:, None] + (b2 + t**3)[..., None] * p3[:, None]
        x = (b1[..., None] * w0[:, None] * normals).sum(axis=2)
        y = -(b2[..., None] * w3[:, None] * normals).sum(axis=2)
        want = ((inner - base) * normals).sum(axis=2)
        a, b = _handles(x, y, want, sizes)
        cubics = np.stack([p0, p0 + a[:, None] * w0, p3 - b[:, None] * w3, p3], axis=1)
        at, slope = _curve(cubics, t)
        along = ((at - inner) * slope).sum(axis=2) / np.maximum((slope**2).sum(axis=2), 1e-12)
        t = np.clip(t - along, 0.0, 1.0)
    at, _ = _curve(cubics, t)
    return cubics, np.abs(((at - inner) * normals).sum(axis=2)).max(axis=1)


def _handles(x: FloatArray, y: FloatArray, want: FloatArray, sizes: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Least-squares handle lengths, held near a third of the stretch where the points do not tell."""
    third = sizes / 3
    hold = 1e-10 * np.maximum(sizes[:, None] ** 0, 1e-9)[:, 0]
    want = want - third[:, None] * (x + y)
    xx, yy, xy = (x * x).sum(axis=1) + hold, (y * y).sum(axis=1) + hold, (x * y).sum(axis=1)
    xw, yw = (x * want).sum(axis=1), (y * want).sum(axis=1)
    det = xx * yy - xy * xy
    a, b = third + (yy * xw - xy * yw) / det, third + (xx * yw - xy * xw) / det
    low, high = 0.05 * sizes, 1.2 * sizes
    return np.clip(a, low, high), np.clip(b, low, high)


def _curve(cubics: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
    s = 1 - t
    weights = np.stack([s**3, 3 * s * s * t, 3 * s * t * t, t**3], axis=2)
    legs = 3 * np.diff(cubics, axis=1)
    slopes = np.stack([s * s, 2 * s * t, t * t], axis=2)
    return np.einsum("gmk,gkd->gmd", weights, cubics), np.einsum("gmk,gkd->gmd", slopes, legs)
