"""Motions of a part of the paper: slide, turn, mirror, and what follows from them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Motion:
    """x' = a x + c y + e, y' = b x + d y + f; lengths are kept (rigid, or a mirror image).

    The six numbers are in the order used by SVG and PDF.
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def points(self, points: FloatArray) -> FloatArray:
        """Points of shape (..., 2), moved."""
        points = np.asarray(points, dtype=float)
        if self.slides:
            return points + np.array([self.e, self.f])
        x, y = points[..., 0], points[..., 1]
        return np.stack([self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f], axis=-1)

    def point(self, point: Point) -> Point:
        """One point, moved."""
        x, y = point
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def vector(self, vector: Point) -> Point:
        """A direction, turned but not slid."""
        x, y = vector
        return (self.a * x + self.c * y, self.b * x + self.d * y)

    def then(self, later: Motion) -> Motion:
        """This motion followed by ``later``."""
        return Motion(
            later.a * self.a + later.c * self.b,
            later.b * self.a + later.d * self.b,
            later.a * self.c + later.c * self.d,
            later.b * self.c + later.d * self.d,
            later.a * self.e + later.c * self.f + later.e,
            later.b * self.e + later.d * self.f + later.f,
        )

    def undone(self) -> Motion:
        """The motion that puts everything back."""
        det = self.a * self.d - self.b * self.c
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Motion(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    @property
    def mirrors(self) -> bool:
        """True when left and right change places."""
        return self.a * self.d - self.b * self.c < 0

    @property
    def turned_deg(self) -> float:
        """Anticlockwise turn in degrees (meaningless for a mirror image)."""
        return math.degrees(math.atan2(self.b, self.a))

    @property
    def stays(self) -> bool:
        """True for the motion that moves nothing at all."""
        return self.e == self.f == 0.0 and self.slides

    @property
    def slides(self) -> bool:
        """True when nothing is turned or mirrored."""
        return self.a == self.d == 1.0 and self.b == self.c == 0.0


STAY = Motion()


def slide(dx: float, dy: float) -> Motion:
    """Slide by (dx, dy) mm."""
    return Motion(e=dx, f=dy)


def turn(degrees: float, about: Point) -> Motion:
    """Turn anticlockwise by ``degrees`` about a point."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    x, y = about
    return Motion(cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)


def mirror(through: Point, along: Point) -> Motion:
    """Mirror about the line through a point along a direction (any length but zero)."""
    size = math.hypot(*along)
    ux, uy = along[0] / size, along[1] / size
    a, b, d = ux * ux - uy * uy, 2 * ux * uy, uy * uy - ux * ux
    x, y = through
    return Motion(a, b, b, d, x - a * x - b * y, y - b * x - d * y)


def bearing(start: Point, end: Point) -> float:
    """Direction in degrees, anticlockwise from +x, from one point to another."""
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def direction(degrees: float) -> Point:
    """The unit direction at an angle in degrees, anticlockwise from +x."""
    return (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))
