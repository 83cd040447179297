"""A sheet in tiles as PDF: a first page to check the size and show the map, then a page a tile, at true size.

The sheet is one form object that every tile shows through its live box. No page asks to be scaled; whether the
printer obeys can be measured on the first page.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from app.files.first_page import draw_first_page
from app.files.paper_pen import MM
from app.files.pdf_file import PdfFile
from app.files.tile_page import draw_tile
from geometry.errors import PatternError
from geometry.print_scale import NONE, Correction
from geometry.sheets import Page, Sheet, SheetSettings, page_records, tile

SHEET = "sheet"
#: What viewers call the page with the test squares.
FIRST_PAGE = "first page"
#: The first page of the file is the test squares and the map; tile 1 stands on the second.
FIRST_TILE = 2


def tiles_pdf(
    sheet: Sheet,
    settings: SheetSettings,
    title: str = "",
    subject: str = "",
    *,
    correction: Correction = NONE,
    only: Collection[str] | None = None,
    date: str = "",
) -> tuple[bytes, dict[str, Any]]:
    """The PDF file and its pages as plain values (``geometry.sheets.page_records``).

    ``title`` names the garment, ``date`` says when it was saved, ``subject`` is more for the first page. A
    ``correction`` draws each page about its middle so that a printer that is off prints it true, and is said on every
    page. ``only`` names pages to print again; the first page is then left out. The same sheet gives the same bytes.
    Raises PatternError for a page in ``only`` that is not printed.
    """
    pages = tile(sheet, settings)
    chosen = _chosen(pages, only)
    keywords = ", ".join([f"{settings.paper.name} paper", *(one.drawing.name for one in sheet.placed)])
    says = f"Pattern pieces at true size on {settings.paper.name}, print without scaling"
    file = PdfFile(title, says, keywords, settings.page)
    if only is None:
        _begin(file.canvas, settings, correction)
        draw_first_page(file.brush, sheet, pages, settings, title, _together(date, subject or correction.says))
        file.end_page(FIRST_PAGE)
    rim = max(settings.live)
    file.form(SHEET, (-rim, -rim, sheet.width + rim, sheet.height + rim))
    file.brush.drawings([one.there for one in sheet.placed])
    file.end_form()
    for page in chosen:
        _begin(file.canvas, settings, correction)
        draw_tile(file.brush, sheet, page, pages, settings, (title, date, correction.says), SHEET)
        file.end_page(page.name)
    numbers = {page.name: number for number, page in enumerate(chosen, 1)}
    shown = [replace(page, number=numbers.get(page.name)) for page in pages]
    return file.closed(), page_records(sheet, shown, settings, FIRST_TILE if only is None else 1)


def _together(*parts: str) -> str:
    return " · ".join(part for part in parts if part)


def _chosen(pages: Sequence[Page], only: Collection[str] | None) -> list[Page]:
    """The pages to print, in the order they are taped."""
    printed = [page for page in pages if not page.skipped]
    if only is None:
        return printed
    names = {page.name for page in printed}
    for name in sorted(only):
        if name not in names:
            known = ", ".join(page.name for page in printed)
            raise PatternError(f"There is no page {name} to print; there are {known}.")
    return [page for page in printed if page.name in only]


def _begin(canvas: Any, settings: SheetSettings, correction: Correction) -> None:
    """A page on which all is drawn about its middle by the printer's correction."""
    if correction != NONE:
        (wide, high), (across, down) = settings.page, correction.scale
        canvas.transform(across, 0, 0, down, wide * MM / 2 * (1 - across), high * MM / 2 * (1 - down))

