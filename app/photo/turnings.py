"""Corners of a measured outline, by its turning: where the direction jumps, never where it only turns fast.

On both sides of a place a short arm is drawn through the points, leaving out the nearest, which blur has rounded. An
arm is a parabola, so that a curve that runs on evenly gives no jump however tight it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.motions import FloatArray

#: Measured points stand this far apart (mm).
STEP_MM = 0.5
#: Points nearer to a corner than this are rounded by blur (mm).
ROUNDED_MM = 1.6
#: A corner's point lies no further than this from the measured outline (mm); a rounder one is a curve.
ROUND_MM = 1.1
#: Corners stand at least this far apart (mm).
APART_MM = 3.5


@dataclass(frozen=True)
class _Arm:
    """How long an arm is (mm), the power of its curve, and from how many degrees a jump is a corner."""

    length: float
    power: int
    least_deg: float


#: An arm fits when its points lie off it by no more than this many times the usual, and this much (mm).
_BAD_ARM, _BAD_ARM_MM = 2.5, 0.04
_ARMS = (_Arm(14.0, 2, 14.0), _Arm(9.0, 2, 22.0), _Arm(4.5, 1, 40.0))


def corners(points: FloatArray) -> NDArray[np.intp]:
    """Indices of the corners of a closed outline of points (n, 2) about STEP_MM apart, in order."""
    score = np.zeros(len(points))
    for arm in _ARMS:
        before, before_at, off_before = _arms(points, arm, -1)
        after, after_at, off_after = _arms(points, arm, 1)
        jump = np.degrees(np.abs(_angle(before, after)))
        gap = _gap(points, before, before_at, after, after_at)
        # An arm across another corner fits badly and says nothing.
        off = np.maximum(off_before, off_after)
        plain = off < _BAD_ARM * float(np.median(off)) + _BAD_ARM_MM
        score = np.maximum(score, np.where(plain & (gap < ROUND_MM), jump / arm.least_deg, 0.0))
    found: list[int] = []
    count = len(points)
    apart = round(APART_MM / STEP_MM)
    for index in np.argsort(-score):
        if score[index] < 1.0:
            break
        if all(min(abs(index - other), count - abs(index - other)) >= apart for other in found):
            around = (index + np.arange(-apart, apart + 1)) % count
            if score[index] >= score[around].max():
                found.append(int(index))
    return np.array(sorted(found), dtype=np.intp)


def _arms(points: FloatArray, arm: _Arm, sign: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Unit directions (n, 2) in which the arm after (``sign`` 1) or before (-1) every point passes it, where it would
    (n, 2), and the rms (n,) in mm that points lie off the arm."""
    near, far = round(ROUNDED_MM / STEP_MM), round(arm.length / STEP_MM)
    steps = np.arange(near, far + 1)
    powers = np.vander(steps * STEP_MM, arm.power + 1, increasing=True)
    there = np.stack([np.roll(points, -sign * int(step), axis=0) - points for step in steps])
    factors = np.einsum("pk,knd->pnd", np.linalg.pinv(powers), there)
    off = np.einsum("kp,pnd->knd", powers, factors) - there
    slope = sign * factors[1]
    slope /= np.maximum(np.linalg.norm(slope, axis=1), 1e-9)[:, None]
    return slope, factors[0] + points, np.sqrt((off**2).sum(axis=2).mean(axis=0))


def _angle(before: FloatArray, after: FloatArray) -> FloatArray:
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    angle: FloatArray = np.arctan2(cross, (before * after).sum(axis=1))
    return angle


def _gap(
    points: FloatArray, before: FloatArray, before_at: FloatArray, after: FloatArray, after_at: FloatArray
) -> FloatArray:
    """(n,) how far from the outline the two arms meet, in mm."""
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    between = after_at - before_at
    run = (between[:, 0] * after[:, 1] - between[:, 1] * after[:, 0]) / np.where(np.abs(cross) < 1e-3, 1e-3, cross)
    gap: FloatArray = np.linalg.norm(before_at + run[:, None] * before - points, axis=1)
    return gap
