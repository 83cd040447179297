"""Garments for looking at what goes wrong: a pair traced 2 mm off, and notes done to the front alone."""

from __future__ import annotations

from geometry.alterations import find
from geometry.closures import Girth
from geometry.garments import Garment
from geometry.notes import Note, Target
from sample_pieces.drafting.knits import shoulder_seam, side_seams
from sample_pieces.drafting.undershirt import BODY, STRETCH, WIDTHS, back_piece, front_piece

#: The back of the traced pair is longer by this at the side seam.
TRACED_OFF = 2.0
SHORTENED, TUCKED = 25.0, 6.0


def traced_two_mm_off() -> Garment:
    """Front and back alone, as they came off the tracing table: the back is 2 mm longer from notch to hem."""
    return Garment(
        "traced_pair",
        "Undershirt, front and back as traced",
        (front_piece(), back_piece(longer=TRACED_OFF)),
        (shoulder_seam(sewn=1), side_seams(sewn=2)),
        size=BODY.size,
        for_whom="the lamplighter’s understudy",
        knit=True,
        widths=WIDTHS,
        stretch=STRETCH,
        girths={Girth.HEAD: BODY.head},
    )


def demo_notes() -> tuple[Note, ...]:
    """The lamplighter’s fitting: shorter in the body, and the armhole lifted on front, back and sleeve cap."""
    return (
        _note("note-1", "shorten_or_lengthen", SHORTENED, "front", "back"),
        _note("note-2", "armhole_too_low", TUCKED, "front", "back", "sleeve"),
    )


def front_only_notes() -> tuple[Note, ...]:
    """A note done to the front and forgotten on the back, so that the side seams no longer match."""
    return (_note("note-1", "shorten_or_lengthen", SHORTENED, "front"),)


def _note(note_id: str, alteration: str, amount: float, *pieces: str) -> Note:
    found = find(alteration)
    amounts = found.checked({"amount": amount})
    return Note(note_id, found.name, amounts, tuple(Target(piece) for piece in pieces), rule=found.version)
