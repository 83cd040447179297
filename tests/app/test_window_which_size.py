"""“Which size?”: what is measured on a body, the size it wants at each level, and the way into that size."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot

from app.documents import Document
from app.picked_sizes import own_stretch
from app.window.size_dialog import SizeDialog, ease_words
from app.window.window import MainWindow
from geometry.nests import in_every_size
from geometry.pieces import Cloth
from geometry.sizing import Ease
from geometry.units import System
from sample_pieces.draft import tabard
from tests.window_case import furnished, note, texts, window

__all__ = ["window"]

INCH = 25.4


def dialog_for(qtbot: QtBot, document: Document, system: System = "cm") -> SizeDialog:
    dialog = SizeDialog(None, document, system, None)
    qtbot.addWidget(dialog)
    dialog.show()
    return dialog


def dial(dialog: SizeDialog, **inches: float) -> None:
    for name, value in inches.items():
        row = dialog.row(name.replace("_", " "))
        row.box.setChecked(True)
        row.dial.setFocus()
        row.dial.setText(f"{value} in")
        row.dial.setModified(True)
        row.dial._take_typed()


@pytest.fixture
def nest(qtbot: QtBot, tmp_path: Path) -> MainWindow:
    """A window with the tabard, shortened by one note, worked in size 14."""
    shorten = note("note-1", "shorten_or_lengthen", "front", "back", amount=20.0)
    return furnished(qtbot, tmp_path, Document(tabard(), (shorten,)))


def test_it_starts_from_the_body_that_the_size_worked_in_is_for(qtbot: QtBot) -> None:
    """Size 14 of the published envelope table, misses, is for 36, 28 and 38 in; the tabard has 76 mm at the hip."""
    dialog = dialog_for(qtbot, Document(tabard()))
    assert [dialog.row(name).dial.value for name in ("bust", "waist", "hip")] == [36 * INCH, 28 * INCH, 38 * INCH]
    assert not dialog.row("high bust").box.isChecked() and "not measured" in texts(dialog)
    assert "It is worked in size 14" in texts(dialog) and "✓ + 7.6 cm" in texts(dialog)


def test_another_size_at_the_hip_is_said_with_its_ease_and_blended_to(qtbot: QtBot) -> None:
    """Sized by the high bust at 2 in or more between the two (Texas AgriLife Extension E-372); the sizes are of the
    published envelope table: high bust 34 in is a 12, hip 40 in a 16."""
    document = Document(tabard())
    dialog = dialog_for(qtbot, document, "in")
    dial(dialog, high_bust=34, bust=36.5, waist=26.5, hip=40)
    said = "\n".join(texts(dialog))
    for words in (
        "Sized by the high bust, for the full bust is 2 1/2 in above it (2 in or more).",
        "At the bust: size 12, ease 1 9/32 in.",
        "At the hip: size 16, ease",
        "a full bust of 1 1/4 in on the half front.",
        "Work in size 12",
        "Work in 12, blend to 16 at the hip",
    ):
        assert words in said
    dialog._plain.click()
    assert dialog.taken is not None and dialog.taken.garment.size == "12" and not dialog.taken.notes
    dialog._blended.click()
    (blend,) = dialog.taken.notes
    assert (blend.amounts.bust, blend.amounts.waist, blend.amounts.hip) == ("as it is", "as it is", "16")
    assert [target.edge for target in blend.targets] == ["front.side"]


def test_what_is_not_measured_is_left_out_and_nothing_measured_is_said(qtbot: QtBot) -> None:
    dialog = dialog_for(qtbot, Document(tabard()))
    for name in ("bust", "waist"):
        dialog.row(name).box.setChecked(False)
    dial(dialog, hip=42)
    assert "Work in size 18" in texts(dialog) and not any("at the bust" in text for text in texts(dialog))
    dialog.row("hip").box.setChecked(False)
    assert any("Say at least one girth" in text for text in texts(dialog))
    assert not dialog._plain.isEnabled() and not dialog._blended.isVisible()


def test_the_garments_own_stretch_counts(qtbot: QtBot) -> None:
    """A body of 46 in at the hip in the largest size, 42 in and 76 mm: 1168.4 / 1142.8 mm is a stretch of 3 %."""
    plain = Document(tabard())
    stretchy = in_every_size(tabard(), lambda one: replace(one, stretch=MappingProxyType({Cloth.SELF: 25.0})))
    assert own_stretch(plain.garment) is None and own_stretch(stretchy) == 0.25
    for garment, warned in ((plain.garment, True), (stretchy, False)):
        dialog = dialog_for(qtbot, Document(garment))
        dial(dialog, hip=46)
        said = "\n".join(texts(dialog))
        assert "✓ − 2.56 cm" in said and "size 18, ease -2.56 cm (the cloth stretched by 3 %)." in said
        assert ("the cloth does not stretch" in said) is warned
        assert ("25 %" in texts(dialog)) is not warned


def test_ease_is_said_with_its_sign() -> None:
    assert ease_words(Ease("1", "bust", 1000.0, 960.0), "cm") == "+ 4 cm"
    assert ease_words(Ease("1", "bust", 1000.0, 1000.01), "cm") == "0 mm"
    assert ease_words(Ease("1", "bust", 1000.0, 1025.4), "in") == "− 1 in"


def test_she_works_in_it_from_the_table_and_takes_it_back_in_one_step(
    nest: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    def answer(dialog: SizeDialog) -> int:
        dial(dialog, hip=40)
        dialog._blended.click()
        return 1

    monkeypatch.setattr(SizeDialog, "exec", answer)
    before = nest.session.document
    menu = nest.table.controls._size.menu()
    next(action for action in menu.actions() if action.text() == "Which size?…").trigger()
    assert nest.session.garment.size == "14" and [one.id for one in nest.session.notes] == ["note-1", "note-2"]
    assert nest.strip.chosen == "note-2" and all(step.done for step in nest.session.draft.followed.steps)
    assert {walk.verdict for walk in nest.session.draft.after} <= {"true", "ease"}
    nest.acts["undo"].trigger()
    assert nest.session.document is before
    remembered: list[float] = []
    monkeypatch.setattr(SizeDialog, "exec", lambda d: remembered.append(d.row("hip").dial.value) or 0)
    nest.acts["which_size"].trigger()
    assert remembered == [40 * INCH] and nest.session.document is before


def test_a_garment_without_a_table_of_sizes_says_so(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(QDialog, "exec", lambda _: pytest.fail("nothing is opened"))
    window.acts["which_size"].trigger()
    assert "has no table that says what body its sizes are for" in window.notices.words()
