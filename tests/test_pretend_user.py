"""A pretend user: seeded random notes on all samples, changed, switched, moved, taken back, saved and opened.

Nothing crashes, no outline ever crosses itself, nothing is lost, and every sentence is one sentence.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

import sample_pieces
from app.documents import Document, next_note_id, with_notes, with_size
from app.files.garment_file import open_file, read_bytes, to_bytes
from app.report import report
from geometry.alterations import everything
from geometry.alterations.base import Alteration, Amount
from geometry.garments import Garment
from geometry.nests import size_names
from geometry.notes import Address, BlendChoice, Note, Target
from geometry.pieces import Piece
from geometry.pipeline import Draft, Memory, draft
from geometry.sameness import same

SAMPLES = [name for name in sample_pieces.names() if name.endswith(".garment.json")]


class PretendUser:
    """One garment on the table, and somebody with a seed who does things to it."""

    def __init__(self, name: str, seed: int) -> None:
        self.random = random.Random(f"{name} {seed}")
        self.document = open_file(sample_pieces.path(name))[0]
        self.memory = Memory()
        self.taken_back: list[Document] = []
        self.before: list[Document] = []

    def step(self) -> str:
        """Do one thing; returns what it was."""
        acts: list[tuple[int, Callable[[], Document]]] = [
            (6, self.write), (4, self.dial), (2, self.switch), (2, self.move), (3, self.remove),
            (2, self.undo), (1, self.redo), (1, self.save_and_open), (1, self.work_in_another_size),
        ]  # fmt: skip
        act = self.random.choices([a for _, a in acts], [w for w, _ in acts])[0]
        changed = act()
        if act.__name__ not in ("undo", "redo"):
            self.before.append(self.document)
            self.taken_back.clear()
        self.document = changed
        return act.__name__

    def write(self) -> Document:
        if len(self.document.notes) >= 6:
            return self.remove()
        alteration = self.random.choice(everything())
        values = {name: self.value(field) for name, field in alteration.fields().items()}
        targets = self.targets(alteration, self.document.garment)
        blend = BlendChoice(self.random.choice([0.0, 0.5, 0.5, 1.0]), *(self.random.choice([None, 40.0]) for _ in "12"))
        note = Note(next_note_id(self.document), alteration.name, alteration.checked(values), targets, blend=blend)
        return with_notes(self.document, (*self.document.notes, note))

    def value(self, field: Amount) -> Any:
        if field.unit == "size":
            return self.random.choice((*field.choices, *size_names(self.document.garment), "no such size"))
        if field.choices:
            return self.random.choice(field.choices)
        low, high = field.least, field.most
        part = self.random.random() ** 2
        return self.random.choice([low, field.default, low + part * (high - low), low + part * (high - low), high])

    def targets(self, alteration: Alteration, garment: Garment) -> tuple[Target, ...]:
        pieces = self.random.sample(garment.pieces, self.random.randint(1, len(garment.pieces)))
        return tuple(self.target(alteration, piece) for piece in pieces)

    def target(self, alteration: Alteration, piece: Piece) -> Target:
        edge = self.random.choice(piece.edges).id if alteration.aims_at == "edges" else None
        across = None
        if self.random.random() < 0.4:
            across = tuple(
                self.address(edge or self.random.choice(piece.edges).id) for _ in range(self.random.randint(1, 2))
            )
        line = self.random.choice(piece.lines).id if piece.lines and self.random.random() < 0.15 else None
        amount = self.random.uniform(0, 30) if self.random.random() < 0.1 else None
        return Target(piece.id, line=line, edge=edge, across=across, amount=amount)

    def address(self, edge: str) -> Address:
        return Address(edge, self.random.choice(["start", "end"]), share=self.random.random())

    def dial(self) -> Document:
        if not self.document.notes:
            return self.write()
        note = self.random.choice(self.document.notes)
        alteration = next(a for a in everything() if a.name == note.alteration)
        name, field = self.random.choice(list(alteration.fields().items()))
        return self.with_note(note, replace(note, amounts=replace(note.amounts, **{name: self.value(field)})))

    def switch(self) -> Document:
        if not self.document.notes:
            return self.write()
        note = self.random.choice(self.document.notes)
        return self.with_note(note, replace(note, on=not note.on))

    def move(self) -> Document:
        notes = list(self.document.notes)
        self.random.shuffle(notes)
        return with_notes(self.document, notes)

    def remove(self) -> Document:
        if not self.document.notes:
            return self.write()
        gone = self.random.choice(self.document.notes)
        return with_notes(self.document, [note for note in self.document.notes if note is not gone])

    def undo(self) -> Document:
        if not self.before:
            return self.document
        self.taken_back.append(self.document)
        return self.before.pop()

    def redo(self) -> Document:
        if not self.taken_back:
            return self.document
        self.before.append(self.document)
        return self.taken_back.pop()

    def save_and_open(self) -> Document:
        opened = read_bytes(to_bytes(self.document))
        assert opened.notes == self.document.notes and same(opened.garment, self.document.garment, 0.0)
        return opened

    def work_in_another_size(self) -> Document:
        return with_size(self.document, self.random.choice(size_names(self.document.garment)))

    def with_note(self, old: Note, new: Note) -> Document:
        return with_notes(self.document, [new if note is old else note for note in self.document.notes])


def check(user: PretendUser, drafted: Draft) -> None:
    """What holds for every draft whatsoever."""
    for piece in (*drafted.followed.garment.pieces, *drafted.redrawn.pieces):
        assert piece.polygon.is_valid and piece.polygon.exterior.is_ccw
    for piece in drafted.redrawn.pieces:
        traced = drafted.garment.piece(piece.id)
        assert not any(edge.disturbed for edge in piece.edges)
        # Darts may be closed, split or eased on purpose; nothing else may ever go.
        for group in ("edges", "corners", "notches", "marks", "inner_darts", "lines"):
            assert {one.id for one in getattr(traced, group)} <= {one.id for one in getattr(piece, group)}
        cutting = drafted.cut[piece.id].cutting
        if cutting is None:
            assert any(f.level == "fault" and f.piece == piece.id for f in drafted.findings)
        else:
            assert shapely.LinearRing(cutting.flat[0]).is_simple
    for finding in drafted.findings:
        assert finding.says and "\n" not in finding.says and finding.says.endswith((".", "!", "?"))
        assert finding.place is None or np.isfinite(finding.place).all()
    json.dumps(report(drafted), allow_nan=False)


def use(name: str, seed: int, steps: int) -> None:
    user = PretendUser(name, seed)
    for _ in range(steps):
        user.step()
        check(user, draft(user.document.garment, user.document.notes, user.memory))


@pytest.mark.parametrize("name", SAMPLES)
def test_a_pretend_user_meets_no_crash_and_no_crossing_outline(name: str) -> None:
    use(name, seed=1921, steps=300 // len(SAMPLES))


@pytest.mark.long
@pytest.mark.timeout(3600)
@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("name", SAMPLES)
def test_a_pretend_user_over_thousands_of_steps(name: str, seed: int) -> None:
    use(name, seed, steps=5000 // (10 * len(SAMPLES)))
