"""Picking a size: the rule of the high bust, the nearest size, ease, and what the cloth must stretch.

Outside values: “size by high bust when the full bust is 2 in or more above it”, Texas AgriLife Extension E-372; bust,
waist and hip of the sizes, published envelope table for misses; stretch 4 in to 5 in is 25 %, common practice.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.nests import in_every_size, in_size
from geometry.size_tables import Girths, SizeTable
from geometry.sizing import BUST, HIGH_BUST, HIP, WAIST, Body, girth_at, picked, sized_by
from sample_pieces.draft import skirt, tabard, waistcoat
from sample_pieces.drafting.tabard import TABLE
from tests.canon import bodice

TABARD = tabard()
INCH = 25.4


def body(high_bust: float | None = None, bust: float | None = None, waist: float | None = None,
         hip: float | None = None) -> Body:  # fmt: skip
    """A body in inches."""
    inches = [None if girth is None else girth * INCH for girth in (bust, waist, hip, high_bust)]
    return Body(Girths(*inches[:3]), inches[3])


@pytest.mark.parametrize(
    ("high", "full", "by"),
    [(34.0, 36.0, HIGH_BUST), (34.0, 37.5, HIGH_BUST), (34.0, 35.9, BUST), (34.0, None, HIGH_BUST), (None, 36.0, BUST)],
)
def test_the_high_bust_counts_from_2_in_on(high: float | None, full: float | None, by: str) -> None:
    assert sized_by(body(high, full)) == by


@pytest.mark.parametrize("size", list(TABLE))
def test_a_body_of_the_table_gets_its_own_size_everywhere(size: str) -> None:
    found = picked(TABARD, body(None, *TABLE[size]))
    assert dict(found.at) == {BUST: size, WAIST: size, HIP: size} and not found.findings
    assert [round(found.ease(size, level).ease, 1) for level in (BUST, WAIST, HIP)] == [96.0, 150.0, 76.0]  # type: ignore[union-attr]


def test_a_full_bust_is_sized_by_the_high_bust_and_the_rest_is_a_full_bust() -> None:
    """High bust 34, full bust 36 1/2: size 12 (34), not 14; 2 1/2 in fuller. A bust change of 2 in in all is 1 in on
    the half front (by division)."""
    found = picked(TABARD, body(34.0, 36.5, 26.5, 40.0))
    assert found.by == HIGH_BUST and dict(found.at) == {BUST: "12", WAIST: "12", HIP: "16"}
    assert found.fuller == pytest.approx(2.5 * INCH)
    assert found.ease("12", BUST).ease == pytest.approx(96.0 - 2.5 * INCH, abs=0.05)  # type: ignore[union-attr]


def test_midway_a_woven_goes_up_and_a_knit_down() -> None:
    knit = in_every_size(TABARD, lambda one: replace(one, knit=True))
    assert picked(TABARD, body(bust=35.0)).at[BUST] == "14"
    assert picked(knit, body(bust=35.0)).at[BUST] == "12"
    assert picked(TABARD, body(bust=35.0), stretch=0.4).at[BUST] == "12"


def test_negative_ease_asks_for_stretch() -> None:
    """A garment of 4 units round a body of 5 must stretch by 25 %: 4 in -> 5 in, common practice."""
    girth = girth_at(TABARD, BUST)
    assert girth is not None
    wide = Body(Girths(bust=girth * 1.25))
    table = SizeTable("ours", MappingProxyType({size: Girths(bust=girth * 1.25) for size in TABLE}))
    woven = in_every_size(TABARD, lambda one: replace(one, size_table=table))
    knit = in_every_size(woven, lambda one: replace(one, knit=True))
    says = [finding.says for finding in picked(in_size(knit, "14"), wide).findings]
    assert len(says) == 1 and "must stretch by" in says[0]
    ease = next(one for one in picked(woven, wide).eases if one.size == "14")
    assert ease.stretch_needed == pytest.approx(0.25)
    (finding,) = picked(woven, wide).findings
    assert finding.code == "stretch-too-little" and "the cloth does not stretch" in finding.says
    (finding,) = picked(knit, wide, stretch=0.1).findings
    assert finding.code == "stretch-too-little" and "the cloth stretches by 10 %" in finding.says
    assert not picked(knit, wide, stretch=0.6).findings


def test_a_body_beyond_the_table_is_said() -> None:
    (finding,) = picked(TABARD, body(hip=44.0)).findings[:1]
    assert finding.code == "size-beyond-table" and "larger than any size of the table is for by 50.8 mm" in finding.says
    (finding,) = picked(TABARD, body(waist=20.0)).findings[:1]
    assert "smaller" in finding.says
    assert all(one.code != "size-beyond-table" for one in picked(TABARD, body(hip=42.5)).findings)


def test_girths_leave_darts_and_laps_out() -> None:
    """The drafts' own girths: body plus ease (skirt 38 + 2 in at the hip, waistcoat 36 in + 88.9 mm at the bust)."""
    assert girth_at(skirt(), HIP) == pytest.approx((38 + 2) * INCH, abs=0.5)
    bust = girth_at(waistcoat(), BUST)
    assert bust == pytest.approx(36 * INCH + 88.9, abs=12.0), "the dart's mouth at the side lies off the bust line"
    assert girth_at(bodice(), HIP) is None


def test_without_a_table_or_a_girth_it_is_said() -> None:
    with pytest.raises(PatternError, match="no table that says what body"):
        picked(bodice(), body(bust=36.0))
    with pytest.raises(PatternError, match="at least one girth"):
        picked(TABARD, body())
    with pytest.raises(PatternError, match="names its source"):
        SizeTable(" ")
    with pytest.raises(PatternError, match="no body's"):
        Girths(bust=float("nan"))


@given(st.floats(30, 44), st.floats(22, 34), st.floats(32, 46))
def test_no_other_size_is_nearer(bust: float, waist: float, hip: float) -> None:
    found = picked(TABARD, body(None, bust, waist, hip))
    for column, (level, girth) in enumerate(((BUST, bust), (WAIST, waist), (HIP, hip))):
        nearest = min(abs(row[column] - girth) for row in TABLE.values())
        assert abs(TABLE[found.at[level]][column] - girth) <= nearest + 0.003
    for one in found.eases:
        assert one.ease == pytest.approx(one.garment - one.body) and (one.stretch_needed > 0) == (one.ease < 0)


def test_a_garment_by_itself_is_a_nest_of_one() -> None:
    alone = Garment("one", "One", TABARD.pieces, size="14", size_table=TABARD.size_table)
    assert picked(alone, body(bust=40.0)).at == {BUST: "14"}
