"""The first page of a print: two squares and a rule to measure, how to tape, and the map of pages."""

from __future__ import annotations

from collections.abc import Sequence

from app.files.paper_pen import FAINT, INK, MM, Brush
from geometry.drawing import LOOKS, Box, Look, Role
from geometry.letter_widths import width_mm
from geometry.sheets import Page, Sheet, SheetSettings

INCH_MM = 25.4
RULE_MM = 200.0
SQUARE_MM = 100.0
BODY_MM = 2.3
PITCH = 2.2
_THIN = Look(0.15)
_JOIN = Look(0.2, (), 0.35)
_LEFT_OUT = Look(0.15, (1.0, 1.5), 0.5)


def draw_first_page(
    brush: Brush, sheet: Sheet, pages: Sequence[Page], settings: SheetSettings, title: str, subject: str
) -> None:
    """Test squares of 100 mm and 4 in, a rule of 200 mm, the steps of taping, and the map of pages."""
    (wide, high), margin = settings.page, settings.margin_mm + 1.0
    top = _heading(brush, margin, wide - margin, high - margin, pages, settings, title, subject)
    column = margin + 13.0
    _rule(brush, margin + 1.0, margin + 8.0)
    first = (column, margin + SQUARE_MM * 0 + 8.0)
    _square(brush, first, 4 * INCH_MM, "4 in")
    _paragraph(brush, first, 4 * INCH_MM, "Taping the pages", _taping(settings))
    second = (column, first[1] + 4 * INCH_MM + 12.0)
    _square(brush, second, SQUARE_MM, "100 mm")
    _paragraph(brush, second, SQUARE_MM, "Before printing the rest", _checking(settings))
    left = column + 4 * INCH_MM + 9.0
    _map(brush, sheet, pages, settings, (left, margin, wide - margin, top))


def _heading(
    brush: Brush, left: float, right: float, top: float, pages: Sequence[Page], settings: SheetSettings, title: str,
    subject: str,
) -> float:
    """The title and what was printed; gives the height (mm) at which it ends."""
    printed = sum(not page.skipped for page in pages)
    brush.text((left, top - 3.0), _fitted(title or "Pattern pieces", 5.0, right - left, bold=True), 5.0, bold=True)
    rows, columns = pages[-1].row, pages[-1].column
    sheets = f"{printed} sheet" + ("s" if printed != 1 else "")
    left_out = len(pages) - printed
    more = f"; {left_out} empty left out" if left_out else ""
    says = f"{settings.paper.name}, {rows} rows of {columns}: {sheets} to tape{more}. Pages overlap by {settings.overlap_mm:g} mm."
    brush.text((left, top - 11.0), _fitted(says, BODY_MM, right - left), BODY_MM)
    if subject:
        brush.text((left, top - 16.0), _fitted(subject, BODY_MM, right - left), BODY_MM)
    return top - (20.0 if subject else 15.0)


def _checking(settings: SheetSettings) -> list[str]:
    return [
        "Print this page alone at “actual size”, “100 %” or “scaling: none”, never “fit to page”, on "
        f"{settings.paper.name} paper.",
        "Measure this square both ways: 100 mm.",
        "Measure the one below both ways: 4 in, which is 101.6 mm.",
        "Measure the rule: 200 mm.",
        "If one of them is off by more than half a millimetre, look for a scaling setting or the wrong paper in the "
        "tray; do not cut cloth from it.",
    ]


def _taping(settings: SheetSettings) -> list[str]:
    return [
        "Lay the pages out as on the map: the letter is the row from the top, the number the column from the left.",
        "On each page cut along the dashed join line on the right and on the one below, where there are such lines. "
        "The other two sides stay as they are. Cut away from your fingers.",
        "Lay the cut edge over the next page onto its dashed join line, so that the halves of the diamonds at both "
        "ends meet; tape.",
        "Tape each row from left to right, then the rows from top to bottom.",
        f"Under each join {settings.overlap_mm / 2:g} mm of the next page lie for the tape to hold.",
    ]


def _rule(brush: Brush, x: float, y: float) -> None:
    """A rule of 200 mm upright, in millimetres, numbered in centimetres."""
    ticks = [[(x, y), (x, y + RULE_MM)]]
    for millimetre in range(int(RULE_MM) + 1):
        length = 5.0 if millimetre % 10 == 0 else 3.5 if millimetre % 5 == 0 else 2.0
        ticks.append([(x, y + millimetre), (x + length, y + millimetre)])
        if millimetre % 10 == 0 and millimetre:
            brush.text((x + 5.8, y + millimetre - (0.0 if millimetre < RULE_MM else 0.0)), str(millimetre // 10), 1.7)
    brush.lines(ticks, _THIN)
    brush.text((x, y - 4.0), "200 mm rule", BODY_MM)


def _square(brush: Brush, corner: tuple[float, float], side: float, says: str) -> None:
    x, y = corner
    brush.box((x, y, x + side, y + side), INK)
    brush.text((x + side / 2, y + side + 3.0), says, BODY_MM + 0.4, anchor="middle", bold=True)


def _paragraph(brush: Brush, corner: tuple[float, float], side: float, heading: str, steps: list[str]) -> None:
    """Numbered sentences inside a square."""
    x, y = corner[0] + 7.0, corner[1] + side - 11.0
    brush.text((x, y), heading, 3.0, bold=True)
    y -= 8.0
    for number, step in enumerate(steps, start=1):
        brush.text((x, y), str(number), BODY_MM, bold=True)
        for row in wrapped(step, BODY_MM, side - 20.0):
            brush.text((x + 6.0, y), row, BODY_MM)
            y -= BODY_MM * PITCH
        y -= 2.2


def _map(brush: Brush, sheet: Sheet, pages: Sequence[Page], settings: SheetSettings, box: Box) -> None:
    """Pieces drawn small over the numbered pages; pages left out are dashed and crossed."""
    x0, y0, x1, y1 = box
    brush.text((x0, y1 - 4.0), "Map of pages", 3.0, bold=True)
    brush.text((x0, y1 - 9.5), "left out: dashed and crossed", 1.9)
    y1 -= 14.0
    (full_width, full_height), (live_width, live_height) = settings.size_of(pages[-1].column, pages[-1].row), settings.live
    scale = min((x1 - x0) / full_width, (y1 - y0) / full_height, 0.12)
    left, low = x0, y1 - full_height * scale
    for page in pages:
        _map_page(brush, page, settings, (left, low), scale)
    canvas = brush.canvas
    canvas.saveState()
    canvas.translate(left * MM, low * MM)
    canvas.scale(scale, scale)
    for one in sheet.placed:
        brush.look(Look(0.3), 1 / scale)
        outline = [s for s in one.there.strokes if s.role is Role.CUT] or one.there.strokes[:1]
        brush.strokes(outline)
        brush.look(Look(0.15, LOOKS[Role.GRAIN].dashes), 1 / scale)
        brush.strokes(s for s in one.there.strokes if s.role is Role.GRAIN)
    canvas.restoreState()
    for one in sheet.placed:
        bounds = one.there.bounds()
        centre = (left + scale * (bounds[0] + bounds[2]) / 2, low + scale * (bounds[1] + bounds[3]) / 2)
        room = scale * max(bounds[2] - bounds[0], bounds[3] - bounds[1])
        upright = bounds[3] - bounds[1] > bounds[2] - bounds[0]
        brush.text(centre, _fitted(one.drawing.name, 2.0, room), 2.0, anchor="middle", angle=90.0 if upright else 0.0)


def _map_page(brush: Brush, page: Page, settings: SheetSettings, low_left: tuple[float, float], scale: float) -> None:
    x0 = low_left[0] + scale * (page.origin[0] + (settings.overlap_mm / 2 if page.left else 0.0))
    y0 = low_left[1] + scale * (page.origin[1] + (settings.overlap_mm / 2 if page.below else 0.0))
    x1 = low_left[0] + scale * (page.origin[0] + settings.live[0] - (settings.overlap_mm / 2 if page.right else 0.0))
    y1 = low_left[1] + scale * (page.origin[1] + settings.live[1] - (settings.overlap_mm / 2 if page.above else 0.0))
    size = min(3.4, 0.24 * (x1 - x0))
    if page.skipped:
        brush.box((x0 + 0.4, y0 + 0.4, x1 - 0.4, y1 - 0.4), _LEFT_OUT)
        brush.lines([[(x0 + 0.4, y0 + 0.4), (x1 - 0.4, y1 - 0.4)], [(x0 + 0.4, y1 - 0.4), (x1 - 0.4, y0 + 0.4)]], _LEFT_OUT)
        return
    brush.box((x0, y0, x1, y1), _JOIN)
    brush.text((x0 + 0.35 * size, y1 - 0.85 * size), page.name, size, bold=True, grey=0.35)


def wrapped(words: str, height: float, width: float) -> list[str]:
    """Words broken into rows no wider than ``width`` mm."""
    rows = [""]
    for word in words.split():
        longer = f"{rows[-1]} {word}".strip()
        if rows[-1] and width_mm(longer, height) > width:
            rows.append(word)
        else:
            rows[-1] = longer
    return rows


def _fitted(words: str, height: float, width: float, *, bold: bool = False) -> str:
    """The words, cut short with an ellipsis where they are wider than ``width`` mm."""
    if width_mm(words, height, bold=bold) <= width:
        return words
    while words and width_mm(words + "…", height, bold=bold) > width:
        words = words[:-1]
    return words.rstrip() + "…"
