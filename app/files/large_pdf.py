"""Large sheets and rolls as PDF: a page a sheet, exactly as large as the paper."""

from __future__ import annotations

from collections.abc import Sequence

from app.files.layers import OF_PAGES, PAGE_NAMES
from app.files.paper_pen import MM, fitted
from app.files.pdf_file import PdfFile
from geometry.sheets import Sheet


def large_pdf(sheets: Sequence[Sheet], title: str = "") -> bytes:
    """A PDF of the sheets at true size, no scaling asked for; the same sheets give the same bytes.

    The sheets bring their own test square (``machine_sheet``).
    """
    file = PdfFile(title, "Pattern pieces at true size, print without scaling", _keywords(sheets))
    for number, sheet in enumerate(sheets, 1):
        file.canvas.setPageSize((sheet.width * MM, sheet.height * MM))
        file.brush.drawings([one.there for one in sheet.placed])
        says = f"{title} · sheet {number} of {len(sheets)} · {sheet.width:.0f} x {sheet.height:.0f} mm"
        with file.brush.layer(PAGE_NAMES, OF_PAGES):
            file.brush.text((10.0, 5.0), fitted(says, 2.5, sheet.width - 20.0), 2.5)
        file.end_page(f"sheet {number}")
    return file.closed()


def _keywords(sheets: Sequence[Sheet]) -> str:
    return ", ".join(one.drawing.name for sheet in sheets for one in sheet.placed)
