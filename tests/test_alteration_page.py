"""The page of the alterations is what their declarations say today, and its pictures show what they do today."""

from __future__ import annotations

import ast
import re

import pytest
import shapely
from svgelements import Path

from geometry.alterations import everything
from tests.alteration_list import ITEMS, Item
from tests.alteration_page import PAGE, PICTURES, ROOT, page, picture, picture_name, pictured

STEPS = [step / 20 for step in range(21)]
AGAIN = "run python -m tests.alteration_page"


def test_the_page_is_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), f"docs/alterations.md is stale; {AGAIN}"


def test_no_picture_is_left_over() -> None:
    assert {file.stem for file in PICTURES.glob("*.svg")} == set(pictured()), AGAIN


def test_every_alteration_stands_on_the_list() -> None:
    listed = {item.alteration for item in ITEMS}
    assert listed == {alteration.name for alteration in everything()}, "give it its rows in tests/alteration_list.py"


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.words)
def test_each_item_has_a_picture_and_an_outside_check_that_exists(item: Item) -> None:
    assert (PICTURES / f"{picture_name(item.case)}.svg").is_file(), AGAIN
    tests = functions_of(item.file)
    assert item.test in tests, f"{item.file} holds no test {item.test}"
    # The source stands beside the expected values.
    assert "#" in tests[item.test], f"{item.test} names no source"


def functions_of(file: str) -> dict[str, str]:
    """The functions of a file with their text."""
    text = (ROOT / file).read_text(encoding="utf-8")
    functions = [node for node in ast.parse(text).body if isinstance(node, ast.FunctionDef)]
    return {node.name: ast.get_source_segment(text, node) or "" for node in functions}


@pytest.mark.parametrize("alteration", everything(), ids=lambda a: a.name)
def test_each_alteration_says_how_when_and_from_where(alteration) -> None:  # type: ignore[no-untyped-def]
    for part in ("When: ", "By hand", "Source: "):
        assert part in alteration.describes


@pytest.mark.parametrize("name", pictured())
def test_each_picture_shows_what_is_done_today(name: str) -> None:
    kept = (PICTURES / f"{name}.svg").read_text(encoding="utf-8")
    drawn = picture(pictured()[name])
    if kept == drawn:
        return
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
