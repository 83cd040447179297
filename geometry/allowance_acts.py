"""What puts an allowance right: cut as narrow as the piece bears, or as wide as the one that it is sewn to."""

from __future__ import annotations

import math
from collections.abc import Iterator

from geometry.allowances import differing_pairs, sewn_pairs
from geometry.findings import Finding
from geometry.garments import EdgeRef, Garment
from geometry.matters import MM, Bench, Cure
from geometry.notes import Note, Target
from geometry.pipeline import draft
from geometry.readings import mm_words
from geometry.tolerances import MEET_MM
from geometry.truing_acts import note_of

#: Allowances go by this, and are not cut narrower than the least: less does not hold a seam (mm; common practice).
_STEP_MM, LEAST_MM = 0.5, 3.0


def allowance_cure(bench: Bench, key: str) -> Cure | None:
    """The widest allowance that the piece bears where it was too wide; None where it bears less than a seam needs."""
    found = next((one for one in _doubts(bench, ()) if one.cure == key), None)
    if found is None or found.piece is None:
        return None
    garment = bench.now.blended.garment
    edges = [EdgeRef(found.piece, edge) for edge in found.edges if not garment.piece(found.piece).edge(edge).on_fold]
    choice = edges
    width = _widest(bench, found, choice)
    if not width:
        return None
    # Only what has to be cut narrower is.
    for ref in reversed(edges):
        rest = [one for one in choice if one != ref]
        choice = rest if rest and _bears(bench, found, rest, width) else choice
    wide = max(garment.width(garment.edge(ref)) for ref in choice)
    note = _narrower(bench, choice, width)
    says = f"Cut {_names(garment, note)} with an allowance of {mm_words(width)}, as wide as it bears"
    return Cure(says, (note,), wide - width, MM)


def _widest(bench: Bench, doubt: Finding, edges: list[EdgeRef]) -> float:
    """The widest allowance, narrower than now, that leaves nothing doubtful at these edges; 0 where there is none."""
    garment = bench.now.blended.garment
    wide = max((garment.width(garment.edge(ref)) for ref in edges), default=0.0)
    low, high = 0, math.ceil((wide - LEAST_MM) / _STEP_MM) - 1
    if high < 0 or not _bears(bench, doubt, edges, LEAST_MM):
        return 0.0
    while low < high:
        middle = (low + high + 1) // 2
        bears = _bears(bench, doubt, edges, LEAST_MM + _STEP_MM * middle)
        low, high = (middle, high) if bears else (low, middle - 1)
    return LEAST_MM + _STEP_MM * low


def widths_cure(bench: Bench, key: str) -> Cure | None:
    """A seam cut alike all along: as the edge that a note changed, else as the wider; None where neither lies well."""
    garment = bench.now.blended.garment
    found = next((one for one in differing_pairs(garment) if one[0] == key), None)
    if found is None:
        return None
    _, seam, *pair = found
    widths = [garment.width(garment.edge(ref)) for ref in pair]
    traced = [bench.garment.width(bench.garment.edge(ref)) for ref in pair]
    changed = [abs(now - was) > MEET_MM for now, was in zip(widths, traced, strict=True)]
    first = widths[changed.index(True)] if sum(changed) == 1 else max(widths)
    doubts, differing = {one.cure for one in _doubts(bench, ())}, len(list(differing_pairs(garment)))
    for width in sorted(widths, key=lambda width: width != first):
        refs = [ref for ref in (*seam.first, *seam.second) if _differs(garment, ref, width)]
        note = _note(bench, refs, width)
        walked = bench.tried([note])
        if walked is None or len(list(differing_pairs(walked.blended.garment))) >= differing:
            continue
        if {one.cure for one in _doubts(bench, (note,))} <= doubts and bench.cuts_well([note]):
            says = f"Cut {_names(garment, note)} with an allowance of {mm_words(width)} as well"
            return Cure(says, (note,), abs(widths[0] - widths[1]), MM)
    return None


def _differs(garment: Garment, ref: EdgeRef, width: float) -> bool:
    now = garment.width(garment.edge(ref))
    return now > 0 and abs(now - width) > MEET_MM


def _names(garment: Garment, note: Note) -> str:
    """The edges that a note names, piece by piece."""
    pieces: dict[str, list[str]] = {}
    for one in note.targets:
        piece = garment.piece(one.piece)
        pieces.setdefault(piece.name, []).append(f"“{piece.edge(one.edge or '').name}”")
    return ", and ".join(f"{' and '.join(edges)} of “{name}”" for name, edges in pieces.items())


def _doubts(bench: Bench, more: tuple[Note, ...]) -> Iterator[Finding]:
    found = draft(bench.garment, (*bench.notes, *more), bench.memory)
    return (one for one in found.findings if one.cure is not None and one.cure.startswith("allowance:"))


def _bears(bench: Bench, doubt: Finding, edges: list[EdgeRef], width: float) -> bool:
    """Whether a width leaves nothing doubtful at these edges, and no more of it elsewhere."""
    before = {one.cure for one in _doubts(bench, ())}
    after = [*_doubts(bench, (_narrower(bench, edges, width),))]
    here = any(one.piece == doubt.piece and set(one.edges) & set(doubt.edges) for one in after)
    return not here and {one.cure for one in after} <= before


def _narrower(bench: Bench, edges: list[EdgeRef], width: float) -> Note:
    """The edges that are wider cut with a width, and what is sewn to them with the allowance that they had."""
    garment = bench.now.blended.garment
    wider = [ref for ref in edges if garment.width(garment.edge(ref)) > width + MEET_MM]
    return _note(bench, [*wider, *_mates(garment, wider)], width)


def _note(bench: Bench, refs: list[EdgeRef], width: float) -> Note:
    targets = dict.fromkeys(Target(ref.piece, edge=ref.edge) for ref in refs)
    return note_of(bench.next_id(), "allowance_width", list(targets), width=width)


def _mates(garment: Garment, edges: list[EdgeRef]) -> Iterator[EdgeRef]:
    wide = {(ref.piece, ref.edge): garment.width(garment.edge(ref)) for ref in edges}
    for seam in garment.seams:
        for pair in sewn_pairs(garment, seam):
            for mine, other in (pair, pair[::-1]):
                width = wide.get((mine.piece, mine.edge))
                if width is not None and abs(garment.width(garment.edge(other)) - width) <= MEET_MM:
                    yield EdgeRef(other.piece, other.edge)
