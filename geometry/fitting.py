"""Refitting: points with known directions, drawn again as few smooth cubics within a tolerance.

Each cubic keeps the exact points and tangents at its ends, so neighbours share their tangent (G1); the two handle
lengths are the least-squares ones. The places to divide follow from the errors, and are the same read from either end.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.lines import Chain, chain
from geometry.motions import FloatArray
from geometry.tolerances import REFIT_MM

#: A cubic is compared with the line every so often (mm), but at least and at most at so many places.
_COMPARED_MM, _LEAST, _MOST = 2.5, 9, 60
_SHRINK = 0.9
#: At first a handle a third too long counts as much as points this far off (mm); less as the fit settles.
_DAMP_MM = 0.01
_STEPS = 4
#: So often the cubics are shared out anew by their errors; after that those that are still off are halved.
_EVENED = 3
#: The error of such a cubic falls at least with this root of its length (the sixth power where curvature is smooth).
_ORDER = 1 / 6


def refit(points: FloatArray, angles: FloatArray, lengths: FloatArray, tolerance: float = REFIT_MM) -> Chain:
    """A chain within ``tolerance`` mm of the smooth line through points (n, 2), with directions (n,) in radians.

    lengths: (n,) mm along the line. First and last point and direction are kept exactly; at most as many segments as
    there are steps.
    """
    line = _Line(points, angles, lengths)
    count = max(1, math.ceil(line.turn / math.radians(60)), math.ceil(line.length / 150))
    most, limit = max(len(points) - 1, 1), _SHRINK * tolerance
    breaks = np.linspace(0.0, line.length, count + 1)
    for divided in range(2 * most):
        cubics, errors = line.fitted(breaks)
        if errors.max() <= limit or len(errors) >= most:
            break
        needed = (np.maximum(errors, limit * 1e-4) / limit) ** _ORDER
        if divided < _EVENED:
            count = min(max(math.ceil(float(needed.sum()) - 1e-9), len(errors)), most)
            breaks = _divided(breaks, needed / np.diff(breaks), count)
        else:
            middles = (breaks[1:] + breaks[:-1]) / 2
            breaks = np.sort(np.concatenate([breaks, middles[errors > limit]]))
    return chain(list(cubics))


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
        places = int(min(max(float(sizes.max()) / _COMPARED_MM, _LEAST), _MOST))
        shares = np.arange(1, places + 1) / (places + 1)
        inner, tangents = self.at((breaks[:-1, None] + sizes[:, None] * shares).ravel())
        inner = inner.reshape(len(sizes), -1, 2)
        normals = np.stack([-tangents[:, 1], tangents[:, 0]], axis=1).reshape(inner.shape)
        return _Fit(ends, ways, sizes, inner, normals, shares).settled()


class _Fit:
    """Handle lengths of several cubics at once, by damped least squares of their distances square to the line."""

    def __init__(
        self,
        ends: FloatArray,
        ways: FloatArray,
        sizes: FloatArray,
        inner: FloatArray,
        normals: FloatArray,
        shares: FloatArray,
    ) -> None:
        self.p0, self.p3, self.w0, self.w3 = ends[:-1], ends[1:], ways[:-1], ways[1:]
        self.sizes, self.inner, self.normals, self.shares = sizes, inner, normals, shares
        self.along0 = (self.w0[:, None] * normals).sum(axis=2)
        self.along3 = (self.w3[:, None] * normals).sum(axis=2)

    def settled(self) -> tuple[FloatArray, FloatArray]:
        """The cubics (m, 4, 2), and their greatest distances from the line (m,) in mm."""
        third = self.sizes / 3
        a, b, t = third, third, np.tile(self.shares, (len(third), 1))
        cubics, off, t = self._tried(a, b, t)
        square, damp = (off**2).sum(axis=1), np.full(len(third), _DAMP_MM)
        for _ in range(_STEPS):
            new_a, new_b = self._step(a, b, t, off, len(self.shares) * (damp / third) ** 2)
            new_cubics, new_off, new_t = self._tried(new_a, new_b, t)
            new_square = (new_off**2).sum(axis=1)
            better = new_square < square
            a, b = np.where(better, new_a, a), np.where(better, new_b, b)
            cubics = np.where(better[:, None, None], new_cubics, cubics)
            off, t = np.where(better[:, None], new_off, off), np.where(better[:, None], new_t, t)
            square, damp = np.where(better, new_square, square), np.where(better, damp / 5, damp * 5)
        return cubics, np.abs(off).max(axis=1)

    def _step(
        self, a: FloatArray, b: FloatArray, t: FloatArray, off: FloatArray, hold: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        st = 3 * t * (1 - t)
        x, y = st * (1 - t) * self.along0, -st * t * self.along3
        xx, yy, xy = (x * x).sum(axis=1) + hold, (y * y).sum(axis=1) + hold, (x * y).sum(axis=1)
        xw, yw = -(x * off).sum(axis=1), -(y * off).sum(axis=1)
        det = xx * yy - xy * xy
        low, high = 0.05 * self.sizes, 1.2 * self.sizes
        a, b = a + (yy * xw - xy * yw) / det, b + (xx * yw - xy * xw) / det
        return np.minimum(np.maximum(a, low), high), np.minimum(np.maximum(b, low), high)

    def _tried(self, a: FloatArray, b: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Cubics with these handles, their signed distances at the line's points (m, k), and the parameters there."""
        cubics = np.stack([self.p0, self.p0 + a[:, None] * self.w0, self.p3 - b[:, None] * self.w3, self.p3], axis=1)
        powers = _powers(cubics)
        at, slopes = _curve(powers, t)
        away = at - self.inner
        step = (away * slopes).sum(axis=2) / np.maximum((slopes * slopes).sum(axis=2), 1e-12)
        t = np.minimum(np.maximum(t - step, 0.0), 1.0)
        off = ((_curve(powers, t)[0] - self.inner) * self.normals).sum(axis=2)
        return cubics, off, t


def _powers(cubics: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """The coefficients (m, 1, 2) of 1, t, t^2 and t^3."""
    p0, p1, p2, p3 = (cubics[:, None, i] for i in range(4))
    return p0, 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - 3 * (p2 - p1) - p0


def _curve(
    powers: tuple[FloatArray, FloatArray, FloatArray, FloatArray], t: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Points and first derivatives (m, k, 2) of cubics at parameters (m, k)."""
    c0, c1, c2, c3 = powers
    t = t[..., None]
    return ((c3 * t + c2) * t + c1) * t + c0, (3 * c3 * t + 2 * c2) * t + c1
