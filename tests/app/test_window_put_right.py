"""What is wrong is put right with one button, and said; corners are told what they are meant to be."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from app.documents import Document
from app.long_work import PUTTING_RIGHT
from app.truing_acts import every_seam, what_puts_right
from app.window import put_right_acts
from app.window import remedies as sought
from app.window.seams_panel import SeamFrame
from app.window.seams_words import STUCK, put_right_words, trued_words, verdicts
from app.window.window import MainWindow
from app.window.wrap_button import WrapButton
from geometry import matters
from geometry.every_seam import Left, Trued
from geometry.garments import Garment
from geometry.memory import Memory
from geometry.named_corners import corner_target
from geometry.notes import Note, Target
from geometry.pieces import Cloth, CornerKind
from geometry.pipeline import draft
from geometry.remedies import Proposal
from sample_pieces.draft import skirt, undershirt
from tests import canon
from tests.window_case import bare_window, document, furnished, note, number, shorten

__all__ = ["bare_window"]

CAP = "do the same tuck across the cap of “Sleeve”"


def tucked_on_the_bodies(window: MainWindow) -> None:
    """The sample undershirt with its armhole tucked 12 mm on front and back, and not on the sleeve."""
    window.garment_acts.open_sample("undershirt.garment.json")
    low = next(one for one in window.session.notes if one.alteration == "armhole_too_low")
    bodies = tuple(target for target in low.targets if target.piece != "sleeve")
    window.note_acts.change(replace(low, targets=bodies, amounts=replace(low.amounts, amount=12.0)), False)


def row(window: MainWindow, title: str) -> SeamFrame:
    (found,) = [one for one in window.panel._rows if one.verdict.title == title]
    return found


def button(window: MainWindow, title: str, words: str) -> WrapButton:
    (found,) = [one for one in row(window, title).buttons() if one.words().startswith(words)]
    return found


def wait(qtbot: QtBot, window: MainWindow) -> None:
    """Until what she waits for was found and written."""
    qtbot.waitUntil(window.truing.isHidden, timeout=60_000)


def says(window: MainWindow, title: str) -> list[str]:
    return [one.words() for one in row(window, title).buttons()]


def side_run_on(back: float = 7.0, note_id: str = "note-1") -> Note:
    """The back's side seam made longer at the hem: length and notch are out."""
    made = note(note_id, "true_a_seam", "back", way="longer", amount=back)
    return replace(made, targets=(corner_target("back", "side", True),))


def open_rows(window: MainWindow) -> list[str]:
    assert window.draft is not None
    return [one.says for one in window.draft.findings if one.about is not None]


def test_a_seam_of_one_note_is_put_right_with_one_button(bare_window: MainWindow, qtbot: QtBot) -> None:
    tucked_on_the_bodies(bare_window)
    notes = bare_window.session.notes
    title = "Sleeve to armhole"
    assert says(bare_window, title) == ["Put right"]
    qtbot.waitUntil(lambda: says(bare_window, title) == [f"Put right: {CAP}"], timeout=20_000)
    button(bare_window, title, "Put right").click()
    wait(qtbot, bare_window)
    assert [one.alteration for one in bare_window.session.notes[len(notes) :]] == ["armhole_too_low"]
    assert bare_window.session.notes[-1].targets[0].piece == "sleeve"
    assert all(walk.verdict in ("true", "ease") for walk in bare_window.draft.after)
    assert says(bare_window, title) == []
    said = bare_window.notices.words()
    assert said.startswith(f"Sleeve to armhole put right: {CAP}. It was ") and said.endswith("out and is true now.")


def test_it_can_be_pressed_before_it_says_what_it_would_do_and_is_taken_back_in_one_step(
    qtbot: QtBot, tmp_path: Path
) -> None:
    window = furnished(qtbot, tmp_path, document(side_run_on()))
    before = window.session.document
    button(window, "Side seam", "Put right").click()
    wait(qtbot, window)
    assert row(window, "Side seam").verdict.sign == "✓"
    assert len(window.session.notes) >= 2 and window.stack.count() == 1
    assert window.acts["undo"].text() == "&Undo: put right “Side seam”"
    assert window.strip.chosen == window.session.notes[-1].id
    after = window.session.document
    window.acts["undo"].trigger()
    assert window.session.document is before
    window.acts["redo"].trigger()
    assert window.session.document is after


def test_every_row_that_walking_found_open_has_one_button(qtbot: QtBot, tmp_path: Path) -> None:
    shorter = note("note-1", "shorten_or_lengthen", "front")
    window = furnished(qtbot, tmp_path, document(shorter, side_run_on(4.0, "note-2")))
    rows = [one for one in window.panel._rows if one.verdict.about]
    findings = window.draft.findings
    assert {one.verdict.about for one in rows} == {f.about or f.cure for f in findings if f.about or f.cure}
    assert {one.verdict.about for one in rows} >= {f.about for f in findings if f.about is not None}
    for one in rows:
        assert [b.words() for b in one.buttons() if b.property("role") == "remedy"] == ["Put right"]


def test_what_it_did_is_said_in_the_tape_measure_in_hand(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(side_run_on(6.35)))
    try:
        window.view_acts.set_units("in")
        button(window, "Side seam", "Put right").click()
        wait(qtbot, window)
        said = window.notices.words()
        assert "1/4 in shorter at the hem. It was 1/4 in out" in said and " mm" not in said
    finally:
        window.view_acts.set_units("cm")


def test_where_nothing_helps_it_is_said_and_the_button_goes(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sought, "proposal_of", lambda line: (line["about"], None))
    window = furnished(qtbot, tmp_path, document(side_run_on()))
    before = window.session.document
    button(window, "Side seam", "Put right").click()
    wait(qtbot, window)
    assert window.session.document is before and window.stack.count() == 0
    assert window.notices.words() == f"Side seam: {STUCK}"
    (stuck,) = [label for label in row(window, "Side seam").findChildren(QLabel) if label.text() == STUCK]
    assert not stuck.isHidden()
    assert says(window, "Side seam") == []


def test_nothing_is_looked_for_while_a_number_is_dialled(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(side_run_on()))
    looked: list[object] = []
    window.remedies.found.connect(lambda: looked.append(1))
    for _ in range(12):
        number(window).turn(1)
        qtbot.wait(50)
        assert not looked
    window.note_acts.settle()
    document_now = window.session.document
    assert document_now is not None
    qtbot.waitUntil(lambda: bool(window.remedies.of(document_now)), timeout=20_000)
    assert button(window, "Side seam", "Put right: ")


def test_nothing_is_looked_for_while_the_column_is_folded_away(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(side_run_on()))
    window.resize(1280, 720)
    qtbot.waitUntil(lambda: window.panel.isHidden())
    window.refresh()
    assert window.remedies._wanted == []
    window.acts["sew"].trigger()
    assert "seam:sides" in window.remedies._wanted
    document_now = window.session.document
    assert document_now is not None
    qtbot.waitUntil(lambda: "seam:sides" in window.remedies.of(document_now), timeout=20_000)


def test_the_keyboard_stays_in_the_row_when_an_answer_comes(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(side_run_on()))
    row(window, "Shoulder seam").setFocus()
    qtbot.waitUntil(lambda: says(window, "Side seam")[0].startswith("Put right: "), timeout=20_000)
    assert window.focusWidget() is row(window, "Shoulder seam")
    button(window, "Side seam", "Put right").setFocus()
    row(window, "Side seam").take_answer(replace(row(window, "Side seam").verdict, remedy="take it off"))
    assert window.focusWidget() is button(window, "Side seam", "Put right: take it off")


def test_true_every_seam_has_its_button_and_is_taken_back_in_one_step(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(note("note-1", "shorten_or_lengthen", "front")))
    before = window.session.document
    assert open_rows(window) and window.panel.true_button.isVisible()
    window.panel.true_button.click()
    wait(qtbot, window)
    assert open_rows(window) == [] and window.stack.count() == 1
    assert "written that put right what was open" in window.notices.words()
    assert not window.panel.true_button.isEnabled()
    window.acts["undo"].trigger()
    assert window.session.document is before and window.panel.true_button.isEnabled()


def pointed() -> Garment:
    """The bodice traced with its front's hem drawn 60 mm down at the side: far off at the side seam."""
    moved = note("note-1", "move_a_corner", "front", way="down", along_centre=60.0)
    moved = replace(moved, targets=(replace(corner_target("front", "hem", False), edge=None),))
    garment = draft(canon.bodice(), [moved]).redrawn
    sides = tuple(replace(seam, accepted_mm=None) for seam in garment.seams)
    return replace(garment, seams=sides)


def test_a_corner_far_off_in_the_tracing_is_told_what_it_is_meant_to_be(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, Document(pointed(), ()))
    corner = row(window, "Hem at the side seam")
    assert corner.verdict.sign == "~" and not corner.verdict.wrong and not corner.verdict.about
    assert says(window, "Hem at the side seam") == ["It is meant to point", "It is to run on"]
    button(window, "Hem at the side seam", "It is meant to point").click()
    corner = row(window, "Hem at the side seam")
    assert corner.verdict.sign == "✓" and "is meant to point" in corner.verdict.says
    assert CornerKind.POINTS in {one.kind for one in window.session.garment.piece("front").corners}
    button(window, "Hem at the side seam", "It is to run on").click()
    corner = row(window, "Hem at the side seam")
    assert corner.verdict.about.startswith("corner:")
    assert says(window, "Hem at the side seam") == ["Put right", "It is meant to point"]
    for _ in range(2):
        window.acts["undo"].trigger()
    assert len(row(window, "Hem at the side seam").verdict.sayings) == 2


def test_what_was_put_right_is_said_in_one_sentence_or_two() -> None:
    half = Proposal("corner:a", "Round the point off by 2 mm", (shorten(),), 8.26, 1.5, "degrees")
    assert put_right_words("Hem", "corner:a", half) == (
        "Hem put right: round the point off by 2 mm. It was 8.3 degrees out and 1.5 degrees is still open."
    )
    assert trued_words(Trued((), ())) == "Nothing is open; every seam is true."
    left = Left("seam:a", "side seam", "9 mm", "nothing helps")
    assert trued_words(Trued((half,) * 5, (left,))) == (
        "5 notes were written that put right what was open: round the point off by 2 mm; round the point off by 2 mm; "
        "round the point off by 2 mm; and 2 more. Left open: side seam, 9 mm out; nothing helps."
    )


def test_a_row_says_what_is_known_about_it() -> None:
    drafted = draft(canon.bodice(), [side_run_on()])
    unknown = next(one for one in verdicts(drafted, "cm") if one.about == "seam:sides")
    assert (unknown.remedy, unknown.stuck) == ("", "")
    stuck = next(one for one in verdicts(drafted, "cm", (), {"seam:sides": None}) if one.about == "seam:sides")
    assert stuck.stuck == STUCK
    found = {"seam:sides": Proposal("seam:sides", "Take 7 mm off", (shorten(),), 7.0, 0.0)}
    known = next(one for one in verdicts(drafted, "in", (), found) if one.about == "seam:sides")
    assert (known.remedy, known.stuck) == ("take 0.276 in off", "")


def test_no_words_of_a_button_are_cut_off_when_an_answer_comes(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(side_run_on(), note("note-2", "shorten_or_lengthen", "front")))
    document_now = window.session.document
    assert document_now is not None
    qtbot.waitUntil(lambda: len(window.remedies.of(document_now)) >= 2, timeout=20_000)
    shown = [one for frame in window.panel._rows for one in frame.buttons()]
    assert sum(len(one.words()) > 40 for one in shown) >= 1

    def all_fit() -> bool:
        return all(one.height() >= one.heightForWidth(one.width()) for one in shown)

    qtbot.waitUntil(all_fit)
    label = window.panel._rows[0].findChildren(QLabel)[2]
    assert label.height() >= label.heightForWidth(label.width())


# -- the window computes none of it ---------------------------------------------------------------------------------

TUCKED = note("note-1", "shorten_or_lengthen", "front")


def limited(monkeypatch: pytest.MonkeyPatch, how: dict[str, int]) -> None:
    """Every search with another limit than it has."""
    for user in (sought, put_right_acts):
        monkeypatch.setattr(user, "PUTTING_RIGHT", replace(PUTTING_RIGHT, **how))


def test_nothing_of_it_is_computed_in_the_window_and_one_process_does_it_all(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    benches: list[object] = []
    monkeypatch.setattr(matters.Bench, "tried", lambda *found: benches.append(found))
    window = furnished(qtbot, tmp_path, document(TUCKED, side_run_on(4.0, "note-2")))
    wanted = {one.verdict.about for one in window.panel._rows if one.verdict.about}
    opened = window.session.document
    qtbot.waitUntil(lambda: set(window.remedies.of(opened)) == wanted, timeout=30_000)
    qtbot.waitUntil(lambda: not window.remedies.is_looking, timeout=30_000)
    assert len(wanted) >= 2 and window.remedies.started == 1 and benches == []
    assert window.remedies.of(opened)["seam:sides"] is not None
    qtbot.wait(600)
    assert window.remedies.started == 1


def test_the_answers_are_those_that_are_found_without_the_window(qtbot: QtBot, tmp_path: Path) -> None:
    opened = document(side_run_on(4.0))
    window = furnished(qtbot, tmp_path, opened)
    wanted = [one.verdict.about for one in window.panel._rows if one.verdict.about]
    qtbot.waitUntil(lambda: len(window.remedies.of(opened)) == len(wanted), timeout=30_000)
    assert dict(window.remedies.of(opened)) == {one: what_puts_right(opened, one, Memory()) for one in wanted}
    window.acts["true"].trigger()
    wait(qtbot, window)
    assert window.session.notes == every_seam(opened)[0].notes


def test_a_search_is_stopped_when_the_garment_is_changed(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(TUCKED, side_run_on(4.0, "note-2")))
    qtbot.waitUntil(lambda: window.remedies.is_looking, timeout=30_000)
    process = window.remedies._work._process
    gone: list[int] = []
    process.destroyed.connect(lambda: gone.append(1))
    number(window).turn(1)
    assert not window.remedies.is_looking and process.state() == process.ProcessState.NotRunning
    window.note_acts.settle()
    qtbot.waitUntil(lambda: window.remedies.started == 2, timeout=30_000)
    assert window.remedies._document is window.session.document and gone


def test_truing_can_be_stopped_and_says_how_far_it_is(qtbot: QtBot, tmp_path: Path) -> None:
    opened = document(TUCKED, side_run_on(4.0, "note-2"))
    window = furnished(qtbot, tmp_path, opened)
    window.acts["true"].trigger()
    assert window.truing.words() == "Every seam is being trued."
    so_far = "Every seam is being trued: side seam, 0 notes so far."
    qtbot.waitUntil(lambda: window.truing.words() == so_far, timeout=30_000)
    work = window.put_right_acts._truing
    assert work is not None
    window.truing.stop_button.click()
    assert window.truing.words() == "" and window.session.document is opened and window.stack.count() == 0
    assert window.statusBar().currentMessage() == "Stopped; nothing was written."
    assert work._process.state() == work._process.ProcessState.NotRunning


def test_what_was_asked_of_a_garment_that_changed_meanwhile_is_not_written(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, document(TUCKED, side_run_on(4.0, "note-2")))
    for ask in (window.acts["true"].trigger, button(window, "Side seam", "Put right").click):
        ask()
        assert not window.truing.isHidden()
        window.note_acts.switch(window.session.notes[0])
        assert window.truing.isHidden() and "changed meanwhile" in window.notices.words()
    assert len(window.session.notes) == 2


@pytest.mark.skipif(sys.platform == "win32", reason="a process is given its limits by the system")
@pytest.mark.parametrize("how", [{"seconds": 0}, {"memory": 1}], ids=str)
def test_a_search_that_takes_too_much_is_given_up(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: dict[str, int]
) -> None:
    limited(monkeypatch, how)
    opened = document(side_run_on())
    window = furnished(qtbot, tmp_path, opened)
    for ask in (button(window, "Side seam", "Put right").click, window.acts["true"].trigger):
        window.notices.hide()
        ask()
        wait(qtbot, window)
        assert "more time or memory than there is" in window.notices.words()
    assert window.session.document is opened
    assert says(window, "Side seam") == ["Put right"]


def test_what_was_given_up_is_not_looked_for_again_of_itself(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    limited(monkeypatch, {"memory": 1})
    monkeypatch.setattr(sought, "_REST_MS", 0)
    window = furnished(qtbot, tmp_path, document(side_run_on()))
    wanted = [one.verdict.about for one in window.panel._rows if one.verdict.about]
    qtbot.waitUntil(lambda: window.remedies._too_much == set(wanted), timeout=30_000)
    window.show_verdicts()
    qtbot.wait(50)
    assert window.remedies.started == len(wanted) and not window.remedies.is_looking


# -- openings and allowances ----------------------------------------------------------------------------------------


def test_a_neck_that_does_not_pass_the_head_is_put_right_with_one_button(qtbot: QtBot, tmp_path: Path) -> None:
    shirt = replace(undershirt(), stretch={Cloth.SELF: 40.0})
    window = furnished(qtbot, tmp_path, Document(shirt, ()))
    assert says(window, "Neck") == ["Put right"] and "2.4 cm too tight" in row(window, "Neck").verdict.says
    assert not window.panel.true_button.isEnabled(), "no seam is open"
    words = "Put right: lower the neckline of “Front” by 1.3 cm, and recut “Neckband” to it"
    qtbot.waitUntil(lambda: says(window, "Neck") == [words], timeout=30_000)
    button(window, "Neck", words).click()
    wait(qtbot, window)
    assert row(window, "Neck").verdict.sign == "✓" and window.stack.count() == 1
    assert window.notices.words().endswith("It was 2.4 cm too tight and lets it through now.")
    assert [one.id for one in window.session.notes] == ["note-1", "note-2"]


def test_where_only_an_opening_helps_the_row_says_so(qtbot: QtBot, tmp_path: Path) -> None:
    window = furnished(qtbot, tmp_path, Document(replace(skirt(), openings=()), ()))
    qtbot.waitUntil(lambda: bool(row(window, "Waist").verdict.stuck), timeout=30_000)
    assert says(window, "Waist") == []
    (label,) = [one for one in row(window, "Waist").findChildren(QLabel) if "give it an opening" in one.text()]
    assert not label.isHidden() and "Open it for at least 11 cm" in row(window, "Waist").verdict.says


def test_an_allowance_that_is_too_wide_is_cut_as_wide_as_the_piece_bears(qtbot: QtBot, tmp_path: Path) -> None:
    wide = note("note-1", "allowance_width", "front", width=80.0)
    wide = replace(wide, targets=(Target("front", edge="front.armhole"),))
    window = furnished(qtbot, tmp_path, Document(undershirt(), (wide,)))

    def crossing() -> SeamFrame:
        return next(one for one in window.panel._rows if one.verdict.about.startswith("allowance:"))

    words = "Put right: cut “armhole” of “Front” with an allowance of 5.2 cm, as wide as it bears"
    qtbot.waitUntil(lambda: [one.words() for one in crossing().buttons()] == [words], timeout=30_000)
    crossing().buttons()[0].click()
    wait(qtbot, window)
    assert window.notices.words().endswith("It was 2.8 cm wider than it bears and lies flat now.")
    assert not [one for one in window.draft.findings if one.code == "allowance-crosses"]


def test_what_is_not_walked_is_said_in_its_own_words() -> None:
    assert put_right_words("Neck", "ring:neck:front", None).startswith("Neck: No note makes it wide enough")
    alike = Proposal("widths:a", "Cut it with 25 mm as well", (shorten(),), 19.0, 0.0)
    assert put_right_words("Front", "widths:a", alike).endswith("They were 19 mm apart and are cut alike now.")
