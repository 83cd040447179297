"""Points on the few cubics that an edge has, for asking what lies inside and what crosses: quicker than for many."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from geometry.beziers import Row, weights
from geometry.motions import FloatArray
from geometry.tolerances import SIMPLE_MM

#: Wang's bound, as in ``beziers.flattened``: the steps to the fourth over the greatest second difference squared.
_WANG = (0.75 / SIMPLE_MM) ** 2


def coarse_points(rows: Sequence[Row], cubics: FloatArray, ruled: Sequence[bool]) -> FloatArray:
    """Points (m, 2) within SIMPLE_MM of cubics that follow each other, as ``beziers.flattened`` gives them.

    rows: the cubics (n, 4, 2) as plain numbers; ruled: True where one is a straight line.
    """
    points = list[FloatArray]()
    for (ax, ay, bx, by, cx, cy, dx, dy), cubic, is_line in zip(rows, cubics, ruled, strict=True):
        if is_line:
            points.append(cubic[:1])
            continue
        x, y, z, w = cx - 2 * bx + ax, cy - 2 * by + ay, dx - 2 * cx + bx, dy - 2 * cy + by
        first, last = x * x + y * y, z * z + w * w
        count = math.ceil((_WANG * (first if first > last else last)) ** 0.25)
        points.append(_even(count).dot(cubic) if count > 1 else cubic[:1])
    return np.concatenate([*points, cubics[-1:, 3]])


@lru_cache(maxsize=64)
def _even(count: int) -> FloatArray:
    """(count, 4) what the control points of a cubic weigh at so many even steps from its start."""
    return np.ascontiguousarray(weights(np.arange(count) / count)[0])
