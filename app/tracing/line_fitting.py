"""Edges from corner to corner: a file's curves as they are, points drawn as curves, straight lines made straight."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely

from geometry.fitting import refit
from geometry.lines import Chain, joined, straight, tidied
from geometry.motions import FloatArray

#: A curve through points lies this close to them (mm) …
POINTS_MM = 0.005
#: … and is taken only where it stays this close to the straight lines between them (mm).
AS_DRAWN_MM = 0.06
#: A file's line that is straight within this is one straight line (mm).
STRAIGHT_MM = 0.01
#: So many points at least make a curve; a stretch so many times as long as its neighbour is a straight line.
_LEAST_POINTS, _LONGER = 4, 3.5
#: Where a straight line runs into a curve it turns at most so much of what the curve turns at its next point.
_RUNS_IN = 0.8


def edge_lines(line: Chain, corners: list[int], noise_mm: float, straight_mm: float = STRAIGHT_MM) -> list[Chain]:
    """The stretches of a closed line from corner to corner, in order from the first corner; see the module.

    ``noise_mm`` is how far points of a picture are off, 0 for a file; lines straight within ``straight_mm`` become so.
    """
    if not corners:
        return [fitted(line, noise_mm, straight_mm)]
    count = len(line)
    found = []
    for start, stop in pairwise([*corners, corners[0] + count]):
        part = line.part(start, stop) if stop <= count else _wrapped(line, start, stop - count)
        found.append(fitted(part, noise_mm, straight_mm))
    return found


def _wrapped(line: Chain, start: int, stop: int) -> Chain:
    tail = line.part(start, len(line)) if start < len(line) else None
    head = line.part(0, stop) if stop > 0 else None
    return joined([one for one in (tail, head) if one is not None])


def fitted(part: Chain, noise_mm: float, straight_mm: float = STRAIGHT_MM) -> Chain:
    """One edge. Points of a picture are smoothed within ``noise_mm``; 0 stands for a file's exact lines."""
    chord = straight(part.start, part.end)
    if part.start != part.end and _off_chord(part) <= max(straight_mm, noise_mm):
        return chord
    if noise_mm > 0:
        smooth = _smoothed(part, noise_mm)
        return chord if _off_chord(smooth) <= noise_mm else smooth
    pieces: list[Chain] = []
    for first, last in _runs_of_points(part):
        stretch = part.part(first, last)
        many = last - first >= _LEAST_POINTS and bool(stretch.straight.all())
        pieces.append(_through_points(stretch) if many else stretch)
    return tidied(joined(pieces)) if part.straight.all() else joined(pieces)


def straightened(part: Chain) -> Chain:
    """An edge, as one straight line where it is straight within STRAIGHT_MM."""
    return straight(part.start, part.end) if _off_chord(part) <= STRAIGHT_MM else part


def _off_chord(part: Chain) -> float:
    """How far a line strays from the straight line between its ends (mm)."""
    points = part.flat[0]
    way = points[-1] - points[0]
    size = math.hypot(*way)
    if size < 1e-9:
        return math.inf
    away = points - points[0]
    along = away @ way / size
    if along.min() < -STRAIGHT_MM or along.max() > size + STRAIGHT_MM:
        return math.inf
    return float(np.abs(away[:, 0] * way[1] - away[:, 1] * way[0]).max() / size)


def _runs_of_points(part: Chain) -> list[tuple[int, int]]:
    """Stretches of segments (from, to): runs that stand for points of a curve, and what lies between them."""
    sizes, kinds = part.segment_lengths, part.straight
    count = len(part)
    is_point = kinds.copy()
    for i in range(count):
        beside = [sizes[j] for j in (i - 1, i + 1) if 0 <= j < count and kinds[j]]
        if not beside or sizes[i] > _LONGER * min(beside):
            is_point[i] = False
    runs: list[tuple[int, int]] = []
    start = 0
    for i in range(1, count + 1):
        if i == count or is_point[i] != is_point[i - 1]:
            runs.append((start, i))
            start = i
    return runs


def _through_points(stretch: Chain) -> Chain:
    """A smooth curve through the points of a stretch where it stays close to what is drawn; otherwise the stretch."""
    points = np.concatenate([stretch.cubics[:, 0], stretch.cubics[-1:, 3]])
    sizes = stretch.segment_lengths
    legs = np.diff(points, axis=0)
    ways = np.unwrap(np.arctan2(legs[:, 1], legs[:, 0]))
    if np.abs(np.diff(ways)).max() > math.radians(50):
        return stretch
    between = (ways[:-1] * sizes[1:] + ways[1:] * sizes[:-1]) / (sizes[:-1] + sizes[1:])
    first = 2 * ways[0] - between[0]
    last = 2 * ways[-1] - between[-1]
    angles = np.concatenate([[first], between, [last]])
    lengths = np.concatenate([[0.0], sizes.cumsum()])
    drawn = refit(points, angles, lengths, POINTS_MM * 0.8)
    return drawn if off_line(drawn, stretch) <= AS_DRAWN_MM else stretch


def off_line(one: Chain, other: Chain) -> float:
    """The greatest distance between two lines (mm), on points 0.005 mm close to them."""
    a, b = one.flat[0], other.flat[0]
    far = max(
        shapely.distance(shapely.points(p), shapely.LineString(q)).max() for p, q in ((_thick(a), b), (_thick(b), a))
    )
    return float(far)


def _thick(points: FloatArray) -> FloatArray:
    """Points with those halfway between them."""
    return np.concatenate([points, (points[1:] + points[:-1]) / 2])


def _smoothed(part: Chain, error_mm: float) -> Chain:
    """A smooth line through points that are off by ``error_mm``, its ends where the points end.

    The points are evened out over a length that keeps a bend of 30 mm radius within a third of the error, then
    drawn as few cubics within half of it.
    """
    points = np.concatenate([part.cubics[:, 0], part.cubics[-1:, 3]])
    lengths = np.concatenate([[0.0], part.segment_lengths.cumsum()])
    step = min(1.0, lengths[-1] / 8)
    count = max(int(lengths[-1] / step), 8)
    even = np.linspace(0.0, lengths[-1], count + 1)
    line = np.stack([np.interp(even, lengths, points[:, k]) for k in (0, 1)], axis=1)
    # The mean over a spread s of a circle of radius r lies s^2 / 2r inside it.
    spread = math.sqrt(2 * 30.0 * error_mm / 3)
    smooth = _averaged(line, spread / (lengths[-1] / count))
    legs = np.gradient(smooth, axis=0)
    angles = np.unwrap(np.arctan2(legs[:, 1], legs[:, 0]))
    sums = np.concatenate([[0.0], np.hypot(*np.diff(smooth, axis=0).T).cumsum()])
    return refit(smooth, angles, sums, max(error_mm / 2, POINTS_MM))


def _averaged(line: FloatArray, spread: float) -> FloatArray:
    """The line under a bell-shaped mean of ``spread`` points; beyond its ends it is turned about them."""
    reach = min(int(3 * spread) + 1, len(line) - 1)
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / max(spread, 1e-6)) ** 2)
    weights /= weights.sum()
    before = 2 * line[0] - line[reach:0:-1]
    after = 2 * line[-1] - line[-2 : -reach - 2 : -1]
    long = np.concatenate([before, line, after])
    smooth = np.stack([np.convolve(long[:, k], weights, mode="valid") for k in (0, 1)], axis=1)
    smooth[0], smooth[-1] = line[0], line[-1]
    return smooth
