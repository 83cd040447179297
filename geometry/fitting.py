"""Refitting: points with known directions, drawn again as few smooth cubics within a tolerance.

Each cubic keeps the exact points and tangents at its ends, so neighbours share their tangent (G1); the two handle
lengths are the least-squares ones. The places to divide follow from the errors, and are the same read from either end.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.kept import frozen
from geometry.lines import Chain
from geometry.motions import FloatArray
from geometry.tolerances import REFIT_MM

#: A cubic is compared with the line every so often (mm), but at least and at most at so many places.
_COMPARED_MM, _LEAST, _MOST = 2.5, 9, 60
_SHRINK = 0.9
#: At first a handle a third too long counts as much as points this far off (mm); less as the fit settles.
_DAMP_MM = 0.01
_STEPS = 4
#: After so many steps a fit that is further off than this many limits is given up, as it must be divided anyway.
_SETTLED = 0.98
_SOON, _HOPELESS = 2, 1.5
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
        cubics, errors = line.fitted(breaks, limit)
        if errors.max() <= limit or len(errors) >= most:
            break
        needed = (np.maximum(errors, limit * 1e-4) / limit) ** _ORDER
        if divided < _EVENED:
            count = min(max(math.ceil(float(needed.sum()) - 1e-9), len(errors)), most)
            breaks = _divided(breaks, needed, count)
        else:
            middles = (breaks[1:] + breaks[:-1]) / 2
            breaks = np.sort(np.concatenate([breaks, middles[errors > limit]]))
    return Chain(frozen(cubics), frozen(np.zeros(len(cubics), dtype=bool)))


def _divided(breaks: FloatArray, needed: FloatArray, count: int) -> FloatArray:
    """``count`` stretches with equal shares of what is needed, which is given for each stretch between breaks."""
    sums = np.concatenate([[0.0], needed.cumsum()])
    divided = np.interp(np.linspace(0.0, sums[-1], count + 1), sums, breaks)
    divided[0], divided[-1] = breaks[0], breaks[-1]
    return divided


class _Line:
    """The smooth line: cubic Hermite between the given points, fine enough that nothing shows."""

    def __init__(self, points: FloatArray, angles: FloatArray, lengths: FloatArray) -> None:
        self.points, self.lengths = points.T, lengths
        self.ways = np.array([np.cos(angles), np.sin(angles)])
        self.length = float(lengths[-1])
        self.turn = float(np.abs(angles[1:] - angles[:-1]).sum())

    def at(self, lengths: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Points and unit tangents (2, m) at lengths (m,)."""
        index = np.minimum(self.lengths[1:-1].searchsorted(lengths, side="right"), len(self.lengths) - 2)
        before, p0, m0, m1 = self.lengths[index], self.points[:, index], self.ways[:, index], self.ways[:, index + 1]
        size = np.maximum(self.lengths[index + 1] - before, 1e-12)
        t = (lengths - before) / size
        step, m0, m1 = self.points[:, index + 1] - p0, size * m0, size * m1
        # Coefficients of t^2 and t^3.
        square, cube = 3 * step - 2 * m0 - m1, m0 + m1 - 2 * step
        slopes = (3 * cube * t + 2 * square) * t + m0
        slopes /= np.maximum(np.hypot(slopes[0], slopes[1]), 1e-12)
        return ((cube * t + square) * t + m0) * t + p0, slopes

    def fitted(self, breaks: FloatArray, limit: float) -> tuple[FloatArray, FloatArray]:
        """One cubic (m, 4, 2) per stretch between breaks, and how far each lies off the line (m,) in mm."""
        sizes = breaks[1:] - breaks[:-1]
        places = int(min(max(float(sizes.max()) / _COMPARED_MM, _LEAST), _MOST))
        shares = np.arange(1, places + 1) / (places + 1)
        inner = (breaks[:-1, None] + sizes[:, None] * shares).ravel()
        points, ways = self.at(np.concatenate([breaks, inner]))
        count = len(breaks)
        for row, exact in ((points, self.points), (ways, self.ways)):
            row[:, 0], row[:, count - 1] = exact[:, 0], exact[:, -1]
        shape = (2, len(sizes), places)
        tangents = ways[:, count:].reshape(shape)
        normals = np.array([-tangents[1], tangents[0]])
        fit = _Fit(points[:, :count], ways[:, :count], sizes, points[:, count:].reshape(shape), normals, shares)
        return fit.settled(limit)


class _Fit:
    """Handle lengths of several cubics at once, by damped least squares of their distances square to the line.

    Arrays are (2, m, k): x and y of k places on each of m stretches.
    """

    def __init__(
        self,
        ends: FloatArray,
        ways: FloatArray,
        sizes: FloatArray,
        inner: FloatArray,
        normals: FloatArray,
        shares: FloatArray,
    ) -> None:
        self.p0, self.p3 = ends[:, :-1, None], ends[:, 1:, None]
        self.step = self.p3 - self.p0
        self.w0, self.w3 = ways[:, :-1, None], ways[:, 1:, None]
        self.sizes, self.inner, self.normals, self.shares = sizes, inner, normals, shares
        self.along0 = self.w0[0] * normals[0] + self.w0[1] * normals[1]
        self.along3 = self.w3[0] * normals[0] + self.w3[1] * normals[1]

    def settled(self, limit: float) -> tuple[FloatArray, FloatArray]:
        """The cubics (m, 4, 2), and their greatest distances from the line (m,) in mm; see ``_HOPELESS``."""
        third = self.sizes / 3
        a, b, t = third, third, self.shares[None, :]
        off, t = self._tried(a, b, t)
        square, damp = (off * off).sum(axis=1), np.full(len(third), _DAMP_MM)
        for step in range(_STEPS):
            if step == _SOON and float(np.abs(off).max()) > _HOPELESS * limit:
                break
            new_a, new_b = self._step(a, b, t, off, len(self.shares) * (damp / third) ** 2)
            new_off, new_t = self._tried(new_a, new_b, t)
            new_square = (new_off * new_off).sum(axis=1)
            better = new_square < square
            if better.all():
                settled = bool((new_square > _SETTLED * square).all())
                a, b, off, t, square, damp = new_a, new_b, new_off, new_t, new_square, damp / 5
                if settled:
                    break
                continue
            a, b = np.where(better, new_a, a), np.where(better, new_b, b)
            off, t = np.where(better[:, None], new_off, off), np.where(better[:, None], new_t, t)
            square, damp = np.where(better, new_square, square), np.where(better, damp / 5, damp * 5)
        return self._cubics(a, b), np.abs(off).max(axis=1)

    def _cubics(self, a: FloatArray, b: FloatArray) -> FloatArray:
        rows = [self.p0, self.p0 + a[:, None] * self.w0, self.p3 - b[:, None] * self.w3, self.p3]
        return np.ascontiguousarray(np.concatenate(rows, axis=2).transpose(1, 2, 0))

    def _step(
        self, a: FloatArray, b: FloatArray, t: FloatArray, off: FloatArray, hold: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        st = 3 * t * (1 - t)
        x, y = (st - st * t) * self.along0, -st * t * self.along3
        xx, yy, xy = (x * x).sum(axis=1) + hold, (y * y).sum(axis=1) + hold, (x * y).sum(axis=1)
        xw, yw = -(x * off).sum(axis=1), -(y * off).sum(axis=1)
        det = xx * yy - xy * xy
        low, high = 0.05 * self.sizes, 1.2 * self.sizes
        a, b = a + (yy * xw - xy * yw) / det, b + (xx * yw - xy * xw) / det
        return np.minimum(np.maximum(a, low), high), np.minimum(np.maximum(b, low), high)

    def _tried(self, a: FloatArray, b: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Signed distances of cubics with these handles at the line's points (m, k), and the parameters there."""
        c1, back = 3 * a[:, None] * self.w0, 3 * b[:, None] * self.w3
        c2, c3 = 3 * self.step - 2 * c1 - back, c1 + back - 2 * self.step
        base = self.p0 - self.inner
        away = ((c3 * t + c2) * t + c1) * t + base
        slopes = (3 * c3 * t + 2 * c2) * t + c1
        step = (away[0] * slopes[0] + away[1] * slopes[1]) / np.maximum(
            slopes[0] * slopes[0] + slopes[1] * slopes[1], 1e-12
        )
        t = np.minimum(np.maximum(t - step, 0.0), 1.0)
        away = ((c3 * t + c2) * t + c1) * t + base
        return away[0] * self.normals[0] + away[1] * self.normals[1], t
