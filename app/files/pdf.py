"""A sheet in tiles as PDF: a first page to check the size and show the map, then a page a tile, at true size.

The sheet is one form object that every tile shows through its live box. No page asks to be scaled; whether the
printer obeys can be measured on the first page.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from app.files.first_page import draw_first_page
from app.files.paper_pen import MM, Brush
from app.files.tile_page import draw_tile
from geometry.errors import PatternError
from geometry.print_scale import NONE, Correction
from geometry.sheets import Page, Sheet, SheetSettings, page_records, tile

SHEET = "sheet"
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
) -> tuple[bytes, dict[str, Any]]:
    """The PDF file and its pages as plain values (``geometry.sheets.page_records``).

    ``title`` names the garment, ``subject`` is one more line for the first page. A ``correction`` draws each page about
    its middle so that a printer that is off prints it true, and is said on every page. ``only`` names pages to print
    again; the first page is then left out. The same sheet gives the same bytes. Raises PatternError for a page in
    ``only`` that is not printed.
    """
    from reportlab.pdfgen.canvas import Canvas

    pages = tile(sheet, settings)
    chosen = _chosen(pages, only)
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=_page_size(settings), invariant=1, pageCompression=1)
    canvas.setTitle(title or "Pattern pieces")
    canvas.setAuthor("Tuck & True")
    canvas.setCreator("Tuck & True")
    canvas.setSubject(f"Pattern pieces at true size on {settings.paper.name}, print without scaling")
    canvas.setViewerPreference("PrintScaling", "None")
    brush = Brush(canvas)
    if only is None:
        _begin(canvas, settings, correction)
        draw_first_page(brush, sheet, pages, settings, title, subject or correction.says)
        canvas.showPage()
    _make_form(canvas, sheet, settings)
    for page in chosen:
        _begin(canvas, settings, correction)
        draw_tile(brush, sheet, page, pages, settings, " · ".join(t for t in (title, correction.says) if t), SHEET)
        canvas.showPage()
    canvas.save()
    numbers = {page.name: number for number, page in enumerate(chosen, 1)}
    shown = [replace(page, number=numbers.get(page.name)) for page in pages]
    return stream.getvalue(), page_records(sheet, shown, settings, FIRST_TILE if only is None else 1)


def _page_size(settings: SheetSettings) -> tuple[float, float]:
    return (settings.page[0] * MM, settings.page[1] * MM)


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
        (wide, high), (across, down) = _page_size(settings), correction.scale
        canvas.transform(across, 0, 0, down, wide / 2 * (1 - across), high / 2 * (1 - down))


def _make_form(canvas: Any, sheet: Sheet, settings: SheetSettings) -> None:
    rim = max(settings.live) * MM
    canvas.beginForm(SHEET, -rim, -rim, sheet.width * MM + rim, sheet.height * MM + rim)
    brush = Brush(canvas)
    for one in sheet.placed:
        brush.drawing(one.there)
    canvas.endForm()
