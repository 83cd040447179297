"""Dialling one amount, from the changed note to finished drawing calls, against bare GEOS buffers in the same run.

The garment has six pieces and eight notes; a longer one has eight and twenty. The reference is one mitred GEOS buffer
of each of the outlines, flattened at 0.05 mm before the clock starts. The two are timed in turn, and medians are
compared: a dial with the mean of ten passes of the reference (``ratio``), and with the first of them (``ratio to the
first``), which like the dial finds nothing in the processor's caches but what the other left there. Drawing calls are
those of the window, which lays out no lettering of its own while a dial is turned (``Style(lettering=None)``).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median
from typing import Any

import numpy as np
import pytest
import shapely

import sample_pieces
from app.files.garment_file import open_file
from geometry.alterations import find
from geometry.drawing import Style, record
from geometry.garments import Garment
from geometry.lines import flatten
from geometry.notes import Note, Target
from geometry.pipeline import Draft, Memory, draft
from tests.dial_cases import dialled, eight_pieces, to_follow, twenty_notes

ROUNDS = 15


def six_pieces() -> Garment:
    """The undershirt's four pieces and the waistcoat's front and back, as one garment."""
    under, coat = (
        open_file(sample_pieces.path(f"{name}.garment.json"))[0].garment for name in ("undershirt", "waistcoat")
    )
    renamed = {piece.id: f"waistcoat {piece.id}" for piece in coat.pieces}
    coats = tuple(replace(piece, id=renamed[piece.id], copies=()) for piece in coat.pieces if not piece.copies)[:2]
    assert len(under.pieces) + len(coats) == 6
    return replace(under, pieces=(*under.pieces, *coats))


def note(number: int, name: str, *pieces: str, **values: Any) -> Note:
    alteration = find(name)
    return Note(f"note{number}", name, alteration.checked(values), tuple(Target(piece) for piece in pieces))


def eight_notes(garment: Garment) -> list[Note]:
    coat_front, coat_back = (piece.id for piece in garment.pieces[4:])
    return [
        note(1, "shorten_or_lengthen", "front", "back", amount=20.0),
        note(2, "armhole_too_low", "front", "back", amount=6.0),
        note(3, "shorten_or_lengthen", coat_front, coat_back, amount=12.0),
        note(4, "armhole_too_low", "sleeve", amount=6.0),
        note(5, "armhole_too_low", coat_front, coat_back, amount=5.0),
        note(6, "armhole_gapes", coat_front, amount=4.0),
        note(7, "shorten_or_lengthen", "front", "back", amount=4.0, side="towards the hem"),
        note(8, "armhole_too_low", coat_front, coat_back, amount=3.0, height=75.0),
    ]


def redrawn(garment: Garment, notes: list[Note], memory: Memory) -> Draft:
    """A draft and the drawing calls of every piece, as the window makes them: lettering is laid out for paper only."""
    made = draft(garment, notes, memory)
    for one in made.cut.values():
        memory.recall("drawing", (one,), None, lambda one=one: record(one, style=Style(lettering=None)))  # type: ignore[misc]
    return made


def buffers(garment: Garment) -> Callable[[], None]:
    shapes = [
        shapely.Polygon(np.concatenate([flatten(edge.chain, 0.05)[0][:-1] for edge in piece.edges]))
        for piece in garment.pieces
    ]

    def run() -> None:
        for shape in shapes:
            shape.buffer(15.0, join_style="mitre", mitre_limit=5.0)

    return run


def turned(garment: Garment, notes: list[Note], index: int) -> dict[str, Any]:
    """One amount dialled in turn with the buffers: medians in ms, their ratio, and what is computed a dial."""
    memory = Memory()
    first = redrawn(garment, notes, memory)
    assert all(step.done for step in first.followed.steps)
    reference = buffers(garment)
    base = notes[index].amounts.amount
    memory.computed.clear()
    ours, theirs, firsts = [], [], []
    for number in range(ROUNDS):
        start = time.perf_counter()
        redrawn(garment, dialled(notes, index, base + 0.1 * (number + 1)), memory)
        middle = time.perf_counter()
        reference()
        firsts.append(time.perf_counter() - middle)
        for _ in range(9):
            reference()
        ours.append(middle - start)
        theirs.append((time.perf_counter() - middle) / 10)
    return {
        "ours_ms": round(median(ours) * 1e3, 2),
        "geos_ms": round(median(theirs) * 1e3, 3),
        "ratio": round(median(ours) / median(theirs), 1),
        "ratio to the first": round(median(ours) / median(firsts), 1),
        "computed a dial": {stage: count / ROUNDS for stage, count in memory.computed.items()},
    }


@pytest.mark.parametrize(("which", "index", "most"), [("last", 7, 40), ("first", 0, 80)])
def test_dialling_a_note(benchmark: Any, which: str, index: int, most: int) -> None:
    garment = six_pieces()
    found = benchmark.pedantic(turned, (garment, eight_notes(garment), index), rounds=1, iterations=1)
    benchmark.extra_info |= {"changed note": which, **found, "at most": most}
    print(f"\ndialling the {which} note: {benchmark.extra_info}")


@pytest.mark.parametrize(("which", "index"), [("last", 19), ("middle", 9), ("first", 0)])
def test_dialling_one_of_twenty_notes_on_eight_pieces(benchmark: Any, which: str, index: int) -> None:
    """Only what follows the changed note is computed again."""
    garment, notes = eight_pieces(), twenty_notes()
    found = benchmark.pedantic(turned, (garment, notes, index), rounds=1, iterations=1)
    pieces, done = to_follow(notes, index)
    counts = found["computed a dial"]
    assert counts["note on a piece"] == done and counts["blend"] == counts["cut"] == len(pieces)
    benchmark.extra_info |= {"changed note": which, **found}
    print(f"\ndialling the {which} of twenty notes: {benchmark.extra_info}")
