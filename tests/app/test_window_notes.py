"""Writing notes in the window: dialled, moved, switched, taken away, taken back."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QLabel, QPushButton
from pytestqt.qtbot import QtBot

from app.documents import Document
from app.window.by_hand_page import StepPicture
from app.window.choosing import BlendSheet, PiecesSheet
from app.window.note_menu import first_note, note_menu
from app.window.window import MainWindow
from geometry.alterations import everything, find
from geometry.notes import BlendChoice
from geometry.pipeline import Draft
from geometry.sameness import same
from sample_pieces.draft import trousers, undershirt
from tests import canon
from tests.window_case import amount, bare_window, card_of, document, furnished, note, number, shorten, texts, window

__all__ = ["bare_window", "window"]


def test_dialling_redraws_at_once(window: MainWindow, qtbot: QtBot) -> None:
    before = window.draft.redrawn.piece("front")
    number(window).turn(1)
    qtbot.waitUntil(lambda: amount(window) == 26.0)
    after = window.draft.redrawn.piece("front")
    # One millimetre more is taken out of the fold.
    assert before.fold.length - after.fold.length == pytest.approx(1.0, abs=1e-6)
    assert "takes out 2.6 cm (crease a fold 1.3 cm deep)" in texts(card_of(window))


def test_the_newest_number_wins(window: MainWindow, qtbot: QtBot) -> None:
    drafted: list[Document] = []
    put = window.session.put
    window.session.put = lambda one: (drafted.append(one), put(one))[1]  # type: ignore[method-assign]
    for _ in range(10):
        number(window).turn(1)
    qtbot.waitUntil(lambda: amount(window) == 35.0)
    assert len({id(one) for one in drafted}) == 1


def test_the_steps_of_one_dialling_are_taken_back_together(window: MainWindow, qtbot: QtBot) -> None:
    for _ in range(3):
        number(window).turn(1)
        qtbot.wait(5)
    window.note_acts.settle()
    number(window).turn(5)
    window.note_acts.settle()
    assert amount(window) == 33.0
    window.acts["undo"].trigger()
    assert amount(window) == 28.0
    window.acts["undo"].trigger()
    assert amount(window) == 25.0
    assert not window.acts["undo"].isEnabled()
    window.acts["redo"].trigger()
    assert amount(window) == 28.0


def test_the_window_keeps_its_keys_while_a_number_has_the_keyboard(window: MainWindow, qtbot: QtBot) -> None:
    dial = number(window)
    dial.setFocus(Qt.FocusReason.TabFocusReason)
    QTest.keyClick(dial, Qt.Key.Key_Up)
    qtbot.waitUntil(lambda: amount(window) == 26.0)
    QTest.keyClick(dial, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: amount(window) == 25.0)


def test_a_drag_on_the_table_is_one_change(window: MainWindow, qtbot: QtBot) -> None:
    for value in (26.0, 31.5, 44.0):
        window.table.amount_dragged.emit("note-1", "amount", value)
        qtbot.wait(5)
    window.table.drag_finished.emit("note-1")
    assert amount(window) == 44.0
    assert window.stack.count() == 1
    window.acts["undo"].trigger()
    assert amount(window) == 25.0


def test_a_frame_drafts_the_piece_on_the_table_and_the_garment_follows(window: MainWindow, qtbot: QtBot) -> None:
    shown: list[Draft] = []
    amounts: list[float] = []
    show = window.table.show_draft

    def shows(one: Draft, *rest: object) -> None:
        # What the document holds while the frame is shown: on a busy machine the garment follows before it is read.
        shown.append(one)
        amounts.append(amount(window))
        show(one, *rest)  # type: ignore[arg-type]

    window.table.show_draft = shows  # type: ignore[method-assign]
    window.table.amount_dragged.emit("note-1", "amount", 31.0)
    qtbot.waitUntil(lambda: bool(shown))
    frame = shown[0]
    assert list(frame.blended.pieces) == ["front"] and frame.after == ()
    assert amounts[0] == 25.0
    qtbot.waitUntil(lambda: amount(window) == 31.0)
    whole = window.draft
    assert set(whole.blended.pieces) == {"front", "back"} and whole.after
    assert same(frame.redrawn.piece("front"), whole.redrawn.piece("front"), 0.0)


def test_a_drag_past_the_limit_stops_there(window: MainWindow) -> None:
    window.table.amount_dragged.emit("note-1", "amount", 9_999.0)
    window.note_acts.settle()
    assert amount(window) == find("shorten_or_lengthen").fields()["amount"].most


def test_both_readings_and_the_largest_amount_that_fits_are_said(window: MainWindow, qtbot: QtBot) -> None:
    number(window).dial_to(300.0)
    qtbot.waitUntil(lambda: amount(window) == 300.0)
    shown = " ".join(texts(card_of(window)))
    assert "! not done" in shown
    assert "Not done: " in shown
    assert window.draft.redrawn.piece("front") is window.draft.garment.piece("front")


@pytest.mark.parametrize("alteration", everything(), ids=lambda a: a.name)
def test_every_alteration_can_be_written_and_its_card_dials_every_amount(
    qtbot: QtBot, tmp_path: Path, alteration: object
) -> None:
    window = furnished(qtbot, tmp_path, document())
    window.note_acts.write(alteration)
    (written,) = window.session.notes
    assert written.targets
    assert window.strip.chosen == written.id
    for name in alteration.fields():
        dial = card_of(window, written.id).dial(name)
        qtbot.waitUntil(lambda dial=dial: dial.isVisibleTo(window))
        assert dial.toolTip()


def test_a_note_starts_on_the_pieces_of_its_region_of_the_body() -> None:
    # What is done to one piece at a level is done to every piece joined to it there (The Dressmaker, c. 1911-16).
    garment = canon.bodice()
    written = first_note(find("shorten_or_lengthen"), garment, "back", "note-1")
    assert [target.piece for target in written.targets] == ["front", "back"]
    # Not what is sewn to what, but what covers the body there says where it starts.
    shirt = undershirt()
    for piece_id in ("front", "back", "neckband"):
        note = first_note(find("armhole_too_low"), shirt, piece_id, "n")
        assert [target.piece for target in note.targets] == ["front", "back"]
    # A piece on the table that is none of them is meant by itself.
    sleeve = first_note(find("shorten_or_lengthen"), shirt, "sleeve", "n")
    assert [target.piece for target in sleeve.targets] == ["sleeve"]
    assert [target.piece for target in first_note(find("seat"), trousers(), "front", "n").targets] == ["back"]
    taken = first_note(find("take_in_or_let_out"), shirt, "back", "n").targets
    assert [(target.piece, target.edge) for target in taken] == [("front", "front.side")]


def test_the_chosen_note_is_shown_by_hand_with_a_drawing_a_step(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = furnished(qtbot, tmp_path, document(shorten()))
    window.strip.choose("note-1")
    pages: list[tuple[list[str], int]] = []

    def look(dialog: QDialog) -> int:
        labels = [label.text() for label in dialog.findChildren(QLabel)]
        pictures = dialog.findChildren(StepPicture)
        for picture in pictures:
            shown = picture.grab().toImage()
            colours = {shown.pixelColor(x, y).name() for x in range(shown.width()) for y in range(0, shown.height(), 3)}
            assert len(colours) > 5, picture.accessibleName()
        pages.append((labels, len(pictures)))
        return 0

    monkeypatch.setattr(QDialog, "exec", look)
    window.acts["by_hand"].trigger()
    ((labels, pictures),) = pages
    assert "3  Crease along the second line and bring the crease to the first: the fold is 1.25 cm deep." in labels
    assert pictures == sum(text[0].isdigit() for text in labels)
    window.acts["switch"].trigger()
    window.acts["by_hand"].trigger()
    assert len(pages) == 1 and any("switched off" in text for text in texts(window))


def test_switching_off_moving_copying_and_taking_away(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(shorten(), note("note-2", "armhole_too_low", "front", "back")))
    window.strip.choose("note-1")
    window.acts["switch"].trigger()
    assert [one.on for one in window.session.notes] == [False, True]
    assert "switched off" in texts(card_of(window))
    window.acts["later"].trigger()
    assert [one.id for one in window.session.notes] == ["note-2", "note-1"]
    assert not window.strip.card("note-1")._later.isEnabled()
    window.acts["copy"].trigger()
    assert [one.id for one in window.session.notes] == ["note-2", "note-1", "note-3"]
    window.acts["remove"].trigger()
    assert [one.id for one in window.session.notes] == ["note-2", "note-1"]
    while window.acts["undo"].isEnabled():
        window.acts["undo"].trigger()
    assert [(one.id, one.on) for one in window.session.notes] == [("note-1", True), ("note-2", True)]


def test_cards_by_keyboard_alone(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(shorten(), note("note-2", "armhole_too_low", "front")))
    first, second = card_of(window, "note-1"), card_of(window, "note-2")
    first.setFocus(Qt.FocusReason.TabFocusReason)
    assert window.strip.chosen == "note-1"
    QTest.keyClick(first, Qt.Key.Key_Right)
    assert window.strip.chosen == "note-2"
    QTest.keyClick(second, Qt.Key.Key_Space)
    assert not window.session.notes[1].on
    QTest.keyClick(second, Qt.Key.Key_Delete)
    assert [one.id for one in window.session.notes] == ["note-1"]


def test_a_card_is_dragged_to_another_place(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(shorten(), note("note-2", "armhole_too_low", "front")))
    first, second = card_of(window, "note-1"), card_of(window, "note-2")
    qtbot.waitUntil(lambda: second.x() > first.x())
    past = second.mapToGlobal(QPoint(second.width() - 5, 10))
    first.dragged.emit("note-1", past, False)
    assert window.strip._marker.isVisible()
    first.dragged.emit("note-1", past, True)
    assert [one.id for one in window.session.notes] == ["note-2", "note-1"]


def test_an_offer_writes_the_note_it_names(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(note("note-1", "armhole_too_low", "front", "back", amount=6.0)))
    (button,) = [b for b in card_of(window).findChildren(QPushButton) if b.text().startswith("Give the 6 mm back")]
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    added = window.session.notes[-1]
    assert (added.alteration, added.amounts.amount, added.amounts.way) == ("shorten_or_lengthen", 6.0, "lengthen")
    traced, now = window.draft.garment.piece("front"), window.draft.redrawn.piece("front")
    assert now.fold.length == pytest.approx(traced.fold.length, abs=1e-6)


def test_pieces_are_ticked(window: MainWindow, qtbot: QtBot) -> None:
    sheet = PiecesSheet(window.session.garment, window.session.notes[0], find("shorten_or_lengthen"), "cm")
    qtbot.addWidget(sheet)
    told: list[tuple[object, ...]] = []
    sheet.chosen.connect(told.append)
    boxes = {box.text(): box for box in sheet.findChildren(type(sheet).__mro__[1]) if hasattr(box, "isChecked")}
    boxes["back"].click()
    assert [target.piece for target in told[-1]] == ["front"]
    boxes["back"].click()
    assert [target.piece for target in told[-1]] == ["front", "back"]


def test_a_place_pointed_at_on_the_table_becomes_the_piece_s_own(window: MainWindow) -> None:
    window.note_acts.ask_for_spot("note-1", "front")
    window.table.spot_picked.emit("front", "side", 0.5)
    target = window.session.notes[0].targets[0]
    assert target.across is not None
    assert (target.across[0].edge, target.across[0].share) == ("side", 0.5)
    window.table.spot_picked.emit("front", "side", 0.9)
    assert window.session.notes[0].targets[0].across[0].share == 0.5


def test_how_a_jog_is_redrawn_is_chosen(window: MainWindow, qtbot: QtBot) -> None:
    sheet = BlendSheet(window.session.notes[0].blend, "cm")
    qtbot.addWidget(sheet)
    told: list[BlendChoice] = []
    sheet.chosen.connect(told.append)
    buttons = [b for b in sheet.children() if hasattr(b, "isChecked")]
    next(b for b in buttons if b.text().startswith("filled out")).click()
    next(b for b in buttons if "its end" in b.text()).click()
    assert told[-1] == BlendChoice(1.0, None, 100.0)
    window.note_acts.change(replace(window.session.notes[0], blend=told[-1]), False)
    assert window.session.notes[0].blend == told[-1]
    assert "filled out" in card_of(window)._blend.text()


def test_pointing_at_a_card_shows_the_piece_as_it_was_then(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(shorten(), note("note-2", "armhole_too_low", "front")))
    shown: list[object] = []
    show = window.table.show_draft
    window.table.show_draft = lambda d, p, n: (shown.append(n), show(d, p, n))[1]  # type: ignore[method-assign]
    card_of(window, "note-2").pointed.emit("note-2")
    window.strip.ends["traced"].pointed.emit("traced")
    window.strip.ends["paper"].pointed.emit("paper")
    assert shown == ["note-2", "traced", None]


@pytest.mark.parametrize("seed", range(3))
def test_whatever_she_does_can_be_taken_back_and_done_again(qtbot: QtBot, tmp_path: Path, seed: int) -> None:
    window = furnished(qtbot, tmp_path, document(shorten()))
    start = window.session.document
    choose = random.Random(seed)
    for _ in range(14):
        notes = window.session.notes
        picked = choose.choice(notes) if notes else None
        act = choose.choice(("write", "dial", "switch", "move", "copy", "remove", "undo", "redo"))
        if act == "write" or picked is None:
            window.note_acts.write(choose.choice(everything()))
        elif act == "dial":
            fields = find(picked.alteration).fields()
            name = choose.choice(list(fields))
            if fields[name].unit == "mm":
                window.note_acts.drag_amount(picked.id, name, choose.uniform(0, 40))
            elif fields[name].choices:
                turned = replace(picked.amounts, **{name: choose.choice(fields[name].choices)})
                window.note_acts.change(replace(picked, amounts=turned), False)
            window.note_acts.settle()
        elif act == "switch":
            window.note_acts.switch(picked)
        elif act == "move":
            window.note_acts.move(picked.id, choose.choice((-1, 1)))
        elif act == "copy":
            window.note_acts.copy(picked)
        elif act == "remove":
            window.note_acts.remove(picked.id)
        else:
            window.acts[act].trigger()
        assert len({one.id for one in window.session.notes}) == len(window.session.notes)
    end = window.session.document
    while window.stack.canUndo():
        window.acts["undo"].trigger()
    assert window.session.document is start or same(window.session.document, start)
    while window.stack.canRedo():
        window.acts["redo"].trigger()
    assert same(window.session.notes, end.notes)


def test_the_note_menu_names_each_region_once_in_the_order_of_its_first_alteration(window: MainWindow) -> None:
    actions = note_menu(window, lambda _: None).actions()
    headings = [action.text().lower() for action in actions if not action.isEnabled()]
    assert headings == [region.lower() for region in dict.fromkeys(one.region for one in everything())]
    under, found = "", []
    for action in actions:
        under = action.text().lower() if not action.isEnabled() else under
        found += [(under, action.text().strip(" …"))] if action.isEnabled() else []
    assert sorted(found) == sorted((one.region.lower(), one.title) for one in everything())


def test_offers_and_readings_stand_whole_on_their_card(bare_window: MainWindow, qtbot: QtBot) -> None:
    for name in ("raise_or_lower_neckline", "neckline_gapes"):
        assert bare_window.garment_acts.open_sample("front-only.garment.json")
        bare_window.note_acts.write(find(name))
        card = bare_window.strip.card(bare_window.session.notes[-1].id)
        qtbot.waitUntil(card.isVisible)
        qtbot.wait(50)
        assert card.findChildren(QPushButton)
        assert card._offers and card._area.verticalScrollBar().maximum() == 0, name
