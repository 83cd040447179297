"""The whole chain, forward only: traced garment and notes -> redrawn, walked, cut; every stage kept."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from geometry.allowances import cut_kept, cut_piece, differing_widths, lines_moved
from geometry.alterations import find
from geometry.blending import blend_piece
from geometry.corners import CornerWalk, corner_findings, walk_corners
from geometry.dart_legs import DartWalk, dart_findings, walk_darts
from geometry.findings import Finding, Level
from geometry.following import follow, take_step
from geometry.garments import Garment
from geometry.getting_in import getting_in
from geometry.grown_on import facings_followed
from geometry.memory import Memory
from geometry.notes import Note
from geometry.pieces import Piece
from geometry.rings import Passage, passages
from geometry.stages import Blended, BlendedPiece, CutPiece, Followed, SeamWalk, Step
from geometry.truing import seam_finding, since, walk

__all__ = ["Draft", "Memory", "Walked", "draft", "preview", "walked"]


@dataclass(frozen=True, eq=False)
class Draft:
    """Everything computed from a traced garment and its notes. Pieces by id in the mappings.

    What is only told (seams walked, corners, findings) is reckoned when it is first asked for. ``kept`` says where a
    note left the cut edge as it was; ``opened`` is said first; no seam is walked in a ``preview``.
    """

    garment: Garment
    followed: Followed
    blended: Blended
    cut_before: Mapping[str, CutPiece]
    cut: Mapping[str, CutPiece]
    before: tuple[SeamWalk, ...]
    corners_before: tuple[CornerWalk, ...]
    kept: tuple[Finding, ...] = ()
    opened: tuple[Finding, ...] = ()
    preview: bool = False

    @property
    def redrawn(self) -> Garment:
        """The garment as redrawn and blended."""
        return self.blended.garment

    @property
    def after(self) -> tuple[SeamWalk, ...]:
        """Every seam walked on the garment redrawn."""
        return self._walked[0]

    @cached_property
    def corners(self) -> tuple[CornerWalk, ...]:
        """The corners of the garment redrawn, where two pieces run on into each other."""
        return () if self.preview else walk_corners(self.redrawn)

    @cached_property
    def passages(self) -> tuple[Passage, ...]:
        """The closed rings of the garment redrawn that a part of the body has to pass."""
        return () if self.preview else passages(self.redrawn)

    @cached_property
    def darts(self) -> tuple[DartWalk, ...]:
        """The legs of every dart of the garment redrawn."""
        return () if self.preview else walk_darts(self.redrawn)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding, in the order of the stages."""
        return (
            *self.opened,
            *(f for s in self.followed.steps for f in s.findings),
            *(f for one in self.blended.pieces.values() for f in one.findings),
            *self._walked[1],
            *(() if self.preview else getting_in(self.followed, self.passages)),
            *(() if self.preview else corner_findings(self.corners_before, self.corners)),
            *dart_findings(() if self.preview else walk_darts(self.garment), self.darts),
            *(() if self.preview else differing_widths(self.redrawn)),
            *self.kept,
            *(f for one in self.cut.values() for f in one.findings),
        )

    @cached_property
    def _walked(self) -> tuple[tuple[SeamWalk, ...], list[Finding]]:
        return ((), []) if self.preview else _walk_after(self.followed, self.redrawn, self.before)


@dataclass(frozen=True, eq=False)
class Walked:
    """A garment redrawn and walked, without its allowances: what trying a note needs."""

    followed: Followed
    blended: Blended
    seams: tuple[SeamWalk, ...]
    corners: tuple[CornerWalk, ...]
    darts: tuple[DartWalk, ...]


def walked(garment: Garment, notes: Sequence[Note], memory: Memory) -> Walked:
    """The notes followed, edges blended, seams, corners and darts walked; seams do not say since which note."""
    followed = _follow(garment, notes, memory)
    blended = _blend(followed, notes, memory)
    redrawn = blended.garment
    return Walked(followed, blended, walk(redrawn, "after"), walk_corners(redrawn), walk_darts(redrawn))


def draft(garment: Garment, notes: Sequence[Note], memory: Memory | None = None) -> Draft:
    """Follow the notes, blend, walk the seams and put the allowances on. ``memory`` spares what did not change."""
    memory = memory or Memory()
    followed = _follow(garment, notes, memory)
    blended = _blend(followed, notes, memory)
    before = memory.recall("walk", (garment,), "before", lambda: walk(garment, "before"))
    traced_corners = memory.recall("corners", (garment,), None, lambda: walk_corners(garment))
    cut_before = memory.recall("cut as traced", (garment,), None, lambda: _cut_as_traced(garment, memory))
    cut_garment, kept = _cut_garment(followed, memory)
    redrawn = blended.garment
    anew = [one for one in redrawn.pieces if not memory.holds("cut", (one, redrawn.seams, redrawn.widths), None)]
    if cut_garment is followed.garment and len(anew) > 1:
        lines_moved(redrawn, anew, memory.recall)
    cut = {p.id: _cut_as_kept(followed, blended, cut_garment, p.id, notes, memory) for p in garment.pieces}
    return Draft(garment, followed, blended, cut_before, cut, before, traced_corners, tuple(kept))


def preview(garment: Garment, notes: Sequence[Note], piece_id: str, memory: Memory) -> Draft:
    """A draft of one piece alone, to be looked at while a number is dragged.

    The other pieces are not blended or cut, and no seam is walked; the same memory then spares ``draft`` this part.
    """
    followed = _follow(garment, notes, memory)
    choices = {note.id: note.blend for note in notes}
    one = _blend_one(followed.garment.piece(piece_id), garment.piece(piece_id), choices, memory)
    blended = Blended(followed.garment.with_piece(one.piece), {piece_id: one})
    cut_before = {piece_id: _cut(garment, BlendedPiece(garment.piece(piece_id)), memory)}
    cut_garment, _ = _cut_garment(followed, memory)
    cut = {piece_id: _cut_as_kept(followed, blended, cut_garment, piece_id, notes, memory)}
    return Draft(garment, followed, blended, cut_before, cut, (), (), preview=True)


def _follow(garment: Garment, notes: Sequence[Note], memory: Memory) -> Followed:
    def step(now: Garment, note: Note) -> Step:
        return memory.recall("note", (now, note), None, lambda: take_step(now, note, memory.recall))

    return follow(garment, notes, step, memory.recall)


def _blend(followed: Followed, notes: Sequence[Note], memory: Memory) -> Blended:
    choices = {note.id: note.blend for note in notes}
    pieces: dict[str, BlendedPiece] = {}
    for piece in followed.garment.pieces:
        pieces[piece.id] = _blend_one(piece, followed.traced.piece(piece.id), choices, memory)
    return Blended(followed.garment.with_pieces(one.piece for one in pieces.values()), pieces)


def _blend_one(piece: Piece, traced: Piece, choices: Mapping[str, Any], memory: Memory) -> BlendedPiece:
    chosen = {note: choices[note] for note in piece.jogged_by if note in choices}

    def make() -> BlendedPiece:
        blended = blend_piece(piece, chosen, traced=traced, recall=memory.recall)
        followed, findings = facings_followed(blended.piece, traced)
        return dataclasses.replace(blended, piece=followed, said=(*blended.said, *findings))

    return memory.recall("blend", (piece, traced), tuple(chosen.items()), make)


def _cut_garment(followed: Followed, memory: Memory) -> tuple[Garment, list[Finding]]:
    """The garment whose allowances are cut: as redrawn, but with every seam where it was when it was cut.

    A note that cannot be done to the cut edge leaves it as it is, with a finding.
    """
    if all(find(step.note.alteration).on_cut is None for step in followed.steps if step.done):
        return followed.garment, []
    now, findings = followed.traced, []
    for step in (step for step in followed.steps if step.done):

        def follow_one(garment: Garment = now, note: Note = step.note) -> Step:
            return take_step(garment, note, memory.recall, on_cut=True)

        cut = memory.recall("note on the cut", (now, step.note), None, follow_one)
        now = cut.after
        for one in () if cut.done else cut.findings:
            says = f"The cut edge stays as it was. {one.says}"
            findings.append(Finding("cut-edge-kept", Level.WARN, says, one.piece, one.note, one.place))
    return now, findings


def _cut_as_kept(
    followed: Followed, blended: Blended, cut_garment: Garment, piece_id: str, notes: Sequence[Note], memory: Memory
) -> CutPiece:
    """A piece with its cutting line, which stays where it was cut when a seam is sewn elsewhere."""
    one, cut = blended.pieces[piece_id], cut_garment.piece(piece_id)
    if cut is followed.garment.piece(piece_id):
        return _cut(blended.garment, one, memory)
    choices = {note.id: note.blend for note in notes}
    kept = _blend_one(cut, followed.traced.piece(piece_id), choices, memory)

    def make() -> CutPiece:
        return cut_kept(blended.garment, one, cut_garment, kept, memory.recall)

    return memory.recall("cut", (one.piece, kept.piece, cut_garment.seams, cut_garment.widths), None, make)


def _cut_as_traced(garment: Garment, memory: Memory) -> dict[str, CutPiece]:
    return {piece.id: _cut(garment, BlendedPiece(piece), memory) for piece in garment.pieces}


def _cut(garment: Garment, blended: BlendedPiece, memory: Memory) -> CutPiece:
    return memory.recall(
        "cut",
        (blended.piece, garment.seams, garment.widths),
        None,
        lambda: cut_piece(garment, blended, memory.recall),
    )


def _walk_after(
    followed: Followed, redrawn: Garment, before: tuple[SeamWalk, ...]
) -> tuple[tuple[SeamWalk, ...], list[Finding]]:
    order = {step.note.id: str(number) for number, step in enumerate(followed.steps, 1)}
    walked: list[SeamWalk] = []
    findings: list[Finding] = []
    for was, now in zip(before, walk(redrawn, "after"), strict=True):
        note = since(followed, was, now)
        words = "so in the tracing" if note == "traced" else f"since note {order[note]}"
        finding = seam_finding(redrawn, now, note, words)
        walked.append(dataclasses.replace(now, since=note, findings=(finding,) if finding else ()))
        findings.extend(walked[-1].findings)
    return tuple(walked), findings
