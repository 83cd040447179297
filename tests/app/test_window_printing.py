"""The printing page: options, pieces dragged and turned over their sheets, undone, refused, and printed as seen."""

from __future__ import annotations

import json
import os
from contextlib import closing
from dataclasses import replace
from functools import partial
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from app import outputs
from app.files import arrangement_file
from app.laying import Laying
from app.window.printing import PrintDialog
from app.window.window import MainWindow
from geometry.drawing import Drawing, Role
from geometry.laid_by_hand import LaidPiece, lay_as
from geometry.papers import A4, LETTER
from geometry.sheets import SheetSettings, tile
from tests.window_case import answer_with, window

__all__ = ["window"]

LONG = 60_000


def opened(qtbot: QtBot, window: MainWindow) -> PrintDialog:
    dialog = PrintDialog(window, window.draft, window.preferences, window.session.arrangements)
    qtbot.addWidget(dialog)
    dialog.show()
    settled(qtbot, dialog)
    return dialog


def settled(qtbot: QtBot, dialog: PrintDialog) -> None:
    qtbot.waitUntil(lambda: not dialog.words().startswith("Laying"), timeout=LONG)


def laying(dialog: PrintDialog) -> Laying:
    assert dialog._now is not None
    return dialog._now[1]


def middle(dialog: PrintDialog, piece: str) -> QPoint:
    x0, y0, x1, y1 = laying(dialog).box(piece)
    return dialog.view.point((x0 + x1) / 2, (y0 + y1) / 2).toPoint()


def drag(dialog: PrintDialog, start: QPoint, by: QPoint, held: Qt.KeyboardModifier) -> str:
    """Drag with the mouse; what was said before it was let go."""
    QTest.mousePress(dialog.view, Qt.MouseButton.LeftButton, held, start)
    for part in (0.3, 0.6, 1.0):
        QTest.mouseMove(dialog.view, start + by * part)
    said = dialog.words()
    QTest.mouseRelease(dialog.view, Qt.MouseButton.LeftButton, held, start + by)
    return said


def test_pieces_are_dragged_counted_and_undone(window: MainWindow, qtbot: QtBot) -> None:
    dialog = opened(qtbot, window)
    own = laying(dialog).now
    before = laying(dialog).box("front")
    assert f"{own.sheets} sheets of A4 instead of " in dialog.words()
    scale = dialog.view._view.scale
    right = int(laying(dialog).now.sheet.width * scale)
    said = drag(dialog, middle(dialog, "front"), QPoint(right, 0), Qt.KeyboardModifier.NoModifier)
    assert f"; {own.sheets} as the program lays them" in dialog.words()
    now = laying(dialog).now
    inked = sum(not page.skipped for page in tile(now.sheet, laying(dialog).settings))
    assert said == dialog.words() and said.startswith(f"{inked} sheets of A4, laid by hand")
    assert laying(dialog).box("front") != before
    QTest.keyClick(dialog.view, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert laying(dialog).now is own and "laid by hand" not in dialog.words()
    QTest.mouseClick(dialog.tools.forth, Qt.MouseButton.LeftButton)
    assert laying(dialog).now is now
    QTest.mouseClick(dialog.tools.anew, Qt.MouseButton.LeftButton)
    assert laying(dialog).now.arrangement == own.arrangement


def test_pieces_over_each_other_are_marked_and_not_printed(window: MainWindow, qtbot: QtBot) -> None:
    dialog = opened(qtbot, window)
    start, end = middle(dialog, "front"), middle(dialog, "back")
    said = drag(dialog, start, end - start, Qt.KeyboardModifier.NoModifier)
    assert said == dialog.words()
    assert said.startswith("! Pieces lie over each other: ") and said.endswith(".")
    assert not dialog._save.isEnabled()
    assert laying(dialog).now.wrong == {"front", "back"}
    colour = window.colours.paper_change
    image = dialog.view.grab().toImage()
    assert any(image.pixelColor(x, y).name() == colour for x in range(image.width()) for y in range(image.height()))
    QTest.mouseClick(dialog.tools.back, Qt.MouseButton.LeftButton)
    assert dialog._save.isEnabled()


def test_all_of_it_by_the_keyboard(window: MainWindow, qtbot: QtBot) -> None:
    dialog = opened(qtbot, window)
    view = dialog.view
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_Space)
    piece = view.piece
    assert piece in dialog.tools.hint.text().lower()
    before = laying(dialog).now.arrangement
    for key, held in ((Qt.Key.Key_Right, "none"), (Qt.Key.Key_Right, "shift"), (Qt.Key.Key_Right, "alt")):
        modifiers = {"shift": Qt.KeyboardModifier.ShiftModifier, "alt": Qt.KeyboardModifier.AltModifier}
        QTest.keyClick(view, key, modifiers.get(held, Qt.KeyboardModifier.NoModifier))
    moved = {one.piece: one for one in laying(dialog).now.arrangement}
    still = next(one for one in before if one.piece != piece)
    was = next(one for one in before if one.piece == piece)
    brought = moved[still.piece].at[0] - still.at[0]
    assert moved[piece].at[0] - was.at[0] - brought == pytest.approx(5 + 50 + 0.5, abs=1e-5)
    turned = laying(dialog).box(piece)
    QTest.keyClick(view, Qt.Key.Key_R)
    x0, y0, x1, y1 = laying(dialog).box(piece)
    assert (x1 - x0, y1 - y0) == pytest.approx((turned[3] - turned[1], turned[2] - turned[0]), abs=1e-4)
    QTest.keyClick(view, Qt.Key.Key_PageUp)
    assert laying(dialog).box(piece) == (x0, y0, x1, y1), "with a grainline it is turned by quarters only"
    assert "turns by quarters" in dialog.tools.hint.text()
    QTest.keyClick(view, Qt.Key.Key_Space, Qt.KeyboardModifier.ShiftModifier)
    assert view.piece != piece
    QTest.keyClick(view, Qt.Key.Key_Escape)
    assert view.piece == "" and dialog.isVisible()


def test_a_piece_without_a_grain_turns_freely_by_keys_and_by_its_handle(window: MainWindow, qtbot: QtBot) -> None:
    dialog = opened(qtbot, window)
    key, laid = dialog._now
    plain = tuple(replace(one, drawing=grainless(one.drawing)) for one in laid.own.sheet.placed)
    grainless_sheet = replace(laid.own.sheet, placed=plain)
    drawings = [one.drawing for one in plain]
    dialog._show(key, Laying(grainless_sheet, laid.settings, lambda how: lay_as(drawings, how, laid.settings)))
    view = dialog.view
    view.choose("front")
    assert "turns freely" in dialog.tools.hint.text()
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_PageUp)
    QTest.keyClick(view, Qt.Key.Key_PageDown, Qt.KeyboardModifier.AltModifier)
    start = next(one for one in laying(dialog).own.arrangement if one.piece == "front").turned_deg
    assert turn_of(dialog) == pytest.approx((start + 4.0) % 360)
    laying(dialog).lay_out_again()
    view.look_anew()
    x0, _, x1, y1 = laying(dialog).box("front")
    above = view.point((x0 + x1) / 2, y1).toPoint()
    handle = QPoint(above.x(), max(above.y() - 22, 10))
    centre = middle(dialog, "front")
    up = centre.y() - handle.y()
    drag(dialog, handle, QPoint(-up, up), Qt.KeyboardModifier.NoModifier)
    assert turn_of(dialog) == pytest.approx((start + 90.0) % 360)


def grainless(drawing: Drawing) -> Drawing:
    kept = tuple(s for s in drawing.strokes if s.role not in (Role.GRAIN, Role.STRETCH, Role.FOLD))
    return replace(drawing, strokes=kept)


def turn_of(dialog: PrintDialog) -> float:
    return next(one for one in laying(dialog).now.arrangement if one.piece == "front").turned_deg


def test_what_was_laid_by_hand_is_printed_and_kept_while_the_garment_is_open(
    window: MainWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted: list[object] = []

    def by_hand(dialog: PrintDialog) -> int:
        dialog.show()
        settled(qtbot, dialog)
        dialog.view.choose("front")
        dialog.view.setFocus()
        for _ in range(16):
            QTest.keyClick(dialog.view, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
        QTest.keyClick(dialog.view, Qt.Key.Key_R)
        assert dialog._save.isEnabled(), dialog.words()
        wanted.append(laying(dialog).now)
        return 1

    monkeypatch.setattr(PrintDialog, "exec", by_hand)
    out = tmp_path / "pages.pdf"
    answer_with(monkeypatch, out)
    window.acts["print"].trigger()
    with qtbot.waitSignal(window.garment_acts._work.done, timeout=LONG) as done:
        pass
    arrangement = wanted[0].arrangement
    assert wanted[0].over == ()
    given = {row["piece"]: row["transform"] for row in done.args[0]["sheet"]}
    for one in arrangement:
        six = (one.motion.a, one.motion.b, one.motion.c, one.motion.d, one.motion.e, one.motion.f)
        assert given[one.piece] == pytest.approx(six, abs=1e-6)
    assert len(pikepdf.open(out).pages) == wanted[0].sheets + 1
    dialog = opened(qtbot, window)
    assert laying(dialog).now.arrangement == arrangement and "laid by hand" in dialog.words()
    window.session.close()
    assert window.session.arrangements == {}


def test_the_day_it_was_saved_is_shown_and_printed(
    window: MainWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """1612353600 is noon of 3 February 2021, UTC."""
    kept = tmp_path / "bodice.garment.json"
    window.session.save(kept)
    os.utime(kept, (1612353600, 1612353600))
    shown: list[str] = []

    def accepted(dialog: PrintDialog) -> int:
        dialog.show()
        settled(qtbot, dialog)
        shown.extend(words.words for one in laying(dialog).now.sheet.placed for words in one.there.words)
        return 1

    monkeypatch.setattr(PrintDialog, "exec", accepted)
    answer_with(monkeypatch, tmp_path / "pages.pdf")
    window.acts["print"].trigger()
    with qtbot.waitSignal(window.garment_acts._work.done, timeout=LONG):
        pass
    assert "Notes done, 3 Feb 2021" in shown
    with closing(pypdfium2.PdfDocument(tmp_path / "pages.pdf")) as document:
        printed = " ".join(page.get_textpage().get_text_range() for page in document)
    assert "Notes done, 3 Feb 2021" in " ".join(printed.split())


def test_an_arrangement_is_saved_and_opened(
    window: MainWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    dialog = opened(qtbot, window)
    dialog.view.choose("front")
    dialog.view.turn(180.0)
    mine = laying(dialog).now.arrangement
    answer_with(monkeypatch, tmp_path / "mine")
    dialog.tools.save_asked.emit()
    file = tmp_path / "mine.arrangement.json"
    assert arrangement_file.open_file(file) == mine
    laying(dialog).lay_out_again()
    answer_with(monkeypatch, file)
    dialog.tools.open_asked.emit()
    assert laying(dialog).now.arrangement == mine
    values = json.loads(file.read_text())
    file.write_text(json.dumps(values | {"sheet": values["sheet"][1:]}))
    dialog.tools.open_asked.emit()
    assert "does not say where" in dialog.words()
    assert laying(dialog).now.arrangement == mine, "what cannot be laid changes nothing"


def test_what_the_command_line_has_the_page_has(window: MainWindow, qtbot: QtBot) -> None:
    dialog = opened(qtbot, window)
    asks = dialog.asks
    asks.papers.setCurrentIndex(asks.papers.findData("a4-and-letter"))
    assert asks.margin.value == 15.0, "the paper's own margin"
    asks.papers.setCurrentIndex(asks.papers.findData("letter"))
    assert asks.margin.value == LETTER.margin_mm
    asks.edge_to_edge.setChecked(True)
    asks.whole.setChecked(True)
    asks.toile.setChecked(True)
    asks.ways.setCurrentIndex(1)
    settled(qtbot, dialog)
    assert dialog.options() == [
        "--paper=letter", "--overlap=0.0mm", "--margin=6.35mm", "--landscape", "--opened", "--toile"
    ]
    front = next(one.drawing for one in laying(dialog).own.sheet.placed if one.piece_id == "front")
    assert not any(stroke.role is Role.FOLD for stroke in front.strokes), "opened out"
    asks.papers.setCurrentIndex(asks.papers.findData("own"))
    asks.wide.dial_to(250.0)
    asks.high.dial_to(300.0)
    settled(qtbot, dialog)
    assert dialog.options()[0] == "--paper=250.0mm x 300.0mm" and "250 x 300 mm" in dialog.words()
    kept = dialog.preferred()
    assert (kept["own_width"], kept["own_height"], kept["overlap"], kept["landscape"]) == (250.0, 300.0, 0.0, True)


def test_whichever_way_takes_fewer(window: MainWindow, qtbot: QtBot) -> None:
    dialog = opened(qtbot, window)
    counts = {}
    for way in range(3):
        dialog.asks.ways.setCurrentIndex(way)
        settled(qtbot, dialog)
        counts[way] = laying(dialog).now.sheets
    assert counts[2] == min(counts.values())
    assert ("--landscape" in dialog.options()) is laying(dialog).settings.landscape


def test_pages_to_print_again(window: MainWindow, qtbot: QtBot) -> None:
    dialog = opened(qtbot, window)
    asks, view = dialog.asks, dialog.view
    live = laying(dialog).settings.live
    page = next(page for page in laying(dialog).now.pages if page.name == "A1")
    spot = view.point(page.origin[0] + live[0] / 2, page.origin[1] + live[1] / 2).toPoint()
    QTest.mouseClick(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, spot)
    assert asks.again.text() == "A1" and "1 of them is printed again" in dialog.words()
    assert dialog.options()[-1] == "--pages=A1"
    asks.again.setText("A1, Z9")
    assert dialog.words() == "! There is no page Z9 to print." and not dialog._save.isEnabled()
    asks.again.setText("first")
    assert "names no page" in dialog.words()
    QTest.mouseClick(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, spot)
    asks.again.setText("A1")
    QTest.mouseClick(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, spot)
    assert asks.again.text() == "" and dialog._save.isEnabled()


def test_paper_that_is_none_is_said(window: MainWindow, qtbot: QtBot) -> None:
    dialog = opened(qtbot, window)
    dialog.asks.overlap.dial_to(40.0)
    qtbot.waitUntil(lambda: dialog.words().startswith("!"))
    assert not dialog._save.isEnabled() and "10 to 15 mm" in dialog.words()
    dialog.asks.overlap.dial_to(12.0)
    settled(qtbot, dialog)
    assert dialog._save.isEnabled()


def test_the_page_is_left_while_pieces_are_being_laid(window: MainWindow, qtbot: QtBot) -> None:
    dialog = PrintDialog(window, window.draft, window.preferences)
    qtbot.addWidget(dialog)
    dialog.show()
    qtbot.waitUntil(lambda: dialog._thread is not None)
    work = dialog._thread
    with qtbot.waitSignal(work.finished, timeout=LONG):
        dialog.reject()
        assert not dialog.isVisible() and dialog._thread is None
    assert dialog.arrangements() == {}


def test_no_file_is_named(window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    dialog = opened(qtbot, window)
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: ("", ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: ("", ""))
    words = dialog.words()
    dialog.tools.save_asked.emit()
    dialog.tools.open_asked.emit()
    assert dialog.words() == words


def test_the_laying_by_itself(window: MainWindow) -> None:
    settings = SheetSettings(A4)
    laid = Laying(
        outputs.page_sheet(window.draft, settings), settings, partial(outputs.page_sheet_as, window.draft, settings)
    )
    own = laid.now.arrangement
    laid.take(own)
    assert not laid.can_undo, "laying pieces where they lie is no change"
    laid.take(laid.slid("front", 0.0, -3000.0))
    assert laid.by_hand and laid.can_undo
    laid.undo()
    laid.undo()
    assert laid.now.arrangement == own and laid.can_redo
    assert laid.piece_at((-500.0, -500.0)) == ""
    for one in laid.now.sheet.placed:
        x0, y0, x1, y1 = one.there.bounds()
        assert laid.piece_at(((x0 + x1) / 2, (y0 + y1) / 2)) == one.piece_id
    assert isinstance(own[0], LaidPiece)
