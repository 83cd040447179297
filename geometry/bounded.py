"""The batten within hard bounds: for lines at the very edge of what may be asked, which soft stops do not find.

It strives for what every batten strives for, but its bounds are limits and not springs, held as they are measured
afterwards: the curvature averaged over 10 mm, the way off the nearer old line, turning back, the ends' give. Each round
is linear around the line of the round before: a quadratic to be made least within limits (``quadratics``). Where there
is no room the bounds are passed, all by as small a share of each as can be.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.batten_rows import COUNT, Rows, at_places
from geometry.battens import Evening, Laid
from geometry.beziers import weights
from geometry.fairness import STEP_MM, WINDOW_MM, angle_between
from geometry.gluing import SLOPES, STATIONS, VALUES, Glued
from geometry.motions import FloatArray, Point
from geometry.old_lines import feet
from geometry.quadratics import least_within

_ROUNDS = 12
#: The first rounds are gone the whole way, later ones half of it.
_WHOLE_ROUNDS = 4
_SETTLED_MM = 0.003
#: Passing the bounds by all of them counts so many times what an unbounded batten is short of what it strives for.
_PASSING = 100.0
#: In a round a direction may change by so many radians, and a speed by such a share: more is not linear.
_TURNED, _HURRIED = math.radians(4.0), 0.1
#: Curvature not averaged may be so much greater, and at corners, where the average is not bounded, so much.
_POINTED, _AT_CORNERS = 1.05, 2.0
#: Two stations are held not to turn back between them unless they turn on by more than this (radians).
_TURNS_ON = math.radians(4.0)
#: The way off is looked at here on each segment, where it is more than this share of what is allowed.
_FINE = weights(np.linspace(0.0, 1.0, 65))[0]
_NEAR = 0.6

#: A limit with less than this share of itself left is counted with from the first; a later one once it is passed.
_NEAR_LIMIT, _PASSED, _AT_ONCE = 1.1, 1e-7, 100

#: Rows (m, size) and limits (m,): so much of a bound each unknown uses up, and how much is left of it.
Limits = tuple[FloatArray, FloatArray]


@dataclass(frozen=True, eq=False)
class Bounds:
    """What a line must keep: ``bent`` curvature in 1/mm, ``off`` mm off the nearer of ``old`` lines, in radians how far
    it may turn ``back`` and its ends may ``give`` (start, end).

    corners: mm from either end within which the averaged curvature is free; ways: unit directions of the old lines at
    the ends; senses: the way it turns (+1 left, -1 right) over which places.
    """

    bent: float
    off: float
    old: Sequence[FloatArray]
    give: tuple[float, float]
    back: float
    corners: tuple[float, float]
    ways: tuple[Point, Point]
    senses: Sequence[tuple[float, slice]]


def held_within(glued: Glued, stiffness: float, even_out: float, bounds: Bounds) -> Iterator[Laid]:
    """Battens nearer and nearer to the fairest within bounds, as they come, so that the first good one ends the search.

    stiffness and even_out as in ``battens.lay``.
    """
    rows = Rows(glued, tuple(end for end, give in enumerate(bounds.give) if give > 0.0))
    work = _Held(rows, Evening(rows, stiffness, even_out), bounds)
    z, laid = work.z, work.laid(work.z)
    for number in range(_ROUNDS):
        try:
            step = work.step(z, laid)
        except np.linalg.LinAlgError:
            return
        z = z + (step if number < _WHOLE_ROUNDS else step / 2)
        before, laid = laid, work.laid(z)
        yield laid
        if float(np.abs(laid.points - before.points).max()) < _SETTLED_MM:
            return


class _Held:
    """One glued line; everything follows from the unknowns of ``Rows`` by its control points."""

    def __init__(self, rows: Rows, striving: Evening, bounds: Bounds) -> None:
        self.rows, self.striving, self.bounds = rows, striving, bounds
        bare = rows.cubics(rows.change(np.zeros(rows.size)))
        does = np.stack([rows.cubics(rows.change(one)) - bare for one in np.eye(rows.size)], axis=-1)
        self.points, self.slopes, self.fine = (_moved(one, does) for one in (VALUES, SLOPES, _FINE))
        #: Begun from the batten that nothing stops, and what that strove for: the measure of what is worth how much.
        normal, right = striving.wanted(*rows.bare)
        for _ in range(2):
            change = rows.change(np.asarray(np.linalg.solve(normal, right)))
            normal, right = striving.wanted(*rows.around(rows.cubics(change), change))
        self.z = np.asarray(np.linalg.solve(normal, right), dtype=np.float64)
        self.energy = max(float(self.z @ right), 1e-12)

    def laid(self, z: FloatArray) -> Laid:
        return Laid(self.rows.glued, self.rows.cubics(self.rows.change(z)), True)

    def step(self, z: FloatArray, laid: Laid) -> FloatArray:
        """How far the unknowns go on, linear around a line."""
        bent, bent_at = self.rows.around(laid.cubics, self.rows.change(z))
        normal, right = self.striving.wanted(bent, bent_at)
        turns, hurries = self._directions(laid)
        found = [self._averaged(laid, turns), *self._back(laid, turns), self._curved(laid, bent, bent_at + bent @ z)]
        found += [self._off(laid), self._giving(z)]
        held, most = (np.concatenate(both) for both in zip(*found, strict=True))
        near = np.concatenate([turns[:: STATIONS // 2] / _TURNED, hurries[:: STATIONS // 2] / _HURRIED])
        # Unknowns are counted so that each weighs alike; the last one is the share by which all bounds are passed.
        size, count = np.sqrt(self.energy / normal.diagonal()), self.rows.size
        square, linear = np.eye(count + 1), np.full(count + 1, _PASSING)
        square[:count, :count] = normal * np.outer(size, size) / self.energy
        linear[:count] = (normal @ z - right) * size / self.energy
        whole = np.zeros((1 + len(held) + 2 * len(near), count + 1))
        whole[: 1 + len(held), count] = -1.0
        whole[1:, :count] = np.concatenate([held, near, -near]) * size
        limits = np.concatenate([[0.0], most, np.ones(2 * len(near))])
        start = np.zeros(count + 1)
        start[count] = 1.0 + max(0.0, -float(most.min()))
        return _with_few(square, linear, whole, limits, start)[:count] * size

    def _directions(self, laid: Laid) -> tuple[FloatArray, FloatArray]:
        """Rows of how the direction (radians) and the speed (as a share) change at the stations."""
        slopes = (SLOPES @ laid.cubics).reshape(-1, 2)
        along = slopes / np.einsum("kd,kd->k", slopes, slopes)[:, None]
        across = np.stack([-along[:, 1], along[:, 0]], axis=1)
        return np.einsum("kd,kdz->kz", across, self.slopes), np.einsum("kd,kdz->kz", along, self.slopes)

    def _averaged(self, laid: Laid, turns: FloatArray) -> Limits:
        """Limits of the averaged curvature, read as ``fairness.averaged_curvature`` does."""
        lengths, angles, whole = laid.lengths, laid.angles, float(laid.lengths[-1])
        low, high = self.bounds.corners[0], whole - self.bounds.corners[1]
        if high <= low:
            return self.rows.gives[:0], np.empty(0)
        at = np.linspace(low, high, max(2, math.ceil((high - low) / STEP_MM) + 1))
        first, last = np.maximum(at - WINDOW_MM / 2, 0.0), np.minimum(at + WINDOW_MM / 2, whole)
        allowed = (last - first) * self.bounds.bent
        grown = self._grown(laid)
        rows = [_read(lengths, angles, turns, grown, ends) for ends in (first, last)]
        now = (np.interp(last, lengths, angles) - np.interp(first, lengths, angles)) / allowed
        return _both_ways((rows[1] - rows[0]) / allowed[:, None], now)

    def _grown(self, laid: Laid) -> FloatArray:
        """Rows of how much longer the line becomes from its start to each station."""
        steps = np.diff(laid.points, axis=0)
        ways = steps / np.maximum(np.hypot(steps[:, 0], steps[:, 1]), 1e-9)[:, None]
        grown = np.zeros((len(steps) + 1, self.rows.size))
        np.cumsum(np.einsum("kd,kdz->kz", ways, np.diff(self.points, axis=0)), axis=0, out=grown[1:])
        return grown

    def _back(self, laid: Laid, turns: FloatArray) -> list[Limits]:
        """Limits of turning back from any station to a later one; what the ends give counts, as a kink there."""
        before = angle_between(self.bounds.ways[0], laid.ways[0])
        after = angle_between(laid.ways[1], self.bounds.ways[1])
        angles, nothing = laid.angles, np.zeros((1, self.rows.size))
        angles = np.concatenate([[angles[0] - before], angles, [angles[-1] + after]])
        rows = np.concatenate([nothing, turns, nothing])
        # Beyond a corner nothing is left to turn against.
        run_on = [corner == 0.0 for corner in self.bounds.corners]
        found = []
        for sense, part in self.bounds.senses:
            low, high = _station(part.start), _station(part.stop - 1) + 1
            first, last = run_on[0] and low == 0, run_on[1] and high == len(angles) - 2
            stations = np.arange(low + 1 - first, high + 1 + last)
            # Where two segments meet one station is enough.
            stations = stations[(stations % STATIONS != 0) | (stations == low + 1 - first) | (stations == high)]
            one, other = (stations[index] for index in np.triu_indices(len(stations), 1))
            on = sense * (angles[other] - angles[one])
            one, other, on = one[on < _TURNS_ON], other[on < _TURNS_ON], on[on < _TURNS_ON]
            found.append((sense * (rows[one] - rows[other]) / self.bounds.back, 1 + on / self.bounds.back))
        return found

    def _curved(self, laid: Laid, bent: FloatArray, now: FloatArray) -> Limits:
        """Limits of the curvature at each place."""
        lengths = at_places(laid.lengths)
        corner = (lengths < self.bounds.corners[0]) | (lengths > lengths[-1] - self.bounds.corners[1])
        allowed = self.bounds.bent * np.where(corner, _AT_CORNERS, _POINTED)
        return _both_ways(bent / allowed[:, None], now / allowed)

    def _off(self, laid: Laid) -> Limits:
        points, allowed = (_FINE @ laid.cubics).reshape(-1, 2), self.bounds.off
        nearest, normals = feet(points, self.bounds.old)
        now = np.einsum("kd,kd->k", points - nearest, normals) / allowed
        far = np.abs(now) > _NEAR
        return _both_ways(np.einsum("kd,kdz->kz", normals[far], self.fine[far]) / allowed, now[far])

    def _giving(self, z: FloatArray) -> Limits:
        give = np.array([self.bounds.give[end] for end in self.rows.giving])
        gives = self.rows.gives / give[:, None]
        return _both_ways(gives, gives @ z)


def _station(place: int) -> int:
    """The number of the station at a place."""
    return place // COUNT * STATIONS + 2 * (place % COUNT)


def _with_few(
    square: FloatArray, linear: FloatArray, rows: FloatArray, limits: FloatArray, start: FloatArray
) -> FloatArray:
    """As ``least_within``: only with the limits that are near, then those passed furthest, as most never press."""
    taken = limits < _NEAR_LIMIT
    while True:
        found = least_within(square, linear, rows[taken], limits[taken], start)
        passed = np.where(taken, 0.0, rows @ found - limits)
        if not (passed > _PASSED).any():
            return found
        furthest = passed.argsort()[-_AT_ONCE:]
        taken[furthest[passed[furthest] > _PASSED]] = True


def _moved(shares: FloatArray, does: FloatArray) -> FloatArray:
    """(n * k, 2, size) what unknowns do to what is made of control points by shares (k, 4)."""
    moved: FloatArray = np.einsum("sk,nkdz->nsdz", shares, does).reshape(-1, 2, does.shape[-1])
    return moved


def _both_ways(rows: FloatArray, now: FloatArray) -> Limits:
    """Limits of what is ``now`` such a share of what is allowed to either side."""
    return np.concatenate([rows, -rows]), np.concatenate([1 - now, 1 + now])


def _read(lengths: FloatArray, angles: FloatArray, turns: FloatArray, grown: FloatArray, at: FloatArray) -> FloatArray:
    """Rows (m, size) of the direction at lengths (m,), from those of direction and length at the stations (k,)."""
    low = np.clip(lengths.searchsorted(at, side="right") - 1, 0, len(lengths) - 2)
    steps = np.maximum(lengths[low + 1] - lengths[low], 1e-12)
    share = np.clip((at - lengths[low]) / steps, 0.0, 1.0)[:, None]
    # What grows before it shifts the line past a place; the far end is shifted with it.
    bend = np.where(at < lengths[-1], (angles[low + 1] - angles[low]) / steps, 0.0)[:, None]
    moved: FloatArray = (1 - share) * (turns[low] - bend * grown[low])
    moved += share * (turns[low + 1] - bend * grown[low + 1])
    return moved
