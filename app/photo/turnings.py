"""Corners of a measured outline, by its turning: where the direction jumps, never where it only turns fast.

On both sides of a place a short arm is drawn through the points, leaving out the nearest, which blur has rounded. An
arm is a parabola, so that a curve that runs on evenly gives no jump however tight it is. A short bend gives one, such
as a pocket's rounded corner, as the arms then reach beyond it; but there the points beside turn as much as those
between the arms, while at a corner they do not turn at all.
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
ROUND_MM = 1.2
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
_ARMS = (_Arm(14.0, 2, 14.0), _Arm(9.0, 2, 22.0))
#: A direction is that of so many points to each side. At a corner less than this share of the turning between the
#: points that blur has rounded is found again on either side of them, this way or, as where an edge strays and comes
#: back, that way; so many times what directions usually vary is forgiven. Arms may make so many times as much of that
#: turning.
_ALONG, _BESIDE, _FORGIVEN, _AS_MUCH = 2, 0.4, 1.0, 1.6
#: Where it turns by so many degrees more than on either side, this way or that, and than so many times as it
#: wavers within so many mm, is a corner, however near the next one is.
_SUDDEN_DEG, _WAVERS, _ABOUT_MM = 22.0, 2.5, 15.0
#: Points further off an arm than so many times the usual count less (Huber's proposal with Cauchy's weight).
_FAR = 3.0
_TIMES = 3
#: A jump is a corner when it is larger than so many times what the points' own noise makes of a smooth line; so many
#: neighbouring points err together.
_SURE, _TOGETHER = 3.0, 3.0


@dataclass(frozen=True, eq=False)
class _Fitted:
    """Arms at every point: their unit directions (n, 2), where they pass it (n, 2), how far points lie off them (n,)
    in mm, and how sure the directions are (n,) in degrees."""

    ways: FloatArray
    at: FloatArray
    off: FloatArray
    sure_deg: FloatArray


def corners(points: FloatArray, seen: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Indices of the corners of a closed outline of points (n, 2) about STEP_MM apart, in order.

    ``seen`` (n,) says which of them were measured and not bridged: a bridge cuts a corner off, and turns at both ends.
    """
    score, turned, measured = np.zeros(len(points)), _turned(points), _seen_about(seen)
    for arm in _ARMS:
        before, after = _arms(points, arm, -1), _arms(points, arm, 1)
        jump = np.degrees(np.abs(_angle(before.ways, after.ways)))
        jump = np.where(measured, np.minimum(jump, _AS_MUCH * turned.most), jump)
        gap = _gap(points, before.ways, before.at, after.ways, after.at)
        # An arm across another corner fits badly and says nothing.
        off = np.maximum(before.off, after.off)
        plain = off < _BAD_ARM * float(np.median(off)) + _BAD_ARM_MM
        least = arm.least_deg + _SURE * np.hypot(before.sure_deg, after.sure_deg)
        score = np.maximum(score, np.where(plain & (gap < ROUND_MM), jump / least, 0.0))
    score = np.where(turned.at_once | ~measured, score, 0.0)
    score = np.maximum(score, np.where(measured, turned.more / (_SUDDEN_DEG + _WAVERS * turned.wavers), 0.0))
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
    return np.array(sorted(_placed(np.array(found, dtype=np.intp), turned, measured)), dtype=np.intp)


def _placed(found: NDArray[np.intp], turned: _Turned, measured: NDArray[np.bool_]) -> NDArray[np.intp]:
    """The corners moved to where it turns most, as far as blur rounds them, where that was measured."""
    if not len(found):
        return found
    reach = round(ROUNDED_MM / STEP_MM)
    near = (found[:, None] + np.arange(-reach, reach + 1)) % len(measured)
    best = near[np.arange(len(found)), turned.more[near].argmax(axis=1)]
    return np.where(measured[found], best, found)


@dataclass(frozen=True, eq=False)
class _Turned:
    """How a closed outline turns (degrees) at every point (n,) between the nearest points, which blur may have moved:
    by how much there or next to it, how much more than on either side, and whether at once and not round a bend; and
    how much that usually wavers within _ABOUT_MM."""

    most: FloatArray
    more: FloatArray
    at_once: NDArray[np.bool_]
    wavers: FloatArray


def _turned(points: FloatArray) -> _Turned:
    steps = np.arange(-_ALONG, _ALONG + 1)
    ways = np.sum([step * np.roll(points, -int(step), axis=0) for step in steps], axis=0)
    half = round(ROUNDED_MM / STEP_MM)
    turned = np.degrees(_angle(np.roll(ways, half, axis=0), np.roll(ways, -half, axis=0)))
    usual = float(np.median(np.abs(turned)))
    about = round(_ABOUT_MM / STEP_MM)
    beside = np.stack([np.roll(turned, 2 * half), np.roll(turned, -2 * half)])
    wavers = np.pad(np.abs(turned - beside.mean(axis=0)), about, mode="wrap")
    local = np.median(np.lib.stride_tricks.sliding_window_view(wavers, 2 * about + 1), axis=1)
    most_beside = np.abs(beside).max(axis=0)
    once = _BESIDE * np.abs(turned) + _FORGIVEN * usual > most_beside
    # The place of the greatest turning round about speaks for its neighbours.
    reach = range(-half, half + 1)
    sizes = np.stack([np.roll(np.abs(turned), step) for step in reach])
    at_once = np.take_along_axis(np.stack([np.roll(once, step) for step in reach]), sizes.argmax(axis=0)[None], axis=0)
    return _Turned(sizes.max(axis=0), np.abs(turned) - most_beside, at_once[0], local)


def _seen_about(seen: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where no bridge as long as what blur rounds lies among the points that _turned looks at."""
    half = round(ROUNDED_MM / STEP_MM)
    bridged = ~np.any([np.roll(seen, step) for step in range(half)], axis=0)
    reach = 3 * half + _ALONG
    none: NDArray[np.bool_] = ~np.any([np.roll(bridged, step) for step in range(-reach, reach + 1)], axis=0)
    return none


def _arms(points: FloatArray, arm: _Arm, sign: int) -> _Fitted:
    """The arm after (``sign`` 1) or before (-1) every point (n, 2), those that lie far off it counting less."""
    near, far = round(ROUNDED_MM / STEP_MM), round(arm.length / STEP_MM)
    steps = np.arange(near, far + 1)
    powers = np.vander(steps * STEP_MM, arm.power + 1, increasing=True)
    there = np.stack([np.roll(points, -sign * int(step), axis=0) - points for step in steps], axis=1)
    heavy = np.ones(there.shape[:2])
    for _ in range(_TIMES):
        normal = np.einsum("nk,kp,kq->npq", heavy, powers, powers) + 1e-9 * np.eye(arm.power + 1)
        factors = np.linalg.solve(normal, np.einsum("nk,kp,nkd->npd", heavy, powers, there))
        off = np.linalg.norm(np.einsum("kp,npd->nkd", powers, factors) - there, axis=2)
        usual = float(np.median(off)) + 1e-6
        heavy = 1 / (1 + (off / (_FAR * usual)) ** 2)
    slope = sign * factors[:, 1]
    slope /= np.maximum(np.linalg.norm(slope, axis=1), 1e-9)[:, None]
    middle = np.median(off, axis=1)
    spread = np.linalg.inv(normal)[:, 1, 1] * _TOGETHER * heavy.mean(axis=1)
    return _Fitted(
        slope, factors[:, 0] + points, middle, np.degrees(1.48 * np.maximum(usual, middle) * np.sqrt(spread))
    )


def _angle(before: FloatArray, after: FloatArray) -> FloatArray:
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    angle: FloatArray = np.arctan2(cross, (before * after).sum(axis=1))
    return angle


def _gap(
    points: FloatArray, before: FloatArray, before_at: FloatArray, after: FloatArray, after_at: FloatArray
) -> FloatArray:
    """(n,) how far from the outline round about the two arms meet, in mm."""
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    between = after_at - before_at
    run = (between[:, 0] * after[:, 1] - between[:, 1] * after[:, 0]) / np.where(np.abs(cross) < 1e-3, 1e-3, cross)
    meet = before_at + run[:, None] * before
    steps = range(-round(ROUNDED_MM / STEP_MM), round(ROUNDED_MM / STEP_MM) + 1)
    gap: FloatArray = np.min([np.linalg.norm(meet - np.roll(points, step, axis=0), axis=1) for step in steps], axis=0)
    return gap
