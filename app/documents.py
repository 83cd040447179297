"""The document: a traced garment and its fitting notes, with what is kept beside them. Frozen; no files, no Qt."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, Literal

from geometry.alterations import find
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.nests import in_size
from geometry.notes import Note
from geometry.tolerances import REOPEN_MM, VERDICT_STEP_MM
from geometry.units import System

#: Edge lengths in mm by piece id and edge id.
Lengths = Mapping[str, Mapping[str, float]]

_NOTHING: Mapping[str, Any] = MappingProxyType({})


PaperName = Literal["a4", "letter", "a4-and-letter", "a3", "a2", "a1", "a0", "legal", "tabloid"]


@dataclass(frozen=True)
class Settings:
    """How this garment is shown: ``units`` on the tape measure, ``paper`` in the printer."""

    units: System = "mm"
    paper: PaperName = "a4"


@dataclass(frozen=True, eq=False)
class Document:
    """Everything a garment file holds.

    ``garment`` stands in the size that is worked in, with the nest of its other sizes.
    ``results`` are the edge lengths of the last draft, empty when it was never drafted; ``extra`` is anything
    that someone else keeps in the file. ``notes_written`` is the highest number a note ever had, so that no id is
    used again.
    """

    garment: Garment
    notes: tuple[Note, ...] = ()
    settings: Settings = Settings()
    results: Lengths = field(default_factory=lambda: _NOTHING)
    extra: Mapping[str, Any] = field(default_factory=lambda: _NOTHING)
    notes_written: int = 0

    def __post_init__(self) -> None:
        seen: set[str] = set()
        for note in self.notes:
            if note.id in seen:
                raise PatternError(f"Two notes have the id “{note.id}”.")
            seen.add(note.id)


def with_notes(document: Document, notes: Sequence[Note]) -> Document:
    """The document with other notes; what was the highest number stays known."""
    return replace(document, notes=tuple(notes), notes_written=highest_note((*document.notes, *notes), document))


def with_size(document: Document, size: str) -> Document:
    """The document worked in another size of its nest; the notes stay, the lengths kept of the last draft do not.

    Raises PatternError when the garment was not drawn in that size.
    """
    garment = in_size(document.garment, size)
    return document if garment is document.garment else replace(document, garment=garment, results=_NOTHING)


def next_note_id(document: Document) -> str:
    """An id that no note of this document has had before."""
    return f"note-{highest_note(document.notes, document) + 1}"


def highest_note(notes: Sequence[Note], document: Document) -> int:
    """The highest number at the end of a note's id, now or before."""
    numbers = (re.search(r"(\d+)$", note.id) for note in notes)
    return max([document.notes_written, *(int(found[1]) for found in numbers if found)])


def lengths_of(garment: Garment) -> dict[str, dict[str, float]]:
    """The sewn length of every edge in mm, rounded to 0.001, by piece id and edge id."""
    places = len(str(VERDICT_STEP_MM).partition(".")[2])
    return {piece.id: {edge.id: round(edge.length, places) for edge in piece.edges} for piece in garment.pieces}


def changed_on_opening(document: Document, redrawn: Garment) -> tuple[Finding, ...]:
    """What differs between the lengths kept in the file and those drafted now, and notes done by an older rule.

    ``redrawn`` is the garment as drafted now. Nothing is said about edges within REOPEN_MM of what they were.
    """
    now = lengths_of(redrawn)
    findings = [_older_rule(number, note) for number, note in enumerate(document.notes, 1) if _is_older(note)]
    for piece_id, edges in document.results.items():
        for edge_id, was in edges.items():
            findings.extend(_length_finding(redrawn, piece_id, edge_id, was, now.get(piece_id, {}).get(edge_id)))
    return tuple(findings)


def _is_older(note: Note) -> bool:
    return note.rule < find(note.alteration).version


def _older_rule(number: int, note: Note) -> Finding:
    alteration = find(note.alteration)
    return Finding(
        "older-rule",
        Level.NOTICE,
        f"Note {number}, “{alteration.title}”, was written under its rule {note.rule} and is now done by rule "
        f"{alteration.version}; look whether the pieces are still as you fitted them.",
        note=note.id,
    )


def _length_finding(redrawn: Garment, piece_id: str, edge_id: str, was: float, now: float | None) -> list[Finding]:
    if now is None:
        says = f"When it was saved, piece “{piece_id}” had an edge “{edge_id}” of {was:.1f} mm; now it has none."
        return [Finding("length-changed", Level.WARN, says, piece_id if _has(redrawn, piece_id) else None)]
    difference = round(now - was, 3)
    if abs(difference) <= REOPEN_MM:
        return []
    piece = redrawn.piece(piece_id)
    name = piece.edge(edge_id).name
    more = "longer" if difference > 0 else "shorter"
    says = f"“{name}” of “{piece.name}” is now {abs(difference):.2f} mm {more} than when it was saved ({was:.1f} mm)."
    return [Finding("length-changed", Level.WARN, says, piece_id, place=piece.edge(edge_id).start)]


def _has(garment: Garment, piece_id: str) -> bool:
    return any(piece.id == piece_id for piece in garment.pieces)
