"""The seams that are proposed between traced pieces, each to be taken or declined."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QLabel, QWidget

from app.window.look import em
from app.window.trace_words import seam_words
from app.window.trace_work import Result
from geometry.units import System


class SeamList(QWidget):
    """A box to tick for each proposed seam; ``sewn`` brings its name and whether it is to be sewn."""

    sewn = Signal(str, bool)

    def __init__(self) -> None:
        super().__init__()
        self.boxes: dict[str, QCheckBox] = {}
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, em() // 2, 0)
        self._grid.setColumnStretch(1, 1)

    def show_result(self, result: Result, system: System) -> None:
        """The seams that are proposed, those that were declined without a tick."""
        self.boxes = {}
        while (item := self._grid.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                with QSignalBlocker(widget):
                    widget.hide()
                widget.deleteLater()
        for place, seam in enumerate(result.proposed.seams):
            box = self.boxes[seam.name] = QCheckBox()
            box.setAccessibleName(seam.name)
            box.setChecked(seam.name not in result.state.declined)
            box.clicked.connect(lambda wanted, name=seam.name: self.sewn.emit(name, wanted))
            says = QLabel(seam_words(result.proposed, place, system))
            says.setWordWrap(True)
            self._grid.addWidget(box, place, 0)
            self._grid.addWidget(says, place, 1)
