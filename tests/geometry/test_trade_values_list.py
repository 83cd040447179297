"""Values of plain geometry for the items of a fitter's list that go the other way round than those worked elsewhere."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from geometry.darts import mouth_of, opening_deg
from geometry.notes import Address, Target
from geometry.pieces import Piece
from geometry.pipeline import draft
from geometry.sameness import same
from sample_pieces.drafting.trousers import trousers
from tests.canon import bodice, front, leaning
from tests.geometry.test_trade_values import alone, note, redrawn
from tests.geometry.test_trade_values_bust import bust_note, half_back, three_slash_front
from tests.geometry.test_trade_values_width import out_at

BOTH = (Target("front"), Target("back"))


def turned(before: Piece, after: Piece, edge: str) -> float:
    """Degrees by which the start of an edge was turned to the left."""
    (ux, uy), (vx, vy) = (piece.edge(edge).runs[0].chain.start_tangent for piece in (before, after))
    return math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))


def own_lines(piece: Piece, edge: str) -> float:
    """Length in mm of an edge's own lines, steps between them left out."""
    return sum(run.chain.length for run in piece.edge(edge).runs)


def test_a_lowered_hem_runs_the_side_on_and_gains_flare() -> None:
    # 25.4 / cos 10 degrees on the side, 25.4 tan 10 degrees on the hem; worked by hand. Shaped pieces change at the
    # line, or their flare changes: Robinson, ch. 17, Central Washington University.
    given = leaning(10)
    new, _ = redrawn(given, note("hem", Target("panel"), way="lower", centre=25.4, side=25.4))
    assert new.edge("side").length - given.edge("side").length == pytest.approx(25.792, abs=0.0006)
    assert new.edge("hem").length - given.edge("hem").length == pytest.approx(4.479, abs=0.0006)
    assert new.edge("side").chain.is_straight and new.edge("side").end == given.edge("side").end


def test_an_overlap_takes_its_amount_out_all_along_the_line() -> None:
    # A strip 12 mm wide and 400 mm long: subtraction and multiplication.
    given = leaning(10)
    across = (Address("hem", "start", length=80.0), Address("waist", "end", length=80.0))
    new, _ = redrawn(given, note("slash_and_spread", Target("panel", across=across), way="overlap", amount=12.0))
    for edge in ("hem", "waist"):
        assert given.edge(edge).length - new.edge(edge).length == pytest.approx(12.0, abs=1e-9)
    assert given.polygon.area - new.polygon.area == pytest.approx(12.0 * 400.0, abs=0.5)
    assert new.edge("side").length == pytest.approx(given.edge("side").length, abs=1e-9)


def test_flare_taken_out_turns_the_side_back_by_its_angle() -> None:
    # Two slashes lapped by 20 mm each at the hem. The first is 400 mm long: t = 2 asin(20 / 800). The second is cut
    # straight down in the paper that it turned, 400 / cos t long; worked by hand.
    given = leaning(10)
    taken = note("flare", Target("panel"), way="remove", amount=40.0, slashes="two slashes")
    new = draft(alone(given), (taken,)).followed.garment.piece("panel")
    first = 2 * math.asin(20 / 800)
    second = 2 * math.asin(20 / (800 / math.cos(first)))
    assert -turned(given, new, "side") == pytest.approx(math.degrees(first + second), abs=1e-6)
    # The waist turns into a rounder line through the middles of its slips, as long as before.
    assert new.edge("waist").length == pytest.approx(given.edge("waist").length, abs=0.05)
    assert new.edge("side").length == pytest.approx(given.edge("side").length, abs=1e-9)


def test_a_raised_underarm_lengthens_both_sides_by_the_same() -> None:
    # Addition; common practice, no source.
    drafted = draft(bodice(), (note("raise_or_lower_underarm", *BOTH, way="raise", amount=12.0),))
    for name in ("front", "back"):
        old, new = bodice().piece(name), drafted.redrawn.piece(name)
        assert new.edge("side").length == pytest.approx(old.edge("side").length + 12, abs=1e-6)
        assert same(new.edge("shoulder"), old.edge("shoulder"), 0.0)
    assert {walked.verdict for walked in drafted.after} == {"true"}


def test_a_pinch_run_out_at_another_edge_turns_the_paper_about_the_hinge_there() -> None:
    # The hinge stands on the stitching line, so that the paper lies flat: Robinson, ch. 17, Central Washington
    # University. Seen from it the pinched stretch is its two bearings apart: subtraction.
    given = front()
    pinch: dict[str, Any] = {"amount": 6.0, "at": 0.3, "into": "run out at another edge"}
    at_hem = Target("front", across=(Address("hem", "start", length=150.0),))
    new = draft(alone(given), (note("armhole_gapes", at_hem, **pinch),)).followed.garment.piece("front")
    armhole = given.edge("armhole").chain
    ends = [armhole.point(armhole.at_length(0.3 * armhole.length + step)) for step in (-3.0, 3.0)]
    bearings = [math.degrees(math.atan2(y, x - 150.0)) for x, y in ends]
    assert turned(given, new, "side") == pytest.approx(bearings[1] - bearings[0], abs=1e-6)
    assert turned(given, new, "shoulder") == pytest.approx(0.0, abs=1e-9)
    assert given.edge("armhole").length - own_lines(new, "armhole") == pytest.approx(6.0, abs=1e-9)
    for kept in ("shoulder", "neck", "hem", "side", "fold"):
        assert new.edge(kept).length == pytest.approx(given.edge(kept).length, abs=1e-6)
    # From the side a cut to mid-armhole leaves the paper at the hollow, runs along the armhole and on to the shoulder.
    at_side = Target("front", across=(Address("side", "end", length=90.0),))
    step = draft(alone(given), (note("armhole_gapes", at_side, **pinch | {"at": 0.5}),)).followed.steps[0]
    assert not step.done and "name another place" in step.findings[0].says


def test_a_narrowed_neckline_lengthens_both_shoulders_by_the_same() -> None:
    # Addition; common practice, no source.
    drafted = draft(bodice(), (note("widen_or_narrow_neckline", *BOTH, way="narrow", amount=10.0),))
    for name in ("front", "back"):
        old, new = bodice().piece(name), drafted.redrawn.piece(name)
        assert new.edge("shoulder").length == pytest.approx(old.edge("shoulder").length + 10, abs=1e-9)
        assert new.edge("shoulder").chain.is_straight and new.edge("neck").end == old.edge("neck").end
    assert {walked.verdict for walked in drafted.after} == {"true"}


def test_a_small_bust_closes_the_dart_by_the_angle_of_its_slashes() -> None:
    # A full bust of 25.4 mm and a small one of 12.7 leave a full bust of 12.7: 7.7591 degrees, a drop of 7.2765 mm and
    # a mouth of 17.7982 mm; a (1 - cos t) + b sin t = s worked by hand with a 60, b 90, L 131.5295.
    given = three_slash_front()
    less = replace(bust_note(way="small bust", amount=12.7), id="note2")
    drafted = draft(alone(given), (bust_note(amount=25.4), less))
    assert all(step.done for step in drafted.followed.steps)
    new = drafted.followed.garment.piece("front")
    (dart,) = new.darts
    assert abs(opening_deg(new, dart)) == pytest.approx(7.7591, abs=5e-4)
    assert mouth_of(new, dart).length == pytest.approx(17.7982, abs=5e-4)
    assert new.edge("fold").length == pytest.approx(350 + 7.2765, abs=5e-4)
    assert new.edge("hem").length == pytest.approx(218 + 12.7, abs=1e-6)


def test_a_narrow_back_is_as_much_narrower_from_shoulder_to_hem() -> None:
    # Subtraction; the front untouched: common practice, no source.
    narrow = note("broad_or_narrow_back", Target("back"), way="narrow back: overlap", amount=6.0)
    drafted = draft(bodice(), (narrow,))
    old, new = bodice().piece("back"), drafted.followed.garment.piece("back")
    assert drafted.followed.garment.piece("front") is bodice().piece("front") or same(
        drafted.followed.garment.piece("front"), bodice().piece("front"), 0.0
    )
    for height in (50.0, 170.0, 300.0):
        assert out_at(old, new, "side", height) == pytest.approx(-6.0, abs=1e-6)
    assert old.edge("hem").length - new.edge("hem").length == pytest.approx(6.0, abs=1e-9)
    for kept in ("side", "armhole", "neck", "fold"):
        assert new.edge(kept).length == pytest.approx(old.edge(kept).length, abs=1e-6)


def test_an_erect_back_shortens_the_centre_and_turns_the_upper_back_by_its_wedge() -> None:
    # atan(8 / 180) for a back 180 mm wide at the hinge; worked by hand.
    given = half_back()
    chain = given.edge("armhole").chain
    hinge = chain.length_to(chain.nearest((180.0, 612.0))[0]) / chain.length
    folded = note("round_or_erect_back", Target("back"), way="erect back: fold out", amount=8.0, hinge=hinge)
    new = draft(alone(given), (folded,)).followed.garment.piece("back")
    assert abs(turned(given, new, "shoulder")) == pytest.approx(math.degrees(math.atan(8 / 180)), abs=1e-4)
    assert given.edge("fold").length - new.edge("fold").length == pytest.approx(8.0, abs=0.5)
    assert new.edge("fold").chain.is_straight
    for kept in ("shoulder", "armhole", "side", "hem"):
        assert new.edge(kept).length == pytest.approx(given.edge(kept).length, abs=1e-6)


def test_a_flat_seat_turns_the_upper_back_by_its_wedge_and_keeps_the_side() -> None:
    # 2 asin(a / 2R) for a wedge of a at the distance R from its hinge on the side seam; worked by hand.
    given = trousers().piece("back")
    flat = note("seat", Target("back"), way="flat seat: overlap", amount=10.0)
    step = draft(alone(given), (flat,)).followed.steps[0]
    new = step.after.piece("back")
    assert new.edge("back.side").length == pytest.approx(given.edge("back.side").length, abs=1e-9)
    assert given.edge("back.crotch").length - own_lines(new, "back.crotch") == pytest.approx(10.0, abs=0.3)
    corners = step.strips[0].outline
    reach = max(math.dist(a, b) for a in corners for b in corners)
    assert abs(turned(given, new, "back.waist")) == pytest.approx(
        math.degrees(2 * math.asin(10.0 / 2 / reach)), abs=0.02
    )
