"""Lengths as people write them. 1 in = 25.4 mm exactly: international yard and pound agreement, 1959 (ISO 80000-3)."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import PatternError
from geometry.readings import mm_words
from geometry.units import in_system, read_length, said, say_length, tape_words


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("25mm", 25.0),
        ("25 mm", 25.0),
        ("2.5 cm", 25.0),
        ("2,5 cm", 25.0),
        ("12.5", 12.5),
        ("12,5", 12.5),
        ("0,125", 0.125),
        (".5", 0.5),
        ("7", 7.0),
        ("1 m", 1000.0),
        ("1 in", 25.4),
        ("1in.", 25.4),
        ('2"', 50.8),
        ("2″", 50.8),
        ("2''", 50.8),
        ("1 Inch", 25.4),
        ("5/8", 15.875),
        ("5/8 in", 15.875),
        ('5/8"', 15.875),
        ("5 / 8", 15.875),
        ("5⁄8", 15.875),
        ("⅝", 15.875),
        ("1 5/8", 41.275),
        ("1-5/8", 41.275),
        ("1–5/8", 41.275),
        ("1⅝", 41.275),
        ("1 ⅝ in", 41.275),
        ("1-⅝", 41.275),
        ("1 1/2 in", 38.1),
        ("3/2 in", 38.1),
        ("1/2 cm", 5.0),
        ("1 1/2 cm", 15.0),
        ("1 ft 3 in", 381.0),
        ("1'3\"", 381.0),
        ("1 ft. 3 1/2 in.", 393.7),
        ("1 yd", 914.4),
        ("1 yd 1 ft 1 in", 1244.6),
        ("1 m 20 cm", 1200.0),
        ("-6 mm", -6.0),
        ("−1 5/8", -41.275),
        ("+6 mm", 6.0),
        ("0", 0.0),
    ],
)
def test_reads_what_people_write(text: str, mm: float) -> None:
    assert read_length(text).mm == mm
    assert read_length(f"  {text} ").text == text


@pytest.mark.parametrize(
    "text",
    [
        "", "   ", "1,234.5", "1.234,5", "1,234,567", "nan", "NaN mm", "inf", "-inf", "1e3", "1_000", "abc", "mm",
        "in", "/", "5/", "/8", "5/0", "1 5/0", "1.5/2", "1 9/8", "1 8/8", "1 5", "1-5", "5-", "--5", "+-5",
        "1 ft 3", "3 in 1 ft", "1 in 1 in", "1 m 3 in", "25 mm 25", "25 kg", "5.", "12,", "1..2", "1/2/3", "٣ mm",
        "101 m", "9" * 400, "1/" + "9" * 400, "25 mm;", "1 ft - 3 in", "5 . mm",
    ],
)  # fmt: skip
def test_refuses_in_one_sentence(text: str) -> None:
    with pytest.raises(PatternError) as caught:
        read_length(text)
    says = caught.value.says
    assert says.endswith(".") and "\n" not in says and len(says) < 160
    assert not re.search(r"\.”? [A-Z]", says), "one sentence"


def test_a_comma_before_three_figures_is_asked_about() -> None:
    with pytest.raises(PatternError, match=r"can be read in two ways; write 1\.234 or 1234\.$"):
        read_length("1,234")


def test_a_bare_number_is_in_the_current_unit_but_a_bare_fraction_is_inches() -> None:
    assert read_length("2", "cm").mm == 20.0
    assert read_length("2", "in").mm == 50.8
    assert read_length("2,5", "in").mm == 63.5
    for current in ("mm", "cm", "in"):
        assert read_length("1 1/4", current).mm == 31.75


@pytest.mark.parametrize(
    ("mm", "system", "text"),
    [
        (25, "mm", "25 mm"),
        (15.875, "mm", "15.9 mm"),
        (0.313, "mm", "0.31 mm"),
        (-6, "mm", "-6 mm"),
        (-0.001, "mm", "0 mm"),
        (380.874, "mm", "380.9 mm"),
        (25, "cm", "2.5 cm"),
        (381.18, "cm", "38.12 cm"),
        (0.31, "cm", "0.031 cm"),
        (25.4, "in", "1 in"),
        (15.875, "in", "5/8 in"),
        (41.275, "in", "1 5/8 in"),
        (-41.275, "in", "-1 5/8 in"),
        (0.79375, "in", "1/32 in"),
        (15.86, "in", "5/8 in"),
        (25, "in", "0.984 in"),
        (0.01, "in", "0 in"),
        (-0.01, "in", "0 in"),
    ],
)
def test_says_it_as_a_tape_measure_does(mm: float, system: str, text: str) -> None:
    assert say_length(mm, system) == text  # type: ignore[arg-type]


def test_says_what_was_understood() -> None:
    assert said(read_length("5/8")) == "understood as 15.875 mm"
    assert said(read_length("1 1/2 in")) == "understood as 38.1 mm"
    assert said(read_length("25mm")) == "understood as 25 mm"


@given(st.integers(0, 2000), st.sampled_from([2, 4, 8, 16, 32, 64]), st.data())
def test_inch_fractions_are_exact_however_they_are_written(whole: int, bottom: int, data: st.DataObject) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    exact = float((whole + Fraction(top, bottom)) * Fraction(254, 10))
    for written in (f"{whole} {top}/{bottom}", f"{whole}-{top}/{bottom} in", f'{whole}  {top} / {bottom}"'):
        assert read_length(written).mm == exact


@given(st.floats(-2000, 2000), st.sampled_from([("mm", 0.05), ("cm", 0.05), ("in", 0.02)]))
def test_what_is_said_reads_back_as_the_same_length(mm: float, system: tuple[str, float]) -> None:
    unit, half_step = system
    again = read_length(say_length(mm, unit)).mm  # type: ignore[arg-type]
    assert abs(again - mm) <= half_step + 1e-9
    assert say_length(again, unit) == say_length(mm, unit)  # type: ignore[arg-type]


@given(st.decimals(0, 9999, places=3))
def test_point_and_comma_mean_the_same(value: object) -> None:
    tenths = f"{value}"[:-1]
    assert read_length(f"{tenths} mm").mm == read_length(f"{tenths.replace('.', ',')} mm").mm == float(tenths)


@given(st.text(max_size=40))
def test_anything_else_is_a_length_or_one_sentence(text: str) -> None:
    try:
        length = read_length(text)
    except PatternError as error:
        assert error.says.endswith(".")
    else:
        assert abs(length.mm) <= 100_000


@pytest.mark.parametrize(
    ("text", "system", "put"),
    [
        ("takes out 25 mm (crease a fold 12.5 mm deep)", "cm", "takes out 2.5 cm (crease a fold 1.25 cm deep)"),
        ("each edge 6 mm, 24 mm round the body", "cm", "each edge 6 mm, 2.4 cm round the body"),
        ("25.4 mm longer, 3.2 mm allowed", "in", "1 in longer, 1/8 in allowed"),
        ("creases 6.4 mm, 7 mm apart", "in", "creases 1/4 in, 0.276 in apart"),
        ("15.875 mm at “hem 2”", "in", "5/8 in at “hem 2”"),
        ("as fair as 70 and 25.4 mm of edge allow", "in", "as fair as 2.756 in and 1 in of edge allow"),
        ("allowed 0 to 13 mm, note 2 and 3", "cm", "allowed 0 mm to 1.3 cm, note 2 and 3"),
        ("12.3 mm", "mm", "12.3 mm"),
        ("full bust: 15.875 mm on each half", "mm", "full bust: 15.9 mm on each half"),
        ("nothing of 3 mmm or v1.2 mm", "in", "nothing of 3 mmm or v1.2 mm"),
    ],
)
def test_lengths_within_a_sentence_are_put_into_the_tape_in_hand(text: str, system: str, put: str) -> None:
    # An inch is 25.4 mm exactly (international yard and pound agreement, 1959).
    assert in_system(text, system) == put


@pytest.mark.parametrize(
    ("mm", "system", "words"),
    [(6.0, "cm", "6 mm"), (9.96, "cm", "1 cm"), (25.0, "cm", "2.5 cm"), (6.35, "in", "1/4 in")],
)
def test_less_than_a_centimetre_is_said_in_mm(mm: float, system: str, words: str) -> None:
    assert tape_words(mm, system) == words  # common practice, no source


def test_nothing_has_no_sign_in_a_reading() -> None:
    assert [mm_words(length) for length in (-0.02, 0.0, 0.02, -0.1)] == ["0 mm", "0 mm", "0 mm", "-0.1 mm"]
