"""Choosing one of the sample garments."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QDialog, QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.session import ENDING
from app.window.look import em

_COLUMNS = 2
#: Garments with the list of notes of an actor stand in this folder of the samples.
ACTORS = "actors/"


def sample_names() -> list[str]:
    """The sample garments' files, sorted, those of the actors last."""
    import sample_pieces

    folder = Path(str(sample_pieces.__file__)).parent
    return [*_in(folder), *(f"{ACTORS}{name}" for name in _in(folder / ACTORS))]


def sample_words(name: str) -> str:
    """What a sample is called on its button."""
    words = name.removeprefix(ACTORS).removesuffix(ENDING).replace("-", " ").replace("_", " ")
    return words[:1].upper() + words[1:]


def _in(folder: Path) -> list[str]:
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
        layout.addLayout(self._buttons([name for name in names if not name.startswith(ACTORS)]))
        layout.addSpacing(em() // 2)
        layout.addWidget(QLabel("Fitted on an actor, with the list of notes:"))
        layout.addLayout(self._buttons([name for name in names if name.startswith(ACTORS)]))
        leave = QPushButton("Not now")
        leave.clicked.connect(self.reject)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(leave)
        layout.addSpacing(em() // 2)
        layout.addLayout(row)

    def _buttons(self, names: list[str]) -> QGridLayout:
        grid = QGridLayout()
        for at, name in enumerate(names):
            button = QPushButton(sample_words(name))
            button.clicked.connect(lambda _=False, name=name: self._pick(name))
            grid.addWidget(button, at // _COLUMNS, at % _COLUMNS)
        return grid

    def _pick(self, name: str) -> None:
        self.picked = name
        self.accept()
