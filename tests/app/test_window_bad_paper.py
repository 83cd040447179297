"""Bad input on the way to paper and machines in the window: one sentence, and no half-written file left behind."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from app.window import tracing_in
from app.window.exporting import ExportDialog
from app.window.file_names import file_name
from app.window.square_dialog import SquareDialog
from app.window.window import MainWindow
from tests.app.test_window_machines import STAND_INS
from tests.window_case import answer_with, window

__all__ = ["window"]

FULL = "was not saved, because the disk is full"


@pytest.fixture
def full(tmp_path: Path) -> Path:
    """A folder in which every file takes nothing, as on a full disk."""
    if not Path("/dev/full").exists():
        pytest.skip("there is no /dev/full here")
    folder = tmp_path / "full"
    folder.mkdir()
    for ending in ("pdf", "svg", "dxf", "plt", "json"):
        (folder / f"x.{ending}").symlink_to("/dev/full")
    return folder


WORK = {
    "pages on a full disk": ("print", ["--paper=a3"], "pdf", FULL),
    "a piece larger than the roll": ("export", ["--roll=200mm"], "plt", "is larger than a roll of 200 mm"),
}
MORE_WORK = {
    "a margin larger than the paper": ("print", ["--margin=110mm"], "pdf", "leaves no room to print on A4"),
    "no such printer": ("print", ["--printer=Attic"], "pdf", "was not measured"),
    "a roll on a full disk": ("export", ["--roll=914mm"], "pdf", FULL),
    "a drawing on a full disk": ("export", [], "svg", FULL),
    "a cutter's drawing on a full disk": ("export", ["--dxf-version=R12"], "dxf", FULL),
    "a plot on a full disk": ("export", [], "plt", FULL),
}


@pytest.mark.parametrize("what", [*WORK, *(pytest.param(what, marks=pytest.mark.long) for what in MORE_WORK)])
def test_work_that_cannot_be_done_is_said(window: MainWindow, qtbot: QtBot, full: Path, what: str) -> None:
    command, options, ending, says = (WORK | MORE_WORK)[what]
    before = sorted(full.iterdir())
    work = window.garment_acts.start_work("Writing", command, [*options, "--out", str(full / f"x.{ending}")])
    assert work is not None
    with qtbot.waitSignal(work.failed, timeout=120_000):
        pass
    words = window.notices.words()
    assert says in words and words.count(". ") <= 1 and "Traceback" not in words
    assert sorted(full.iterdir()) == before and window.garment_acts._work is None


@pytest.mark.long
@pytest.mark.parametrize(
    ("printer", "paper", "says"),
    [("Workroom", "a3", "“Workroom” does not take A3; it takes A4, Letter"), ("Cellar", "a4", "no printer “Cellar”")],
)
def test_a_printer_that_refuses_the_page_size_or_is_not_there(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    printer: str, paper: str, says: str,
) -> None:
    """Stand-ins for the print system; nothing is sent to them."""
    for name, script in STAND_INS.items():
        (tmp_path / name).write_text(f"#!/bin/sh\n{script.format(folder=tmp_path)}\n")
        (tmp_path / name).chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    work = window.garment_acts.start_work("Sending", "print", [f"--paper={paper}", f"--printer={printer}"])
    assert work is not None
    with qtbot.waitSignal(work.failed, timeout=120_000):
        pass
    assert says in window.notices.words() and not (tmp_path / "asked").exists()


def test_what_the_window_writes_itself_is_said_on_a_full_disk(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, full: Path
) -> None:
    """The test page, marker sheets, the line table; and a name that is too long for any file."""
    before = sorted(full.iterdir())
    square, export = SquareDialog(window, "a4"), ExportDialog(window, window.draft)
    for dialog in (square, export):
        qtbot.addWidget(dialog)
    for name, says in (("x", FULL), ("n" * 300, "the name is too long")):
        answer_with(monkeypatch, full / f"{name}.pdf")
        square._save_page()
        assert square._sent.text().startswith("! ") and says in square._sent.text()
        tracing_in.save_markers(window)
        assert says in window.notices.words()
        answer_with(monkeypatch, full / f"{name}.json")
        export._write_table()
        assert export._advice.text().startswith("! ") and says in export._advice.text()
    assert sorted(full.iterdir()) == before


def test_a_file_that_an_added_ending_names_is_not_saved_over_unasked(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Her own line table, and pages of hers: the file dialog has not asked, as it saw no ending."""
    square, export = SquareDialog(window, "a4"), ExportDialog(window, window.draft)
    for dialog in (square, export):
        qtbot.addWidget(dialog)
    answer_with(monkeypatch, tmp_path / "mine")
    for ending, save in ((".json", export._write_table), (".pdf", square._save_page)):
        hers = tmp_path / f"mine{ending}"
        hers.write_text("hers")
        monkeypatch.setattr(QMessageBox, "exec", lambda _: QMessageBox.StandardButton.Cancel)
        save()
        assert hers.read_text() == "hers"
        monkeypatch.setattr(QMessageBox, "exec", lambda _: QMessageBox.StandardButton.Save)
        save()
        assert hers.read_bytes() != b"hers"


NAMES = ("n" * 300, "שלום " * 80, "\U00020000" * 300, "../../etc/x", "a/b\\c:d", "\u202e\u200b", "🧵", "   ")


@pytest.mark.parametrize("name", NAMES)
def test_a_garments_name_makes_a_file_name_that_can_be_written(tmp_path: Path, name: str) -> None:
    """With the longest ending that is added to it."""
    path = tmp_path / f"{file_name(name)}-a4-and-letter.pdf"
    path.write_bytes(b"")
    assert path.parent == tmp_path and not path.name.startswith((".", "-"))
