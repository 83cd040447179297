"""What the printed square measures, against the values worked out for fitted and shrunk pages (check values 9)."""

from __future__ import annotations

import pytest

from geometry.errors import PatternError
from geometry.papers import A4, BOTH, LETTER, Paper
from geometry.print_scale import NONE, Correction, causes, is_true, known


@pytest.mark.parametrize(
    ("paper", "reading", "says"),
    [
        (A4, 94.1, "fitted to Letter"),
        (LETTER, 97.3, "fitted to A4"),
        (A4, 97.1, "margins of 3 mm on A4"),
        (A4, 96.2, "margins of 4 mm on A4"),
        (A4, 94.0, "margins of 6.35 mm on A4"),
        (LETTER, 97.2, "margins of 3 mm on Letter"),
        (LETTER, 96.3, "margins of 4 mm on Letter"),
        (LETTER, 94.1, "margins of 6.35 mm on Letter"),
    ],
)
def test_causes_of_wrong_size(paper: Paper, reading: float, says: str) -> None:
    """100 mm measures so when a page for one paper is fitted to another or shrunk to margins; by hand: 279.4/297 =
    94.07 %, 210/215.9 = 97.27 %, (210 - 6)/210 = 97.14 %, (210 - 12.7)/210 = 93.95 %."""
    found = causes(paper, reading, reading)
    assert any(says in cause.says for cause in found)
    assert all(abs(cause.measures_mm - reading) <= 0.5 for cause in found)


def test_every_cause_within_half_a_millimetre_is_named() -> None:
    """94.0 mm on pages for A4: fitted to Letter (94.07) and shrunk to 6.35 mm on A4 (93.95) cannot be told apart."""
    found = causes(A4, 94.0, 94.0)
    assert {cause.loaded.name for cause in found} >= {"Letter", "A4"}
    named = {cause.says for cause in found}
    assert named == {c.says for c in known(A4) if abs(c.measures_mm - 94.0) <= 0.5}


def test_four_inches_count_as_well() -> None:
    """4 in is 101.6 mm; fitted to Letter it measures 101.6 x 0.9407 = 95.58 mm."""
    assert any("Letter" in cause.says for cause in causes(A4, 95.58, 95.58, 101.6))


def test_true_and_unexplained() -> None:
    assert is_true(100.4, 99.6) and causes(A4, 100.0, 100.0) == ()
    assert not is_true(99.0, 99.0) and causes(A4, 99.0, 99.2) == ()
    assert causes(A4, 94.0, 100.0) == (), "one way only is no fitting"


def test_pages_for_both_papers_are_fitted_upwards() -> None:
    """Fitted to A4 they stay as wide (210 mm): no cause; fitted to Letter as high: none either."""
    assert not [cause for cause in known(BOTH) if "fitted to A4" in cause.says or "fitted to Letter" in cause.says]


def test_a_correction_is_the_inverse_and_only_within_two_percent() -> None:
    assert Correction(99.0, 101.0).scale == pytest.approx((1 / 0.99, 1 / 1.01))
    assert NONE.says == "" and "101.01 % across" in Correction(99.0, 100.0).says
    for side in (97.9, 102.1, float("nan")):
        with pytest.raises(PatternError, match="98 to 102"):
            Correction(side, 100.0)


def test_pages_that_fit_both_lie_on_one_of_the_two() -> None:
    """No tray holds “A4 and Letter”: pages of 210 x 279.4 mm lie on A4, Letter or Legal."""
    assert {cause.loaded.name for cause in known(BOTH)} <= {"A4", "Letter", "Legal"}
    assert all(cause.loaded != BOTH for paper in (A4, LETTER) for cause in known(paper))
