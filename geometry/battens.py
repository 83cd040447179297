"""The batten: laid along the old lines, stiffened against change of their curvature, held by stops.

The old runs are glued end to end into one line that keeps their own curvature (``gluing``). The unknown is the
curvature added to it: least in variation (Moreton and Sequin 1992, minimum-variation curves), pulled towards the old
lines, closing exactly on both ends. Stops press back softly where the line would turn the wrong way, bend too hard or
stray. So no jog gives back the old line, and a growing jog moves the line gradually.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.gluing import Glued
from geometry.motions import FloatArray

#: A line that misses its end by less is closed (mm; the direction in the same measure); each round gains three places.
_CLOSE_MM = 1e-7
_SETTLED = 1e-8
#: An unknown beyond this (radians and mm, scaled) does not come back; the batten does not close.
_LOST = 1e6
_ROUNDS = 24
#: In each round the stops are looked at so often; what presses need only be settled at the end.
_STOP_ROUNDS = 2


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


class _Batten:
    """One solve: unknowns are the added curvature at even nodes, a stretch at each jog, and the give of both ends."""

    def __init__(self, glued: Glued, stiffness: float, stops: Stops, even_out: float) -> None:
        self.glued, self.stiffness, self.stops, self.even_out = glued, stiffness, stops, even_out
        self.nodes = min(max(math.ceil(glued.length / (stiffness / 3)), 14), 72)
        self.spacing = glued.length / self.nodes
        self.scale, self.end_scale = 1.0 / stiffness**2, 1.0 / stiffness
        self.size = self.nodes + 1 + len(glued.joints) + 2
        self.steps = glued.lengths[1:] - glued.lengths[:-1]
        self.middles = glued.lengths[:-1] + self.steps / 2
        places = np.concatenate([glued.lengths, self.middles])
        rises = np.zeros((len(places), self.size))
        rises[:, : self.nodes + 1] = _hat_integrals(places, self.nodes, self.spacing) * self.scale
        rises[:, -2] = self.end_scale
        #: (stations, size) and (steps, size): the added angle at each station and each step's middle per unknown.
        self.rises, self.mid_rises = rises[: len(glued.lengths)], rises[len(glued.lengths) :]
        self.stretches = self._stretches()
        self.normals = np.stack([-glued.ways[:, 1], glued.ways[:, 0]], axis=1)
        self.fixed, self.fixed_right = self._fixed()
        self.held = _Held(self._limits(), self._turn_rows(), self._weights(), self.nodes + 1)
        self.closing = self._closing_rows()

    def _stretches(self) -> FloatArray:
        """(steps, joints): how much longer each step grows per mm of stretch at a jog."""
        joints = np.array(self.glued.joints)
        hats = np.maximum(1 - np.abs(self.middles[:, None] - joints) / (2 * self.stiffness + self.spacing), 0.0)
        stretches: FloatArray = hats / np.maximum(self.steps @ hats, 1e-9)
        return stretches

    def lay(self, after: Laid | None) -> Laid:
        """Gauss-Newton on the closing of the line; the stops are settled in every round."""
        z = np.zeros(self.size) if after is None else after.unknowns
        active = np.zeros(0, dtype=bool) if after is None else after.pressing
        active = np.concatenate([active, np.zeros(len(self.held.weights) - len(active), dtype=bool)])
        # Rounds that come nearer by a steady share are run ahead of (Anderson's acceleration, one step deep).
        last_step, last_new = None, z
        for _ in range(_ROUNDS):
            new, pressing, stable = self._nearer(z, active)
            if not float(np.abs(new).max()) < _LOST:
                break
            step = new - z
            z, share = new, 0.0
            size = float(np.abs(step).max())
            if stable and size < _SETTLED * max(1.0, float(np.abs(new).max())):
                active = pressing
                break
            if last_step is not None and (pressing == active).all():
                change = step - last_step
                share = float(step @ change) / max(float(change @ change), 1e-300)
                if abs(share) < 0.5:
                    z = new - share * (new - last_new)
            last_step, last_new, active = step, new, pressing
        return self._laid(z, active)

    def _nearer(self, z: FloatArray, active: NDArray[np.bool_]) -> tuple[FloatArray, NDArray[np.bool_], bool]:
        """The unknowns after one round from ``z``, which stops press there, and whether that is settled."""
        points, along_x, along_y = self._shape(z)
        off, off_rows = self._off(points), self._off_rows(along_x, along_y)
        target = off_rows @ z - off
        pulled = off_rows.T * self.glued.shares
        self.closing[0], self.closing[1] = along_x[-1], along_y[-1]
        return self.held.settled(
            self.fixed + pulled @ off_rows,
            self.fixed_right + pulled @ target,
            (self.closing, self.closing @ z - self._miss(z, points)),
            (off_rows, target),
            active,
        )

    def _laid(self, z: FloatArray, active: NDArray[np.bool_]) -> Laid:
        points = self._chords(z)[1]
        closed = float(np.abs(self._miss(z, points)).max()) < _CLOSE_MM
        off = self._off(points)
        if closed:
            points[-1] = self.glued.end
        closed = closed and bool(np.isfinite(points).all())
        lengths = np.zeros(len(points))
        np.cumsum(self.steps * self._grown(z), out=lengths[1:])
        return Laid(points, self.glued.angles + self.rises @ z, lengths, off, closed, z, active)

    def _grown(self, z: FloatArray) -> FloatArray:
        return 1.0 + self.stretches @ z[self.nodes + 1 : -2]

    def _chords(self, z: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The chords (steps, 2) before they are stretched, the points (stations, 2), the stretched chords."""
        glued = self.glued
        lean = self.mid_rises @ z - glued.turned
        cos, sin = np.cos(lean), np.sin(lean)
        x, y = glued.chords[:, 0], glued.chords[:, 1]
        plain = np.empty((len(lean), 2))
        plain[:, 0], plain[:, 1] = x * cos - y * sin, x * sin + y * cos
        chords = plain * self._grown(z)[:, None]
        points = np.empty((len(lean) + 1, 2))
        points[0], points[1:] = glued.start, chords
        return plain, points.cumsum(axis=0), chords

    def _shape(self, z: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Points (stations, 2), and the change of their x and of their y per unknown (stations, size)."""
        plain, points, chords = self._chords(z)
        slopes = np.zeros((2, len(points), self.size))
        np.multiply(self.mid_rises, -chords[:, 1:2], out=slopes[0, 1:])
        np.multiply(self.mid_rises, chords[:, 0:1], out=slopes[1, 1:])
        slopes[:, 1:, self.nodes + 1 : -2] = self.stretches * plain.T[:, :, None]
        slopes = slopes.cumsum(axis=1)
        return points, slopes[0], slopes[1]

    def _closing_rows(self) -> FloatArray:
        """Rows of what must hold exactly: the end point (filled in later), the end direction, ends that do not give."""
        held = [column for column, give in zip((-2, -1), self.stops.give, strict=True) if give == 0.0]
        rows = np.zeros((3 + len(held), self.size))
        rows[2] = self.rises[-1] * self.stiffness
        rows[2, -1] = -self.end_scale * self.stiffness
        for row, column in enumerate(held, 3):
            rows[row, column] = 1.0
        return rows

    def _miss(self, z: FloatArray, points: FloatArray) -> FloatArray:
        """How far what must hold does not: in mm, the direction in the same measure."""
        miss: FloatArray = self.closing @ z
        miss[:2] = points[-1] - self.glued.end
        miss[2] -= self.glued.end_angle * self.stiffness
        return miss

    def _off(self, points: FloatArray) -> FloatArray:
        """How far each station lies to the left of its old line (k,) in mm."""
        away = points[self.glued.on] - self.glued.places
        slipped = np.einsum("kd,kd->k", away, self.glued.ways)
        off: FloatArray = np.einsum("kd,kd->k", away, self.normals) - self.glued.bends * slipped * slipped / 2
        return off

    def _off_rows(self, along_x: FloatArray, along_y: FloatArray) -> FloatArray:
        """The change of ``_off`` per unknown (k, size)."""
        rows = along_x[self.glued.on] * self.normals[:, :1]
        rows += along_y[self.glued.on] * self.normals[:, 1:]
        return rows

    def _fixed(self) -> tuple[FloatArray, FloatArray]:
        """Normal equations of the stiffness, of a little give at the outer ends, in the stretches and directions."""
        count = self.nodes
        weight = self.stiffness**2 / self.spacing
        wanted = np.zeros(count + 2)
        for joint, jump in zip(self.glued.joints, self.glued.jumps, strict=True):
            place = min(max(joint / self.spacing - 0.5, 0.0), count - 1.0)
            low = min(int(place), count - 2)
            step = weight * self.even_out * jump / self.scale
            wanted[low + 1] -= (1 - (place - low)) * step
            wanted[low + 2] -= (place - low) * step
        right = np.zeros(self.size)
        right[: count + 1] = wanted[:-1] - wanted[1:]
        diagonal = np.full(self.size, 0.05**2)
        diagonal[: count + 1] = 2 * weight
        diagonal[0] = diagonal[count] = weight + self.stiffness
        diagonal[-2:] = 9.0 * self.stiffness
        normal = np.diag(diagonal)
        index = np.arange(count)
        normal[index, index + 1] = normal[index + 1, index] = -weight
        return normal, right

    def _limits(self) -> FloatArray:
        """Limits of the stops in their order (see ``_Held``): on curvature, off the old lines, on ends and turns."""
        glued, stops = self.glued, self.stops
        at = np.arange(self.nodes + 1) * self.spacing
        curved = np.interp(at, glued.lengths, glued.curvature)
        most = (np.interp(at, glued.lengths, stops.most) - curved) / self.scale
        least = (np.interp(at, glued.lengths, stops.least) - curved) / self.scale
        give = np.array(stops.give) / self.end_scale
        turned = [
            (sense * (glued.angles[last] - glued.angles[first]) - least_turn) * self.stiffness
            for first, last, sense, least_turn in stops.turns
        ]
        return np.concatenate([most, -least, stops.left, -stops.right, give, give, turned])

    def _weights(self) -> FloatArray:
        stops, count = self.stops, len(self.glued.on)
        weights = np.empty(2 * self.nodes + 2 + 2 * count + 4 + len(stops.turns))
        weights[: 2 * self.nodes + 2] = 60.0 * stops.firmness * math.sqrt(self.spacing)
        weights[2 * self.nodes + 2 :] = 50.0 * stops.firmness * math.sqrt(self.glued.length / count)
        weights[2 * self.nodes + 2 + 2 * count :] = 400.0 * math.sqrt(self.stiffness)
        return weights

    def _turn_rows(self) -> FloatArray:
        """Rows (4 + turns, size) of the stops on the ends' giving and on turning back."""
        rows = np.zeros((4 + len(self.stops.turns), self.size))
        rows[0, -2] = rows[1, -1] = 1.0
        rows[2, -2] = rows[3, -1] = -1.0
        for index, (first, last, sense, _) in enumerate(self.stops.turns, 4):
            rows[index] = -sense * (self.rises[last] - self.rises[first]) * self.stiffness
        return rows


def _hat_integrals(at: FloatArray, nodes: int, spacing: float) -> FloatArray:
    """(m, nodes + 1): the integral from 0 to each place of the hat functions on even nodes."""
    x = np.minimum(np.maximum((at / spacing)[:, None] - np.arange(nodes + 1), -1.0), 1.0)
    area = 0.5 + x - x * np.abs(x) / 2
    area[:, 0] -= 0.5
    area *= spacing
    return area


@dataclass(frozen=True, eq=False)
class _Held:
    """Stops that press back once passed, each read as row . z <= limit, with its weight.

    In order: curvature at the nodes at most and at least; off the old lines to the left and right; ``rows`` for the
    giving of the ends and for turning back.
    """

    limits: FloatArray
    rows: FloatArray
    weights: FloatArray
    nodes: int

    def settled(
        self,
        normal: FloatArray,
        pulled: FloatArray,
        closing: tuple[FloatArray, FloatArray],
        off: tuple[FloatArray, FloatArray],
        active: NDArray[np.bool_],
    ) -> tuple[FloatArray, NDArray[np.bool_], bool]:
        """Least squares under equalities with these stops: a primal active-set search from ``active`` on.

        normal, pulled: the normal equations; closing: rows and right side of what must hold; off: rows of the way
        off the old lines and what they are counted from. Returns the unknowns, which stops press, and whether those
        are the ones that were reckoned with.
        """
        size, held = len(normal), len(closing[0])
        system, known = np.zeros((size + held, size + held)), np.empty(size + held)
        system[size:, :size], system[:size, size:] = closing[0], closing[0].T
        known[size:] = closing[1]
        rows, target = off
        count = len(target)
        limits = self.limits.copy()
        limits[2 * self.nodes : 2 * self.nodes + count] += target
        limits[2 * self.nodes + count : 2 * self.nodes + 2 * count] -= target
        bounds = self.weights * limits + 1e-12
        z, stable = known[:size], False
        for _ in range(_STOP_ROUNDS):
            system[:size, :size], known[:size] = normal, pulled
            if active.any():
                self._press(system, known, rows, limits, active)
            z = np.asarray(np.linalg.solve(system, known)[:size], dtype=float)
            off_z, bent = rows @ z, z[: self.nodes]
            passed = self.weights * np.concatenate([bent, -bent, off_z, -off_z, self.rows @ z]) > bounds
            stable = bool((passed == active).all())
            active = passed
            if stable:
                break
        return z, active, stable

    def _press(
        self, system: FloatArray, known: FloatArray, off: FloatArray, limits: FloatArray, active: NDArray[np.bool_]
    ) -> None:
        """Adds the stops that press to the normal equations."""
        size, nodes, count = self.rows.shape[1], self.nodes, len(off)
        squares = np.where(active, self.weights * self.weights, 0.0)
        pulls = squares * limits
        system.ravel()[: nodes * len(system) : len(system) + 1] += squares[:nodes] + squares[nodes : 2 * nodes]
        known[:nodes] += pulls[:nodes] - pulls[nodes : 2 * nodes]
        left, right, last = 2 * nodes, 2 * nodes + count, 2 * nodes + 2 * count
        for rows, weight, pull in (
            (off, squares[left:right] + squares[right:last], pulls[left:right] - pulls[right:last]),
            (self.rows, squares[last:], pulls[last:]),
        ):
            pressing = np.flatnonzero(weight)
            if len(pressing):
                mine = rows[pressing]
                system[:size, :size] += (mine.T * weight[pressing]) @ mine
                known[:size] += pull[pressing] @ mine
