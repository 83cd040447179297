"""Values of the trade for neckline, shoulder and armhole, through the functions a user reaches."""

from __future__ import annotations

import math

import pytest

from geometry.motions import slide
from geometry.notes import Target
from geometry.sameness import same
from tests.canon import front
from tests.geometry.test_trade_values import note, redrawn


@pytest.mark.parametrize(("way", "up"), [("square shoulder", 10.0), ("sloping shoulder", -10.0)])
def test_a_square_or_sloping_shoulder_keeps_the_shape_of_the_armhole(way: str, up: float) -> None:
    # Shoulder tip and underarm move by the same amount, the armhole keeps its shape: common practice, no source.
    given = front()
    piece, drafted = redrawn(given, note("square_or_sloping_shoulder", Target("front"), way=way, amount=10.0))
    armhole = piece.edge("armhole")
    assert same(armhole.chain, given.edge("armhole").chain.moved(slide(0.0, up)), 1e-9)
    assert piece.edge("shoulder").end == given.edge("shoulder").end
    # The shoulder is 95 mm across and 30 mm high: 40 or 20 mm high after it, by Pythagoras.
    assert piece.edge("shoulder").chain.is_straight
    assert piece.edge("shoulder").length == pytest.approx(math.hypot(95, 30 - up), abs=1e-9)
    assert f"from 99.6 mm to {103.1 if up < 0 else 97.1:g} mm" in drafted.followed.steps[0].readings[0]
    assert same(piece.edge("neck"), given.edge("neck"), 0.0)
    # The side seam runs to nothing: its lower part is the old line.
    side, old = piece.edge("side").chain, given.edge("side").chain
    assert old.nearest(side.point(side.at_length(100.0)))[1] < 0.01
