"""Drawings and pictures that are opened or dropped: the page for them, and the garment that comes of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from app.documents import Document
from app.files.safely import read_bytes
from app.tracing.limits import LARGEST
from app.tracing.reading import ENDINGS
from geometry.errors import PatternError
from geometry.garments import Garment

if TYPE_CHECKING:
    from app.window.trace_page import TracePage
    from app.window.window import MainWindow

#: A photo that cannot be read goes the same way, to be told so.
TRACED_IN = (*ENDINGS, ".heic")


def is_traced_in(path: Path) -> bool:
    """Whether a file is a drawing or a picture, by its name."""
    return path.name.lower().endswith(TRACED_IN)


def trace_in(window: MainWindow, paths: Sequence[Path]) -> TracePage | None:
    """Open the page for some drawings or pictures; None, with one sentence, where one cannot be read."""
    from app.window.trace_page import TracePage
    from app.window.trace_work import Given

    try:
        files = [Given(path.name, read_bytes(path, LARGEST)) for path in paths]
    except PatternError as error:
        window.notices.say(error.says, wrong=True)
        return None
    page = TracePage(
        window, files, window.preferences.units, window.colours, lambda garment: take_in(window, garment)
    )
    page.finished.connect(lambda _: page.deleteLater())
    page.open()
    return page


def take_in(window: MainWindow, garment: Garment) -> bool:
    """Put the traced garment on the table, not saved yet."""
    if not window.garment_acts.may_let_go():
        return False
    return window.garment_acts.begin(Document(garment))
