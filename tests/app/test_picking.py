"""What lies under a point, on pieces drafted by hand; lengths and places worked by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.picking import What, nearest_of, spot_along, spot_near, under
from geometry.errors import PatternError
from geometry.notes import Address, edge_run_length, place_of
from tests.canon import PIECES, front, leaning


def test_beside_the_piece_nothing_is_picked_and_inside_it_the_paper() -> None:
    panel = leaning()
    assert under(panel, (-20.0, 200.0), 5.0) is None
    hit = under(panel, (30.0, 300.0), 5.0)
    assert hit is not None and hit.what is What.PAPER and hit.id == "panel"


def test_small_things_win_over_large_ones_within_the_tolerance() -> None:
    piece = front()
    armhole = piece.notches[1]
    at = piece.point_at(armhole.place)
    hit = under(piece, (at[0] + 1.0, at[1]), 3.0)
    assert hit is not None and (hit.what, hit.id) == (What.NOTCH, "armhole.notch")
    corner = under(piece, (1.0, 1.0), 3.0)
    assert corner is not None and corner.what is What.CORNER and corner.name == "fold and hem"
    mark = under(piece, (96.0, 320.0), 3.0)
    assert mark is not None and (mark.what, mark.name) == (What.MARK, "bust point")


def test_of_an_edge_and_a_line_the_line_is_meant_and_of_two_lines_the_nearer() -> None:
    piece = front()
    hit = under(piece, (100.0, 241.5), 3.0)
    assert hit is not None and (hit.what, hit.id, round(hit.distance, 9)) == (What.LINE, "lengthen", 1.5)
    hit = under(piece, (60.5, 238.0), 3.0)
    assert hit is not None and hit.id == "grain"


def test_an_edge_is_picked_only_within_the_tolerance() -> None:
    panel = leaning()
    hit = under(panel, (100.0, -4.0), 5.0)
    assert hit is not None and (hit.what, hit.id, hit.distance) == (What.EDGE, "hem", pytest.approx(4.0))
    assert under(panel, (100.0, -6.0), 5.0) is None


def test_a_spot_on_a_straight_edge_has_the_share_and_length_worked_by_hand() -> None:
    wide = leaning().edge("hem").length
    spot = spot_near(leaning(), (wide / 4, -3.0))
    assert spot is not None and spot.edge == "hem"
    assert spot.share == pytest.approx(0.25) and spot.length == pytest.approx(wide / 4)
    assert spot.at == pytest.approx((wide / 4, 0.0)) and spot.distance == pytest.approx(3.0)
    assert spot_near(leaning(), (wide / 4, -3.0), tolerance=2.0) is None


@given(share=st.floats(0.001, 0.999), index=st.integers(0, 99), which=st.sampled_from(sorted(PIECES)))
def test_a_spot_is_the_place_that_its_address_means(share: float, index: int, which: str) -> None:
    """What was picked is found again by a note: the share is counted as addresses count it, mouths left out."""
    piece = PIECES[which]
    edge = piece.edges[index % len(piece.edges)]
    spot = spot_along(piece, edge.id, share)
    meant = piece.point_at(place_of(piece, Address(edge.id, "start", share=share)))
    assert math.dist(spot.at, meant) < 1e-6
    again = spot_near(piece, spot.at)
    assert again is not None and again.distance < 1e-6
    if again.edge == edge.id:
        assert again.length == pytest.approx(share * edge_run_length(edge), abs=1e-4)


def test_no_spot_lies_in_a_dart_mouth() -> None:
    piece = front(with_dart=True)
    mouth = next(run.chain for run in piece.edge("side").runs if run.dart)
    spot = spot_near(piece, mouth.point(0.4))
    assert spot is not None
    assert math.dist(spot.at, mouth.start) < 1e-6 or math.dist(spot.at, mouth.end) < 1e-6


def test_a_share_past_the_end_is_kept_on_the_edge_and_an_unknown_edge_is_refused() -> None:
    assert spot_along(leaning(), "hem", 1.7).share == 1.0
    with pytest.raises(PatternError, match="no edge “collar”"):
        spot_along(leaning(), "collar", 0.5)


def test_the_nearest_of_several_places_is_taken_within_reach() -> None:
    places = [(0.0, 0.0), (10.0, 0.0), (10.0, 5.0)]
    assert nearest_of(places, (9.0, 1.0), 13.0) == 1
    assert nearest_of(places, (40.0, 0.0), 13.0) is None
    assert nearest_of([], (0.0, 0.0), 13.0) is None
