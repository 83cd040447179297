"""Chains of cubic Beziers and straight lines: measuring, cutting, joining.

A chain of n segments has a parameter ``u`` from 0 to n: segment ``int(u)``, then 0..1 inside it. Curves are cut
by de Casteljau's construction, so cutting never moves a line; points are made only to measure, solve or write.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from geometry import beziers
from geometry.coarse import coarse_points
from geometry.kept import Few, frozen, kept_property
from geometry.motions import FloatArray, Motion, Point
from geometry.tolerances import FLATTEN_MM, MEET_MM, SAMPLED_MM

_RULED = frozen(np.array([True]))
_THIRDS = np.array([0.0, 1 / 3, 2 / 3, 1.0])[:, None]

#: A share of a segment this small is a rounding error (1e-8 mm of a metre).
_SPECK = 1e-11
_STATE = ("cubics", "straight", "_slid")


@dataclass(frozen=True, eq=False)
class Chain:
    """An open line from ``start`` to ``end``.

    cubics: (n, 4, 2) control points in mm; straight: (n,) True where a segment is a straight line (its control
    points then stand at thirds). Segments meet within MEET_MM; build with ``chain`` or the makers below.
    """

    cubics: FloatArray
    straight: NDArray[np.bool_]
    #: The line that this one was slid from: what does not hang on the place is read there.
    _slid: ClassVar[Chain | None] = None

    def __len__(self) -> int:
        return len(self.cubics)

    def __getstate__(self) -> dict[str, object]:
        """For another process: what was reckoned of the line stays behind."""
        return {name: value for name, value in self.__dict__.items() if name in _STATE}

    @kept_property
    def start(self) -> Point:
        return (float(self.cubics[0, 0, 0]), float(self.cubics[0, 0, 1]))

    @kept_property
    def end(self) -> Point:
        return (float(self.cubics[-1, 3, 0]), float(self.cubics[-1, 3, 1]))

    @kept_property
    def _rows(self) -> list[beziers.Row]:
        rows: list[beziers.Row] = self.cubics.reshape(-1, 8).tolist()
        return rows

    @kept_property
    def segment_lengths(self) -> FloatArray:
        """(n,) length of each segment in mm (Gauss-Legendre, two halves of 16 points)."""
        return frozen(beziers.lengths(self.cubics)) if self._slid is None else self._slid.segment_lengths

    @kept_property
    def length(self) -> float:
        """Length in mm."""
        return float(np.add.reduce(self.segment_lengths)) if self._slid is None else self._slid.length

    @kept_property
    def is_straight(self) -> bool:
        """True when it is made of straight segments that do not turn."""
        return bool(self.straight.all()) and (len(self.cubics) == 1 or self.turning_deg < 1e-6)

    @kept_property
    def box(self) -> tuple[float, float, float, float]:
        """The least and the greatest x and y (x0, y0, x1, y1) of the control points, which hold the line."""
        if len(self._boxes) == 1:
            return self._boxes[0]
        x0, y0, x1, y1 = zip(*self._boxes, strict=True)
        return min(x0), min(y0), max(x1), max(y1)

    @kept_property
    def turned(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Lengths (m,) mm, angles turned (m,) radians and parameters (m,); see ``fairness.table``."""
        return beziers.turned(self.cubics, self.segment_lengths) if self._slid is None else self._slid.turned

    @kept_property
    def turns_back(self) -> tuple[float, float]:
        """How far (radians) it turns back to the right at the most, and to the left: none where it turns one way."""
        if self._slid is not None:
            return self._slid.turns_back
        angles = self.turned[1]
        right = np.maximum.reduce(np.maximum.accumulate(angles) - angles)
        return float(right), float(np.maximum.reduce(angles - np.minimum.accumulate(angles)))

    @kept_property
    def turning_deg(self) -> float:
        """How much the line turns in all, left and right added up, in degrees."""
        if self._slid is not None:
            return self._slid.turning_deg
        return beziers.turning_deg(self.cubics)

    @kept_property
    def least_handle(self) -> float:
        """The shortest handle of a segment's end, as a share of the segment's length."""
        if self._slid is not None:
            return self._slid.least_handle
        legs = self.cubics[:, 1::2] - self.cubics[:, ::2]
        handles = np.minimum.reduce(np.hypot(legs[..., 0], legs[..., 1]), axis=1)
        return float(np.minimum.reduce(handles / np.maximum(self.segment_lengths, 1e-300)))

    @kept_property
    def flat(self) -> tuple[FloatArray, FloatArray]:
        """Points (m, 2) within FLATTEN_MM of the line, ends included, and their parameters (m,)."""
        return flatten(self, FLATTEN_MM)

    @kept_property
    def coarse(self) -> FloatArray:
        """Points (m, 2) within SIMPLE_MM of the line, ends included."""
        if self._slid is not None:
            return frozen(self._slid.coarse + (self.cubics[0, 0] - self._slid.cubics[0, 0]))
        return frozen(coarse_points(self._rows, self.cubics, self.straight.tolist()))

    @kept_property
    def sampled(self) -> FloatArray:
        """Points (m, 2) within FLATTEN_MM of the line, no more than SAMPLED_MM apart where it is curved."""
        return flatten(self, FLATTEN_MM, SAMPLED_MM)[0]

    def point(self, u: float) -> Point:
        """The point at parameter u."""
        return beziers.at(self._rows, u)

    def points(self, us: FloatArray) -> FloatArray:
        """Points (m, 2) at parameters (m,)."""
        index, t = self._locate(us)
        return beziers.evaluate(self.cubics[index], t)

    def tangent(self, u: float, *, before: bool = False) -> Point:
        """Unit tangent at u; at a join the one after it, or with ``before`` the one before it."""
        index, t = self._split_parameter(u, before)
        return beziers.unit_tangent(self._rows[index], t)

    @kept_property
    def start_tangent(self) -> Point:
        return self.tangent(0.0) if self._slid is None else self._slid.start_tangent

    @kept_property
    def end_tangent(self) -> Point:
        return self.tangent(float(len(self.cubics)), before=True) if self._slid is None else self._slid.end_tangent

    def length_to(self, u: float) -> float:
        """Length in mm from the start to parameter u."""
        index, t = self._split_parameter(u, True)
        whole = float(np.add.reduce(self.segment_lengths[:index])) if index else 0.0
        return whole + self._part_length(index, t)

    @kept_property
    def _found(self) -> Few[float, float]:
        return Few(8)

    def at_length(self, length: float) -> float:
        """Parameter at a length in mm from the start, kept within the line."""
        if length <= 0:
            return 0.0
        if length >= self.length:
            return float(len(self))
        known = self._found.get(length)
        return self._found.keep(length, self._sought(length)) if known is None else known

    def _sought(self, length: float) -> float:
        sums = np.add.accumulate(self.segment_lengths)
        index = int(sums.searchsorted(length))
        rest = length - (float(sums[index - 1]) if index else 0.0)
        if self.straight[index]:
            return index + rest / float(self.segment_lengths[index])
        low, high, t = 0.0, 1.0, rest / float(self.segment_lengths[index])
        for _ in range(60):
            miss = self._part_length(index, t) - rest
            if abs(miss) < 1e-11:
                break
            low, high = (low, t) if miss > 0 else (t, high)
            speed = beziers.speed(self._rows[index], t)
            step = t - miss / speed if speed > 1e-9 else -1.0
            t = step if low < step < high else (low + high) / 2
        return index + t

    def at_lengths(self, lengths: FloatArray) -> FloatArray:
        """Parameters (m,) at lengths (m,) in mm; vectorised ``at_length``, within 1e-9 mm."""
        sums = np.concatenate([[0.0], np.cumsum(self.segment_lengths)])
        lengths = np.clip(np.asarray(lengths, dtype=float), 0.0, sums[-1])
        index = np.clip(np.searchsorted(sums, lengths, side="right") - 1, 0, len(self) - 1)
        rest = lengths - sums[index]
        control = self.cubics[index]
        sizes = self.segment_lengths[index]
        t = np.divide(rest, sizes, out=np.zeros_like(rest), where=sizes > 1e-12)
        curved = ~self.straight[index]
        if curved.any():
            t[curved] = beziers.solve_lengths(control[curved], rest[curved], t[curved])
        us: FloatArray = index + t
        return us

    def moved(self, motion: Motion) -> Chain:
        """The same line under a motion."""
        if motion.stays:
            return self
        new = Chain(frozen(motion.points(self.cubics)), self.straight)
        if motion.slides:
            new.__dict__["_slid"] = self._slid or self
        return new

    def backwards(self) -> Chain:
        """The same line from end to start."""
        return Chain(frozen(self.cubics[::-1, ::-1].copy()), frozen(self.straight[::-1].copy()))

    def part(self, u0: float, u1: float) -> Chain:
        """The stretch from u0 to u1 (u0 < u1), cut by de Casteljau; the curve itself is unchanged.

        The same stretch again is the same object, so that what was reckoned of it is kept.
        """
        return self._parts.get((u0, u1)) or self._parts.keep((u0, u1), self._part(u0, u1))

    @kept_property
    def _parts(self) -> Few[tuple[float, float], Chain]:
        return Few(8)

    def _part(self, u0: float, u1: float) -> Chain:
        u0, u1 = max(0.0, u0), min(float(len(self)), u1)
        first, t0 = self._split_parameter(u0, False)
        last, t1 = self._split_parameter(u1, True)
        # A cut a rounding error off a join would leave a speck without a direction.
        if first < last and t0 > 1 - _SPECK:
            first, t0 = first + 1, 0.0
        if first < last and t1 < _SPECK:
            last, t1 = last - 1, 1.0
        cubics = self.cubics[first : last + 1].copy()
        if first == last:
            cubics[0] = beziers.sub_cubic(cubics[0], t0, t1)
        else:
            cubics[0] = beziers.sub_cubic(cubics[0], t0, 1.0)
            cubics[-1] = beziers.sub_cubic(cubics[-1], 0.0, t1)
        return Chain(frozen(cubics), frozen(self.straight[first : last + 1].copy()))

    def crossings(self, through: Point, along: Point) -> list[float]:
        """Parameters, rising, where the line meets the endless straight line through a point along a direction."""
        nx, ny = -along[1], along[0]
        level = nx * through[0] + ny * through[1]
        low, high = self.spread(nx, ny)
        if not low <= level <= high:
            return []
        kept = self._crossed.get((through, along))
        if kept is None:
            kept = self._crossed.keep((through, along), beziers.crossed(self._rows, through, nx, ny))
        return list(kept)

    def spread(self, nx: float, ny: float) -> tuple[float, float]:
        """The least and the greatest x nx + y ny of the box, with a little to spare."""
        x0, y0, x1, y1 = self.box
        wide, high = nx, ny
        if nx < 0:
            x0, x1, wide = x1, x0, -nx
        if ny < 0:
            y0, y1, high = y1, y0, -ny
        slack = 2 * MEET_MM * (wide + high)
        return nx * x0 + ny * y0 - slack, nx * x1 + ny * y1 + slack

    @kept_property
    def _crossed(self) -> Few[tuple[Point, Point], list[float]]:
        return Few(16)

    def may_be_near(self, point: Point, away: float) -> bool:
        """False where a point is surely further than ``away`` mm off the line."""
        x, y = point
        x0, y0, x1, y1 = self.box
        if x < x0 - away or x > x1 + away or y < y0 - away or y > y1 + away:
            return False
        return any(x0 - away <= x <= x1 + away and y0 - away <= y <= y1 + away for x0, y0, x1, y1 in self._boxes)

    @kept_property
    def _boxes(self) -> list[tuple[float, float, float, float]]:
        return [beziers.box(row) for row in self._rows]

    def nearest(self, point: Point) -> tuple[float, float]:
        """Parameter of the nearest point of the line, and its distance in mm."""
        if len(self.cubics) == 1 and self.straight[0]:
            along = beziers.along_line(self._rows[0], point)
            return along, math.dist(self.point(along), point)
        return beziers.nearest_of(self._rows, self._boxes, point)

    def _part_length(self, index: int, t: float) -> float:
        if t >= 1.0:
            return float(self.segment_lengths[index])
        if self.straight[index]:
            return float(self.segment_lengths[index]) * t
        return beziers.length_to(self._rows[index], t)

    def _split_parameter(self, u: float, before: bool) -> tuple[int, float]:
        index, last = math.ceil(u) - 1 if before else math.floor(u), len(self.cubics) - 1
        index = 0 if index < 0 else last if index > last else index
        t = u - index
        return index, 0.0 if t < 0.0 else 1.0 if t > 1.0 else t

    def _locate(self, us: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
        us = np.asarray(us, dtype=float)
        index = np.clip(np.floor(us).astype(int), 0, len(self) - 1)
        return index, np.clip(us - index, 0.0, 1.0)


def chain(segments: Iterable[Sequence[Point]]) -> Chain:
    """A chain from segments of 2 points (straight) or 4 (cubic); raises ValueError where they do not meet."""
    cubics, straight = [], []
    for segment in segments:
        points = np.asarray(segment, dtype=float)
        is_line = len(points) == 2
        cubics.append(beziers.line_cubic(points[0], points[1]) if is_line else points)
        straight.append(is_line)
    array = np.array(cubics)
    if array.size == 0 or not np.isfinite(array).all():
        raise ValueError("a line needs at least one segment of finite points")
    if np.abs(array[1:, 0] - array[:-1, 3]).max(initial=0.0) > MEET_MM:
        raise ValueError("segments do not meet end to end")
    return Chain(frozen(array), frozen(np.array(straight, dtype=bool)))


def straight(start: Point, end: Point) -> Chain:
    """One straight line."""
    (x0, y0), (x3, y3) = start, end
    if not math.isfinite(x0 + y0 + x3 + y3):
        raise ValueError("a line needs at least one segment of finite points")
    dx, dy = x3 - x0, y3 - y0
    first, second = (x0 + dx * (1 / 3), y0 + dy * (1 / 3)), (x0 + dx * (2 / 3), y0 + dy * (2 / 3))
    return Chain(frozen(np.array([x0, y0, *first, *second, x3, y3], dtype=float).reshape(1, 4, 2)), _RULED)


def polyline(points: Sequence[Point] | FloatArray) -> Chain:
    """Straight segments through points (m, 2)."""
    array = np.asarray(points, dtype=float)
    if len(array) < 2 or not np.isfinite(array).all():
        raise ValueError("a line needs at least one segment of finite points")
    steps = (array[1:] - array[:-1])[:, None] * _THIRDS
    cubics = array[:-1, None] + steps
    cubics[:, 3] = array[1:]
    return Chain(frozen(cubics), frozen(np.ones(len(cubics), dtype=bool)))


def arc(centre: Point, radius: float, from_deg: float, to_deg: float) -> Chain:
    """A circular arc, anticlockwise when to_deg > from_deg, in cubics of 45 degrees or less."""
    count = max(1, math.ceil(abs(to_deg - from_deg) / 45 - 1e-9))
    angles = np.radians(np.linspace(from_deg, to_deg, count + 1))
    reach = 4 / 3 * math.tan((angles[1] - angles[0]) / 4) * radius
    points = np.array(centre) + radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    tangents = np.stack([-np.sin(angles), np.cos(angles)], axis=1)
    return chain(
        [
            (points[i], points[i] + reach * tangents[i], points[i + 1] - reach * tangents[i + 1], points[i + 1])
            for i in range(count)
        ]
    )


def joined(chains: Sequence[Chain]) -> Chain:
    """Chains laid end to end, with a straight line across any gap wider than MEET_MM."""
    if len(chains) == 1:
        return chains[0]
    parts: list[Chain] = []
    for one in chains:
        if parts and math.dist(parts[-1].end, one.start) > MEET_MM:
            parts.append(straight(parts[-1].end, one.start))
        parts.append(one)
    cubics = np.concatenate([one.cubics for one in parts])
    cubics[1:, 0] = cubics[:-1, 3]
    return Chain(frozen(cubics), frozen(np.concatenate([one.straight for one in parts])))


def flatten(line: Chain, tolerance: float, longest: float = math.inf) -> tuple[FloatArray, FloatArray]:
    """Points (m, 2) within ``tolerance`` mm of the line, and their parameters (m,); ends and joins included.

    Where it is curved they stand no more than ``longest`` mm apart.
    """
    points, us = beziers.flattened(line.cubics, line.straight, tolerance, longest)
    return frozen(points), frozen(us)


def tidied(line: Chain) -> Chain:
    """The same line with cuts healed: neighbours that were one segment become one again, empty ones go.

    Two segments are one when joining them and cutting again gives both back within MEET_MM.
    """
    segments: list[beziers.Row] = []
    kinds: list[bool] = []
    for cubic, is_line in zip(line.cubics.reshape(-1, 8).tolist(), line.straight.tolist(), strict=True):
        if abs(cubic[6] - cubic[0]) < MEET_MM and abs(cubic[7] - cubic[1]) < MEET_MM and len(line) > 1:
            x0, y0, x1, y1 = beziers.box(cubic)
            if max(x1 - x0, y1 - y0) < MEET_MM:
                continue
        if segments and kinds[-1] == is_line:
            merged = beziers.merged(segments[-1], cubic, is_line)
            if merged is not None:
                segments[-1] = merged
                continue
        segments.append(cubic)
        kinds.append(is_line)
    if len(segments) in (0, len(line)):
        return line
    array = np.array(segments).reshape(-1, 4, 2)
    array[1:, 0] = array[:-1, 3]
    array[0, 0], array[-1, 3] = line.cubics[0, 0], line.cubics[-1, 3]
    return Chain(frozen(array), frozen(np.array(kinds, dtype=bool)))
