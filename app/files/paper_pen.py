"""A pen for reportlab's canvas: strokes, words and plain shapes, given in mm."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import replace
from itertools import groupby
from typing import Any

from app.files.layers import OF_PIECES, OF_SIZES, Layers
from app.fonts import BOLD, PLAIN, font_bytes
from geometry.drawing import LOOKS, Box, Drawing, Look, Role, Stroke, Words
from geometry.letter_widths import width_mm
from geometry.lines import Chain
from geometry.motions import Point
from geometry.pens import SIZE_DASHES

#: Units of PDF in a millimetre: 1/72 in each (ISO 32000).
MM = 72 / 25.4
INK = Look(0.3)
#: reportlab's name for the rule by which a path is filled.
_EVEN_ODD = 0


class Brush:
    """Draws on a reportlab canvas in mm from the page's lower left corner, into ``layers`` where a file has them."""

    def __init__(self, canvas: Any, layers: Layers | None = None) -> None:
        register_fonts()
        self.canvas = canvas
        self._layers = layers

    def layer(self, name: str, heading: str) -> AbstractContextManager[None]:
        """What is drawn meanwhile belongs to a layer of the file."""
        return self._layers.inside(name, heading) if self._layers else nullcontext()

    def drawings(self, drawings: Sequence[Drawing]) -> None:
        """Recorded drawings at true size, a layer a role."""
        for role in Role:
            strokes = [stroke for drawing in drawings for stroke in drawing.strokes if stroke.role is role]
            words = [words for drawing in drawings for words in drawing.words if words.role is role]
            if role is Role.SIZE:
                self._sizes(strokes, words)
            elif strokes or words:
                with self.layer(role.value, OF_PIECES):
                    self._role(LOOKS[role], strokes, words)

    def _sizes(self, strokes: Sequence[Stroke], words: Sequence[Words]) -> None:
        """The other sizes of a nest, each in its own layer and dashes."""
        for name, look in size_looks(strokes):
            with self.layer(name, OF_SIZES):
                self._role(look, [one for one in strokes if one.name == name], [w for w in words if w.words == name])

    def _role(self, look: Look, strokes: Sequence[Stroke], words: Sequence[Words]) -> None:
        if look.filled:
            self._fill(look, strokes)
        elif strokes:
            self.look(look)
            self.strokes(strokes)
        for one in words:
            self.words(one)

    def _fill(self, look: Look, strokes: Sequence[Stroke]) -> None:
        """Grey inside an odd number of the outlines that have one name and follow each other."""
        self.canvas.setFillGray(look.grey)
        for _, together in groupby(strokes, key=lambda stroke: stroke.name):
            path = self.canvas.beginPath()
            for stroke in together:
                _follow(path, stroke.chain, True)
            self.canvas.drawPath(path, stroke=0, fill=1, fillMode=_EVEN_ODD)

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

    def fill(self, rings: Sequence[Sequence[Point]], look: Look) -> None:
        """Grey inside straight lines through points."""
        self.canvas.setFillGray(look.grey)
        path = self.canvas.beginPath()
        for (x, y), *others in rings:
            path.moveTo(x * MM, y * MM)
            for x, y in others:
                path.lineTo(x * MM, y * MM)
            path.close()
        self.canvas.drawPath(path, stroke=0, fill=1, fillMode=_EVEN_ODD)

    def box(self, box: Box, look: Look = INK) -> None:
        """The outline of a box (x0, y0, x1, y1)."""
        x0, y0, x1, y1 = box
        self.lines([[(x0, y0), (x1, y0), (x1, y1), (x0, y1)]], look, closed=True)

    @contextmanager
    def turned(self, corner: Point) -> Iterator[None]:
        """What is drawn meanwhile stands a quarter turn anticlockwise about a corner, which is its 0,0."""
        self.canvas.saveState()
        self.canvas.translate(corner[0] * MM, corner[1] * MM)
        self.canvas.rotate(90)
        yield
        self.canvas.restoreState()

    def clip(self, box: Box) -> None:
        """From here on only what lies in the box is shown (until the canvas's state is restored)."""
        x0, y0, x1, y1 = box
        path = self.canvas.beginPath()
        path.rect(x0 * MM, y0 * MM, (x1 - x0) * MM, (y1 - y0) * MM)
        self.canvas.clipPath(path, stroke=0, fill=0)


def size_looks(strokes: Iterable[Stroke]) -> list[tuple[str, Look]]:
    """The other sizes among strokes, “size 12”, in the order in which they were drawn, and how each looks."""
    names = dict.fromkeys(stroke.name for stroke in strokes if stroke.role is Role.SIZE)
    dashes = [SIZE_DASHES[number % len(SIZE_DASHES)] for number in range(len(names))]
    return [(name, replace(LOOKS[Role.SIZE], dashes=one)) for name, one in zip(names, dashes, strict=True)]


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


def register_fonts() -> None:
    """Make the program's typefaces known to reportlab, once."""
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
