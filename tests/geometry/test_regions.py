"""Regions of the paper: what they hold, and what a slash along a bent line parts."""

from __future__ import annotations

import math

import pytest

from geometry.motions import slide, turn
from geometry.moves import lay_together
from geometry.regions import Patch, Region, beside_slash
from geometry.sameness import same
from tests.canon import front, leaning

SLASH = ((40.0, 400.0), (40.0, 200.0), (180.0, 200.0))
WAYS = ((0.0, 1.0), (1.0, 0.0))


@pytest.mark.parametrize("corners", [((0, 0), (100, 0), (100, 50), (40, 50), (40, 90), (0, 90)), None])
def test_a_patch_holds_what_lies_inside_and_not_its_border(corners: tuple[tuple[float, float], ...] | None) -> None:
    corners = corners or ((0, 90), (40, 90), (40, 50), (100, 50), (100, 0), (0, 0))
    patch = Patch(corners)
    assert patch.holds((20, 70)) and patch.holds((80, 20)) and not patch.holds((80, 70)) and not patch.holds((-5, 20))
    assert not patch.holds((40, 70)) and not patch.holds((100, 50)) and not patch.holds((60, 50 - 1e-7))
    assert patch.holds((60, 50 - 1e-5))


def test_a_border_of_a_patch_ends_at_its_corners() -> None:
    border = Patch(((0, 0), (100, 0), (100, 50))).borders[0]
    assert border.spans((0, 0)) and border.spans((100, 0)) and not border.spans((100.01, 0))
    assert not border.spans((-0.01, 0))


def test_the_two_sides_of_a_slash_share_the_paper_between_them() -> None:
    one, other = beside_slash(SLASH, WAYS, (100, 300)), beside_slash(SLASH, WAYS, (10, 10))
    for point in ((41, 201), (39, 201), (41, 199), (150, 350), (150, 20), (5, 390)):
        assert one.holds(point) != other.holds(point)
    assert one.holds((41, 201)) and other.holds((39, 201)) and other.holds((41, 199))


def test_a_part_beyond_a_bent_slash_moves_and_comes_back() -> None:
    given = leaning(10)
    how = slide(12.0, 5.0)
    away = lay_together(given, [Region(beside_slash(SLASH, WAYS, (100, 300)), how)], "one", (0.0, 1.0)).piece
    # The waist opens by 12 mm across and jogs by 5 mm; the paper above the level slash is 5 mm higher.
    assert away.edge("side").start == given.edge("side").start
    assert away.edge("waist").start == pytest.approx((162.0, 405.0), abs=1e-9)
    gap = Patch(((40, 200), (52, 205), (52, 9000), (40, 9000)))
    back = lay_together(
        away,
        [
            Region(gap, None),
            Region(Patch(((40, 200), (9000, 200), (9000, 205), (52, 205))), None),
            Region(beside_slash(tuple(how.point(p) for p in SLASH), WAYS, (120, 300)), how.undone()),
        ],
        "two",
        (0.0, 1.0),
    ).piece
    assert same(back, given, 1e-6)


def test_a_hinge_on_an_edge_keeps_its_length() -> None:
    given = front()
    hinge = given.edge("armhole").chain.point(0.7)
    slash = (hinge, (95.0, 320.0), (215.0, 220.0))
    away = (1.0, 0.0)
    patch = beside_slash(slash, (away, away), (215.0, 330.0))
    turned = lay_together(given, [Region(patch, turn(6.0, hinge))], "one", (0.0, 1.0)).piece
    assert sum(run.chain.length for run in turned.edge("armhole").runs) == pytest.approx(
        given.edge("armhole").length, abs=1e-9
    )
    assert len(turned.edge("armhole").runs) == 2 and turned.edge("armhole").disturbed
    gap = math.dist(turned.edge("side").runs[0].chain.end, turned.edge("side").runs[-1].chain.start)
    assert gap == pytest.approx(2 * math.dist(hinge, (215, 220)) * math.sin(math.radians(3)), abs=0.5)
