"""The nest of sizes in the window: its lines on the table, and the control that says which size is worked in."""

from __future__ import annotations

import math
from itertools import combinations
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.documents import Document
from app.scene import scene_of
from app.window.laying_out import before_box
from app.window.size_lines import DASHES, name_place
from app.window.window import MainWindow
from geometry.nests import alone, in_size, size_names
from geometry.pipeline import draft
from sample_pieces.draft import tabard
from tests.window_case import document, furnished, note, window

__all__ = ["window"]


@pytest.fixture
def nest(qtbot: QtBot, tmp_path: Path) -> MainWindow:
    """A window with the tabard, shortened by one note, worked in size 14."""
    shorten = note("note-1", "shorten_or_lengthen", "front", "back", amount=20.0)
    return furnished(qtbot, tmp_path, Document(tabard(), (shorten,)))


def test_the_other_sizes_are_lines_with_names_and_dashes_of_their_own() -> None:
    scene = scene_of(draft(tabard(), ()), "front", None)
    assert [one.name for one in scene.sizes] == ["10", "12", "16", "18"]
    assert len({DASHES[one.rank] for one in scene.sizes}) == 4
    places = [name_place(one.piece, number, 16.0) for number, one in enumerate(scene.sizes)]
    assert all(math.dist(a, b) > 16.0 for a, b in combinations(places, 2)), "no name lies on another"
    box, traced = before_box(scene), scene.traced.polygon.bounds
    assert box[2] > traced[2] and box[3] > traced[3], "the larger sizes are seen as well"
    assert not scene_of(draft(document().garment, ()), "front", None).sizes


def test_they_are_shown_round_the_piece_as_traced_alone(nest: MainWindow) -> None:
    shorten = note("note-2", "shorten_or_lengthen", "front", "back", amount=5.0)
    drafted = draft(tabard(), (*nest.session.notes, shorten))
    assert scene_of(drafted, "front", "note-1").sizes and not scene_of(drafted, "front", "note-2").sizes


def test_another_size_is_worked_in_from_the_table_and_can_be_undone(nest: MainWindow) -> None:
    button = nest.table.controls._size
    assert button.isVisible() and button.text() == "size: 14 ▾"
    actions = {action.text(): action for action in button.menu().actions() if action.isCheckable()}
    assert list(actions) == list(size_names(tabard())) and actions["14"].isChecked()
    actions["18"].trigger()
    assert nest.session.garment.size == "18" and button.text() == "size: 18 ▾"
    wide = in_size(tabard(), "18").piece("front").edge("front.hem").length
    assert nest.session.draft.redrawn.piece("front").edge("front.hem").length == pytest.approx(wide)
    assert nest.session.draft.followed.steps[0].done and nest.session.unsaved
    nest.acts["undo"].trigger()
    assert nest.session.garment.size == "14"


def test_a_garment_of_one_size_has_no_such_control(window: MainWindow) -> None:
    assert not window.table.controls._size.isVisible()


def test_the_lines_are_painted(nest: MainWindow) -> None:
    """With the nest there is more ink between the seams of the sizes than without."""

    def painted() -> int:
        picture = nest.table.grab().toImage()
        return sum(picture.pixelColor(x, y).lightness() < 150 for x in range(0, picture.width(), 2)
                   for y in range(0, picture.height(), 2))  # fmt: skip

    with_nest = painted()
    nest.session.begin(Document(alone(tabard()), nest.session.notes))
    nest.started_anew()
    nest.table.show_draft(nest.session.draft, "front", None)
    assert painted() < with_nest
