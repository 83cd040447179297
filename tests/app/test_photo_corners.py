"""Corners of a measured outline are found by its turning: where cut paper has one, and never on a smooth curve."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from app.photo.rings import even_as_it_stands, resampled
from app.photo.turnings import corners
from geometry.motions import FloatArray

SQUARE = np.array([(0.0, 0.0), (160.0, 0.0), (160.0, 130.0), (0.0, 130.0)])


def measured(shape: shapely.Geometry, noise: float, seed: int) -> FloatArray:
    """An outline as a photo gives it (n, 2): corners rounded by blur, neighbouring points erring together (mm)."""
    ring = even_as_it_stands(resampled(shapely.get_coordinates(shape)[:-1]), 1.2)
    errors = np.random.default_rng(seed).normal(0.0, noise * math.sqrt(3), ring.shape)
    return ring + (np.roll(errors, 1, axis=0) + errors + np.roll(errors, -1, axis=0)) / 3


def how_many(shape: shapely.Geometry, about: tuple[float, float], reach: float, noise: float, seed: int) -> int:
    points = measured(shape, noise, seed)
    found = points[corners(points, np.ones(len(points), bool))]
    return int((np.hypot(*(found - about).T) < reach).sum())


@pytest.mark.parametrize("noise", [0.01, 0.03])
@pytest.mark.parametrize("size", [6.0, 8.0, 12.0, 25.0])
def test_a_strap_that_is_cut_off_has_two_corners(size: float, noise: float) -> None:
    """Cut at 45 degrees, ``size`` mm long."""
    leg = size / math.sqrt(2)
    cut = shapely.Polygon([*SQUARE[:2], (160.0, 130.0 - leg), (160.0 - leg, 130.0), SQUARE[3]])
    for seed in range(4):
        assert how_many(cut, (160.0 - leg / 2, 130.0 - leg / 2), size, noise, seed) == 2
        assert how_many(cut, (0.0, 0.0), 6.0, noise, seed) == 1


@pytest.mark.parametrize("noise", [0.01, 0.03])
@pytest.mark.parametrize("radius", [6.0, 8.0, 10.0, 12.0, 15.0, 25.0, 40.0])
def test_a_round_corner_has_none(radius: float, noise: float) -> None:
    """A patch pocket's corners, and an armhole's tightest part of 25 mm, outward and inward."""
    rounded = shapely.Polygon(SQUARE).buffer(-radius).buffer(radius, quad_segs=64)
    hollow = shapely.Polygon(SQUARE).difference(shapely.Point(80.0, 130.0).buffer(radius, quad_segs=128))
    for seed in range(4):
        assert how_many(rounded, (80.0, 65.0), 200.0, noise, seed) == 0
        assert how_many(hollow, (80.0, 130.0 - radius), 0.8 * radius, noise, seed) == 0
        assert how_many(hollow, (80.0, 130.0), radius + 1.5, noise, seed) == 2, "where the curve meets the edge"


@pytest.mark.parametrize("degrees", [25.0, 45.0, 90.0, 140.0])
def test_a_corner_of_few_degrees_is_found_as_well_as_a_sharp_one(degrees: float) -> None:
    turn = math.radians(degrees)
    beyond = (100.0 * math.cos(turn), 100.0 * math.sin(turn))
    shape = shapely.Polygon([(-100.0, 0.0), (0.0, 0.0), beyond, (-50.0, 160.0)])
    for seed in range(4):
        assert how_many(shape, (0.0, 0.0), 3.0, 0.01, seed) == 1


def test_a_corner_that_was_not_seen_is_still_one() -> None:
    """A bridge cuts it off: two turns of 45 degrees, 4 mm apart, with nothing measured between."""
    cut = shapely.Polygon([*SQUARE[:2], (160.0, 127.0), (157.0, 130.0), SQUARE[3]])
    points = measured(cut, 0.01, 1)
    seen = np.hypot(*(points - SQUARE[2]).T) > 5.0
    found = points[corners(points, seen)]
    assert 1 <= (np.hypot(*(found - SQUARE[2]).T) < 6.0).sum() <= 2
