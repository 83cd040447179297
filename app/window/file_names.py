"""Names of files: what is proposed for a garment, and the file that a name she gave stands for."""

from __future__ import annotations

import re
from pathlib import Path

from PySide6.QtWidgets import QMessageBox, QWidget

#: Letters of a garment's name in a file's name; 255 bytes are taken, and a letter may be four.
_LONGEST_NAME = 50
Button = QMessageBox.StandardButton


def file_name(name: str) -> str:
    """A garment's name as a plain file name, no longer than a file's name may be with its ending."""
    plain = "-".join("".join(c if c.isalnum() else " " for c in name.lower()).split())
    return plain[:_LONGEST_NAME].rstrip("-") or "garment"


def named(parent: QWidget, name: str, ending: str, *also: str) -> Path | None:
    """The file of a name with its ending, None where none is to be written.

    Asks when adding the ending names a file that is there already: the file dialog did not.
    """
    if not name:
        return None
    if name.lower().endswith((ending, *also)):
        return Path(name)
    path = Path(name + ending)
    return path if not path.exists() or _saved_over(parent, path, "") else None


def sheets_named(parent: QWidget, path: Path) -> Path | None:
    """The file of drawings that may take several sheets, None where none is to be written.

    Asks when one of those numbered after it is there already: the file dialog did not.
    """
    numbered = re.compile(rf"{re.escape(path.stem)}-\d+")
    there = [one for one in path.parent.glob(f"*{path.suffix}") if numbered.fullmatch(one.stem)]
    more = f"Several sheets are saved as “{path.stem}-1{path.suffix}”, “{path.stem}-2{path.suffix}” and so on."
    return path if not there or _saved_over(parent, min(there), more) else None


def _saved_over(parent: QWidget, path: Path, more: str) -> bool:
    answers = {Button.Cancel: "Leave it", Button.Save: "Save over it"}
    return ask(parent, f"There is a file “{path.name}” already.", more, answers) == Button.Save


def ask(parent: QWidget, says: str, more: str, answers: dict[Button, str]) -> Button:
    """One of the answers to a question; the first is what Return means."""
    box = QMessageBox(parent)
    box.setText(says)
    box.setInformativeText(more)
    for button, words in answers.items():
        box.addButton(button).setText(words)
    box.setDefaultButton(next(iter(answers)))
    return Button(box.exec())
