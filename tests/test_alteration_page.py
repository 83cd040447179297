"""The page of the alterations is what their declarations say today, and its pictures show what they do today."""

from __future__ import annotations

import re

import pytest

from geometry.alterations import everything
from tests.alteration_page import PAGE, PICTURES, case_of, page, picture

AGAIN = "run python -m tests.alteration_page"


def test_the_page_is_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), f"docs/alterations.md is stale; {AGAIN}"


def test_no_picture_is_left_over() -> None:
    assert {file.stem for file in PICTURES.glob("*.svg")} == {alteration.name for alteration in everything()}, AGAIN


@pytest.mark.parametrize("alteration", everything(), ids=lambda a: a.name)
def test_each_picture_shows_what_is_done_today(alteration) -> None:  # type: ignore[no-untyped-def]
    kept = (PICTURES / f"{alteration.name}.svg").read_text(encoding="utf-8")
    drawn = picture(case_of(alteration))
    number = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
    assert number.sub("#", kept) == number.sub("#", drawn), AGAIN
    pairs = zip(number.findall(kept), number.findall(drawn), strict=True)
    # Other versions of numpy and GEOS may round the last printed place the other way.
    assert max(abs(float(a) - float(b)) for a, b in pairs) <= 0.11, AGAIN
