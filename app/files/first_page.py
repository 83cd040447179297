"""The first page of a print: two squares and a rule to measure, how to tape, and the map of pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.files.first_page_lists import draw_lists, lists_high
from app.files.map_of_pages import draw_map, map_scale
from app.files.paper_pen import INK, Brush, fitted
from app.files.taped_pages import HIGH_MM, WIDE_MM, draw_join_sketch
from geometry.drawing import Box, Look
from geometry.errors import PatternError
from geometry.letter_widths import width_mm, wrapped
from geometry.motions import Point
from geometry.sheets import Page, Sheet, SheetSettings

RULE_MM = 200.0
SQUARE_MM = 100.0
FOUR_INCHES_MM = 4 * 25.4
HEADING_MM = 15.0
LEAST_MAP_MM = 36.0
BODY_MM = 2.3
PITCH = 2.2
#: What the heading of the map takes above it, and what is left between it and the lists (mm).
MAP_HEADING_MM, LISTS_APART_MM = 14.0, 6.0
#: One more row of words under that heading (mm), and how much larger a map must be for it to lie on its side.
MAP_ROW_MM, LARGER_TURNED = 4.5, 1.4
_THIN = Look(0.15)


@dataclass(frozen=True)
class _Places:
    """Where on the page squares and rule stand (lower left corners), and the boxes beside and under them (mm)."""

    hundred: Point
    four_inches: Point
    rule: Point
    rule_upright: bool
    column: Box
    foot: Box


def draw_first_page(
    brush: Brush, sheet: Sheet, pages: Sequence[Page], settings: SheetSettings, title: str, subject: str
) -> None:
    """Test squares of 100 mm and 4 in, a rule of 200 mm, the steps of taping, the map of pages, and what lies on which.

    Raises PatternError when the paper has no room for them.
    """
    (wide, high), margin = settings.page, settings.margin_mm + 1.0
    top = high - margin - (HEADING_MM + 5.0 if subject else HEADING_MM)
    places = _places(settings, margin, top)
    _heading(brush, margin, wide - margin, high - margin, pages, settings, title, subject)
    draw_rule(brush, places.rule, upright=places.rule_upright)
    draw_square(brush, places.hundred, SQUARE_MM, "100 mm")
    ended = draw_steps(brush, places.hundred, SQUARE_MM, "Before printing the rest", _checking(settings))
    left, low = places.hundred[0] + (SQUARE_MM - WIDE_MM) / 2, places.hundred[1] + 2.0
    printed = {page.name for page in pages if not page.skipped}
    joined = next(((page.name, page.right) for page in pages if {page.name, page.right} <= printed), None)
    if joined and joined[1] and ended + 4.0 > low + HIGH_MM:
        draw_join_sketch(brush, (left, low), joined[0], joined[1], overlap=settings.overlap_mm > 0)
    draw_square(brush, places.four_inches, FOUR_INCHES_MM, "4 in")
    draw_steps(brush, places.four_inches, FOUR_INCHES_MM, "Taping the pages", _taping(settings))
    map_box, lists = _map_and_lists(sheet, pages, settings, places)
    _draw_map(brush, sheet, pages, settings, map_box)
    draw_lists(brush, sheet, pages, lists)


def _draw_map(brush: Brush, sheet: Sheet, pages: Sequence[Page], settings: SheetSettings, box: Box) -> None:
    """The map under its heading; of few rows and many columns on its side, where it is far larger so."""
    left, low, right, upper = box
    brush.text((left, upper - 5.0), "Map of pages", 3.0, bold=True)
    under = (left, low, right, upper - MAP_HEADING_MM)
    turned = (0.0, 0.0, under[3] - MAP_ROW_MM - low, right - left)
    scale = map_scale(turned, pages, settings)
    on_its_side = scale >= LARGER_TURNED * map_scale(under, pages, settings)
    row = upper - 10.5
    if on_its_side:
        brush.text((left, row), "turn this page on its side to read it", BODY_MM - 0.2)
        row -= MAP_ROW_MM
    if any(page.skipped for page in pages):
        brush.text((left, row), "dashed and crossed: empty, left out", BODY_MM - 0.2)
    if not on_its_side:
        draw_map(brush, sheet, pages, settings, under)
        return
    wide, high = (scale * size for size in settings.size_of(pages[-1].column, pages[-1].row))
    with brush.turned((left + high, under[3] - MAP_ROW_MM - wide)):
        draw_map(brush, sheet, pages, settings, (0.0, high - (right - left), wide, high), aside_deg=-90.0)


def _map_and_lists(sheet: Sheet, pages: Sequence[Page], settings: SheetSettings, places: _Places) -> tuple[Box, Box]:
    """Boxes for the map and for what is listed: both in the column, or the map at the foot where it is larger so."""
    left, low, right, upper = places.column
    need = lists_high(sheet, pages, right - left)
    beside = (left, min(low + need + LISTS_APART_MM, upper - LEAST_MAP_MM - MAP_HEADING_MM), right, upper)
    foot = places.foot
    if low + (foot[3] - foot[1]) + need <= upper and _map_scale(foot, pages, settings) > _map_scale(
        beside, pages, settings
    ):
        return foot, (left, foot[3], right, upper)
    return beside, (left, low, right, beside[1] - LISTS_APART_MM)


def _map_scale(box: Box, pages: Sequence[Page], settings: SheetSettings) -> float:
    return map_scale((box[0], box[1], box[2], box[3] - MAP_HEADING_MM), pages, settings)


def _places(settings: SheetSettings, margin: float, top: float) -> _Places:
    """The squares one above the other beside an upright rule, or side by side above a lying one.

    They never stand in one line, so that each can be measured alone.
    """
    wide, right = settings.page[0] - 2 * margin, settings.page[0] - margin
    upper, top = top, top - 8.0
    aside = (FOUR_INCHES_MM - SQUARE_MM) / 2
    if top - margin >= SQUARE_MM + FOUR_INCHES_MM + 11.0 and wide >= FOUR_INCHES_MM + 22.0 + LEAST_MAP_MM:
        left = margin + 14.0
        first, second = top - SQUARE_MM, top - SQUARE_MM - 11.0 - FOUR_INCHES_MM
        column = (left + FOUR_INCHES_MM + 8.0, margin, right, upper)
        rule = (margin + 1.0, top - RULE_MM)
        return _Places((left + aside, first), (left, second), rule, True, column, (margin, margin, right, second - 4.0))
    lying_wide, lying_high = SQUARE_MM + FOUR_INCHES_MM + 18.0 + LEAST_MAP_MM, FOUR_INCHES_MM + 24.0 + LEAST_MAP_MM
    if top - margin >= lying_high and wide >= lying_wide:
        second, low = margin + SQUARE_MM + 10.0, top - FOUR_INCHES_MM
        column = (second + FOUR_INCHES_MM + 8.0, margin, right, upper)
        rule = (margin, low - 14.0)
        return _Places((margin, low + aside), (second, low), rule, False, column, (margin, margin, right, low - 18.0))
    raise PatternError(
        f"{settings.paper.name} with a margin of {settings.margin_mm:g} mm is too small for the page with the test "
        "squares and the map; take A4, Letter or a larger paper."
    )


def _heading(
    brush: Brush, left: float, right: float, top: float, pages: Sequence[Page], settings: SheetSettings, title: str,
    subject: str,
) -> None:
    """The title and what was printed."""
    printed = sum(not page.skipped for page in pages)
    brush.text((left, top - 3.0), fitted(title or "Pattern pieces", 5.0, right - left, bold=True), 5.0, bold=True)
    columns = pages[-1].column
    sheets = f"{printed} sheet" + ("s" if printed != 1 else "")
    left_out = len(pages) - printed
    more = f"; {left_out} empty left out" if left_out else ""
    last = pages[-1].name.rstrip("0123456789")
    rows = "row A" if last == "A" else f"rows A to {last}"
    across = "column 1" if columns == 1 else f"columns 1 to {columns}"
    overlap = f"overlap by {settings.overlap_mm:g} mm" if settings.overlap_mm else "meet edge to edge"
    says = f"{settings.paper.name} paper, {rows}, {across}: {sheets} to tape{more}. Pages {overlap}."
    if width_mm(says, BODY_MM) > right - left:
        # The map says it too.
        says = says.replace(more, "")
    brush.text((left, top - 11.0), fitted(says, BODY_MM, right - left), BODY_MM)
    if subject:
        brush.text((left, top - 16.0), fitted(subject, BODY_MM, right - left), BODY_MM)


def _checking(settings: SheetSettings) -> list[str]:
    return [
        "Print this page alone at “actual size”, “100 %” or “scaling: none”, never “fit to page”, on "
        f"{settings.paper.name} paper.",
        "Measure this square both ways: 100 mm.",
        "Measure the other square both ways: 4 in, which is 101.6 mm.",
        "Measure the rule: 200 mm.",
        "If one of them is off by more than half a millimetre, look for a scaling setting or the wrong paper in the "
        "tray; do not cut cloth from it.",
    ]


def _taping(settings: SheetSettings) -> list[str]:
    if not settings.overlap_mm:
        return [
            "Lay the pages out as on the map: the letter is the row from the top, the number the column from the left.",
            "On each page cut along the dashed join lines, on every side that has one. Cut away from your fingers.",
            "Lay two pages edge to edge, so that the halves of the diamonds at both ends of the join meet; tape on the "
            "back.",
            "Tape each row from left to right, then the rows from top to bottom, wherever there is a join line.",
        ]
    return [
        "Lay the pages out as on the map: the letter is the row from the top, the number the column from the left.",
        "On each page cut along the dashed join line on the right and on the one below, where there are such lines. "
        "The other two sides stay as they are. Cut away from your fingers.",
        "Lay the cut edge over the next page onto its dashed join line, so that the halves of the diamonds at both "
        "ends meet; tape.",
        "Tape each row from left to right, then the rows from top to bottom, wherever there is a join line.",
        f"Behind each join {settings.overlap_mm / 2:g} mm of the next page are left for paste or tape to hold.",
    ]


def draw_rule(
    brush: Brush, corner: Point, *, upright: bool, length: float = RULE_MM, labelled: bool = True
) -> None:
    """A rule in millimetres, numbered in centimetres, upright or lying; ``length`` in mm, whole centimetres.

    ``labelled`` says its length at its end.
    """
    x, y = corner
    ticks = [[(0.0, 0.0), (length, 0.0)]]
    for millimetre in range(int(length) + 1):
        tick = 5.0 if millimetre % 10 == 0 else 3.5 if millimetre % 5 == 0 else 2.0
        ticks.append([(float(millimetre), 0.0), (float(millimetre), tick)])
    brush.lines([[(x + b, y + a) if upright else (x + a, y + b) for a, b in tick] for tick in ticks], _THIN)
    for centimetre in range(1, int(length / 10) + 1):
        at = (x + 5.8, y + 10 * centimetre) if upright else (x + 10 * centimetre, y + 7.0)
        brush.text(at, str(centimetre), 1.7, anchor="start" if upright else "middle")
    if labelled:
        brush.text((x, y - 4.0) if upright else (x + length + 5.0, y + 3.0), f"{length:g} mm", 2.0)


def draw_square(brush: Brush, corner: tuple[float, float], side: float, says: str) -> None:
    x, y = corner
    brush.box((x, y, x + side, y + side), INK)
    brush.text((x + side / 2, y + side + 3.0), says, BODY_MM + 0.4, anchor="middle", bold=True)


def draw_steps(brush: Brush, corner: tuple[float, float], side: float, heading: str, steps: list[str]) -> float:
    """Numbered sentences inside a square; gives the height (mm) at which they end."""
    x, y = corner[0] + 7.0, corner[1] + side - 11.0
    brush.text((x, y), heading, 3.0, bold=True)
    y -= 8.0
    for number, step in enumerate(steps, start=1):
        brush.text((x, y), str(number), BODY_MM, bold=True)
        for row in wrapped(step, BODY_MM, side - 20.0):
            brush.text((x + 6.0, y), row, BODY_MM)
            y -= BODY_MM * PITCH
        y -= 2.2
    return y
