"""A switch that says in a word, and by where its knob lies, whether something is on."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton

from app.window.look import em


class Switch(QAbstractButton):
    """Click or Space turns it; the word beside the knob changes with it."""

    def __init__(self, on: str, off: str) -> None:
        super().__init__()
        self._on, self._off = on, off
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.toggled.connect(self._name)

    def set_quietly(self, on: bool) -> None:
        """Show a state without telling anyone."""
        if on != self.isChecked():
            self.blockSignals(True)
            self.setChecked(on)
            self.blockSignals(False)
        self._name()
        self.update()

    def _name(self) -> None:
        self.setAccessibleName(self._on if self.isChecked() else self._off)

    def sizeHint(self) -> QSize:
        word = max(self.fontMetrics().horizontalAdvance(text) for text in (self._on, self._off))
        return QSize(em(self) * 2 + word + 10, max(24, em(self) + 6))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        palette = self.palette()
        high = em(self) * 0.8
        track = QRectF(2, (self.height() - high) / 2, high * 1.8, high)
        filled = palette.highlight().color() if self.isChecked() else palette.base().color()
        rim = palette.highlight().color() if self.isChecked() else palette.mid().color()
        painter.setPen(QPen(rim, 1.5))
        painter.setBrush(filled)
        painter.drawRoundedRect(track, high / 2, high / 2)
        x = track.right() - high / 2 if self.isChecked() else track.left() + high / 2
        painter.setBrush(palette.highlightedText().color() if self.isChecked() else rim)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawEllipse(QPointF(x, track.center().y()), high * 0.32, high * 0.32)
        painter.setPen(palette.windowText().color())
        words = QRectF(track.right() + 6, 0, self.width() - track.right() - 6, self.height())
        painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, self._on if self.isChecked() else self._off)
        if self.hasFocus():
            painter.setPen(QPen(QColor(palette.highlight().color()), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 5, 5)
        painter.end()
