"""The width of a drawn line from how its darkness is spread: smudges of known width, ink and blur, made by erf."""

from __future__ import annotations

import math

import numpy as np
import pytest

from app.photo.line_widths import LineWidth, line_width

REACH = 2.4


def width_of(width: float, ink: float, blur: float, seed: int = 0, unsure: float = 0.015) -> LineWidth:
    """What is measured of a line (mm) that takes such a share of the light, blurred by so many mm, with some noise."""
    dice = np.random.default_rng(seed)
    at = dice.uniform(-3.0, 3.0, 20_000)
    sums = np.array([math.erf(x / math.sqrt(2)) / 2 for x in np.concatenate([at + width / 2, at - width / 2]) / blur])
    dark = ink * (sums[: len(at)] - sums[len(at) :]) + dice.normal(0.0, 0.01, len(at))
    return line_width(at, dark, blur, unsure, REACH)


@pytest.mark.parametrize("ink", [0.3, 0.6, 0.93])
@pytest.mark.parametrize("width", [0.5, 0.8, 2.0])
def test_a_line_wider_than_twice_the_blur_is_measured_whatever_its_ink(width: float, ink: float) -> None:
    got = width_of(width, ink, blur=0.22)
    assert got.mm == pytest.approx(width, abs=0.05)
    assert got.unsure_mm < 0.08


def test_a_line_thinner_than_the_blur_is_as_unsure_as_is_said() -> None:
    """Black or grey, the smudges are nearly the same: one width fits both about as well."""
    sure = []
    for seed in range(12):
        dice = np.random.default_rng(seed)
        width, ink, blur = dice.uniform(0.35, 0.8), float(dice.choice([0.3, 0.45, 0.6, 0.93])), dice.uniform(0.5, 0.7)
        got = width_of(width, ink, blur, seed)
        sure.append(abs(got.mm - width) / got.unsure_mm)
    assert max(sure) < 2.1, sure
    assert np.mean(np.array(sure) > 0.3) >= 0.5, "not so unsure that it says nothing"


def test_a_blur_that_is_not_known_makes_a_width_less_sure() -> None:
    known, guessed = width_of(0.6, 0.5, 0.35), width_of(0.6, 0.5, 0.35, unsure=0.3)
    assert guessed.unsure_mm > 2 * known.unsure_mm
    assert guessed.mm == pytest.approx(0.6, abs=2 * guessed.unsure_mm)
