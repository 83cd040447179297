"""Notes as sentences: made from any alteration, nothing lost, lengths in the tape measure in hand."""

from __future__ import annotations

import pytest

from app.window.blend_stops import stops_of
from app.window.sentence import BLEND, PIECES, blend_words, fields_beside, parts_of, pieces_words, sentence_of
from geometry.alterations import everything
from geometry.alterations.base import Alteration
from geometry.notes import BlendChoice, Note, Target
from geometry.pipeline import draft
from tests import canon
from tests.window_case import shorten


@pytest.mark.parametrize("alteration", everything(), ids=lambda a: a.name)
def test_every_amount_stands_in_the_sentence_or_below_it_once(alteration: Alteration) -> None:
    spoken = [part.field for part in parts_of(alteration) if part.field not in ("", PIECES, BLEND)]
    assert sorted([*spoken, *fields_beside(alteration)]) == sorted(alteration.fields())


@pytest.mark.parametrize("alteration", everything(), ids=lambda a: a.name)
def test_every_sentence_names_its_pieces_and_leaves_no_brace(alteration: Alteration) -> None:
    target = Target("front", edge="side") if alteration.aims_at == "edges" else Target("front")
    note = Note("note-1", alteration.name, alteration.checked({}), (target,))
    said = sentence_of(note, alteration, canon.bodice(), "cm")
    assert "front" in said
    assert said[0].isupper()
    assert not set("{}_") & set(said)


def test_a_sentence_reads_as_a_fitter_says_it() -> None:
    note = shorten(amount=25.0)
    (alteration,) = [a for a in everything() if a.name == note.alteration]
    said = sentence_of(note, alteration, canon.bodice(), "cm")
    assert said.startswith("Shorten by 2.5 cm at the lengthen/shorten line on front, back")
    assert " 1 in " in sentence_of(shorten(amount=25.4), alteration, canon.bodice(), "in")


def test_what_is_gone_is_said() -> None:
    assert "gone" in pieces_words(canon.bodice(), [Target("sleeve")], by_edge=False)
    assert pieces_words(canon.bodice(), [], by_edge=False) == "no piece yet"


@pytest.mark.parametrize(
    ("blend", "words"),
    [
        (BlendChoice(), "half and half"),
        (BlendChoice(1.0), "filled out"),
        (BlendChoice(0.0), "trimmed in"),
        (BlendChoice(0.25), "25 % filled out"),
        (BlendChoice(0.5, before=40.0), "half and half, over 4 cm and as far as the next mark"),
    ],
)
def test_blends_are_said_in_words(blend: BlendChoice, words: str) -> None:
    assert blend_words(blend, "cm") == words


def test_a_blend_names_where_it_stops() -> None:
    drafted = draft(canon.bodice(), [shorten()])
    # By default a blend stops at the next corner, bust, waist or hip line on either side of the cut.
    assert sorted(stops_of(drafted, "note-1")) == ["bust", "waist"]
    assert stops_of(drafted, "note-2") == ()
    assert blend_words(BlendChoice(), "cm", ["waist", "bust"]) == "to waist, bust, half and half"
