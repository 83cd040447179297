"""What is being worked at, at the foot of the window, with a button that stops it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton

from app.window.look import em


class BusyLine(QFrame):
    """Hidden until something is worked at; one thing at a time."""

    def __init__(self) -> None:
        super().__init__()
        self._says, self.stop_button = QLabel(), QPushButton("stop")
        self._stop: Callable[[], None] | None = None
        self.stop_button.clicked.connect(self._pressed)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, em() // 2, 0)
        row.addWidget(self._says)
        row.addWidget(self.stop_button)
        self.hide()

    def begin(self, words: str, stop: Callable[[], None]) -> None:
        """Say what is worked at, until it is over; ``stop`` is done when the button is pressed."""
        self._stop = stop
        self.say(words)
        self.show()

    def say(self, words: str) -> None:
        """How far it is."""
        self._says.setText(words)

    def words(self) -> str:
        """What is being said, "" when nothing is."""
        return "" if self.isHidden() else self._says.text()

    def over(self) -> None:
        """It is done, or was left."""
        self._stop = None
        self.hide()

    def _pressed(self) -> None:
        if self._stop is not None:
            self._stop()
