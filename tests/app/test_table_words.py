"""Words beside the pieces never lie on each other, on a piece, under a leader or off the table."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from app.scene import Doubt
from app.window.callouts import CLEAR, Callout, Wanted, set_out
from app.window.table_words import gathered, in_two_lines

BOUNDS = (0.0, 0.0, 900.0, 520.0)
PIECE = shapely.Polygon([(300, 80), (520, 120), (480, 240), (560, 300), (540, 480), (300, 480)])
CORNERS = list(PIECE.exterior.coords)[:-1]


def along(share: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """A place on the piece's outline and the direction away from it (pixels, y down)."""
    at = PIECE.exterior.interpolate(share, normalized=True)
    beside = PIECE.exterior.interpolate(min(share + 1e-4, 1.0), normalized=True)
    dx, dy = beside.x - at.x, beside.y - at.y
    size = math.hypot(dx, dy)
    away = (dy / size, -dx / size)
    if PIECE.contains(shapely.Point(at.x + 3 * away[0], at.y + 3 * away[1])):
        away = (-away[0], -away[1])
    return (at.x, at.y), away


def wanted(shares: list[float], width: float = 170.0) -> list[Wanted]:
    return [Wanted(f"edge {i}", f"edge {i}", *along(share), (width, 20.0)) for i, share in enumerate(shares)]


def box(callout: Callout) -> shapely.Polygon:
    left, top, width, height = callout.box
    return shapely.box(left, top, left + width, top + height)


def check(placed: tuple[Callout, ...]) -> None:
    for one in placed:
        assert shapely.box(*BOUNDS).contains(box(one))
        assert box(one).distance(PIECE) >= CLEAR - 1e-6
    for one, other in itertools.permutations(placed, 2):
        assert not box(one).intersects(box(other))
        assert not box(one).intersects(shapely.LineString(other.leader))
        assert not shapely.LineString(one.leader).intersects(shapely.LineString(other.leader))


@given(shares=st.lists(st.floats(0.0, 0.999), min_size=1, max_size=9, unique=True))
def test_whatever_is_called_out_nothing_overlaps(shares: list[float]) -> None:
    placed = set_out(wanted(shares), BOUNDS, [PIECE], [PIECE.buffer(-1.0)])
    check(placed)
    assert placed


@given(
    shares=st.lists(st.floats(0.0, 0.999), min_size=2, max_size=6, unique=True),
    moved=st.floats(-30.0, 30.0),
)
def test_words_that_stood_somewhere_before_still_overlap_nothing(shares: list[float], moved: float) -> None:
    first = set_out(wanted(shares), BOUNDS, [PIECE], [PIECE.buffer(-1.0)])
    again = set_out(wanted([min(max(s + moved / 2000, 0.0), 0.999) for s in shares]), BOUNDS, [PIECE], [], first)
    check(again)


def test_words_keep_their_place_while_nothing_is_in_the_way() -> None:
    first = set_out(wanted([0.15, 0.45, 0.6]), BOUNDS, [PIECE], [PIECE.buffer(-1.0)])
    again = set_out(wanted([0.15, 0.45, 0.6]), BOUNDS, [PIECE], [PIECE.buffer(-1.0)], first)
    assert {one.wanted.key: one.box for one in first} == {one.wanted.key: one.box for one in again}


def test_five_lengths_of_an_ordinary_piece_all_find_room_and_no_leader_crosses_it() -> None:
    placed = set_out(wanted([0.05, 0.2, 0.33, 0.5, 0.8]), BOUNDS, [PIECE], [PIECE.buffer(-1.0)])
    assert len(placed) == 5
    for one in placed:
        assert not shapely.LineString(one.leader).intersects(PIECE.buffer(-1.0))


def test_words_stand_on_their_own_side_of_the_piece() -> None:
    right = Wanted("right", "right", (550.0, 390.0), (1.0, 0.0), (120.0, 20.0))
    (beside,) = set_out([right], BOUNDS, [PIECE], [PIECE.buffer(-1.0)])
    assert beside.box[0] >= 550.0
    left = Wanted("left", "left", (300.0, 300.0), (-1.0, 0.0), (120.0, 20.0))
    (beside,) = set_out([left], BOUNDS, [PIECE], [PIECE.buffer(-1.0)])
    assert beside.box[0] + beside.box[2] <= 300.0


def test_words_without_room_are_left_out_rather_than_laid_over_something() -> None:
    assert set_out(wanted([0.1], width=1000.0), BOUNDS, [PIECE], []) == ()


def test_what_is_taken_is_kept_clear() -> None:
    plate = shapely.box(560, 60, 900, 260)
    (one,) = set_out(wanted([0.16]), BOUNDS, [PIECE, plate], [PIECE.buffer(-1.0)])
    assert not box(one).intersects(plate)


@pytest.mark.parametrize(
    ("words", "rows"),
    [
        ("takes out 2.5 cm", ["takes out 2.5 cm"]),
        ("height above the underarm: 6 cm", ["height above the", "underarm: 6 cm"]),
        ("a_word_that_is_longer_than_any_line_of_words", ["a_word_that_is_longer_than_any_line_of_words"]),
    ],
)
def test_long_words_stand_in_two_lines(words: str, rows: list[str]) -> None:
    assert in_two_lines(words).split("\n") == rows


def test_doubts_at_one_place_share_a_mark_and_say_each_sentence_once() -> None:
    places = [(10.0, 10.0), (12.0, 11.0), (300.0, 10.0), (14.0, 10.0), (11.0, 9.0), (12.0, 10.0)]
    says = ["one", "two", "far", "one", "three", "four"]
    found = gathered(places, [Doubt(place, text, True, False) for place, text in zip(places, says, strict=True)])
    assert [mark.at for mark in found] == [(10.0, 10.0), (300.0, 10.0)]
    assert found[0].says == "one\ntwo\nthree\nand 1 more like these here" and found[1].says == "far"
    assert not found[0].wrong and not found[1].wrong


def test_a_mark_is_wrong_where_one_of_its_doubts_is_and_says_that_first() -> None:
    places = [(10.0, 10.0), (12.0, 11.0), (300.0, 10.0)]
    doubts = [Doubt(places[0], "look", True, False), Doubt(places[1], "bad", True, True)]
    found = gathered(places, [*doubts, Doubt(places[2], "look", True, False)])
    assert [(mark.says, mark.wrong) for mark in found] == [("bad\nlook", True), ("look", False)]
