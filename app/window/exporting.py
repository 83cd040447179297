"""Exporting: the redrawn pieces as a drawing, for a cutter or a drawing program."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QDialog, QHBoxLayout, QLabel, QPushButton, QRadioButton, QVBoxLayout, QWidget

from app.window.before_saving import lacking_label
from app.window.look import em
from geometry.pipeline import Draft

_KINDS = (
    (".svg", "SVG", "true curves in mm, a layer for each kind of line", ()),
    (".dxf", "DXF, R2000", "mm, a layer for each kind of line, a block for each piece", ("--dxf-version", "R2000")),
    (".dxf", "DXF, R12", "the same for old machines; it cannot say its units, which are mm", ("--dxf-version", "R12")),
)


class ExportDialog(QDialog):
    """Which kind of drawing."""

    def __init__(self, parent: QWidget, draft: Draft) -> None:
        super().__init__(parent)
        self.setWindowTitle("Export a drawing")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em() // 3)
        self._kinds = []
        for _, words, says, _ in _KINDS:
            button = QRadioButton(words)
            note = QLabel(says)
            note.setProperty("role", "quiet")
            note.setContentsMargins(em() * 3 // 2, 0, 0, em() // 3)
            layout.addWidget(button)
            layout.addWidget(note)
            self._kinds.append(button)
        self._before = QCheckBox("with the outline as traced under it")
        self._kinds[0].toggled.connect(self._before.setVisible)
        self._kinds[0].setChecked(True)
        layout.addWidget(self._before)
        layout.addWidget(lacking_label(draft))
        save = QPushButton("Save the drawing…")
        save.setProperty("role", "main")
        save.setDefault(True)
        save.clicked.connect(self.accept)
        leave = QPushButton("Not now")
        leave.clicked.connect(self.reject)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(leave)
        buttons.addWidget(save)
        layout.addSpacing(em())
        layout.addLayout(buttons)

    def choose(self, index: int) -> None:
        self._kinds[index].setChecked(True)

    def ending(self) -> str:
        return _KINDS[self._chosen()][0]

    def filter(self) -> str:
        return f"{self.ending()[1:].upper()} (*{self.ending()})"

    def options(self) -> list[str]:
        """What the command line is told."""
        before = ["--before"] if self._chosen() == 0 and self._before.isChecked() else []
        return [*_KINDS[self._chosen()][3], *before]

    def _chosen(self) -> int:
        return next(at for at, button in enumerate(self._kinds) if button.isChecked())
