"""Gluing: the old runs of an edge laid end to end, with their own curvature, gaps bridged and kinks kept apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.fairness import WINDOW_MM, angle_between, table
from geometry.lines import Chain
from geometry.motions import FloatArray, Point


@dataclass(frozen=True, eq=False)
class Glued:
    """Old runs laid end to end in steps, ready for a batten.

    chords: (n, 2) steps of the old lines in mm, as they lie; turned: (n,) radians by which the joints before a step
    have turned it; lengths: (n + 1,) mm at the stations; angles: (n + 1,) radians, the glued line's direction;
    curvature: (n + 1,) 1/mm averaged over 10 mm. Stations beside old lines: ``on`` (k,) station numbers, ``places``
    (k, 2) the old points, ``ways`` (k, 2) the old unit tangents, ``bends`` (k,) the old curvature, ``shares`` (k,) mm
    of line that pull it there, ``sides`` (k,) the run, or -1 in a gap, where the old line is run on straight and does
    not pull. ``joints`` and ``jumps`` say where the jogs are (mm) and how the curvature jumps there.
    """

    start: Point
    end: Point
    end_angle: float
    chords: FloatArray
    turned: FloatArray
    lengths: FloatArray
    angles: FloatArray
    curvature: FloatArray
    on: NDArray[np.intp]
    places: FloatArray
    ways: FloatArray
    bends: FloatArray
    shares: FloatArray
    sides: NDArray[np.intp]
    joints: tuple[float, ...]
    jumps: tuple[float, ...]

    @property
    def length(self) -> float:
        return float(self.lengths[-1])


def glue(runs: Sequence[Chain], spacing: float) -> Glued:
    """Old runs (in order, gaps and kinks between them) as one line of steps about ``spacing`` mm long."""
    return _Gluing(runs, spacing).result()


class _Gluing:
    """Collects the steps of the runs and of the gaps between them."""

    def __init__(self, runs: Sequence[Chain], spacing: float) -> None:
        self.runs, self.spacing = runs, spacing
        self.chords: list[FloatArray] = []
        self.turned: list[FloatArray] = []
        self.steps: list[FloatArray] = []
        self.turns: list[FloatArray] = []
        self.bends: list[FloatArray] = []
        self.on: list[NDArray[np.intp]] = []
        self.places: list[FloatArray] = []
        self.ways: list[FloatArray] = []
        self.shares: list[FloatArray] = []
        self.sides: list[NDArray[np.intp]] = []
        self.joints: list[float] = []
        self.jumps: list[float] = []
        self.lean = 0.0

    def result(self) -> Glued:
        sampled = [_Sampled(run, self.spacing) for run in self.runs]
        for index, run in enumerate(sampled):
            if index:
                self._gap(sampled[index - 1], run)
            self._run(index, run)
        lengths = np.concatenate([[0.0], np.cumsum(np.concatenate(self.steps))])
        turns = np.concatenate(self.turns)
        first = math.atan2(self.runs[0].start_tangent[1], self.runs[0].start_tangent[0])
        angles = first + np.concatenate([[0.0], np.cumsum(turns)])
        return Glued(
            start=self.runs[0].start,
            end=self.runs[-1].end,
            end_angle=self.lean,
            chords=np.concatenate(self.chords),
            turned=np.concatenate(self.turned),
            lengths=lengths,
            angles=angles,
            curvature=averaged(lengths, angles),
            on=np.concatenate(self.on),
            places=np.concatenate(self.places),
            ways=np.concatenate(self.ways),
            bends=np.concatenate(self.bends),
            shares=np.concatenate(self.shares),
            sides=np.concatenate(self.sides),
            joints=tuple(self.joints),
            jumps=tuple(self.jumps),
        )

    @property
    def _count(self) -> int:
        return sum(len(chords) for chords in self.chords)

    def _run(self, index: int, run: _Sampled) -> None:
        if run.steps == 0:
            return
        at = self._count
        chords, bends = run.points[1:] - run.points[:-1], run.angles[1:] - run.angles[:-1]
        # An arc is longer than its chord by the square of its turn over 24.
        sizes = np.hypot(chords[:, 0], chords[:, 1]) * (1 + bends**2 / 24)
        self.chords.append(chords)
        self.turned.append(np.full(run.steps, self.lean))
        self.steps.append(sizes)
        self.turns.append(bends)
        self.bends.append(averaged(np.concatenate([[0.0], np.cumsum(sizes)]), run.angles))
        self.on.append(np.arange(at, at + run.steps + 1))
        self.places.append(run.points)
        self.ways.append(run.ways)
        shares = np.zeros(run.steps + 1)
        shares[:-1] += sizes / 2
        shares[1:] += sizes / 2
        self.shares.append(shares)
        self.sides.append(np.full(run.steps + 1, index))

    def _gap(self, before: _Sampled, after: _Sampled) -> None:
        gap = after.points[0] - before.points[-1]
        kink = angle_between(before.ways[-1], after.ways[0])
        mean = before.ways[-1] + after.ways[0]
        size = float(gap @ mean) / max(float(np.hypot(*mean)), 1e-9)
        bend = (before.bend_end + after.bend_start) / 2 if before.steps and after.steps else 0.0
        turn = 0.0
        if size > 1e-3:
            count = max(1, round(size / self.spacing))
            turn = bend * size
            way = math.atan2(before.ways[-1][1], before.ways[-1][0])
            angles = way + turn * (np.arange(count) + 0.5) / count
            self.chords.append(size / count * np.stack([np.cos(angles), np.sin(angles)], axis=1))
            self.turned.append(np.full(count, self.lean))
            self.steps.append(np.full(count, size / count))
            self.turns.append(np.full(count, turn / count))
            self._run_on(before, after, count)
        else:
            size = 0.0
        self.joints.append(sum(float(steps.sum()) for steps in self.steps) - size / 2)
        self.jumps.append(after.bend_start - before.bend_end)
        self.lean += kink - turn


    def _run_on(self, before: _Sampled, after: _Sampled, count: int) -> None:
        """Inside a gap of ``count`` steps either old line is run on straight to the middle."""
        if count < 2:
            return
        place = np.arange(1, count) / count
        near = np.where(place == 0.5, 0.5, place < 0.5)[:, None]
        gap = after.points[0] - before.points[-1]
        ahead = before.points[-1] + place[:, None] * (gap @ before.ways[-1]) * before.ways[-1]
        behind = after.points[0] - (1 - place[:, None]) * (gap @ after.ways[0]) * after.ways[0]
        self.on.append(self._count - count + np.arange(1, count))
        ways = near * before.ways[-1] + (1 - near) * after.ways[0]
        self.places.append(near * ahead + (1 - near) * behind)
        self.ways.append(ways / np.hypot(ways[:, 0], ways[:, 1])[:, None])
        self.bends.append(np.zeros(count - 1))
        self.shares.append(np.zeros(count - 1))
        self.sides.append(np.full(count - 1, -1))


class _Sampled:
    """A run at equal steps: points, unit tangents, angles turned, and its curvature near both ends."""

    def __init__(self, run: Chain, spacing: float) -> None:
        self.length = run.length
        self.steps = max(1, math.ceil(self.length / spacing)) if self.length > 1e-3 else 0
        lengths, angles, parameters = table(run)
        at = np.arange(self.steps + 1) * (self.length / max(self.steps, 1))
        us = np.interp(at, lengths, parameters)
        us[-1] = len(run)
        self.points = run.points(us)
        self.points[0], self.points[-1] = run.start, run.end
        first = run.start_tangent
        self.angles = np.interp(us, parameters, angles)
        cos, sin = np.cos(self.angles), np.sin(self.angles)
        self.ways = np.empty((self.steps + 1, 2))
        self.ways[:, 0], self.ways[:, 1] = first[0] * cos - first[1] * sin, first[0] * sin + first[1] * cos
        reach = min(WINDOW_MM / 2, self.length)
        near = np.interp([reach, self.length - reach], lengths, angles) if self.steps else np.zeros(2)
        self.bend_start = float(near[0] - angles[0]) / reach if self.steps else 0.0
        self.bend_end = float(angles[-1] - near[1]) / reach if self.steps else 0.0


def averaged(lengths: FloatArray, angles: FloatArray) -> FloatArray:
    """Curvature (m,) in 1/mm over 10 mm at lengths (m,) where a line has these angles (m,) in radians."""
    low = np.maximum(lengths - WINDOW_MM / 2, 0.0)
    high = np.minimum(lengths + WINDOW_MM / 2, lengths[-1])
    return (np.interp(high, lengths, angles) - np.interp(low, lengths, angles)) / np.maximum(high - low, 1e-9)
