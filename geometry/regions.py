"""Regions of the paper and the motion of what each holds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from geometry.motions import Motion, Point
from geometry.tolerances import MEET_MM


@dataclass(frozen=True)
class Border:
    """A straight border of a region: an endless line, with ``ray`` the half that runs along, as far as ``reach``."""

    through: Point
    along: Point
    ray: bool = False
    reach: float = math.inf

    def beside(self, point: Point) -> float:
        """Distance in mm of a point to the left of the border (unit direction)."""
        return self.along[0] * (point[1] - self.through[1]) - self.along[1] * (point[0] - self.through[0])

    def ahead(self, point: Point) -> float:
        """Distance in mm of a point along the border from where it begins."""
        return self.along[0] * (point[0] - self.through[0]) + self.along[1] * (point[1] - self.through[1])

    def spans(self, point: Point) -> bool:
        """True where a point of the endless line lies on the border itself."""
        return not self.ray or -MEET_MM <= self.ahead(point) <= self.reach + MEET_MM


@dataclass(frozen=True)
class Band:
    """The paper whose distance from a line lies between ``low`` and ``high`` mm, left of ``along`` (unit) positive.

    What lies on its border is not held.
    """

    through: Point
    along: Point
    low: float
    high: float

    def holds(self, point: Point) -> bool:
        distance = self.along[0] * (point[1] - self.through[1]) - self.along[1] * (point[0] - self.through[0])
        return self.low + MEET_MM < distance < self.high - MEET_MM

    @property
    def borders(self) -> tuple[Border, ...]:
        return tuple(Border(self._at(d), self.along) for d in (self.low, self.high) if math.isfinite(d))

    def _at(self, distance: float) -> Point:
        return (self.through[0] - distance * self.along[1], self.through[1] + distance * self.along[0])


@dataclass(frozen=True)
class Sector:
    """The paper seen from ``apex`` between two directions, anticlockwise from ``start_deg`` by ``sweep_deg``."""

    apex: Point
    start_deg: float
    sweep_deg: float

    def holds(self, point: Point) -> bool:
        angle = math.degrees(math.atan2(point[1] - self.apex[1], point[0] - self.apex[0]))
        return 0 < (angle - self.start_deg) % 360 < self.sweep_deg

    @property
    def borders(self) -> tuple[Border, ...]:
        angles = (math.radians(self.start_deg), math.radians(self.start_deg + self.sweep_deg))
        return tuple(Border(self.apex, (math.cos(a), math.sin(a)), ray=True) for a in angles)


@dataclass(frozen=True)
class Patch:
    """The paper inside a simple polygon, corners in either sense, last not repeated. Its border is not held."""

    corners: tuple[Point, ...]

    def holds(self, point: Point) -> bool:
        inside = False
        x, y = point
        for (ax, ay), (bx, by) in self._sides():
            size = math.hypot(bx - ax, by - ay)
            along = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / size
            if math.dist(point, _part_way((ax, ay), (bx, by), min(max(along / size, 0.0), 1.0))) <= MEET_MM:
                return False
            if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
                inside = not inside
        return inside

    @property
    def borders(self) -> tuple[Border, ...]:
        return tuple(
            Border(a, ((b[0] - a[0]) / math.dist(a, b), (b[1] - a[1]) / math.dist(a, b)), True, math.dist(a, b))
            for a, b in self._sides()
        )

    def _sides(self) -> tuple[tuple[Point, Point], ...]:
        return tuple(pairwise((*self.corners, self.corners[0])))


@dataclass(frozen=True)
class Region:
    """A region of the paper and its motion, None where it is taken out."""

    area: Band | Sector | Patch
    motion: Motion | None


#: A slash is run on this far beyond the piece, where there is nothing left to cut (mm).
FAR_MM = 10_000.0


def beside_slash(slash: Sequence[Point], ways_out: tuple[Point, Point], holding: Point) -> Patch:
    """The paper on that side of a slash that holds a point.

    ``slash`` is cut from edge to edge through these points (m >= 2); at its first and last point it is run on
    out of the piece along the unit directions ``ways_out``.
    """
    ends = [_beyond(point, way) for point, way in zip((slash[0], slash[-1]), ways_out, strict=True)]
    path = (ends[0], *slash, ends[1])
    start, stop = (math.atan2(end[1] - holding[1], end[0] - holding[0]) for end in (ends[1], ends[0]))
    sweep = (stop - start) % math.tau
    round_left = Patch((*path, *_ring(holding, start, sweep)))
    return round_left if round_left.holds(holding) else Patch((*path, *_ring(holding, start, sweep - math.tau)))


def _ring(about: Point, start: float, sweep: float) -> tuple[Point, ...]:
    angles = (start + sweep * step / 8 for step in range(1, 8))
    return tuple((about[0] + 4 * FAR_MM * math.cos(a), about[1] + 4 * FAR_MM * math.sin(a)) for a in angles)


def _beyond(point: Point, way: Point) -> Point:
    return (point[0] + FAR_MM * way[0], point[1] + FAR_MM * way[1])


def _part_way(start: Point, end: Point, share: float) -> Point:
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
