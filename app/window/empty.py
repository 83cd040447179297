"""The table with nothing on it says what to do."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout

from app.window.look import em

_STEPS = (
    ("1", "Open a garment of traced pieces, or a drawing or photo to trace them from, or drop its file here."),
    ("2", "Write fitting notes along the front edge, in the order in which you would do them on paper; "
          "the pieces are redrawn as you dial."),
    ("3", "Look whether it still sews, and print the pages at true size."),
)  # fmt: skip


class EmptyTable(QFrame):
    """A frame to drop a file into, with three steps and two buttons; or word that something is on its way."""

    open_wanted = Signal()
    sample_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("emptyTable")
        self._title = QLabel()
        self._title.setProperty("role", "title")
        self._title.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self._steps = QFrame()
        self._open, self._sample = QPushButton("Open a garment…"), QPushButton("Look at a sample…")
        self._open.setProperty("role", "main")
        self._open.clicked.connect(self.open_wanted)
        self._sample.clicked.connect(self.sample_wanted)
        self._fill_steps()
        inside = QFrame()
        inside.setProperty("role", "drop")
        inside.setFixedWidth(em() * 38)
        column = QVBoxLayout(inside)
        column.setContentsMargins(em() * 2, em() * 2, em() * 2, em() * 2)
        column.setSpacing(em())
        column.addWidget(self._title)
        column.addWidget(self._steps)
        layout = QVBoxLayout(self)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(inside)
        row.addStretch(1)
        layout.addStretch(2)
        layout.addLayout(row)
        layout.addStretch(3)
        self.say_empty()

    def _fill_steps(self) -> None:
        column = QVBoxLayout(self._steps)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(em() // 2)
        for number, words in _STEPS:
            sign, says = QLabel(number), QLabel(words)
            sign.setProperty("role", "heading")
            sign.setFixedWidth(em())
            sign.setAlignment(Qt.AlignmentFlag.AlignTop)
            says.setWordWrap(True)
            row = QHBoxLayout()
            row.setSpacing(em() // 2)
            row.addWidget(sign)
            row.addWidget(says, 1)
            column.addLayout(row)
        buttons = QHBoxLayout()
        buttons.setSpacing(em())
        buttons.addStretch(1)
        buttons.addWidget(self._open)
        buttons.addWidget(self._sample)
        buttons.addStretch(1)
        column.addSpacing(em())
        column.addLayout(buttons)

    def say_opening(self, name: str) -> None:
        self._title.setText(f"Laying out {name}…")
        self._steps.hide()

    def say_empty(self) -> None:
        self._title.setText("The table is clear")
        self._steps.show()

    def take_keyboard(self) -> None:
        """Put the keyboard on the first thing to do."""
        self._open.setFocus(Qt.FocusReason.OtherFocusReason)
