"""The least of a quadratic within linear limits, by an interior point method.

Primal and dual go together, with a predictor and a corrector (Mehrotra 1992, “On the implementation of a primal-dual
interior point method”); for some dozens of unknowns and some hundreds of limits.
"""

from __future__ import annotations

import numpy as np

from geometry.motions import FloatArray

_ROUNDS = 50
_SMALL = 1e-8
#: So much of the way to the nearest limit is gone.
_SHORT_OF = 0.995
#: What is left to each limit at the start, for those that are passed there.
_LEFT = 1e-3


def least_within(
    square: FloatArray, linear: FloatArray, rows: FloatArray, limits: FloatArray, start: FloatArray
) -> FloatArray:
    """x (n,) for which x square x / 2 + linear x is least while rows x <= limits.

    square (n, n) positive definite, linear (n,), rows (m, n), limits (m,); unknowns and rows should be of the order of
    1. start (n,) is best within the limits. Where the limits leave no room the answer keeps to none in particular.
    Raises LinAlgError where the numbers give out.
    """
    x, left = start, np.maximum(limits - rows @ start, _LEFT)
    press = np.full(len(limits), max(float(np.abs(linear).max()), 1.0) / len(limits))
    for _ in range(_ROUNDS):
        dual = square @ x + linear + press @ rows
        primal = rows @ x + left - limits
        both = left * press
        gap = float(both.sum()) / len(both)
        if max(float(np.abs(dual).max()), float(np.abs(primal).max()), gap) < _SMALL:
            break
        shares = press / left
        system = square + (rows.T * shares) @ rows
        ahead = _step(system, rows, shares, left, dual, primal, both)
        then = (left + _room(left, ahead[1]) * ahead[1]) @ (press + _room(press, ahead[2]) * ahead[2]) / len(both)
        centred = both + ahead[1] * ahead[2] - (then / gap) ** 3 * gap
        dx, dleft, dpress = _step(system, rows, shares, left, dual, primal, centred)
        size = _SHORT_OF * min(_room(left, dleft), _room(press, dpress))
        x, left, press = x + size * dx, left + size * dleft, press + size * dpress
    return x


def _step(
    system: FloatArray,
    rows: FloatArray,
    shares: FloatArray,
    left: FloatArray,
    dual: FloatArray,
    primal: FloatArray,
    both: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Newton's step for the unknowns, for what is left to the limits and for how hard these press."""
    dx = np.asarray(np.linalg.solve(system, -dual - (shares * primal - both / left) @ rows), dtype=np.float64)
    dleft: FloatArray = -primal - rows @ dx
    return dx, dleft, -(both / left) - shares * dleft


def _room(values: FloatArray, steps: FloatArray) -> float:
    """The share of the steps, up to 1, that leaves all values above 0."""
    falling = steps < 0
    return min(1.0, float((values[falling] / -steps[falling]).min())) if falling.any() else 1.0
