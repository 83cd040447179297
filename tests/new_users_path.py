"""A new user's path from paper to paper, walked in the window as she walks it: marker sheets, a photograph, the page on
which it is traced in, one fitting note, pages to print. ``docs/first-piece.md`` tells it with pictures taken here."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QFileDialog, QLineEdit, QWidget

from app.window.dials import NumberDial
from app.window.printing import PrintDialog
from app.window.trace_page import TracePage
from app.window.window import MainWindow
from geometry.alterations import find

#: Nothing on the way takes longer (seconds).
_LONGEST = 90.0
#: Called at each stage with its name and what is seen then.
Look = Callable[[str, QWidget], None]


def walk(window: MainWindow, photo: Path, folder: Path, look: Look = lambda name, widget: None) -> Path:
    """Walk all of it with a photograph; everything is saved in a folder. Returns the pages to print."""
    _saved_as(folder / "marker sheets.pdf", window.acts["markers"].trigger)
    look("markers", window)
    page = _opened(window, photo)
    look("loaded", page)
    _typed(page.name_field, "Understudy vest")
    until(lambda: not page.is_busy)
    _type(page, "name:piece-1", "Front")
    _pick(page, "fold:piece-1", "centre front")
    look("named", page)
    QTest.mouseClick(page.confirm_button, Qt.MouseButton.LeftButton)
    until(lambda: not page.is_busy)
    QTest.mouseClick(page.take_button, Qt.MouseButton.LeftButton)
    _saved_as(folder / "front.garment.json", window.acts["save"].trigger)
    window.note_acts.write(find("hem"))
    for amount in ("centre", "side"):
        dial = window.strip.card(window.session.notes[-1].id).dial(amount)
        assert isinstance(dial, NumberDial)
        _typed(dial, "30 mm")
    look("note", window)
    pages = folder / "front pages.pdf"
    QTimer.singleShot(0, lambda: _accept_print(look))
    _saved_as(pages, window.acts["print"].trigger)
    until(lambda: pages.exists() and "saved" in window.notices.words())
    look("printed", window)
    return pages


def until(there: Callable[[], bool]) -> None:
    """Let the window go on until something is so."""
    began = time.monotonic()
    while not there():
        assert time.monotonic() - began < _LONGEST
        QTest.qWait(20)


def _opened(window: MainWindow, photo: Path) -> TracePage:
    with patch.object(QFileDialog, "getOpenFileNames", lambda *_: ([str(photo)], "")):
        window.acts["open"].trigger()
    page = next(one for one in window.findChildren(TracePage) if one.isVisible())
    until(lambda: not page.is_busy)
    return page


def _saved_as(path: Path, does: Callable[[], None]) -> None:
    with patch.object(QFileDialog, "getSaveFileName", lambda *_: (str(path), "")):
        does()


def _type(page: TracePage, key: str, words: str) -> None:
    field = page.questions.row(key).control
    assert isinstance(field, QLineEdit)
    _typed(field, words)
    until(lambda: not page.is_busy)


def _typed(field: QLineEdit, words: str) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, words)
    QTest.keyClick(field, Qt.Key.Key_Return)


def _pick(page: TracePage, key: str, value: str) -> None:
    menu = page.questions.row(key).control
    assert isinstance(menu, QComboBox) and menu.findData(value) >= 0
    menu.setCurrentIndex(menu.findData(value))
    menu.activated.emit(menu.currentIndex())
    until(lambda: not page.is_busy)


def _accept_print(look: Look) -> None:
    """Look at the map of the pages once it is drawn, then save them."""
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, PrintDialog)
    until(lambda: "sheet" in dialog.words())
    look("print", dialog)
    dialog.accept()
