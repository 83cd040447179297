"""One tile: the sheet through the page's live box, its joins with their marks, and its neighbours' names."""

from __future__ import annotations

import itertools
import math
import textwrap
from collections.abc import Iterator, Sequence

import shapely

from app.files.clear_places import ClearPlaces
from app.files.layers import JOINS, OF_PAGES, PAGE_NAMES
from app.files.paper_pen import MM, Brush, fitted
from geometry.drawing import Box, Look, Role, Words
from geometry.letter_widths import MOST_LETTERS, shortened, width_mm
from geometry.motions import Point
from geometry.sheets import Page, Sheet, SheetSettings, joined_sides

DIAMOND_MM = 3.0
#: How far from a corner the half diamonds of pages that meet edge to edge stand (mm).
BUTT_MARK_MM = 12.0
#: The sides of a page as ``_sides`` gives them.
AROUND = ("below", "right", "above", "left")
INWARD = {"left": (1, 0), "right": (-1, 0), "above": (0, -1), "below": (0, 1)}
FRAME = Look(0.15, (), 0.5)
JOIN = Look(0.2, (5.0, 2.5), 0.35)
MARK = Look(0.3)
NAME_MM, SMALL_MM = 7.0, 2.2
#: Letters in a row of words that find no place together.
ROW_LETTERS = 30
#: From one such row to the next (mm).
ROWS_MM = 3.0
#: Where along a side the neighbour's name is tried, in this order.
NAME_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.15, 0.85)


def draw_tile(
    brush: Brush,
    sheet: Sheet,
    page: Page,
    pages: Sequence[Page],
    settings: SheetSettings,
    caption: tuple[str, str, str],
    form: str,
) -> None:
    """One page; ``caption`` is said on it beside its own facts: the garment's name, cut short if need be, the date, and
    a printer's correction, always whole. ``form`` names the form object that holds the sheet."""
    margin, (wide, high) = settings.margin_mm, settings.live
    live = (margin, margin, margin + wide, margin + high)
    canvas = brush.canvas
    canvas.saveState()
    brush.clip(live)
    canvas.translate((margin - page.origin[0]) * MM, (margin - page.origin[1]) * MM)
    canvas.doForm(form)
    canvas.restoreState()
    printed = {other.name for other in pages if not other.skipped}
    joins = _joins(page, printed, live, settings)
    marks = [mark for side, line in joins.items() for mark in _marks(side, line, settings)]
    with brush.layer(JOINS, OF_PAGES):
        # Where pages meet edge to edge the join runs on the frame, and only its dashes are drawn.
        bare = () if settings.overlap_mm else tuple(joins)
        brush.lines([side for name, side in zip(AROUND, _sides(live)) if name not in bare], FRAME)
        for line in joins.values():
            brush.lines(_between_marks(line, settings), JOIN)
        brush.lines(marks, MARK, closed=True)
    shapes = _shapes(sheet, page, live)
    shapes += [shapely.LineString(line) for line in joins.values()]
    shapes += [shapely.Polygon(mark) for mark in marks]
    clear = ClearPlaces(live, shapes)
    with brush.layer(PAGE_NAMES, OF_PAGES):
        _names(brush, clear, page, printed, live, joins)
        _caption(brush, clear, page, settings, (*caption, f"sheet {page.number} of {len(printed)}"), live)


def _joins(page: Page, printed: set[str], live: Box, settings: SheetSettings) -> dict[str, tuple[Point, Point]]:
    """The join line on each side that has one, along the middle of what the two pages share."""
    x0, y0, x1, y1 = live
    half = settings.overlap_mm / 2
    lines = {
        "left": ((x0 + half, y0), (x0 + half, y1)),
        "right": ((x1 - half, y0), (x1 - half, y1)),
        "above": ((x0, y1 - half), (x1, y1 - half)),
        "below": ((x0, y0 + half), (x1, y0 + half)),
    }
    return {side: lines[side] for side in joined_sides(page, printed)}


def _marks(side: str, line: tuple[Point, Point], settings: SheetSettings) -> list[list[Point]]:
    """The marks at both ends of a join: diamonds half an overlap in, where the joins of the grid cross.

    Where pages meet edge to edge nothing may be drawn beyond the join, so each has the half on its own side.
    """
    (x0, y0), (x1, y1) = line
    far = settings.overlap_mm / 2 or BUTT_MARK_MM
    size = math.dist(*line)
    ux, uy = (x1 - x0) / size, (y1 - y0) / size
    places = [(x0 + far * ux, y0 + far * uy), (x1 - far * ux, y1 - far * uy)]
    return [_diamond(at, None if settings.overlap_mm else INWARD[side]) for at in places]


def _between_marks(line: tuple[Point, Point], settings: SheetSettings) -> list[list[Point]]:
    """A join line without the stretches in its marks, which stand alone so that they can be laid on each other."""
    (x0, y0), (x1, y1) = line
    far, size = settings.overlap_mm / 2 or BUTT_MARK_MM, math.dist(*line)
    ux, uy = (x1 - x0) / size, (y1 - y0) / size
    ends = [0.0, far - DIAMOND_MM - 1.0, far + DIAMOND_MM + 1.0]
    stops = [*ends, *(size - end for end in reversed(ends))]
    return [
        [(x0 + a * ux, y0 + a * uy), (x0 + b * ux, y0 + b * uy)]
        for a, b in zip(stops[::2], stops[1::2], strict=True) if b > a
    ]


def _diamond(at: Point, inward: tuple[int, int] | None) -> list[Point]:
    """A diamond about a point on a join; with ``inward`` only its half on that side."""
    corners = [(-DIAMOND_MM, 0.0), (0.0, -DIAMOND_MM), (DIAMOND_MM, 0.0), (0.0, DIAMOND_MM)]
    return [(at[0] + x, at[1] + y) for x, y in corners if inward is None or x * inward[0] + y * inward[1] >= 0]


def _sides(live: Box) -> list[list[Point]]:
    x0, y0, x1, y1 = live
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
    return [corners[index : index + 2] for index in range(4)]


def _shapes(sheet: Sheet, page: Page, live: Box) -> list[shapely.Geometry]:
    """The lines and words of the sheet that this page shows, in the page's frame."""
    dx, dy = page.origin[0] - live[0], page.origin[1] - live[1]
    shown = sheet.touched.query(shapely.box(live[0] + dx, live[1] + dy, live[2] + dx, live[3] + dy))
    return list(shapely.transform(sheet.touched.geometries[sorted(shown)], lambda points: points - (dx, dy)))


def _names(
    brush: Brush, clear: ClearPlaces, page: Page, printed: set[str], live: Box, joins: dict[str, tuple[Point, Point]]
) -> None:
    """The neighbour's name at each side, beside the join where there is one."""
    x0, y0, x1, y1 = live
    for side in ("left", "right", "above", "below"):
        name = getattr(page, side)
        if name is None:
            continue
        says = f"{name} joins here" if name in printed else f"{name} is empty, left out"
        upright = side in ("above", "below")
        inward = INWARD[side]
        edge = joins.get(side) or _sides(live)[AROUND.index(side)]
        level = edge[0][1] if upright else edge[0][0]
        candidates = []
        for height in (SMALL_MM, 1.8):
            off = height * 0.85 + 1.8
            for more, share in itertools.product((0.0, 5.0, 10.0, 15.0), NAME_SHARES):
                across = level + (inward[1] if upright else inward[0]) * (off + more)
                at = (x0 + share * (x1 - x0), across) if upright else (across, y0 + share * (y1 - y0))
                candidates.append(Words(Role.LABEL, at, says, height, 0.0 if upright else 90.0))
        found = clear.first(candidates)
        if found is not None:
            brush.words(found, 0.2)


def _caption(
    brush: Brush, clear: ClearPlaces, page: Page, settings: SheetSettings, caption: tuple[str, str, str, str], live: Box
) -> None:
    """Row letter and column number large; the pieces on the page, the garment, paper and overlap small."""
    number = _first(clear, Role.TITLE, page.name, (NAME_MM, 5.0, 3.5), live, settings)
    if number is not None:
        brush.words(number, 0.4)
    title, date, correction, which = caption
    room = 0.45 * (live[2] - live[0])
    dated = f" · {date}" if title and date else date
    named = fitted(title, SMALL_MM, room - width_mm(dated, SMALL_MM)) + dated
    parts = [pieces_named(page.pieces, room), named]
    parts = [part for part in (*parts, which, f"{settings.paper.name} paper, {_joining(settings)}") if part]
    parts += [correction] if correction else []
    together = _first(clear, Role.LABEL, " · ".join(parts), (SMALL_MM,), live, settings)
    if together is not None:
        brush.words(together, 0.2)
        return
    for part in parts:
        for words in _whole_or_in_rows(clear, part, live, settings, always=part == correction):
            brush.words(words, 0.2)


def pieces_named(pieces: Sequence[str], room: float) -> str:
    """The pieces on a page in one row of ``room`` mm, long names cut short so that each is said."""
    for letters in (MOST_LETTERS, 48, 36, 28, 22, 17, 13, 10, 8, 6):
        row = ", ".join(shortened(name, letters) for name in pieces)
        if width_mm(row, SMALL_MM) <= room:
            return row
    return fitted(row, SMALL_MM, room)


def _whole_or_in_rows(
    clear: ClearPlaces, part: str, live: Box, settings: SheetSettings, *, always: bool = False
) -> list[Words]:
    """The words together or, on a page too full for that, in short rows, one below the other where there is room for
    that, so that none of them is left out.

    What must ``always`` be said stands in the upper left corner, over lines, where there is no free place at all.
    """
    alone = _first(clear, Role.LABEL, part, (SMALL_MM, 1.8), live, settings)
    if alone is not None:
        return [alone]
    rows = textwrap.wrap(part, ROW_LETTERS)
    block = clear.first_rows(
        tuple(Words(Role.LABEL, (x, y - ROWS_MM * at), row, 1.8, 0.0, anchor) for at, row in enumerate(rows))
        for (x, y), anchor in _corner_places(live, settings)
    )
    if block:
        return list(block)
    found = [_first(clear, Role.LABEL, row, (1.8,), live, settings) for row in rows]
    if always and None in found:
        x, y = next(_corner_places(live, settings))[0]
        return [Words(Role.LABEL, (x, y - ROWS_MM * at), row, 1.8, 0.0, "start") for at, row in enumerate(rows)]
    return [words for words in found if words is not None]


def _joining(settings: SheetSettings) -> str:
    return f"overlap {settings.overlap_mm:g} mm" if settings.overlap_mm else "edge to edge"


def _first(
    clear: ClearPlaces, role: Role, words: str, sizes: tuple[float, ...], live: Box, settings: SheetSettings
) -> Words | None:
    """The words in the first free place from the corners inward, as large as there is room."""
    return clear.first(
        Words(role, at, words, size, 0.0, anchor) for size in sizes for at, anchor in _corner_places(live, settings)
    )


def _corner_places(live: Box, settings: SheetSettings) -> Iterator[tuple[Point, str]]:
    """Places for words, from the four corners inward, the upper left first."""
    x0, y0, x1, y1 = live
    inset = max(settings.overlap_mm, BUTT_MARK_MM) + 3.0
    for down in range(0, int(y1 - y0 - 2 * inset) // 2, 5):
        for along in range(0, int(x1 - x0 - 2 * inset), 10):
            for y in (y1 - inset - 3.0 - down, y0 + inset + 3.0 + down):
                yield (x0 + inset + along, y), "start"
                yield (x1 - inset - along, y), "end"
