"""Smooth lines through points, and smooth changes through amounts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.lines import Chain, chain
from geometry.motions import FloatArray, Point

#: Three points of a stretch from 0 to 1, with weights that sum a polynomial of degree 5 up exactly (Gauss).
_SUMMED = ((0.5 - math.sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + math.sqrt(0.15), 5 / 18))


def spline(points: Sequence[Point], start_tangent: Point | None = None, end_tangent: Point | None = None) -> Chain:
    """A smooth line through points: the C2 cubic spline over chord length, natural where no tangent is given."""
    knots = np.asarray(points, dtype=float)
    gaps = np.linalg.norm(np.diff(knots, axis=0), axis=1)
    count = len(knots)
    matrix, right = np.zeros((count, count)), np.zeros((count, 2))
    for i in range(1, count - 1):
        matrix[i, i - 1 : i + 2] = gaps[i], 2 * (gaps[i - 1] + gaps[i]), gaps[i - 1]
        right[i] = 3 * (
            gaps[i] / gaps[i - 1] * (knots[i] - knots[i - 1]) + gaps[i - 1] / gaps[i] * (knots[i + 1] - knots[i])
        )
    for row, other, gap, tangent, chord in (
        (0, 1, gaps[0], start_tangent, knots[1] - knots[0]),
        (count - 1, count - 2, gaps[-1], end_tangent, knots[-1] - knots[-2]),
    ):
        if tangent is None:
            matrix[row, row], matrix[row, other] = 2, 1
            right[row] = 3 * chord / gap
        else:
            matrix[row, row] = 1
            right[row] = np.array(tangent) / math.hypot(*tangent)
    slopes = np.linalg.solve(matrix, right)
    return chain(
        [
            (knots[i], knots[i] + gaps[i] / 3 * slopes[i], knots[i + 1] - gaps[i] / 3 * slopes[i + 1], knots[i + 1])
            for i in range(count - 1)
        ]
    )


@dataclass(frozen=True, eq=False)
class Change:
    """A quintic in each stretch between ``places`` (n,), through ``values``, ``slopes`` and ``bends`` (n,)."""

    places: FloatArray
    values: FloatArray
    slopes: FloatArray
    bends: FloatArray

    def at(self, place: float) -> tuple[float, float]:
        """The value and its slope."""
        i = min(max(int(np.searchsorted(self.places, place, side="right")) - 1, 0), len(self.places) - 2)
        run = float(self.places[i + 1] - self.places[i])
        t = (place - float(self.places[i])) / run
        ends = [(self.values[j], self.slopes[j] * run, self.bends[j] * run**2) for j in (i, i + 1)]
        terms = _quintic(*(float(one) for one in (*ends[0], *ends[1])))
        return (
            sum(term * t**n for n, term in enumerate(terms)),
            sum(n * term * t ** (n - 1) for n, term in enumerate(terms) if n) / run,
        )


def least_bent(places: Sequence[float], values: Sequence[float], first_slope: float, last_slope: float) -> Change:
    """Of all changes through values, with these slopes at both ends, the one with the least squared third derivative.

    So a batten lies that stiffens the change: slope and bend run on through every place. ``places`` rise.
    """
    count, unit = len(places), (places[-1] - places[0]) / (len(places) - 1)
    at = np.asarray(places, dtype=float) / unit
    free = count - 2
    matrix, right = np.zeros((3 * (count - 1), free + count)), np.zeros(3 * (count - 1))
    known = {0: first_slope * unit, count - 1: last_slope * unit}
    for i in range(count - 1):
        run = float(at[i + 1] - at[i])
        for k, (t, weight) in enumerate(_SUMMED):
            row, scale = 3 * i + k, math.sqrt(weight * run) / run**3
            from_values, from_slopes, from_bends = _third(t)
            right[row] -= scale * (from_values[0] * values[i] + from_values[1] * values[i + 1])
            for j in (0, 1):
                if i + j in known:
                    right[row] -= scale * from_slopes[j] * run * known[i + j]
                else:
                    matrix[row, i + j - 1] += scale * from_slopes[j] * run
                matrix[row, free + i + j] += scale * from_bends[j] * run**2
    found: FloatArray = np.asarray(np.linalg.lstsq(matrix, right, rcond=None)[0], dtype=np.float64)
    slopes = np.array([known[0], *found[:free], known[count - 1]]) / unit
    return Change(at * unit, np.asarray(values, dtype=float), slopes, found[free:] / unit**2)


def _quintic(
    value: float, slope: float, bend: float, end_value: float, end_slope: float, end_bend: float
) -> tuple[float, ...]:
    """The coefficients of a quintic over 0 to 1 from its ends."""
    rise = end_value - value
    return (
        value,
        slope,
        bend / 2,
        10 * rise - 6 * slope - 4 * end_slope - 1.5 * bend + 0.5 * end_bend,
        -15 * rise + 8 * slope + 7 * end_slope + 1.5 * bend - end_bend,
        6 * rise - 3 * slope - 3 * end_slope - 0.5 * bend + 0.5 * end_bend,
    )


def _third(t: float) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]]:
    """How much each end's value, slope and bend give to a quintic's third derivative at ``t``, the start's first."""
    found = []
    for index in range(6):
        *_, c3, c4, c5 = _quintic(*(1.0 if n == index else 0.0 for n in range(6)))
        found.append(6 * c3 + 24 * c4 * t + 60 * c5 * t**2)
    return (found[0], found[3]), (found[1], found[4]), (found[2], found[5])
