"""Laying pieces on a sheet of pages so that few pages are printed. On paper only: never an arrangement on cloth.

Largest piece first, each where it touches the fewest pages that are not printed yet, upright or turned a quarter;
sheets of one page width and more are tried and the one with the fewest pages is kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.drawing import Box, Drawing, Placed
from geometry.errors import PatternError
from geometry.motions import FloatArray, Motion
from geometry.sheets import APART_MM, LINE_MM, MOST_COLUMNS, Sheet, SheetSettings, tile

#: Between a piece and the edge of the sheet or a join it is laid against (mm).
INSET_MM = 2.0


@dataclass(frozen=True)
class _Spot:
    """A place for a piece, measured from the sheet's top left corner, y down: its box, and whether it is turned."""

    x: float
    y: float
    wide: float
    high: float
    turned: bool


def arrange(drawings: Sequence[Drawing], settings: SheetSettings) -> Sheet:
    """Lay the drawings on a sheet for these pages; the same drawings always give the same sheet.

    Raises PatternError when there is nothing to lay or a piece is wider than the widest sheet.
    """
    if not drawings:
        raise PatternError("There is no piece to print.")
    order = sorted(range(len(drawings)), key=lambda index: (-_area(drawings[index].bounds()), index))
    best: tuple[tuple[float, ...], Sheet] | None = None
    for columns in range(1, MOST_COLUMNS + 1):
        spots = _spots(drawings, order, columns, settings)
        if spots is None:
            continue
        sheet = _sheet(drawings, spots, settings)
        printed = sum(not page.skipped for page in tile(sheet, settings))
        rank = (printed, max(sheet.width, sheet.height), columns)
        if best is None or rank < best[0]:
            best = (rank, sheet)
    if best is None:
        widest = max(drawings, key=lambda drawing: min(_sizes(drawing.bounds())))
        raise PatternError(f"“{widest.name}” is wider than {MOST_COLUMNS} pages of {settings.paper.name}.", widest.piece_id)
    return best[1]


def _spots(
    drawings: Sequence[Drawing], order: Sequence[int], columns: int, settings: SheetSettings
) -> dict[int, _Spot] | None:
    width = settings.size_of(columns, 1)[0]
    spots: dict[int, _Spot] = {}
    used: set[tuple[int, int]] = set()
    for index in order:
        wide, high = _sizes(drawings[index].bounds())
        ways = [(wide, high, False), (high, wide, True)]
        ranked = [
            (*_rank(x, y, w, h, used, columns, settings), turned, _Spot(x, y, w, h, turned))
            for w, h, turned in ways
            if w + 2 * INSET_MM <= width
            for x, y in _free_places(w, h, width, list(spots.values()), settings)
        ]
        if not ranked:
            return None
        spot = min(ranked, key=lambda one: one[:-1])[-1]
        spots[index] = spot
        used |= set(_cells(spot.x, spot.y, spot.wide, spot.high, columns, settings))
    return spots


def _rank(
    x: float, y: float, w: float, h: float, used: set[tuple[int, int]], columns: int, settings: SheetSettings
) -> tuple[float, float, float]:
    fresh = sum(cell not in used for cell in _cells(x, y, w, h, columns, settings))
    return (fresh, round(y + h, 3), round(x, 3))


def _free_places(
    w: float, h: float, width: float, laid: Sequence[_Spot], settings: SheetSettings
) -> Iterator[tuple[float, float]]:
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
    yield from zip(x[clear].tolist(), y[clear].tolist(), strict=True)


def _stops(size: float, step: float, overlap: float, limit: float, laid: list[tuple[float, float]]) -> FloatArray:
    """Where a piece of this size may begin: after an edge, a join or a piece, or so that it ends before one."""
    joins = np.arange(1, int(limit // step) + 2) * step + overlap / 2
    edges = np.concatenate([[0.0], joins, [limit]])
    stops = np.concatenate([edges + INSET_MM, edges - INSET_MM - size])
    if laid:
        starts, sizes = np.array(laid).T
        stops = np.concatenate([stops, starts, starts + sizes + APART_MM, starts - APART_MM - size])
    return np.unique(np.round(stops[stops >= INSET_MM - 1e-9], 6))


def _cells(
    x: float, y: float, w: float, h: float, columns: int, settings: SheetSettings
) -> list[tuple[int, int]]:
    """The pages (row, column from 0) on whose own part a box falls."""
    (dx, dy), half = settings.step, settings.overlap_mm / 2
    first, last = int((x - LINE_MM - half) // dx), int((x + w + LINE_MM - half) // dx)
    top, bottom = int((y - LINE_MM - half) // dy), int((y + h + LINE_MM - half) // dy)
    return [
        (row, column)
        for row in range(max(top, 0), max(bottom, 0) + 1)
        for column in range(max(first, 0), min(max(last, 0), columns - 1) + 1)
    ]


def _sheet(drawings: Sequence[Drawing], spots: dict[int, _Spot], settings: SheetSettings) -> Sheet:
    deep = max(one.y + one.high for one in spots.values()) + INSET_MM
    across = max(one.x + one.wide for one in spots.values()) + INSET_MM
    columns = max(1, int(np.ceil((across - settings.overlap_mm) / settings.step[0] - 1e-9)))
    rows = max(1, int(np.ceil((deep - settings.overlap_mm) / settings.step[1] - 1e-9)))
    width, height = settings.size_of(columns, rows)
    placed = []
    for index, drawing in enumerate(drawings):
        spot, (x0, y0, x1, _) = spots[index], drawing.bounds()
        low = height - spot.y - spot.high
        motion = Motion(0, 1, -1, 0, spot.x + drawing.bounds()[3], low - x0) if spot.turned else Motion(
            e=spot.x - x0, f=low - y0
        )
        placed.append(Placed(drawing, motion))
    return Sheet(tuple(placed), width, height)


def _sizes(box: Box) -> tuple[float, float]:
    return (box[2] - box[0], box[3] - box[1])


def _area(box: Box) -> float:
    wide, high = _sizes(box)
    return wide * high
