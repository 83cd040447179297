"""Her own words on a note: shown where there are any, written when she asks, kept, taken back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.window.window import MainWindow
from tests.window_case import card_of, document, furnished, shorten, window

__all__ = ["window"]


def test_there_is_no_line_until_she_asks_for_it(window: MainWindow, qtbot: QtBot) -> None:
    line = card_of(window).remark
    assert not line.isVisible()
    assert not window.acts["remark"].isEnabled()
    window.strip.choose("note-1")
    window.acts["remark"].trigger()
    assert line.isVisible() and line._editor.isVisible()
    qtbot.keyClicks(line._editor, "Pinned at the ")
    qtbot.keyClick(line._editor, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClicks(line._editor, "first fitting")
    assert window.session.notes[0].remark == "", "nothing is written before she is done"
    qtbot.keyClick(line._editor, Qt.Key.Key_Return)
    assert window.session.notes[0].remark == "Pinned at the \nfirst fitting"
    assert line._line.isVisible() and line._line.words() == window.session.notes[0].remark
    assert "Pinned at the" in card_of(window).accessibleDescription()
    assert window.session.notes[0].on, "a space typed switches nothing off"
    window.acts["undo"].trigger()
    assert window.session.notes[0].remark == "" and not line.isVisible()
    window.acts["redo"].trigger()
    assert line._line.words() == "Pinned at the \nfirst fitting"


def test_it_is_changed_by_pressing_it_left_by_escape_and_gone_when_emptied(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(replace(shorten(), remark="As pinned.")))
    line = card_of(window).remark
    assert line._line.isVisible() and line._line.words() == "As pinned."
    line._line.click()
    qtbot.keyClicks(line._editor, "Something else")
    qtbot.keyClick(line._editor, Qt.Key.Key_Escape)
    assert line._line.isVisible() and window.session.notes[0].remark == "As pinned." and not window.stack.canUndo()
    line._line.click()
    qtbot.keyClick(line._editor, Qt.Key.Key_Delete)
    window.table.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.waitUntil(lambda: window.session.notes[0].remark == "")
    assert not line.isVisible() and len(window.session.notes) == 1


def test_what_is_being_written_is_left_alone_when_all_is_drafted_again(window: MainWindow, qtbot: QtBot) -> None:
    window.strip.choose("note-1")
    window.acts["remark"].trigger()
    line = card_of(window).remark
    qtbot.keyClicks(line._editor, "half a sen")
    window.refresh()
    assert line._editor.isVisible() and line._editor.toPlainText() == "half a sen"


def test_a_long_remark_is_read_whole_on_the_card(qtbot: QtBot, tmp_path: Path) -> None:
    words = "The player stoops a little when the lamp is lifted, so the back hangs long at the hem. " * 2
    window = furnished(qtbot, tmp_path, document(replace(shorten(), remark=words.strip())))
    card = card_of(window)
    assert card.remark.height() >= card.remark.heightForWidth(card.remark.width())
    assert card.height_at(card.width()) <= card.height()
