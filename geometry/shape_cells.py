"""A piece's true shape on the cells of a sheet: where it lies free of others, and which pages it touches from there.

Free places are found by correlation of what is taken with the shape (Fourier transform), pages touched from sums over
the shape. y runs down from the sheet's top here, as rows of pages do.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.motions import FloatArray, Motion
from geometry.paper_room import filled
from geometry.sheets import APART_MM, LINE_MM, SheetSettings

#: Cells are about so wide and high (mm), a whole number of them to a page.
CELL_MM = 5.0
#: From a join, and from the sheet's edge, to a piece laid against it (mm).
INSET_MM = 1.0


@dataclass(frozen=True)
class Grid:
    """Cells on a sheet of ``columns`` by ``rows`` pages; joins run between cells."""

    settings: SheetSettings
    columns: int
    rows: int

    @cached_property
    def per_page(self) -> tuple[int, int]:
        dx, dy = self.settings.step
        return (max(1, round(dx / CELL_MM)), max(1, round(dy / CELL_MM)))

    @cached_property
    def cell(self) -> tuple[float, float]:
        (dx, dy), (nx, ny) = self.settings.step, self.per_page
        return (dx / nx, dy / ny)

    @cached_property
    def size(self) -> tuple[int, int]:
        """Cells across and down, one more on every side for what the outermost pages have beyond the last join."""
        (nx, ny) = self.per_page
        return (self.columns * nx + 4, self.rows * ny + 4)

    @cached_property
    def padded(self) -> tuple[int, int]:
        """Cells down and across with which Fourier transforms are quick."""
        return (_quick(self.size[1]), _quick(self.size[0]))

    @cached_property
    def sheet(self) -> tuple[float, float]:
        return self.settings.size_of(self.columns, self.rows)

    def start(self, axis: int) -> float:
        """Where the first cell begins (mm from the sheet's left, or top)."""
        return self.settings.overlap_mm / 2 - 2 * self.cell[axis]


class ShapeCells:
    """A shape turned. ``shape`` is all that is drawn of a piece, in its own frame, y up."""

    def __init__(self, shape: shapely.Geometry, turn: Motion, grid: Grid) -> None:
        self.turn = turn
        turned = shapely.transform(shape, turn.points)
        x0, y0, x1, y1 = (float(value) for value in shapely.bounds(turned))
        self.corner = (x0, y1)
        self.size = (x1 - x0, y1 - y0)
        # From the box's upper left corner, y down.
        self._shape = shapely.transform(turned, lambda p: np.stack([p[:, 0] - x0, y1 - p[:, 1]], axis=1))
        self._grid = grid
        half_cell = math.hypot(*grid.cell) / 2
        self._touches = shapely.buffer(self._shape, half_cell, quad_segs=4)
        self._keeps = shapely.buffer(self._shape, half_cell + APART_MM, quad_segs=4)
        shapely.prepare(self._touches)
        shapely.prepare(self._keeps)
        self._spectra: dict[tuple[float, float], NDArray[np.complex128]] = {}
        self._patterns: dict[tuple[float, float], FloatArray] = {}

    @property
    def is_quarter(self) -> bool:
        """Whether it is turned by quarters."""
        return min(abs(self.turn.a), abs(self.turn.b)) < 1e-12

    def offsets(self) -> list[tuple[float, float]]:
        """How far from a cell's corner its own upper left corner may stand (mm): just after a join that runs there, or
        so that it ends just before one, across and down."""
        ways = []
        for axis in (0, 1):
            cell = self._grid.cell[axis]
            before = (-(self.size[axis] + INSET_MM)) % cell
            ways.append(sorted({INSET_MM, round(before, 6)}))
        return [(x, y) for y in ways[1] for x in ways[0]]

    def places(self, offset: tuple[float, float]) -> tuple[FloatArray, FloatArray]:
        """Where its upper left corner may stand on the sheet, across and down (mm), at an offset from the cells."""
        found = []
        for axis in (0, 1):
            at = self._grid.start(axis) + offset[axis] + np.arange(self._grid.size[axis]) * self._grid.cell[axis]
            inside = (at >= INSET_MM - 1e-9) & (at + self.size[axis] <= self._grid.sheet[axis] - INSET_MM + 1e-9)
            found.append(np.where(inside, at, np.nan))
        return found[0], found[1]

    def free(self, taken: NDArray[np.complex128], offset: tuple[float, float]) -> NDArray[np.bool_]:
        """(down, across) whether each place is free; ``taken`` is the spectrum of the cells that are taken."""
        if offset not in self._spectra:
            cells = self._cells(self._touches, offset, 0)
            padded = np.zeros(self._grid.padded)
            rows, columns = (min(cells.shape[k], padded.shape[k]) for k in (0, 1))
            padded[:rows, :columns] = cells[:rows, :columns]
            self._spectra[offset] = np.conj(np.fft.rfft2(padded))
        wide, high = self._grid.size
        met = np.fft.irfft2(taken * self._spectra[offset], s=self._grid.padded)
        return np.asarray(met[:high, :wide] < 0.5)

    def take(self, taken: FloatArray, x: float, y: float) -> None:
        """Count the cells that it keeps clear when its upper left corner stands at (x, y)."""
        grid = self._grid
        across, down = (x - grid.start(0)) / grid.cell[0], (y - grid.start(1)) / grid.cell[1]
        left, top = math.floor(across), math.floor(down)
        around = math.ceil((APART_MM + CELL_MM) / min(grid.cell)) + 1
        offset = ((across - left) * grid.cell[0], (down - top) * grid.cell[1])
        part = self._cells(self._keeps, offset, around)
        left, top = left - around, top - around
        part = part[max(0, -top) :, max(0, -left) :]
        left, top = max(0, left), max(0, top)
        high, wide = min(part.shape[0], taken.shape[0] - top), min(part.shape[1], taken.shape[1] - left)
        taken[top : top + high, left : left + wide] += part[:high, :wide]

    def _cells(self, grown: shapely.Geometry, offset: tuple[float, float], around: int) -> NDArray[np.bool_]:
        """Cells whose middle lies in a grown shape that stands at an offset in the first cell, some more all round."""
        xs, ys = (
            (np.arange(-around, math.ceil((self.size[k] + offset[k]) / self._grid.cell[k]) + around) + 0.5)
            * self._grid.cell[k] - offset[k]
            for k in (0, 1)
        )
        grid_x, grid_y = np.meshgrid(xs, ys)
        return np.asarray(shapely.contains_xy(grown, grid_x, grid_y))

    def fresh(self, used: NDArray[np.bool_], offset: tuple[float, float]) -> NDArray[np.intp]:
        """(down, across) how many pages (rows, columns) that are not used yet it touches from each place."""
        pages = self._pages(offset)
        high, wide = pages.shape[2:]
        # What hangs over the outermost joins is still on the outermost pages, which it touches in any case.
        unused = np.zeros((used.shape[0] + high + 2, used.shape[1] + wide + 2))
        unused[1 : used.shape[0] + 1, 1 : used.shape[1] + 1] = ~used
        windows = np.lib.stride_tricks.sliding_window_view(unused, (high, wide))
        found = np.tensordot(pages, windows, axes=([2, 3], [2, 3]))
        # Cells down and across in order, from the last two of the page before the first.
        ordered = found.astype(np.intp).transpose(2, 0, 3, 1).reshape(found.shape[2] * found.shape[0], -1)
        (nx, ny), (wide, high) = self._grid.per_page, self._grid.size
        return ordered[ny - 2 : ny - 2 + high, nx - 2 : nx - 2 + wide]

    def _pages(self, offset: tuple[float, float]) -> FloatArray:
        """(cells down a page, cells across, pages down, pages across): 1 where it touches a page, from each cell."""
        if offset not in self._patterns:
            cells: list[FloatArray] = [
                offset[k] + np.arange(self._grid.per_page[k], dtype=float) * self._grid.cell[k] for k in (0, 1)
            ]
            counts = [math.ceil((self.size[k] + LINE_MM) / self._grid.settings.step[k]) + 1 for k in (0, 1)]
            found = self._touched(cells[0], cells[1], counts[0], counts[1], 0.0)
            self._patterns[offset] = found.astype(float)
        return self._patterns[offset]

    def use(self, used: NDArray[np.bool_], x: float, y: float) -> None:
        """Mark the pages that it touches with its upper left corner at (x, y)."""
        half = self._grid.settings.overlap_mm / 2
        used |= self._touched(np.array([x]), np.array([y]), self._grid.columns, self._grid.rows, half, ends=True)[0, 0]

    def _touched(
        self, xs: FloatArray, ys: FloatArray, columns: int, rows: int, first: float, *, ends: bool = False
    ) -> NDArray[np.bool_]:
        """(ys, xs, rows, columns) whether it touches pages whose own parts begin at ``first``; with ``ends`` the first
        and the last page have all that lies beyond them."""
        sums = self._sums
        bounds = []
        for axis, at, pages in ((1, ys, rows), (0, xs, columns)):
            cuts = first + np.arange(pages + 1) * self._grid.settings.step[axis] - at[:, None]
            if ends:
                cuts[:, 0], cuts[:, -1] = -1e6, 1e6
            # A line within LINE_MM of a join is drawn on both pages.
            count = sums.shape[0 if axis else 1] - 1
            low = np.clip(np.floor(cuts[:, :-1] - LINE_MM), 0, count).astype(np.intp)
            bounds.append((low, np.clip(np.ceil(cuts[:, 1:] + LINE_MM), 0, count).astype(np.intp)))
        (y0, y1), (x0, x1) = bounds

        def total(y: NDArray[np.intp], x: NDArray[np.intp]) -> FloatArray:
            return sums[y[:, None, :, None], x[None, :, None, :]]

        return np.asarray(total(y1, x1) - total(y0, x1) - total(y1, x0) + total(y0, x0) > 0.5)

    @cached_property
    def _sums(self) -> FloatArray:
        """Sums from the upper left corner over cells of 1 mm that the shape touches."""
        wide, high = math.ceil(self.size[0]), math.ceil(self.size[1])
        rings = shapely.get_rings(shapely.get_parts(shapely.buffer(self._shape, 0.71, quad_segs=4)))
        corners, ring = shapely.get_coordinates(rings, return_index=True)
        on_one = ring[:-1] == ring[1:]
        inside = filled(corners[:-1][on_one], corners[1:][on_one], high, wide)
        sums = np.zeros((high + 1, wide + 1))
        sums[1:, 1:] = inside.cumsum(axis=0).cumsum(axis=1)
        return sums

    def motion(self, x: float, y: float, sheet_height: float) -> Motion:
        """What lays the drawing with its upper left corner at (x, y) from the upper left of a sheet so high.

        To a millionth of a mm, so that it comes back the same from a file.
        """
        shift = (x - self.corner[0], sheet_height - y - self.corner[1])
        return replace(self.turn, e=round(self.turn.e + shift[0], 6), f=round(self.turn.f + shift[1], 6))


def _quick(size: int) -> int:
    """The next size that is a product of 2, 3 and 5, whose Fourier transform is quick."""
    while True:
        rest = size
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return size
        size += 1
