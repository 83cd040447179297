"""The page of the alterations is what their declarations say today, and its pictures show what they do today."""

from __future__ import annotations

import re

import pytest
import shapely
from svgelements import Path

from geometry.alterations import everything
from tests.alteration_page import PAGE, PICTURES, case_of, page, picture

STEPS = [step / 20 for step in range(21)]
AGAIN = "run python -m tests.alteration_page"


def test_the_page_is_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), f"docs/alterations.md is stale; {AGAIN}"


def test_no_picture_is_left_over() -> None:
    assert {file.stem for file in PICTURES.glob("*.svg")} == {alteration.name for alteration in everything()}, AGAIN


@pytest.mark.parametrize("alteration", everything(), ids=lambda a: a.name)
def test_each_picture_shows_what_is_done_today(alteration) -> None:  # type: ignore[no-untyped-def]
    kept = (PICTURES / f"{alteration.name}.svg").read_text(encoding="utf-8")
    drawn = picture(case_of(alteration))
    before, after = lines_of(kept), lines_of(drawn)
    assert len(before) == len(after), AGAIN
    # Refitted lines may be divided otherwise by other versions of numpy and GEOS; what they show may not differ.
    for one, other in zip(before, after, strict=True):
        assert max(one.hausdorff_distance(other), other.hausdorff_distance(one)) < 0.6, AGAIN


def lines_of(svg: str) -> list[shapely.LineString]:
    """The outlines of a picture as points close together (mm), in the order they are drawn."""
    found = []
    for words in re.findall(r'<path d="([^"]*)"|<polygon points="([^"]*)"', svg):
        path = Path(words[0] or f"M {words[1]} Z")
        found.append(shapely.LineString([(p.x, p.y) for seg in path for p in map(seg.point, STEPS) if p is not None]))
    return found
