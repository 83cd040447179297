"""The rows that every batten over the same glued line shares, whatever its stiffness and its stops."""

from __future__ import annotations

import numpy as np

from geometry.gluing import BENDS, SLOPES, STATIONS, VALUES, Glued, directions
from geometry.kept import kept_property
from geometry.motions import FloatArray

#: Stops are looked at every second station.
PLACES = slice(None, None, 2)
COUNT = (STATIONS + 1) // 2
_SLOPES_BENDS = np.concatenate([SLOPES[PLACES], BENDS[PLACES]])
_ALL = np.concatenate([VALUES[PLACES], _SLOPES_BENDS])
#: The integral over a segment by its places (Boole's rule).
_BOOLE = np.array([7, 32, 12, 32, 7]) / 90
#: How much growing longer or shorter over a stiffness (mm) counts, lying off the old line being 1.
_STRETCH = 5.0


def at_places(values: FloatArray) -> FloatArray:
    """Of values at the stations (n * STATIONS,) or (n, STATIONS) those at the places where stops are looked at."""
    places: FloatArray = values.reshape(-1, STATIONS)[:, PLACES].ravel()
    return places


class Rows:
    """What a change of place and direction at the knots does at the places of a glued line.

    The unknowns are the changes at inner knots, then the give of the ``giving`` ends. ``off`` (rows, size) and
    ``off_at`` (rows,) are the distance off the old lines and what it is counted from; ``bare`` is ``around`` the old
    lines themselves.
    """

    def __init__(self, glued: Glued, giving: tuple[int, ...]) -> None:
        self.glued, self.giving = glued, giving
        self.segments, self.knots = len(glued.cubics), int(glued.knots[-1]) + 2
        self.rows, self.whole = self.segments * COUNT, 4 * self.knots
        self.size = self.whole - 8 + len(giving)
        everything = _ALL @ glued.change
        self.values, self.slopes, self.bends = (everything[:, i : i + COUNT, :, None] for i in (0, COUNT, 2 * COUNT))
        first = np.arange(self.rows).reshape(self.segments, COUNT, 1) * self.whole + 4 * glued.knots[:, None, None]
        self.at = first + _EIGHT
        self.both_knots = glued.knots[:, None] + _TWO
        self.jumps = glued.shifts.reshape(self.segments, 4, 1)
        self.normals = glued.normals[:, PLACES, None]
        #: (rows,) the old curvature.
        self.curved = glued.curved[:, PLACES].ravel()
        slopes = glued.stations[1][:, PLACES]
        self.speeds = np.hypot(slopes[..., 0], slopes[..., 1])
        self.shares = (self.speeds * _BOOLE).ravel()
        self.ends = [(0, glued.normals[0, 0]), (self.whole - 4, glued.normals[-1, -1])]
        self.fixed = np.zeros(self.whole)
        self.fixed[-4:] = glued.lacking.ravel()
        self.off, self.off_at = self._counted(self.normals * self.values, glued.beside[:, PLACES].ravel(), None)

    def _counted(self, both: FloatArray, now: FloatArray, change: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """Rows (rows, size) of the unknowns and (rows,) what they are counted from, for what is ``now`` after a change.

        ``both`` (n, places, 4, 2) is what place and direction at both knots of a segment do, in x and in y.
        """
        both = both.reshape(self.segments, COUNT, 8)
        flat = np.zeros(self.rows * self.whole)
        flat[self.at] = both
        rows = flat.reshape(self.rows, self.whole)
        if change is None:
            at = now + (both[:, :, :4] @ self.jumps).ravel() + rows[:, -4:] @ self.fixed[-4:]
        else:
            at = now + rows @ (self.fixed - change.ravel())
        if not self.giving:
            return rows[:, 4:-4], at
        turned = [rows[:, self.ends[i][0] + 2 : self.ends[i][0] + 4] @ self.ends[i][1] for i in self.giving]
        return np.concatenate([rows[:, 4:-4], np.array(turned).T], axis=1), at

    @kept_property
    def pull(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Normal equations of the pull to the old lines, and of what keeps the line from bunching up along itself.

        The latter two count times the square of the stiffness.
        """
        moved = self.slopes / self.speeds[..., None, None]
        held = self.curved.reshape(self.segments, COUNT, 1, 1) * self.values
        # A line that moves square to the old one neither slips along it nor bunches up.
        both = self.normals * held
        both[..., 0] += self.normals[..., 1] * moved[..., 0]
        both[..., 1] -= self.normals[..., 0] * moved[..., 0]
        both *= _STRETCH
        along, at = self._counted(both, self._nothing, None)
        known = (self.glued.sides >= 0)[:, None]
        pulled = self.off.T * (self.shares.reshape(-1, COUNT) * known).ravel()
        slack = along.T * self.shares
        return pulled @ self.off, -(pulled @ self.off_at), slack @ along, -(slack @ at)

    @kept_property
    def _nothing(self) -> FloatArray:
        return np.zeros(self.rows)

    @kept_property
    def steps(self) -> FloatArray:
        """(n, places - 1) how far one place is from the next, in mm."""
        points = self.glued.stations[0][:, PLACES]
        chords = points[:, 1:] - points[:, :-1]
        return np.hypot(chords[..., 0], chords[..., 1])

    @kept_property
    def bare(self) -> tuple[FloatArray, FloatArray]:
        return self._around(self.glued.cubics, None)

    def around(self, cubics: FloatArray, change: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """Rows (rows, size) of the curvature around a line after a change, and what it is counted from."""
        return self.bare if change is None else self._around(cubics, change)

    def _around(self, cubics: FloatArray, change: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        # Points of the plane as complex numbers: what turns is the imaginary part.
        both = (_SLOPES_BENDS @ cubics).view(np.complex128)[..., 0]
        slopes, bends = both[:, :COUNT], both[:, COUNT:]
        back = slopes.conj()
        square = (back * slopes).real
        over = 1 / (square * np.sqrt(square))
        curved = (back * bends).imag * over
        across = 1j * over
        bends_do = across * slopes
        slopes_do = -across * bends
        slopes_do -= (3 * curved / square) * slopes
        do = slopes_do.view(np.float64).reshape(self.segments, COUNT, 1, 2) * self.slopes
        do += bends_do.view(np.float64).reshape(self.segments, COUNT, 1, 2) * self.bends
        return self._counted(do, curved.ravel(), change)

    def turning(self, cubics: FloatArray, change: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """As ``around``, of the direction (radians)."""
        slopes = SLOPES[PLACES] @ cubics
        dx, dy = slopes[..., 0], slopes[..., 1]
        square = dx * dx + dy * dy
        turns = np.empty_like(slopes)
        turns[..., 0], turns[..., 1] = -dy / square, dx / square
        return self._counted(turns[:, :, None] * self.slopes, directions(slopes), change)

    def change(self, z: FloatArray) -> FloatArray:
        """(knots, 2, 2) change of place and direction at every knot, from the unknowns."""
        whole = self.fixed.copy()
        whole[4:-4] = z[: self.whole - 8]
        for turned, end in zip(z[self.whole - 8 :], self.giving, strict=True):
            column, normal = self.ends[end]
            whole[column + 2 : column + 4] += turned * normal
        return whole.reshape(self.knots, 2, 2)

    def cubics(self, change: FloatArray) -> FloatArray:
        """(n, 4, 2) the line after a change."""
        glued = self.glued
        local = change[self.both_knots]
        local[:, 0] += glued.shifts
        cubics: FloatArray = glued.cubics + glued.change @ local.reshape(self.segments, 4, 2)
        cubics[1:, 0] = cubics[:-1, 3]
        cubics[0, 0], cubics[-1, 3] = glued.start, glued.end
        return cubics

    def greatest_turn(self, change: FloatArray) -> float:
        """The greatest change of direction at a knot, on either side of a jog (as a change of the unit tangent)."""
        turned = np.concatenate([change[:, 1], change[self.glued.knots, 1] + self.glued.shifts[:, 1]])
        return float(np.maximum.reduce(np.hypot(turned[:, 0], turned[:, 1])))

    @kept_property
    def gives(self) -> FloatArray:
        """(giving, size) rows of the ends' giving."""
        count = len(self.giving)
        rows = np.zeros((count, self.size))
        rows[np.arange(count), np.arange(self.size - count, self.size)] = 1.0
        return rows


_EIGHT, _TWO = np.arange(8), np.arange(2)


class SharedRows:
    """The rows of one glued line, made once for each way its ends may give."""

    def __init__(self, glued: Glued) -> None:
        self.glued = glued
        self._made: dict[tuple[int, ...], Rows] = {}

    def rows(self, giving: tuple[int, ...]) -> Rows:
        if giving not in self._made:
            self._made[giving] = Rows(self.glued, giving)
        return self._made[giving]
