"""The chain as a whole: what a changed note does not touch is recalled, and what is recalled is what is computed."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest

import sample_pieces
from app.files.garment_file import open_file
from geometry.alterations import find
from geometry.alterations.base import PieceDone, piece_by_piece, remembering
from geometry.garments import Garment
from geometry.notes import Note, Target
from geometry.pieces import Piece
from geometry.pipeline import Draft, Memory, draft
from tests import dial_cases


def note(number: int, name: str, *pieces: str, **values: Any) -> Note:
    alteration = find(name)
    return Note(f"note{number}", name, alteration.checked(values), tuple(Target(piece) for piece in pieces))


def dialled(notes: list[Note], index: int, amount: float) -> list[Note]:
    changed = replace(notes[index], amounts=replace(notes[index].amounts, amount=amount))
    return [*notes[:index], changed, *notes[index + 1 :]]


@pytest.fixture(scope="module")
def undershirt() -> Garment:
    return open_file(sample_pieces.path("undershirt.garment.json"))[0].garment


def notes() -> list[Note]:
    return [
        note(1, "shorten_or_lengthen", "front", "back", amount=20.0),
        note(2, "armhole_too_low", "sleeve", amount=6.0),
        note(3, "armhole_too_low", "front", "back", amount=6.0),
    ]


def bytes_of(value: Any) -> Any:
    """A value as plain texts and the bytes of its numbers, to be compared exactly."""
    if isinstance(value, np.ndarray):
        return value.dtype.str, value.shape, value.tobytes()
    if isinstance(value, float):
        return value.hex()
    if isinstance(value, tuple | list):
        return tuple(bytes_of(one) for one in value)
    if hasattr(value, "items"):
        return tuple((str(key), bytes_of(one)) for key, one in value.items())
    if is_dataclass(value):
        return type(value).__name__, tuple(bytes_of(getattr(value, field.name)) for field in fields(value))
    return str(value)


def told_by(made: Draft) -> tuple[Any, ...]:
    """What a draft only reckons when it is asked."""
    blends = [(one.blends, one.findings) for one in made.blended.pieces.values()]
    return blends, made.after, made.corners, made.findings


def computed(memory: Memory, garment: Garment, changed: list[Note]) -> tuple[Draft, dict[str, int]]:
    """A draft from this memory, and how often each stage was really computed for it."""
    memory.computed.clear()
    made = draft(garment, changed, memory)
    return made, dict(memory.computed)


def test_a_changed_note_leaves_the_other_pieces_as_they_were(undershirt: Garment) -> None:
    """The sleeve's note stands first among the later ones; front, back and neckband are not computed again."""
    memory = Memory()
    before = draft(undershirt, notes(), memory)
    after, counts = computed(memory, undershirt, dialled(notes(), 1, 5.0))
    for piece in ("front", "back", "neckband"):
        assert after.blended.pieces[piece] is before.blended.pieces[piece]
        assert after.cut[piece] is before.cut[piece]
    assert counts["note on a piece"] == counts["blend"] == counts["cut"] == 1


def test_the_first_note_changed_computes_its_own_pieces_only(undershirt: Garment) -> None:
    memory = Memory()
    before = draft(undershirt, notes(), memory)
    after, counts = computed(memory, undershirt, dialled(notes(), 0, 12.0))
    assert after.cut["sleeve"] is before.cut["sleeve"] and after.cut["neckband"] is before.cut["neckband"]
    # Two pieces, each with its two notes; the sleeve's own note is recalled.
    assert counts["note on a piece"] == 4 and counts["blend"] == counts["cut"] == 2


def test_an_edge_that_the_changed_note_does_not_touch_keeps_its_blend(undershirt: Garment) -> None:
    """The tuck at the armhole leaves the side seam's line, jogged by the first note, as it is."""
    memory = Memory()
    before = draft(undershirt, notes(), memory)
    jogged = {edge.id for edge in before.followed.garment.piece("front").edges if edge.disturbed and not edge.on_fold}
    assert len(jogged) == 2
    after, counts = computed(memory, undershirt, dialled(notes(), 2, 9.0))
    assert counts["blend"] == 2 and counts["blend of an edge"] == 2
    sides = [made.blended.pieces["front"].piece.edge("front.side") for made in (before, after)]
    assert "front.side" in jogged and sides[0] is sides[1]


def test_a_stretch_that_the_changed_note_does_not_reach_keeps_its_batten() -> None:
    """The tuck at the armhole jogs the centre back above the waist; below, it is drawn as the length note asks."""
    garment = open_file(sample_pieces.path("waistcoat.garment.json"))[0].garment
    given = [
        note(1, "shorten_or_lengthen", "front", "back", amount=12.0),
        note(2, "armhole_too_low", "front", "back", amount=5.0),
        note(3, "armhole_too_low", "front", "back", amount=3.0, height=75.0),
    ]
    memory = Memory()
    draft(garment, given, memory)
    battens = memory.computed["batten"]
    after, counts = computed(memory, garment, dialled(given, 2, 4.0))
    assert counts["blend of an edge"] == 4 and 0 < counts["batten"] < battens
    assert bytes_of(after) == bytes_of(draft(garment, dialled(given, 2, 4.0)))


@pytest.mark.parametrize("index", [0, 7, 12, 19])
def test_of_twenty_notes_on_eight_pieces_only_what_follows_the_changed_one_is_computed(index: int) -> None:
    garment, many = dial_cases.eight_pieces(), dial_cases.twenty_notes()
    memory = Memory()
    before = draft(garment, many, memory)
    assert all(step.done for step in before.followed.steps) and len(garment.pieces) == 8 and len(many) == 20
    pieces, done = dial_cases.to_follow(many, index)
    after, counts = computed(memory, garment, dial_cases.dialled(many, index, many[index].amounts.amount + 0.5))
    for piece in garment.pieces:
        same_blend = after.blended.pieces[piece.id] is before.blended.pieces[piece.id]
        assert same_blend == (after.cut[piece.id] is before.cut[piece.id]) == (piece.id not in pieces)
    assert counts["note on a piece"] == done
    assert counts["blend"] == counts["cut"] == len(pieces)
    assert counts["note"] == len(many) - index


def test_the_same_notes_again_compute_nothing(undershirt: Garment) -> None:
    memory = Memory()
    before = draft(undershirt, notes(), memory)
    after, counts = computed(memory, undershirt, notes())
    # Equal notes that are other objects are followed again, each piece of them is recalled.
    assert set(counts) <= {"note"}
    assert all(after.cut[piece.id] is before.cut[piece.id] for piece in undershirt.pieces)


@pytest.mark.parametrize("index", [0, 1, 2])
def test_what_is_recalled_is_what_is_computed_to_the_byte(undershirt: Garment, index: int) -> None:
    memory = Memory()
    for amount in (3.0, 7.0, 11.0):
        draft(undershirt, dialled(notes(), index, amount), memory)
    changed = dialled(notes(), index, 8.0)
    recalled, anew = draft(undershirt, changed, memory), draft(undershirt, changed)
    assert bytes_of(recalled) == bytes_of(anew)
    assert bytes_of(told_by(recalled)) == bytes_of(told_by(anew))


@pytest.mark.parametrize("first", [["mm", 1.0], ("mm", 1.0)])
def test_what_a_note_reads_beside_the_piece_is_part_of_what_is_remembered(undershirt: Garment, first: Any) -> None:
    """A share of an amount, say, that follows from the other pieces; what cannot be compared is never recalled."""

    def named_by(read: Any) -> str:
        def one(piece: Piece, target: Target) -> PieceDone:
            return PieceDone(replace(piece, name=str(read)))

        return piece_by_piece(undershirt, (Target("front"),), one).garment.piece("front").name

    memory = Memory()
    with remembering(memory.recall, "note"):
        names = [named_by(first), named_by(("mm", 2.0)), named_by(("mm", 2.0))]
    assert names == [str(first), str(("mm", 2.0)), str(("mm", 2.0))]
    assert memory.computed["note on a piece"] == (2 if isinstance(first, tuple) else 1)


@pytest.mark.parametrize(
    ("sample", "name", "on", "values", "other"),
    [
        ("undershirt", "broad_or_narrow_back", "back", {"amount": 8.0}, "front"),
        ("waistcoat", "dart_eased", "front", {"part": 1.0}, "back"),
    ],
)
def test_a_note_that_also_changes_a_seam_still_recalls_its_piece(
    sample: str, name: str, on: str, values: dict[str, float], other: str
) -> None:
    """A note on another piece is dialled before it: the seams change with every draft, the piece does not."""
    garment = open_file(sample_pieces.path(f"{sample}.garment.json"))[0].garment
    given = [note(1, "shorten_or_lengthen", other, amount=20.0), note(2, name, on, **values)]
    memory = Memory()
    before = draft(garment, given, memory)
    assert all(step.done for step in before.followed.steps)
    after, counts = computed(memory, garment, dialled(given, 0, 12.0))
    assert after.followed.garment.piece(on) is before.followed.garment.piece(on)
    assert after.blended.pieces[on] is before.blended.pieces[on]
    assert counts["note on a piece"] == counts["blend"] == 1
    assert bytes_of(after) == bytes_of(draft(garment, dialled(given, 0, 12.0)))


def test_the_memory_is_bounded(undershirt: Garment) -> None:
    memory = Memory(most=10)
    kept = [memory.recall("stage", (undershirt,), number, lambda number=number: [number]) for number in range(20)]  # type: ignore[misc]
    assert memory.recall("stage", (undershirt,), 19, list) is kept[19]
    assert memory.recall("stage", (undershirt,), 0, lambda: ["anew"]) == ["anew"]
    assert memory.computed["stage"] == 21
