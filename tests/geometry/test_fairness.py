"""Fairness is measured on lines whose curvature and inflections are known by construction."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.fairness import (
    averaged_curvature,
    curvature_variation,
    greatest_curvature,
    inflections,
    turn_backs,
    turning,
)
from geometry.lines import Chain, arc, chain, joined, polyline, straight
from geometry.motions import slide, turn


def wave(turned_deg: float) -> Chain:
    """Two arcs of radius 100 that bend left and then right by so many degrees."""
    first = arc((0, 100), 100, 270, 300)
    end, way = first.end, first.end_tangent
    centre = (end[0] + 100 * way[1], end[1] - 100 * way[0])
    angle = math.degrees(math.atan2(end[1] - centre[1], end[0] - centre[0]))
    return joined([first, arc(centre, 100, angle, angle - turned_deg)])


@pytest.mark.parametrize("radius", [20.0, 75.0, 400.0])
def test_curvature_of_an_arc_is_one_over_its_radius(radius: float) -> None:
    """From geometry alone; arcs are cubics of 45 degrees, whose curvature is true to some 1e-4 of itself."""
    _, curvature = averaged_curvature(arc((3, 4), radius, 10, 130))
    assert np.abs(curvature * radius - 1).max() < 2e-3


def test_turning_of_a_quarter_is_ninety_degrees_and_length_is_known() -> None:
    lengths, angles = turning(arc((0, 0), 50, 0, 90))
    assert math.degrees(angles[-1]) == pytest.approx(90, abs=1e-9)
    assert lengths[-1] == pytest.approx(25 * math.pi, abs=0.01)


def test_a_step_of_curvature_is_spread_over_the_ten_millimetres_it_is_averaged_over() -> None:
    """A straight line into an arc of radius 40: half the curvature is read where they meet."""
    line = joined([straight((-60, 0), (0, 0)), arc((0, 40), 40, 270, 330)])
    at, curvature = averaged_curvature(line, leave_start=0, leave_end=0)
    assert np.interp([54.0, 60.0, 66.0], at, curvature * 40) == pytest.approx([0, 0.5, 1], abs=0.01)


def test_a_kink_is_read_as_its_angle_over_ten_millimetres() -> None:
    line = polyline([(0, 0), (50, 0), (50 + 50 * math.cos(0.1), 50 * math.sin(0.1))])
    assert greatest_curvature(line) == pytest.approx(0.01, abs=1e-6)


def test_the_first_ten_millimetres_at_corners_are_left_out() -> None:
    line = joined([arc((0, 4), 4, 225, 270), straight((0, 0), (80, 0))])
    assert greatest_curvature(line) < 1e-6 < 0.1 < greatest_curvature(line, leave_start=0)


@pytest.mark.parametrize(("turned", "count"), [(0.45, 0), (0.55, 1), (30.0, 1)])
def test_an_inflection_counts_once_the_line_has_turned_half_a_degree_back(turned: float, count: int) -> None:
    line = wave(turned)
    assert inflections(line) == count
    assert inflections(line.backwards()) == count
    assert inflections(line.moved(turn(170, (9, 9)))) == count


def test_an_inflection_is_found_where_the_bend_changes() -> None:
    (place,) = turn_backs(wave(20))
    assert place == pytest.approx(100 * math.radians(30), abs=0.5)


def test_two_waves_have_three_inflections() -> None:
    one = chain([((0, 0), (30, 40), (60, -40), (90, 0))])
    two = joined([one, one.moved(slide(90, 0))])
    assert inflections(two) == 3


def test_variation_counts_every_rise_and_fall() -> None:
    assert curvature_variation(arc((0, 0), 60, 0, 120)) < 1e-4
    assert curvature_variation(wave(30)) == pytest.approx(0.02, rel=0.02)
