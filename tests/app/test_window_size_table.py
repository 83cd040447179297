"""The table of sizes is written in the window, or taken over from another garment; nothing wrong is taken."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot

import sample_pieces
from app.documents import Document
from app.files import garment_file
from app.size_table_rows import row_of, table_from
from app.window.size_table_dialog import SizeTableDialog
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.nests import in_size
from geometry.size_tables import Girths, SizeTable
from geometry.units import System
from sample_pieces.draft import tabard
from tests.window_case import bare_window, document, furnished, shorten

__all__ = ["bare_window"]

INCH = 25.4
#: Published envelope table, misses, sizes 12 and 14 (inches, two copies agree).
SOURCE = "envelope table, misses"


def dialog_for(qtbot: QtBot, garment: Garment, system: System = "in") -> SizeTableDialog:
    dialog = SizeTableDialog(None, garment, system, "", "")
    qtbot.addWidget(dialog)
    dialog.show()
    return dialog


def bare() -> Garment:
    return document().garment


def test_a_table_is_written_for_a_garment_that_has_none(qtbot: QtBot) -> None:
    garment = bare()
    dialog = dialog_for(qtbot, garment)
    assert dialog.cell(garment.size, "bust").text() == "" and garment.size_table is None
    dialog.source.setText(SOURCE)
    for level, typed in (("bust", "34"), ("waist", "26 1/2 in"), ("hip", "91,4 cm")):
        dialog.cell(garment.size, level).setText(typed)
    dialog.take()
    assert dialog.taken is not None and dialog.taken.size_table is not None
    table = dialog.taken.size_table
    assert table.source == SOURCE
    assert table.girths[garment.size] == Girths(863.6, 673.1, 914.0)


def test_it_is_written_in_every_size_and_what_was_not_touched_keeps_its_very_number(qtbot: QtBot) -> None:
    nest = tabard()
    assert nest.size_table is not None
    dialog = dialog_for(qtbot, nest, "cm")
    # 36 in are 914.4 mm and read 91.4 on the tape: left alone they stay 914.4.
    assert dialog.cell("14", "bust").text().startswith("91.4")
    dialog.cell("14", "hip").setText("")
    dialog.take()
    assert dialog.taken is not None and dialog.taken.size_table is not None
    for size in ("12", "14"):
        table = in_size(dialog.taken, size).size_table
        assert table is not None and table.girths["14"] == Girths(36 * INCH, 28 * INCH, None)
        assert table.girths["12"] == nest.size_table.girths["12"]


def test_nothing_changed_takes_nothing_and_all_empty_takes_the_table_away(qtbot: QtBot) -> None:
    same = dialog_for(qtbot, tabard())
    same.take()
    assert same.taken is None and same.result() == QDialog.DialogCode.Accepted
    empty = dialog_for(qtbot, tabard())
    empty.source.setText("")
    for cells in empty._cells.values():
        for cell in cells:
            cell.setText("")
    empty.take()
    assert empty.taken is not None and empty.taken.size_table is None


@pytest.mark.parametrize(
    ("typed", "source", "says"),
    [
        ("a lot", SOURCE, "bust: “a lot”"),
        ("34 ft", SOURCE, "is no body's"),
        ("34", "  ", "names its source"),
        ("-3", SOURCE, "bust:"),
    ],
)
def test_what_is_no_girth_is_said_and_nothing_is_taken(qtbot: QtBot, typed: str, source: str, says: str) -> None:
    dialog = dialog_for(qtbot, bare())
    dialog.source.setText(source)
    dialog.cell(dialog._garment.size, "bust").setText(typed)
    dialog.take()
    assert says in dialog.says() and dialog.taken is None and dialog.isVisible()
    assert dialog.cell(dialog._garment.size, "bust").text() == typed


def test_the_table_of_another_garment_is_taken_over(qtbot: QtBot, tmp_path: Path) -> None:
    dialog = dialog_for(qtbot, bare())
    dialog.take_over(Path(sample_pieces.path("tabard.garment.json")))
    table = tabard().size_table
    assert table is not None and dialog.source.text() == table.source
    dialog.take()
    assert dialog.taken is not None and dialog.taken.size_table == table


def test_a_garment_without_a_table_or_one_that_cannot_be_read_leaves_what_is_written(
    qtbot: QtBot, tmp_path: Path
) -> None:
    dialog = dialog_for(qtbot, tabard())
    was = dialog.source.text()
    none, broken = tmp_path / "none.garment.json", tmp_path / "broken.garment.json"
    garment_file.save_file(none, document(shorten()))
    broken.write_text("{", encoding="utf-8")
    for path, says in ((none, "has no table of sizes"), (broken, "broken.garment.json")):
        dialog.take_over(path)
        assert says in dialog.says() and dialog.source.text() == was


def test_it_is_one_step_in_the_window_and_is_offered_where_a_size_is_asked_for(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = furnished(qtbot, tmp_path, document(shorten()))
    window.acts["which_size"].trigger()
    assert "has no table" in window.notices.words()
    (offer,) = window.notices.buttons()

    def write(dialog: SizeTableDialog) -> int:
        dialog.source.setText(SOURCE)
        dialog.cell(window.session.garment.size, "bust").setText("34 in")
        dialog.take()
        return 1

    monkeypatch.setattr(SizeTableDialog, "exec", write)
    before = window.session.document
    offer.click()
    assert window.session.garment.size_table is not None and window.stack.count() == 1
    assert window.acts["undo"].text() == "&Undo: write the table of sizes"
    window.acts["undo"].trigger()
    assert window.session.document is before


def test_a_table_survives_saving() -> None:
    table = table_from(None, SOURCE, {"12": ("34 in", "26 1/2 in", "")}, "in")
    assert table == SizeTable(SOURCE, {"12": Girths(863.6, 673.1)})
    assert row_of(table, "12", "in") == ("34 in", "26 1/2 in", "") and row_of(table, "14", "in") == ("", "", "")
    kept = garment_file.read_bytes(garment_file.to_bytes(Document(replace(bare(), size_table=table))))
    assert kept.garment.size_table == table
    with pytest.raises(PatternError, match="Size 12, waist"):
        table_from(table, SOURCE, {"12": ("34 in", "wide", "")}, "in")
