"""A pen for reportlab's canvas: strokes, words and plain shapes, given in mm."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from typing import Any

from app.fonts import BOLD, PLAIN, font_bytes
from geometry.drawing import LOOKS, Box, Drawing, Look, Role, Stroke, Words
from geometry.letter_widths import width_mm
from geometry.lines import Chain
from geometry.motions import Point

#: Units of PDF in a millimetre: 1/72 in each (ISO 32000).
MM = 72 / 25.4
INK = Look(0.3)


class Brush:
    """Draws on a reportlab canvas in mm from the page's lower left corner."""

    def __init__(self, canvas: Any) -> None:
        _register_fonts()
        self.canvas = canvas

    def drawing(self, drawing: Drawing) -> None:
        """A recorded drawing at true size."""
        for role in Role:
            strokes = [stroke for stroke in drawing.strokes if stroke.role is role]
            if strokes:
                self.look(LOOKS[role])
                self.strokes(strokes)
        for words in drawing.words:
            self.words(words)

    def look(self, look: Look, scale: float = 1.0) -> None:
        """Width, dashes and grey of what is drawn next; ``scale`` makes up for a scaled frame."""
        self.canvas.setLineWidth(look.width * MM * scale)
        self.canvas.setStrokeGray(look.grey)
        self.canvas.setDash([dash * MM * scale for dash in look.dashes] or [])
        self.canvas.setLineJoin(1)

    def strokes(self, strokes: Iterable[Stroke]) -> None:
        """Lines as they are, true curves, one path for all."""
        path = self.canvas.beginPath()
        for stroke in strokes:
            _follow(path, stroke.chain, stroke.closed)
        self.canvas.drawPath(path, stroke=1, fill=0)

    def words(self, words: Words, grey: float = 0.0) -> None:
        """A line of lettering."""
        canvas = self.canvas
        canvas.setFillGray(grey)
        canvas.setFont(BOLD if words.bold else PLAIN, words.size_mm * MM)
        x, y = words.base
        says = _printable(words.words, BOLD if words.bold else PLAIN)
        if not words.angle_deg:
            canvas.drawString(x * MM, y * MM, says)
            return
        canvas.saveState()
        canvas.translate(x * MM, y * MM)
        canvas.rotate(words.angle_deg)
        canvas.drawString(0, 0, says)
        canvas.restoreState()

    def text(self, at: Point, words: str, height: float, *, anchor: str = "start", bold: bool = False) -> None:
        """Plain lettering of the page, capitals ``height`` mm high, ``at`` halfway up them."""
        self.words(Words(Role.TITLE if bold else Role.LABEL, at, words, height, 0.0, anchor))

    def lines(self, points: Sequence[Sequence[Point]], look: Look = INK, *, closed: bool = False) -> None:
        """Straight lines through points, one or more lines in one look."""
        self.look(look)
        path = self.canvas.beginPath()
        for (x, y), *others in points:
            path.moveTo(x * MM, y * MM)
            for x, y in others:
                path.lineTo(x * MM, y * MM)
            if closed:
                path.close()
        self.canvas.drawPath(path, stroke=1, fill=0)

    def box(self, box: Box, look: Look = INK) -> None:
        """The outline of a box (x0, y0, x1, y1)."""
        x0, y0, x1, y1 = box
        self.lines([[(x0, y0), (x1, y0), (x1, y1), (x0, y1)]], look, closed=True)

    def clip(self, box: Box) -> None:
        """From here on only what lies in the box is shown (until the canvas's state is restored)."""
        x0, y0, x1, y1 = box
        path = self.canvas.beginPath()
        path.rect(x0 * MM, y0 * MM, (x1 - x0) * MM, (y1 - y0) * MM)
        self.canvas.clipPath(path, stroke=0, fill=0)


def _follow(path: Any, chain: Chain, closed: bool) -> None:
    points = (chain.cubics * MM).tolist()
    path.moveTo(*points[0][0])
    for (_, a, b, c), is_line in zip(points, chain.straight.tolist(), strict=True):
        if is_line:
            path.lineTo(*c)
        else:
            path.curveTo(*a, *b, *c)
    if closed:
        path.close()


def _printable(words: str, name: str) -> str:
    """The words with a question mark for every character that the typeface does not have."""
    from reportlab.pdfbase import pdfmetrics

    there = pdfmetrics.getFont(name).face.charToGlyph
    return "".join(sign if ord(sign) in there else "?" for sign in words)


def _register_fonts() -> None:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (PLAIN, BOLD):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, io.BytesIO(font_bytes(name))))


def fitted(words: str, height: float, width: float, *, bold: bool = False) -> str:
    """The words, cut short with an ellipsis where they are wider than ``width`` mm."""
    if width_mm(words, height, bold=bold) <= width:
        return words
    while words and width_mm(words + "…", height, bold=bold) > width:
        words = words[:-1]
    return words.rstrip() + "…"
