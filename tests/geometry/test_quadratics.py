"""The least of a quadratic within limits, against what is known beforehand and against the conditions of a least."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.quadratics import least_within


def test_nearest_place_in_a_box_is_the_point_clipped() -> None:
    point = np.array([3.0, -0.2, -4.0])
    rows, limits = np.concatenate([np.eye(3), -np.eye(3)]), np.ones(6)
    found = least_within(np.eye(3), -point, rows, limits, np.zeros(3))
    assert found == pytest.approx(np.clip(point, -1, 1), abs=1e-6)


def test_without_a_limit_in_the_way_it_is_the_solution_of_the_equations() -> None:
    square = np.array([[4.0, 1.0], [1.0, 3.0]])
    found = least_within(square, np.array([-1.0, -2.0]), np.eye(2), np.full(2, 50.0), np.zeros(2))
    assert found == pytest.approx([1 / 11, 7 / 11], abs=1e-6)  # by hand: 4x + y = 1, x + 3y = 2


@pytest.mark.parametrize("seed", range(8))
def test_nothing_within_the_limits_is_less(seed: int) -> None:
    """Stationary but for limits that press, and these press one way only (Karush 1939, Kuhn and Tucker 1951)."""
    random = np.random.default_rng(seed)
    size, count = 12, 60
    root = random.normal(size=(size, size))
    square, linear = root @ root.T + np.eye(size), 10 * random.normal(size=size)
    rows, limits = random.normal(size=(count, size)), random.uniform(0.1, 1.0, count)
    found = least_within(square, linear, rows, limits, np.zeros(size))
    assert (rows @ found <= limits + 1e-7).all()
    pressing = limits - rows @ found < 1e-3
    assert pressing.any()
    slope = square @ found + linear
    press = np.linalg.lstsq(rows[pressing].T, -slope, rcond=None)[0]
    assert (press >= -1e-4).all()
    assert rows[pressing].T @ press == pytest.approx(-slope, abs=1e-4)


def test_it_begins_outside_the_limits_as_well() -> None:
    found = least_within(np.eye(2), np.zeros(2), np.array([[-1.0, 0.0]]), np.array([-2.0]), np.zeros(2))
    assert found == pytest.approx([2.0, 0.0], abs=1e-6)
