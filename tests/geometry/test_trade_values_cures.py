"""What puts openings and allowances right: by the least that helps, worked by hand, and nothing else put out.

Outside: stretch by the table of check values, section 7 (common practice, no source); an inward curve of radius R bears
an allowance of R at most, a hollow w wide half of w: geometry, worked by hand.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from geometry.allowance_acts import LEAST_MM
from geometry.alterations import find
from geometry.closures import Girth, Opening, OpeningKind
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.getting_in import opening_for
from geometry.notes import Note, Target
from geometry.pieces import Cloth
from geometry.pipeline import draft
from geometry.remedies import Proposal, propose
from geometry.rings import RingKind
from sample_pieces.draft import funnel_neck, skirt, trousers, undershirt
from tests.geometry.test_allowances import polygon, rounded_v
from tests.geometry.test_rings import cuffed, only, top

SHIRT = undershirt()


def note(number: int, name: str, *targets: Target, **values: Any) -> Note:
    return Note(f"note-{number}", name, find(name).checked(values), targets)


def cured(garment: Garment, code: str, notes: tuple[Note, ...] = ()) -> tuple[Finding, Proposal | None, Any]:
    """The finding, what puts it right, and the draft with it."""
    finding = next(one for one in draft(garment, notes).findings if one.code == code)
    found = propose(garment, notes, finding, len(notes))
    return finding, found, draft(garment, (*notes, *(found.notes if found else ())))


def amount(found: Proposal, field: str = "amount") -> float:
    return float(getattr(found.notes[0].amounts, field))


# -- openings ------------------------------------------------------------------------------------------------------


def test_a_neck_is_lowered_by_just_what_lets_the_head_through() -> None:
    # At 60 % the head's 580 + 10 want 368.75 mm of neck; the back has 61 on the half, so the front's line from
    # (60, 500) to the centre must be 123.375: sqrt(123.375^2 - 60^2) = 107.80 deep, where it was 80.
    shirt = top(knit=True, stretch={Cloth.SELF: 60.0}, girths={Girth.HEAD: 580.0})
    finding, found, after = cured(shirt, "too-tight")
    assert "74.8 mm too tight" in finding.says and found is not None
    assert [one.alteration for one in found.notes] == ["raise_or_lower_neckline"]
    assert amount(found) == math.ceil(math.sqrt(123.375**2 - 60**2) - 80) == 28.0
    assert found.before == pytest.approx(590 - 322 * 1.6) and found.after == 0.0
    assert only(after.redrawn).passes and not [one for one in after.findings if one.code == "too-tight"]


@pytest.mark.parametrize("percent", [45.0, 40.0, 30.0])
def test_a_band_is_recut_with_the_neckline_and_a_millimetre_less_is_too_tight(percent: float) -> None:
    shirt = replace(SHIRT, stretch={Cloth.SELF: percent})
    _, found, after = cured(shirt, "too-tight")
    assert found is not None
    assert [one.alteration for one in found.notes] == ["raise_or_lower_neckline", "recut_a_band"]
    assert only(after.redrawn).passes and only(after.redrawn).rest_mm * (1 + percent / 100) >= 580.0
    assert after.findings == ()
    less = replace(found.notes[0], amounts=replace(found.notes[0].amounts, amount=amount(found) - 1.0))
    assert not only(draft(shirt, (less, *found.notes[1:])).redrawn).passes


def test_a_wrist_is_made_wider_by_what_the_hand_lacks() -> None:
    # 322 mm give 483 at 50 %; a girth of 520 wants 346.67: 24.67 more, in whole millimetres 25.
    finding, found, after = cured(replace(SHIRT, girths={**SHIRT.girths, Girth.HAND: 520.0}), "too-tight")
    assert "37 mm too tight" in finding.says and found is not None
    assert (found.notes[0].alteration, amount(found, "wrist")) == ("elbow_and_wrist", 25.0)
    assert only(after.redrawn, RingKind.WRIST).passes and after.findings == ()


def test_a_cuff_that_is_tighter_than_its_wrist_is_recut_where_its_seam_allows_it() -> None:
    # A cuff of 225 on a wrist of 230: as it is sewn on with no ease, cut to the wrist it lets the hand of 230 in.
    _, found, after = cured(cuffed(230.0, 225.0), "too-tight")
    assert found is not None
    assert (found.notes[0].alteration, amount(found)) == ("recut_a_band", 5.0)
    assert only(after.redrawn, RingKind.WRIST).passes


@pytest.mark.parametrize("make", [skirt, trousers])
def test_a_waist_is_made_larger_by_what_the_hip_lacks_and_its_band_with_it(make: Any) -> None:
    # The zip of 200 (180) mm gives both its sides; 21.4 mm more are wanted, or 10.7 mm more of zip.
    garment = make()
    ring = only(garment, RingKind.WAIST)
    finding, found, after = cured(replace(garment, girths={Girth.HIP: ring.opens_mm + 21.4}), "too-tight")
    assert "21.4 mm too tight" in finding.says and f"at least {ring.slit_mm / 2 + 15:g} mm" in finding.says
    assert found is not None and [one.alteration for one in found.notes] == ["waist_size", "recut_a_band"]
    assert 21.4 <= amount(found) <= 23.0 and only(after.redrawn, RingKind.WAIST).passes and after.findings == ()
    less = replace(found.notes[0], amounts=replace(found.notes[0].amounts, amount=amount(found) - 1.0))
    again = draft(after.garment, (less, *found.notes[1:])).redrawn
    assert not only(again, RingKind.WAIST).passes


@pytest.mark.parametrize(("make", "least"), [(skirt, 110.0), (trousers, 110.0)])
def test_where_only_an_opening_helps_nothing_is_proposed_and_its_length_is_said(make: Any, least: float) -> None:
    # 29 in and 12 mm eased in are 748.6; the hip of 965.2 wants 216.6 more, an opening of 108.3 gives both its sides.
    shut = replace(make(), openings=())
    finding, found, _ = cured(shut, "too-tight")
    assert found is None and f"Open it for at least {least:g} mm" in finding.says
    assert opening_for(216.6) == least and opening_for(10.0) == 5.0 and opening_for(10.2) == 10.0
    opening = replace(make().openings[0], length=least, notch=None)
    assert only(replace(shut, openings=(opening,)), RingKind.WAIST).passes


def test_a_neck_whose_facing_is_grown_on_is_left_to_an_opening() -> None:
    finding, found, _ = cured(replace(funnel_neck(), stretch={Cloth.SELF: 20.0}), "too-tight")
    assert found is None and "109.6 mm too tight" in finding.says and "open it for at least 55 mm" in finding.says


def test_a_neck_far_too_tight_in_a_woven_cloth_is_left_to_an_opening() -> None:
    finding, found, _ = cured(top(back_seam=True, girths={Girth.HEAD: 580.0}), "too-tight")
    assert found is None and "open it for at least 135 mm" in finding.says
    zip_ = Opening("zip", "zip", OpeningKind.ZIP, "back", "back.centre", "start", length=135.0)
    assert only(top(back_seam=True, girths={Girth.HEAD: 580.0}, openings=(zip_,))).passes


# -- allowances ----------------------------------------------------------------------------------------------------


def test_a_tight_curve_bears_its_own_radius() -> None:
    # A point rounded to 10 mm inside the piece: an allowance of 10 mm runs to the centre of the curve.
    vee = rounded_v(10.0)
    wide = Garment("vee", "Vee", (vee.with_edge(replace(vee.edge("v"), width=15.0)),))
    finding, found, after = cured(wide, "allowance-tight")
    assert finding.edges == ("v",) and found is not None
    assert amount(found, "width") in (9.5, 10.0) and found.before == 15.0 - amount(found, "width")
    assert after.findings == ()


def slit(half: float) -> Garment:
    """A piece with an upright slit, twice ``half`` mm wide, cut 15 mm outside all along."""
    left, right = 50 - half, 50 + half
    corners = [(0, 0), (100, 0), (100, 150), (right, 150), (right, 50), (left, 50), (left, 150), (0, 150)]
    shape = polygon(corners)
    for side in shape.edges:
        shape = shape.with_edge(replace(shape.edge(side.id), width=15.0))
    return Garment("slit", "Slit", (shape,))


def test_the_two_sides_of_a_slit_share_its_width() -> None:
    # A slit 20 mm wide bears 10 mm on either side, where they meet; in steps of half a millimetre 9.5 lie apart.
    finding, found, after = cured(slit(10.0), "allowance-too-wide")
    assert found is not None and amount(found, "width") == 9.5 and found.before == 5.5
    assert "Cut “d” and “f” of “poly” with an allowance of 9.5 mm" in found.says
    assert [target.edge for target in found.notes[0].targets] == ["d", "f"]
    assert set(finding.edges) >= {"d", "f"} and after.findings == ()


def test_what_bears_less_than_a_seam_needs_is_left() -> None:
    finding, found, _ = cured(slit(2.0), "allowance-too-wide")
    assert found is None and LEAST_MM == 3.0 and "Make it narrower" in finding.says


def test_two_allowances_are_cut_alike_as_the_one_that_a_note_changed() -> None:
    wide = note(1, "allowance_width", Target("front", edge="front.side"), width=25.0)
    finding, found, after = cured(SHIRT, "allowance-differs", (wide,))
    assert "25 mm allowance on “Front” and 6 mm on “Back”" in finding.says and found is not None
    assert found.notes[0].targets == (Target("back", edge="back.side"),) and amount(found, "width") == 25.0
    assert found.before == 19.0 and after.findings == ()


def test_where_the_wider_does_not_lie_flat_both_are_cut_as_the_narrower() -> None:
    # 80 mm round a cap would be trimmed to points; the 6 mm that it has do for both.
    wide = note(1, "allowance_width", Target("front", edge="front.armhole"), width=80.0)
    _, found, after = cured(SHIRT, "allowance-differs", (wide,))
    assert found is not None and found.notes[0].targets == (Target("front", edge="front.armhole"),)
    assert amount(found, "width") == 6.0 and after.findings == ()
