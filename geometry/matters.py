"""What is open after walking: seams, corners and darts that a note could put right, each with its size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometry.corners import CornerWalk, counts_as_pointing
from geometry.garments import Garment
from geometry.memory import Memory
from geometry.notes import Note
from geometry.pipeline import Walked, draft, walked
from geometry.stages import SeamWalk
from geometry.tolerances import TRUE_MM, VERDICT_STEP_MM

MM, DEGREES = "mm", "degrees"
#: A degree at a corner weighs as much as this length out in a seam: about what it moves the line (mm).
_DEGREE_MM = 0.25
_OPEN = ("notice", "warn", "fault")


@dataclass(frozen=True)
class Matter:
    """Something that does not sew: what it is ``about``, by how much it is out in its ``unit``, and its weight in mm.

    ``traced`` is True where it was so in the tracing already.
    """

    about: str
    name: str
    out: float
    unit: str
    weight: float
    traced: bool


@dataclass(frozen=True)
class Cure:
    """Notes that put right what is not walked: what they do in words, and how far ``out`` it was in its ``unit``."""

    says: str
    notes: tuple[Note, ...]
    out: float
    unit: str


class Bench:
    """A traced garment with notes already written, on which more notes are tried; what was walked is remembered."""

    def __init__(self, garment: Garment, notes: Sequence[Note], number: int, memory: Memory) -> None:
        """``number`` is the highest that a note's id ever had."""
        self.garment, self.notes, self.number, self.memory = garment, tuple(notes), number, memory
        self.traced = walked(garment, (), memory)
        self.now = walked(garment, self.notes, memory)

    def with_notes(self, more: Sequence[Note]) -> Bench:
        """The same with notes added for good."""
        return Bench(self.garment, (*self.notes, *more), self.number + len(more), self.memory)

    def next_id(self, further: int = 0) -> str:
        return f"note-{self.number + 1 + further}"

    def tried(self, more: Sequence[Note]) -> Walked | None:
        """The garment with more notes walked; None where one of them is not done or makes an edge worse than fair."""
        found = walked(self.garment, (*self.notes, *more), self.memory)
        added = {note.id for note in more}
        if any(step.note.id in added and not step.done for step in found.followed.steps):
            return None
        return found if _warnings(found) <= _warnings(self.now) else None

    def cuts_well(self, more: Sequence[Note]) -> bool:
        """Whether more notes leave no new warning about the cutting line or anything else that is not walked."""
        return self._other_warnings((*self.notes, *more)) <= self._other_warnings(self.notes)

    def _other_warnings(self, notes: Sequence[Note]) -> int:
        found = draft(self.garment, notes, self.memory).findings
        return sum(finding.level != "notice" and finding.about is None for finding in found)

    def matters(self, found: Walked | None = None) -> tuple[Matter, ...]:
        """Everything open, seams in the order of sewing first, then corners, then darts."""
        now = found or self.now
        was = {walk.seam: walk for walk in self.traced.seams}
        before = {corner.id: corner for corner in self.traced.corners}
        legs = {dart.key: dart for dart in self.traced.darts}
        matters = [_seam_matter(walk, was[walk.seam]) for walk in now.seams if walk.verdict in _OPEN]
        matters += [
            _corner_matter(corner, before.get(corner.id))
            for corner in now.corners
            if not corner.runs_on and not counts_as_pointing(corner, before.get(corner.id))
        ]
        for dart in now.darts:
            if not dart.equal:
                out = abs(dart.difference_mm)
                traced = dart.key in legs and out <= abs(legs[dart.key].difference_mm) + VERDICT_STEP_MM
                matters.append(Matter(dart.key, dart.name, out, MM, out, traced))
        return tuple(matters)

    def matter(self, about: str, found: Walked | None = None) -> Matter | None:
        """What is open about one seam, corner or dart; None where nothing is."""
        return next((matter for matter in self.matters(found) if matter.about == about), None)

    def weight(self, found: Walked | None = None, notches_of: str | None = None) -> float:
        """Everything open together, in mm; the notches of the seam ``notches_of`` are left out of it."""
        whole = sum(matter.weight for matter in self.matters(found))
        for walk in (found or self.now).seams:
            if walk.seam == notches_of and walk.verdict in _OPEN:
                whole -= sum(abs(s.outside_mm) for s in walk.stretches if abs(s.outside_mm) > TRUE_MM)
        return whole


def seam_out(walk: SeamWalk) -> float:
    """How far a seam is out in all (mm): from end to end, and in every stretch between its notches."""
    parts = [walk.outside_mm, *(stretch.outside_mm for stretch in walk.stretches)]
    return sum(abs(part) for part in parts if abs(part) > TRUE_MM)


def _seam_matter(walk: SeamWalk, traced: SeamWalk) -> Matter:
    worst = max([walk.outside_mm, *(stretch.outside_mm for stretch in walk.stretches)], key=abs)
    weight = seam_out(walk)
    return Matter(f"seam:{walk.seam}", walk.name, abs(worst), MM, weight, weight <= seam_out(traced) + VERDICT_STEP_MM)


def _corner_matter(corner: CornerWalk, traced: CornerWalk | None) -> Matter:
    out = abs(corner.off)
    as_traced = traced is not None and out <= abs(traced.off) + 0.05
    return Matter(corner.key, corner.name, out, DEGREES, _DEGREE_MM * out, as_traced)


def _warnings(found: Walked) -> int:
    said = [*(f for step in found.followed.steps for f in step.findings)]
    said += [f for one in found.blended.pieces.values() for f in one.findings]
    return sum(finding.level != "notice" for finding in said)
