"""Paths as drawing programs write them (move, line, curve, close) put together as chains."""

from __future__ import annotations

import math

import numpy as np

from geometry.lines import Chain, chain
from geometry.motions import Motion, Point

#: Coordinates beyond this are no drawing in any unit.
_MOST = 1e9
#: Points nearer than this are the same point, rounded.
_SAME = 1e-9


class PathMaker:
    """Takes points one by one, maps each by ``motion`` (any affine map), and gives back the lines drawn.

    Raises ValueError for points that are not finite.
    """

    def __init__(self, motion: Motion) -> None:
        self._motion = motion
        self._segments: list[list[Point]] = []
        self._done: list[tuple[Chain, bool]] = []
        self._start: Point = (0.0, 0.0)
        self._here: Point = (0.0, 0.0)

    def move(self, point: Point) -> None:
        self._finish(False)
        self._start = self._here = self._mapped(point)

    def line(self, point: Point) -> None:
        there = self._mapped(point)
        if _apart(there, self._here):
            self._segments.append([self._here, there])
        self._here = there

    def curve(self, first: Point, second: Point, end: Point) -> None:
        there = self._mapped(end)
        control = [self._here, self._mapped(first), self._mapped(second), there]
        if any(_apart(point, self._here) for point in control):
            self._segments.append(control)
        self._here = there

    def quadratic(self, control: Point, end: Point) -> None:
        """The quadratic curve raised to a cubic, exactly."""
        c, e, h = self._mapped(control), self._mapped(end), self._here
        pair = [(p[0] + 2 / 3 * (c[0] - p[0]), p[1] + 2 / 3 * (c[1] - p[1])) for p in (h, e)]
        if _apart(c, h) or _apart(e, h):
            self._segments.append([h, pair[0], pair[1], e])
        self._here = e

    def ellipse(self, centre: Point, first: Point, second: Point, start: float, sweep: float) -> None:
        """An arc centre + first cos t + second sin t, t from ``start`` over ``sweep`` radians, in cubics of 1/16 turn.

        The first radius of a circle of 1 m is met within 0.0001 mm. Starts where the last line ended.
        """
        count = max(1, math.ceil(abs(sweep) / (math.pi / 8) - 1e-9))
        step = sweep / count
        reach = 4 / 3 * math.tan(step / 4)

        def at(t: float, slope: float = 0.0) -> Point:
            cos, sin = math.cos(t), math.sin(t)
            x, y = cos - slope * sin, sin + slope * cos
            return (centre[0] + x * first[0] + y * second[0], centre[1] + x * first[1] + y * second[1])

        for index in range(count):
            t0, t1 = start + index * step, start + (index + 1) * step
            self.curve(at(t0, reach), at(t1, -reach), at(t1))

    def close(self) -> None:
        if self._segments and _apart(self._here, self._start):
            self._segments.append([self._here, self._start])
        self._here = self._start
        self._finish(True)

    def lines(self) -> list[tuple[Chain, bool]]:
        """The lines drawn so far, and whether each was closed."""
        self._finish(False)
        done, self._done = self._done, []
        return done

    def _finish(self, closed: bool) -> None:
        if self._segments:
            self._done.append((chain(self._segments), closed))
        self._segments = []

    def _mapped(self, point: Point) -> Point:
        x, y = self._motion.point((float(point[0]), float(point[1])))
        if not (abs(x) < _MOST and abs(y) < _MOST):
            raise ValueError("a point lies beyond everything")
        return (x, y)


def _apart(one: Point, other: Point) -> bool:
    return abs(one[0] - other[0]) > _SAME or abs(one[1] - other[1]) > _SAME


def from_cubics(cubics: list[tuple[Point, Point, Point, Point]], motion: Motion) -> list[tuple[Chain, bool]]:
    """One line through cubics that follow each other."""
    maker = PathMaker(motion)
    for index, (start, first, second, end) in enumerate(cubics):
        if index == 0 or not np.allclose(start, cubics[index - 1][3], rtol=0, atol=1e-9):
            maker.move(start)
        maker.curve(first, second, end)
    return maker.lines()
