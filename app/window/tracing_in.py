"""Drawings and pictures that are opened or dropped: the page for them, and the garment that comes of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog

from app.documents import Document
from app.files.safely import write_bytes
from app.window.file_names import named
from app.window.garment_acts import open_outside
from app.window.trace_files import TRACED_IN, given
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.papers import A4, LETTER

if TYPE_CHECKING:
    from app.window.trace_page import TracePage
    from app.window.window import MainWindow


def is_traced_in(path: Path) -> bool:
    """Whether a file is a drawing or a picture, by its name."""
    return path.name.lower().endswith(TRACED_IN)


def trace_in(window: MainWindow, paths: Sequence[Path]) -> TracePage | None:
    """Open the page for some drawings or pictures; None, with one sentence, where one cannot be read."""
    from app.window.trace_page import TracePage

    try:
        files = given(paths)
    except PatternError as error:
        window.notices.say(error.says, wrong=True)
        return None
    page = TracePage(
        window, files, window.preferences.units, window.colours, lambda garment: take_in(window, garment),
        str(paths[0].parent),
    )
    page.finished.connect(lambda _: page.deleteLater())
    page.open()
    return page


def save_markers(window: MainWindow) -> None:
    """Ask where to, and save marker sheets for the paper in the printer."""
    from app.photo.commands import USUAL_SHEETS
    from app.photo.marker_sheets import RULE_MM, markers_pdf

    proposed = str(Path(window.garment_acts.folder()) / "marker sheets.pdf")
    name, _ = QFileDialog.getSaveFileName(window, "Save the marker sheets", proposed, "PDF (*.pdf)")
    out = named(window, name, ".pdf")
    if out is None:
        return
    paper = LETTER if window.preferences.paper == "letter" else A4
    try:
        write_bytes(out, markers_pdf(paper, USUAL_SHEETS))
    except PatternError as error:
        window.notices.say(error.says, wrong=True)
        return
    window.notices.say(
        f"{USUAL_SHEETS} marker sheets were saved as {out}. Print them at “actual size”, and measure the rule on each: "
        f"{RULE_MM:g} mm.",
        buttons=(("Open it", lambda: open_outside(out)), ("Show the folder", lambda: open_outside(out.parent))),
    )


def take_in(window: MainWindow, garment: Garment) -> bool:
    """Put the traced garment on the table, not saved yet."""
    if not window.garment_acts.may_let_go():
        return False
    return window.garment_acts.begin(Document(garment))
