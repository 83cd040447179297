"""Machines and printers in the window: exporting for cutters, plotters and rolls, and measuring the test square."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox
from pytestqt.qtbot import QtBot

from app import printers, queues
from app.files.test_page import test_page_pdf as page_pdf
from app.queues import Queue
from app.window import printer_box
from app.window.exporting import DXF_12, DXF_2000, HPGL, PDF, ExportDialog
from app.window.file_names import sheets_named
from app.window.printer_box import ANOTHER, Printers
from app.window.printing import PrintDialog
from app.window.square_dialog import SquareDialog
from app.window.window import MainWindow
from geometry.papers import A4, LETTER
from geometry.print_scale import Correction
from tests.window_case import answer_with, texts, window

__all__ = ["window"]

WORKROOM, ATTIC = Queue("Workroom", usual=True), Queue("Attic", waits=True, why="no paper")


@pytest.fixture(autouse=True)
def own_printers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two printers and a list of corrections of the test's own."""
    monkeypatch.setenv("TUCKTRUE_PRINTERS", str(tmp_path / "printers.json"))
    monkeypatch.setattr(queues, "queues", lambda: (WORKROOM, ATTIC))


def type_into(widget: Any, words: str) -> None:
    widget.setFocus()
    widget.selectAll()
    QTest.keyClicks(widget, words)
    QTest.keyClick(widget, Qt.Key.Key_Return)


class TestExporting:
    def exported(
        self, window: MainWindow, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, folder: Path, choose: Any
    ) -> Path:
        """The file that is written when the dialog is left as ``choose`` leaves it."""
        monkeypatch.setattr(ExportDialog, "exec", lambda dialog: (dialog.show(), choose(dialog), dialog.hide(), 1)[-1])
        answer_with(monkeypatch, folder / "drawing")
        window.acts["export"].trigger()
        with qtbot.waitSignal(window.garment_acts._work.done, timeout=120_000):
            pass
        (found,) = folder.glob("drawing.*")
        return found

    def test_a_roll_of_its_own_width_as_pdf(
        self, window: MainWindow, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, tmp_path: Path
    ) -> None:
        def choose(dialog: ExportDialog) -> None:
            dialog.choose(PDF)
            assert dialog._laid.currentText() == "on a roll", "a PDF is of a roll or of large sheets"
            dialog._rolls.setCurrentText("its own width")
            type_into(dialog._width, "700 mm")
            dialog._square.setChecked(True)

        found = self.exported(window, monkeypatch, qtbot, tmp_path, choose)
        page = pypdfium2.PdfDocument(found)[0]
        assert page.get_height() / 72 * 25.4 == pytest.approx(700.0, abs=0.01)
        assert "100 mm" in page.get_textpage().get_text_range()
        assert "laid on a roll of 700 mm: 1 sheet" in window.notices.words()

    def test_numbered_sheets_are_not_saved_over_unasked(
        self, window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        """The file dialog asks for “drawing.svg” alone, which is not there; “drawing-1.svg” is."""
        def choose(dialog: ExportDialog) -> None:
            dialog._laid.setCurrentText("on large sheets")
            dialog._sheets.setCurrentText("A3")

        asked: list[str] = []
        for name in ("drawing-1.svg", "drawing-x.svg", "other-1.svg"):
            (tmp_path / name).write_text("kept")
        monkeypatch.setattr(ExportDialog, "exec", lambda dialog: (dialog.show(), choose(dialog), dialog.hide(), 1)[-1])
        leave = QMessageBox.StandardButton.Cancel
        monkeypatch.setattr(QMessageBox, "exec", lambda box: (asked.append(box.text()), leave)[-1])
        answer_with(monkeypatch, tmp_path / "drawing.svg")
        window.acts["export"].trigger()
        assert asked == ["There is a file “drawing-1.svg” already."]
        assert window.garment_acts._work is None
        assert {one.name: one.read_text() for one in tmp_path.glob("*.svg")} == dict.fromkeys(
            ("drawing-1.svg", "drawing-x.svg", "other-1.svg"), "kept"
        )
        (tmp_path / "drawing-1.svg").unlink()
        assert sheets_named(window, tmp_path / "drawing.svg") == tmp_path / "drawing.svg" and len(asked) == 1

    def test_a_plotter_is_told_what_it_will_do(
        self, window: MainWindow, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, tmp_path: Path
    ) -> None:
        found = self.exported(window, monkeypatch, qtbot, tmp_path, lambda dialog: dialog.choose(HPGL))
        assert found.suffix == ".plt" and found.read_bytes().startswith(b"IN;")
        assert "pen lifts" in window.notices.words()

    def test_each_kind_asks_only_what_it_can_do(self, window: MainWindow, qtbot: QtBot) -> None:
        dialog = ExportDialog(window, window.draft)
        qtbot.addWidget(dialog)
        dialog.show()
        assert dialog.options() == [] and dialog._before.isVisible() and not dialog._every.isVisible()
        dialog.choose(DXF_2000)
        dialog._layers.setCurrentIndex(1)
        dialog._curves.setCurrentIndex(1)
        dialog._outlines.setChecked(True)
        dialog._every.setChecked(True)
        assert dialog.options() == [
            "--dxf-version", "R2000", "--layers", "numbers", "--curves", "--every-line", "--outlines",
        ]
        assert any("from memory: try one piece first" in text for text in texts(dialog))
        dialog.choose(DXF_12)
        assert "--curves" not in dialog.options() and "--flatten=0.01mm" in dialog.options(), "R12 has no curves"
        type_into(dialog._flat, "0.1 mm")
        assert "--flatten=0.1mm" in dialog.options()
        dialog.choose(HPGL)
        dialog._origin.setCurrentText("middle")
        dialog._laid.setCurrentText("on large sheets")
        dialog._sheets.setCurrentText("ANSI D")
        dialog._opened.setChecked(True)
        assert dialog.options() == ["--sheet", "ansi-d", "--opened", "--origin", "middle"]
        assert any("moving head" in text for text in texts(dialog))

    def test_a_line_table_is_written_changed_and_chosen(
        self, window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        dialog = ExportDialog(window, window.draft)
        qtbot.addWidget(dialog)
        dialog.show()
        answer_with(monkeypatch, tmp_path / "mine")
        dialog._write_table()
        table = tmp_path / "mine.json"
        assert "cutting line" in table.read_text(encoding="utf-8") and "Written as" in dialog._advice.text()
        answer_with(monkeypatch, table)
        dialog._choose_table()
        assert dialog.options() == [f"--lines={table}"] and "mine.json" in texts(dialog)
        table.write_text("{")
        dialog._choose_table()
        assert dialog._advice.text().startswith("! ")


STAND_INS = {
    "lpstat": "case $1 in -e) echo Workroom;; -a) echo 'Workroom accepting requests since today';; esac",
    "lpoptions": "echo 'PageSize/Media: *A4 Letter'",
    "lp": 'echo "$@" > {folder}/asked; cat > {folder}/printed.pdf; echo request id is Workroom-1',
}


class TestPrinting:
    def test_pages_go_to_the_printer_that_is_chosen_with_its_correction(
        self, window: MainWindow, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, tmp_path: Path
    ) -> None:
        """Stand-ins for the print system take down what a printer is asked and given."""
        for name, script in STAND_INS.items():
            (tmp_path / name).write_text(f"#!/bin/sh\n{script.format(folder=tmp_path)}\n")
            (tmp_path / name).chmod(0o755)
        monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
        printers.keep("Workroom", Correction(99.0, 100.6))

        def choose(dialog: PrintDialog) -> int:
            dialog.show()
            qtbot.waitUntil(lambda: dialog.printing.printers.known is not None and "sheet" in dialog.words())
            assert dialog._save.text() == "Save the pages as a PDF…"
            dialog.printing.printers.choose("Workroom")
            assert dialog._save.text() == "Print on Workroom"
            assert any("101.01 % across" in text for text in texts(dialog))
            QTest.mouseClick(dialog._save, Qt.MouseButton.LeftButton)
            return dialog.result()

        monkeypatch.setattr(PrintDialog, "exec", choose)
        window.acts["print"].trigger()
        with qtbot.waitSignal(window.garment_acts._work.done, timeout=120_000):
            pass
        asked = (tmp_path / "asked").read_text()
        assert "-d Workroom" in asked and "print-scaling=none" in asked and "media=A4" in asked
        assert "sent to Workroom on A4, not scaled, corrected for the printer: 101.01 %" in window.notices.words()
        for page in pypdfium2.PdfDocument(tmp_path / "printed.pdf"):
            assert "101.01 % across" in page.get_textpage().get_text_range()

    def test_a_file_may_be_corrected_for_a_printer(self, window: MainWindow, qtbot: QtBot) -> None:
        printers.keep("copy shop", Correction(99.0, 100.0))
        dialog = PrintDialog(window, window.draft, window.preferences)
        qtbot.addWidget(dialog)
        qtbot.waitUntil(lambda: dialog.printing.printers.known is not None)
        assert dialog.printing.options() == [] and dialog.printing.chosen().to_file
        dialog.printing.printers.choose("copy shop", to_file=True)
        assert dialog.printing.options() == ["--printer", "copy shop"] and dialog.printing.chosen().to_file

    def test_the_square_is_measured_from_there(
        self, window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A correction that was kept meanwhile is shown."""
        dialog = PrintDialog(window, window.draft, window.preferences)
        qtbot.addWidget(dialog)
        dialog.show()
        qtbot.waitUntil(lambda: dialog.printing.printers.known is not None)
        dialog.printing.printers.choose("Workroom")
        monkeypatch.setattr(SquareDialog, "exec", lambda _: printers.keep("Workroom", Correction(101.0, 101.0)))
        QTest.mouseClick(dialog.printing._measure, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(lambda: "99.01 % across" in dialog.printing.printers._says.text())


@pytest.fixture
def square(window: MainWindow, qtbot: QtBot) -> Iterator[SquareDialog]:
    dialog = SquareDialog(window, "a4")
    qtbot.addWidget(dialog)
    dialog.show()
    qtbot.waitUntil(lambda: dialog.printers.known is not None)
    yield dialog


class TestSquare:
    def test_it_opens_from_the_menu_without_a_garment(
        self, window: MainWindow, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        opened: list[str] = []
        monkeypatch.setattr(SquareDialog, "exec", lambda dialog: opened.append(dialog.windowTitle()))
        window.acts["test_square"].trigger()
        assert opened == ["What does the test square measure?"]

    def test_causes_are_named_in_the_words_of_the_command_line_and_the_tray_is_asked_for(
        self, square: SquareDialog, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """94.1 mm: A4 fitted to Letter; 94.0: shrunk to margins of 6.35 mm (check values, section 9)."""
        from app import command_line

        assert "true size" in square.words()
        type_into(square.across, "94.1 mm")
        type_into(square.down, "94 mm")
        command_line.main(["test-square", "--reading-across", "94.1mm", "--reading-down", "94mm"])
        said = capsys.readouterr().out.splitlines()
        assert square.words().splitlines() == said[2:-1] and len(said) > 5
        trays = [tray for tray in square._trays if tray.isVisible()]
        assert [tray.text() for tray in trays] == ["Letter", "A4"]
        QTest.mouseClick(trays[1], Qt.MouseButton.LeftButton)
        assert "margins of 6.35 mm on A4" in square.words() and "Letter" not in square.words()
        assert not square._keep.isVisible(), "a setting explains it"

    def test_a_correction_is_kept_for_the_printer_shown_and_forgotten(self, square: SquareDialog) -> None:
        type_into(square.across, "99")
        type_into(square.down, "100.6")
        assert square._keep.text() == "Keep the correction for Workroom"
        QTest.mouseClick(square._keep, Qt.MouseButton.LeftButton)
        assert printers.corrections() == {"Workroom": Correction(99.0, 100.6)}
        assert any("101.01 % across, 99.40 % down" in text for text in texts(square))
        QTest.mouseClick(square._forget, Qt.MouseButton.LeftButton)
        assert printers.corrections() == {} and not square._forget.isVisible()

    def test_the_square_of_4_in_and_a_printer_elsewhere(self, square: SquareDialog) -> None:
        """100.6 mm of 101.6 is a printer that makes 99.016 of 100."""
        square._squares.setCurrentIndex(1)
        assert square.across.value == pytest.approx(101.6) and "true size" in square.words()
        square.printers.box.setCurrentText(ANOTHER)
        type_into(square.across, "100.6 mm")
        assert not square._keep.isEnabled() and not square._print.isEnabled()
        QTest.keyClicks(square._name, "copy shop")
        QTest.mouseClick(square._keep, Qt.MouseButton.LeftButton)
        assert printers.corrections()["copy shop"].x_mm == pytest.approx(100.6 / 1.016)
        assert any("copy shop" in text for text in texts(square))

    def test_more_than_two_per_cent_is_not_corrected(self, square: SquareDialog) -> None:
        type_into(square.across, "88")
        assert "no more than 2 %" in square.words() and not square._keep.isVisible()

    def test_the_test_page_is_sent_and_a_refusal_is_said(
        self, square: SquareDialog, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        sent: list[tuple[object, ...]] = []
        monkeypatch.setattr(queues, "send", lambda *given: (sent.append(given), "Letter")[1])
        square._papers.setCurrentIndex(square._papers.findData("letter"))
        QTest.mouseClick(square._print, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(lambda: "Sent to Workroom on Letter" in square._sent.text(), timeout=20_000)
        assert sent == [(page_pdf(LETTER, "Workroom"), "Workroom", LETTER, "Test page")]
        monkeypatch.undo()
        monkeypatch.setattr(queues, "queues", lambda: ())
        QTest.mouseClick(square._print, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(lambda: square._sent.text().startswith("! No printer is set up"), timeout=20_000)
        assert square._print.isEnabled()

    def test_the_test_page_is_saved(
        self, square: SquareDialog, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        answer_with(monkeypatch, tmp_path / "page")
        QTest.mouseClick(square._save, Qt.MouseButton.LeftButton)
        assert (tmp_path / "page.pdf").read_bytes() == page_pdf(A4) and "100 %" in square._sent.text()
        answer_with(monkeypatch, tmp_path / "nowhere" / "page.pdf")
        square._save_page()
        assert square._sent.text().startswith("! ") and "no folder" in square._sent.text()

    def test_a_printer_that_waits_and_none_at_all_are_said(
        self, square: SquareDialog, qapp: QApplication
    ) -> None:
        square.printers.choose("Attic")
        assert "! Switched off, pages wait (no paper)." in square.printers._says.text()
        square.printers.take(Printers((), {}, "No printer is set up on this machine."))
        assert "No printer is set up" in square.printers._says.text() and not square._print.isEnabled()
        assert square.printers.chosen() == printer_box.Chosen()
