"""The order in which a pen draws lines."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from geometry.travel import Drawn, lifted_mm, lifts, ordered


def short_lines(seed: int, count: int) -> list[tuple[np.ndarray, bool]]:
    random = np.random.default_rng(seed)
    starts = random.uniform(0, 500, (count, 2))
    return [(np.stack([start, start + random.uniform(-20, 20, 2)]), False) for start in starts]


def test_every_line_is_drawn_once_as_it_is() -> None:
    """Lines are only turned round and re-ordered, a closed one entered elsewhere: points and lengths stay."""
    lines = short_lines(3, 40)
    square = np.array([(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)]) + 200
    walk = ordered([*lines, (square, True)], (10.0, 10.0))
    assert sorted(one.index for one in walk) == list(range(41))
    for one in walk:
        points = np.concatenate([square, square[:1]]) if one.index == 40 else lines[one.index][0]
        if one.index == 40:
            assert np.array_equal(one.points[0], one.points[-1])
            assert sorted(map(tuple, one.points[:-1])) == sorted(map(tuple, square))
            assert np.hypot(*np.diff(one.points, axis=0).T).sum() == pytest.approx(200)
        else:
            assert np.array_equal(one.points, points) or np.array_equal(one.points, points[::-1])


@pytest.mark.parametrize("seed", range(6))
def test_near_the_best_order_of_six_lines(seed: int) -> None:
    """Against every order and direction there is (46,080 walks): never more than a quarter longer."""
    lines = short_lines(seed, 6)
    ends = np.array([points[[0, -1]] for points, _ in lines])
    best = math.inf
    for order in itertools.permutations(range(6)):
        # The best directions for an order: a shortest way through pairs of ends.
        reach = [np.hypot(*(ends[order[0], k])) for k in (0, 1)]
        for before, after in itertools.pairwise(order):
            reach = [
                min(reach[j] + math.dist(ends[before, 1 - j], ends[after, k]) for j in (0, 1)) for k in (0, 1)
            ]
        best = min(best, *reach)
    assert best - 1e-9 <= lifted_mm(ordered(lines)) <= 1.25 * best


@pytest.mark.parametrize("seed", range(4))
def test_far_less_travel_than_as_given(seed: int) -> None:
    lines = short_lines(seed, 200)
    given = [Drawn(points, index) for index, (points, _) in enumerate(lines)]
    assert lifted_mm(ordered(lines)) < 0.2 * lifted_mm(given)


def test_lines_that_meet_are_drawn_on_without_a_lift() -> None:
    """Four sides of a square, given in any order and direction, are one stroke: the pen is lifted once to reach it."""
    corners = [np.array(corner, dtype=float) for corner in ((100, 100), (200, 100), (200, 200), (100, 200))]
    sides = [(np.stack([a, b]), False) for a, b in itertools.pairwise([*corners, corners[0]])]
    mixed = [sides[2], (sides[0][0][::-1], False), sides[3], sides[1]]
    walk = ordered(mixed)
    assert lifts(walk) == 1
    assert lifted_mm(walk) == pytest.approx(math.hypot(100, 100))


def test_nothing_to_draw() -> None:
    assert ordered([]) == []
