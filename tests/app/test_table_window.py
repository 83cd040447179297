"""The table as a widget, with real drafts: it shows, it asks, it changes nothing; hands, keys and colours."""

from __future__ import annotations

import dataclasses
import itertools
from typing import Any

import numpy as np
import pytest
import shapely
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QImage, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication

from app.scene import TRACED, scene_of
from app.window.laying_out import LAID_OVER, SIDE_BY_SIDE
from app.window.palette import DARK, LIGHT, Palette
from app.window.table import Table
from geometry.alterations import find
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.notes import Address, Note, Target, point_of
from geometry.pipeline import Draft, draft
from tests.canon import bodice, sleeve

SHORTER = "shorter"
LOW = "low"


def notes(amount: float = 25.0, height: float = 60.0) -> list[Note]:
    both = (Target("front"), Target("back"))
    first = find("shorten_or_lengthen").checked({"amount": amount})
    second = find("armhole_too_low").checked({"amount": 6.0, "height": height})
    return [Note(SHORTER, "shorten_or_lengthen", first, both), Note(LOW, "armhole_too_low", second, both)]


@pytest.fixture(scope="module")
def garment() -> Garment:
    return dataclasses.replace(bodice(), pieces=(*bodice().pieces, sleeve()))


@pytest.fixture(scope="module")
def drafted(garment: Garment) -> Draft:
    return draft(garment, notes())


@pytest.fixture
def table(qtbot: Any, drafted: Draft) -> Table:
    made = Table()
    qtbot.addWidget(made)
    made.resize(1100, 560)
    made.show()
    made.show_draft(drafted, "front", SHORTER)
    return made


def move(table: Table, at: QPointF, buttons: Qt.MouseButton = Qt.MouseButton.NoButton) -> None:
    _mouse(table, QEvent.Type.MouseMove, at, Qt.MouseButton.NoButton, buttons)


def press(table: Table, at: QPointF, button: Qt.MouseButton = Qt.MouseButton.LeftButton) -> None:
    _mouse(table, QEvent.Type.MouseButtonPress, at, button, button)


def release(table: Table, at: QPointF, button: Qt.MouseButton = Qt.MouseButton.LeftButton) -> None:
    _mouse(table, QEvent.Type.MouseButtonRelease, at, button, Qt.MouseButton.NoButton)


def _mouse(
    table: Table, kind: QEvent.Type, at: QPointF, button: Qt.MouseButton, buttons: Qt.MouseButton
) -> None:
    where = table.mapToGlobal(at)
    QApplication.sendEvent(table, QMouseEvent(kind, at, where, button, buttons, Qt.KeyboardModifier.NoModifier))


def test_the_chosen_note_finds_the_piece_as_the_notes_before_it_left_it(drafted: Draft) -> None:
    first, second = scene_of(drafted, "front", SHORTER), scene_of(drafted, "front", LOW)
    assert first.from_traced and first.before_title == "as traced"
    assert not second.from_traced and second.before_title == "as note 2 finds it"
    assert second.before.piece is drafted.followed.steps[0].after.piece("front")
    assert [strip.note for strip in first.strips] == [SHORTER] and [s.note for s in second.strips] == [LOW]


def test_without_a_chosen_note_every_strip_lies_on_the_piece_as_traced(drafted: Draft) -> None:
    """The tuck at the armhole stands 60 above the underarm of the tracing, at 410, not 25 lower as note 2 found it."""
    scene = scene_of(drafted, "front", None)
    assert scene.from_traced and [strip.note for strip in scene.strips] == [SHORTER, LOW]
    assert scene.strips[1].outline[:, 1].min() == pytest.approx(410.0, abs=1e-6)
    assert scene.handles == () and scene_of(drafted, "front", TRACED).strips == ()


def test_an_unknown_piece_is_refused_and_a_note_that_is_gone_shows_all(drafted: Draft, table: Table) -> None:
    with pytest.raises(PatternError, match="no piece “collar”"):
        table.show_draft(drafted, "collar", None)
    assert len(scene_of(drafted, "front", "gone").strips) == 2


def test_dragging_the_parallel_asks_for_the_amount_it_was_dragged_to(qtbot: Any, table: Table) -> None:
    asked: list[tuple[str, str, float]] = []
    done: list[str] = []
    table.amount_dragged.connect(lambda *what: asked.append(what))
    table.drag_finished.connect(done.append)
    (grip,) = table.grips
    start = QPointF(*grip.centre)
    press(table, start)
    for step in range(1, 13):
        move(table, QPointF(start.x(), start.y() - step * table.view.scale), Qt.MouseButton.LeftButton)
    release(table, start)
    assert asked[-1] == (SHORTER, "amount", 37.0) and done == [SHORTER]
    assert len(asked) <= 3, "twelve moves within a frame are not twelve drafts"


def test_while_a_handle_is_dragged_each_new_draft_only_moves_the_picture(
    table: Table, garment: Garment, drafted: Draft
) -> None:
    view = table.view
    start = QPointF(*table.grips[0].centre)
    press(table, start)
    table.show_draft(draft(garment, notes(amount=40.0)), "front", SHORTER)
    assert table.view == view, "the picture lies still under the hand"
    assert table.grips[0].centre[1] == pytest.approx(start.y() - 15.0 * view.scale, abs=1.0)
    release(table, start)
    table.show_draft(drafted, "front", SHORTER)


def test_the_other_number_of_a_note_is_dragged_by_its_own_line(table: Table, drafted: Draft) -> None:
    table.show_draft(drafted, "front", LOW)
    moved: list[tuple[str, str, float]] = []
    table.line_moved.connect(lambda *what: moved.append(what))
    grip = next(grip for grip in table.grips if grip.handle.field == "height")
    at = QPointF(*grip.centre)
    press(table, at)
    move(table, QPointF(at.x() + 3, at.y() + 20 * table.view.scale), Qt.MouseButton.LeftButton)
    release(table, at)
    assert moved[-1] == (LOW, "height", 40.0)


def test_no_two_handles_meet_and_each_is_wide_enough_to_touch(table: Table, drafted: Draft) -> None:
    table.show_draft(drafted, "front", LOW)
    one, other = table.grips
    assert QPointF(*one.centre) != QPointF(*other.centre)
    gap = np.hypot(one.centre[0] - other.centre[0], one.centre[1] - other.centre[1])
    assert gap >= 23.0, "targets are about 24 pixels apart (WCAG 2.2, 2.5.8)"


def test_every_drag_has_a_way_by_keys(qtbot: Any, table: Table) -> None:
    asked: list[tuple[str, str, float]] = []
    done: list[str] = []
    table.amount_dragged.connect(lambda *what: asked.append(what))
    table.drag_finished.connect(done.append)
    table.setFocus()
    qtbot.keyClick(table, Qt.Key.Key_Tab)
    qtbot.keyClick(table, Qt.Key.Key_Up)
    assert asked == [(SHORTER, "amount", 26.0)] and done == [SHORTER]
    qtbot.keyClick(table, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert asked[-1] == (SHORTER, "amount", pytest.approx(24.9))
    assert "amount 2.5 cm" in table.accessibleDescription()


def test_arrows_push_the_table_when_no_handle_has_the_focus_and_keys_zoom(qtbot: Any, table: Table) -> None:
    table.setFocus()
    view = table.view
    qtbot.keyClick(table, Qt.Key.Key_Right)
    assert table.view.x < view.x and table.view.scale == view.scale
    qtbot.keyClick(table, Qt.Key.Key_Plus)
    assert table.view.scale > view.scale
    qtbot.keyClick(table, Qt.Key.Key_Minus)
    assert table.view.scale == pytest.approx(view.scale)
    qtbot.keyClick(table, Qt.Key.Key_0, Qt.KeyboardModifier.ControlModifier)
    assert table.view == view


def test_the_wheel_zooms_about_the_pointer_and_the_middle_button_pushes(table: Table) -> None:
    at = QPointF(400.0, 300.0)
    under = table.view.mm((400.0, 300.0))
    keys, buttons, phase = Qt.KeyboardModifier.NoModifier, Qt.MouseButton.NoButton, Qt.ScrollPhase.NoScrollPhase
    wheel = QWheelEvent(at, table.mapToGlobal(at), QPoint(), QPoint(0, 120), buttons, keys, phase, False)
    QApplication.sendEvent(table, wheel)
    assert table.view.mm((400.0, 300.0)) == pytest.approx(under)
    view = table.view
    press(table, at, Qt.MouseButton.MiddleButton)
    move(table, QPointF(430.0, 280.0), Qt.MouseButton.MiddleButton)
    release(table, at, Qt.MouseButton.MiddleButton)
    assert (table.view.x, table.view.y) == pytest.approx((view.x + 30.0, view.y - 20.0))


def test_a_place_that_is_asked_for_is_answered_by_a_click(table: Table, drafted: Draft) -> None:
    picked: list[tuple[str, str, float]] = []
    table.spot_picked.connect(lambda *what: picked.append(what))
    table.ask_for_place("Where does the line start?")
    edge = drafted.garment.piece("front").edge("hem")
    x0, y0, _, _ = drafted.garment.piece("front").polygon.bounds
    at = table.view.at((edge.start[0] + 0.25 * edge.length - x0, edge.start[1] - y0))
    move(table, at)
    press(table, at)
    release(table, at)
    assert [(piece, edge_id) for piece, edge_id, _ in picked] == [("front", "hem")]
    assert picked[0][2] == pytest.approx(0.25, abs=0.02)
    press(table, at)
    release(table, at)
    assert len(picked) == 1, "asked once, answered once"


def test_a_place_is_found_by_keys_too_and_escape_gives_up(qtbot: Any, table: Table) -> None:
    picked: list[tuple[str, str, float]] = []
    refused: list[bool] = []
    table.spot_picked.connect(lambda *what: picked.append(what))
    table.spot_refused.connect(lambda: refused.append(True))
    table.ask_for_place("Where?")
    for key in (Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Right, Qt.Key.Key_Return):
        qtbot.keyClick(table, key)
    ((piece, edge, share),) = picked
    assert (piece, edge) == ("front", "side") and 0.5 < share < 0.51
    table.ask_for_place("Where?")
    qtbot.keyClick(table, Qt.Key.Key_Escape)
    assert refused == [True] and len(picked) == 1


@pytest.mark.parametrize("arrangement", [SIDE_BY_SIDE, LAID_OVER])
@pytest.mark.parametrize("shown", [None, SHORTER, LOW])
@pytest.mark.parametrize("units", ["cm", "in"])
@pytest.mark.parametrize("size", [(1100, 560), (1280, 300)])
def test_words_lie_on_nothing_in_every_arrangement(
    table: Table, drafted: Draft, arrangement: str, shown: str | None, units: str, size: tuple[int, int]
) -> None:
    table.resize(*size)
    table.set_units(units)
    table.set_arrangement(arrangement)
    table.show_draft(drafted, "front", shown)
    boxes = [shapely.box(x, y, x + w, y + h) for x, y, w, h in (one.box for one in table.callouts)]
    assert {one.wanted.key for one in table.callouts} >= {"side", "armhole", "fold"}
    for one, other in itertools.combinations(boxes, 2):
        assert not one.intersects(other)
    for callout, box in zip(table.callouts, boxes, strict=True):
        assert shapely.box(0, 0, *size).contains(box)
        if callout.wanted.kind == "measured":
            assert "(was " in callout.wanted.words and f" {units} " in callout.wanted.words


def test_laid_over_the_two_meet_at_the_place_she_picks(table: Table, drafted: Draft) -> None:
    table.set_arrangement(LAID_OVER)
    traced, now = drafted.garment.piece("front"), drafted.redrawn.piece("front")
    for name, edge in (("neck point", "neck"), ("fold at the hem", "hem")):
        table.set_meeting(name)
        assert table.meeting.motion.point(now.edge(edge).start) == pytest.approx(traced.edge(edge).start)


def test_only_known_arrangements_and_units_are_taken(table: Table) -> None:
    with pytest.raises(ValueError, match="side by side or laid over"):
        table.set_arrangement("stacked")
    with pytest.raises(ValueError, match="cm or in"):
        table.set_units("mm")


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=lambda palette: palette.name)
def test_paper_is_light_and_the_mat_has_the_colour_of_its_palette(table: Table, palette: Palette) -> None:
    table.set_palette(palette)
    picture = table.grab().toImage()
    paper = table.view.at((30.0, 60.0)).toPoint()
    assert picture.pixelColor(paper) == QColor(palette.paper)
    assert picture.pixelColor(paper).lightness() > 240
    check_mat(picture, palette)


def test_the_same_draft_is_painted_the_same_to_the_pixel(table: Table, drafted: Draft, qtbot: Any) -> None:
    table.setFocus()
    first = table.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    other = Table()
    qtbot.addWidget(other)
    other.resize(1100, 560)
    other.show()
    other.show_draft(drafted, "front", SHORTER)
    other.setFocus()
    assert other.grab().toImage().convertToFormat(QImage.Format.Format_RGB32) == first


def test_an_opened_piece_is_painted_on_both_sides_of_its_fold(table: Table) -> None:
    table.set_opened(True)
    picture = table.grab().toImage()
    wide = 2 * 222.0
    for x in (30.0, wide - 30.0):
        assert picture.pixelColor(table.view.at((x + 8.0, 60.0)).toPoint()) == QColor(LIGHT.paper)


def test_pointing_at_an_edge_says_its_name_and_length_on_either_piece(table: Table, drafted: Draft) -> None:
    """The side seam is measured as traced on the left, as redrawn on the right."""
    for which, piece in enumerate((drafted.garment.piece("front"), drafted.redrawn.piece("front"))):
        move(table, table.view.at(place_on_table(table, which, piece.edge("hem").chain.point(0.4))))
        assert table.says == "hem 22.2 cm"
        fold = piece.edge("fold")
        move(table, table.view.at(place_on_table(table, which, fold.chain.point(0.7))))
        assert table.says == f"fold {fold.length / 10:.2f}".rstrip("0").rstrip(".") + " cm"
    move(table, QPointF(table.width() - 4.0, table.height() - 4.0))
    assert table.says == ""


def place_on_table(table: Table, which: int, point: tuple[float, float]) -> tuple[float, float]:
    """A point of the piece on the left (0) or right (1) where it lies on the table (mm)."""
    laid = table.laid
    assert laid is not None
    return (laid.before, laid.after)[which].point(point)


def test_an_empty_table_is_only_a_mat(table: Table) -> None:
    table.show_nothing()
    assert table.grips == () and table.callouts == () and not table.controls.isVisible()
    check_mat(table.grab().toImage(), LIGHT)


def check_mat(picture: QImage, palette: Palette) -> None:
    """At the table's right end nothing lies on the mat but its grid."""
    corner = itertools.product(range(picture.width() - 25, picture.width()), range(200, 220))
    colours = {picture.pixelColor(x, y).name() for x, y in corner}
    assert palette.mat in colours
    assert colours <= {palette.mat, palette.mat_grid, palette.mat_grid_strong}


def test_the_ends_of_a_drawn_line_slide_along_the_outline(qtbot: Any, table: Table, garment: Garment) -> None:
    """A line from fold to side, its end on the side pulled down by 30 mm: asked for is the nearest place there."""
    ends = (Address("fold", "end", length=255.0), Address("side", "start", length=251.0))
    amounts = find("shorten_or_lengthen").checked({"amount": 9.0, "line": "line drawn across"})
    across = Note("across", "shorten_or_lengthen", amounts, (Target("front", across=ends),))
    drawn = draft(garment, [across])
    table.show_draft(drawn, "front", "across")
    moved: list[tuple[str, str, int, str, float]] = []
    done: list[str] = []
    table.line_end_moved.connect(lambda *what: moved.append(what))
    table.drag_finished.connect(done.append)
    piece = drawn.garment.piece("front")
    here = point_of(piece, ends[1])
    start = table.view.at(here)
    press(table, start)
    move(table, QPointF(start.x() + 2.0, start.y() + 30.0 * table.view.scale), Qt.MouseButton.LeftButton)
    release(table, start)
    note, which, index, edge, share = moved[-1]
    assert (note, which, index, edge) == ("across", "front", 1, "side") and done == ["across"]
    found = point_of(piece, Address("side", share=share))
    assert found[1] == pytest.approx(here[1] - 30.0, abs=1.0)
    table.setFocus()
    qtbot.keyClick(table, Qt.Key.Key_Up)
    stepped = point_of(piece, Address("side", share=moved[-1][4]))
    assert moved[-1][:4] == ("across", "front", 1, "side")
    assert stepped[1] == pytest.approx(here[1] + 1.0, abs=0.05)


def test_only_what_is_seen_is_called_out_and_beside_where_it_is_seen(table: Table, drafted: Draft) -> None:
    """Zoomed in on the lower side seam of the piece redrawn: its length stands there, the armhole's is not said."""
    low = place_on_table(table, 1, drafted.redrawn.piece("front").edge("side").chain.point(0.5))
    table.zoom(8.0, table.view.at(low))
    (side,) = [callout for callout in table.callouts if callout.wanted.kind == "measured"]
    assert side.wanted.key == "side"
    assert 0 <= side.wanted.at[0] <= table.width() and 0 <= side.wanted.at[1] <= table.height()
    assert side.wanted.away[0] > 0.9, "away from the paper, which lies left of it"


def test_a_note_dragged_past_what_can_be_done_keeps_its_handles(table: Table, garment: Garment) -> None:
    table.show_draft(draft(garment, notes()), "front", LOW)
    fields = [grip.handle.field for grip in table.grips]
    height = next(grip for grip in table.grips if grip.handle.field == "height")
    start = QPointF(*height.centre)
    press(table, start)
    too_high = draft(garment, notes(height=230.0))
    assert not too_high.followed.steps[1].done
    table.show_draft(too_high, "front", LOW)
    assert [grip.handle.field for grip in table.grips] == ["height"]
    release(table, start)
    assert [grip.handle.field for grip in table.grips] == fields
    height = next(grip for grip in table.grips if grip.handle.field == "height")
    assert height.handle.value == 230.0
    asked: list[tuple[str, str, float]] = []
    table.line_moved.connect(lambda *what: asked.append(what))
    view, at = table.view, QPointF(*height.centre)
    press(table, at)
    move(table, at + QPointF(0.0, 40.0), Qt.MouseButton.LeftButton)
    release(table, at + QPointF(0.0, 40.0))
    assert table.view == view
    assert asked and asked[-1][:2] == (LOW, "height") and asked[-1][2] < 230.0


def test_handles_are_not_kept_for_another_garment(table: Table, garment: Garment) -> None:
    table.show_draft(draft(garment, notes()), "front", LOW)
    other = dataclasses.replace(garment, id="another")
    table.show_draft(draft(other, notes(height=230.0)), "front", LOW)
    assert table.grips == ()
