"""A sheet in tiles as PDF: a first page to check the size and show the map, then a page a tile, at true size.

The sheet is one form object that every tile shows through its live box. No page asks to be scaled; whether the
printer obeys can be measured on the first page.
"""

from __future__ import annotations

import io
from typing import Any

from app.files.first_page import draw_first_page
from app.files.paper_pen import MM, Brush
from app.files.tile_page import draw_tile
from geometry.sheets import Sheet, SheetSettings, page_records, tile

SHEET = "sheet"
#: The first page of the file is the test squares and the map; tile 1 stands on the second.
FIRST_TILE = 2


def tiles_pdf(
    sheet: Sheet, settings: SheetSettings, title: str = "", subject: str = ""
) -> tuple[bytes, dict[str, Any]]:
    """The PDF file and its pages as plain values (``geometry.sheets.page_records``).

    ``title`` names the garment, ``subject`` is one more line for the first page. The same sheet gives the same bytes.
    """
    from reportlab.pdfgen.canvas import Canvas

    pages = tile(sheet, settings)
    size = (settings.page[0] * MM, settings.page[1] * MM)
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle(title or "Pattern pieces")
    canvas.setAuthor("Tuck & True")
    canvas.setCreator("Tuck & True")
    canvas.setSubject(f"Pattern pieces at true size on {settings.paper.name}, print without scaling")
    canvas.setViewerPreference("PrintScaling", "None")
    brush = Brush(canvas)
    draw_first_page(brush, sheet, pages, settings, title, subject)
    canvas.showPage()
    _make_form(canvas, sheet, settings)
    for page in pages:
        if not page.skipped:
            draw_tile(brush, sheet, page, pages, settings, title, SHEET)
            canvas.showPage()
    canvas.save()
    return stream.getvalue(), page_records(sheet, pages, settings, FIRST_TILE)


def _make_form(canvas: Any, sheet: Sheet, settings: SheetSettings) -> None:
    rim = max(settings.live) * MM
    canvas.beginForm(SHEET, -rim, -rim, sheet.width * MM + rim, sheet.height * MM + rim)
    brush = Brush(canvas)
    for one in sheet.placed:
        brush.drawing(one.there)
    canvas.endForm()
