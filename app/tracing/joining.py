"""Lines laid end to end: doubled ones dropped, gaps closed within a stated tolerance, closed outlines found."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from app.tracing.found import FoundLine
from geometry.kept import frozen
from geometry.lines import Chain, joined
from geometry.motions import FloatArray, Point

#: Lines nowhere further apart than this are one line drawn twice (mm).
DOUBLED_MM = 0.02
#: Outlines are found on points this close to their lines (mm).
_ROUGH_MM = 0.05
#: What lies no further than this outside an outline is inside it (mm).
_HAIR_MM = 0.05
#: A ring holds at least so much of the square of its length.
_LEAST_SHARE = 1e-4


@dataclass(frozen=True, eq=False)
class Loop:
    """A closed outline, anticlockwise. ``line`` is the line (or the first of those) that it was drawn with."""

    chain: Chain
    line: FoundLine

    @cached_property
    def polygon(self) -> shapely.Polygon:
        return shapely.Polygon(self.chain.coarse[:-1]) if len(self.chain.coarse) > 3 else shapely.Polygon()

    @cached_property
    def grown(self) -> shapely.Polygon:
        """What it covers and a hair beyond, so that a line drawn along it is covered too."""
        return self.polygon.buffer(_HAIR_MM)

    @cached_property
    def box(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.polygon.bounds if not self.polygon.is_empty else (0.0, 0.0, 0.0, 0.0)
        return (x1 - x0, y1 - y0)


@dataclass(frozen=True, eq=False)
class Joined:
    """Closed outlines, the lines that belong to none, how many lines were doubled, and the gaps closed (mm)."""

    loops: tuple[Loop, ...]
    rest: tuple[FoundLine, ...]
    doubled: int
    gaps: tuple[float, ...]


def join(lines: Sequence[FoundLine], gap_mm: float, *, apart: bool = False) -> Joined:
    """Closed outlines from lines whose ends lie within ``gap_mm`` of each other; ends meet halfway.

    Lines of one look are joined first, then what is left over of all looks together; with ``apart`` only those of
    one group, as blocks may lie over each other.
    """
    single = _undoubled(lines)
    loops: list[Loop] = []
    gaps: list[float] = []
    opened: list[FoundLine] = []
    for line in single:
        gap = math.dist(line.chain.start, line.chain.end)
        if gap <= min(gap_mm, line.chain.length / 10):
            loops.append(_loop([line.chain], line))
            gaps.append(gap)
        else:
            opened.append(line)
    by_look: dict[object, list[FoundLine]] = defaultdict(list)
    for line in opened:
        by_look[(line.group, line.layer, line.colour, line.dash)].append(line)
    left_over: list[FoundLine] = []
    for group in by_look.values():
        left_over += _rings(group, gap_mm, loops, gaps)
    if len(by_look) > 1:
        rest: list[FoundLine] = []
        for group_name in dict.fromkeys(line.group for line in left_over) if apart else ("",):
            mine = [line for line in left_over if not apart or line.group == group_name]
            rest += _rings(mine, gap_mm, loops, gaps)
        left_over = rest
    return Joined(tuple(loops), tuple(left_over), len(lines) - len(single), tuple(g for g in gaps if g > 1e-3))


def _undoubled(lines: Sequence[FoundLine]) -> list[FoundLine]:
    """The lines of each look without those that were drawn before."""
    seen: dict[object, list[FoundLine]] = defaultdict(list)
    kept = []
    for line in lines:
        key = (line.group, line.layer, line.colour, line.dash, round(line.chain.length, 0))
        near = [one for k in (-1.0, 0.0, 1.0) for one in seen.get((*key[:4], key[4] + k), ())]
        if any(_same_line(line.chain, one.chain) for one in near):
            continue
        seen[key].append(line)
        kept.append(line)
    return kept


def _same_line(one: Chain, other: Chain) -> bool:
    if np.abs(np.array(one.box) - np.array(other.box)).max() > 50 * DOUBLED_MM:
        return False
    a, b = (shapely.LineString(line.coarse) for line in (one, other))
    return bool(shapely.hausdorff_distance(a, b) <= DOUBLED_MM)


def _rings(lines: Sequence[FoundLine], gap_mm: float, loops: list[Loop], gaps: list[float]) -> list[FoundLine]:
    """Adds the outlines that lines form to ``loops``; returns the lines that are part of none."""
    ends = np.array([point for line in lines for point in (line.chain.start, line.chain.end)]).reshape(-1, 2)
    node = _clusters(ends, gap_mm)
    used: set[int] = set()
    for members in _closed_parts(node, len(lines)):
        ring = _ring(lines, node, members)
        if ring is None:
            continue
        chains, found_gaps = ring
        loop = _loop(chains, lines[members[0]])
        if loop.polygon.area < _LEAST_SHARE * loop.chain.length**2:
            # Lines that go there and back enclose nothing.
            continue
        gaps += found_gaps
        loops.append(loop)
        used |= set(members)
    return [line for index, line in enumerate(lines) if index not in used]


def _clusters(points: FloatArray, near: float) -> list[int]:
    """For each point the number of its cluster; points within ``near`` of each other share one."""
    parent = list(range(len(points)))

    def top(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    if len(points):
        shapes = [shapely.Point(point) for point in points]
        tree = shapely.STRtree(shapes)
        for a, b in tree.query(shapes, predicate="dwithin", distance=near).T.tolist():
            parent[top(a)] = top(b)
    return [top(i) for i in range(len(points))]


def _closed_parts(node: list[int], count: int) -> list[list[int]]:
    """Sets of lines without loose ends, connected part by part."""
    alive = {i for i in range(count) if node[2 * i] != node[2 * i + 1]}
    while True:
        degree: dict[int, int] = defaultdict(int)
        for i in alive:
            degree[node[2 * i]] += 1
            degree[node[2 * i + 1]] += 1
        loose = {i for i in alive if degree[node[2 * i]] < 2 or degree[node[2 * i + 1]] < 2}
        if not loose:
            break
        alive -= loose
    at: dict[int, list[int]] = defaultdict(list)
    for i in sorted(alive):
        at[node[2 * i]].append(i)
        at[node[2 * i + 1]].append(i)
    parts = []
    while alive:
        start = min(alive)
        part, waiting = {start}, [start]
        while waiting:
            i = waiting.pop()
            for end in (0, 1):
                for other in at[node[2 * i + end]]:
                    if other not in part:
                        part.add(other)
                        waiting.append(other)
        alive -= part
        parts.append(sorted(part))
    return parts


def _ring(lines: Sequence[FoundLine], node: list[int], members: list[int]) -> tuple[list[Chain], list[float]] | None:
    """The chains of one ring in order and direction with their ends brought together, and the gaps there were."""
    at: dict[int, list[int]] = defaultdict(list)
    for i in members:
        at[node[2 * i]].append(i)
        at[node[2 * i + 1]].append(i)
    if any(len(found) != 2 for found in at.values()):
        outer = _outer(lines, node, members)
        if outer is None or set(outer) == set(members):
            return None
        members[:] = outer
        return _ring(lines, node, members)
    here, current = node[2 * members[0]], members[0]
    order: list[Chain] = []
    for _ in members:
        forwards = node[2 * current] == here
        order.append(lines[current].chain if forwards else lines[current].chain.backwards())
        here = node[2 * current + 1] if forwards else node[2 * current]
        others = [i for i in at[here] if i != current]
        current = others[0] if others else current
    found_gaps = [math.dist(a.end, b.start) for a, b in zip(order, [*order[1:], order[0]], strict=True)]
    return _brought_together(order), found_gaps


def _outer(lines: Sequence[FoundLine], node: list[int], members: list[int]) -> list[int] | None:
    """Of lines that branch, those on the outside."""
    middle: dict[int, list[Point]] = defaultdict(list)
    for i in members:
        middle[node[2 * i]].append(lines[i].chain.start)
        middle[node[2 * i + 1]].append(lines[i].chain.end)
    centre = {key: np.mean(points, axis=0) for key, points in middle.items()}
    strings = []
    for i in members:
        points = lines[i].chain.coarse.copy()
        points[0], points[-1] = centre[node[2 * i]], centre[node[2 * i + 1]]
        strings.append(shapely.LineString(points))
    faces = shapely.get_parts(shapely.polygonize(strings))
    if not len(faces):
        return None
    whole = max(shapely.get_parts(shapely.union_all(faces)), key=lambda part: part.area)
    rim = shapely.LineString(whole.exterior.coords)
    middles = [string.interpolate(0.5, normalized=True) for string in strings]
    return [i for i, point in zip(members, middles, strict=True) if rim.distance(point) < _ROUGH_MM]


def _brought_together(order: list[Chain]) -> list[Chain]:
    """Chains whose ends and starts meet halfway."""
    if len(order) == 1:
        return order
    chains = []
    for before, line, after in zip([order[-1], *order[:-1]], order, [*order[1:], order[0]], strict=True):
        start = ((before.end[0] + line.start[0]) / 2, (before.end[1] + line.start[1]) / 2)
        end = ((line.end[0] + after.start[0]) / 2, (line.end[1] + after.start[1]) / 2)
        chains.append(with_ends(line, start, end))
    return chains


def with_ends(line: Chain, start: Point, end: Point) -> Chain:
    """The line with its ends moved a little; the handles beside them move along."""
    cubics = line.cubics.copy()
    cubics[0, :2] += np.array(start) - cubics[0, 0]
    cubics[-1, 2:] += np.array(end) - cubics[-1, 3]
    for index in {0, len(line) - 1}:
        if line.straight[index]:
            thirds = np.linspace(0.0, 1.0, 4)[:, None]
            cubics[index] = cubics[index, 0] + thirds * (cubics[index, 3] - cubics[index, 0])
    return Chain(frozen(cubics), line.straight)


def _loop(chains: list[Chain], line: FoundLine) -> Loop:
    whole = joined(chains)
    if whole.start != whole.end:
        middle = ((whole.start[0] + whole.end[0]) / 2, (whole.start[1] + whole.end[1]) / 2)
        whole = with_ends(whole, middle, middle)
    points = whole.coarse
    area = float((points[:-1, 0] * points[1:, 1] - points[1:, 0] * points[:-1, 1]).sum())
    return Loop(whole if area >= 0 else whole.backwards(), replace(line, chain=whole, closed=True))
