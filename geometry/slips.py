"""Straight slips of paper fanned out along an edge, drawn as one smooth line."""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometry.lines import Chain, chain, joined, straight
from geometry.motions import Point
from geometry.splines import spline
from geometry.tolerances import MEET_MM

#: A slip shorter than this tells no direction (mm).
_LEAST_MM = 1.0


def rounded(slips: Sequence[Chain]) -> Chain:
    """One smooth line from the start of the first slip to the end of the last: an arc from each slip to the next.

    Every arc leaves and meets its slips tangent, no nearer to their far ends than their middles; the directions at
    both ends are kept.
    """
    slips = [slip for slip in slips if slip.length > _LEAST_MM] or list(slips)
    middles = [slip.point(slip.at_length(slip.length / 2)) for slip in slips]
    parts: list[Chain] = []
    at = slips[0].start
    for slip, following, low, high in zip(slips, slips[1:], middles, middles[1:]):
        start, end, arc = _arc(low, slip.end_tangent, high, following.start_tangent)
        parts += [straight(at, start), arc] if math.dist(at, start) > MEET_MM else [arc]
        at = end
    return joined([*parts, straight(at, slips[-1].end)])


def _arc(low: Point, way: Point, high: Point, onward: Point) -> tuple[Point, Point, Chain]:
    """A line through ``low`` rounded into one through ``high``: where it leaves, where it arrives, the arc between.

    Directions are unit. Lines that do not meet between the two points are joined from the one to the other.
    """
    turned = math.atan2(way[0] * onward[1] - way[1] * onward[0], way[0] * onward[0] + way[1] * onward[1])
    apart = (high[0] - low[0], high[1] - low[1])
    before = (apart[0] * onward[1] - apart[1] * onward[0]) / math.sin(turned) if turned else 0.0
    after = (way[0] * apart[1] - way[1] * apart[0]) / math.sin(turned) if turned else 0.0
    reach = min(before, after)
    if reach <= 0:
        return low, high, spline([low, high], way, onward)
    start = (low[0] + (before - reach) * way[0], low[1] + (before - reach) * way[1])
    end = (high[0] - (after - reach) * onward[0], high[1] - (after - reach) * onward[1])
    handle = reach * 4 / 3 * math.tan(turned / 4) / math.tan(turned / 2)
    controls = [(start[0] + handle * way[0], start[1] + handle * way[1])]
    controls.append((end[0] - handle * onward[0], end[1] - handle * onward[1]))
    return start, end, chain([(start, *controls, end)])
