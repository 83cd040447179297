"""The free paper inside a piece, kept as a grid of square cells that lines and words take up."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.lines import Chain
from geometry.motions import FloatArray, Point

#: Cells are so wide and high (mm), and on pieces no wider than NARROW_MM, which have no room to waste.
CELL_MM, SMALL_CELL_MM = 2.5, 1.25
NARROW_MM = 90.0
#: Words keep this far from every line and from each other (mm).
CLEAR_MM = 1.2
FIRST_FEW = 4


class Room:
    """The free paper inside a closed line, in square ``cell``s (mm); words and lines take it up.

    There are two ways to ask for it: 0, clear of the ``joins`` between pages as well, and 1, across them.
    """

    def __init__(self, outline: Chain, lines: Sequence[Chain], joins: Sequence[Chain] = ()) -> None:
        self.cell = SMALL_CELL_MM if _width(outline) < NARROW_MM else CELL_MM
        edge = sampled(outline.cubics, self.cell)
        self._low = edge.min(axis=0) - self.cell
        columns, rows = np.ceil((edge.max(axis=0) - self._low) / self.cell).astype(int) + 2
        self._last = np.array([columns - 1, rows - 1])
        corners = (edge - self._low) / self.cell
        self._free = filled(corners, np.roll(corners, -1, axis=0), int(rows), int(columns))[None]
        self._words = np.zeros(self._free.shape[1:], dtype=bool)
        self._take(self._cells(edge))
        if lines:
            self._take(self._cells(sampled(np.concatenate([line.cubics for line in lines]), self.cell)))
        if joins:
            self._free = np.repeat(self._free, 2, axis=0)
            cells = self._cells(sampled(np.concatenate([line.cubics for line in joins]), self.cell))
            self._free[0, cells[..., 1], cells[..., 0]] = False

    @property
    def ways(self) -> range:
        """The ways to ask for paper, in the order in which they are to be tried."""
        return range(len(self._free))

    def first_free(
        self, centres: FloatArray, angles: FloatArray, width: float, height: float, way: int = 0,
        leads: FloatArray | None = None,
    ) -> int | None:
        """Which of k boxes first lies on free paper, CLEAR_MM all round; its paper is then taken.

        ``centres`` (k, 2) mm, ``angles`` (k,) radians, box sizes in mm; ``leads`` (k, 2, 2) mm are lines that must meet
        no words. The first few are tried before the rest.
        """
        for start, stop in ((0, FIRST_FEW), (FIRST_FEW, len(centres))):
            cells = self._cells(_spread(centres[start:stop], angles[start:stop], width, height, self.cell))
            free = self._free[way][cells[..., 1], cells[..., 0]].all(axis=1)
            if leads is not None and free.any():
                free &= self._meets_no_words(leads[start:stop])
            if free.any():
                best = int(np.argmax(free))
                self._take(cells[best], words=True)
                return start + best
        return None

    def take(self, centre: Point, width: float, height: float) -> None:
        """Take up an upright box (mm) for words."""
        self._take(self._cells(_spread(np.array([centre]), np.zeros(1), width, height, self.cell)), words=True)

    def take_line(self, line: Chain) -> None:
        """Take up the paper of a line."""
        self._take(self._cells(sampled(line.cubics, self.cell)))

    def centre_for(self, width: float, height: float, near: Point, way: int = 0) -> Point | None:
        """The centre nearest to ``near`` of a free upright box (mm), or None."""
        wide, high = math.ceil(width / self.cell) + 1, math.ceil(height / self.cell) + 1
        rows, columns = self._free[way].shape
        if wide > columns or high > rows:
            return None
        sums = np.zeros((rows + 1, columns + 1), dtype=np.int32)
        sums[1:, 1:] = self._free[way].cumsum(axis=0, dtype=np.int32).cumsum(axis=1)
        inside = sums[high:, wide:] - sums[:-high, wide:] - sums[high:, :-wide] + sums[:-high, :-wide]
        found_row, found_column = np.nonzero(inside == wide * high)
        if not len(found_row):
            return None
        x = self._low[0] + (found_column + wide / 2) * self.cell
        y = self._low[1] + (found_row + high / 2) * self.cell
        best = int(np.argmin((x - near[0]) ** 2 + (y - near[1]) ** 2))
        return (float(x[best]), float(y[best]))

    def _cells(self, points: FloatArray) -> NDArray[np.intp]:
        """(..., 2) column and row; the outermost cells, never free, stand for all beyond."""
        cells = ((points - self._low) / self.cell).astype(np.intp)
        clipped: NDArray[np.intp] = np.minimum(np.maximum(cells, 0), self._last)
        return clipped

    def _meets_no_words(self, leads: FloatArray) -> NDArray[np.bool_]:
        """(k,) whether each line from end to end lies on paper that no words take up."""
        size = float(np.hypot(*(leads[:, 1] - leads[:, 0]).T).max())
        along = np.linspace(0.0, 1.0, math.ceil(2 * size / self.cell) + 2)[:, None]
        cells = self._cells(leads[:, :1] + along * (leads[:, 1:] - leads[:, :1]))
        return np.asarray(~self._words[cells[..., 1], cells[..., 0]].any(axis=1))

    def _take(self, cells: NDArray[np.intp], *, words: bool = False) -> None:
        self._free[:, cells[..., 1], cells[..., 0]] = False
        if words:
            self._words[cells[..., 1], cells[..., 0]] = True


def together(cubics: FloatArray) -> Chain:
    """Cubics (n, 4, 2) that need not meet, to be evaluated at once."""
    return Chain(cubics, np.zeros(len(cubics), dtype=bool))


def _width(outline: Chain) -> float:
    """How wide a piece is, roughly (mm): its area over the length of its box's longer side."""
    points = outline.flat[0]
    x, y = points.T
    area = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2
    return area / max(float(np.ptp(points, axis=0).max()), 1e-9)


def _spread(centres: FloatArray, angles: FloatArray, width: float, height: float, cell: float) -> FloatArray:
    """(k, m, 2) points less than a cell apart over k boxes with CLEAR_MM all round."""
    wide, high = width / 2 + CLEAR_MM, height / 2 + CLEAR_MM
    across = np.arange(-1, 1.0001, 2 / math.ceil(3 * wide / cell)) * wide
    up = np.arange(-1, 1.0001, 2 / math.ceil(3 * high / cell)) * high
    cos, sin = np.cos(angles)[:, None, None], np.sin(angles)[:, None, None]
    spread = np.empty((len(centres), len(across), len(up), 2))
    spread[..., 0] = cos * across[:, None] - sin * up + centres[:, :1, None]
    spread[..., 1] = sin * across[:, None] + cos * up + centres[:, 1:, None]
    return spread.reshape(len(centres), -1, 2)


def sampled(cubics: FloatArray, cell: float) -> FloatArray:
    """Points (m, 2) less than a cell apart along cubics (n, 4, 2) that need not meet."""
    sizes = np.linalg.norm(np.diff(cubics, axis=1), axis=2).sum(axis=1)
    counts = np.ceil(sizes / (cell / 1.5)).astype(int) + 1
    index = np.repeat(np.arange(len(cubics)), counts)
    t = (np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)) / np.maximum(counts[index] - 1, 1)
    return together(cubics).points(np.minimum(index + t, index + 1 - 1e-9))


def filled(edge: FloatArray, following: FloatArray, rows: int, columns: int) -> NDArray[np.bool_]:
    """Cells (rows, columns) whose middle lies inside closed lines, by the even-odd rule.

    Their sides run from points (m, 2) to the ``following`` ones, in cells.
    """
    low = np.ceil(np.minimum(edge[:, 1], following[:, 1]) - 0.5).astype(int).clip(0, rows)
    high = np.ceil(np.maximum(edge[:, 1], following[:, 1]) - 0.5).astype(int).clip(0, rows)
    counts = high - low
    index = np.repeat(np.arange(len(edge)), counts)
    row = low[index] + np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)
    rise = following[index, 1] - edge[index, 1]
    x = edge[index, 0] + (row + 0.5 - edge[index, 1]) / rise * (following[index, 0] - edge[index, 0])
    column = np.clip(np.ceil(x - 0.5).astype(int), 0, columns)
    toggles = np.bincount(row * (columns + 1) + column, minlength=rows * (columns + 1)).astype(np.int16)
    inside: NDArray[np.bool_] = (toggles.reshape(rows, -1).cumsum(axis=1)[:, :columns] & 1).astype(bool)
    return inside
