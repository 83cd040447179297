"""How the chosen note is done by hand: its steps one below the other, each with its small drawing, in large letters."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.window.look import em
from app.window.page import scrolled, show_page
from app.window.palette import Palette
from app.window.thumbnails import path_of
from geometry.by_hand import ByHand
from geometry.drawing import Drawing, Recorder
from geometry.handwork import HandStep
from geometry.pens import LOOKS, Role
from geometry.sketches import draw_sketch
from geometry.units import System

#: A drawing's own size (mm); it is shown as wide as fits beside its sentence.
FRAME_MM = (88.0, 66.0)
_CHANGED = (Role.DRAW, Role.CREASE, Role.SLASH, Role.MOVE)
_QUIET = (Role.BEFORE, Role.INSIDE, Role.STRIP, Role.TAPE)


def show_steps(parent: QWidget, steps: ByHand, system: System, palette: Palette) -> None:
    """A page with every step of a note, to be read beside the paper."""
    rows = QVBoxLayout()
    rows.setSpacing(em())
    rows.addWidget(_heading(steps.title, 1.5))
    for one in steps.pieces:
        rows.addWidget(_heading(one.piece.name, 1.25))
        for number, step in enumerate(one.steps, 1):
            rows.addLayout(_row(number, step, system, palette))
    show_page(parent, "By hand", scrolled(rows, 54, 40))


class StepPicture(QWidget):
    """The small drawing of one step on paper."""

    def __init__(self, step: HandStep, system: System, palette: Palette) -> None:
        super().__init__()
        self._drawing, self._palette = drawing_of(step, system), palette
        self.setFixedSize(QSize(em() * 28, round(em() * 28 * FRAME_MM[1] / FRAME_MM[0])))
        self.setAccessibleName(step.says(system))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self._palette.paper))
        painter.setClipRect(self.rect())
        scale = self.width() / FRAME_MM[0]
        painter.translate(0.0, self.height())
        painter.scale(scale, scale)
        for stroke in self._drawing.strokes:
            painter.strokePath(path_of(stroke.chain), self._pen(stroke.role))
        painter.resetTransform()
        painter.setPen(QColor(self._palette.paper_ink))
        font = QFont(painter.font())
        for words in self._drawing.words:
            font.setPixelSize(max(1, round(words.size_mm * scale * 1.15)))
            painter.setFont(font)
            centre = QPointF(words.at[0] * scale, self.height() - words.at[1] * scale)
            box = QRectF(centre.x() - 200, centre.y() - 40, 400, 80)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words.words)
        painter.end()

    def _pen(self, role: Role) -> QPen:
        look = LOOKS[role]
        colour = self._palette.paper_ink
        if role in _CHANGED:
            colour = self._palette.paper_change
        elif role in _QUIET:
            colour = self._palette.paper_quiet
        pen = QPen(QColor(colour), look.width)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        if look.dashes:
            pen.setDashPattern([dash / look.width for dash in look.dashes])
        return pen


def drawing_of(step: HandStep, system: System) -> Drawing:
    """The drawing of a step in a frame of FRAME_MM."""
    recorder = Recorder()
    recorder.begin("step", step.says(system))
    draw_sketch(recorder, step.sketch, (1.0, 1.0, FRAME_MM[0] - 1.0, FRAME_MM[1] - 1.0), system)
    recorder.end()
    return recorder.drawings[0]


def _row(number: int, step: HandStep, system: System, palette: Palette) -> QHBoxLayout:
    words = QLabel(f"{number}  {step.says(system)}")
    words.setWordWrap(True)
    words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByKeyboard)
    words.setFont(_larger(words.font(), 1.15))
    row = QHBoxLayout()
    row.setSpacing(em())
    row.addWidget(StepPicture(step, system, palette), 0, Qt.AlignmentFlag.AlignTop)
    row.addWidget(words, 1, Qt.AlignmentFlag.AlignTop)
    return row


def _heading(text: str, times: float) -> QLabel:
    heading = QLabel(text)
    font = _larger(heading.font(), times)
    font.setBold(True)
    heading.setFont(font)
    return heading


def _larger(font: QFont, times: float) -> QFont:
    made = QFont(font)
    made.setPixelSize(round(em() * times))
    return made
