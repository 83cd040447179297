"""What is shown on the printing page is what is printed: the same drawing calls, and the same marks on paper."""

from __future__ import annotations

import io
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication

from app import outputs
from app.files import arrangement_file, paper_pen
from app.files.pdf import tiles_pdf
from app.laying import Laying
from app.print_choice import PrintChoice, laying_for
from app.window import sheet_pen
from app.window.look import load_fonts
from app.window.palette import LIGHT
from app.window.sheets_picture import SheetPainter
from geometry.drawing import LOOKS, Role, Stroke, Words
from geometry.laid_by_hand import lay_as
from geometry.lines import polyline
from geometry.pipeline import draft
from geometry.sheets import Sheet, SheetSettings, tile
from tests import canon, drawn
from tests.window_case import shorten

A4 = SheetSettings()
Call = tuple[Any, ...]


@pytest.fixture(autouse=True)
def letters(qapp: QApplication) -> None:
    """A screen to draw on, and its letters."""
    load_fonts()


@dataclass
class Heard:
    """The calls that reached a pen: each line with its role, name and every control point, each line of words."""

    calls: list[Call] = field(default_factory=list)

    def stroke(self, stroke: Stroke) -> None:
        self.calls.append((stroke.role, stroke.closed, stroke.chain.cubics.tobytes(), stroke.chain.straight.tobytes()))

    def words(self, words: Words) -> None:
        self.calls.append((words.role, words.at, words.words, words.height_mm, words.angle_deg, words.anchor))


def on_paper(sheet: Sheet, settings: SheetSettings, patch: pytest.MonkeyPatch) -> tuple[Heard, bytes]:
    """What the writer of pages is given of the sheet, and the file it writes."""
    heard, inside = Heard(), [0]
    strokes, fill, words = paper_pen.Brush.strokes, paper_pen.Brush._fill, paper_pen.Brush.words
    begin, end = _canvas().beginForm, _canvas().endForm

    def within(method: Any, by: int) -> Any:
        def call(*given: Any, **named: Any) -> Any:
            inside[0] += by
            return method(*given, **named)

        return call

    def heard_strokes(brush: Any, given: Any, *more: Any, **named: Any) -> None:
        given = list(given)
        for stroke in given if inside[0] else ():
            heard.stroke(stroke)
        strokes(brush, given, *more, **named)

    def heard_fill(brush: Any, look: Any, given: Any) -> None:
        for stroke in given if inside[0] else ():
            heard.stroke(stroke)
        fill(brush, look, given)

    def heard_words(brush: Any, given: Words, *more: Any, **named: Any) -> None:
        if inside[0]:
            heard.words(given)
        words(brush, given, *more, **named)

    patch.setattr(_canvas(), "beginForm", within(begin, 1))
    patch.setattr(_canvas(), "endForm", within(end, -1))
    patch.setattr(paper_pen.Brush, "strokes", heard_strokes)
    patch.setattr(paper_pen.Brush, "_fill", heard_fill)
    patch.setattr(paper_pen.Brush, "words", heard_words)
    data, _ = tiles_pdf(sheet, settings)
    return heard, data


def _canvas() -> Any:
    from reportlab.pdfgen.canvas import Canvas

    return Canvas


def on_screen(sheet: Sheet, patch: pytest.MonkeyPatch) -> Heard:
    """What the pen of the printing page is given of the sheet."""
    heard = Heard()
    line, closed, text = sheet_pen.PathPen.line, sheet_pen.PathPen.closed, sheet_pen.PathPen.text

    def heard_line(pen: Any, role: Any, chain: Any, name: str = "") -> None:
        heard.stroke(Stroke(role, chain, False, name))
        line(pen, role, chain, name)

    def heard_closed(pen: Any, role: Any, chain: Any, name: str = "") -> None:
        heard.stroke(Stroke(role, chain, True, name))
        closed(pen, role, chain, name)

    def heard_text(pen: Any, *given: Any) -> None:
        heard.words(Words(*given))
        text(pen, *given)

    patch.setattr(sheet_pen.PathPen, "line", heard_line)
    patch.setattr(sheet_pen.PathPen, "closed", heard_closed)
    patch.setattr(sheet_pen.PathPen, "text", heard_text)
    painter = SheetPainter(LIGHT)
    for placed in sheet.placed:
        painter.paths(placed)
    return heard


def laid_by_hand() -> Sheet:
    """The canon's pieces, one of them turned and moved from where the program laid it."""
    laying = Laying(drawn.arranged(A4), A4, lambda how: lay_as(drawn.drawings(), how, A4))
    piece = laying.drawings[0].piece_id
    laying.take(laying.turned(piece, 90.0))
    laying.take(laying.slid(piece, 0.0, -700.0))
    assert not laying.now.over
    return laying.now.sheet


@pytest.mark.parametrize("by_hand", [False, True])
def test_the_same_calls_make_the_preview_and_the_pages(by_hand: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = laid_by_hand() if by_hand else drawn.arranged(A4)
    paper, _ = on_paper(sheet, A4, monkeypatch)
    screen = on_screen(sheet, monkeypatch)
    assert len(paper.calls) > 100
    assert Counter(screen.calls) == Counter(paper.calls)


@pytest.mark.parametrize("choice",
    [PrintChoice(before=True), PrintChoice(way="landscape", whole=True, before=True, shaded=True)],
    ids=["half", "whole"],
)
def test_what_the_window_shows_the_command_line_prints(choice: PrintChoice, monkeypatch: pytest.MonkeyPatch) -> None:
    """From a draft: laid by hand in the window, handed on as a file, laid by the command line, written as pages."""
    drafted = draft(canon.bodice(), [shorten()])
    said = outputs.Beside(date="3 Feb 2021", units="in")
    _, laying = laying_for(drafted, choice, {}, said)
    beside = replace(said, before=choice.before, shaded=choice.shaded)
    laying.take(laying.turned("front", 180.0))
    laying.take(laying.slid("front", 0.0, -2500.0))
    assert laying.by_hand and not laying.now.over
    given = arrangement_file.read_bytes(arrangement_file.to_bytes(laying.now.arrangement, "bodice"))
    printed = outputs.page_sheet_as(drafted, laying.settings, given, whole=choice.whole, beside=beside)
    paper, _ = on_paper(printed, laying.settings, monkeypatch)
    assert Counter(on_screen(laying.now.sheet, monkeypatch).calls) == Counter(paper.calls)
    assert tile(printed, laying.settings) == laying.now.pages


def test_a_call_left_out_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = drawn.arranged(A4)
    paper, _ = on_paper(sheet, A4, monkeypatch)
    less = on_screen(Sheet(sheet.placed[1:], sheet.width, sheet.height), monkeypatch)
    moved = on_screen(laid_by_hand(), monkeypatch)
    assert Counter(less.calls) != Counter(paper.calls) and Counter(moved.calls) != Counter(paper.calls)


def test_each_page_shows_the_sheet_where_the_preview_has_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read from the file by pikepdf: where each page lays the sheet is where its live box lies on it."""
    sheet = laid_by_hand()
    _, data = on_paper(sheet, A4, monkeypatch)
    pages = [page for page in tile(sheet, A4) if page.number is not None]
    with pikepdf.open(io.BytesIO(data)) as document:
        assert len(document.pages) == len(pages) + 1
        for page, written in zip(pages, list(document.pages)[1:], strict=True):
            commands = list(pikepdf.parse_content_stream(written))
            draws = next(k for k, command in enumerate(commands) if str(command.operator) == "Do")
            lays = max(k for k in range(draws) if str(commands[k].operator) == "cm")
            at = [float(value) * 25.4 / 72 for value in list(commands[lays].operands)[4:]]
            assert at == pytest.approx([A4.margin_mm - page.origin[0], A4.margin_mm - page.origin[1]], abs=1e-3)


def test_what_was_altered_is_filled_on_the_preview_as_on_the_page() -> None:
    """Between two squares of one name it is grey, inside the inner one it is not; no line goes round them."""
    pen = sheet_pen.PathPen()
    for low, high in ((10.0, 50.0), (20.0, 40.0)):
        square = polyline([(low, -low), (high, -low), (high, -high), (low, -high), (low, -low)])
        pen.closed(Role.SHADE, square, "front")
    image = QImage(60, 60, QImage.Format.Format_Grayscale8)
    image.fill(QColor("white"))
    painter = QPainter(image)
    sheet_pen.paint(painter, pen, 1.0)
    painter.end()
    grey = round(255 * LOOKS[Role.SHADE].grey)
    at = [image.pixelColor(x, 30).red() for x in (5, 15, 30, 45, 55)]
    assert at == pytest.approx([255, grey, 255, grey, 255], abs=1)


def test_a_raster_of_the_preview_has_the_ink_of_the_page() -> None:
    """The page read by another hand (pypdfium2): where the preview is dark the page is, within 0.25 mm."""
    sheet = drawn.arranged(A4)
    data, _ = tiles_pdf(sheet, A4)
    page = next(page for page in tile(sheet, A4) if page.number == 1)
    scale = 150 / 25.4
    raster = pypdfium2.PdfDocument(data)[1].render(scale=150 / 72, grayscale=True).to_numpy().squeeze()
    paper = np.asarray(raster, dtype=float) < 160
    image = QImage(paper.shape[1], paper.shape[0], QImage.Format.Format_Grayscale8)
    image.fill(QColor("white"))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    live = A4.live
    painter.setClipRect(QRectF(A4.margin_mm * scale, A4.margin_mm * scale, live[0] * scale, live[1] * scale))
    painter.translate((A4.margin_mm - page.origin[0]) * scale, (A4.margin_mm + live[1] + page.origin[1]) * scale)
    painter.scale(scale, scale)
    paths = SheetPainter(LIGHT)
    for placed in sheet.placed:
        sheet_pen.paint(painter, paths.paths(placed), scale)
    painter.end()
    bits = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine())
    screen = bits[:, : image.width()] < 100
    assert screen.sum() > 3000
    near = paper.copy()
    for dy in (-1, 0, 1):
        for dx in (-1, 0, 1):
            near |= np.roll(np.roll(paper, dy, axis=0), dx, axis=1)
    assert (screen & ~near).sum() <= 0.002 * screen.sum()
    assert (np.roll(screen, 6, axis=1) & ~near).sum() > 0.2 * screen.sum(), "1 mm off is found"
