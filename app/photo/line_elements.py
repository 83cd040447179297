"""Small pieces of the lines on a sheet: places on the middle of lines, each with the directions a line may run there.

Where lines cross a place has several directions, beside a corner those of both its sides.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from app.photo.line_ink import Ink, Ridges
from geometry.motions import FloatArray

#: Places on a line stand about so far apart (mm).
SPACED_MM = 0.9
#: Ink this black (share) and so far off the middle of every line (mm, and times what most ink is) is of two lines.
_PLAIN_INK, _OFF_MM, _WIDER = 0.75, 0.28, 1.4
#: Such ink with directions further apart than this (degrees) lies in the angle of a crossing.
_CROSSED_DEG = 35.0
#: Directions are tried so many degrees apart, and bends up to so much a mm to both sides.
_TRIED_DEG, _BENDS = 5.0, (-0.025, -0.0125, 0.0, 0.0125, 0.025)
#: Ink along a direction is sampled so often (mm), not nearer than this (mm).
_SAMPLE_MM, _INNER_MM = 0.3, 0.5
#: What a line that is seen on one side of a place only counts less, and what a bend does (for each unit of it).
_ONE_SIDED, _BENT = 0.12, 1.2
#: Only where this share of the way is ink is a line seen on one side.
_WHOLE = 0.85
#: A direction is one of a place's when it has this share of the best one's ink; a place has at most so many.
_AS_GOOD, _MOST = 0.75, 5
#: Where lines lie on each other every direction with this share of the best one's is, so many degrees apart and no
#: further round from the best.
_AS_PLAIN, _APART_DEG, _ROUND_DEG = 0.92, 9.0, 22.0
#: A place of a line has at least this share of ink so many mm to all sides; a lone speck has less.
_ABOUT_MM, _ABOUT = 2.0, 0.012
#: Places are looked at so many at once.
_AT_ONCE = 2000


@dataclass(frozen=True, eq=False)
class Elements:
    """Places (n, 2) in mm, each with a unit way (n, 2) along a line; every one comes again with the way back: the
    second half of them is the first half turned round."""

    points: FloatArray
    ways: FloatArray

    def turned_round(self, at: int) -> int:
        half = len(self.points) // 2
        return at - half if at >= half else at + half


def elements(ink: Ink, ridges: Ridges, black: float, reach: float) -> Elements:
    """The elements of the lines, their directions seen over ``reach`` mm to both sides; ``black`` is how dark the ink
    of the line is that is followed."""
    middles, others = _spaced(ridges), _between(ink, ridges, black)
    middles = middles[ink.inked_about(middles, black, _ABOUT_MM) > _ABOUT]
    points = np.concatenate([middles, others])
    found, ways = [], []
    for start in range(0, len(points), _AT_ONCE):
        part = points[start : start + _AT_ONCE]
        at, angles = _directions(ink, part, black, reach)
        if start + len(part) > len(middles):
            # Beside a crossing there is ink that no line runs along.
            spans = np.zeros(len(part))
            np.maximum.at(spans, at, _turn(angles, angles[_first(at, len(part))[at]]))
            kept = (spans[at] < np.radians(_CROSSED_DEG)) | (at + start < len(middles))
            at, angles = at[kept], angles[kept]
        found.append(part[at])
        ways.append(np.stack([np.cos(angles), np.sin(angles)], axis=1))
    every = np.concatenate(found) if found else np.zeros((0, 2))
    along = np.concatenate(ways) if ways else np.zeros((0, 2))
    return Elements(np.concatenate([every, every]), np.concatenate([along, -along]))


def _spaced(ridges: Ridges) -> FloatArray:
    """The plainest place (m, 2) of every cell of SPACED_MM."""
    cells = np.floor(ridges.points / SPACED_MM).astype(np.int64)
    keys = cells[:, 0] * 1_000_003 + cells[:, 1]
    order = np.lexsort((-ridges.strength, keys))
    first = np.concatenate([[True], np.diff(keys[order]) != 0]) if len(order) else np.zeros(0, bool)
    return ridges.points[order[first]]


def _first(at: NDArray[np.intp], count: int) -> NDArray[np.intp]:
    """Where each of ``count`` places comes first in a list (k,) of places."""
    first = np.zeros(count, np.intp)
    first[at[::-1]] = np.arange(len(at))[::-1]
    return first


def _between(ink: Ink, ridges: Ridges, black: float) -> FloatArray:
    """Places (m, 2) of ink that lie off the middle of every line: there are two beside or across each other."""
    rows, columns = np.nonzero(ink.dark > _PLAIN_INK * black)
    points = np.stack([(columns + 0.5) * ink.pixel_mm, ink.height - (rows + 0.5) * ink.pixel_mm], axis=1)
    if not len(points) or not len(ridges.points):
        return points[:0]
    tree = shapely.STRtree(np.asarray(shapely.points(ridges.points)))
    _, off = tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    far = off > max(_OFF_MM, _WIDER * float(np.percentile(off, 75)))
    return _spaced(Ridges(points[far], off[far]))


def _directions(ink: Ink, points: FloatArray, black: float, reach: float) -> tuple[NDArray[np.intp], FloatArray]:
    """Which places (k,) of points (n, 2) have lines in which directions (k,), in radians."""
    angles = np.radians(np.arange(0.0, 180.0, _TRIED_DEG))
    along = np.arange(_INNER_MM, reach + 1e-6, _SAMPLE_MM)
    weights = 1.0 / (1.0 + (along / (0.75 * reach)) ** 4)
    weights /= weights.sum()
    best = np.full((len(points), len(angles)), -1.0)
    for bend in _BENDS:
        sides = []
        for sign in (1.0, -1.0):
            x, y = sign * along, bend * along**2 / 2
            cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
            offsets = np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1)
            seen = np.minimum(ink.at(points[:, None, None] + offsets[None]) / black, 1.0)
            sides.append(seen @ weights)
        one = np.maximum(*sides)
        score = np.maximum((sides[0] + sides[1]) / 2, np.where(one > _WHOLE, one - _ONE_SIDED, 0.0)) - _BENT * abs(bend)
        best = np.maximum(best, score)
    return _chosen(best, angles)


def _chosen(scores: FloatArray, angles: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    """Which places (k,) have which directions (k,), in radians, by the scores (n, m) of directions (m,)."""
    left, right = np.roll(scores, 1, axis=1), np.roll(scores, -1, axis=1)
    most = scores.max(axis=1, keepdims=True)
    beside = _turn(angles[None], angles[scores.argmax(axis=1)][:, None]) < np.radians(_ROUND_DEG)
    top = (scores >= left) & (scores > right) & (scores > _AS_GOOD * most)
    fit = top | (beside & (scores > _AS_PLAIN * most))
    waiting = np.where(fit, scores, -1.0)
    found, turned = [], []
    every = np.arange(len(scores))
    for _ in range(_MOST):
        which = waiting.argmax(axis=1)
        at = every[waiting[every, which] > 0]
        which = which[at]
        here, before, after = scores[at, which], left[at, which], right[at, which]
        shift = (before - after) / np.minimum(2 * (before - 2 * here + after), -1e-6)
        found.append(at)
        turned.append(angles[which] + np.clip(shift, -0.5, 0.5) * np.radians(_TRIED_DEG))
        waiting[at] = np.where(_turn(angles[None], angles[which][:, None]) < np.radians(_APART_DEG), -1.0, waiting[at])
    return np.concatenate(found), np.concatenate(turned)


def _turn(one: FloatArray, other: FloatArray) -> FloatArray:
    """How far lines (angles in radians) are turned from each other, at most a right angle."""
    turn: FloatArray = np.abs((one - other + np.pi / 2) % np.pi - np.pi / 2)
    return turn
