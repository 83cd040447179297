"""Refitted cubics stay within the tolerance, keep ends and tangents exactly, join smoothly, and are few."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.fairness import angle_between, turning
from geometry.fitting import refit
from geometry.lines import Chain, arc, chain, straight
from geometry.motions import FloatArray
from geometry.tolerances import REFIT_MM
from tests.blend_cases import shapes


def stations(line: Chain, count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Points, directions and lengths at even steps along a line."""
    at = np.linspace(0.0, line.length, count + 1)
    us = line.at_lengths(at)
    lengths, angles = turning(line)
    first = math.atan2(line.start_tangent[1], line.start_tangent[0])
    return line.points(us), first + np.interp(at, lengths, angles), at


def furthest(line: Chain, other: Chain) -> float:
    points = line.points(line.at_lengths(np.linspace(0, line.length, 200)))
    return max(other.nearest((float(x), float(y)))[1] for x, y in points)


@pytest.mark.parametrize("name", sorted(shapes()))
def test_an_edge_is_refitted_within_the_tolerance(name: str) -> None:
    line = shapes()[name]
    points, angles, lengths = stations(line, 100)
    new = refit(points, angles, lengths)
    assert furthest(line, new) <= REFIT_MM * 1.1
    assert furthest(new, line) <= REFIT_MM * 1.1
    assert new.length == pytest.approx(line.length, abs=0.02)


@pytest.mark.parametrize("name", sorted(shapes()))
def test_ends_and_end_tangents_are_exact_and_joins_are_smooth(name: str) -> None:
    points, angles, lengths = stations(shapes()[name], 100)
    new = refit(points, angles, lengths)
    assert new.start == tuple(points[0]) and new.end == tuple(points[-1])
    assert angle_between(new.start_tangent, (math.cos(angles[0]), math.sin(angles[0]))) == pytest.approx(0, abs=1e-12)
    assert angle_between(new.end_tangent, (math.cos(angles[-1]), math.sin(angles[-1]))) == pytest.approx(0, abs=1e-12)
    for u in range(1, len(new)):
        assert angle_between(new.tangent(u, before=True), new.tangent(u)) == pytest.approx(0, abs=1e-9)


def test_an_armhole_needs_few_cubics() -> None:
    """7 to 13 cubics at 0.005 mm were counted on an armhole of 212 mm with a plain fit: ours needs no more."""
    points, angles, lengths = stations(shapes()["armhole"], 100)
    assert len(refit(points, angles, lengths)) <= 7


def test_a_cubic_comes_back_as_itself() -> None:
    line = chain([((0, 0), (20, 40), (60, 50), (100, 20))])
    new = refit(*stations(line, 60))
    assert len(new) <= 2
    assert furthest(line, new) <= REFIT_MM


def test_a_straight_line_is_one_segment() -> None:
    new = refit(*stations(straight((0, 0), (120, 50)), 40))
    assert len(new) == 1
    assert new.length == pytest.approx(130, abs=1e-9)


def test_turned_round_the_line_is_the_same() -> None:
    points, angles, lengths = stations(shapes()["sleeve cap"], 100)
    there = refit(points, angles, lengths)
    back = refit(points[::-1], angles[::-1] + math.pi, lengths[-1] - lengths[::-1]).backwards()
    assert len(there) == len(back)
    assert np.abs(there.cubics - back.cubics).max() < 1e-6


@settings(max_examples=40)
@given(
    radius=st.floats(30, 400),
    degrees=st.floats(5, 150),
    bulge=st.floats(0.5, 1.6),
    tolerance=st.sampled_from([0.02, REFIT_MM, 0.001]),
)
def test_any_smooth_line_is_met_within_any_tolerance(
    radius: float, degrees: float, bulge: float, tolerance: float
) -> None:
    line = arc((0, 0), radius, 0, degrees)
    squashed = Chain(line.cubics * np.array([1.0, bulge]), line.straight)
    new = refit(*stations(squashed, 120), tolerance)
    assert furthest(squashed, new) <= tolerance * 1.1 + 1e-4
