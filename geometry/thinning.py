"""The same line in fewer segments, for files: many short segments that run smoothly become a few cubics."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from geometry.fitting import refit
from geometry.lines import Chain, joined
from geometry.motions import FloatArray

#: A thinned line lies this close to the line it stands for (mm).
THIN_MM = 0.015
#: Segments shorter than this are drawn together (mm).
SHORT_MM = 10.0
#: Where short segments meet at more than this, a corner is meant (degrees).
CORNER_DEG = 10.0


def most_segments(length: float) -> int:
    """How many segments a line of this length (mm) has in a file at most: one for each 10 mm, and four."""
    return int(length / SHORT_MM) + 4


def thinned(line: Chain) -> Chain:
    """The line within THIN_MM, each smooth stretch in no more segments than ``most_segments`` where that can be.

    A line that has few segments is returned as it is; corners and long segments stay in any case.
    """
    spans = _spans(line)
    sums = np.concatenate([[0.0], line.segment_lengths.cumsum()])
    if all(stop - start <= most_segments(sums[stop] - sums[start]) for start, stop in spans):
        return line
    return joined([_fewer(line.part(start, stop)) for start, stop in spans])


def _spans(line: Chain) -> list[tuple[int, int]]:
    """Stretches of segments (from, to) to be drawn as one: short ones that meet smoothly, each other one alone."""
    short = line.segment_lengths < SHORT_MM
    leaving, arriving = _angles(line)
    turns = np.abs((leaving[1:] - arriving[:-1] + np.pi) % (2 * np.pi) - np.pi)
    apart = ~(short[:-1] & short[1:]) | (turns > np.radians(CORNER_DEG))
    return list(pairwise([0, *(np.flatnonzero(apart) + 1).tolist(), len(line)]))


def _fewer(part: Chain) -> Chain:
    if len(part) <= most_segments(part.length):
        return part
    points = np.concatenate([part.cubics[:, 0], part.cubics[-1:, 3]])
    lengths = np.concatenate([[0.0], part.segment_lengths.cumsum()])
    drawn = refit(points, _directions(part), lengths, THIN_MM / 2)
    return drawn if len(drawn) < len(part) and gap_between(drawn, part) <= THIN_MM else part


def _directions(part: Chain) -> FloatArray:
    """(n + 1,) directions in radians, without jumps: at joins that of the circle through the neighbours."""
    leaving, arriving = (np.unwrap(angles) for angles in _angles(part))
    leaving += np.round((arriving - leaving) / (2 * np.pi)) * 2 * np.pi
    sizes = part.segment_lengths
    before, after = sizes[:-1], sizes[1:]
    between = (arriving[:-1] * after + leaving[1:] * before) / (before + after)
    first = leaving[0] - (between[0] - leaving[0]) if part.straight[0] else leaving[0]
    last = arriving[-1] + (arriving[-1] - between[-1]) if part.straight[-1] else arriving[-1]
    directions: FloatArray = np.concatenate([[first], between, [last]])
    return directions


def _angles(line: Chain) -> tuple[FloatArray, FloatArray]:
    """Directions in radians with which each segment leaves its start and arrives at its end."""
    legs = np.diff(line.cubics, axis=1)
    chord = line.cubics[:, 3] - line.cubics[:, 0]
    ends = [np.where(np.hypot(*leg.T)[:, None] > 1e-9, leg, chord) for leg in (legs[:, 0], legs[:, 2])]
    leaving, arriving = (np.arctan2(end[:, 1], end[:, 0]) for end in ends)
    return leaving, arriving


def gap_between(first: Chain, second: Chain) -> float:
    """The greatest distance in mm from either line to the other, measured on points FLATTEN_MM close."""
    return max(_far(first, second), _far(second, first))


def _far(one: Chain, other: Chain) -> float:
    return max(other.nearest((float(x), float(y)))[1] for x, y in one.flat[0])
