"""Where pages go when they are printed: to a printer of this machine, or to a file; and is its size true?"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QWidget

from app.window.look import em
from app.window.printer_box import Chosen, PrinterBox
from app.window.square_dialog import SquareDialog, short


class PrintingOn(QWidget):
    """The printers to choose from, and a way to measure one. ``changed`` comes with every choice."""

    changed = Signal()

    def __init__(self, paper: Callable[[], str]) -> None:
        super().__init__()
        self._paper = paper
        self.printers = PrinterBox(files=True)
        self.printers.setMinimumWidth(em() * 26)
        self._measure = QPushButton("Measure the test square…")
        self._measure.setToolTip("Print the test page alone, and say what its squares measure")
        self._measure.setAutoDefault(False)
        self._measure.clicked.connect(self._open)
        self.printers.changed.connect(self.changed)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(em() // 2)
        for widget in (QLabel("pages go to"), self.printers, self._measure):
            row.addWidget(widget, 0, Qt.AlignmentFlag.AlignTop)

    def chosen(self) -> Chosen:
        return self.printers.chosen()

    def act(self) -> str:
        """What the main button does."""
        chosen = self.chosen()
        return "Save the pages as a PDF…" if chosen.to_file else f"Print on {short(chosen.name)}"

    def options(self) -> list[str]:
        """The printer for the command line; it prints on it unless a file is named as well."""
        return ["--printer", self.chosen().name] if self.chosen().name else []

    def _open(self) -> None:
        SquareDialog(self.window(), self._paper()).exec()
        self.printers.look_anew()
