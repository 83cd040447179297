"""A button whose words wrap."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy

from app.window.look import em


class WrapButton(QPushButton):
    """As high as its words need for the width it is given."""

    def __init__(self, words: str, role: str, *, centred: bool = True) -> None:
        super().__init__()
        self.setProperty("role", role)
        self.setAccessibleName(words)
        self._label = QLabel(words)
        self._label.setWordWrap(True)
        self._label.setAlignment(Qt.AlignmentFlag.AlignCenter if centred else Qt.AlignmentFlag.AlignLeft)
        self._label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._row = QHBoxLayout(self)
        beside = em() // 2 if centred else 0
        self._row.setContentsMargins(beside, em() // 3, beside, em() // 3)
        self._row.addWidget(self._label)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def say(self, words: str) -> None:
        """Put other words on it."""
        self._label.setText(words)
        self.setAccessibleName(words)
        self.updateGeometry()

    def words(self) -> str:
        return self._label.text()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return max(self._row.totalHeightForWidth(width), 24)

    def sizeHint(self) -> QSize:
        return QSize(em() * 10, self.heightForWidth(max(self.width(), em() * 10)))

    def minimumSizeHint(self) -> QSize:
        return QSize(em() * 6, 24)
