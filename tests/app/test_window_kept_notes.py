"""A client's notes in the window: kept in a file of their own, done to another garment in one step, nothing lost."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot

from app.documents import Document
from app.files import notes_file
from app.kept_notes import kept
from app.window.kept_notes_acts import became_lines, heading
from app.window.window import MainWindow
from geometry.notes import Target
from sample_pieces.draft import undershirt
from tests.window_case import answer_with, bare_window, document, furnished, note, shorten, texts, window

__all__ = ["bare_window", "window"]


@pytest.fixture
def hers(tmp_path: Path) -> Path:
    """Three notes written on the undershirt: the body shorter, the sleeve shorter, the side taken in."""
    notes = (
        replace(note("note-1", "shorten_or_lengthen", "front", "back", amount=4.0), remark="As pinned."),
        note("note-2", "shorten_or_lengthen", "sleeve", amount=10.0),
        replace(note("note-3", "take_in_or_let_out", waist=5.0), targets=(Target("front", edge="front.side"),)),
    )
    path = tmp_path / "hers.notes.json"
    notes_file.save_file(path, kept(Document(undershirt(), notes)))
    return path


@pytest.fixture
def lists(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """What the dialogs say that are opened, instead of waiting for them."""
    read: list[list[str]] = []

    def leave(dialog: QDialog) -> int:
        dialog.show()
        read.append([dialog.windowTitle(), *texts(dialog)])
        dialog.hide()
        return 0

    monkeypatch.setattr(QDialog, "exec", leave)
    return read


def test_notes_are_kept_in_a_file_of_their_own(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer_with(monkeypatch, tmp_path / "vera")
    window.acts["keep"].trigger()
    found = notes_file.open_file(tmp_path / "vera.notes.json")
    assert found.notes == window.session.notes and found.garment == window.session.garment.name
    assert window.notices.words() == f"1 note was kept as {tmp_path / 'vera.notes.json'}."
    assert not window.session.unsaved


def test_leaving_the_dialog_keeps_nothing(window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answer_with(monkeypatch, None)
    window.acts["keep"].trigger()
    window.acts["do_kept"].trigger()
    assert not list(tmp_path.glob("*.notes.json")) and window.session.notes == (shorten(),)


def test_a_garment_without_notes_says_so(window: MainWindow) -> None:
    window.note_acts.remove("note-1")
    window.acts["keep"].trigger()
    assert "has no notes to keep yet" in window.notices.words()


def test_kept_notes_are_done_in_one_step_and_what_became_of_each_is_said(
    window: MainWindow, hers: Path, lists: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The canon's bodice calls its side “side” where the undershirt says “front.side”, and it has no sleeve."""
    answer_with(monkeypatch, hers)
    window.acts["do_kept"].trigger()
    assert [one.id for one in window.session.notes] == ["note-1", "note-2", "note-3", "note-4"]
    assert window.session.notes[0] == shorten() and window.session.notes[1].remark == "As pinned."
    assert [step.done for step in window.session.draft.followed.steps] == [True, True, False, True]
    (shown,) = lists
    assert shown[0] == "Kept notes"
    assert any(line.startswith("3 notes of “Undershirt”") for line in shown)
    assert any(line.startswith("✓ note 2: Shorten by 4 mm") for line in shown)
    assert any(
        line.startswith("! note 3: ") and line.endswith("Not done: There is no piece like “Sleeve” here.")
        for line in shown
    )
    assert "“side seam” of “front” was found by what it is and its name: “side seam”." in shown
    assert window.notices.words() == "3 notes written after your own. 1 is not done as it stands."
    window.notices.buttons()[0].click()
    assert lists[1] == shown, "the list can be read again"
    assert window.notices.words(), "and again"
    assert window.strip.chosen == "note-2"
    window.acts["undo"].trigger()
    assert window.session.notes == (shorten(),)
    window.acts["redo"].trigger()
    assert len(window.session.notes) == 4


def test_a_broken_file_is_refused_and_nothing_changes(
    window: MainWindow, tmp_path: Path, lists: list[list[str]]
) -> None:
    path = tmp_path / "broken.notes.json"
    path.write_text("{}")
    before = window.session.document
    for one in (path, tmp_path / "not-there.notes.json"):
        window.kept_notes_acts.do(one)
        assert one.name in window.notices.words() and window.notices.words().endswith("What was open is still here.")
    assert window.session.document is before and not lists and not window.stack.canUndo()


def test_a_file_of_notes_that_is_dropped_is_done(window: MainWindow, hers: Path, lists: list[list[str]]) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(hers))])
    window.dropEvent(
        QDropEvent(
            QPointF(5, 5), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
        )
    )
    assert len(window.session.notes) == 4 and len(lists) == 1


def test_a_note_that_was_switched_off_stays_off_and_says_so(
    qtbot: QtBot, tmp_path: Path, lists: list[list[str]]
) -> None:
    off = replace(shorten(amount=5.0), on=False)
    found = kept(document(off))
    path = tmp_path / "off.notes.json"
    notes_file.save_file(path, found)
    window = furnished(qtbot, tmp_path, document())
    window.kept_notes_acts.do(path)
    assert not window.session.notes[0].on
    assert any(line.startswith("~ note 1: ") and line.endswith("It is switched off.") for line in lists[0])
    assert not window.notices.words().startswith("!")


def test_what_is_too_much_for_the_other_garment_is_said_with_the_note(window: MainWindow) -> None:
    from app.kept_notes import fitted

    found = kept(document(shorten(amount=290.0)))
    made = fitted(document(), found)
    window.session.put(made.document)
    (line,) = became_lines(window.session.draft, made, "cm")
    assert line.startswith("! note 1: Shorten by 29 cm") and "Not done: " in line and " mm" not in line
    assert heading(found, made).startswith("1 note of “")
