"""The batten: laid along the old lines, stiffened against change of their curvature, held by stops.

The old runs are glued end to end into one line that keeps their own curvature (``gluing``). The unknown is the
curvature added to it: least in variation (Moreton and Sequin 1992, minimum-variation curves), pulled towards the old
lines, closing exactly on both ends. Stops press back softly where the line would turn the wrong way, bend too hard or
stray. So no jog gives back the old line, and a growing jog moves the line gradually.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry.gluing import Glued
from geometry.motions import FloatArray

#: A line that misses its end by less is closed (mm; the direction in the same measure); each round gains three places.
_CLOSE_MM = 1e-7
_SETTLED = 1e-6
#: An unknown beyond this (radians and mm, scaled) does not come back; the batten does not close.
_LOST = 1e6
_ROUNDS = 12
_STOP_ROUNDS = 15


@dataclass(frozen=True, eq=False)
class Stops:
    """What the batten may not do, in mm, 1/mm and radians; arrays are (n + 1,) over stations or (k,) over old points.

    least, most: curvature; right, left: distance off the old line to its right (negative) and left; give: how far
    the end directions may turn (start, end); turns: (from station, to station, sense, least) the line must turn at
    least so far (radians) to the side of ``sense`` (+1 left, -1 right) from one station to another; firmness: how hard
    the stops press back, 1 as usual.
    """

    least: FloatArray
    most: FloatArray
    right: FloatArray
    left: FloatArray
    give: tuple[float, float] = (0.0, 0.0)
    turns: tuple[tuple[int, int, float, float], ...] = ()
    firmness: float = 1.0


@dataclass(frozen=True, eq=False)
class Laid:
    """A batten as it lies: points (n + 1, 2) mm, angles (n + 1,) radians, lengths (n + 1,) mm; ``off`` (k,) mm.

    ``closed`` is False where no line was found that meets both ends. ``unknowns`` and ``pressing`` are the solve's own.
    """

    points: FloatArray
    angles: FloatArray
    lengths: FloatArray
    off: FloatArray
    closed: bool
    unknowns: FloatArray
    pressing: NDArray[np.bool_]

    @property
    def furthest_off(self) -> float:
        return float(np.abs(self.off).max())


def lay(glued: Glued, stiffness: float, stops: Stops, *, even_out: float = 0.0, after: Laid | None = None) -> Laid:
    """The batten of a ``stiffness`` (a length in mm: about how far a jog makes itself felt) held by stops.

    ``even_out`` 0..1 says how far a step of curvature at a jog is evened out. ``after`` is a batten of the same
    stiffness laid under other stops: to start from it is quicker and leads to the same line.
    """
    return _Batten(glued, stiffness, stops, even_out).lay(after)


@dataclass(eq=False)
class _Batten:
    """One solve: unknowns are the added curvature at even nodes, a stretch at each jog, and the give of both ends."""

    glued: Glued
    stiffness: float
    stops: Stops
    even_out: float
    scale: float = field(init=False)
    nodes: int = field(init=False)

    def __post_init__(self) -> None:
        self.nodes = int(np.clip(math.ceil(self.glued.length / (self.stiffness / 3)), 14, 72))
        self.scale = 1.0 / self.stiffness**2

    @cached_property
    def spacing(self) -> float:
        return self.glued.length / self.nodes

    @property
    def size(self) -> int:
        return self.nodes + 1 + len(self.glued.joints) + 2

    @cached_property
    def rises(self) -> FloatArray:
        """(stations, size): the added angle at each station per unknown."""
        rises = np.zeros((len(self.glued.lengths), self.size))
        rises[:, : self.nodes + 1] = _hat_integrals(self.glued.lengths, self.nodes, self.spacing) * self.scale
        rises[:, -2] = self.end_scale
        return rises

    @cached_property
    def mid_rises(self) -> FloatArray:
        mids = (self.glued.lengths[1:] + self.glued.lengths[:-1]) / 2
        rises = np.zeros((len(mids), self.size))
        rises[:, : self.nodes + 1] = _hat_integrals(mids, self.nodes, self.spacing) * self.scale
        rises[:, -2] = self.end_scale
        return rises

    @property
    def end_scale(self) -> float:
        return 1.0 / self.stiffness

    @cached_property
    def stretches(self) -> FloatArray:
        """(steps, joints): how much longer each step grows per mm of stretch at a jog."""
        mids = (self.glued.lengths[1:] + self.glued.lengths[:-1]) / 2
        steps = np.diff(self.glued.lengths)
        columns = []
        for joint in self.glued.joints:
            hat = np.maximum(1 - np.abs(mids - joint) / (2 * self.stiffness + self.spacing), 0.0)
            columns.append(hat / max(float((hat * steps).sum()), 1e-9))
        return np.stack(columns, axis=1)

    def lay(self, after: Laid | None) -> Laid:
        """Gauss-Newton on the closing of the line; the stops are settled in every round."""
        z = np.zeros(self.size) if after is None else after.unknowns
        active = np.zeros(0, dtype=bool) if after is None else after.pressing
        fixed = self._fixed_rows()
        for _ in range(_ROUNDS):
            points, slopes = self._shape(z)
            rows, right, stop_rows, stop_limits, stop_weights = self._terms(z, points, slopes, fixed)
            closing, miss = self._closing(z, points, slopes)
            new, active = _held_least_squares(
                rows, right, closing, closing @ z - miss, stop_rows, stop_limits, stop_weights, active
            )
            if not float(np.abs(new).max()) < _LOST:
                break
            moved = float(np.abs(new - z).max())
            z = new
            if moved < _SETTLED * max(1.0, float(np.abs(z).max())):
                break
        points, slopes = self._shape(z)
        closed = float(np.abs(self._closing(z, points, slopes)[1]).max()) < _CLOSE_MM
        off, _ = self._off(points, None)
        if closed:
            points[-1] = self.glued.end
        closed = closed and bool(np.isfinite(points).all())
        return Laid(points, self.glued.angles + self.rises @ z, self._lengths(z), off, closed, z, active)

    def _grown(self, z: FloatArray) -> FloatArray:
        return 1.0 + self.stretches @ z[self.nodes + 1 : -2]

    def _lengths(self, z: FloatArray) -> FloatArray:
        return np.concatenate([[0.0], np.cumsum(np.diff(self.glued.lengths) * self._grown(z))])

    def _shape(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Points (stations, 2), and their change per unknown (stations, size, 2)."""
        glued = self.glued
        lean = self.mid_rises @ z - glued.turned
        cos, sin = np.cos(lean), np.sin(lean)
        x, y = glued.chords[:, 0], glued.chords[:, 1]
        plain = np.stack([x * cos - y * sin, x * sin + y * cos], axis=1)
        chords = plain * self._grown(z)[:, None]
        points = np.array(glued.start) + np.concatenate([np.zeros((1, 2)), np.cumsum(chords, axis=0)])
        slopes = np.zeros((len(points), self.size, 2))
        np.cumsum(-chords[:, 1:2] * self.mid_rises, axis=0, out=slopes[1:, :, 0])
        np.cumsum(chords[:, 0:1] * self.mid_rises, axis=0, out=slopes[1:, :, 1])
        columns = slice(self.nodes + 1, self.size - 2)
        slopes[1:, columns, :] = np.cumsum(self.stretches[:, :, None] * plain[:, None, :], axis=0)
        return points, slopes

    def _closing(self, z: FloatArray, points: FloatArray, slopes: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rows and misses of what must hold exactly: the end point (mm), the end direction (scaled)."""
        turn = self.rises[-1].copy()
        turn[-1] = -self.end_scale
        rows = [slopes[-1, :, 0], slopes[-1, :, 1], turn * self.stiffness]
        miss = [*(points[-1] - self.glued.end), (turn @ z - self.glued.end_angle) * self.stiffness]
        for column, give in ((-2, self.stops.give[0]), (-1, self.stops.give[1])):
            if give == 0.0:
                row = np.zeros(self.size)
                row[column] = 1.0
                rows.append(row)
                miss.append(z[column])
        return np.array(rows), np.array(miss)

    def _off(self, points: FloatArray, slopes: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """How far each station lies to the left of its old line (k,) in mm, and the rows (k, size) of its change."""
        glued = self.glued
        away = points[glued.on] - glued.places
        normals = np.stack([-glued.ways[:, 1], glued.ways[:, 0]], axis=1)
        slipped = (away * glued.ways).sum(axis=1)
        off = (away * normals).sum(axis=1) - glued.bends * slipped**2 / 2
        if slopes is None:
            return off, np.zeros((0, 0))
        return off, np.einsum("kjd,kd->kj", slopes[glued.on], normals)

    def _fixed_rows(self) -> tuple[FloatArray, FloatArray]:
        """Stiffness against change, a little give at the outer ends, in the stretches and in the end directions."""
        count = self.nodes
        rows = np.zeros((count + 2 + self.size - count - 1, self.size))
        right = np.zeros(len(rows))
        weight = self.stiffness / math.sqrt(self.spacing)
        index = np.arange(count)
        rows[index, index], rows[index, index + 1] = -weight, weight
        for joint, jump in zip(self.glued.joints, self.glued.jumps, strict=True):
            place = min(max(joint / self.spacing - 0.5, 0.0), count - 1.0)
            low = min(int(place), count - 2)
            for node, part in ((low, 1 - (place - low)), (low + 1, place - low)):
                right[node] -= weight * part * self.even_out * jump / self.scale
        rows[count, 0] = rows[count + 1, count] = self.stiffness / math.sqrt(self.stiffness)
        for extra in range(count + 1, self.size):
            rows[extra + 1, extra] = 0.05 if extra < self.size - 2 else 3.0 * math.sqrt(self.stiffness)
        return rows, right

    def _terms(
        self, z: FloatArray, points: FloatArray, slopes: FloatArray, fixed: tuple[FloatArray, FloatArray]
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
        off, off_rows = self._off(points, slopes)
        pulls = np.sqrt(self.glued.shares)
        target = off_rows @ z - off
        rows = np.concatenate([fixed[0], pulls[:, None] * off_rows])
        right = np.concatenate([fixed[1], pulls * target])
        stop_rows, limits, weights = self._stops(off_rows, target)
        return rows, right, stop_rows, limits, weights

    def _stops(self, off_rows: FloatArray, target: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Rows, limits and weights of the stops, each read as row . z <= limit."""
        glued, stops = self.glued, self.stops
        at = np.arange(self.nodes + 1) * self.spacing
        curved = np.interp(at, glued.lengths, glued.curvature)
        bend = np.zeros((self.nodes + 1, self.size))
        bend[np.arange(self.nodes + 1), np.arange(self.nodes + 1)] = 1.0
        most = (np.interp(at, glued.lengths, stops.most) - curved) / self.scale
        least = (np.interp(at, glued.lengths, stops.least) - curved) / self.scale
        give = np.zeros((2, self.size))
        give[0, -2] = give[1, -1] = 1.0
        limits = np.array(stops.give) / self.end_scale
        turns, turned = self._turn_stops()
        hard = 60.0 * stops.firmness * math.sqrt(self.spacing)
        side = np.full(len(target), 50.0 * stops.firmness * math.sqrt(glued.length / len(target)))
        firm = 400.0 * math.sqrt(self.stiffness)
        return (
            np.concatenate([bend, -bend, off_rows, -off_rows, give, -give, turns]),
            np.concatenate([most, -least, target + stops.left, -stops.right - target, limits, limits, turned]),
            np.concatenate([np.full(2 * self.nodes + 2, hard), side, side, np.full(4 + len(turned), firm)]),
        )

    def _turn_stops(self) -> tuple[FloatArray, FloatArray]:
        rows = np.zeros((len(self.stops.turns), self.size))
        limits = np.zeros(len(rows))
        for index, (first, last, sense, least) in enumerate(self.stops.turns):
            already = sense * (self.glued.angles[last] - self.glued.angles[first])
            rows[index] = -sense * (self.rises[last] - self.rises[first]) * self.stiffness
            limits[index] = (already - least) * self.stiffness
        return rows, limits


def _hat_integrals(at: FloatArray, nodes: int, spacing: float) -> FloatArray:
    """(m, nodes + 1): the integral from 0 to each place of the hat functions on even nodes."""
    x = np.clip(at[:, None] / spacing - np.arange(nodes + 1)[None, :], -1.0, 1.0)
    area = np.where(x < 0, (1 + x) ** 2 / 2, 0.5 + x - x * x / 2)
    area[:, 0] -= 0.5
    return area * spacing


def _held_least_squares(
    rows: FloatArray,
    right: FloatArray,
    closing: FloatArray,
    closing_right: FloatArray,
    stop_rows: FloatArray,
    limits: FloatArray,
    weights: FloatArray,
    active: NDArray[np.bool_],
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Least squares under equalities, and stops that press back once passed: a primal active-set search."""
    normal, pulled = rows.T @ rows, rows.T @ right
    size, held = len(normal), len(closing)
    scaled, bounds = stop_rows * weights[:, None], limits * weights
    active = np.concatenate([active, np.zeros(len(limits) - len(active), dtype=bool)])
    system, known = np.zeros((size + held, size + held)), np.zeros(size + held)
    system[size:, :size], system[:size, size:] = closing, closing.T
    known[size:] = closing_right
    z: FloatArray = np.zeros(size)
    for _ in range(_STOP_ROUNDS):
        pressing = scaled[active]
        system[:size, :size] = normal + pressing.T @ pressing
        known[:size] = pulled + pressing.T @ bounds[active]
        z = np.asarray(np.linalg.solve(system, known)[:size], dtype=float)
        passed = scaled @ z > bounds + 1e-12
        if (passed == active).all():
            break
        active = passed
    return z, active
