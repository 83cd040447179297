"""Parallel lines: a line moved sideways by a distance, as cubics within OFFSET_MM of the true parallel curve.

Distances are positive to the right of travel, which is outward on an anticlockwise outline. Each cubic is
replaced by the cubic with the parallel curve's own end points and end derivatives, and halved by de Casteljau's
construction until it is close enough (Tiller and Hanson 1984 describe offsets by subdivision).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.lines import Chain, straight
from geometry.motions import FloatArray, Point

#: A parallel curve lies this close to the true one (mm); half of what is promised, as it is measured at points.
OFFSET_MM = 0.0025
#: Halving stops here; a cusp is then a few micrometres long.
_DEEPEST = 12
_CHECKS = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1.0])
_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(6)
#: Distance to move and its slope (mm per mm) at lengths (…) along the line.
Profile = Callable[[FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True, eq=False)
class Moved:
    """A moved line, and which stretch of the old line each of its segments came from.

    Segment i follows parameters ``low[i]`` to ``high[i]`` of the old line.
    """

    line: Chain
    low: FloatArray
    high: FloatArray

    def parameter(self, u: float) -> float:
        """The parameter on the moved line square to parameter ``u`` of the old one."""
        index = min(int(np.searchsorted(self.high, u)), len(self.line) - 1)
        low, high = float(self.low[index]), float(self.high[index])
        return index + min(max((u - low) / (high - low), 0.0), 1.0)


def moved_line(line: Chain, distance: float, profile: Profile | None = None) -> Moved:
    """A line moved sideways by ``distance`` mm, to the right of travel when positive.

    ``profile`` gives the distance and its slope at lengths in mm from the start instead. Where the line has a
    kink, its parts are moved apart or across each other and joined straight; ``smooth_parts`` cuts it at kinks.
    """
    cubics, low, high = line.cubics, np.arange(len(line), dtype=float), np.arange(1.0, len(line) + 1)
    straight_kept = line.straight if profile is None else np.zeros(len(line), dtype=bool)
    kept = straight_kept
    begins = np.concatenate([[0.0], np.cumsum(line.segment_lengths)[:-1]]) if profile is not None else low
    for depth in range(_DEEPEST + 1):
        offsets, errors, halves = _offset(cubics, begins, distance, profile)
        poor = (errors > OFFSET_MM) & ~kept
        if depth == _DEEPEST or not poor.any():
            break
        cubics, low, high, kept, begins = _halved(cubics, low, high, kept, begins + 0.0, halves, poor)
    offsets[1:, 0] = offsets[:-1, 3] = _shared(offsets, cubics, distance, profile)
    if kept.any():
        ends = offsets[kept][:, [0, 3]]
        offsets[kept] = ends[:, :1] + np.array([0, 1 / 3, 2 / 3, 1])[None, :, None] * (ends[:, 1:] - ends[:, :1])
    for array in (offsets, kept, low, high):
        array.flags.writeable = False
    return Moved(Chain(offsets, kept), low, high)
