"""Regions of the paper and the motion of what each holds."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.motions import Motion, Point
from geometry.tolerances import MEET_MM


@dataclass(frozen=True)
class Border:
    """A straight border of a region: an endless line, or with ``ray`` only the half that runs along."""

    through: Point
    along: Point
    ray: bool = False

    def beside(self, point: Point) -> float:
        """Distance in mm of a point to the left of the border (unit direction)."""
        return self.along[0] * (point[1] - self.through[1]) - self.along[1] * (point[0] - self.through[0])

    def ahead(self, point: Point) -> float:
        """Distance in mm of a point along the border from where it begins."""
        return self.along[0] * (point[0] - self.through[0]) + self.along[1] * (point[1] - self.through[1])


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
class Region:
    """A region of the paper and its motion, None where it is taken out."""

    area: Band | Sector
    motion: Motion | None
