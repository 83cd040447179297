"""Words on one line that give way: what does not fit is left off, and the tooltip says it whole."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy


class Elided(QLabel):
    """A label that takes the room it is given and asks for none."""

    def __init__(self, role: str) -> None:
        super().__init__()
        self._words = ""
        self.setProperty("role", role)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def set_words(self, words: str, whole: str) -> None:
        """Show words as far as there is room; ``whole`` is what the tooltip says."""
        self._words = words
        self.setToolTip(whole)
        self.setAccessibleName(whole)
        self._show()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._show()

    def minimumSizeHint(self) -> QSize:
        return QSize(0, super().minimumSizeHint().height())

    def _show(self) -> None:
        self.setText(self.fontMetrics().elidedText(self._words, Qt.TextElideMode.ElideRight, self.width()))
