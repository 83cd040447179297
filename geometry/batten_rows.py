"""The rows that every batten over the same glued line shares, whatever its stiffness and its stops."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from geometry.gluing import BENDS, SLOPES, STATIONS, VALUES, Glued, measured
from geometry.motions import FloatArray

#: Stops are looked at every second station.
PLACES = slice(None, None, 2)
COUNT = (STATIONS + 1) // 2
_VALUES, _SLOPES, _BENDS = (np.ascontiguousarray(one[PLACES]) for one in (VALUES, SLOPES, BENDS))
#: The integral over a segment by its places (Boole's rule).
_BOOLE = np.array([7, 32, 12, 32, 7]) / 90
#: How much growing longer or shorter over a stiffness (mm) counts, lying off the old line being 1.
_STRETCH = 5.0


class Rows:
    """What a change of place and direction at the knots does at the places of a glued line.

    Rows are (rows, size) over the unknowns: the changes at inner knots, then the give of the ``giving`` ends.
    ``off`` and ``off_at`` are the distance off the old lines and what it is counted from; ``bare`` is ``around`` the
    old lines themselves.
    """

    def __init__(self, glued: Glued, giving: tuple[int, ...]) -> None:
        self.glued, self.giving = glued, giving
        self.segments, self.knots = len(glued.cubics), int(glued.knots[-1]) + 2
        self.rows, self.whole = self.segments * COUNT, 4 * self.knots
        change = glued.change
        self.values, self.slopes, self.bends = _VALUES @ change, _SLOPES @ change, _BENDS @ change
        first = np.arange(self.rows).reshape(self.segments, COUNT, 1) * self.whole + 4 * glued.knots[:, None, None]
        self.at = (first + np.arange(8)).ravel()
        self.normals = glued.normals[:, PLACES]
        #: (rows,) the old curvature.
        self.curved = glued.curved[:, PLACES].ravel()
        slopes = glued.stations[1][:, PLACES]
        self.speeds = np.hypot(slopes[..., 0], slopes[..., 1])
        self.shares = (self.speeds * _BOOLE).ravel()
        self.ends = [(0, glued.normals[0, 0]), (self.whole - 4, glued.normals[-1, -1])]
        self.fixed = np.zeros(self.whole)
        self.fixed[-4:] = glued.lacking.ravel()
        self.size = self.whole - 8 + len(giving)
        x, y = self.normals[..., :1] * self.values, self.normals[..., 1:] * self.values
        rows = self._spread(x, y)
        self.off = self._split(rows)
        self.off_at = glued.beside[:, PLACES].ravel() + self._jumped(x, y) + rows @ self.fixed

    def _spread(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Rows (rows, whole) from what place and direction at both knots (n, places, 4) do in x and in y."""
        both = np.empty((self.segments, COUNT, 8))
        both[..., ::2], both[..., 1::2] = x, y
        rows = np.zeros(self.rows * self.whole)
        rows[self.at] = both.ravel()
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

    @cached_property
    def pull(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Normal equations of the pull to the old lines, and of what keeps the line from bunching up along itself.

        The latter two count times the square of the stiffness.
        """
        curved = self.curved.reshape(self.segments, COUNT, 1)
        moved, held = self.slopes / self.speeds[..., None], curved * self.values
        # A line that moves square to the old one neither slips along it nor bunches up.
        x = _STRETCH * (self.normals[..., 1:] * moved + self.normals[..., :1] * held)
        y = _STRETCH * (self.normals[..., 1:] * held - self.normals[..., :1] * moved)
        rows = self._spread(x, y)
        along, at = self._split(rows), self._jumped(x, y) + rows @ self.fixed
        pulled = self.off.T * (self.shares * np.repeat(self.glued.sides >= 0, COUNT))
        slack = along.T * self.shares
        return pulled @ self.off, -(pulled @ self.off_at), slack @ along, -(slack @ at)

    @cached_property
    def steps(self) -> FloatArray:
        """(n, places - 1) how far one place is from the next, in mm."""
        points = self.glued.stations[0][:, PLACES]
        chords = points[:, 1:] - points[:, :-1]
        return np.hypot(chords[..., 0], chords[..., 1])

    @cached_property
    def bare(self) -> tuple[FloatArray, FloatArray]:
        return self._around(self.glued.cubics, None)

    def around(self, cubics: FloatArray, change: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """Rows (rows, size) of the curvature around a line after a change, and what it is counted from."""
        return self.bare if change is None else self._around(cubics, change)

    def _around(self, cubics: FloatArray, change: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        slopes, bends = _SLOPES @ cubics, _BENDS @ cubics
        dx, dy, ddx, ddy = slopes[..., 0], slopes[..., 1], bends[..., 0], bends[..., 1]
        square = dx * dx + dy * dy
        cube = square * np.sqrt(square)
        curved = (dx * ddy - dy * ddx) / cube
        thrice = 3 * curved / square
        x = (ddy / cube - thrice * dx)[..., None] * self.slopes - (dy / cube)[..., None] * self.bends
        y = (-ddx / cube - thrice * dy)[..., None] * self.slopes + (dx / cube)[..., None] * self.bends
        return self._counted(x, y, curved.ravel(), change)

    def turning(self, cubics: FloatArray, change: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """As ``around``, of the direction (radians)."""
        slopes = _SLOPES @ cubics
        dx, dy = slopes[..., 0], slopes[..., 1]
        square = dx * dx + dy * dy
        x, y = (-dy / square)[..., None] * self.slopes, (dx / square)[..., None] * self.slopes
        return self._counted(x, y, measured(_VALUES @ cubics, slopes)[1], change)

    def _counted(
        self, x: FloatArray, y: FloatArray, now: FloatArray, change: FloatArray | None
    ) -> tuple[FloatArray, FloatArray]:
        """Rows of the unknowns and what they are counted from, for what is ``now`` after a change."""
        rows = self._spread(x, y)
        if change is None:
            return self._split(rows), now + self._jumped(x, y) + rows @ self.fixed
        return self._split(rows), now + rows @ (self.fixed - change.ravel())

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
        local = np.concatenate([change[glued.knots] + glued.shifts, change[glued.knots + 1]], axis=1)
        cubics: FloatArray = glued.cubics + glued.change @ local
        cubics[1:, 0] = cubics[:-1, 3]
        cubics[0, 0], cubics[-1, 3] = glued.start, glued.end
        return cubics

    def greatest_turn(self, change: FloatArray) -> float:
        """The greatest change of direction at a knot, on either side of a jog (as a change of the unit tangent)."""
        turned = np.concatenate([change[:, 1], change[self.glued.knots, 1] + self.glued.shifts[:, 1]])
        return float(np.hypot(turned[:, 0], turned[:, 1]).max())

    @cached_property
    def gives(self) -> FloatArray:
        """Rows of the stops on the ends' giving, to one side and to the other."""
        count = len(self.giving)
        rows = np.zeros((2 * count, self.size))
        for index in range(count):
            column = self.size - count + index
            rows[index, column], rows[count + index, column] = 1.0, -1.0
        return rows


class SharedRows:
    """The rows of one glued line, made once for each way its ends may give."""

    def __init__(self, glued: Glued) -> None:
        self.glued = glued
        self._made: dict[tuple[int, ...], Rows] = {}

    def rows(self, giving: tuple[int, ...]) -> Rows:
        if giving not in self._made:
            self._made[giving] = Rows(self.glued, giving)
        return self._made[giving]
