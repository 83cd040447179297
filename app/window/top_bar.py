"""Along the top: what lies on the table, its pieces, the tape measure in hand, undo and redo, and printing."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
)

from app.window.look import em
from app.window.palette import Palette
from app.window.pieces_bar import PiecesBar
from geometry.pipeline import Draft


class TopBar(QFrame):
    """It shows and asks; it changes nothing itself."""

    piece_picked = Signal(str)
    units_picked = Signal(str)

    def __init__(self, palette: Palette, units: str) -> None:
        super().__init__()
        self.setObjectName("topBar")
        self._title, self._state = QLabel("Tuck & True"), QLabel()
        self._title.setProperty("role", "title")
        self._state.setProperty("role", "quiet")
        for label in (self._title, self._state):
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
            label.setTextFormat(Qt.TextFormat.PlainText)
        self._texts = ("", "")
        self.pieces = PiecesBar(palette)
        self.pieces.picked.connect(self.piece_picked)
        self._print = QPushButton("Print pages")
        self._print.setProperty("role", "main")
        self._undo, self._redo = QToolButton(), QToolButton()
        self._units = {"in": self._half("in", "Every length in inches"), "cm": self._half("cm", "Every length in cm")}
        group = QButtonGroup(self)
        for name, button in self._units.items():
            group.addButton(button)
            button.clicked.connect(lambda _=False, name=name: self.units_picked.emit(name))
        self.show_units(units)
        self._lay_out()

    def _lay_out(self) -> None:
        names = QVBoxLayout()
        names.setSpacing(0)
        names.addStrut(em() * 22)
        names.addStretch(1)
        names.addWidget(self._title)
        names.addWidget(self._state)
        names.addStretch(1)
        row = self._row = QHBoxLayout(self)
        row.setContentsMargins(em(), 6, em(), 6)
        row.setSpacing(em() // 2)
        row.addLayout(names, 2)
        row.addWidget(self.pieces, 5)
        row.addSpacing(em() // 2)
        for button in self._units.values():
            row.addWidget(button)
        row.addSpacing(em() // 2)
        for button in (self._undo, self._redo):
            button.setProperty("role", "plain")
            row.addWidget(button)
        row.addSpacing(em() // 2)
        row.addWidget(self._print)

    def take_actions(self, undo: QAction, redo: QAction, printing: QAction) -> None:
        """Let the buttons do what the menus do."""
        for button, action, words in ((self._undo, undo, "undo"), (self._redo, redo, "redo")):
            button.clicked.connect(action.trigger)
            button.setText(words)
            action.changed.connect(lambda b=button, a=action: _follow(b, a))
            _follow(button, action)
        self._print.clicked.connect(printing.trigger)
        printing.changed.connect(lambda: self._print.setEnabled(printing.isEnabled()))

    def show_draft(self, draft: Draft, piece_id: str) -> None:
        self.pieces.show()
        self.pieces.show_draft(draft, piece_id)
        self._share_room()

    def show_nothing(self) -> None:
        self.pieces.clear()

    def say(self, title: str, state: str) -> None:
        """Name the garment, and say below it for whom it is and whether it is saved."""
        self._texts = (title, state)
        self._share_room()

    def words(self) -> tuple[str, str]:
        return self._texts

    def show_units(self, units: str) -> None:
        self._units[units].setChecked(True)

    def set_palette(self, palette: Palette) -> None:
        self.pieces.set_palette(palette)

    def _half(self, text: str, says: str) -> QToolButton:
        button = QToolButton()
        button.setText(text)
        button.setToolTip(says)
        button.setAccessibleName(says)
        button.setCheckable(True)
        button.setProperty("role", "half")
        return button

    def _share_room(self) -> None:
        """The names take what they need of the room that the pieces leave."""
        labels = (self._title, self._state)
        needed = max(
            label.fontMetrics().horizontalAdvance(text) for label, text in zip(labels, self._texts, strict=True)
        )
        room = self._title.width() + self.pieces.width() - self.pieces.wanted
        self._title.setMinimumWidth(max(min(needed + 4, room), em() * 10))
        self._row.activate()
        self._elide()

    def _elide(self) -> None:
        for label, text in zip((self._title, self._state), self._texts, strict=True):
            room = max(label.width(), em() * 10)
            label.setText(label.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, room))
            label.setToolTip(text)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._row.activate()
        self._share_room()

    def minimumSizeHint(self) -> QSize:
        return QSize(em() * 40, super().minimumSizeHint().height())


def _follow(button: QToolButton, action: QAction) -> None:
    button.setEnabled(action.isEnabled())
    keys = action.shortcut().toString()
    button.setToolTip(f"{action.text().replace('&', '')} ({keys})")
    button.setAccessibleName(action.text().replace("&", ""))
