"""Where a cubic in Bernstein form is zero, reckoned with plain numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from geometry.tolerances import MEET_MM


def roots(bernstein: Sequence[float]) -> list[float]:
    """Parameters in [0, 1] where a cubic in Bernstein form is zero, ends counted within MEET_MM."""
    b0, b1, b2, b3 = bernstein
    found = []
    if abs(b0) <= MEET_MM:
        found.append(0.0)
    if abs(b3) <= MEET_MM:
        found.append(1.0)
    a, b, c, d = b3 - 3 * b2 + 3 * b1 - b0, 3 * (b2 - 2 * b1 + b0), 3 * (b1 - b0), b0
    if max(abs(a), abs(b), abs(c), abs(d)) < 1e-12:
        return found[:1]
    # Between its turning points a cubic is monotonic: each stretch with a change of sign holds one root.
    stops = [0.0, 1.0]
    if not (b0 <= b1 <= b2 <= b3 or b0 >= b1 >= b2 >= b3):
        stops[1:1] = sorted(t for t in _quadratic_roots(3 * a, 2 * b, c) if 0 < t < 1)
    for low, high in pairwise(stops):
        root = _bracketed_root(a, b, c, d, low, high)
        if root is not None:
            found.append(root)
    found.sort()
    return [t for i, t in enumerate(found) if i == 0 or t - found[i - 1] > 1e-9]


def _quadratic_roots(a: float, b: float, c: float) -> list[float]:
    if abs(a) <= 1e-14 * (abs(b) + abs(c)):
        return [-c / b] if b else []
    under = b * b - 4 * a * c
    if under < 0:
        return []
    q = -(b + math.copysign(math.sqrt(under), b)) / 2
    return [q / a, c / q] if q else [0.0]


def _bracketed_root(a: float, b: float, c: float, d: float, low: float, high: float) -> float | None:
    """The zero of a cubic that is monotonic from low to high, by Newton's steps kept inside; None without one."""
    f_low = ((a * low + b) * low + c) * low + d
    f_high = ((a * high + b) * high + c) * high + d
    if min(abs(f_low), abs(f_high)) <= MEET_MM * 1e-3 and f_low * f_high >= 0:
        return low if abs(f_low) < abs(f_high) else high
    if f_low * f_high > 0:
        return None
    t = low + (high - low) * abs(f_low) / max(abs(f_low) + abs(f_high), 1e-300)
    for _ in range(80):
        f = ((a * t + b) * t + c) * t + d
        if f == 0 or high - low < 1e-15:
            break
        low, high = (low, t) if f * f_high > 0 else (t, high)
        slope = (3 * a * t + 2 * b) * t + c
        step = t - f / slope if slope else -1.0
        new = step if low < step < high else (low + high) / 2
        if abs(new - t) < 1e-16:
            break
        t = new
    return t
