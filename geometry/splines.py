"""Smooth lines through points."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from geometry.lines import Chain, chain
from geometry.motions import Point


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
