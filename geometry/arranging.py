"""Laying pieces on a sheet of pages so that few pages are printed. On paper only: never an arrangement on cloth.

Pieces are first laid as boxes: largest first, each where it touches the fewest pages that are not printed yet, upright
or turned a quarter, on sheets of one page width and more and in several orders. The best of these are bettered by
lifting pieces and laying them anew by their true shapes (``relaying``), and the one with the fewest pages is kept.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.clear_of_joins import clear_of_joins
from geometry.drawing import Box, Drawing, Placed, Role
from geometry.errors import PatternError
from geometry.lines import flatten
from geometry.motions import FloatArray, Motion, turn
from geometry.relaying import Cost, Effort, Relaying, Spot, Spots
from geometry.shape_cells import INSET_MM, ShapeCells
from geometry.sheets import APART_MM, LINE_MM, MOST_COLUMNS, Sheet, SheetSettings, tile

#: Turns tried between the quarters for pieces that turn freely (degrees).
ASKEW_DEG = tuple(range(15, 360, 15))
ASKEW = [turn(float(degrees), (0.0, 0.0)) for degrees in ASKEW_DEG if degrees % 90]
#: So many of the best arrangements, by the boxes of their pieces, are bettered.
SHORTLIST = 2


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
    """A spot for each drawing, on how many pages they fall, and how many rows the sheet may have (None for any)."""

    spots: Mapping[int, _Spot]
    pages: int
    rows: int | None


_Found = tuple[Cost, int, Spots, Relaying]


def arrange(
    drawings: Sequence[Drawing], settings: SheetSettings, *, closely: bool = True, freely: bool = False,
    effort: Effort | None = None,
) -> Sheet:
    """Lay the drawings on a sheet for these pages; the same drawings always give the same sheet.

    Not ``closely`` they stay where they were laid as boxes: quicker, and never on fewer pages. Pieces that turn freely,
    or all where she wants it ``freely``, are also tried at angles between the quarters, if that saves pages. When the
    ``effort`` is over, the best of what was found is taken.

    Raises PatternError when there is nothing to lay or a piece is wider than the widest sheet.
    """
    if not drawings:
        raise PatternError("There is no piece to print.")
    orders = _orders([_sizes(drawing.bounds()) for drawing in drawings])
    across = range(1, MOST_COLUMNS + 1)
    starts = [_spots(drawings, order, columns, settings) for order in orders for columns in across]
    tries = [laid for laid in starts if laid is not None]
    if not tries:
        widest = max(drawings, key=lambda drawing: min(_sizes(drawing.bounds())))
        says = f"“{widest.name}” is wider than {MOST_COLUMNS} pages of {settings.paper.name}."
        raise PatternError(says, widest.piece_id)
    tries = _best_first(tries)[: SHORTLIST if closely else 1]
    if closely:
        tries += _best_first(_in_few_rows(drawings, orders, tries[0].pages, settings))[:1]
    shapes, turns = [shape_of(drawing) for drawing in drawings], [turns_of(drawing) for drawing in drawings]
    found: list[_Found] = []
    effort = effort or Effort()
    for rank, laid in enumerate(tries):
        columns, rows = _pages_across(laid, settings)
        relaying = Relaying(shapes, turns, columns, rows, settings, effort)
        boxes: Spots = {i: _true(spot, relaying.cells(i, int(spot.turned))) for i, spot in laid.spots.items()}
        for start in (boxes, relaying.from_nothing() if closely and rank == 0 else None):
            if start is not None:
                spots = relaying.bettered(start) if closely else start
                found.append((relaying.cost(spots), len(found), spots, relaying))
                _tell(effort, drawings, found, settings)
    cost, _, spots, relaying = min(found, key=lambda one: one[:2])
    askew = [freely or turns_freely(drawing) for drawing in drawings]
    if closely and any(askew) and cost[0] > least_pages(drawings, settings):
        more = [ways + ASKEW if free else ways for ways, free in zip(turns, askew, strict=True)]
        wider = relaying.with_turns(more)
        for start in (spots, wider.from_nothing()):
            tried = None if start is None else wider.bettered(start)
            if tried is not None and wider.cost(tried)[0] < cost[0]:
                cost, spots, relaying = wider.cost(tried), tried, wider
                effort.better(cost[0], partial(_sheet, drawings, spots, relaying, settings))
    sheet = _sheet(drawings, relaying.settled(spots) if closely else spots, relaying, settings)
    return clear_of_joins(_closed_up(sheet, settings), shapes, settings)


def _tell(effort: Effort, drawings: Sequence[Drawing], found: Sequence[_Found], settings: SheetSettings) -> None:
    """Whoever waits hears of the last arrangement found, if it takes fewer pages than all before it."""
    cost, _, spots, relaying = found[-1]
    if all(cost[0] < other[0][0] for other in found[:-1]):
        effort.better(cost[0], partial(_sheet, drawings, spots, relaying, settings))


def _closed_up(sheet: Sheet, settings: SheetSettings) -> Sheet:
    """The sheet without rows and columns of pages on which nothing lies, where pieces can be that near each other."""
    for axis in (1, 0):
        pages = tile(sheet, settings)
        used = {(page.column, pages[-1].row + 1 - page.row)[axis] for page in pages if not page.skipped}
        # From the far side, so that what lies beyond has come nearer already.
        for gap in sorted(set(range(1, max(used))) - used, reverse=True):
            sheet = _without_gap(sheet, gap, axis, settings)
    return sheet


def _without_gap(sheet: Sheet, gap: int, axis: int, settings: SheetSettings) -> Sheet:
    """The sheet with what lies beyond the ``gap``th column (axis 0), or row from below (1), a page nearer.

    Pieces that then lay too near each other are left a little farther off, if that takes no more pages.
    """
    step = settings.step[axis]
    width, height = (sheet.width - step, sheet.height) if axis == 0 else (sheet.width, sheet.height - step)
    beyond = [one.there.bounds()[axis] > gap * step for one in sheet.placed]
    for left in (0.0, APART_MM):
        slid = zip(sheet.placed, beyond, strict=True)
        placed = tuple(_slid(one, axis, left - step) if far else one for one, far in slid)
        nearer = Sheet(placed, width, height)
        inside = max(one.there.bounds()[axis + 2] for one in placed) <= (width, height)[axis] - INSET_MM
        if inside and _printed(nearer, settings) <= _printed(sheet, settings) and _apart(placed):
            return nearer
    return sheet


def _slid(placed: Placed, axis: int, by: float) -> Placed:
    """A piece moved across (axis 0) or up (1), to a millionth of a mm, so that it comes back the same from a file."""
    motion = placed.motion
    e, f = (motion.e + by, motion.f) if axis == 0 else (motion.e, motion.f + by)
    return replace(placed, motion=replace(motion, e=round(e, 6), f=round(f, 6)))


def _apart(placed: Sequence[Placed]) -> bool:
    """Whether all that is drawn of each piece keeps APART_MM from every other."""
    shapes = [shapely.transform(shape_of(one.drawing), one.motion.points) for one in placed]
    return all(
        shapely.distance(one, other) >= APART_MM - 2 * LINE_MM for one, other in itertools.combinations(shapes, 2)
    )


def alone(drawings: Sequence[Drawing], settings: SheetSettings) -> int:
    """How many pages the drawings would take if each were printed by itself, upright."""
    return sum(_printed(_upright(drawing), settings) for drawing in drawings)


def least_pages(drawings: Sequence[Drawing], settings: SheetSettings) -> int:
    """No arrangement takes fewer pages than the area of the pieces over what one page keeps when it is taped."""
    dx, dy = settings.step
    return max(1, math.ceil(sum(float(shapely.area(_outer(drawing))) for drawing in drawings) / (dx * dy) - 1e-9))


def _upright(drawing: Drawing) -> Sheet:
    x0, y0, x1, y1 = drawing.bounds()
    laid = Placed(drawing, Motion(e=INSET_MM - x0, f=INSET_MM - y0))
    return Sheet((laid,), x1 - x0 + 2 * INSET_MM, y1 - y0 + 2 * INSET_MM)


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


def _best_first(tries: Sequence[_Laid]) -> list[_Laid]:
    """Fewest pages first, then the most compact."""
    return sorted(tries, key=lambda laid: (laid.pages, _spread(laid)))


def _in_few_rows(
    drawings: Sequence[Drawing], orders: Sequence[Sequence[int]], most: int, settings: SheetSettings
) -> list[_Laid]:
    """What takes fewer than ``most`` pages on sheets of so many rows and no more.

    The last row keeps what lies beyond its join: a piece a little higher than a row then lies on one.
    """
    found, least = [], least_pages(drawings, settings)
    for columns in range(1, MOST_COLUMNS + 1):
        for rows in range(math.ceil(least / columns), math.ceil(most / columns) + 1):
            tried = [_spots(drawings, order, columns, settings, rows) for order in orders]
            found += [one for one in tried if one is not None and one.pages < most]
    return found


def _spots(
    drawings: Sequence[Drawing], order: Sequence[int], columns: int, settings: SheetSettings, rows: int | None = None
) -> _Laid | None:
    """Pieces laid one after another as boxes; None where one finds no place."""
    width = settings.size_of(columns, 1)[0]
    spots: dict[int, _Spot] = {}
    used = np.zeros((0, columns), dtype=bool)
    for index in order:
        wide, high = _sizes(drawings[index].bounds())
        ways = [(w, h) for w, h in ((wide, high), (high, wide)) if w + 2 * INSET_MM <= width]
        if not ways:
            return None
        places = [(_best_place(w, h, width, list(spots.values()), used, settings, rows), w, h) for w, h in ways]
        ranked = [(*place, w, h) for place, w, h in places if place is not None]
        if not ranked:
            return None
        _, _, x, y, w, h = min(ranked)
        spots[index] = _Spot(x, y, w, h, (w, h) != (wide, high))
        (top, bottom), (first, last) = _rows_and_columns(np.array([x]), np.array([y]), w, h, columns, settings, rows)
        used = np.pad(used, ((0, max(0, int(bottom[0]) + 1 - len(used))), (0, 0)))
        used[int(top[0]) : int(bottom[0]) + 1, int(first[0]) : int(last[0]) + 1] = True
    return _Laid(spots, int(used.sum()), rows)


def _best_place(
    w: float, h: float, width: float, laid: Sequence[_Spot], used: NDArray[np.bool_], settings: SheetSettings,
    rows: int | None,
) -> tuple[int, float, float, float] | None:
    """Pages newly touched, lower side, x and y of the place that touches the fewest, uppermost, leftmost.

    None where there is no place in so many ``rows``.
    """
    x, y = _free_places(w, h, width, laid, settings, rows)
    if not len(x):
        return None
    (top, bottom), (first, last) = _rows_and_columns(x, y, w, h, used.shape[1], settings, rows)
    sums = np.zeros((int(bottom.max()) + 2, used.shape[1] + 1), dtype=int)
    sums[1 : len(used) + 1, 1:] = used[: len(sums) - 1].cumsum(axis=0).cumsum(axis=1)
    sums[len(used) + 1 :] = sums[min(len(used), len(sums) - 1)]
    old = sums[bottom + 1, last + 1] - sums[top, last + 1] - sums[bottom + 1, first] + sums[top, first]
    fresh = (bottom - top + 1) * (last - first + 1) - old
    best = np.lexsort((np.round(x, 3), np.round(y + h, 3), fresh))[0]
    return int(fresh[best]), round(float(y[best] + h), 3), float(x[best]), float(y[best])


def _free_places(
    w: float, h: float, width: float, laid: Sequence[_Spot], settings: SheetSettings, rows: int | None
) -> tuple[FloatArray, FloatArray]:
    """Places against the sheet's edge, a join or a piece laid before, that keep clear of every piece laid."""
    xs = _stops(w, settings.step[0], settings.overlap_mm, width, [(one.x, one.wide) for one in laid])
    deepest = max((one.y + one.high for one in laid), default=0.0) + settings.step[1]
    limit = deepest + h if rows is None else settings.size_of(1, rows)[1]
    ys = _stops(h, settings.step[1], settings.overlap_mm, limit, [(one.y, one.high) for one in laid])
    ys = ys if rows is None else ys[ys + h <= limit - INSET_MM + 1e-9]
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
    x: FloatArray, y: FloatArray, w: float, h: float, columns: int, settings: SheetSettings, rows: int | None
) -> tuple[tuple[NDArray[np.intp], NDArray[np.intp]], tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """First and last row, first and last column (from 0) of the pages on whose own part boxes at (x, y) fall."""
    (dx, dy), half = settings.step, settings.overlap_mm / 2

    def between(at: FloatArray, size: float, step: float, most: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        first = np.floor((at - LINE_MM - half) / step).astype(np.intp)
        last = np.floor((at + size + LINE_MM - half) / step).astype(np.intp)
        return np.clip(first, 0, most), np.clip(last, 0, most)

    return between(y, h, dy, 10**6 if rows is None else rows - 1), between(x, w, dx, columns - 1)


def _outer(drawing: Drawing) -> shapely.Geometry:
    """The area inside the outermost line of a piece."""
    role = Role.CUT if any(stroke.role is Role.CUT for stroke in drawing.strokes) else Role.STITCH
    rings = [flatten(s.chain, 0.2)[0] for s in drawing.strokes if s.role is role and s.closed]
    return shapely.union_all([shapely.make_valid(shapely.Polygon(ring)) for ring in rings])


def shape_of(drawing: Drawing) -> shapely.Geometry:
    """All that is drawn of a piece, the area inside its outermost line filled."""
    parts: list[shapely.Geometry] = [_outer(drawing)]
    parts += [shapely.LineString(flatten(stroke.chain, 0.2)[0]) for stroke in drawing.strokes]
    parts += [shapely.Polygon(words.box()) for words in drawing.words]
    return shapely.union_all([shapely.buffer(part, LINE_MM, quad_segs=2) for part in parts])


def turns_of(drawing: Drawing) -> list[Motion]:
    """The quarter turns of a piece: as it is, so that its name reads from the right, from the left, on its head."""
    upright = Motion()
    left, right = Motion(0.0, 1.0, -1.0, 0.0, 0.0, 0.0), Motion(0.0, -1.0, 1.0, 0.0, 0.0, 0.0)
    quarters = [right, left] if any(words.bold and words.angle_deg for words in drawing.words) else [left, right]
    return [upright, *quarters, Motion(-1.0, 0.0, 0.0, -1.0, 0.0, 0.0)]


def turns_freely(drawing: Drawing) -> bool:
    """Whether the grain does not matter on paper: nothing is drawn that should run with the paper's edges.

    With a grainline, the greatest stretch or a fold on it a piece is turned by quarters, so that these can be compared
    with the frame of every page.
    """
    return not any(stroke.role in (Role.GRAIN, Role.STRETCH, Role.FOLD) for stroke in drawing.strokes)


def _sheet(drawings: Sequence[Drawing], spots: Spots, relaying: Relaying, settings: SheetSettings) -> Sheet:
    cells = [relaying.cells(index, spots[index].turn) for index in range(len(drawings))]
    deep = max(one.size[1] + spots[index].y for index, one in enumerate(cells)) + INSET_MM
    across = max(one.size[0] + spots[index].x for index, one in enumerate(cells)) + INSET_MM
    columns = max(1, math.ceil((across - settings.overlap_mm) / settings.step[0] - 1e-9))
    rows = max(1, math.ceil((deep - settings.overlap_mm) / settings.step[1] - 1e-9))
    width, height = settings.size_of(columns, rows)
    placed = tuple(
        Placed(drawing, one.motion(spots[index].x, spots[index].y, height))
        for index, (drawing, one) in enumerate(zip(drawings, cells, strict=True))
    )
    return Sheet(placed, width, height)


def _pages_across(laid: _Laid, settings: SheetSettings) -> tuple[int, int]:
    """Columns and rows of pages that an arrangement needs, and one row more for laying anew where there may be."""
    wide = max(one.x + one.wide for one in laid.spots.values()) + INSET_MM
    deep = max(one.y + one.high for one in laid.spots.values()) + INSET_MM
    columns = max(1, math.ceil((wide - settings.overlap_mm) / settings.step[0] - 1e-9))
    if laid.rows is not None:
        return columns, laid.rows
    return columns, max(1, math.ceil((deep - settings.overlap_mm) / settings.step[1] - 1e-9)) + 1


def _true(spot: _Spot, cells: ShapeCells) -> Spot:
    """A box's place as that of the shape in it: the shape is what is drawn with LINE_MM round it."""
    return Spot(int(spot.turned), spot.x + (spot.wide - cells.size[0]) / 2, spot.y + (spot.high - cells.size[1]) / 2)


def _sizes(box: Box) -> tuple[float, float]:
    return (box[2] - box[0], box[3] - box[1])
