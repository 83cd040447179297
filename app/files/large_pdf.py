"""Large sheets and rolls as PDF: a page a sheet, exactly as large as the paper."""

from __future__ import annotations

import io
from collections.abc import Sequence

from app.files.paper_pen import MM, Brush, fitted
from geometry.sheets import Sheet


def large_pdf(sheets: Sequence[Sheet], title: str = "") -> bytes:
    """A PDF of the sheets at true size, no scaling asked for; the same sheets give the same bytes.

    The sheets bring their own test square (``machine_sheet``).
    """
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1)
    canvas.setTitle(title or "Pattern pieces")
    canvas.setAuthor("Tuck & True")
    canvas.setCreator("Tuck & True")
    canvas.setSubject("Pattern pieces at true size, print without scaling")
    canvas.setViewerPreference("PrintScaling", "None")
    brush = Brush(canvas)
    for number, sheet in enumerate(sheets, 1):
        canvas.setPageSize((sheet.width * MM, sheet.height * MM))
        for one in sheet.placed:
            brush.drawing(one.there)
        says = f"{title} · sheet {number} of {len(sheets)} · {sheet.width:.0f} x {sheet.height:.0f} mm"
        brush.text((10.0, 5.0), fitted(says, 2.5, sheet.width - 20.0), 2.5)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()
