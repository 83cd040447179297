"""The table with nothing on it says what to do."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout

from app.window.look import em


class EmptyTable(QFrame):
    """A few words and two buttons; ``opening`` says instead that something is on its way."""

    open_wanted = Signal()
    sample_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("emptyTable")
        self._title, self._says = QLabel(), QLabel()
        self._title.setProperty("role", "title")
        self._says.setWordWrap(True)
        self._says.setMaximumWidth(em() * 34)
        self._says.setMinimumWidth(em() * 34)
        for label in (self._title, self._says):
            label.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self._open, self._sample = QPushButton("Open a garment…"), QPushButton("Look at a sample…")
        self._open.setProperty("role", "main")
        self._open.clicked.connect(self.open_wanted)
        self._sample.clicked.connect(self.sample_wanted)
        buttons = QHBoxLayout()
        buttons.setSpacing(em())
        buttons.addStretch(1)
        buttons.addWidget(self._open)
        buttons.addWidget(self._sample)
        buttons.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setSpacing(em())
        layout.addStretch(2)
        layout.addWidget(self._title, 0, Qt.AlignmentFlag.AlignHCenter)
        layout.addWidget(self._says, 0, Qt.AlignmentFlag.AlignHCenter)
        layout.addLayout(buttons)
        layout.addStretch(3)
        self.say_empty()

    def say_opening(self, name: str) -> None:
        self._title.setText(f"Laying out {name}…")
        self._says.setText("")
        self._open.hide()
        self._sample.hide()

    def say_empty(self) -> None:
        self._title.setText("The table is clear")
        self._says.setText(
            "Open a garment of traced pieces, or drop its file here. Then write fitting notes below, in the order "
            "in which you would do them on paper; the pieces are redrawn as you dial."
        )
        self._open.show()
        self._sample.show()
