"""Choosing one of the sample garments."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.session import ENDING
from app.window.look import em


def sample_names() -> list[str]:
    """The sample garments' files, sorted."""
    import sample_pieces

    folder = Path(str(sample_pieces.__file__)).parent
    return sorted(path.name for path in folder.glob(f"*{ENDING}"))


def ask_for_sample(parent: QWidget) -> str | None:
    """The sample she picks, None when she picks none."""
    dialog = SampleDialog(parent, sample_names())
    dialog.exec()
    return dialog.picked


class SampleDialog(QDialog):
    """A button for each sample."""

    def __init__(self, parent: QWidget, names: list[str]) -> None:
        super().__init__(parent)
        self.setWindowTitle("Samples")
        self.picked: str | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em() // 2)
        says = QLabel("Garments from the wardrobe of a small repertory theatre, to try things on:")
        says.setWordWrap(True)
        layout.addWidget(says)
        for name in names:
            words = name.removesuffix(ENDING).replace("-", " ").replace("_", " ")
            button = QPushButton(words[:1].upper() + words[1:])
            button.clicked.connect(lambda _=False, name=name: self._pick(name))
            layout.addWidget(button)
        leave = QPushButton("Not now")
        leave.clicked.connect(self.reject)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(leave)
        layout.addSpacing(em() // 2)
        layout.addLayout(row)

    def _pick(self, name: str) -> None:
        self.picked = name
        self.accept()
