"""How fair a redrawn stretch came out, and how far it is short of the bounds that a blend keeps where it has room."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from geometry.characters import count_of
from geometry.fairness import angle_between, greatest_curvature
from geometry.lines import Chain
from geometry.motions import Point

#: What a blend must keep where it has room: curvature over the original's greatest, end tangents, shares of the jog.
MOST_RATIO = 1.4
END_TANGENT_DEG = 0.5


@dataclass(frozen=True, eq=False)
class Reached:
    """How fair a battened stretch came out: curvature over K, new inflections, ends turned (degrees)."""

    ratio: float
    inflections: int
    turns: tuple[float, float]

    def short_of_bounds(self, off: float, limit: float) -> float:
        """0 where all bounds are kept, with ``off`` mm off the old lines of ``limit`` allowed; the worse, the more."""
        return (
            2.0 * self.inflections
            + max(0.0, self.ratio / MOST_RATIO - 1)
            + max(0.0, max(self.turns) / END_TANGENT_DEG - 1)
            + max(0.0, off / limit - 1)
        )


def reached_on(
    line: Chain, old: Sequence[Chain], greatest: float, corners: tuple[float, float], turns: tuple[float, float]
) -> Reached:
    """How fair a line is beside old lines whose place it takes, with K ``greatest`` in 1/mm.

    corners: mm at its ends where curvature does not count; turns: degrees by which its redrawn part turns at its ends.
    """
    bent = greatest_curvature(line, leave_start=corners[0], leave_end=corners[1])
    return Reached(bent / max(greatest, 1e-9), max(0, count_of([line]) - count_of(old)), turns)


def end_turns(new: Chain, before: Point, after: Point) -> tuple[float, float]:
    """How far the ends of a new line turn from the old tangents there, in degrees, without sign."""
    return (
        abs(math.degrees(angle_between(before, new.start_tangent))),
        abs(math.degrees(angle_between(after, new.end_tangent))),
    )
