"""The map of pages: the pieces drawn small over the numbered sheets."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from app.files.clear_places import ClearPlaces
from app.files.paper_pen import MM, Brush, fitted
from geometry.drawing import Box, Look, Placed, Role, Stroke, Words
from geometry.lines import flatten
from geometry.sheets import Page, Sheet, SheetSettings

JOIN = Look(0.2, (), 0.4)
LEFT_OUT = Look(0.15, (1.0, 1.5), 0.5)
OUTLINE = Look(0.35)
ARROW = Look(0.2)
LARGEST_SCALE = 0.14
NAME_MM, SMALLEST_MM = 2.0, 1.6
#: How long a piece's name may be, over the longer side of the piece; it is cut short where it has no room otherwise.
NAME_SHARES = (0.9, 0.65, 0.45)
#: A name that would be cut shorter than this is left out for its number.
LEAST_LETTERS = 6
_CLOSE_MM = 0.4


def draw_map(
    brush: Brush, sheet: Sheet, pages: Sequence[Page], settings: SheetSettings, box: Box, aside_deg: float = 90.0
) -> None:
    """The map in the upper left of a box (mm), as large as it goes; pages left out are dashed and crossed.

    Names that have no room from left to right stand at ``aside_deg``.
    """
    x0, _, _, y1 = box
    scale = map_scale(box, pages, settings)
    low_left = (x0, y1 - settings.size_of(pages[-1].column, pages[-1].row)[1] * scale)
    for page in pages:
        cell = _cell(page, settings, low_left, scale)
        brush.box(cell, JOIN) if not page.skipped else brush.lines(_crossed(cell), LEFT_OUT)
    _draw_pieces(brush, sheet, low_left, scale)
    clear = ClearPlaces(box, [_small(stroke, low_left, scale) for one in sheet.placed for stroke in _lines_of(one)])
    for page in pages:
        _name_page(brush, clear, page, _cell(page, settings, low_left, scale))
    for number, one in enumerate(sheet.placed, 1):
        _name_piece(brush, clear, one, number, low_left, scale, aside_deg)


def map_scale(box: Box, pages: Sequence[Page], settings: SheetSettings) -> float:
    """How large the map is in a box (mm), over the sheet."""
    wide, high = settings.size_of(pages[-1].column, pages[-1].row)
    return min((box[2] - box[0]) / wide, (box[3] - box[1]) / high, LARGEST_SCALE)


def _cell(page: Page, settings: SheetSettings, low_left: tuple[float, float], scale: float) -> Box:
    """The part of a page that is seen when it is taped, from join to join, on the map."""
    half = settings.overlap_mm / 2
    x0 = page.origin[0] + (half if page.left else 0.0)
    y0 = page.origin[1] + (half if page.below else 0.0)
    x1 = page.origin[0] + settings.live[0] - (half if page.right else 0.0)
    y1 = page.origin[1] + settings.live[1] - (half if page.above else 0.0)
    left, low = low_left
    return (left + scale * x0, low + scale * y0, left + scale * x1, low + scale * y1)


def _crossed(cell: Box) -> list[list[tuple[float, float]]]:
    x0, y0, x1, y1 = cell[0] + 0.4, cell[1] + 0.4, cell[2] - 0.4, cell[3] - 0.4
    around = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
    return [around, [(x0, y0), (x1, y1)], [(x0, y1), (x1, y0)]]


def _lines_of(one: Placed) -> list[Stroke]:
    """What of a piece is drawn on the map: its outermost line and its grainline."""
    outer = Role.CUT if any(stroke.role is Role.CUT for stroke in one.there.strokes) else Role.STITCH
    return [stroke for stroke in one.there.strokes if stroke.role in (outer, Role.GRAIN)]


def _draw_pieces(brush: Brush, sheet: Sheet, low_left: tuple[float, float], scale: float) -> None:
    canvas = brush.canvas
    canvas.saveState()
    canvas.translate(low_left[0] * MM, low_left[1] * MM)
    canvas.scale(scale, scale)
    for one in sheet.placed:
        for look, wanted in ((OUTLINE, False), (ARROW, True)):
            brush.look(look, 1 / scale)
            brush.strokes(stroke for stroke in _lines_of(one) if (stroke.role is Role.GRAIN) is wanted)
    canvas.restoreState()


def _small(stroke: Stroke, low_left: tuple[float, float], scale: float) -> shapely.LineString:
    return shapely.LineString(flatten(stroke.chain, 0.5)[0] * scale + np.array(low_left))


def _name_page(brush: Brush, clear: ClearPlaces, page: Page, cell: Box) -> None:
    """The page's name where no outline runs; where there is no such place, in the upper left corner."""
    x0, y0, x1, y1 = cell
    if page.skipped:
        return
    largest = min(3.6, 0.25 * (x1 - x0))

    def places() -> Iterator[Words]:
        for size in (largest, 0.8 * largest, 0.6 * largest):
            for down in (0.0, 1.0, 0.5, 0.25, 0.75):
                for along in (0.0, 1.0, 0.5, 0.25, 0.75, 0.375, 0.625):
                    wide = Words(Role.TITLE, (0.0, 0.0), page.name, size).width_mm
                    x = x0 + 0.9 + wide / 2 + along * (x1 - x0 - 1.8 - wide)
                    y = y1 - 0.7 - 0.85 * size - down * (y1 - y0 - 1.4 - 1.7 * size)
                    yield Words(Role.TITLE, (x, y), page.name, size)

    found = clear.first(places(), _CLOSE_MM)
    if found is None:
        found = Words(Role.TITLE, (x0 + 1.0, y1 - 2.5), page.name, 0.6 * largest, anchor="start")
        clear.take(found)
    brush.words(found, 0.4)


def _name_piece(
    brush: Brush, clear: ClearPlaces, one: Placed, number: int, low_left: tuple[float, float], scale: float,
    aside_deg: float,
) -> None:
    """The piece's number and name inside it, as near to its middle as outlines and page names allow; where there is no
    room its number alone, there or led out."""
    bounds = one.there.bounds()
    x0, x1 = (low_left[0] + scale * bounds[i] for i in (0, 2))
    y0, y1 = (low_left[1] + scale * bounds[i] for i in (1, 3))
    shares = [(i / 12, j / 12) for i in range(1, 12) for j in range(1, 12)]
    shares.sort(key=lambda share: (share[0] - 0.5) ** 2 + (share[1] - 0.5) ** 2)
    # Another piece may lie within its box.
    outer = shapely.union_all([shapely.Polygon(_small(s, low_left, scale)) for s in _lines_of(one) if s.closed])
    places = [(x0 + a * (x1 - x0), y0 + b * (y1 - y0)) for a, b in shares]
    inside = [at for at in places if shapely.contains_xy(outer, *at)]
    whole, longest = f"{number} {one.drawing.name}", max(x1 - x0, y1 - y0)
    names = [fitted(whole, NAME_MM, longest * share) for share in NAME_SHARES]
    names = [name for name in names if name == whole or len(name) >= LEAST_LETTERS + len(str(number))]
    ways = itertools.product(dict.fromkeys((*names, str(number))), (NAME_MM, SMALLEST_MM), (0.0, aside_deg), inside)
    found = clear.first((Words(Role.LABEL, at, text, size, angle) for text, size, angle, at in ways), _CLOSE_MM)
    if found is None:
        _lead_out(brush, clear, str(number), (x0, y0, x1, y1))
    else:
        brush.words(found)


def _lead_out(brush: Brush, clear: ClearPlaces, number: str, box: Box) -> None:
    """The number beside a small piece, with a thin line from the middle of its box."""
    (x0, y0, x1, y1), rounds = box, [math.radians(angle) for angle in range(0, 360, 15)]
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    places = [
        (middle[0] + (far + (x1 - x0) / 2) * math.cos(angle), middle[1] + (far + (y1 - y0) / 2) * math.sin(angle))
        for far in (2.5, 4.0, 6.0, 9.0, 13.0, 18.0, 25.0) for angle in rounds
    ]
    found = clear.first((Words(Role.LABEL, at, number, NAME_MM) for at in places), _CLOSE_MM)
    if found is not None:
        brush.words(found)
        reach = math.dist(middle, found.at)
        share = max(0.0, 1 - (0.85 * NAME_MM + 0.4) / reach)
        end = (middle[0] + share * (found.at[0] - middle[0]), middle[1] + share * (found.at[1] - middle[1]))
        brush.lines([[middle, end]], ARROW)
