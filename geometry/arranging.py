"""Laying pieces on a sheet of pages so that few pages are printed. On paper only: never an arrangement on cloth.

Largest piece first, each where it touches the fewest pages that are not printed yet, upright or turned a quarter;
sheets of one page width and more and several orders are tried, and the one with the fewest pages is kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.drawing import Box, Drawing, Placed
from geometry.errors import PatternError
from geometry.motions import FloatArray, Motion
from geometry.sheets import APART_MM, LINE_MM, MOST_COLUMNS, Sheet, SheetSettings, tile

#: Between a piece and the edge of the sheet or a join it is laid against (mm).
INSET_MM = 2.0
#: So many of the best arrangements, by the boxes of their pieces, are cut into pages and counted.
SHORTLIST = 8


@dataclass(frozen=True)
class _Spot:
    """A place for a piece, measured from the sheet's top left corner, y down: its box, and whether it is turned."""

    x: float
    y: float
    wide: float
    high: float
    turned: bool


@dataclass(frozen=True)
class _Laid:
    """A spot for each drawing, and on how many pages they fall."""

    spots: Mapping[int, _Spot]
    pages: int


def arrange(drawings: Sequence[Drawing], settings: SheetSettings) -> Sheet:
    """Lay the drawings on a sheet for these pages; the same drawings always give the same sheet.

    Raises PatternError when there is nothing to lay or a piece is wider than the widest sheet.
    """
    if not drawings:
        raise PatternError("There is no piece to print.")
    tries = []
    for order in _orders([_sizes(drawing.bounds()) for drawing in drawings]):
        for columns in range(1, MOST_COLUMNS + 1):
            laid = _spots(drawings, order, columns, settings)
            if laid is not None:
                tries.append(laid)
    if not tries:
        widest = max(drawings, key=lambda drawing: min(_sizes(drawing.bounds())))
        says = f"“{widest.name}” is wider than {MOST_COLUMNS} pages of {settings.paper.name}."
        raise PatternError(says, widest.piece_id)
    tries.sort(key=lambda laid: (laid.pages, _spread(laid)))
    sheets = [_sheet(drawings, laid.spots, settings) for laid in tries[:SHORTLIST]]
    return min(sheets, key=lambda sheet: (_printed(sheet, settings), max(sheet.width, sheet.height)))


def _orders(sizes: Sequence[tuple[float, float]]) -> list[tuple[int, ...]]:
    """Orders to lay pieces in: by area, by the longer side, by the shorter side; largest first."""
    orders = [
        _largest_first([wide * high for wide, high in sizes]),
        _largest_first([max(size) for size in sizes]),
        _largest_first([min(size) for size in sizes]),
    ]
    return list(dict.fromkeys(orders))


def _largest_first(measured: Sequence[float]) -> tuple[int, ...]:
    return tuple(sorted(range(len(measured)), key=lambda index: (-measured[index], index)))


def _spread(laid: _Laid) -> float:
    """The longer side of the box around all spots (mm): the map of a compact sheet is easier to read."""
    return max(max(one.x + one.wide, one.y + one.high) for one in laid.spots.values())


def _printed(sheet: Sheet, settings: SheetSettings) -> int:
    return sum(not page.skipped for page in tile(sheet, settings))


def _spots(
    drawings: Sequence[Drawing], order: Sequence[int], columns: int, settings: SheetSettings
) -> _Laid | None:
    width = settings.size_of(columns, 1)[0]
    spots: dict[int, _Spot] = {}
    used = np.zeros((0, columns), dtype=bool)
    for index in order:
        wide, high = _sizes(drawings[index].bounds())
        ways = [(w, h) for w, h in ((wide, high), (high, wide)) if w + 2 * INSET_MM <= width]
        if not ways:
            return None
        ranked = [(*_best_place(w, h, width, list(spots.values()), used, settings), w, h) for w, h in ways]
        _, _, x, y, w, h = min(ranked)
        spots[index] = _Spot(x, y, w, h, (w, h) != (wide, high))
        (top, bottom), (first, last) = _rows_and_columns(np.array([x]), np.array([y]), w, h, columns, settings)
        used = np.pad(used, ((0, max(0, int(bottom[0]) + 1 - len(used))), (0, 0)))
        used[int(top[0]) : int(bottom[0]) + 1, int(first[0]) : int(last[0]) + 1] = True
    return _Laid(spots, int(used.sum()))


def _best_place(
    w: float, h: float, width: float, laid: Sequence[_Spot], used: NDArray[np.bool_], settings: SheetSettings
) -> tuple[int, float, float, float]:
    """Pages newly touched, lower side, x and y of the place that touches the fewest, uppermost, leftmost."""
    x, y = _free_places(w, h, width, laid, settings)
    (top, bottom), (first, last) = _rows_and_columns(x, y, w, h, used.shape[1], settings)
    sums = np.zeros((int(bottom.max()) + 2, used.shape[1] + 1), dtype=int)
    sums[1 : len(used) + 1, 1:] = used[: len(sums) - 1].cumsum(axis=0).cumsum(axis=1)
    sums[len(used) + 1 :] = sums[min(len(used), len(sums) - 1)]
    old = sums[bottom + 1, last + 1] - sums[top, last + 1] - sums[bottom + 1, first] + sums[top, first]
    fresh = (bottom - top + 1) * (last - first + 1) - old
    best = np.lexsort((np.round(x, 3), np.round(y + h, 3), fresh))[0]
    return int(fresh[best]), round(float(y[best] + h), 3), float(x[best]), float(y[best])


def _free_places(
    w: float, h: float, width: float, laid: Sequence[_Spot], settings: SheetSettings
) -> tuple[FloatArray, FloatArray]:
    """Places against the sheet's edge, a join or a piece laid before, that keep clear of every piece laid."""
    xs = _stops(w, settings.step[0], settings.overlap_mm, width, [(one.x, one.wide) for one in laid])
    deepest = max((one.y + one.high for one in laid), default=0.0) + settings.step[1]
    ys = _stops(h, settings.step[1], settings.overlap_mm, deepest + h, [(one.y, one.high) for one in laid])
    x, y = (grid.ravel() for grid in np.meshgrid(xs[xs + w <= width - INSET_MM + 1e-9], ys))
    clear = np.ones(len(x), dtype=bool)
    for one in laid:
        apart_x = (x >= one.x + one.wide + APART_MM - 1e-9) | (x + w + APART_MM <= one.x + 1e-9)
        apart_y = (y >= one.y + one.high + APART_MM - 1e-9) | (y + h + APART_MM <= one.y + 1e-9)
        clear &= apart_x | apart_y
    return x[clear], y[clear]


def _stops(size: float, step: float, overlap: float, limit: float, laid: list[tuple[float, float]]) -> FloatArray:
    """Where a piece of this size may begin: after an edge, a join or a piece, or so that it ends before one."""
    joins = np.arange(1, int(limit // step) + 2) * step + overlap / 2
    edges = np.concatenate([[0.0], joins, [limit]])
    stops = np.concatenate([edges + INSET_MM, edges - INSET_MM - size])
    if laid:
        starts, sizes = np.array(laid).T
        stops = np.concatenate([stops, starts, starts + sizes + APART_MM, starts - APART_MM - size])
    return np.unique(np.round(stops[stops >= INSET_MM - 1e-9], 6))


def _rows_and_columns(
    x: FloatArray, y: FloatArray, w: float, h: float, columns: int, settings: SheetSettings
) -> tuple[tuple[NDArray[np.intp], NDArray[np.intp]], tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """First and last row, first and last column (from 0) of the pages on whose own part boxes at (x, y) fall."""
    (dx, dy), half = settings.step, settings.overlap_mm / 2

    def between(at: FloatArray, size: float, step: float, most: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        first = np.floor((at - LINE_MM - half) / step).astype(np.intp)
        last = np.floor((at + size + LINE_MM - half) / step).astype(np.intp)
        return np.clip(first, 0, most), np.clip(last, 0, most)

    return between(y, h, dy, 10**6), between(x, w, dx, columns - 1)


def _sheet(drawings: Sequence[Drawing], spots: Mapping[int, _Spot], settings: SheetSettings) -> Sheet:
    deep = max(one.y + one.high for one in spots.values()) + INSET_MM
    across = max(one.x + one.wide for one in spots.values()) + INSET_MM
    columns = max(1, int(np.ceil((across - settings.overlap_mm) / settings.step[0] - 1e-9)))
    rows = max(1, int(np.ceil((deep - settings.overlap_mm) / settings.step[1] - 1e-9)))
    width, height = settings.size_of(columns, rows)
    placed = tuple(Placed(drawing, _motion(drawing, spots[index], height)) for index, drawing in enumerate(drawings))
    return Sheet(placed, width, height)


def _motion(drawing: Drawing, spot: _Spot, sheet_height: float) -> Motion:
    """The motion that lays a drawing in its spot; of both quarter turns the one that leaves its name readable."""
    (x0, y0, x1, y1), low = drawing.bounds(), sheet_height - spot.y - spot.high
    if not spot.turned:
        return Motion(e=spot.x - x0, f=low - y0)
    if any(words.bold and words.angle_deg for words in drawing.words):
        return Motion(0.0, -1.0, 1.0, 0.0, spot.x - y0, low + x1)
    return Motion(0.0, 1.0, -1.0, 0.0, spot.x + y1, low - x0)


def _sizes(box: Box) -> tuple[float, float]:
    return (box[2] - box[0], box[3] - box[1])
