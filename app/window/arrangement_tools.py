"""The row of buttons above the sheets: turn, undo, lay out again, save and open; and what the chosen piece may do."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMenu, QPushButton, QWidget

from app.laying import Laying
from app.window.look import em
from app.window.sheets_view import SheetsView

_NONE_CHOSEN = "Drag a piece to where you want it, or choose one with the space bar and move it with the arrow keys."


class ArrangementTools(QWidget):
    """Buttons for the view of the sheets. ``changed`` comes when one of them laid the pieces otherwise."""

    changed = Signal()
    save_asked = Signal()
    open_asked = Signal()

    def __init__(self, view: SheetsView) -> None:
        super().__init__()
        self._view = view
        self._laying: Laying | None = None
        self.hint = QLabel()
        self.hint.setProperty("role", "quiet")
        self.hint.setWordWrap(True)
        self.hint.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.hint.setMinimumHeight(self.hint.fontMetrics().lineSpacing() * 2)
        self.turn = self._button("Turn a quarter", "The chosen piece, clockwise (R; with Shift the other way)")
        self.back = self._button("Undo", "Take back how a piece was laid last (Ctrl+Z)")
        self.forth = self._button("Redo", "Lay it so after all (Ctrl+Shift+Z)")
        self.anew = self._button("Lay out again", "Back to how the program lays the pieces; it can be undone")
        self.more = self._button("Arrangement", "Keep it in a file, or lay the pieces as a file says")
        menu = QMenu(self.more)
        menu.addAction("Save it…").triggered.connect(lambda _=False: self.save_asked.emit())
        menu.addAction("Open one…").triggered.connect(lambda _=False: self.open_asked.emit())
        self.more.setMenu(menu)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(em() // 2)
        for button in (self.turn, self.back, self.forth, self.anew, self.more):
            row.addWidget(button)
        row.addStretch(1)
        self.turn.clicked.connect(lambda _=False: view.turn(-90.0))
        self.back.clicked.connect(lambda _=False: self._do(Laying.undo))
        self.forth.clicked.connect(lambda _=False: self._do(Laying.redo))
        self.anew.clicked.connect(lambda _=False: self._do(Laying.lay_out_again))
        self._key("undo", QKeySequence("Ctrl+Z"), Laying.undo)
        self._key("redo", QKeySequence("Ctrl+Shift+Z"), Laying.redo)
        view.chosen.connect(lambda _: self.show_state())
        self.show_state()

    def show_laying(self, laying: Laying | None) -> None:
        """Other pieces or pages; None where nothing is laid."""
        self._laying = laying
        self._view.show_laying(laying)
        self.show_state()

    def show_state(self) -> None:
        """What can be done now."""
        laying, piece = self._laying, self._view.piece
        self.turn.setEnabled(bool(piece))
        self.back.setEnabled(laying is not None and laying.can_undo)
        self.forth.setEnabled(laying is not None and laying.can_redo)
        self.anew.setEnabled(laying is not None and laying.by_hand)
        self.more.setEnabled(laying is not None)
        self.hint.setText(self._hint(laying, piece))

    def _hint(self, laying: Laying | None, piece: str) -> str:
        if laying is None:
            return ""
        if not piece:
            return _NONE_CHOSEN
        name = next(drawing.name for drawing in laying.drawings if drawing.piece_id == piece)
        if laying.turns_freely(piece):
            return f"{name} turns freely: by its handle, or with Page Up and Page Down. Arrow keys move it."
        return f"{name} turns by quarters, so that its grain runs with the paper: R turns it. Arrow keys move it."

    def _do(self, act: Callable[[Laying], None]) -> None:
        if self._laying is not None:
            act(self._laying)
            self._view.look_anew()
            self.changed.emit()

    def _button(self, words: str, tip: str) -> QPushButton:
        button = QPushButton(words)
        button.setToolTip(tip)
        button.setAutoDefault(False)
        return button

    def _key(self, name: str, keys: QKeySequence, act: Callable[[Laying], None]) -> None:
        action = QAction(name, self)
        action.setShortcut(keys)
        action.triggered.connect(lambda _=False: self._do(act))
        self.addAction(action)
