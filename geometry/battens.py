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

import numpy as np
from numpy.typing import NDArray

from geometry.batten_rows import COUNT, Rows, SharedRows
from geometry.beziers import unit_tangent, weights
from geometry.gluing import Glued, at_stations, measured
from geometry.kept import kept_property
from geometry.motions import FloatArray, Point

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
#: To one side and to the other.
_BOTH = np.array([[1.0], [-1.0]])
#: A stop begins to press at this share of what its weight would give way to a pull of 1.
_TOUCHED = 0.1

#: Where a batten lies off by this share of the furthest at a station, it is read at so many places a segment.
_FAR, _MANY = 0.8, 33
_CLOSE = np.concatenate(weights(np.linspace(0.0, 1.0, _MANY)))


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
    """A batten as it lies: cubics (n, 4, 2) mm; ``closed`` is False where no line was found."""

    glued: Glued
    cubics: FloatArray
    closed: bool

    @property
    def points(self) -> FloatArray:
        """Points (n * STATIONS, 2) at the stations."""
        return self._stations[0].reshape(-1, 2)

    @kept_property
    def _stations(self) -> tuple[FloatArray, FloatArray]:
        return at_stations(self.cubics)

    @kept_property
    def measured(self) -> tuple[FloatArray, FloatArray]:
        return measured(*self._stations)

    @property
    def lengths(self) -> FloatArray:
        """(n * STATIONS,) mm along the batten."""
        return self.measured[0]

    @property
    def angles(self) -> FloatArray:
        """(n * STATIONS,) radians, its direction."""
        return self.measured[1]

    @kept_property
    def ways(self) -> tuple[Point, Point]:
        """The unit directions at its start and at its end."""
        return unit_tangent(self.cubics[0].ravel().tolist(), 0.0), unit_tangent(self.cubics[-1].ravel().tolist(), 1.0)

    @kept_property
    def off(self) -> FloatArray:
        """(n * STATIONS,) how far the batten lies to the left of the old line in mm."""
        glued = self.glued
        away = self._stations[0] - glued.stations[0]
        x, y, nx, ny = away[..., 0], away[..., 1], glued.normals[..., 0], glued.normals[..., 1]
        slipped = x * ny - y * nx
        off: FloatArray = x * nx + y * ny + glued.beside
        off -= glued.curved * slipped * slipped / 2
        return off.ravel()

    @kept_property
    def furthest_off(self) -> float:
        return float(np.maximum.reduce(np.abs(self.off)))

    @kept_property
    def closely_off(self) -> float:
        """As ``furthest_off``, read closer together where it lies far off; in a gap no line tells it, so it is inf."""
        glued, away = self.glued, np.maximum.reduce(np.abs(self.off).reshape(len(self.cubics), -1), axis=1)
        far = (away >= _FAR * np.maximum.reduce(away)).nonzero()[0]
        if np.minimum.reduce(glued.sides[far]) < 0:
            return math.inf
        old = _CLOSE @ glued.cubics[far]
        places, slopes, bends = old[:, :_MANY], old[:, _MANY : 2 * _MANY], old[:, 2 * _MANY :]
        away = _CLOSE[:_MANY] @ self.cubics[far] - places
        x, y, dx, dy = away[..., 0], away[..., 1], slopes[..., 0], slopes[..., 1]
        square = dx * dx + dy * dy
        slipped, curved = x * dx + y * dy, (dx * bends[..., 1] - dy * bends[..., 0]) / square
        off = y * dx - x * dy - curved * slipped * slipped / (2 * square)
        return float(np.maximum.reduce(np.abs(off) / np.sqrt(square), axis=None))


def lay(
    glued: Glued, stiffness: float, stops: Stops, *, even_out: float = 0.0, shared: SharedRows | None = None
) -> Laid:
    """The batten of a ``stiffness`` (a length in mm: about how far a jog makes itself felt) held by stops.

    ``even_out`` 0..1 says how far a step of curvature at a jog is evened out. ``shared`` holds what other battens over
    the same line have in common with it.
    """
    giving = tuple(end for end, give in enumerate(stops.give) if give > 0.0)
    rows = (shared or SharedRows(glued)).rows(giving)
    return _Batten(rows, stiffness, stops, even_out).lay()


class Evening:
    """What a batten strives for: an even change of curvature, little way off the old lines, no slipping along them."""

    def __init__(self, rows: Rows, stiffness: float, even_out: float) -> None:
        self.rows, self.stiffness = rows, stiffness
        #: The curvature is evened out by how much it steps at each jog.
        self.steps = np.zeros(rows.rows - 1)
        self.steps[COUNT - 1 :: COUNT] = rows.glued.jumps[1:] * -even_out
        self.normal, self.right = self._pull()

    def _pull(self) -> tuple[FloatArray, FloatArray]:
        rows, square = self.rows, self.stiffness**2
        pulled, pulled_at, slack, slack_at = rows.pull
        normal, right = pulled + square * slack, pulled_at + square * slack_at
        for column in range(rows.size - len(rows.giving), rows.size):
            normal[column, column] += 9.0 * self.stiffness**3
        return normal, right

    def wanted(self, bent: FloatArray, bent_at: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The normal equations, where the curvature follows from the unknowns by these rows (``Rows.around``)."""
        count = len(bent)
        spread, target = np.empty((count + 1, self.rows.size)), np.empty(count + 1)
        wanted = self.rows.curved - bent_at
        spread[0], spread[-1], target[0], target[-1] = bent[0], bent[-1], wanted[0], wanted[-1]
        np.subtract(bent[1:], bent[:-1], out=spread[1:-1])
        np.subtract(wanted[1:], wanted[:-1], out=target[1:-1])
        target[1:-1] += self.steps
        pulled = spread.T * self._stiff
        return self.normal + pulled @ spread, self.right + pulled @ target

    @kept_property
    def _stiff(self) -> FloatArray:
        """Weights of the added curvature at the first place, of its steps from place to place, and at the last."""
        rows = self.rows
        steps = np.empty((rows.segments, COUNT))
        # On a speck of a segment curvature is known too poorly to be held even.
        np.maximum(rows.steps, _SPECK * self.stiffness, out=steps[:, 1:])
        steps[:, 0] = _STEP_OVER * self.stiffness
        weights = np.empty(rows.rows + 1)
        weights[0] = weights[-1] = self.stiffness**5
        np.divide(self.stiffness**6, steps.ravel()[1:], out=weights[1:-1])
        return weights


class _Batten(Evening):
    """One solve: unknowns are the changes at inner knots, and the give of both ends where they may turn."""

    def __init__(self, rows: Rows, stiffness: float, stops: Stops, even_out: float) -> None:
        super().__init__(rows, stiffness, even_out)
        self.stops = stops
        self.weights, self.limits = self._stops()
        self.touched = _TOUCHED / np.sqrt(self.weights)
        self.whole, self.at = self._counted()

    def _stops(self) -> tuple[FloatArray, FloatArray]:
        """Weights (squared) and limits (2, k) of the stops to one side, then to the other.

        Each side: curvature, left of the old line, the ends' giving, turns (which have but one side).
        """
        stops, stiffness, shares, giving = self.stops, self.stiffness, self.rows.shares, self.rows.giving
        count, turned = self.rows.rows, len(giving) + len(stops.turns)
        weights, limits = np.empty((2, 2 * count + turned)), np.empty((2, 2 * count + turned))
        weights[:, :count] = (60.0 * stops.firmness * stiffness**2) ** 2 * shares
        weights[:, count : 2 * count] = (50.0 * stops.firmness) ** 2 * shares
        limits[0, :count], limits[0, count : 2 * count] = stops.most, stops.left
        np.negative(stops.least, out=limits[1, :count])
        np.negative(stops.right, out=limits[1, count : 2 * count])
        if turned:
            weights[:, 2 * count :] = 400.0**2 * stiffness**3
            give = [stops.give[end] for end in giving]
            turns = [-least for _, _, _, least in stops.turns]
            limits[:, 2 * count :] = [*give, *turns], [*give, *([math.inf] * len(turns))]
        return weights, limits

    def _counted(self) -> tuple[FloatArray, FloatArray]:
        """Rows (2, k, size) of what the stops look at, and the negative; (k,) what it is counted from.

        Curvature and turns are written in round by round.
        """
        rows, most = self.rows, self.weights.shape[1]
        first, last = rows.rows, 2 * rows.rows
        whole, at = np.zeros((2, most, rows.size)), np.zeros(most)
        whole[0, first:last], at[first:last] = rows.off, rows.off_at
        whole[0, last : last + len(rows.giving)] = rows.gives
        return whole, at

    def lay(self) -> Laid:
        """Linear around the old lines, then around what came of it."""
        rows = self.rows
        active = np.zeros(self.weights.shape, dtype=bool)
        z, change, moved = np.zeros(rows.size), None, math.inf
        off = np.zeros(rows.rows)
        for number in range(_MOST_ROUNDS):
            try:
                new, new_off, active = self._nearer(change, active)
            except np.linalg.LinAlgError:
                break
            moved = float(np.maximum.reduce(np.abs(new_off - off)))
            # Where stops are at odds with each other a whole step may lead to and fro.
            whole = number < _WHOLE_ROUNDS
            z, off = (new, new_off) if whole else ((z + new) / 2, (off + new_off) / 2)
            change = rows.change(z)
            # Where nothing stops it, what is left out the first time goes with the square of the turning.
            left = moved
            if not number and not np.logical_or.reduce(active, axis=None):
                left *= rows.greatest_turn(change) ** 2 * _LEFT_OUT
            if not moved < _LOST_MM or left <= _SETTLED_MM:
                break
        cubics = rows.cubics(rows.change(z) if change is None else change)
        return Laid(rows.glued, cubics, moved < _LOST_MM)

    def _nearer(
        self, change: FloatArray | None, active: NDArray[np.bool_]
    ) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
        """The batten that is linear around a change of the old lines: unknowns, way off, and the stops that press."""
        rows = self.rows
        cubics = rows.glued.cubics if change is None else rows.cubics(change)
        bent, bent_at = rows.around(cubics, change)
        normal, right = self.wanted(bent, bent_at)
        count, (one, other) = len(bent), self.whole
        one[:count], self.at[:count] = bent, bent_at
        if self.stops.turns:
            turns = slice(-len(self.stops.turns), None)
            one[turns], self.at[turns] = self._turning(cubics, change)
        np.negative(one, out=other)
        both = self.whole.reshape(-1, rows.size)
        limits = self.limits - _BOTH * self.at
        # A stop that is only just touched is none, or rounding would tell a line from its mirror image.
        touched = limits + self.touched
        passed = np.empty_like(active)
        for _ in range(_STOP_ROUNDS):
            system, known, most = normal, right, touched
            pressing = active.ravel().nonzero()[0]
            if len(pressing):
                mine, held = both.take(pressing, axis=0), limits.take(pressing)
                hard = mine.T * self.weights.take(pressing)
                system, known = normal + hard @ mine, right + hard @ held
                most = np.where(active, limits, touched)
            z = np.asarray(np.linalg.solve(system, known), dtype=np.float64)
            reached: FloatArray = one @ z
            np.greater(_BOTH * reached, most, out=passed)
            if passed.tobytes() == active.tobytes():
                break
            active = passed.copy()
        return z, reached[count : 2 * count], active

    def _turning(self, cubics: FloatArray, change: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """Rows of the stops on turning, and what they are counted from."""
        stops = self.stops.turns
        ways, ways_at = self.rows.turning(cubics, change)
        senses = np.array([sense for _, _, sense, _ in stops])
        first, last = [turn[0] for turn in stops], [turn[1] for turn in stops]
        return (ways[first] - ways[last]) * senses[:, None], (ways_at[first] - ways_at[last]) * senses
