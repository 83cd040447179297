"""A band is recut when the edge changes that it is sewn to: multiplication, worked by hand.

What is done to one piece at a level is done to every piece joined to it there (The Dressmaker, c. 1911-16, "Use of
patterns").
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from geometry.alterations import find
from geometry.following import take_step
from geometry.garments import EdgeRef, Garment, Match, Seam, Stretch, StretchKind
from geometry.lines import chain, straight
from geometry.notes import Address, Note, Target
from geometry.pieces import EdgeKind, Finish, Notch, Piece, Place
from geometry.pipeline import Draft, draft
from geometry.sameness import same
from geometry.stages import Offer
from sample_pieces.draft import skirt, undershirt
from tests.canon import edge, piece
from tests.truing_cases import neckband


def note(number: int, name: str, *targets: Target | str, **values: Any) -> Note:
    made = tuple(Target(one) if isinstance(one, str) else one for one in targets)
    return Note(f"note-{number}", name, find(name).checked(values), made)


def taken(number: int, offer: Offer) -> Note:
    return Note(f"note-{number}", offer.alteration, offer.amounts, offer.targets)


def offers(drafted: Draft, step: int = -1) -> list[Offer]:
    return [one for one in drafted.followed.steps[step].offers if one.alteration == "recut_a_band"]


def banded(*stretches: Stretch, half: float = 340.0) -> Garment:
    """A front whose half neckline, level for the sum's sake, is 400 mm long; a notch in the middle of it."""
    body = piece(
        "front",
        edge("hem", EdgeKind.HEM, straight((0, 0), (400, 0)), finish=Finish.HEM_ONCE),
        edge("side", EdgeKind.SIDE, straight((400, 0), (400, 300))),
        edge("neck", EdgeKind.NECKLINE, straight((400, 300), (0, 300))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 300), (0, 0)), finish=Finish.FOLD),
        notches=(Notch("neck.notch", "front notch", Place("neck", 0, 0.5)),),
    )
    band = neckband(half)
    outer, inner = Notch("outer.notch", "n", Place("outer", 0, 0.5)), Notch("inner.notch", "n", Place("inner", 0, 0.5))
    band = replace(band, notches=(outer, inner))
    match = Match("front notch", "front", "neck.notch", "band", "outer.notch")
    seam = Seam("neck", "neck", (EdgeRef("front", "neck", True),), (EdgeRef("band", "outer"),), stretches, (match,))
    return Garment("banded", "banded", (body, band), (seam,))


ON = Stretch(StretchKind.STRETCHED, ratio=0.85)


def longer(amount: float = 20.0) -> Note:
    """The front slashed from hem to neckline between its notch and the side, so that its neckline gains the amount."""
    across = (Address("hem", "start", length=300.0), Address("neck", "start", length=100.0))
    way = "spread" if amount > 0 else "overlap"
    return note(1, "slash_and_spread", Target("front", across=across), way=way, amount=abs(amount))


@pytest.mark.parametrize(("gained", "band"), [(20.0, 357.0), (-20.0, 323.0), (60.0, 391.0)])
def test_a_band_is_its_edge_times_the_ratio_and_its_notches_meet(gained: float, band: float) -> None:
    # 420 x 0.85 = 357, 380 x 0.85 = 323, 460 x 0.85 = 391; the notch stays at 200 x 0.85 = 170: multiplication.
    garment = banded(ON, ON)
    first = longer(gained)
    (offer,) = offers(draft(garment, (first,)))
    assert f"340 mm becomes {band:g} mm" in offer.says
    drafted = draft(garment, (first, taken(2, offer)))
    new = drafted.redrawn.piece("band")
    assert new.edge("outer").length == pytest.approx(band, abs=1e-6)
    assert new.edge("inner").length == pytest.approx(band, abs=1e-6)
    assert [n.place.edge for n in new.notches] == ["outer", "inner"]
    for notch in new.notches:
        fold = new.edge("fold").chain
        assert fold.nearest(new.point_at(notch.place))[1] == pytest.approx(170.0, abs=1e-6)
    assert new.edge("fold").length == 40.0 and new.edge("end").length == pytest.approx(40.0, abs=1e-9)
    assert offers(drafted) == [] and [walk.verdict for walk in drafted.after] == ["true"]
    reading = drafted.followed.steps[1].readings[0]
    assert f"goes from 340 mm to {band:g} mm, in all from 680 mm to {2 * band:g} mm" in reading


def test_a_band_that_was_recut_follows_the_note_before_it_and_is_asked_again_by_one_after_it() -> None:
    garment = banded(ON, ON)
    recut = taken(2, offers(draft(garment, (longer(),)))[0])
    dialled = draft(garment, (longer(40.0), recut))
    # 440 x 0.85: multiplication.
    assert dialled.redrawn.piece("band").edge("outer").length == pytest.approx(374.0, abs=1e-6)
    assert offers(dialled, 0) == []
    more = replace(longer(10.0), id="note-3")
    (again,) = offers(draft(garment, (longer(), recut, more)))
    # 430 x 0.85: multiplication.
    assert "357 mm becomes 365.5 mm" in again.says
    assert same(take_step(dialled.followed.garment, recut).after, dialled.followed.garment, 0.0)


def test_a_band_is_never_changed_unasked_and_a_note_switched_off_is_not_offered_again() -> None:
    garment = banded(ON, ON)
    alone = draft(garment, (longer(),))
    assert alone.redrawn.piece("band") is garment.piece("band") and len(offers(alone)) == 1
    off = replace(taken(2, offers(alone)[0]), on=False)
    assert offers(draft(garment, (longer(), off)), 0) == []
    assert offers(draft(garment, (note(1, "hem", "front", centre=10.0, side=10.0),))) == []


def test_the_shoulder_notch_of_a_band_stays_at_the_shoulder_seam() -> None:
    # The notch has no mate: the shoulder seam ends there. 0.86 of the front neckline from the fold: multiplication.
    garment = undershirt()
    lower = note(1, "raise_or_lower_neckline", "front", way="lower", amount=30.0)
    drafted = draft(garment, (lower, taken(2, offers(draft(garment, (lower,)))[0])))
    for made in (garment, drafted.redrawn):
        band = made.piece("neckband")
        shoulder = next(band.point_at(n.place) for n in band.notches if n.id == "neckband.outer.shoulder")
        neck = made.edge(EdgeRef("front", "front.neck")).length
        assert band.edge("neckband.fold").chain.nearest(shoulder)[1] == pytest.approx(0.86 * neck, abs=1e-3)
    assert all(walk.verdict in ("true", "ease") for walk in drafted.after)


def test_a_band_eased_on_keeps_its_ease_and_is_asked_only_where_that_no_longer_does() -> None:
    # 400 eased by 3 into a band of 397, 0 to 12 allowed. 9 is within: nothing is asked. 420 - 3: subtraction.
    eased = banded(Stretch(StretchKind.EASED, -12.0, 0.0), half=397.0)
    assert offers(draft(eased, (longer(6.0),))) == []
    drafted = draft(eased, (longer(), taken(2, offers(draft(eased, (longer(),)))[0])))
    assert drafted.redrawn.piece("band").edge("outer").length == pytest.approx(417.0, abs=1e-6)


def test_a_waistband_keeps_its_side_notch_at_the_side_seam() -> None:
    # 25.4 mm over 4 side edges is 6.35 mm on each half piece: Robinson, ch. 17, and division.
    garment = skirt()
    larger = note(1, "waist_size", "front", "back", amount=25.4)
    (offer,) = offers(draft(garment, (larger,)))
    after = draft(garment, (larger, taken(2, offer))).redrawn.piece("waistband")
    moved = []
    for one in (garment.piece("waistband"), after):
        at = next(one.point_at(n.place) for n in one.notches if n.id == "waistband.waist.side")
        moved.append(one.edge("waistband.fold").chain.nearest(at)[1])
    assert moved[1] - moved[0] == pytest.approx(6.35, abs=0.5)


def curved() -> Piece:
    return piece(
        "band",
        edge("outer", EdgeKind.BAND, chain([((0, 0), (100, -30), (240, -30), (340, 0))])),
        edge("end", EdgeKind.CENTRE_BACK, straight((340, 0), (340, 40))),
        edge("inner", EdgeKind.BAND, chain([((340, 40), (240, 10), (100, 10), (0, 40))])),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 40), (0, 0)), finish=Finish.FOLD),
    )


def test_what_cannot_be_recut_is_said() -> None:
    garment = banded(ON, ON)
    recut = note(1, "recut_a_band", "front")
    says = take_step(garment, recut).findings[0].says
    assert "“front” is no band that is sewn to another piece" in says
    seam = replace(garment.seams[0], matches=(), stretches=(ON,))
    bent = Garment("bent", "bent", (garment.piece("front"), curved()), (seam,))
    assert offers(draft(bent, (longer(),))) == []
    says = draft(bent, (longer(), note(2, "recut_a_band", "band"))).followed.steps[1].findings[0].says
    assert "“band” is no straight strip beside its outer" in says
    tight = note(1, "recut_a_band", "band", amount=339.0, way="shorter", than="it is")
    step = take_step(garment, tight)
    assert not step.done and "is too much to take out of “band”" in step.findings[0].says
    assert "The largest amount that fits is 335.5 mm" in step.findings[0].says
