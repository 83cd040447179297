"""What is done about printers: measuring the test square, and keeping what a printer makes of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.window.window import MainWindow


class PrinterActs:
    """“What does the test square measure?”; it needs no garment."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window

    def does(self) -> dict[str, Callable[[], None]]:
        """What each action of the table does."""
        return {"test_square": self.measure}

    def measure(self) -> None:
        """Print the test page, take its readings, say what they mean."""
        from app.window.square_dialog import SquareDialog

        window = self._window
        SquareDialog(window, window.preferences.paper, window.garment_acts.folder()).exec()
