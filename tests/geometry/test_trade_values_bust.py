"""Values of the trade and of plain geometry for bust, chest, darts and back, through the functions a user reaches."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import pytest

from geometry.darts import mouth_of, opening_deg, set_back
from geometry.lines import chain, straight
from geometry.moves import dart_mouth
from geometry.notes import Note, Target
from geometry.pieces import EdgeKind, Finish, LineKind, Mark, MarkKind, Piece
from geometry.pipeline import draft
from tests.canon import bodice, edge, front, piece
from tests.geometry.test_trade_values import alone, note, redrawn


@cache
def three_slash_front() -> Piece:
    """A front with the bust point A(90, 200), H(150, 290) on its armhole and D(220, 180) on its side seam."""
    lower, upper = ((222, 250), (190, 252), (150, 265), (150, 290)), ((150, 290), (150, 330), (158, 370), (160, 400))
    return piece(
        "front",
        edge("hem", EdgeKind.HEM, straight((0, 0), (218, 0)), finish=Finish.HEM_ONCE),
        edge("side", EdgeKind.SIDE, straight((218, 0), (220, 180)), straight((220, 180), (222, 250))),
        edge("armhole", EdgeKind.ARMHOLE, chain([lower, upper])),
        edge("shoulder", EdgeKind.SHOULDER, straight((160, 400), (60, 430))),
        edge("neck", EdgeKind.NECKLINE, chain([((60, 430), (55, 380), (30, 350), (0, 350))])),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 350), (0, 0)), finish=Finish.FOLD),
        marks=(Mark("bust.point", "bust point", MarkKind.BUST_POINT, (90, 200)),),
    )


def bust_note(**values: Any) -> Note:
    armhole = three_slash_front().edge("armhole")
    hinge = armhole.chain.length_to(1.0) / armhole.length
    below = math.dist((222, 250), (220, 180))
    return note("full_or_small_bust", Target("front"), hinge=hinge, below=below, **values)


@pytest.mark.parametrize(
    ("spread", "turned", "drop", "mouth"),
    [
        (6.35, 3.9547, 3.9238, 9.0767),
        (12.7, 7.7591, 7.2765, 17.7982),
        (20.0, 11.9868, 10.4988, 27.4670),
        (25.4, 15.0346, 12.4834, 34.4148),
    ],
)
def test_the_three_slashes_of_a_full_bust(spread: float, turned: float, drop: float, mouth: float) -> None:
    # a (1 - cos t) + b sin t = s with a 60, b 90; drop a sin t - b (1 - cos t); mouth 2 L sin(t/2) with L 131.5295;
    # worked by hand.
    given = three_slash_front()
    drafted = draft(alone(given), (bust_note(amount=spread),))
    assert drafted.followed.steps[0].done
    new = drafted.followed.garment.piece("front")
    (dart,) = new.darts
    assert abs(opening_deg(new, dart)) == pytest.approx(turned, abs=5e-5)
    assert dart.bust_point == pytest.approx((90 + spread, 200 - drop), abs=5e-5)
    assert new.marks[0].point == pytest.approx(dart.bust_point, abs=1e-9)
    assert mouth_of(new, dart).length == pytest.approx(mouth, abs=5e-5)
    # Hem and waist grow by s and the centre front by the drop; the rest keeps its length, the dart closed.
    assert new.edge("hem").length == pytest.approx(218 + spread, abs=1e-9)
    assert new.edge("fold").length == pytest.approx(350 + drop, abs=5e-5)
    assert new.edge("fold").chain.is_straight and not new.edge("hem").disturbed
    for kept in ("shoulder", "neck", "armhole", "side"):
        assert new.edge(kept).length == pytest.approx(given.edge(kept).length, abs=1e-9)
    assert new.edge("shoulder") is given.edge("shoulder")


def test_an_existing_dart_grows_by_the_angle_and_keeps_its_point_as_far_back() -> None:
    # The angle is conserved; “the dart grows by the spread” is false: worked by hand.
    given = front(with_dart=True)
    one, drafted = redrawn(given, note("full_or_small_bust", Target("front"), amount=12.7))
    was, now = (abs(opening_deg(p, p.darts[0])) for p in (given, drafted.followed.garment.piece("front")))
    assert now > was + 5 and set_back(one.darts[0]) == pytest.approx(set_back(given.darts[0]), abs=1e-9)
    mouth, dart = dart_mouth(one.edge("side"), "dart"), one.darts[0]
    assert math.dist(mouth.start, dart.sewn_point) == pytest.approx(math.dist(mouth.end, dart.sewn_point), abs=1e-6)
    growth = mouth.length - dart_mouth(given.edge("side"), "dart").length
    assert growth > 12.7 + 1


def test_a_bust_change_of_two_inches_in_all_is_one_inch_on_the_half_front() -> None:
    # Division: 2 in / 2 = 25.4 mm.
    drafted = draft(alone(three_slash_front()), (bust_note(amount=25.4),))
    assert "adds 25.4 mm at the bust on “front”, 50.8 mm round the body" in drafted.followed.steps[0].readings[0]


def test_a_full_bust_without_a_dart_is_eased_into_the_back_and_the_seam_still_walks() -> None:
    drafted = draft(bodice(), (note("full_or_small_bust", Target("front"), amount=10.0, dartless="ease it in"),))
    (sides,) = [walked for walked in drafted.after if walked.seam == "sides"]
    assert sides.difference_mm < -5 and sides.verdict == "true"
    assert any("to be eased into the back" in line for line in drafted.followed.steps[0].readings)


def test_a_small_bust_closes_no_more_than_the_dart_has() -> None:
    closing = note("full_or_small_bust", Target("front"), way="small bust", amount=40.0)
    step = draft(alone(front(with_dart=True)), (closing,)).followed.steps[0]
    assert not step.done and "largest amount that fits" in step.findings[0].says


def test_waist_hem_and_grain_stay_level_and_straight_when_the_centre_drops() -> None:
    # Common practice, no source: the slash from the centre lies above the waist line, so that the waist stays level.
    one, _ = redrawn(front(), note("full_or_small_bust", Target("front"), amount=20.0))
    for kind in (LineKind.WAIST, LineKind.LENGTHEN):
        line = one.line(kind)
        assert line is not None and line.chain.start[1] == pytest.approx(line.chain.end[1], abs=1e-9)
    grain = one.line(LineKind.GRAIN)
    assert grain is not None and grain.chain.start[0] == grain.chain.end[0] and grain.chain.length == 400.0
