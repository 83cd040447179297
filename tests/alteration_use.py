"""One use of an alteration, for the laws and the page of alterations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from geometry.alterations import find
from geometry.garments import Garment
from geometry.notes import Note, Target


@dataclass(frozen=True)
class Case:
    """One use: a garment, the amounts as plain values, the targets, and the amount that changes nothing.

    ``gone`` are ids that the alteration means to take away, as a dart that is closed. ``redrawn`` are edges that it
    draws anew instead of moving them. After it, a second note with the values ``undone_by`` gives everything back.
    """

    name: str
    alteration: str
    garment: Garment
    values: dict[str, Any]
    targets: tuple[Target, ...]
    nothing: dict[str, float]
    gone: frozenset[str] = frozenset()
    redrawn: frozenset[str] = frozenset()
    undone_by: dict[str, Any] | None = None

    def note(self, note_id: str = "note1", **changes: Any) -> Note:
        alteration = find(self.alteration)
        return Note(note_id, alteration.name, alteration.checked(self.values | changes), self.targets)

    def none(self) -> Note:
        return self.note(**self.nothing)
