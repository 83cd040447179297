"""Values of the trade for sleeves, and of what is done free hand, through the functions a user reaches."""

from __future__ import annotations

import math

import pytest

from geometry.notes import Address, Target
from geometry.pipeline import draft
from geometry.sameness import same
from tests.canon import leaning, sleeve
from tests.geometry.test_trade_values import alone, note, redrawn


@pytest.mark.parametrize("wrist", ["as wide as before", "changed by as much"])
@pytest.mark.parametrize(("way", "wider"), [("larger", 24.0), ("smaller", -24.0)])
def test_a_larger_or_smaller_upper_arm_keeps_the_cap_seam(way: str, wider: float, wrist: str) -> None:
    # Cap seam length kept: common practice, no source. Half the cap is a rigid part, so the straight line from the
    # underarm corner to the top keeps its length: the cap is sqrt(160^2 + 130^2 - (160 + w / 2)^2) high, by hand
    # 113.65 mm for 24 mm more, 143.51 mm for 24 mm less.
    given = sleeve()
    piece, drafted = redrawn(given, note("upper_arm", Target("sleeve"), way=way, amount=24.0, wrist=wrist))
    moved = drafted.followed.garment.piece("sleeve")
    assert moved.edge("cap").length == pytest.approx(given.edge("cap").length, abs=1e-9)
    assert piece.edge("cap").length == pytest.approx(given.edge("cap").length, abs=0.8)
    start, end, top = piece.edge("cap").start, piece.edge("cap").end, moved.point_at(moved.notches[0].place)
    assert math.dist(start, end) == pytest.approx(320 + wider, abs=1e-9)
    assert top[1] - start[1] == pytest.approx(113.65 if wider > 0 else 143.51, abs=0.005)
    for edge in ("underarm.front", "underarm.back"):
        assert moved.edge(edge).length == pytest.approx(given.edge(edge).length, abs=1e-9)
    kept = 220.0 if wrist == "as wide as before" else 220.0 + wider
    assert piece.edge("wrist").length == pytest.approx(kept, abs=0.2)
    assert piece.edge("wrist").chain.is_straight


def test_a_cap_that_is_too_flat_for_a_larger_upper_arm_is_refused_with_the_largest_amount() -> None:

    drafted = draft(alone(sleeve()), (note("upper_arm", Target("sleeve"), amount=110.0),))
    (finding,) = drafted.followed.steps[0].findings
    assert "too flat" in finding.says and "The largest amount that fits is" in finding.says


def test_a_straight_edge_is_reshaped_as_a_batten_lies() -> None:
    # Clamped at both ends and led through one mark in the middle, the least-bending cubic spline is
    # a (3 t^2 - 2 t^3) with t = 2 x / L: half of it at a quarter of the length. Worked by hand.
    given = leaning(0.0)
    place = Address("side", "start", share=0.5)
    piece, _ = redrawn(given, note("reshape_an_edge", Target("panel", edge="side", across=(place,)), first=8.0))
    side = piece.edge("side").chain
    for height, out in ((0.0, 0.0), (100.0, 4.0), (200.0, 8.0), (300.0, 4.0), (400.0, 0.0)):
        assert side.point(side.crossings((0, height), (1, 0))[0])[0] == pytest.approx(150 + out, abs=0.006)
    assert side.start_tangent == pytest.approx((0.0, 1.0), abs=1e-9)


@pytest.mark.parametrize(
    ("across", "says"),
    [
        ((), "at which places"),
        ((Address("hem", "start", share=0.5),), "must lie on"),
        ((Address("side", "start", length=2.0),), "closer than 5 mm"),
    ],
)
def test_a_reshaping_that_cannot_be_meant_is_refused(across: tuple[Address, ...], says: str) -> None:
    target = Target("panel", edge="side", across=across)
    drafted = draft(alone(leaning()), (note("reshape_an_edge", target),))
    assert says in drafted.followed.steps[0].findings[0].says


@pytest.mark.parametrize(("way", "height"), [("higher", 143.0), ("lower", 117.0)])
def test_a_cap_keeps_its_shape_when_its_height_changes(way: str, height: float) -> None:
    # 130 mm and 13 mm more or less: every point a tenth higher or lower above the underarm. Multiplication.
    given = sleeve()
    piece, drafted = redrawn(given, note("cap_height", Target("sleeve"), way=way, amount=13.0))
    old, new = given.edge("cap").chain, piece.edge("cap").chain
    for u in (0.0, 0.6, 1.0, 1.7, 2.0, 3.3, 4.0):
        x, y = old.point(u)
        assert new.point(u) == pytest.approx((x, 420 + (y - 420) * height / 130), abs=1e-9)
    change = abs(new.length - old.length)
    assert f"{round(change, 1):g} mm {'more' if way == 'higher' else 'less'}" in drafted.followed.steps[0].readings[0]


def test_a_wrist_changes_by_half_on_each_underarm_seam_and_both_seams_still_match() -> None:
    # A change shared over the edges of the seam: Robinson, ch. 17, Central Washington University; and division.
    given = sleeve()
    piece, _ = redrawn(given, note("elbow_and_wrist", Target("sleeve"), wrist=24.0, elbow=10.0, at=0.5))
    wrist = piece.edge("wrist")
    assert (wrist.start, wrist.end) == (pytest.approx((-122.0, 0.0), abs=1e-9), pytest.approx((122.0, 0.0), abs=1e-9))
    seam = piece.edge("underarm.front").chain
    assert seam.point(seam.crossings((0, 210), (1, 0))[0])[0] == pytest.approx(135 + 5, abs=1e-6)
    assert seam.length == pytest.approx(piece.edge("underarm.back").length, abs=1e-9)
    assert same(piece.edge("cap"), given.edge("cap"), 0.0)


def test_a_moved_corner_of_two_straight_edges() -> None:
    # sqrt(190^2 + 30^2) and sqrt(370^2 + 40^2), by Pythagoras.
    target = Target("panel", across=(Address("hem", "end", length=0.0),))
    piece, _ = redrawn(leaning(0.0), note("move_a_corner", target, along_centre=30.0, off_centre=40.0))
    hem, side = piece.edge("hem"), piece.edge("side")
    assert hem.length == pytest.approx(192.354, abs=0.0005) and hem.chain.is_straight
    assert side.length == pytest.approx(372.156, abs=0.0005) and side.chain.is_straight
    assert hem.end == side.start == pytest.approx((190.0, 30.0), abs=1e-9)


def test_a_corner_on_the_fold_moves_along_it_only() -> None:
    target = Target("panel", across=(Address("hem", "start", length=0.0),))
    drafted = draft(alone(leaning()), (note("move_a_corner", target, along_centre=10.0, off_centre=5.0),))
    assert "only along it" in drafted.followed.steps[0].findings[0].says
    piece, _ = redrawn(leaning(), note("move_a_corner", target, along_centre=10.0, way="down"))
    assert piece.edge("fold").length == pytest.approx(410.0, abs=1e-9)
    middle = Target("panel", across=(Address("hem", "start", share=0.5),))
    drafted = draft(alone(leaning()), (note("move_a_corner", middle),))
    assert "which corner" in drafted.followed.steps[0].findings[0].says
