"""A seam blended between sizes is as fair as the lines it goes between, over all combinations that the tabard has.

What the widths themselves ask for is worked from the published envelope table, misses, by division: a quarter of the
girth with its ease (96, 150 and 76 mm, ours) from the fold to the side at bust, waist and hip.
"""

from __future__ import annotations

from itertools import product

import pytest

from geometry.alterations import find
from geometry.fairness import greatest_curvature, inflections
from geometry.following import take_step
from geometry.lines import Chain
from geometry.nests import piece_in
from geometry.notes import Note, Target
from sample_pieces.draft import tabard

INCH = 25.4
TABARD = tabard()
BODIES = {"10": (32.5, 25, 34.5), "12": (34, 26.5, 36), "14": (36, 28, 38), "16": (38, 30, 40), "18": (40, 32, 42)}
EASE = (96, 150, 76)
WIDTHS = {size: [(g * INCH + ease) / 4 for g, ease in zip(body, EASE, strict=True)] for size, body in BODIES.items()}
#: Where the widths draw the waist in by less than this (mm) they ask for a line of another kind.
DRAWN_IN_MM = 5.0


def side(size: str) -> Chain:
    return piece_in(TABARD, size, "front").edge("front.side").chain


def blended(bust: str, waist: str, hip: str) -> Chain:
    alteration = find("blend_between_sizes")
    amounts = alteration.checked({"bust": bust, "waist": waist, "hip": hip})
    step = take_step(TABARD, Note("note-1", alteration.name, amounts, (Target("front", edge="front.side"),)))
    assert step.done
    return step.after.piece("front").edge("front.side").chain


def drawn_in(bust: str, waist: str, hip: str) -> tuple[float, float]:
    """How far the waist lies further in than the bust, and than the hip (mm)."""
    return WIDTHS[bust][0] - WIDTHS[waist][1], WIDTHS[hip][2] - WIDTHS[waist][1]


@pytest.mark.parametrize("bust", BODIES)
def test_drawn_over_from_size_to_size_it_bends_no_other_way_and_little_more(bust: str) -> None:
    for hip in BODIES:
        line, lines = blended(bust, "drawn over", hip), [side(bust), side(hip)]
        assert inflections(line) <= max(map(inflections, lines)), (bust, hip)
        assert greatest_curvature(line) <= 1.28 * max(map(greatest_curvature, lines)), (bust, hip)


@pytest.mark.parametrize("bust", BODIES)
def test_with_a_size_named_at_the_waist_it_bends_as_much_more_as_the_waist_is_drawn_in(bust: str) -> None:
    other_kind = 0
    for waist, hip in product(BODIES, BODIES):
        line, used = blended(bust, waist, hip), (bust, waist, hip)
        lines = [side(size) for size in used]
        asked = drawn_in(bust, waist, hip)
        if min(asked) < DRAWN_IN_MM:
            other_kind += 1
            continue
        assert inflections(line) <= max(map(inflections, lines)), used
        own = [drawn_in(size, size, size) for size in used]
        deeper = max(1.0, *(mine / max(one[at] for one in own) for at, mine in enumerate(asked)))
        assert greatest_curvature(line) <= 1.3 * deeper * max(map(greatest_curvature, lines)), (used, deeper)
    assert other_kind <= 10, "most combinations are judged"


