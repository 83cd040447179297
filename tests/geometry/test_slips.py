"""Straight slips fanned out along an edge are drawn as one smooth line."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.lines import Chain, straight
from geometry.slips import rounded


def slip(start: tuple[float, float], degrees: float, length: float) -> Chain:
    x, y = start
    way = math.radians(degrees)
    return straight((x, y), (x + length * math.cos(way), y + length * math.sin(way)))


def test_two_slips_are_joined_by_an_arc_tangent_to_both() -> None:
    # Two lines that meet at 10 degrees, rounded 50 mm before and after their meeting point: a circle of
    # radius 50 / tan 5 degrees; worked by hand.
    first, second = slip((0.0, 0.0), 0.0, 100.0), slip((100.0, 0.0), 10.0, 100.0)
    line = rounded([first, second])
    assert (line.start, line.end) == (first.start, second.end)
    assert line.start_tangent == pytest.approx((1.0, 0.0), abs=1e-12)
    assert line.end_tangent == pytest.approx(second.end_tangent, abs=1e-12)
    radius = 50 / math.tan(math.radians(5))
    arc = [point for point in line.flat[0].tolist() if 50.0 < point[0] < 100 + 49 * math.cos(math.radians(10))]
    assert len(arc) > 5
    for x, y in arc:
        assert math.dist((x, y), (50.0, radius)) == pytest.approx(radius, abs=0.001)


@pytest.mark.parametrize("leans", [(0.0, 4.0, 8.0, 12.0), (0.0, 1.5, 9.0), (0.0, -6.0)])
def test_a_fan_bends_one_way_by_as_much_as_it_was_fanned(leans: tuple[float, ...]) -> None:
    slips, at = [], (0.0, 0.0)
    for lean in leans:
        slips.append(slip(at, lean, 60.0))
        x, y = slips[-1].end
        # The next slip begins beyond a gap, on its own line run back to the last one's.
        at = (x + 12.0, y)
    line = rounded(slips)
    assert line.turning_deg == pytest.approx(abs(leans[-1] - leans[0]), abs=1e-6)
    tangents = np.array([line.tangent(u) for u in np.linspace(0, len(line), 200)])
    turns = tangents[:-1, 0] * tangents[1:, 1] - tangents[:-1, 1] * tangents[1:, 0]
    assert (turns > -1e-9).all() or (turns < 1e-9).all()


def test_slips_beside_each_other_are_joined_from_middle_to_middle_with_both_ends_as_they_were() -> None:
    first, second = slip((0.0, 0.0), 0.0, 80.0), slip((80.0, 6.0), 0.0, 80.0)
    line = rounded([first, second])
    assert (line.start, line.end) == (first.start, second.end)
    assert line.point(line.at_length(20.0))[1] == pytest.approx(0.0, abs=1e-9)
    assert line.start_tangent == pytest.approx((1.0, 0.0)) and line.end_tangent == pytest.approx((1.0, 0.0))


def test_a_slip_that_is_met_near_its_far_end_is_not_bent_at_one_place() -> None:
    # The second line meets the first 60 mm along it, of 100: half of it back from there is 10 mm, which stay straight.
    # The arc takes 50 mm to either side, a circle of radius 50 / tan 3 degrees for 6 degrees; worked by hand.
    first = slip((0.0, 0.0), 0.0, 100.0)
    way = math.radians(6.0)
    second = slip((60.0 + 80.0 * math.cos(way), 80.0 * math.sin(way)), 6.0, 120.0)
    for line in (rounded([first, second]), rounded([second.backwards(), first.backwards()]).backwards()):
        assert (line.start, line.end) == (first.start, second.end)
        assert line.point(line.at_length(9.9))[1] == pytest.approx(0.0, abs=1e-9)
        radius = 50 / math.tan(math.radians(3))
        arc = [point for point in line.flat[0].tolist() if 10.0 <= point[0] <= 60 + 49 * math.cos(way)]
        assert len(arc) > 5
        for x, y in arc:
            assert math.dist((x, y), (10.0, radius)) == pytest.approx(radius, abs=0.001)


def test_one_slip_is_left_as_it_is() -> None:
    assert rounded([slip((0.0, 0.0), 5.0, 80.0), slip((80.0, 7.0), 9.0, 0.5)]).length == pytest.approx(80.0)
