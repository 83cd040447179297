"""Values of the trade for sleeves, and of what is done free hand, through the functions a user reaches."""

from __future__ import annotations

import math

import pytest

from geometry.notes import Address, Target
from geometry.pipeline import draft
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
