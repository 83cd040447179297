"""Recorded drawings -> pages: pieces arranged on one sheet, the sheet cut into tiles that overlap.

Sheet and pages are in mm, y up. A page shows its live box; neighbouring live boxes share ``overlap_mm``. The join
between two pages runs down the middle of what they share. Rows count from the top, columns from the left.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import shapely

from geometry.drawing import Box, Drawing, Placed, Stroke
from geometry.errors import PatternError
from geometry.lines import Chain, flatten, straight
from geometry.motions import Motion, Point
from geometry.papers import A4, Paper

#: Pieces on a sheet keep this far apart (mm).
APART_MM = 5.0
#: Points this close to a curve decide which pages a line touches (mm).
TOUCH_MM = 0.1
#: Half the width of the thickest line and a little more: a line this near a page is drawn on it (mm).
LINE_MM = 0.5
LEAST_OVERLAP_MM, MOST_OVERLAP_MM = 10.0, 15.0
MOST_COLUMNS = 8


@dataclass(frozen=True)
class SheetSettings:
    """How a sheet is cut into pages. Raises PatternError when margins leave no room or the overlap is out of range.

    ``margin_mm`` stays unprinted on every side. An ``overlap_mm`` of 0 has the pages meet edge to edge (butt joins).
    """

    paper: Paper = A4
    margin_mm: float = 6.35
    overlap_mm: float = 12.0
    landscape: bool = False

    def __post_init__(self) -> None:
        if self.overlap_mm != 0 and not LEAST_OVERLAP_MM <= self.overlap_mm <= MOST_OVERLAP_MM:
            least, most = LEAST_OVERLAP_MM, MOST_OVERLAP_MM
            raise PatternError(
                f"Pages overlap by {least:g} to {most:g} mm, or by 0 to meet edge to edge; {self.overlap_mm:g} mm is "
                "neither."
            )
        if self.margin_mm < 0 or min(self.live) < 100.0:
            raise PatternError(f"A margin of {self.margin_mm:g} mm leaves no room to print on {self.paper.name}.")

    @property
    def page(self) -> tuple[float, float]:
        """Page width and height (mm)."""
        size = (self.paper.width_mm, self.paper.height_mm)
        return size[::-1] if self.landscape else size

    @property
    def live(self) -> tuple[float, float]:
        """Width and height of the live box (mm)."""
        return (self.page[0] - 2 * self.margin_mm, self.page[1] - 2 * self.margin_mm)

    @property
    def step(self) -> tuple[float, float]:
        """From one page to the next, across and down (mm)."""
        return (self.live[0] - self.overlap_mm, self.live[1] - self.overlap_mm)

    def size_of(self, columns: int, rows: int) -> tuple[float, float]:
        """Width and height (mm) of a sheet of so many pages."""
        return (columns * self.step[0] + self.overlap_mm, rows * self.step[1] + self.overlap_mm)


@dataclass(frozen=True, eq=False)
class Sheet:
    """Pieces laid on one sheet; its lower left corner is (0, 0)."""

    placed: tuple[Placed, ...]
    width: float
    height: float

    @cached_property
    def touched(self) -> shapely.STRtree:
        """Every line and word on the sheet, for asking what lies in a box."""
        shapes: list[shapely.Geometry] = [_shape(stroke) for one in self.placed for stroke in one.there.strokes]
        shapes += [shapely.Polygon(words.box()) for one in self.placed for words in one.there.words]
        return shapely.STRtree(shapes)

    @cached_property
    def owners(self) -> tuple[int, ...]:
        """The piece of each shape in ``touched``, counted in ``placed`` from 0."""
        strokes = [number for number, one in enumerate(self.placed) for _ in one.there.strokes]
        return (*strokes, *(number for number, one in enumerate(self.placed) for _ in one.there.words))

    def placed_in(self, box: Box) -> tuple[int, ...]:
        """The pieces that have a line or a word in a box, counted in ``placed`` from 0, in the order they were laid."""
        hits = self.touched.query(shapely.box(*box), predicate="intersects")
        return tuple(dict.fromkeys(self.owners[index] for index in sorted(hits)))


@dataclass(frozen=True)
class Page:
    """One tile of a sheet.

    ``row`` 1 is the top, ``column`` 1 the left; ``origin`` is where the lower left corner of its live box lies on
    the sheet. ``number`` counts the pages that are printed from 1 in the order they are taped, None when skipped.
    ``left``, ``right``, ``above`` and ``below`` name the neighbours, None where the sheet ends. ``pieces`` are names,
    ``placed`` the same pieces as counted on the sheet from 0: two may have one name.
    """

    row: int
    column: int
    origin: Point
    number: int | None
    pieces: tuple[str, ...]
    left: str | None
    right: str | None
    above: str | None
    below: str | None
    placed: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        return page_name(self.row, self.column)

    @property
    def skipped(self) -> bool:
        return self.number is None


def page_name(row: int, column: int) -> str:
    """Row letter and column number: “A1” is the top left page, the row after Z is AA."""
    letters = ""
    while row > 0:
        row, rest = divmod(row - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{column}"


def beside(drawings: Sequence[Drawing], apart: float = 20.0) -> Sheet:
    """The drawings side by side on one base line, unturned, with ``apart`` mm between and around them."""
    placed, x, top = [], apart, 0.0
    for drawing in drawings:
        x0, y0, x1, y1 = drawing.bounds()
        placed.append(Placed(drawing, Motion(e=x - x0, f=apart - y0)))
        x += x1 - x0 + apart
        top = max(top, y1 - y0)
    return Sheet(tuple(placed), x, top + 2 * apart)


def tile(sheet: Sheet, settings: SheetSettings) -> tuple[Page, ...]:
    """The pages of a sheet row by row from the top left; pages with nothing on their own part are skipped."""
    columns, rows = _pages_across(sheet, settings)
    pages: list[Page] = []
    number = 0
    for row in range(1, rows + 1):
        for column in range(1, columns + 1):
            origin = ((column - 1) * settings.step[0], (rows - row) * settings.step[1])
            placed = sheet.placed_in(own_part(row, column, rows, columns, settings))
            names = tuple(dict.fromkeys(sheet.placed[index].drawing.name for index in placed))
            number += bool(placed)
            pages.append(
                Page(
                    row,
                    column,
                    origin,
                    number if names else None,
                    names,
                    page_name(row, column - 1) if column > 1 else None,
                    page_name(row, column + 1) if column < columns else None,
                    page_name(row - 1, column) if row > 1 else None,
                    page_name(row + 1, column) if row < rows else None,
                    placed,
                )
            )
    return tuple(pages)


def joined_sides(page: Page, printed: Container[str]) -> tuple[str, ...]:
    """The sides of a page that have a join line: "left", "right", "above", "below"; ``printed`` are page names.

    Rows are taped first and laid over each other as wholes, so that a page is also cut below where only a page
    diagonally below is printed: its corner would cover that page's corner.
    """
    around = {-1: "above", 1: "below"}
    sides = [side for side in ("left", "right") if getattr(page, side) in printed]
    for down, side in around.items():
        row = [page_name(page.row + down, page.column + aside) for aside in (-1, 0, 1)]
        if any(name in printed for name in row):
            sides.append(side)
    return tuple(sides)


def join_lines(sheet: Sheet, settings: SheetSettings) -> tuple[Chain, ...]:
    """Every line on the sheet along which two pages may be joined, and both frames beside it, from end to end."""
    columns, rows = _pages_across(sheet, settings)
    (dx, dy), beside = settings.step, sorted({0.0, settings.overlap_mm / 2, settings.overlap_mm})
    upright = [straight((k * dx + x, 0.0), (k * dx + x, sheet.height)) for k in range(1, columns) for x in beside]
    lying = [straight((0.0, k * dy + y), (sheet.width, k * dy + y)) for k in range(1, rows) for y in beside]
    return (*upright, *lying)


def join_places(sheet: Sheet, settings: SheetSettings) -> tuple[list[float], list[float]]:
    """Where joins run on the sheet (mm): the x of upright ones, the y of lying ones."""
    (columns, rows), (dx, dy), half = _pages_across(sheet, settings), settings.step, settings.overlap_mm / 2
    return [k * dx + half for k in range(1, columns)], [k * dy + half for k in range(1, rows)]


def own_part(row: int, column: int, rows: int, columns: int, settings: SheetSettings) -> Box:
    """The part of the sheet that a page keeps when it is taped, from join to join, LINE_MM added all round."""
    (dx, dy), half = settings.step, settings.overlap_mm / 2
    x0 = (column - 1) * dx + (half if column > 1 else 0.0)
    x1 = column * dx + (half if column < columns else 2 * half)
    y0 = (rows - row) * dy + (half if row < rows else 0.0)
    y1 = (rows - row + 1) * dy + (half if row > 1 else 2 * half)
    return (x0 - LINE_MM, y0 - LINE_MM, x1 + LINE_MM, y1 + LINE_MM)


def page_records(sheet: Sheet, pages: Iterable[Page], settings: SheetSettings, first: int) -> dict[str, object]:
    """The pages as plain values for a report; ``first`` is the page of the file on which tile number 1 stands.

    ``page`` counts the pages of the file from 1 and is None for a tile that was left out.
    """
    live = [settings.margin_mm, settings.margin_mm, *settings.live]
    return {
        "pages": [
            {
                "page": None if page.number is None else page.number + first - 1,
                "name": page.name,
                "row": page.row,
                "column": page.column,
                "live_mm": [round(value, 6) for value in live],
                "origin_mm": [round(value, 6) for value in page.origin],
                "turned_deg": 0,
                "skipped": page.skipped,
                "pieces": list(page.pieces),
            }
            for page in pages
        ],
        "sheet": [
            {"piece": one.piece_id, "transform": [round(value, 6) for value in six_numbers(one.motion)]}
            for one in sheet.placed
        ],
    }


def six_numbers(motion: Motion) -> tuple[float, float, float, float, float, float]:
    """A motion as the six numbers of an SVG or PDF matrix."""
    return (motion.a, motion.b, motion.c, motion.d, motion.e, motion.f)


def _pages_across(sheet: Sheet, settings: SheetSettings) -> tuple[int, int]:
    """How many columns and rows of pages a sheet takes."""
    columns = math.ceil((sheet.width - settings.overlap_mm) / settings.step[0] - 1e-9)
    rows = math.ceil((sheet.height - settings.overlap_mm) / settings.step[1] - 1e-9)
    return max(1, columns), max(1, rows)


def _shape(stroke: Stroke) -> shapely.LineString:
    return shapely.LineString(flatten(stroke.chain, TOUCH_MM)[0])
