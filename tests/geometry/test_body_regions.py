"""Which pieces a region of the body covers, and which are asked because they are sewn to it there.

Outside: what is done to one piece at a level is done to every piece joined to it there, facings and linings included
(The Dressmaker, c. 1911-16, "Use of patterns"); the pieces of each garment were listed by hand.
"""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from typing import Any

import pytest

from app import note_options
from geometry.alterations import find
from geometry.body_regions import REGIONS, covered
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.notes import Note, Target
from sample_pieces.draft import skirt, trousers, undershirt, waistcoat

SHIRT, VEST, SKIRT, TROUSERS = undershirt(), waistcoat(), skirt(), trousers()


def pieces(garment: Garment, region: str) -> tuple[list[str], list[str]]:
    found = covered(garment, region)
    return [one.piece for one in found if not one.asked], [one.piece for one in found if one.asked]


@pytest.mark.parametrize(
    ("garment", "region", "have", "asked"),
    [
        (SHIRT, "armhole", ["front", "back"], ["sleeve"]),
        (SHIRT, "neckline", ["front", "back"], ["neckband"]),
        (SHIRT, "sleeve", ["sleeve"], ["front", "back"]),
        (SHIRT, "bust", ["front", "back"], []),
        (SHIRT, "wrist", [], []),
        (VEST, "armhole", ["front", "back"], []),
        (VEST, "neckline", ["front", "back", "front_facing", "back_facing"], []),
        (VEST, "shoulder", ["front", "back", "front_facing", "back_facing"], []),
        (SKIRT, "waist", ["front", "back"], ["waistband"]),
        (SKIRT, "hip", ["front", "back"], []),
        (TROUSERS, "crotch", ["front", "back"], []),
        (SKIRT, "crotch", [], []),
        (SHIRT, "elbow joint", [], []),
        (SHIRT, "length", ["front", "back"], []),
        (VEST, "length", ["front", "back", "front_facing"], []),
        (SHIRT, "upper arm", ["sleeve"], ["front", "back"]),
        (SKIRT, "width", ["front", "back"], []),
        (SHIRT, "bust and chest", ["front"], []),
        (SKIRT, "bust and chest", [], []),
        (TROUSERS, "waist and seat", ["front", "back"], []),
        (SKIRT, "seat", ["back"], []),
        # The back crotch of trousers is the longer one: common practice, no source.
        (TROUSERS, "seat", ["back"], []),
        (SKIRT, "band", ["waistband"], []),
    ],
)
def test_a_region_covers_the_pieces_that_have_it_and_asks_for_those_sewn_there(
    garment: Garment, region: str, have: list[str], asked: list[str]
) -> None:
    assert pieces(garment, region) == (have, asked)
    assert region in REGIONS or not have


def test_the_bust_taken_in_asks_for_a_back_without_a_bust_line() -> None:
    back = SHIRT.piece("back")
    bare = SHIRT.with_piece(replace(back, lines=tuple(line for line in back.lines if line.kind != "bust line")))
    assert pieces(bare, "bust") == (["front"], ["back"])
    assert covered(bare, "bust")[1].why == "its side seam is sewn to the side seam of “Front”"


def test_why_a_piece_is_covered_is_said() -> None:
    why = {one.piece: one.why for one in (*covered(VEST, "neckline"), *covered(SHIRT, "armhole"))}
    assert why["front_facing"] == "its neckline copies the neckline of “Front”"
    assert why["sleeve"] == "its sleeve cap is sewn to the armhole of “Front”"
    assert why["front"] == "its armhole"


def options(**given: Any) -> Namespace:
    names = ("on", "across", "own_line", "own_amount", "blend_share", "blend_before", "blend_after", "remark")
    return Namespace(**{name: given.get(name) for name in names})


def test_a_note_without_pieces_is_done_to_its_region() -> None:
    low = find("armhole_too_low")
    note = note_options.new_note(SHIRT, "note-1", low, options())
    assert note.targets == (Target("front"), Target("back"))
    offered = low.do(SHIRT, note.amounts, note.targets, "note-1").offers
    assert any(offer.targets == (Target("sleeve"),) for offer in offered)
    says = note_options.of_region(SHIRT, low, "armhole", note.amounts)[1]
    assert says[0] == "done to “Front”: its armhole" and says[-1].startswith("asks for “Sleeve”: its sleeve cap")


def test_a_region_may_stand_for_its_pieces_and_one_that_fits_nothing_is_refused() -> None:
    low = find("armhole_too_low")
    assert note_options.new_note(SHIRT, "n", low, options(on=["armhole,sleeve"])).targets == (
        Target("front"),
        Target("back"),
        Target("sleeve"),
    )
    with pytest.raises(PatternError, match="fits no piece that has the crotch"):
        note_options.new_note(SHIRT, "n", low, options(on=["crotch"]))
    with pytest.raises(PatternError, match="There is no piece “elbow”"):
        note_options.new_note(SHIRT, "n", low, options(on=["elbow"]))


@pytest.mark.parametrize(
    ("garment", "name", "targets"),
    [
        (VEST, "shorten_or_lengthen", ["front", "back", "front_facing"]),
        (SHIRT, "hem", ["front", "back"]),
        (VEST, "full_or_small_bust", ["front"]),
        (VEST, "dart_turned", ["front"]),
        (SKIRT, "waist_size", ["front", "back"]),
        (SKIRT, "seat", ["back"]),
        (TROUSERS, "crotch_depth", ["front", "back"]),
        (SHIRT, "upper_arm", ["sleeve"]),
        (SHIRT, "recut_a_band", ["neckband"]),
    ],
)
def test_every_note_that_goes_to_a_region_needs_no_pieces_named(
    garment: Garment, name: str, targets: list[str]
) -> None:
    note = note_options.new_note(garment, "n", find(name), options())
    assert [target.piece for target in note.targets] == targets


def test_a_seam_of_the_width_is_named_once() -> None:
    note = note_options.new_note(SHIRT, "n", find("take_in_or_let_out"), options())
    assert note.targets == (Target("front", edge="front.side"),)


def test_a_card_says_in_a_few_words_why_a_note_is_done_to_its_pieces() -> None:
    low = find("armhole_too_low")
    note = note_options.new_note(SHIRT, "n", low, options())
    short, says = note_options.done_to(SHIRT, note, after(note))
    assert short == "for the armhole: Front, Back; sewn on there: Sleeve"
    assert says[0] == "done to “Front”: its armhole" and says[-1].startswith("asks for “Sleeve”: its sleeve cap")
    with_sleeve = replace(note, targets=(*note.targets, Target("sleeve")))
    short, says = note_options.done_to(SHIRT, with_sleeve, after(with_sleeve))
    assert short == "for the armhole: Front, Back, Sleeve" and not any(one.startswith("asks") for one in says)
    assert note_options.done_to(SHIRT, replace(note, targets=(Target("neckband"),)), SHIRT) == ("", ())


@pytest.mark.parametrize(
    ("name", "amounts", "asked"),
    [
        # The cap seam keeps its length: the armholes have nothing to follow.
        ("upper_arm", {}, []),
        ("elbow_and_wrist", {}, []),
        ("cap_height", {"amount": 10.0}, ["Front", "Back"]),
        ("cap_height", {"amount": 0.0}, []),
        ("raise_or_lower_neckline", {"amount": 12.0}, ["Neckband"]),
    ],
)
def test_a_piece_is_asked_only_where_what_it_is_sewn_to_changes(
    name: str, amounts: dict[str, Any], asked: list[str]
) -> None:
    note = note_options.new_note(SHIRT, "n", find(name), options())
    note = replace(note, amounts=find(name).checked(amounts))
    _, says = note_options.done_to(SHIRT, note, after(note))
    expected = [f"asks for “{one}”" for one in asked]
    assert [one.partition(":")[0] for one in says if one.startswith("asks")] == expected
    said = note_options.of_region(SHIRT, find(name), find(name).place, note.amounts)[1]
    assert [one.partition(":")[0] for one in said if one.startswith("asks")] == expected


def after(note: Note) -> Garment:
    return find(note.alteration).do(SHIRT, note.amounts, note.targets, note.id).garment


def test_a_note_whose_region_the_garment_lacks_is_done_to_nothing_and_asks_for_nothing() -> None:
    assert note_options.of_region(SHIRT, find("hip_size"), "waist", find("hip_size").checked({})) == ((), ())
