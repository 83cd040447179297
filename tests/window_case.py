"""A furnished window on a small garment, kept away from her own settings and files."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel, QLineEdit, QPushButton, QToolButton, QWidget
from pytestqt.qtbot import QtBot

from app.documents import Document
from app.session import Session
from app.window.cards import NoteCard
from app.window.dials import NumberDial
from app.window.look import dress, load_fonts
from app.window.palette import LIGHT
from app.window.preferences import Preferences
from app.window.window import MainWindow
from app.window.wrap_button import WrapButton
from geometry.alterations import find
from geometry.notes import Note, Target
from tests import canon


def note(note_id: str, name: str, *pieces: str, **amounts: object) -> Note:
    """A note with amounts by name, the others as they start."""
    alteration = find(name)
    targets = tuple(Target(piece) for piece in pieces)
    return Note(note_id, name, alteration.checked(amounts), targets, rule=alteration.version)


def shorten(note_id: str = "note-1", amount: float = 25.0) -> Note:
    return note(note_id, "shorten_or_lengthen", "front", "back", amount=amount)


def document(*notes: Note) -> Document:
    return Document(canon.bodice(), tuple(notes))


def furnished(qtbot: QtBot, folder: Path, opened: Document | None = None) -> MainWindow:
    """A shown window; its settings and recovery copies lie in ``folder``."""
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(folder / "settings"))
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    if not app.styleSheet():
        load_fonts()
        dress(app, LIGHT)
    window = MainWindow(Preferences.read(), LIGHT)
    qtbot.addWidget(window, before_close_func=lambda w: w.session.close())
    window.furnish(Session(folder / "state"))
    if opened is not None:
        window.session.begin(opened, saved=True)
        window.started_anew()
    window.show()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    return window


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """A window with a bodice that is shortened by one note."""
    yield furnished(qtbot, tmp_path, document(shorten()))


@pytest.fixture
def bare_window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """A window with nothing on its table."""
    yield furnished(qtbot, tmp_path)


def card_of(window: MainWindow, note_id: str = "note-1") -> NoteCard:
    return window.strip.card(note_id)


def number(window: MainWindow, name: str = "amount", note_id: str = "note-1") -> NumberDial:
    dial = card_of(window, note_id).dial(name)
    assert isinstance(dial, NumberDial)
    return dial


def amount(window: MainWindow, note_id: str = "note-1") -> float:
    """The main amount of a note in the document."""
    found = next(one for one in window.session.notes if one.id == note_id)
    return float(found.amounts.amount)


def texts(widget: QWidget) -> list[str]:
    """Every text that a widget shows now."""
    found = [label.text() for label in widget.findChildren(QLabel) if label.isVisible()]
    found += [b.text() for b in (*widget.findChildren(QPushButton), *widget.findChildren(QToolButton)) if b.isVisible()]
    found += [edit.text() for edit in widget.findChildren(QLineEdit) if edit.isVisible()]
    return [text for text in found if text]


def remedies(widget: QWidget) -> list[WrapButton]:
    return [button for button in widget.findChildren(WrapButton) if button.isVisible()]


def answer_with(monkeypatch: pytest.MonkeyPatch, path: Path | None) -> None:
    """Answer both file dialogs with a path, None for leaving them."""
    answer = ("" if path is None else str(path), "")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: answer)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: answer)
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_: ([answer[0]] if answer[0] else [], ""))
