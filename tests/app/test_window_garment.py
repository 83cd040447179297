"""A whole garment in the window: opened, saved, dropped, put away, printed, exported."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QColor, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMessageBox, QWidget
from pytestqt.qtbot import QtBot

import sample_pieces
from app.files import garment_file
from app.window.exporting import ExportDialog
from app.window.garment_acts import FIRST_SAMPLE
from app.window.printing import PrintDialog
from app.window.sample_dialog import SampleDialog, sample_names
from app.window.window import MainWindow
from sample_pieces.drafting.actors import ACTORS
from tests.window_case import (
    amount,
    answer_with,
    bare_window,
    document,
    furnished,
    number,
    remedies,
    shorten,
    texts,
    window,
)

__all__ = ["bare_window", "window"]


def test_a_clear_table_says_what_to_do(bare_window: MainWindow) -> None:
    shown = texts(bare_window)
    assert any("Open a garment of traced pieces" in text for text in shown)
    assert "Open a garment…" in shown
    for name in ("save", "print", "export", "write", "undo", "switch"):
        assert not bare_window.acts[name].isEnabled(), name
    assert not bare_window.strip.isVisible()


def test_with_nothing_else_it_opens_with_the_sample(bare_window: MainWindow) -> None:
    assert FIRST_SAMPLE in sample_names()
    bare_window.garment_acts.open_first(None)
    assert bare_window.session.document is not None
    assert not bare_window.session.unsaved
    assert bare_window.top.words()[0] == bare_window.session.garment.name


def test_every_sample_is_offered_and_opens(bare_window: MainWindow, qtbot: QtBot) -> None:
    dialog = SampleDialog(bare_window, sample_names())
    qtbot.addWidget(dialog)
    assert {*sample_pieces.names(), *(f"actors/{actor.name}.garment.json" for actor in ACTORS)} == set(sample_names())
    dialog.show()
    assert {"Undershirt", "Nurse", "Clown", "Prince"} <= set(texts(dialog))
    assert all(bare_window.garment_acts.open_sample(name) for name in sample_names())


def test_another_sample_is_opened_while_a_note_is_chosen(bare_window: MainWindow) -> None:
    first, *others = sample_names()
    assert bare_window.garment_acts.open_sample(first)
    for name in (*others, first):
        bare_window.strip.choose(bare_window.session.notes[0].id if bare_window.session.notes else "traced")
        assert bare_window.garment_acts.open_sample(name)
        assert bare_window.strip.chosen == ""
        assert bare_window.piece_id == bare_window.session.garment.pieces[0].id


def test_a_broken_file_is_refused_and_what_is_open_stays(window: MainWindow, tmp_path: Path) -> None:
    broken = tmp_path / "broken.garment.json"
    broken.write_text("{")
    was = window.session.document
    assert not window.garment_acts.open_path(broken)
    assert window.session.document is was
    assert "broken.garment.json" in window.notices.words()
    assert "What was open is still here." in window.notices.words()


def test_a_file_of_another_kind_is_told_by_its_kind(window: MainWindow, tmp_path: Path) -> None:
    list_of_things = tmp_path / "things to buy.txt"
    list_of_things.write_text("tape, pins")
    was = window.session.document
    window.garment_acts.open_dropped([str(list_of_things)])
    assert window.session.document is was
    assert "“things to buy.txt” is no garment, drawing or picture" in window.notices.words()


def test_a_dropped_file_is_opened(bare_window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "bodice.garment.json"
    garment_file.save_file(path, document(shorten(amount=12.0)))
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    event = QDropEvent(
        QPointF(100, 100), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    bare_window.dropEvent(event)
    assert bare_window.session.path == path
    assert amount(bare_window) == 12.0


def test_saving_asks_for_a_name_once(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.note_acts.drag_amount("note-1", "amount", 31.0)
    window.note_acts.settle()
    assert "not saved" in window.top.words()[1]
    answer_with(monkeypatch, tmp_path / "mine")
    window.acts["save"].trigger()
    path = tmp_path / "mine.garment.json"
    assert garment_file.open_file(path)[0].notes[0].amounts.amount == 31.0
    assert window.top.words()[1].endswith("saved")
    assert "not saved" not in window.top.words()[1]
    answer_with(monkeypatch, None)
    window.note_acts.drag_amount("note-1", "amount", 32.0)
    window.acts["save"].trigger()
    assert garment_file.open_file(path)[0].notes[0].amounts.amount == 32.0


@pytest.mark.parametrize(
    ("answer", "let_go"),
    [
        (QMessageBox.StandardButton.Cancel, False),
        (QMessageBox.StandardButton.Discard, True),
        (QMessageBox.StandardButton.Save, True),
    ],
)
def test_unsaved_work_is_not_put_away_unasked(
    window: MainWindow,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    answer: QMessageBox.StandardButton,
    let_go: bool,
) -> None:
    window.note_acts.drag_amount("note-1", "amount", 31.0)
    monkeypatch.setattr(QMessageBox, "exec", lambda _: answer)
    answer_with(monkeypatch, tmp_path / "mine.garment.json")
    window.acts["clear"].trigger()
    assert (window.session.document is None) is let_go
    assert (tmp_path / "mine.garment.json").exists() is (answer == QMessageBox.StandardButton.Save)


def test_a_file_changed_by_somebody_else_is_asked_about(
    bare_window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "bodice.garment.json"
    garment_file.save_file(path, document(shorten()))
    bare_window.garment_acts.open_path(path)
    garment_file.save_file(path, document(shorten(amount=44.0)))
    bare_window.note_acts.drag_amount("note-1", "amount", 31.0)
    monkeypatch.setattr(QMessageBox, "exec", lambda _: QMessageBox.StandardButton.Cancel)
    assert not bare_window.garment_acts.save()
    assert garment_file.open_file(path)[0].notes[0].amounts.amount == 44.0
    monkeypatch.setattr(QMessageBox, "exec", lambda _: QMessageBox.StandardButton.Discard)
    assert bare_window.garment_acts.save()
    assert garment_file.open_file(path)[0].notes[0].amounts.amount == 31.0


def test_pages_are_counted(window: MainWindow) -> None:
    window.garment_acts.count_pages()
    assert "sheets" in window.strip.ends["paper"].words()


def _shows(widget: QWidget, colour: str) -> bool:
    image = widget.grab().toImage()
    wanted = QColor(colour).rgb()
    return any(image.pixel(x, y) == wanted for x in range(image.width()) for y in range(image.height()))


def test_what_is_lacking_is_said_before_anything_is_saved(window: MainWindow, qtbot: QtBot) -> None:
    whole = window.draft
    (step,) = whole.followed.steps
    without = replace(whole.cut["front"], cutting=None, notches=())
    undone = replace(whole.followed, steps=(replace(step, done=False),))
    poor = replace(whole, cut={**whole.cut, "front": without}, followed=undone)
    wanted = [
        "! front has no cutting line; only its stitching line is drawn.",
        "! Note 1, “Shorten or lengthen at a line”, was not done.",
    ]
    for draft, said in ((whole, []), (poor, wanted)):
        printing = PrintDialog(window, draft, window.preferences)
        for dialog in (printing, ExportDialog(window, draft)):
            qtbot.addWidget(dialog)
            dialog.show()
            qtbot.waitUntil(dialog.isVisible)
            assert [line for text in texts(dialog) for line in text.split("\n") if line.startswith("!")] == said
        qtbot.waitUntil(lambda one=printing: "sheets" in one.words(), timeout=60_000)
        assert _shows(printing.view, window.colours.paper_change) is bool(said)


def test_pages_are_printed_in_a_process_of_their_own(window: MainWindow, tmp_path: Path, qtbot: QtBot) -> None:
    out = tmp_path / "pages.pdf"
    work = window.garment_acts.start_work("Laying out the pages", "print", ["--paper", "a4", "--out", str(out)])
    assert window.busy.isVisible()
    with qtbot.waitSignal(work.done, timeout=60_000):
        pass
    assert out.read_bytes().startswith(b"%PDF")
    assert not window.busy.isVisible()
    assert "Print at 100 %" in window.notices.words()


def test_long_work_can_be_stopped_and_leaves_nothing(window: MainWindow, tmp_path: Path, qtbot: QtBot) -> None:
    out = tmp_path / "pages.pdf"
    work = window.garment_acts.start_work("Laying out the pages", "print", ["--out", str(out)])
    assert window.garment_acts.start_work("Again", "print", ["--out", str(out)]) is None
    with qtbot.waitSignal(work.stopped, timeout=30_000):
        QTest.mouseClick(window.busy.stop_button, Qt.MouseButton.LeftButton)
    assert list(tmp_path.glob("*.pdf*")) == []
    assert not window.busy.isVisible()


def test_work_that_fails_says_why(window: MainWindow, tmp_path: Path, qtbot: QtBot) -> None:
    out = tmp_path / "nowhere" / "pages.pdf"
    work = window.garment_acts.start_work("Laying out the pages", "print", ["--out", str(out)])
    with qtbot.waitSignal(work.failed, timeout=60_000):
        pass
    assert "there is no folder" in window.notices.words()


@pytest.mark.parametrize(("kind", "begins"), [(0, b"<?xml"), (1, b"  0"), (2, b"  0")])
def test_a_drawing_is_exported(
    window: MainWindow, tmp_path: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, kind: int, begins: bytes
) -> None:
    monkeypatch.setattr(ExportDialog, "exec", lambda dialog: (dialog.choose(kind), 1)[1])
    answer_with(monkeypatch, tmp_path / "drawing")
    window.acts["export"].trigger()
    with qtbot.waitSignal(window.garment_acts._work.done, timeout=60_000):
        pass
    (found,) = tmp_path.glob("drawing.*")
    assert found.suffix == (".svg" if kind == 0 else ".dxf")
    assert found.read_bytes().startswith(begins)


def test_a_difference_that_was_traced_is_accepted_as_it_is(bare_window: MainWindow, qtbot: QtBot) -> None:
    bare_window.garment_acts.open_sample("traced-pair.garment.json")
    qtbot.waitUntil(lambda: len(remedies(bare_window.panel)) == 2)
    right, button = remedies(bare_window.panel)
    assert right.words().startswith("Put right") and button.words() == "Accept it as traced"
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert remedies(bare_window.panel) == []
    assert all(walk.verdict in ("true", "ease") for walk in bare_window.draft.after)
    qtbot.waitUntil(lambda: sum("accepted as traced" in text for text in texts(bare_window.panel)) == 1)
    bare_window.acts["undo"].trigger()
    qtbot.waitUntil(lambda: len(remedies(bare_window.panel)) == 2)


def test_work_left_behind_is_offered(qtbot: QtBot, tmp_path: Path) -> None:
    left = tmp_path / "state" / "not saved" / "99999999-left.garment.json"
    left.parent.mkdir(parents=True)
    garment_file.save_file(left, document(shorten(amount=17.0)))
    window = furnished(qtbot, tmp_path)
    window.garment_acts.open_first(None)
    assert "was not saved" in window.notices.words()
    QTest.mouseClick(window.notices.buttons()[0], Qt.MouseButton.LeftButton)
    assert amount(window) == 17.0
    assert window.session.unsaved
    assert number(window).value == 17.0


def test_a_file_named_at_the_start_that_cannot_be_opened_is_refused_on_a_clear_table(
    bare_window: MainWindow, tmp_path: Path
) -> None:
    bare_window.garment_acts.open_first(tmp_path / "nowhere.garment.json")
    assert bare_window.session.document is None
    assert "There is no file" in bare_window.notices.words()
    assert any("Open a garment of traced pieces" in text for text in texts(bare_window))


@pytest.mark.parametrize("over", [False, True])
def test_a_file_is_never_saved_over_unasked(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, over: bool
) -> None:
    there = tmp_path / "mine.garment.json"
    there.write_text("somebody's")
    answer_with(monkeypatch, tmp_path / "mine")
    button = QMessageBox.StandardButton.Save if over else QMessageBox.StandardButton.Cancel
    monkeypatch.setattr(QMessageBox, "exec", lambda _: button)
    assert window.garment_acts.save_as() is over
    assert (there.read_text() == "somebody's") is not over
