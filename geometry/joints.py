"""How two parallel lines are joined where the stitching lines turn: run on to a point, stepped, or cut square."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.crossings import Crossing, lengthened, meeting, settle
from geometry.kept import frozen
from geometry.lines import Chain, polyline, straight
from geometry.motions import Point
from geometry.tolerances import MEET_MM, MITRE_LIMIT

#: Two different widths at a corner that turns less than this meet in a step, not in a long point (degrees).
STEP_DEG = 20.0
#: Joins that turn less than this need no corner of their own (degrees).
SMOOTH_DEG = 0.005


@dataclass(frozen=True, eq=False)
class Joint:
    """How the end of one moved line is taken over to the start of the next.

    The first is kept up to ``u``, the second from ``v``; ``before`` leads from the first to the corner point and
    ``after`` from there to the second, None where there is nothing between. ``reach`` is the distance in mm from
    the stitching line's corner to the corner point. ``crossed`` is False where the lines should have crossed
    and do not, so that they are joined straight and cross elsewhere.
    """

    u: float
    v: float
    point: Point
    before: Chain | None = None
    after: Chain | None = None
    reach: float = 0.0
    crossed: bool = True


def turn_deg(arriving: Point, leaving: Point) -> float:
    """Turn in degrees from one direction to another, left positive."""
    cross = arriving[0] * leaving[1] - arriving[1] * leaving[0]
    return math.degrees(math.atan2(cross, arriving[0] * leaving[0] + arriving[1] * leaving[1]))


def path(points: Sequence[Point]) -> Chain | None:
    """Straight lines through points, those that coincide left out; None where nothing is left."""
    kept = [points[0]]
    kept.extend(b for a, b in itertools.pairwise(points) if math.dist(a, b) > MEET_MM)
    if len(kept) == 2:
        return straight(kept[0], kept[1])
    return polyline(kept) if len(kept) > 1 else None


def one_straight(lines: Sequence[Chain]) -> Chain | None:
    """One straight line from end to end, where straight lines follow each other on it; else None."""
    for line in lines:
        if len(line.cubics) > 1 or not line.straight[0]:
            return None
    if len(lines) == 1:
        return lines[0]
    for before, after in itertools.pairwise(lines):
        if math.dist(before.end, after.start) > MEET_MM:
            return None
        if not _on_one_line(before.start, before.end, after.start, after.end):
            return None
    return straight(lines[0].start, lines[-1].end)


def ruled_once(line: Chain) -> Chain:
    """The line with straight segments that run on into each other made one."""
    ruled = line.straight.tolist()
    if not any(a and b for a, b in itertools.pairwise(ruled)):
        return line
    ends = line.cubics[:, ::3].tolist()
    starts = [0]
    for i in range(1, len(ruled)):
        if not (ruled[i - 1] and ruled[i] and _on_one_line(*ends[i - 1], *ends[i])):
            starts.append(i)
    if len(starts) == len(ruled):
        return line
    if len(starts) == 1:
        return straight(line.start, line.end)
    lasts = np.array([*starts[1:], len(ruled)]) - 1
    cubics = line.cubics[starts].copy()
    longer = lasts > starts
    begin, end = cubics[longer][:, :1], line.cubics[lasts[longer]][:, 3:]
    cubics[longer] = begin + np.array([0.0, 1 / 3, 2 / 3, 1.0])[None, :, None] * (end - begin)
    kinds = line.straight[starts]
    return Chain(frozen(cubics), frozen(kinds))


def _on_one_line(a: Sequence[float], b: Sequence[float], c: Sequence[float], d: Sequence[float]) -> bool:
    """Whether the way from c to d goes on as that from a to b did."""
    ax, ay, bx, by = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    square = (ax * ax + ay * ay) * (bx * bx + by * by)
    return ax * bx + ay * by > 0 and abs(ax * by - ay * bx) <= 1e-9 * math.sqrt(square)


def brought_to(line: Chain, end: Point) -> Chain:
    """The line bent evenly so that it ends at a point, for closing small gaps without a step."""
    gap = np.array(end) - np.array(line.end)
    if np.hypot(*gap) == 0.0:
        return line
    share = (np.arange(len(line))[:, None] + np.arange(4)[None, :] / 3) / len(line)
    cubics = line.cubics + share[..., None] * gap
    cubics[-1, 3] = end
    return Chain(frozen(cubics), line.straight)


def direct(first: Chain, second: Chain, corner: Point, *, at_first: bool = True, crossed: bool = True) -> Joint:
    """The end of the first joined straight to the start of the second; ``at_first`` says whose end is the corner."""
    point = first.end if at_first else second.start
    between = path([first.end, second.start])
    before, after = (None, between) if at_first else (between, None)
    return Joint(float(len(first)), 0.0, point, before, after, math.dist(corner, point), crossed)


def to_a_point(first: Chain, second: Chain, corner: Point, widths: tuple[float, float]) -> Joint:
    """Both lines run on to a point: mitred on an outward corner, trimmed on an inward one.

    ``first`` and ``second`` are moved outward by the two ``widths`` (mm) from stitching lines that meet at
    ``corner``. A point further away than MITRE_LIMIT times the wider is cut square to its own direction there;
    different widths at a corner that hardly turns meet in a step.
    """
    arriving = heading(first.end, first.end_tangent, corner, widths[0])
    leaving = heading(second.start, second.start_tangent, corner, widths[1])
    theta = turn_deg(arriving, leaving)
    if abs(widths[0] - widths[1]) > MEET_MM and abs(theta) < STEP_DEG:
        return direct(first, second, corner, at_first=widths[0] > widths[1])
    if abs(theta) < SMOOTH_DEG or max(widths) <= MEET_MM:
        return direct(first, second, corner)
    ahead, back = _run_on(theta, widths)
    if ahead >= -MEET_MM and back >= -MEET_MM:
        return _pointed(first, second, corner, (arriving, leaving), MITRE_LIMIT * max(widths))
    found = _trimmed(first, second, ahead, back)
    if found is None:
        return direct(first, second, corner, crossed=False)
    before, after = path([first.point(found.first), found.point]), path([found.point, second.point(found.second)])
    return Joint(found.first, found.second, found.point, before, after, math.dist(corner, found.point))


def heading(end: Point, tangent: Point, corner: Point, width: float) -> Point:
    """The direction of the stitching line at a corner, from the end and tangent of the line moved out from it.

    Where a curve is tighter than its allowance the moved line runs the wrong way.
    """
    if width > MEET_MM and (end[0] - corner[0]) * tangent[1] - (end[1] - corner[1]) * tangent[0] < 0:
        return (-tangent[0], -tangent[1])
    return tangent


def _run_on(theta: float, widths: tuple[float, float]) -> tuple[float, float]:
    """How far the first runs on and the second runs back to where their tangents cross (mm, negative: trimmed)."""
    cos, sin = math.cos(math.radians(theta)), math.sin(math.radians(theta))
    if abs(sin) < 1e-9:
        return (math.inf, math.inf) if theta > 0 else (-math.inf, -math.inf)
    return (widths[1] - widths[0] * cos) / sin, (widths[0] - widths[1] * cos) / sin


def _pointed(first: Chain, second: Chain, corner: Point, ways: tuple[Point, Point], limit: float) -> Joint:
    """Both run on along ``ways`` to where they cross, or to a cut square to that point's direction at the limit."""
    (ax, ay), (bx, by) = ways
    cross = ax * by - ay * bx
    u, v, outward = float(len(first)), 0.0, ways[0]
    if abs(cross) > 1e-9:
        ahead = ((second.start[0] - first.end[0]) * by - (second.start[1] - first.end[1]) * bx) / cross
        point = _along(first.end, ways[0], ahead)
        reach = math.dist(corner, point)
        if reach <= limit + MEET_MM:
            return Joint(u, v, point, path([first.end, point]), path([point, second.start]), reach)
        outward = ((point[0] - corner[0]) / reach, (point[1] - corner[1]) / reach)
    cut_first = _to_square(first.end, ways[0], corner, outward, limit)
    cut_second = _to_square(second.start, (-bx, -by), corner, outward, limit)
    middle = ((cut_first[0] + cut_second[0]) / 2, (cut_first[1] + cut_second[1]) / 2)
    before, after = path([first.end, cut_first, middle]), path([middle, cut_second, second.start])
    return Joint(u, v, middle, before, after, math.dist(corner, middle))


def _to_square(start: Point, along: Point, corner: Point, outward: Point, limit: float) -> Point:
    """Where a line from ``start`` comes ``limit`` mm away from the corner, measured along ``outward``."""
    gone = (start[0] - corner[0]) * outward[0] + (start[1] - corner[1]) * outward[1]
    return _along(start, along, (limit - gone) / (along[0] * outward[0] + along[1] * outward[1]))


def _along(start: Point, direction: Point, distance: float) -> Point:
    return (start[0] + distance * direction[0], start[1] + distance * direction[1])


def _trimmed(first: Chain, second: Chain, ahead: float, back: float) -> Crossing | None:
    """The crossing of two moved lines of which at least one is trimmed: tangents give a guess, curves settle it."""
    if not (math.isfinite(ahead) and math.isfinite(back)):
        return None
    ruled = _both_ruled(first, second, ahead, back)
    if ruled is not None:
        return ruled
    long_first, long_second = lengthened(first, after=ahead), lengthened(second, before=back)
    extra = len(long_second) - len(second)
    if ahead < first.length / 2 and -ahead < first.length / 2 and -back < second.length / 2:
        u = first.at_length(first.length + ahead) if ahead < 0 else float(len(long_first))
        v = second.at_length(-back) + extra if back < 0 else 0.0
        found = settle(long_first, long_second, u, v)
        if found is not None and min(ahead, back) > -2 * min(first.length, second.length):
            near = math.dist(found.point, long_first.point(u))
            if near < 0.5 * (abs(ahead) + abs(back)):
                return Crossing(min(found.first, float(len(first))), max(found.second - extra, 0.0), found.point)
    return meeting(first, second, max(ahead, back, 0.0) + abs(ahead) + abs(back) + 1.0)


def _both_ruled(first: Chain, second: Chain, ahead: float, back: float) -> Crossing | None:
    """The crossing where both lines are straight for as far as they are trimmed."""
    if not (first.straight[-1] and second.straight[0]):
        return None
    u, v = float(len(first)), 0.0
    if ahead < 0:
        u += ahead / math.dist(*first.cubics[-1, [0, 3]].tolist())
    if back < 0:
        v -= back / math.dist(*second.cubics[0, [0, 3]].tolist())
    if u <= len(first) - 1 or v >= 1:
        return None
    return Crossing(u, v, _along(first.end, first.end_tangent, ahead))
