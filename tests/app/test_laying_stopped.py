"""Laying askew goes so far and no farther, tells how it goes, and can be stopped with the best so far kept."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from dataclasses import replace

import pytest
from pytestqt.qtbot import QtBot

import sample_pieces
from app import long_work, outputs
from app.apart import surroundings
from app.files.garment_file import open_file
from app.laying_askew import LaidSoFar, asked_for
from app.laying_stops import listening
from app.print_choice import PrintChoice, laying_for
from app.window.printing import PrintDialog
from app.window.window import MainWindow
from geometry.arranging import arrange
from geometry.papers import A4, LETTER
from geometry.pipeline import draft
from geometry.relaying import Effort
from geometry.sheets import SheetSettings
from tests.window_case import window

__all__ = ["window"]

LONG = 60_000
TABARD = sample_pieces.path("tabard.garment.json")
CHOICE = PrintChoice(A4, freely=True)


class Counted(Effort):
    """Stops when it was asked so often, and keeps what it was told."""

    def __init__(self, asked: int = 10**9, most: int = 10**12) -> None:
        super().__init__(most)
        self.left, self.told = asked, []  # type: int, list[int]

    def enough(self) -> bool:
        self.left -= 1
        return self.left < 0

    def better(self, pages, sheet) -> None:  # type: ignore[no-untyped-def]
        self.told.append(pages)
        assert outputs.count_of(sheet(), SheetSettings()) == pages


def tabard() -> tuple[outputs.Drawing, ...]:
    document, _ = open_file(TABARD)
    return outputs.paper_drawings(draft(document.garment, document.notes))


def test_each_better_arrangement_is_told_and_the_last_is_what_is_laid() -> None:
    told = Counted()
    sheet = arrange(tabard(), SheetSettings(), freely=True, effort=told)
    assert len(told.told) > 1 and told.told == sorted(set(told.told), reverse=True)
    assert outputs.count_of(sheet, SheetSettings()) == told.told[-1]


def test_stopped_at_once_the_boxes_are_laid_and_stopped_by_count_always_the_same() -> None:
    """No clock is asked: the same bound gives the same sheet."""
    pieces = tabard()
    boxes = outputs.count_of(arrange(pieces, SheetSettings(), closely=False), SheetSettings())
    stopped = arrange(pieces, SheetSettings(), freely=True, effort=Counted(asked=0))
    assert outputs.count_of(stopped, SheetSettings()) <= boxes
    effort, again = Effort(2_000_000), Effort(2_000_000)
    first = arrange(pieces, SheetSettings(), freely=True, effort=effort)
    second = arrange(pieces, SheetSettings(), freely=True, effort=again)
    assert [one.motion for one in first.placed] == [one.motion for one in second.placed]
    assert effort.spent == again.spent and effort.over


def test_ctrl_c_takes_the_best_so_far_and_twice_leaves() -> None:
    said: list[str] = []
    # Of a process in the background it is ignored.
    before = signal.getsignal(signal.SIGINT)
    with listening(said.append, askew=True) as effort:
        os.kill(os.getpid(), signal.SIGINT)
        assert effort().over
        with pytest.raises(KeyboardInterrupt):
            os.kill(os.getpid(), signal.SIGINT)
    assert said[0].startswith("trying pieces askew") and said[-1].startswith("notice: stopped; the best so far")
    with listening(said.append, askew=False) as effort:
        assert not effort().over and signal.getsignal(signal.SIGINT) is before


def test_the_process_answers_line_by_line_and_ends_with_what_is_laid() -> None:
    document, _ = open_file(TABARD)
    done = subprocess.run(
        [sys.executable, *long_work.ARGUMENTS],
        input=long_work.asked_of(long_work.LAYING_ASKEW, document, asked_for(CHOICE, outputs.ALONE)),
        env=os.environ | surroundings(), capture_output=True, check=True,
    )
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert sum("laid" in line for line in lines) > 1
    so_far = LaidSoFar(CHOICE)
    for line in lines:
        so_far.take(line)
    drafted = draft(document.garment, document.notes)
    key, laying = laying_for(drafted, CHOICE, {}, found=so_far.best)
    assert key.settings == SheetSettings() and laying.own.sheets == lines[-1]["sheets"]
    assert so_far.best == {SheetSettings(): laying.own.arrangement} and not laying.own.refused()


def test_in_the_window_it_says_how_far_it_is_and_stop_shows_the_best_so_far(window: MainWindow, qtbot: QtBot) -> None:
    dialog = PrintDialog(window, window.draft, replace(window.preferences, paper="letter"), {})
    qtbot.addWidget(dialog)
    dialog.asks.freely.setChecked(True)
    dialog.show()
    qtbot.waitUntil(lambda: "sheets so far" in dialog.words(), timeout=LONG)
    assert dialog.stop.isVisible() and not dialog._save.isEnabled()
    dialog.stop.click()
    qtbot.waitUntil(lambda: not dialog.words().startswith("Laying"), timeout=LONG)
    assert not dialog.stop.isVisible() and dialog._save.isEnabled()
    assert dialog._now is not None and dialog._now[0].settings.paper == LETTER
    # Another choice leaves a search that is still going.
    dialog.asks.edge_to_edge.setChecked(True)
    qtbot.waitUntil(lambda: dialog._search is not None, timeout=LONG)
    search = dialog._search
    dialog.asks.freely.setChecked(False)
    assert dialog._search is None and search is not None and not dialog.stop.isVisible()
