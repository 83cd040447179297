"""The batten: laid along the old lines, stiffened against change of their curvature, held by stops.

The old runs are cubics that follow each other (``gluing``). The unknown is the change of place and direction at the
knots, so that the batten comes out in smooth cubics, with nothing to be fitted afterwards. The curvature added is least
in variation (Moreton and Sequin 1992, minimum-variation curves), the line is pulled towards the old lines, and both
ends are met exactly. Stops press back softly where the line would turn the wrong way, bend too hard or stray. So no
jog gives back the old line, and a growing jog moves the line gradually.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry.gluing import BENDS, SLOPES, STATIONS, VALUES, Glued, measured
from geometry.motions import FloatArray

#: Stops are looked at every second station.
_PLACES = slice(None, None, 2)
_COUNT = (STATIONS + 1) // 2
#: The integral over a segment by its places (Boole's rule).
_BOOLE = np.array([7, 32, 12, 32, 7]) / 90
#: The line is laid anew around what was found while it still moves by this much (mm), at most so often; the first
#: rounds are gone the whole way, later ones half of it.
_SETTLED_MM = 0.02
_WHOLE_ROUNDS, _MOST_ROUNDS = 3, 12
_LEFT_OUT = 4.0
#: A line that strays further than this does not come back (mm).
_LOST_MM = 1e3
#: In each round the stops are looked at so often.
_STOP_ROUNDS = 8
#: A step of the added curvature from one segment to the next counts as if it were spread over this share of stiffness.
_STEP_OVER = 0.1
#: Steps shorter than this share of stiffness count as so long.
_SPECK = 0.02
#: A stop begins to press at this share of what its weight would give way to a pull of 1.
_TOUCHED = 0.1
#: How much growing longer or shorter over a stiffness (mm) counts, lying off the old line being 1.
_STRETCH = 5.0


@dataclass(frozen=True, eq=False)
class Stops:
    """What the batten may not do, in mm, 1/mm and radians; arrays are (k,) over the places of ``Glued``.

    least, most: curvature; right, left: distance off the old line to its right (negative) and left; give: how far
    the end directions may turn (start, end); turns: (from place, to place, sense, least) the line must turn
    at least so far (radians) to the side of ``sense`` (+1 left, -1 right) from one place to another; firmness: how hard
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
    """A batten as it lies: cubics (n, 4, 2) mm, and which stops press; ``closed`` is False where no line was found."""

    glued: Glued
    cubics: FloatArray
    closed: bool
    pressing: NDArray[np.bool_]

    @cached_property
    def points(self) -> FloatArray:
        """Points (n * STATIONS, 2) at the stations."""
        points: FloatArray = (VALUES @ self.cubics).reshape(-1, 2)
        return points

    @cached_property
    def measured(self) -> tuple[FloatArray, FloatArray]:
        return measured(VALUES @ self.cubics, SLOPES @ self.cubics)

    @property
    def lengths(self) -> FloatArray:
        """(n * STATIONS,) mm along the batten."""
        return self.measured[0]

    @property
    def angles(self) -> FloatArray:
        """(n * STATIONS,) radians, its direction."""
        return self.measured[1]

    @cached_property
    def off(self) -> FloatArray:
        """(n * STATIONS,) how far the batten lies to the left of the old line in mm."""
        glued = self.glued
        away = VALUES @ self.cubics - glued.stations[0]
        nx, ny = glued.normals[..., 0], glued.normals[..., 1]
        slipped = away[..., 0] * ny - away[..., 1] * nx
        off: FloatArray = away[..., 0] * nx + away[..., 1] * ny + glued.beside
        off = off - glued.curved * slipped * slipped / 2
        return off.ravel()

    @property
    def furthest_off(self) -> float:
        return float(np.abs(self.off).max())


def lay(glued: Glued, stiffness: float, stops: Stops, *, even_out: float = 0.0) -> Laid:
    """The batten of a ``stiffness`` (a length in mm: about how far a jog makes itself felt) held by stops.

    ``even_out`` 0..1 says how far a step of curvature at a jog is evened out.
    """
    return _Batten(glued, stiffness, stops, even_out).lay()


class _Batten:
    """One solve: unknowns are the changes at inner knots, and the give of both ends where they may turn."""

    def __init__(self, glued: Glued, stiffness: float, stops: Stops, even_out: float) -> None:
        self.glued, self.stiffness, self.stops = glued, stiffness, stops
        self.segments, self.knots = len(glued.cubics), int(glued.knots[-1]) + 2
        self.rows = self.segments * _COUNT
        self.whole = 4 * self.knots
        change = glued.change
        self.values, self.slopes = VALUES[_PLACES] @ change, SLOPES[_PLACES] @ change
        self.bends = BENDS[_PLACES] @ change
        self.columns = 4 * glued.knots[:, None, None] + np.arange(8)
        self.at = (np.arange(self.segments)[:, None, None], np.arange(_COUNT)[None, :, None])
        slopes = glued.stations[1][:, _PLACES]
        self.speeds = np.hypot(slopes[..., 0], slopes[..., 1])
        self.shares = (self.speeds * _BOOLE).ravel()
        #: (rows,) the old curvature, and the curvature evened out by how much it steps at each jog.
        self.curved = glued.curved[:, _PLACES].ravel()
        self.steps = np.repeat(glued.jumps, _COUNT)[1:] * -even_out
        self.steps[np.arange(1, self.rows) % _COUNT != 0] = 0.0
        self.ends = [(0, glued.normals[0, 0]), (self.whole - 4, glued.normals[-1, -1])]
        self.giving = [end for end, give in zip((0, 1), stops.give, strict=True) if give > 0.0]
        self.fixed = np.zeros(self.whole)
        self.fixed[-4:] = glued.lacking.ravel()
        self.size = self.whole - 8 + len(self.giving)
        self.off, self.off_at = self._off()
        self.normal, self.right = self._pull()
        self.weights, self.limits = self._stops()

    def _spread(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Rows (rows, whole) from what place and direction at both knots (n, places, 4) do in x and in y."""
        both = np.empty((self.segments, _COUNT, 8))
        both[..., ::2], both[..., 1::2] = x, y
        rows = np.zeros((self.segments, _COUNT, self.whole))
        rows[self.at[0], self.at[1], self.columns] = both
        return rows.reshape(self.rows, self.whole)

    def _split(self, rows: FloatArray) -> FloatArray:
        """The columns of the unknowns of rows (k, whole)."""
        if not self.giving:
            return rows[:, 4:-4]
        turned = [rows[:, self.ends[i][0] + 2 : self.ends[i][0] + 4] @ self.ends[i][1] for i in self.giving]
        return np.concatenate([rows[:, 4:-4], np.array(turned).T], axis=1)

    def _jumped(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """(rows,) what the jumps before the segments do, from the same as in ``_spread``."""
        jumps = self.glued.shifts
        return (x[..., :2] @ jumps[:, :, :1] + y[..., :2] @ jumps[:, :, 1:]).ravel()

    def _off(self) -> tuple[FloatArray, FloatArray]:
        """Rows of the distance off the old lines, and what it is counted from."""
        normals = self.glued.normals[:, _PLACES]
        x, y = normals[..., :1] * self.values, normals[..., 1:] * self.values
        rows = self._spread(x, y)
        return self._split(rows), self.glued.beside[:, _PLACES].ravel() + self._jumped(x, y) + rows @ self.fixed

    def _pull(self) -> tuple[FloatArray, FloatArray]:
        """Normal equations of the pull to the old lines, and of what keeps the line from bunching up along itself."""
        normals, curved = self.glued.normals[:, _PLACES], self.glued.curved[:, _PLACES, None]
        moved, held = self.slopes / self.speeds[..., None], curved * self.values
        # A line that moves square to the old one neither slips along it nor bunches up.
        x = _STRETCH * self.stiffness * (normals[..., 1:] * moved + normals[..., :1] * held)
        y = _STRETCH * self.stiffness * (normals[..., 1:] * held - normals[..., :1] * moved)
        rows = self._spread(x, y)
        along, at = self._split(rows), self._jumped(x, y) + rows @ self.fixed
        pulls = self.shares * np.repeat(self.glued.sides >= 0, _COUNT)
        pulled, slack = self.off.T * pulls, along.T * self.shares
        normal, right = pulled @ self.off + slack @ along, -(pulled @ self.off_at) - slack @ at
        for column in range(self.size - len(self.giving), self.size):
            normal[column, column] += 9.0 * self.stiffness**3
        return normal, right

    def _stops(self) -> tuple[FloatArray, FloatArray]:
        """Weights (squared) and limits of the stops: curvature at most and at least, left, right, ends, turns."""
        stops, stiffness = self.stops, self.stiffness
        bent = (60.0 * stops.firmness * stiffness**2) ** 2 * self.shares
        far = (50.0 * stops.firmness) ** 2 * self.shares
        turned = np.full(2 * len(self.giving) + len(stops.turns), 400.0**2 * stiffness**3)
        give = [stops.give[end] for end in self.giving]
        turns = [-least for _, _, _, least in stops.turns]
        limits = [stops.most, -stops.least, stops.left, -stops.right, np.array([*give, *give, *turns])]
        return np.concatenate([bent, bent, far, far, turned]), np.concatenate(limits)

    def lay(self) -> Laid:
        """Linear around the old lines, then around what came of it."""
        active = np.zeros(len(self.weights), dtype=bool)
        z, change, moved = np.zeros(self.size), None, math.inf
        for number in range(_MOST_ROUNDS):
            try:
                new, active = self._nearer(change, active)
            except np.linalg.LinAlgError:
                break
            moved = float(np.abs(self.off @ (new - z)).max())
            # Where stops are at odds with each other a whole step may lead to and fro.
            z = new if number < _WHOLE_ROUNDS else (z + new) / 2
            change = self._change(z)
            # Where nothing stops it, what is left out the first time goes with the square of the turning.
            left = moved
            if not number and not active.any():
                left *= self._turn(change) ** 2 * _LEFT_OUT
            if not moved < _LOST_MM or left <= _SETTLED_MM:
                break
        cubics = self._cubics(self._change(z) if change is None else change)
        return Laid(self.glued, cubics, moved < _LOST_MM, active)

    def _change(self, z: FloatArray) -> FloatArray:
        """(knots, 2, 2) change of place and direction at every knot."""
        whole = self.fixed.copy()
        whole[4:-4] = z[: self.whole - 8]
        for turned, end in zip(z[self.whole - 8 :], self.giving, strict=True):
            column, normal = self.ends[end]
            whole[column + 2 : column + 4] += turned * normal
        return whole.reshape(self.knots, 2, 2)

    def _turn(self, change: FloatArray) -> float:
        """The greatest change of direction at a knot, on either side of a jog."""
        turned = np.concatenate([change[:, 1], change[self.glued.knots, 1] + self.glued.shifts[:, 1]])
        return float(np.hypot(turned[:, 0], turned[:, 1]).max())

    def _cubics(self, change: FloatArray) -> FloatArray:
        glued = self.glued
        local = np.concatenate([change[glued.knots] + glued.shifts, change[glued.knots + 1]], axis=1)
        cubics: FloatArray = glued.cubics + glued.change @ local
        cubics[1:, 0] = cubics[:-1, 3]
        cubics[0, 0], cubics[-1, 3] = glued.start, glued.end
        return cubics

    def _nearer(self, change: FloatArray | None, active: NDArray[np.bool_]) -> tuple[FloatArray, NDArray[np.bool_]]:
        """The unknowns of the batten that is linear around a change of the old lines, and the stops that press."""
        bent, bent_at, turns, turns_at = self._around(change)
        spread = np.concatenate([bent[:1], bent[1:] - bent[:-1], bent[-1:]])
        wanted = self.curved - bent_at
        target = np.concatenate([wanted[:1], wanted[1:] - wanted[:-1] + self.steps, wanted[-1:]])
        pulled = spread.T * self._stiff
        normal, right = self.normal + pulled @ spread, self.right + pulled @ target
        last = np.concatenate([self._gives, turns])
        limits = self.limits - np.concatenate(
            [bent_at, -bent_at, self.off_at, -self.off_at, np.zeros(len(self._gives)), turns_at]
        )
        # A stop that is only just touched is none, or rounding would tell a line from its mirror image.
        touched = limits + _TOUCHED / np.sqrt(self.weights)
        for _ in range(_STOP_ROUNDS):
            system, known = normal, right
            if active.any():
                pressing = np.flatnonzero(active)
                mine = np.concatenate([bent, -bent, self.off, -self.off, last])[pressing]
                hard = mine.T * self.weights[pressing]
                system, known = normal + hard @ mine, right + hard @ limits[pressing]
            z = np.linalg.solve(system, known)
            bend, away = bent @ z, self.off @ z
            passed = np.concatenate([bend, -bend, away, -away, last @ z]) > np.where(active, limits, touched)
            if (passed == active).all():
                break
            active = passed
        return z, active

    @cached_property
    def _gives(self) -> FloatArray:
        """Rows of the stops on the ends' giving, to one side and to the other."""
        count = len(self.giving)
        rows = np.zeros((2 * count, self.size))
        for index in range(count):
            column = self.size - count + index
            rows[index, column], rows[count + index, column] = 1.0, -1.0
        return rows

    @cached_property
    def _stiff(self) -> FloatArray:
        """Weights of the added curvature at the first place, of its steps from place to place, and at the last."""
        sixth, steps = self.stiffness**6, np.zeros((self.segments, _COUNT))
        points = self.glued.stations[0][:, _PLACES]
        chords = points[:, 1:] - points[:, :-1]
        # On a speck of a segment curvature is known too poorly to be held even.
        steps[:, 1:] = np.maximum(np.hypot(chords[..., 0], chords[..., 1]), _SPECK * self.stiffness)
        steps[:, 0] = _STEP_OVER * self.stiffness
        fifth = [self.stiffness**5]
        return np.concatenate([fifth, sixth / steps.ravel()[1:], fifth])

    def _around(self, change: FloatArray | None) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Rows (rows, size) of the curvature and what it is counted from, and the same of the stops on turning."""
        cubics = self.glued.cubics if change is None else self._cubics(change)
        slopes, bends = SLOPES[_PLACES] @ cubics, BENDS[_PLACES] @ cubics
        dx, dy, ddx, ddy = slopes[..., 0], slopes[..., 1], bends[..., 0], bends[..., 1]
        square = dx * dx + dy * dy
        cube = square * np.sqrt(square)
        curved = (dx * ddy - dy * ddx) / cube
        thrice = 3 * curved / square
        x = (ddy / cube - thrice * dx)[..., None] * self.slopes - (dy / cube)[..., None] * self.bends
        y = (-ddx / cube - thrice * dy)[..., None] * self.slopes + (dx / cube)[..., None] * self.bends
        bent, bent_at = self._counted(x, y, curved.ravel(), change)
        if not self.stops.turns:
            return bent, bent_at, np.zeros((0, self.size)), np.zeros(0)
        x, y = (-dy / square)[..., None] * self.slopes, (dx / square)[..., None] * self.slopes
        angles = measured(VALUES[_PLACES] @ cubics, slopes)[1]
        ways, ways_at = self._counted(x, y, angles, change)
        senses = [sense for _, _, sense, _ in self.stops.turns]
        first, last = [turn[0] for turn in self.stops.turns], [turn[1] for turn in self.stops.turns]
        turns = (ways[first] - ways[last]) * np.array(senses)[:, None]
        return bent, bent_at, turns, (ways_at[first] - ways_at[last]) * senses

    def _counted(
        self, x: FloatArray, y: FloatArray, now: FloatArray, change: FloatArray | None
    ) -> tuple[FloatArray, FloatArray]:
        """Rows of the unknowns and what they are counted from, for what is ``now`` after a change."""
        rows = self._spread(x, y)
        if change is None:
            return self._split(rows), now + self._jumped(x, y) + rows @ self.fixed
        return self._split(rows), now + rows @ (self.fixed - change.ravel())
