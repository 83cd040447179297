"""What stands in the outline itself: notches cut as a V, a slit or a box, and darts drawn as part of the edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from geometry.lines import Chain, joined, straight, tidied
from geometry.motions import Point

#: A notch in the outline is at most this deep and this wide (mm) …
NOTCH_DEEP_MM, NOTCH_WIDE_MM = 14.0, 13.0
#: … and the edge runs on beyond it within this (degrees).
_RUNS_ON_DEG = 20.0
#: A dart's legs are this long at least and at most (mm), and equal within this (mm, share).
_LEG_MM, _EQUAL_MM, _EQUAL_SHARE = (25.0, 400.0), 1.5, 0.03
#: Where a dart's legs meet they turn back by this at least (degrees), and its mouth is no wider than this (mm).
_TIP_DEG, _MOUTH_MM = 115.0, 120.0


@dataclass(frozen=True)
class DrawnDart:
    """A dart with its mouth on an edge: where the legs start and end in outline order, and their point."""

    start: Point
    tip: Point
    end: Point


@dataclass(frozen=True, eq=False)
class Stretch:
    """A stretch of an edge; ``dart`` is set where it is the mouth of a dart."""

    line: Chain
    dart: DrawnDart | None = None


@dataclass(frozen=True, eq=False)
class DrawnEdge:
    """An edge from corner to corner as stretches that follow each other."""

    stretches: tuple[Stretch, ...]

    @property
    def whole(self) -> Chain:
        return joined([one.line for one in self.stretches])


@dataclass(frozen=True, eq=False)
class Outline:
    """The edges of an outline in order, and where notches stood in it."""

    edges: tuple[DrawnEdge, ...]
    notches: tuple[Point, ...]


def read_outline(lines: Sequence[Chain]) -> Outline:
    """The edges without the notches and darts that were drawn in them."""
    edges, notches = _without_notches(list(lines))
    return Outline(tuple(_with_darts(edges)), tuple(notches))


def _without_notches(edges: list[Chain]) -> tuple[list[Chain], list[Point]]:
    notches: list[Point] = []
    index = 0
    while index < len(edges) and len(edges) > 4:
        count = next((n for n in (2, 3) if len(edges) > n + 1 and _is_notch(edges, index, n)), 0)
        if not count:
            index += 1
            continue
        edges = edges[index:] + edges[:index]
        before, after = edges[-1], edges[count]
        notches.append(((before.end[0] + after.start[0]) / 2, (before.end[1] + after.start[1]) / 2))
        parts = [before, after]
        if math.dist(before.end, after.start) > 1e-6:
            parts.insert(1, straight(before.end, after.start))
        # The edge takes the place of the one before it, so that the order of the corners stays.
        edges = [*edges[count + 1 : -1], tidied(joined(parts))]
        edges = [edges[-1], *edges[:-1]]
        index = 0
    return edges, notches


def _is_notch(edges: list[Chain], index: int, count: int) -> bool:
    """True where ``count`` short lines from ``index`` on leave the edge and come back to where it runs on."""
    inner = [edges[(index + k) % len(edges)] for k in range(count)]
    before, after = edges[index - 1], edges[(index + count) % len(edges)]
    if any(not one.is_straight or one.length > NOTCH_DEEP_MM for one in inner):
        return False
    mouth = math.dist(before.end, after.start)
    depth = max(math.dist(before.end, inner[0].end), math.dist(after.start, inner[-1].start))
    if mouth > NOTCH_WIDE_MM or depth < 1.0 or min(before.length, after.length) < 5.0:
        return False
    tx, ty = before.end_tangent
    sx, sy = after.start_tangent
    return abs(math.degrees(math.atan2(tx * sy - ty * sx, tx * sx + ty * sy))) < _RUNS_ON_DEG


def _with_darts(edges: list[Chain]) -> list[DrawnEdge]:
    drawn = [DrawnEdge((Stretch(edge),)) for edge in edges]
    index = 0
    while index < len(drawn) and len(drawn) > 4:
        first, second = drawn[index - 1].whole, drawn[index].whole
        if not _is_dart(first, second):
            index += 1
            continue
        drawn = drawn[index - 1 :] + drawn[: index - 1] if index else [drawn[-1], *drawn[:-1]]
        dart = DrawnDart(first.start, first.end, second.end)
        mouth = Stretch(straight(dart.start, dart.end), dart)
        before, after = drawn[-1], drawn[2]
        drawn = [DrawnEdge((*before.stretches, mouth, *after.stretches)), *drawn[3:-1]]
        index = 0
    return drawn


def _is_dart(first: Chain, second: Chain) -> bool:
    """True where two straight equal lines go into the piece and come back from a point."""
    if not (first.is_straight and second.is_straight):
        return False
    low, high = _LEG_MM
    if not (low <= first.length <= high and abs(first.length - second.length) <= _equal(first.length)):
        return False
    (ax, ay), (bx, by) = first.end_tangent, second.start_tangent
    turn = math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
    return turn < -_TIP_DEG and math.dist(first.start, second.end) <= _MOUTH_MM


def _equal(length: float) -> float:
    return max(_EQUAL_MM, _EQUAL_SHARE * length)


def darts_between(legs: Sequence[Chain], edges: Sequence[DrawnEdge]) -> tuple[list[DrawnEdge], list[Chain]]:
    """Darts drawn inside the piece: pairs of equal legs from an edge to a point. Returns the edges with their mouths,
    and the lines that are no leg."""
    found = list(edges)
    left = [leg for leg in legs if not (len(leg) == 2 and leg.straight.all())]
    pairs = [(leg.part(0, 1).backwards(), leg.part(1, 2)) for leg in legs if len(leg) == 2 and leg.straight.all()]
    singles = [leg for leg in left if leg.is_straight]
    left = [leg for leg in left if not leg.is_straight]
    while singles:
        one = singles.pop()
        mate = next((other for other in singles if _common_end(one, other) is not None), None)
        if mate is None:
            left.append(one)
            continue
        singles.remove(mate)
        tip = _common_end(one, mate)
        assert tip is not None
        pairs.append((_from(one, tip), _from(mate, tip)))
    for first, second in pairs:
        placed = _placed_dart(first, second, found)
        if placed is None:
            left += [first, second]
        else:
            found = placed
    return found, left


def _common_end(one: Chain, other: Chain) -> Point | None:
    if abs(one.length - other.length) > _equal(one.length):
        return None
    for a in (one.start, one.end):
        for b in (other.start, other.end):
            if math.dist(a, b) < 0.5:
                return a
    return None


def _from(line: Chain, tip: Point) -> Chain:
    return line if math.dist(line.start, tip) < 0.5 else line.backwards()


def _placed_dart(first: Chain, second: Chain, edges: list[DrawnEdge]) -> list[DrawnEdge] | None:
    """The edges with a dart's mouth between the feet of its legs, None where they do not stand on one edge."""
    if abs(first.length - second.length) > _equal(first.length) or first.length < _LEG_MM[0]:
        return None
    for index, edge in enumerate(edges):
        for place, stretch in enumerate(edge.stretches):
            if stretch.dart is not None:
                continue
            hits = [stretch.line.nearest(leg.end) for leg in (first, second)]
            if max(hit[1] for hit in hits) > 1.5:
                continue
            (u0, _), (u1, _) = sorted(hits)
            line = stretch.line
            if line.length_to(u1) - line.length_to(u0) < 1.0:
                continue
            dart = DrawnDart(line.point(u0), first.start, line.point(u1))
            parts = [Stretch(straight(dart.start, dart.end), dart)]
            if line.length_to(u0) > 0.5:
                parts.insert(0, Stretch(line.part(0.0, u0)))
            if line.length - line.length_to(u1) > 0.5:
                parts.append(Stretch(line.part(u1, float(len(line)))))
            stretches = (*edge.stretches[:place], *parts, *edge.stretches[place + 1 :])
            return [*edges[:index], replace(edge, stretches=stretches), *edges[index + 1 :]]
    return None
