"""The window's colours reach the contrasts that text and lines need."""

from __future__ import annotations

from dataclasses import fields

import pytest

from app.window.palette import DARK, LIGHT, TEXT_CONTRAST, Palette, contrast, pairs

#: Colours that carry nothing by themselves: the grid of the mat, hairlines round what has another sign.
_DECORATION = {"name", "hairline", "mat_grid", "mat_grid_strong"}


@pytest.mark.parametrize(("one", "other", "ratio"), [("#000000", "#ffffff", 21.0), ("#777777", "#777777", 1.0)])
def test_contrast_is_that_of_the_guidelines(one: str, other: str, ratio: float) -> None:
    # WCAG 2.2, definition of contrast ratio: black on white is 21:1, a colour on itself 1:1.
    assert contrast(one, other) == pytest.approx(ratio)
    assert contrast(other, one) == pytest.approx(ratio)


def test_the_palest_grey_that_may_carry_text_on_white_is_76() -> None:
    # 0x76 is the last grey that reaches 4.5:1 on white, by the formula of WCAG 2.2, 1.4.3.
    assert contrast("#767676", "#ffffff") >= TEXT_CONTRAST > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=lambda p: p.name)
def test_every_pair_reaches_its_contrast(palette: Palette) -> None:
    poor = [
        f"{one} on {other}: {contrast(getattr(palette, one), getattr(palette, other)):.2f} < {least}"
        for one, other, least in pairs(palette)
        if contrast(getattr(palette, one), getattr(palette, other)) < least
    ]
    assert not poor


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=lambda p: p.name)
def test_no_colour_goes_unchecked(palette: Palette) -> None:
    checked = {name for one, other, _ in pairs(palette) for name in (one, other)}
    assert {field.name for field in fields(palette)} - checked == _DECORATION


def test_paper_is_light_in_both() -> None:
    assert LIGHT.paper == DARK.paper
    assert contrast(DARK.paper, "#000000") > 18
