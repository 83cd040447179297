"""How the window shows things: tape measures, small screens, light and dark, large text, keys, words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtGui import QColor, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from app.window.actions import ACTS
from app.window.end_cards import allowance_lines, traced_lines, trued_lines
from app.window.help_pages import keys_text
from app.window.palette import DARK, LIGHT
from app.window.preferences import Preferences
from app.window.seams_panel import SeamFrame
from app.window.seams_words import summary, verdicts
from app.window.window import MainWindow
from geometry.pipeline import draft
from tests import canon
from tests.window_case import (
    amount,
    bare_window,
    card_of,
    document,
    furnished,
    note,
    number,
    shorten,
    texts,
    window,
)

__all__ = ["bare_window", "window"]

_METRIC = re.compile(r"\d ?(mm|cm)\b")
_INCHES = re.compile(r"\d ?in\b")


def test_every_length_follows_the_tape_measure(qtbot: QtBot, tmp_path: Path) -> None:
    notes = (shorten(amount=25.4), note("note-2", "armhole_too_low", "front", amount=12.7))
    window = furnished(qtbot, tmp_path, document(*notes))
    window.view_acts.set_units("in")
    window.garment_acts.count_pages()
    QTest.qWait(20)
    shown = texts(window)
    assert not [text for text in shown if _METRIC.search(text)]
    assert "1 in" in shown
    assert "takes out 1 in (crease a fold 1/2 in deep)" in shown
    window.view_acts.set_units("cm")
    QTest.qWait(20)
    shown = texts(window)
    assert not [text for text in shown if _INCHES.search(text)]
    assert "2.54 cm" in shown


def test_the_tape_measure_changes_nothing_of_the_work(window: MainWindow) -> None:
    was = window.session.document
    window.view_acts.set_units("in")
    assert window.session.document is was
    assert not window.session.unsaved
    assert Preferences.read().units == "in"


def test_on_a_small_screen_the_column_folds_into_a_line(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(shorten(), note("note-2", "armhole_too_low", "front", "back")))
    window.resize(1280, 720)
    qtbot.waitUntil(lambda: window.line.isVisible())
    assert not window.panel.isVisible()
    assert (window.width(), window.height()) == (1280, 720)
    window.acts["sew"].trigger()
    assert window.panel.isVisible()
    window.acts["sew"].trigger()
    assert not window.panel.isVisible()
    assert window.strip._area.horizontalScrollBar().maximum() > 0
    window.resize(1440, 900)
    qtbot.waitUntil(lambda: window.panel.isVisible())
    assert not window.line.isVisible()


@pytest.mark.parametrize("size", [1.0, 1.5, 2.0])
def test_no_number_is_cut_off_whatever_the_size_of_the_text(qtbot: QtBot, tmp_path: Path, size: float) -> None:
    window = furnished(qtbot, tmp_path, document(shorten(amount=38.1)))
    try:
        window.prefer(text_size=size, units="in")
        QTest.qWait(30)
        dial = number(window)
        font = dial.font()
        assert font.bold()
        assert dial.fontMetrics().horizontalAdvance(dial.text()) < dial.width() - 8
        assert card_of(window).height() <= window.strip.height()
    finally:
        window.prefer(text_size=1.0, units="cm")


def test_dark_is_dark_and_paper_stays_light(window: MainWindow) -> None:
    try:
        window.prefer(look="dark")
        assert window.colours is DARK
        grab = window.grab().toImage()
        assert grab.pixelColor(3, 3) == QColor(DARK.bar)
        papers = sum(
            grab.pixelColor(x, y) == QColor(DARK.paper)
            for x in range(0, grab.width(), 9)
            for y in range(0, grab.height(), 9)
        )
        assert papers > 100
    finally:
        window.prefer(look="light")
    assert window.grab().toImage().pixelColor(3, 3) == QColor(LIGHT.bar)


def test_preferences_are_kept_and_nonsense_in_them_is_forgiven(window: MainWindow, tmp_path: Path) -> None:
    window.prefer(paper="letter", overlap=15.0)
    assert (Preferences.read().paper, Preferences.read().overlap) == ("letter", 15.0)
    (file,) = (tmp_path / "settings").rglob("*.ini")
    # A new name, as settings that were read once are kept in memory.
    (tmp_path / "more" / "tuck-and-true").mkdir(parents=True)
    text = file.read_text() if file.stat().st_size else "[General]\n"
    (tmp_path / "more" / "tuck-and-true" / "window.ini").write_text(
        re.sub(r"(?m)^(overlap|paper|units|text_size)=.*$", "", text)
        + "\noverlap=nan\npaper=a9\nunits=ell\ntext_size=99\n"
    )
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path / "more"))
    read = Preferences.read()
    assert (read.overlap, read.paper, read.units, read.text_size) == (12.0, "a4", "cm", 2.0)


def test_every_action_is_done_by_something_and_no_key_twice(window: MainWindow) -> None:
    assert set(window.acts) == {act.name for act in ACTS}
    keys = [act.keys for act in ACTS if act.keys]
    assert len(keys) == len(set(keys))
    for act in ACTS:
        assert window.acts[act.name].shortcut() == QKeySequence(act.keys), act.name
    assert window.acts["leave"].shortcut() == QKeySequence("Ctrl+Q")
    assert window.acts["settings"].shortcut() == QKeySequence("Ctrl+,")


def test_the_list_of_keys_names_every_key() -> None:
    said = keys_text()
    for act in ACTS:
        assert not act.keys or f"| {act.keys} |" in said


def test_the_page_on_the_window_is_the_help_page() -> None:
    root = Path(__file__).resolve().parents[2]
    help_page = (root / "app" / "window" / "using-the-window.md").read_text(encoding="utf-8")
    assert help_page in (root / "docs" / "using-the-window.md").read_text(encoding="utf-8")


def test_seams_are_said_in_words() -> None:
    found = verdicts(draft(canon.bodice(), [shorten()]), "cm")
    by_title = {verdict.title: verdict for verdict in found}
    side = by_title["Side seam"]
    assert (side.sign, side.wrong) == ("✓", False)
    assert re.fullmatch(r"\d+\.\d / \d+\.\d cm, notches meet", side.says)
    assert summary(found).startswith("✓" if not any(v.wrong for v in found) else "!")


def test_what_is_wrong_stands_first_with_its_sign_and_its_remedy() -> None:
    only_front = note("note-1", "armhole_too_low", "front", amount=6.0)
    shortened = note("note-2", "shorten_or_lengthen", "front", amount=25.0)
    found = verdicts(draft(canon.bodice(), [only_front, shortened]), "cm")
    wrong = [verdict for verdict in found if verdict.wrong]
    assert found[: len(wrong)] == tuple(wrong)
    assert wrong
    assert all(verdict.sign == "!" for verdict in wrong if verdict.title == "Side seam")
    assert any("since note 2" in verdict.says for verdict in wrong)


def test_every_verdict_is_told_by_more_than_colour(window: MainWindow) -> None:
    frames = window.panel.findChildren(SeamFrame)
    assert frames
    for frame in frames:
        signs = [label.text() for label in frame.findChildren(QLabel)]
        assert signs[0] in {"✓", "~", "!"}
        assert frame.accessibleName().startswith(signs[0])


def test_the_end_cards_say_how_things_stand() -> None:
    drafted = draft(canon.bodice(), [shorten()])
    assert traced_lines(drafted.garment)[:2] == ["2 pieces", "2 seams"]
    lines = trued_lines(drafted)
    assert re.match(r"\d edges? blended", lines[0])
    assert any("walk" in line or "out" in line for line in lines)
    assert any(line.startswith("seam 1.5 cm") for line in allowance_lines(drafted, "cm"))
    assert trued_lines(draft(canon.bodice(), []))[0] == "nothing to blend"


def test_pieces_are_laid_on_the_table_by_key_and_by_click(window: MainWindow) -> None:
    assert window.piece_id == "front"
    window.acts["next_piece"].trigger()
    assert window.piece_id == "back"
    window.acts["next_piece"].trigger()
    assert window.piece_id == "front"
    window.top.pieces._buttons["back"].click()
    assert window.piece_id == "back"
    assert "•" in window.top.pieces._buttons["back"].text()
    assert amount(window) == 25.0


def test_the_view_menu_opens_a_piece_out_and_zooms(window: MainWindow) -> None:
    opened, table = window.acts["opened"], window.table
    assert opened.isEnabled() and not opened.isChecked()
    opened.trigger()
    assert table.opened and opened.isChecked() and table.controls._opened.isChecked()
    table.controls._opened.click()
    assert not table.opened and not opened.isChecked()
    scale = table.view.scale
    window.acts["closer"].trigger()
    assert table.view.scale > scale
    window.acts["further"].trigger()
    assert table.view.scale == pytest.approx(scale)


def test_a_long_title_takes_the_room_that_the_pieces_leave(window: MainWindow) -> None:
    title = "Undershirt of the lamplighter, front and back"
    window.resize(1440, 900)
    window.top.say(title, "saved")
    assert window.top._title.text() == title
    assert window.top.pieces.width() >= window.top.pieces.wanted
    window.top.say(title * 9, "saved")
    assert window.top._title.text().endswith("…")
    assert window.top.pieces.width() >= window.top.pieces.wanted
