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
#: So much stays straight at both ends (mm): a hem is square for a short run at a fold.
_STRAIGHT_MM = 10.0


def rounded(slips: Sequence[Chain]) -> Chain:
    """One smooth line from the start of the first slip to the end of the last: an arc from each slip to the next.

    Every arc leaves and meets its slips tangent, no nearer to their far ends than their middles. Where the lines of the
    first or the last and its neighbour meet before its inner end, the arc takes half its length on that side all the
    same, as far as 10 mm stay straight. The directions at both ends are kept.
    """
    slips = [slip for slip in slips if slip.length > _LEAST_MM] or list(slips)
    if len(slips) == 1:
        return joined(slips)
    lows = [slip.length / 2 for slip in slips]
    highs = list(lows)
    turned, before, _ = _meeting(slips[0].start, slips[0].end_tangent, slips[1].start, slips[1].start_tangent)
    if turned:
        lows[0] = max(min(lows[0], before - lows[0]), min(lows[0], _STRAIGHT_MM))
    turned, _, after = _meeting(slips[-2].end, slips[-2].end_tangent, slips[-1].end, slips[-1].start_tangent)
    if turned:
        left = max(min(highs[-1], after - highs[-1]), min(highs[-1], _STRAIGHT_MM))
        highs[-1] = slips[-1].length - left
    parts: list[Chain] = []
    at = slips[0].start
    for slip, following, low, high in zip(slips, slips[1:], lows, highs[1:]):
        places = slip.point(slip.at_length(low)), following.point(following.at_length(high))
        start, end, arc = _arc(places[0], slip.end_tangent, places[1], following.start_tangent)
        parts += [straight(at, start), arc] if math.dist(at, start) > MEET_MM else [arc]
        at = end
    return joined([*parts, straight(at, slips[-1].end)])


def _arc(low: Point, way: Point, high: Point, onward: Point) -> tuple[Point, Point, Chain]:
    """A line through ``low`` rounded into one through ``high``: where it leaves, where it arrives, the arc between.

    Directions are unit. Lines that do not meet between the two points are joined from the one to the other.
    """
    turned, before, after = _meeting(low, way, high, onward)
    reach = min(before, after)
    if reach <= 0:
        return low, high, spline([low, high], way, onward)
    start = (low[0] + (before - reach) * way[0], low[1] + (before - reach) * way[1])
    end = (high[0] - (after - reach) * onward[0], high[1] - (after - reach) * onward[1])
    handle = reach * 4 / 3 * math.tan(turned / 4) / math.tan(turned / 2)
    controls = [(start[0] + handle * way[0], start[1] + handle * way[1])]
    controls.append((end[0] - handle * onward[0], end[1] - handle * onward[1]))
    return start, end, chain([(start, *controls, end)])


def _meeting(low: Point, way: Point, high: Point, onward: Point) -> tuple[float, float, float]:
    """How far a line turns into another (radians), and how far (mm) they meet after ``low`` and before ``high``."""
    turned = math.atan2(way[0] * onward[1] - way[1] * onward[0], way[0] * onward[0] + way[1] * onward[1])
    if not turned:
        return 0.0, 0.0, 0.0
    apart = (high[0] - low[0], high[1] - low[1])
    before = (apart[0] * onward[1] - apart[1] * onward[0]) / math.sin(turned)
    after = (way[0] * apart[1] - way[1] * apart[0]) / math.sin(turned)
    return turned, before, after
