"""One tile: the sheet through the page's live box, its joins with their marks, and its neighbours' names."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from app.files.paper_pen import MM, Brush
from geometry.drawing import Box, Look, Role, Words
from geometry.motions import Point
from geometry.sheets import Page, Sheet, SheetSettings

DIAMOND_MM = 3.0
FRAME = Look(0.15, (), 0.5)
JOIN = Look(0.2, (5.0, 2.5), 0.35)
MARK = Look(0.3)
NAME_MM, SMALL_MM = 7.0, 2.2
_CLOSE_MM = 1.0


def draw_tile(
    brush: Brush, sheet: Sheet, page: Page, pages: Sequence[Page], settings: SheetSettings, title: str, form: str
) -> None:
    """One page; ``form`` is the name of the form object that holds the sheet."""
    margin, (wide, high) = settings.margin_mm, settings.live
    live = (margin, margin, margin + wide, margin + high)
    canvas = brush.canvas
    canvas.saveState()
    brush.clip(live)
    canvas.translate((margin - page.origin[0]) * MM, (margin - page.origin[1]) * MM)
    canvas.doForm(form)
    canvas.restoreState()
    brush.box(live, FRAME)
    printed = {other.name for other in pages if not other.skipped}
    joins = _joins(page, printed, live, settings)
    for line in joins.values():
        brush.lines([line], JOIN)
    brush.lines([_diamond(at) for line in joins.values() for at in _mark_places(line, settings)], MARK, closed=True)
    taken = [shapely.LineString(line).buffer(DIAMOND_MM) for line in joins.values()]
    taken += [shapely.LineString(sides).buffer(_CLOSE_MM) for sides in _sides(live)]
    free = _Free(sheet, page, settings, live, taken)
    _names(brush, free, page, printed, live, joins)
    _caption(brush, free, page, settings, title, live)


def _joins(page: Page, printed: set[str], live: Box, settings: SheetSettings) -> dict[str, tuple[Point, Point]]:
    """The join line on each side that has a printed neighbour, along the middle of what the two pages share."""
    x0, y0, x1, y1 = live
    half = settings.overlap_mm / 2
    lines = {
        "left": ((x0 + half, y0), (x0 + half, y1)),
        "right": ((x1 - half, y0), (x1 - half, y1)),
        "above": ((x0, y1 - half), (x1, y1 - half)),
        "below": ((x0, y0 + half), (x1, y0 + half)),
    }
    return {side: line for side, line in lines.items() if getattr(page, side) in printed}


def _mark_places(line: tuple[Point, Point], settings: SheetSettings) -> list[Point]:
    """Both ends of a join, half an overlap in, where the joins of the grid cross."""
    (x0, y0), (x1, y1) = line
    half = settings.overlap_mm / 2
    size = math.dist(*line)
    ux, uy = (x1 - x0) / size, (y1 - y0) / size
    return [(x0 + half * ux, y0 + half * uy), (x1 - half * ux, y1 - half * uy)]


def _diamond(at: Point) -> list[Point]:
    x, y = at
    return [(x - DIAMOND_MM, y), (x, y - DIAMOND_MM), (x + DIAMOND_MM, y), (x, y + DIAMOND_MM)]


def _sides(live: Box) -> list[list[Point]]:
    x0, y0, x1, y1 = live
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
    return [corners[index : index + 2] for index in range(4)]


class _Free:
    """Where on a page words can stand without lying on a line."""

    def __init__(self, sheet: Sheet, page: Page, settings: SheetSettings, live: Box, taken: list[shapely.Geometry]) -> None:
        self._sheet, self._taken = sheet, taken
        self._dx, self._dy = page.origin[0] - settings.margin_mm, page.origin[1] - settings.margin_mm
        self._live = shapely.box(*live)

    def first(self, candidates: Sequence[Words]) -> Words | None:
        """The first of the candidates that stands free; its place is then taken."""
        for words in candidates:
            box = shapely.Polygon(words.box(_CLOSE_MM))
            on_sheet = shapely.transform(box, lambda points: points + [self._dx, self._dy])
            free = self._live.contains(box) and not any(box.intersects(other) for other in self._taken)
            if free and not len(self._sheet.touched.query(on_sheet, predicate="intersects")):
                self._taken.append(box)
                return words
        return None


def _names(
    brush: Brush, free: _Free, page: Page, printed: set[str], live: Box, joins: dict[str, tuple[Point, Point]]
) -> None:
    """The neighbour's name at each side, beside the join where there is one."""
    x0, y0, x1, y1 = live
    for side in ("left", "right", "above", "below"):
        name = getattr(page, side)
        if name is None:
            continue
        says = f"{name} joins here" if name in printed else f"{name} is empty, left out"
        upright = side in ("above", "below")
        inward = {"left": (1, 0), "right": (-1, 0), "above": (0, -1), "below": (0, 1)}[side]
        edge = joins.get(side) or _sides(live)[{"below": 0, "right": 1, "above": 2, "left": 3}[side]]
        level = edge[0][1] if upright else edge[0][0]
        candidates = []
        for height in (SMALL_MM, 1.8):
            off = height * 0.85 + 1.8
            for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.15, 0.85):
                for more in (0.0, 5.0):
                    across = level + (inward[1] if upright else inward[0]) * (off + more)
                    at = (x0 + share * (x1 - x0), across) if upright else (across, y0 + share * (y1 - y0))
                    candidates.append(Words(Role.LABEL, at, says, height, 0.0 if upright else 90.0))
        found = free.first(candidates)
        if found is not None:
            brush.words(found, 0.2)


def _caption(brush: Brush, free: _Free, page: Page, settings: SheetSettings, title: str, live: Box) -> None:
    """Row letter and column number large, beneath it the pieces on the page, the garment, paper and overlap."""
    x0, y0, x1, y1 = live
    inset = settings.overlap_mm + 3.0
    says = " · ".join(
        part for part in (", ".join(page.pieces), title, settings.paper.name, f"overlap {settings.overlap_mm:g} mm") if part
    )
    corners = [(x0 + inset, y1 - inset - 3, "start"), (x1 - inset, y1 - inset - 3, "end"),
               (x0 + inset, y0 + inset + 5, "start"), (x1 - inset, y0 + inset + 5, "end")]
    shifts = [(0.0, 0.0), *((dx, dy) for dy in range(0, 200, 12) for dx in range(0, 120, 12))]
    for size in (NAME_MM, 5.0, 3.5):
        places = [
            Words(Role.TITLE, (x + (dx if anchor == "start" else -dx), y - dy if y > (y0 + y1) / 2 else y + dy), page.name, size, 0.0, anchor)
            for dx, dy in shifts
            for x, y, anchor in corners
        ]
        found = free.first(places)
        if found is not None:
            brush.words(found, 0.35)
            break
    small = [
        Words(Role.LABEL, (x, y - 7.0 + step * (-1 if y > (y0 + y1) / 2 else 1)), says, height, 0.0, anchor)
        for height in (SMALL_MM, 1.8)
        for step in range(0, 200, 6)
        for x, y, anchor in corners
    ]
    found = free.first(small)
    if found is not None:
        brush.words(found, 0.2)
