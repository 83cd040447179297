"""What lets head, hip and hand in: the notes that make a ring wider by just what it lacks, and its band recut to it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from geometry.body_regions import covered
from geometry.garments import Garment
from geometry.matters import MM, Bench, Cure
from geometry.notes import Note, Target
from geometry.pieces import EdgeKind, Piece
from geometry.pipeline import Walked
from geometry.readings import mm_words
from geometry.rings import Passage, RingKind, passages
from geometry.truing_acts import note_of

#: Amounts go by this (mm), to the next one that lets the body in.
_STEP_MM = 1.0
#: No further than this a neckline is lowered or widened to let a head in, a waist or a wrist made wider round the body,
#: a band cut longer on its piece: beyond it an opening is the better way (mm; common practice, no source).
_LOWER_MM, _WIDEN_MM, _WAIST_MM, _WRIST_MM, _BAND_MM = 60.0, 40.0, 60.0, 80.0, 60.0
_MOST_TRIES = 8
#: More open in seams and corners than before, all weighed together, is no help (mm).
_ALIKE_MM = 0.1
_RECUT = "recut_a_band"


@dataclass(frozen=True)
class _Way:
    """One way to make a ring wider: a note for an amount in mm, what it does in words, and the most of it."""

    note: Callable[[float], Note]
    says: Callable[[float], str]
    most: float


def ring_cure(bench: Bench, key: str) -> Cure | None:
    """The notes that let a body through the ring of that key; None where it gets in, or only an opening helps."""
    now = _ring(bench.now, key)
    if now is None or now.passes:
        return None
    for way in _ways(bench, now):
        solved = _solved(bench, key, way)
        if solved is None:
            continue
        notes, says = solved
        found = bench.tried(notes)
        if found is not None and bench.weight(found) <= bench.weight() + _ALIKE_MM and bench.cuts_well(notes):
            return Cure(says, notes, now.needs_mm - now.opens_mm, MM)
    return None


def _ring(found: Walked, key: str) -> Passage | None:
    return next((one for one in passages(found.blended.garment) if one.key == key), None)


def _ways(bench: Bench, ring: Passage) -> Iterator[_Way]:
    """A band that is tighter than its edge is recut alone; else the edge is made longer, and its band with it."""
    garment = bench.garment
    piece = garment.piece(ring.piece)
    if piece.edges_of(EdgeKind.BAND):
        yield _Way(
            lambda x: note_of(bench.next_id(), _RECUT, [Target(piece.id)], amount=x, than="it is"),
            lambda x: f"Recut “{piece.name}” {mm_words(x)} longer",
            _BAND_MM,
        )
    if ring.kind is RingKind.NECK:
        yield from _neck_ways(bench)
    elif ring.kind is RingKind.WAIST:
        sides = [one for one in _pieces(garment, "waist") if one.edges_of(EdgeKind.SIDE)]
        yield _wider(bench, "waist_size", sides, "amount", "Make the waist {} larger on {}", _WAIST_MM)
    else:
        sleeve = [garment.piece(ring.of)]
        yield _wider(bench, "elbow_and_wrist", sleeve, "wrist", "Make the wrist {} wider on {}", _WRIST_MM)


def _neck_ways(bench: Bench) -> Iterator[_Way]:
    necks = _pieces(bench.garment, "neckline")
    fronts = [one for one in necks if one.edges_of(EdgeKind.CENTRE_FRONT)]
    lower = "Lower the neckline of {1} by {0}"
    yield _wider(bench, "raise_or_lower_neckline", fronts or necks, "amount", lower, _LOWER_MM, way="lower")
    widen = "Widen the neckline of {1} by {0} on each side"
    yield _wider(bench, "widen_or_narrow_neckline", necks, "amount", widen, _WIDEN_MM)


def _wider(
    bench: Bench, name: str, pieces: Sequence[Piece], field: str, says: str, most: float, **more: object
) -> _Way:
    targets = [Target(piece.id) for piece in pieces]
    names = " and ".join(dict.fromkeys(f"“{piece.name}”" for piece in pieces))
    return _Way(
        lambda x: note_of(bench.next_id(), name, targets, **{field: x}, **more),
        lambda x: says.format(mm_words(x), names),
        most,
    )


def _pieces(garment: Garment, region: str) -> list[Piece]:
    return [garment.piece(one.piece) for one in covered(garment, region) if not one.asked]


def _solved(bench: Bench, key: str, way: _Way) -> tuple[tuple[Note, ...], str] | None:
    """The least amount, in whole steps, that lets the body in, with the bands recut; None where it is too much."""
    low, high = 0.0, way.most
    if not _passes(bench, key, way, high):
        return None
    for _ in range(_MOST_TRIES):
        if high - low <= _STEP_MM:
            break
        middle = _STEP_MM * math.ceil((low + high) / 2 / _STEP_MM)
        low, high = (low, middle) if _passes(bench, key, way, middle) else (middle, high)
    notes = _notes(bench, way, high)
    recut = [bench.garment.piece(target.piece).name for note in notes[1:] for target in note.targets]
    also = f", and recut {' and '.join(f'“{name}”' for name in recut)} to it" if recut else ""
    return notes, way.says(high) + also


def _passes(bench: Bench, key: str, way: _Way, amount: float) -> bool:
    found = bench.tried(_notes(bench, way, amount))
    ring = None if found is None else _ring(found, key)
    return ring is not None and ring.passes


def _notes(bench: Bench, way: _Way, amount: float) -> tuple[Note, ...]:
    """The note of a way, and one for each band that it makes too short or too long."""
    note = way.note(amount)
    found = bench.tried([note])
    if found is None or note.alteration == _RECUT:
        return (note,)
    offers = [offer for step in found.followed.steps if step.note.id == note.id for offer in step.offers]
    bands = [offer for offer in offers if offer.alteration == _RECUT]
    recut = (note_of(bench.next_id(n), _RECUT, one.targets, **vars(one.amounts)) for n, one in enumerate(bands, 1))
    return (note, *recut)
