"""Gluing: the old runs of an edge as cubics that follow each other, cut at knots for a batten, their jogs kept apart.

Where runs overlap both are cut back to the middle, where paper was added both are run on straight to the middle. What
is left between them is a jump of place and direction that a batten has to make good.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from geometry.batten_knots import cuts_of
from geometry.beziers import Row, blossomed, weights
from geometry.fairness import WINDOW_MM, angle_between, table
from geometry.fitting import refit
from geometry.kept import kept_property
from geometry.lines import Chain
from geometry.motions import FloatArray, Point

#: So many stations to a segment, ends included; every second one is a place where stops are looked at.
STATIONS = 9
VALUES, SLOPES, BENDS = weights(np.linspace(0.0, 1.0, STATIONS))
_POINTS_SLOPES, _ALL = np.concatenate([VALUES, SLOPES]), np.concatenate([VALUES, SLOPES, BENDS])
#: From a Hermite cubic (place, slope, place, slope) to its control points.
HERMITE = np.array([[1, 0, 0, 0], [1, 1 / 3, 0, 0], [0, 0, 1, -1 / 3], [0, 0, 1, 0]])
#: So little of a gap or an overlap is left to the jump, in stiffnesses.
_LEFT = 0.1
#: A cubic whose handle is shorter than this share of it has no direction to hold; the run is drawn anew.
_NO_HANDLE = 0.01


@dataclass(frozen=True, eq=False)
class Glued:
    """Old runs laid end to end in n segments, ready for a batten that bends them between m + 1 knots.

    cubics: (n, 4, 2) mm; knots: (n,) the knot before each segment; change: (n, 4, 4) how the change of a segment's
    control points follows from place and direction at the knots before and after it (place in mm, direction as a
    change of the unit tangent); sides: (n,) the run each is of, -1 where it runs on into a gap; shifts: (n, 2, 2) by
    how much place and direction jump before a segment, ``lacking`` (2, 2) after the last one; ``jumps``: (n,) by how
    much the old curvature jumps there (1/mm); beside: (n, STATIONS) mm that a segment in a gap lies to the left of the
    old line run on straight; joints: numbers of segments after a jog; kinks: the turns there in radians; begun: mm
    into each run where it is glued from. Stations are STATIONS a segment, in order.
    """

    start: Point
    end: Point
    cubics: FloatArray
    knots: NDArray[np.intp]
    change: FloatArray
    sides: NDArray[np.intp]
    shifts: FloatArray
    lacking: FloatArray
    jumps: FloatArray
    beside: FloatArray
    joints: tuple[int, ...]
    kinks: tuple[float, ...]
    begun: tuple[float, ...]

    @kept_property
    def stations(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Points, slopes and bends (n, STATIONS, 2) of the old lines at the stations."""
        found = _ALL @ self.cubics
        return found[:, :STATIONS], found[:, STATIONS : 2 * STATIONS], found[:, 2 * STATIONS :]

    @kept_property
    def _speeds(self) -> FloatArray:
        slopes = self.stations[1]
        return np.hypot(slopes[..., 0], slopes[..., 1])

    @kept_property
    def normals(self) -> FloatArray:
        """Unit normals to the left (n, STATIONS, 2)."""
        slopes, speeds = self.stations[1], self._speeds
        normals = np.empty_like(slopes)
        normals[..., 0], normals[..., 1] = -slopes[..., 1] / speeds, slopes[..., 0] / speeds
        return normals

    @kept_property
    def curved(self) -> FloatArray:
        """(n, STATIONS) the old curvature in 1/mm."""
        (_, slopes, bends), speeds = self.stations, self._speeds
        curved: FloatArray = slopes[..., 0] * bends[..., 1] - slopes[..., 1] * bends[..., 0]
        return curved / (speeds * speeds * speeds)

    @kept_property
    def measured(self) -> tuple[FloatArray, FloatArray]:
        """Lengths (mm) and angles (radians) at the stations, jogs and kinks left out."""
        return measured(*self.stations[:2], self.joints)

    @property
    def lengths(self) -> FloatArray:
        return self.measured[0]

    @property
    def angles(self) -> FloatArray:
        return self.measured[1]

    @property
    def length(self) -> float:
        return float(self.measured[0][-1])


def at_stations(cubics: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points and slopes (n, STATIONS, 2) of cubics (n, 4, 2) at the stations."""
    found = _POINTS_SLOPES @ cubics
    return found[:, :STATIONS], found[:, STATIONS:]


def measured(points: FloatArray, slopes: FloatArray, joints: Sequence[int] = ()) -> tuple[FloatArray, FloatArray]:
    """Lengths (n * k,) in mm and directions (n * k,) in radians at k stations on each of n segments, without breaks.

    Before the segments ``joints`` neither length nor direction changes.
    """
    turns = _turns(slopes)
    flat = points.reshape(-1, 2)
    steps = np.zeros(len(turns))
    chords = flat[1:] - flat[:-1]
    # An arc is longer than its chord by the square of its turn over 24.
    steps[1:] = np.hypot(chords[:, 0], chords[:, 1]) * (1 + turns[1:] * turns[1:] / 24)
    for joint in joints:
        if 0 < joint < len(slopes):
            turns[joint * slopes.shape[1]] = steps[joint * slopes.shape[1]] = 0.0
    return steps.cumsum(), turns.cumsum()


def directions(slopes: FloatArray) -> FloatArray:
    """The directions (n * k,) of ``measured`` alone."""
    return _turns(slopes).cumsum()


def _turns(slopes: FloatArray) -> FloatArray:
    """The first direction (radians), then the turn from each station to the next."""
    x, y = slopes[..., 0].ravel(), slopes[..., 1].ravel()
    turns = np.empty(len(x))
    turns[0] = math.atan2(y[0], x[0])
    np.arctan2(x[:-1] * y[1:] - y[:-1] * x[1:], x[:-1] * x[1:] + y[:-1] * y[1:], out=turns[1:])
    return turns


def glue(runs: Sequence[Chain], stiffness: float) -> Glued:
    """Old runs (in order, gaps and kinks between them) with knots for a batten of about this stiffness (mm)."""
    sides = [_Side(run) for run in runs]
    for before, after in pairwise(sides):
        before.parted(after, _LEFT * stiffness)
    cuts = [side.cut(stiffness) for side in sides]
    low, high, index, begun = list[float](), list[float](), list[int](), 0
    for one in cuts:
        first = [min(int(u), len(one.cubics) - 1) for u in one.at[:-1]]
        low += [u - i for u, i in zip(one.at[:-1], first, strict=True)]
        high += [u - i for u, i in zip(one.at[1:], first, strict=True)]
        index += [begun + i for i in first]
        begun += len(one.cubics)
    whole = np.concatenate([one.cubics for one in cuts])
    return _put_together(sides, cuts, blossomed(np.array(low), np.array(high)) @ whole[index])


@dataclass(frozen=True, eq=False)
class _Cut:
    """How a side is cut: cubics (k, 4, 2), run on into gaps; parameters that cut them, and which of these are knots."""

    cubics: FloatArray
    at: list[float]
    knots: list[int]


class _Side:
    """One old run, and how far it is run on straight (or cut back, below 0) at its ends, in mm."""

    def __init__(self, run: Chain) -> None:
        self.real = run.length > 1e-3
        self.run = _regular(run) if self.real else run
        self.length = run.length if self.real else 0.0
        self.lead = self.trail = 0.0
        self.jogged = [False, False]
        self.first, self.last = self.run.start_tangent, self.run.end_tangent

    def parted(self, after: _Side, left: float) -> None:
        """Shares out the gap or the overlap between this run and the next; one of ``left`` mm is left as it is."""
        (ax, ay), (bx, by) = self.run.end, after.run.start
        mean = (self.last[0] + after.first[0], self.last[1] + after.first[1])
        size = ((bx - ax) * mean[0] + (by - ay) * mean[1]) / max(math.hypot(*mean), 1e-9)
        self.jogged[1] = after.jogged[0] = True
        if size > left:
            self.trail = after.lead = size / 2
        elif size < -left:
            # What one run is too short for is left to the jump.
            self.trail = max(size / 2, -self.length / 4)
            after.lead = max(size / 2, -after.length / 4)

    def bend(self, *, at_end: bool) -> float:
        """The old curvature (1/mm) over the last 5 mm before a jog."""
        if not self.real:
            return 0.0
        lengths, angles, _ = table(self.run)
        low, high = max(-self.lead, 0.0), self.length + min(self.trail, 0.0)
        reach = min(WINDOW_MM / 2, high - low)
        ends = [high - reach, high] if at_end else [low, low + reach]
        turned = np.interp(ends, lengths, angles)
        return float(turned[1] - turned[0]) / reach

    def cut(self, stiffness: float) -> _Cut:
        cubics, lengths, us = self.run.cubics, *table(self.run)[::2]
        low, high = -self.lead, self.length + self.trail
        if not self.real:
            cubics, lengths, us = np.empty((0, 4, 2)), np.zeros(1), np.zeros(1)
        if self.lead > 0:
            cubics = np.concatenate([self._run_on(at_end=False)[None], cubics])
            lengths, us = np.concatenate([[low], lengths]), np.concatenate([[0.0], us + 1])
        if self.trail > 0:
            cubics = np.concatenate([cubics, self._run_on(at_end=True)[None]])
            lengths, us = np.concatenate([lengths, [high]]), np.concatenate([us, us[-1:] + 1])
        if high - low < 1e-3:
            return _Cut(np.empty((0, 4, 2)), [], [])
        return _Cut(cubics, *cuts_of(low, high, lengths, us, len(cubics), self.jogged, stiffness))

    def _run_on(self, *, at_end: bool) -> FloatArray:
        """The arc (4, 2) by which the run goes on into a gap, bent as it is beside it."""
        (x, y), (dx, dy) = (self.run.end, self.last) if at_end else (self.run.start, self.first)
        size = self.trail if at_end else self.lead
        bend = self.bend(at_end=at_end)
        if not at_end:
            dx, dy, bend = -dx, -dy, -bend
        turn = bend * size
        cos, sin = math.cos(turn), math.sin(turn)
        along, aside = (sin / bend, (1 - cos) / bend) if abs(turn) > 1e-4 else (size, turn * size / 2)
        handle = 4 / 3 * math.tan(turn / 4) / bend if abs(turn) > 1e-4 else size / 3
        ex, ey = x + along * dx - aside * dy, y + along * dy + aside * dx
        wx, wy = cos * dx - sin * dy, sin * dx + cos * dy
        arc = np.array([(x, y), (x + handle * dx, y + handle * dy), (ex - handle * wx, ey - handle * wy), (ex, ey)])
        return arc if at_end else arc[::-1]

    def gaps(self, cut: Sequence[float]) -> list[bool]:
        """Whether each segment between cuts runs on into a gap."""
        if self.lead <= 0 and self.trail <= 0:
            return [False] * (len(cut) - 1)
        low, high = 1.0 if self.lead > 0 else 0.0, float(len(self.run)) * self.real + (self.lead > 0)
        ends = [(v <= low + 1e-12, u >= high - 1e-12) for u, v in pairwise(cut)]
        return [(first and self.lead > 0) or (last and self.trail > 0) for first, last in ends]


def _regular(run: Chain) -> Chain:
    """The run; drawn anew within the refit's tolerance where a segment has an end without a handle."""
    if run.least_handle > _NO_HANDLE:
        return run
    lengths, angles, us = table(run)
    kept = np.append(True, np.diff(lengths) > 1e-9)
    first = run.start_tangent
    return refit(run.points(us[kept]), math.atan2(first[1], first[0]) + angles[kept], lengths[kept])


def _put_together(sides: Sequence[_Side], cuts: Sequence[_Cut], cubics: FloatArray) -> Glued:
    count = len(cubics)
    numbers, jumps = np.empty(count, dtype=np.intp), np.zeros(count)
    beside = np.zeros((count, STATIONS))
    joints, kinks = list[int](), list[float]()
    knots = list[int]()
    shares = list[tuple[int, int]]()
    at = 0
    for index, (side, one) in enumerate(zip(sides, cuts, strict=True)):
        if index:
            before = sides[index - 1]
            joints.append(at)
            kinks.append(angle_between(before.last, side.first))
            if at < count:
                jumps[at] = side.bend(at_end=False) - before.bend(at_end=True)
        numbers[at : at + len(one.at) - 1] = index
        for i, gap in enumerate(side.gaps(one.at)):
            if gap:
                at_start = side.lead > 0 and one.at[i] < 1.0 - 1e-12
                (x, y), (dx, dy) = (side.run.start, side.first) if at_start else (side.run.end, side.last)
                points = VALUES @ cubics[at + i]
                numbers[at + i] = -1
                beside[at + i] = (points[:, 1] - y) * dx - (points[:, 0] - x) * dy
        for first, last in pairwise(one.knots):
            shares += [(at + first, at + last)] * (last - first)
            knots += [knots[-1] + 1 if knots else 0] * (last - first)
        at += max(len(one.at) - 1, 0)
    numbered = np.array(knots, dtype=np.intp)
    rows = cubics.reshape(-1, 8).tolist()
    return Glued(
        sides[0].run.start,
        sides[-1].run.end,
        cubics,
        numbered,
        _changes(rows, shares),
        numbers,
        *_shifts(sides, rows, knots, joints),
        jumps,
        beside,
        tuple(joints),
        tuple(kinks),
        tuple(0.0 - min(side.lead, 0.0) for side in sides),
    )


def _changes(rows: list[Row], spans: Sequence[tuple[int, int]]) -> FloatArray:
    """See ``Glued.change``; ``spans`` gives for each segment the first and the last but one between its two knots.

    Segments between the same knots have shares of it that make the old line's speed unbroken over them.
    """
    change = np.empty((len(rows), 4, 4))
    change[:] = HERMITE
    speed = np.empty((len(rows), 2))
    shared, low, high = list[int](), list[float](), list[float]()
    for first, last in dict.fromkeys(spans):
        ends = [(3 * math.dist(one[:2], one[2:4]), 3 * math.dist(one[4:6], one[6:])) for one in rows[first:last]]
        sizes = [1.0]
        for before, after in pairwise(ends):
            sizes.append(sizes[-1] * after[0] / before[1])
        whole = sum(sizes)
        if len(sizes) > 1:
            sums = [0.0, *accumulate(sizes)]
            shared += range(first, last)
            low += [one / whole for one in sums[:-1]]
            high += [one / whole + size / whole for one, size in zip(sums, sizes, strict=False)]
        speed[first:last] = ends[0][0] * whole, ends[-1][1] * whole / sizes[-1]
    if shared:
        change[shared] = blossomed(np.array(low), np.array(high)) @ HERMITE
    change[:, :, 1::2] *= speed[:, None]
    return change


def _shifts(
    sides: Sequence[_Side], rows: list[Row], knots: Sequence[int], joints: Sequence[int]
) -> tuple[FloatArray, FloatArray]:
    """See ``Glued.shifts``, and (2, 2) what place and direction lack at the very end."""
    shifts, lacking = np.zeros((len(rows), 2, 2)), np.zeros((2, 2))
    for at in dict.fromkeys(joints):
        if at:
            (hx, hy), (hu, hv) = rows[at - 1][6:], _way(rows[at - 1][4:6], rows[at - 1][6:])
        else:
            (hx, hy), (hu, hv) = sides[0].run.start, sides[0].first
        if at < len(rows):
            (tx, ty), (tu, tv) = rows[at][:2], _way(rows[at][:2], rows[at][2:4])
            shift = ((hx - tx, hy - ty), (hu - tu, hv - tv))
            last = at
            while last < len(rows) and knots[last] == knots[at]:
                shifts[last] = shift
                last += 1
        else:
            (tx, ty), (tu, tv) = sides[-1].run.end, sides[-1].last
            lacking[:] = (tx - hx, ty - hy), (tu - hu, tv - hv)
    return shifts, lacking


def _way(start: Sequence[float], end: Sequence[float]) -> Point:
    """The unit direction from one point to another."""
    size = math.dist(start, end)
    return ((end[0] - start[0]) / size, (end[1] - start[1]) / size)


def averaged(lengths: FloatArray, angles: FloatArray) -> FloatArray:
    """Curvature (m,) in 1/mm over 10 mm at lengths (m,) where a line has these angles (m,) in radians."""
    low = np.maximum(lengths - WINDOW_MM / 2, 0.0)
    high = np.minimum(lengths + WINDOW_MM / 2, lengths[-1])
    return (np.interp(high, lengths, angles) - np.interp(low, lengths, angles)) / np.maximum(high - low, 1e-9)
