"""Corners of a closed outline, found by turning: where curves meet at an angle, never on a smooth curve.

A line given as points turns a little at each of them; there a corner turns much more than its neighbours do for
their distance. Points with an error (of a photo) are looked at from afar: only what turns within a few mm is a corner.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.lines import Chain
from geometry.motions import FloatArray

#: Curves that meet at less than this run on smoothly (degrees).
CORNER_DEG = 12.0
#: Between points of a curve a corner turns this many times as much as beside it …
_SHARPER = 3.0
#: … and what turns more than this is always one (degrees).
_ALWAYS_DEG = 50.0
#: On a picture a corner turns by this at least (degrees), within this many times the error, or mm at least.
_PICTURE_DEG, _PICTURE_ERRORS, _PICTURE_MM = 28.0, 10.0, 6.0


def corners_of(line: Chain, noise_mm: float = 0.0, least_deg: float = CORNER_DEG) -> list[int]:
    """Indices of the segments of a closed line that start at a corner, rising; ``noise_mm`` 0 is for a file's lines,
    of which a corner turns by more than ``least_deg``."""
    if noise_mm > 0:
        return _of_picture(line, noise_mm)
    turns, kinds = _turns(line), line.straight
    sizes = line.segment_lengths
    count = len(line)
    found = []
    for i in range(count):
        turn = abs(turns[i])
        if turn <= math.radians(least_deg):
            continue
        if kinds[i] and kinds[i - 1] and turn < math.radians(_ALWAYS_DEG):
            # Where a straight line runs into a curve, the curve alone says how much it turns.
            step = min(sizes[i - 1], sizes[i])
            beside = [
                abs(turns[j]) / ((sizes[j - 1] + sizes[j]) / 2) * step
                for j in (i - 1, (i + 1) % count)
                if kinds[j] and kinds[j - 1] and abs(turns[j]) < math.radians(_ALWAYS_DEG)
            ]
            if beside and turn <= _SHARPER * max(beside):
                continue
        found.append(i)
    return found


def _turns(line: Chain) -> FloatArray:
    """(n,) turn in radians where each segment starts, left positive."""
    legs = np.diff(line.cubics, axis=1)
    chord = line.cubics[:, 3] - line.cubics[:, 0]
    leaving = _first_of(legs[:, 0], legs[:, 1], chord)
    arriving = _first_of(legs[:, 2], legs[:, 1], chord)
    before = np.roll(arriving, 1, axis=0)
    cross = before[:, 0] * leaving[:, 1] - before[:, 1] * leaving[:, 0]
    turns: FloatArray = np.arctan2(cross, (before * leaving).sum(axis=1))
    return turns


def _first_of(*ways: FloatArray) -> FloatArray:
    """The first direction of each row that has a length."""
    found = ways[-1].copy()
    for way in reversed(ways[:-1]):
        usable = np.hypot(way[:, 0], way[:, 1]) > 1e-7
        found[usable] = way[usable]
    return found


def _of_picture(line: Chain, error_mm: float) -> list[int]:
    """Corners of a line of points that are off by ``error_mm``: peaks of the turn between chords on either side."""
    points = line.cubics[:, 0]
    sums = np.concatenate([[0.0], line.segment_lengths.cumsum()])
    total = sums[-1]
    reach = max(_PICTURE_MM, _PICTURE_ERRORS * error_mm)
    if total < 8 * reach:
        return []
    closed = np.concatenate([points, points[:1]])

    def at(lengths: FloatArray) -> FloatArray:
        where = np.mod(lengths, total)
        return np.stack([np.interp(where, sums, closed[:, k]) for k in (0, 1)], axis=1)

    here = sums[:-1]

    def turn(far: float) -> FloatArray:
        back, ahead = points - at(here - far), at(here + far) - points
        cross = back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0]
        turns: FloatArray = np.abs(np.arctan2(cross, (back * ahead).sum(axis=1)))
        return turns

    near, wide = turn(reach / 2), turn(reach)
    # On a circle the turn doubles with the reach; at a corner it is there at once.
    sharp = (wide > math.radians(_PICTURE_DEG)) & (near > 0.65 * wide)
    found: list[int] = []
    for i in sorted(np.flatnonzero(sharp).tolist(), key=lambda i: -float(near[i] + wide[i])):
        if all(_apart(here[i], here[j], total) > 1.5 * reach for j in found):
            found.append(i)
    return sorted(found)


def _apart(one: float, other: float, total: float) -> float:
    gap = abs(one - other)
    return min(gap, total - gap)
