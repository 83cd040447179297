"""Printing from the window: paper is chosen, the pieces are looked at on their sheets, the pages are written."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QFileDialog

from app.outputs import Beside
from app.printing import day_words, saved_on
from app.session import Session

if TYPE_CHECKING:
    from app.window.window import MainWindow


def beside_now(session: Session) -> Beside:
    """What the command line says beside the pieces of a garment as it is now: its own units, the day it was saved."""
    assert session.document is not None
    saved = None if session.unsaved else session.path
    day = day_words(date.today()) if saved is None else saved_on(saved)
    return Beside(date=day, units=session.document.settings.units)


def print_pages(window: MainWindow) -> None:
    """Choose paper, look at the pieces on their sheets, lay them otherwise by hand, and write the pages."""
    from app.window.file_names import file_name, named
    from app.window.printing import PrintDialog

    if window.draft is None:
        return
    window.note_acts.settle()
    session = window.session
    dialog = PrintDialog(window, window.draft, window.preferences, session.arrangements, beside_now(session))
    wanted = dialog.exec() == QDialog.DialogCode.Accepted
    window.session.arrangements = dialog.arrangements()
    if not wanted:
        return
    window.prefer(**dialog.preferred())
    acts, on = window.garment_acts, dialog.printing.options()
    if not dialog.printing.chosen().to_file:
        acts.start_work("Sending the pages to", "print", [*dialog.options(), *on], dialog.files())
        return
    proposed = Path(acts.folder()) / f"{file_name(window.session.garment.name)}-{window.preferences.paper}.pdf"
    name, _ = QFileDialog.getSaveFileName(window, "Save the pages", str(proposed), "PDF (*.pdf)")
    out = named(window, name, ".pdf")
    if out is not None:
        acts.start_work("Laying out the pages", "print", [*dialog.options(), *on, "--out", str(out)], dialog.files())
