"""A client's notes in the window: kept by themselves in a file, and done to the garment on the table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QLabel, QVBoxLayout, QWidget

from app.kept_notes import Fitted, KeptNotes, fitted, kept
from app.window.file_names import file_name, named
from app.window.garment_acts import KEPT, open_outside
from app.window.look import em
from app.window.page import scrolled, show_page
from app.window.sentence import sentence_of
from geometry.alterations import find
from geometry.errors import PatternError
from geometry.pipeline import Draft
from geometry.stages import Step
from geometry.units import System, in_system

if TYPE_CHECKING:
    from app.window.window import MainWindow

_FILES = f"Kept notes (*{KEPT});;All files (*)"


class KeptNotesActs:
    """Keeping notes, and doing kept notes."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window

    def does(self) -> dict[str, Callable[[], None]]:
        """What each action of the table does."""
        return {"keep": self.keep, "do_kept": self.ask_which}

    def keep(self) -> None:
        """Keep the notes of what is open in a file of their own."""
        window = self._window
        window.note_acts.settle()
        document = window.session.document
        if document is None:
            return
        try:
            found = kept(document)
        except PatternError as error:
            window.notices.say(error.says, wrong=True)
            return
        proposed = Path(window.garment_acts.folder()) / (file_name(found.for_whom or found.garment) + KEPT)
        name, _ = QFileDialog.getSaveFileName(window, "Keep these notes", str(proposed), _FILES)
        path = named(window, name, KEPT)
        if path is not None:
            self._save(path, found)

    def ask_which(self) -> None:
        """Choose kept notes and do them."""
        window = self._window
        name, _ = QFileDialog.getOpenFileName(window, "Do kept notes", window.garment_acts.folder(), _FILES)
        if name:
            self.do(Path(name))

    def do(self, path: Path) -> None:
        """Write kept notes after those of what is open, in one step, and say what became of each."""
        from app.files import notes_file

        window = self._window
        window.note_acts.settle()
        document = window.session.document
        if document is None:
            return
        try:
            found = notes_file.open_file(path)
            made = fitted(document, found)
        except PatternError as error:
            window.notices.say(f"{error.says} What was open is still here.", wrong=True)
            return
        if not window.change(made.document, "do kept notes"):
            return
        window.strip.choose(made.written[0].id if made.written else "")
        self._tell(found, made)

    def _save(self, path: Path, found: KeptNotes) -> None:
        from app.files import notes_file

        try:
            notes_file.save_file(path, found)
        except PatternError as error:
            self._window.notices.say(error.says, wrong=True)
            return
        self._window.notices.say(
            f"{_notes(len(found.notes))} {'were' if len(found.notes) != 1 else 'was'} kept as {path}.",
            buttons=(("Show the folder", lambda: open_outside(path.parent)),),
        )

    def _tell(self, found: KeptNotes, made: Fitted) -> None:
        window = self._window
        draft, system = window.session.draft, window.preferences.units
        first, became = heading(found, made), became_lines(draft, made, system)
        left = sum(line.startswith("!") for line in became)

        def show() -> None:
            say(left)
            show_what_became(window, first, became, made.found)

        def say(left: int) -> None:
            undone = f" {left} {'are' if left != 1 else 'is'} not done as {'they stand' if left != 1 else 'it stands'}."
            window.notices.say(
                f"{_notes(len(made.written))} written after your own.{undone if left else ''}",
                wrong=bool(left),
                buttons=(("Show the list", show),),
            )

        show()


def heading(found: KeptNotes, made: Fitted) -> str:
    """Where the notes are from and where they went."""
    size = f", size {found.size}" if found.size else ""
    whom = f", for {found.for_whom}" if found.for_whom else ""
    return (
        f"{_notes(len(made.written))} of “{found.garment}”{size}{whom} now stand after your own. Undo takes them back "
        "in one step."
    )


def became_lines(draft: Draft, made: Fitted, system: System) -> list[str]:
    """A sentence for each note that was written: ✓ it is done, ! it is not and why, ~ it is switched off."""
    ids = {note.id for note in made.written}
    steps = [(number, step) for number, step in enumerate(draft.followed.steps, 1) if step.note.id in ids]
    return [_became(number, step, made, system) for number, step in steps]


def _became(number: int, step: Step, made: Fitted, system: System) -> str:
    said = sentence_of(step.note, find(step.note.alteration), step.before, system).rstrip(".")
    line = f"note {number}: {said}."
    why = list(dict.fromkeys(clause for note, clause in made.missing if note == step.note.id))
    if not step.note.on:
        return f"~ {line} It is switched off."
    if step.done and not why:
        return f"✓ {line}"
    reasons = [f"{clause[:1].upper()}{clause[1:]}." for clause in why] or [f.says for f in step.findings]
    undone = "Not all of it is done" if step.done else "Not done"
    return f"! {line} {undone}: {in_system(' '.join(reasons), system)}"


def show_what_became(parent: QWidget, first: str, became: Sequence[str], found: Sequence[str]) -> None:
    """The list of what became of kept notes, and how what they call for was found."""
    rows = QVBoxLayout()
    rows.setSpacing(em() // 2)
    for line in became:
        rows.addWidget(_line(line, "warning" if line.startswith("!") else ""))
    if found:
        rows.addSpacing(em() // 2)
        rows.addWidget(_line("How it was found", "heading"))
    for line in found:
        rows.addWidget(_line(line, "quiet"))
    show_page(parent, "Kept notes", _line(first, ""), scrolled(rows, 40, 20))


def _line(words: str, role: str) -> QLabel:
    label = QLabel(words)
    label.setWordWrap(True)
    label.setTextInteractionFlags(
        Qt.TextInteractionFlag.TextSelectableByKeyboard | Qt.TextInteractionFlag.TextSelectableByMouse
    )
    if role:
        label.setProperty("role", role)
    return label


def _notes(count: int) -> str:
    return f"{count} note{'s' * (count != 1)}"
