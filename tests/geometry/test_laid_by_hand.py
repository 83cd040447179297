"""An arrangement changed by hand: it comes back from values as it was, keeps to whole pages, and overlaps are found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.arranging import arrange, turns_freely
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.errors import PatternError
from geometry.laid_by_hand import (
    LaidPiece,
    Shapes,
    arrangement_of,
    laid_piece,
    lay_as,
    refuse_overlapping,
    slid,
    to_snap,
    turned,
)
from geometry.lines import polyline
from geometry.motions import Motion, mirror, turn
from geometry.sheets import Sheet, SheetSettings, tile
from tests import drawn
from tests.geometry.test_arranging import block, printed

A4 = SheetSettings()
DX, DY = A4.step


def laid(*places: tuple[float, float, float]) -> Sheet:
    """Blocks of 60 x 100 mm, each turned and its corner brought to a place."""
    drawings = [block(f"p{k}", 60, 100) for k in range(len(places))]
    arrangement = tuple(LaidPiece(f"p{k}", degrees, (x, y)) for k, (degrees, x, y) in enumerate(places))
    return lay_as(drawings, arrangement, A4)


def test_the_programs_own_arrangement_comes_back_as_it_was() -> None:
    own = arrange(drawn.drawings(), A4)
    again = lay_as(drawn.drawings(), arrangement_of(own), A4)
    assert [one.motion for one in again.placed] == [one.motion for one in own.placed]
    assert (again.width, again.height) == pytest.approx((own.width, own.height))
    assert tile(again, A4) == tile(own, A4)


def test_pieces_beyond_the_sheet_are_brought_back_by_whole_pages() -> None:
    sheet = laid((0.0, 20.0 - 2 * DX, 30.0 + 3 * DY), (0.0, 120.0 - 2 * DX, 30.0 + 3 * DY))
    (a, b) = (one.motion for one in sheet.placed)
    assert (a.e, a.f, b.e) == pytest.approx((20.0, 30.0, 120.0), abs=1e-6)
    assert (sheet.width, sheet.height) == pytest.approx(A4.live)
    assert printed(sheet, A4) == 1


def test_pages_follow_the_pieces() -> None:
    """A block of 60 mm laid 10 mm before the end of what the first page keeps lies on two pages."""
    keeps = A4.live[0] - A4.overlap_mm / 2
    assert printed(laid((0.0, 20.0, 20.0), (0.0, keeps - 10.0, 20.0)), A4) == 2
    assert printed(laid((0.0, 20.0, 20.0), (0.0, keeps + 2.0, 20.0)), A4) == 2
    assert printed(laid((0.0, 20.0, 20.0), (0.0, keeps - 62.0, 20.0)), A4) == 1


@settings(max_examples=60)
@given(st.floats(-720, 720), st.floats(-360, 360), st.floats(-500, 500), st.floats(-500, 500))
def test_a_turn_leaves_the_middle_where_it_is(start: float, by: float, x: float, y: float) -> None:
    drawing = block("a", 60, 100)
    before = laid_piece("a", turn(start, (0.0, 0.0)).then(Motion(e=x, f=y)))
    after = turned(before, drawing, by)
    middles = [np.reshape(drawing.moved(one.motion).bounds(), (2, 2)).mean(axis=0) for one in (before, after)]
    assert middles[0] == pytest.approx(middles[1], abs=1e-5)
    a, b = after.motion.a, after.motion.b
    assert a * a + b * b == pytest.approx(1.0, abs=1e-12)
    assert laid_piece("a", after.motion) == after


def test_four_quarters_give_the_same_place_back() -> None:
    drawing, one = block("a", 60, 100), LaidPiece("a", 0.0, (12.5, -7.25))
    there = one
    for _ in range(4):
        there = turned(there, drawing, 90.0)
    assert there == one


def test_what_lies_over_another_is_found() -> None:
    """Against plain polygons in shapely; nothing is drawn nearer than the width of a line."""
    for apart, over in ((59.0, True), (60.5, True), (61.5, False), (65.0, False)):
        sheet = laid((0.0, 20.0, 20.0), (0.0, 20.0 + apart, 20.0))
        outlines = [shapely.Polygon(one.there.strokes[0].chain.cubics[:, 0]) for one in sheet.placed]
        assert bool(shapely.intersects(*outlines)) is (apart < 60)
        pairs = Shapes([one.drawing for one in sheet.placed]).overlapping(sheet)
        assert bool(pairs) is over
        if over:
            with pytest.raises(PatternError, match="“p0” over “p1”"):
                refuse_overlapping(sheet)


def test_a_piece_in_the_hollow_of_another_does_not_lie_over_it() -> None:
    corners = [(0, 0), (190, 0), (190, 60), (60, 60), (60, 190), (0, 190), (0, 0)]
    angle = Drawing("l", "L", (Stroke(Role.CUT, polyline(corners), True, ""),), ())
    for at, over in ((70.0, False), (50.0, True)):
        placed = (Placed(angle, Motion(e=5, f=5)), Placed(block("a", 60, 60), Motion(e=5 + at, f=5 + at)))
        assert bool(Shapes([one.drawing for one in placed]).overlapping(Sheet(placed, *A4.live))) is over


@pytest.mark.parametrize(
    ("motion", "says"),
    [
        (mirror((0, 0), (1, 0)), "stretched or mirrored"),
        (Motion(1.01, 0, 0, 1.01, 0, 0), "stretched or mirrored"),
        (Motion(e=1e9), "m from the sheet's corner"),
        (Motion(e=float("nan")), "m from the sheet's corner"),
    ],
)
def test_no_arrangement(motion: Motion, says: str) -> None:
    with pytest.raises(PatternError, match=says):
        laid_piece("front", motion)


def test_each_piece_is_laid_once() -> None:
    drawings = [block("a", 60, 100), block("b", 60, 100)]
    a, b = LaidPiece("a", 0.0, (0.0, 0.0)), LaidPiece("b", 0.0, (100.0, 0.0))
    for wrong, says in (((a,), "where “b” lies"), ((a, b, a), "“a” twice"), ((a, b, replace(b, piece="c")), "“c”")):
        with pytest.raises(PatternError, match=says):
            lay_as(drawings, wrong, A4)


def test_a_piece_near_a_join_is_drawn_to_it() -> None:
    sheet = laid((0.0, 20.0, 20.0), (0.0, 320.0, 20.0))
    join = DX + A4.overlap_mm / 2
    assert to_snap((join + 4, 50, join + 64, 150), sheet, A4, 6.0) == pytest.approx((-3.0, 0.0))
    assert to_snap((join - 64, 50, join - 4, 150), sheet, A4, 6.0) == pytest.approx((3.0, 0.0))
    assert to_snap((-2, 4, 58, 104), sheet, A4, 6.0) == pytest.approx((3.0, -3.0))
    assert to_snap((50, 50, 110, 150), sheet, A4, 6.0) == (0.0, 0.0)


def test_a_piece_turns_freely_only_where_nothing_should_run_with_the_paper() -> None:
    """A grainline, the greatest stretch or a fold can be compared with the page's frame. Our own rule."""
    plain = block("a", 60, 100)
    assert turns_freely(plain)
    for role in (Role.GRAIN, Role.STRETCH, Role.FOLD):
        line = Stroke(role, polyline([(30, 10), (30, 90)]), False, "")
        assert not turns_freely(replace(plain, strokes=(*plain.strokes, line)))
    assert not any(turns_freely(one) for one in drawn.drawings() if one.name in ("Front", "Back", "Sleeve"))


def test_slid_by_nothing_is_the_same() -> None:
    one = LaidPiece("a", 37.5, (1.0, 2.0))
    assert slid(one, 0.0, 0.0) == one and slid(slid(one, 0.1, 0.2), -0.1, -0.2) == one
