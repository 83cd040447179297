"""A long piece of work for the dial: eight pieces of three garments as one, and twenty notes on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import sample_pieces
from app.files.garment_file import open_file
from geometry.alterations import find
from geometry.garments import Garment
from geometry.notes import Note, Target

SHIRT, COAT, SKIRT = ("front", "back"), ("waistcoat front", "waistcoat back"), ("skirt front", "skirt back")


def eight_pieces() -> Garment:
    """The undershirt's four pieces, the waistcoat's front and back and the skirt's, as one garment."""
    names = ("undershirt", "waistcoat", "skirt")
    under, *others = (open_file(sample_pieces.path(f"{name}.garment.json"))[0].garment for name in names)
    added = tuple(
        replace(other.piece(piece), id=f"{other.id} {piece}", copies=())
        for other in others
        for piece in ("front", "back")
    )
    return replace(under, pieces=(*under.pieces, *added))


def note(number: int, name: str, pieces: Sequence[str], **values: Any) -> Note:
    return Note(f"note{number}", name, find(name).checked(values), tuple(Target(piece) for piece in pieces))


def twenty_notes() -> list[Note]:
    """Lengths and armholes in turns: on the shirt six notes, the waistcoat six, the skirt four, the sleeve four."""
    length, armhole, below = "shorten_or_lengthen", "armhole_too_low", {"side": "towards the hem"}
    return [
        note(1, length, SHIRT, amount=20.0),
        note(2, length, SKIRT, amount=15.0),
        note(3, length, COAT, amount=12.0),
        note(4, armhole, SHIRT, amount=6.0),
        note(5, length, ["sleeve"], amount=10.0),
        note(6, armhole, ["sleeve"], amount=6.0),
        note(7, armhole, COAT, amount=5.0),
        note(8, "armhole_gapes", COAT[:1], amount=4.0),
        note(9, length, SKIRT, amount=5.0, **below),
        note(10, length, SHIRT, amount=4.0, **below),
        note(11, length, COAT, amount=4.0, **below),
        note(12, armhole, COAT, amount=3.0, height=75.0),
        note(13, armhole, SHIRT, amount=3.0, height=75.0),
        note(14, length, ["sleeve"], amount=4.0, **below),
        note(15, length, SKIRT, way="lengthen", amount=3.0),
        note(16, length, SHIRT, way="lengthen", amount=2.0),
        note(17, length, COAT, way="lengthen", amount=2.0),
        note(18, length, ["sleeve"], way="lengthen", amount=2.0),
        note(19, length, SKIRT, amount=2.0),
        note(20, length, SHIRT, amount=1.5),
    ]


def dialled(notes: Sequence[Note], index: int, amount: float) -> list[Note]:
    """The notes with another amount in one of them."""
    changed = replace(notes[index], amounts=replace(notes[index].amounts, amount=amount))
    return [*notes[:index], changed, *notes[index + 1 :]]


def to_follow(notes: Sequence[Note], index: int) -> tuple[set[str], int]:
    """What follows a note that is changed: its pieces, and how often a note from it on is done to one of them."""
    pieces = {target.piece for target in notes[index].targets}
    return pieces, sum(target.piece in pieces for later in notes[index:] for target in later.targets)
