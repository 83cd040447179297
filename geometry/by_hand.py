"""How a note is done with paper, ruler, pencil and tape: the steps of every piece that it changes.

Each alteration may tell its own steps; what is common to all stands here: the grainline before the paper is cut, the
jogged edges drawn smooth, notches, and the seams walked at the end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from geometry.alterations import find
from geometry.alterations.base import Alteration
from geometry.cuts import cuts_kept
from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment
from geometry.hand_cuts import grainline_through
from geometry.hand_places import whole
from geometry.hand_ways import cut_and_drawn
from geometry.handwork import HandStep, Ink, Inked, Measure, Phrase, Sketch, Stage, Taken, Work, apart, phrase
from geometry.motions import Point
from geometry.notes import Note
from geometry.pieces import Edge, Piece, RunKind
from geometry.pipeline import Draft, draft
from geometry.sameness import same

#: A redrawn line this near to the old corners runs on without a step (mm).
_SMOOTH_MM = 0.05
#: A join is seen from near with this much round it (mm).
_LOOK_MM = 35.0


@dataclass(frozen=True, eq=False)
class PieceByHand:
    """The steps of one piece, in order."""

    piece: Piece
    steps: tuple[HandStep, ...]


@dataclass(frozen=True, eq=False)
class ByHand:
    """How one note is done by hand, piece by piece."""

    note: Note
    title: str
    pieces: tuple[PieceByHand, ...]


def by_hand(garment: Garment, notes: Sequence[Note], note_id: str) -> ByHand:
    """The steps of one of a garment's notes, on the pieces as the notes before it left them.

    Raises PatternError when there is no such note, when it is switched off and when it cannot be done.
    """
    places = [index for index, note in enumerate(notes) if note.id == note_id]
    if not places:
        raise PatternError(f"There is no note “{note_id}”; there are {', '.join(n.id for n in notes) or 'none'}.")
    drafted = draft(garment, notes[: places[0] + 1])
    step = drafted.followed.steps[-1]
    alteration = find(step.note.alteration)
    if not step.note.on:
        raise PatternError(f"“{alteration.title}” is switched off; switch it on to see how it is done by hand.")
    if not step.done:
        raise PatternError(step.findings[0].says)
    with cuts_kept() as cuts:
        made = alteration.do(step.before, step.note.amounts, step.note.targets, step.note.id).garment
    found = []
    for before in step.before.pieces:
        after = made.piece(before.id)
        if after is before or same(after, before):
            continue
        mine = tuple(cut for cut in cuts if cut.piece.id == before.id)
        target = next((t for t in step.note.targets if t.piece == before.id), None)
        work = Work(before, after, mine, step.note.amounts, target, step.before, made)
        found.append(PieceByHand(before, tuple(_steps(alteration, work, drafted, step.note.id))))
    return ByHand(step.note, alteration.title, tuple(found))


def _steps(alteration: Alteration, work: Work, drafted: Draft, note: str) -> list[HandStep]:
    own = list(alteration.steps(work)) if alteration.steps is not None else cut_and_drawn(work)
    first = grainline_through(work) if work.cuts else []
    return [*first, *own, *_drawn_smooth(work, drafted, note), *_traced(work, drafted), *_walked(work, drafted)]


def _drawn_smooth(work: Work, drafted: Draft, note: str) -> list[HandStep]:
    """The edges that the note left jogged, drawn smooth over their joins."""
    redrawn = drafted.redrawn.piece(work.after.id)
    steps = []
    for edge in work.after.edges:
        corners = _corners_of_jogs(edge, note)
        new = redrawn.edge(edge.id)
        if not corners:
            continue
        places = [(corner, new.chain.point(new.chain.nearest(corner)[0])) for corner in corners]
        corner, place = max(places, key=lambda one: math.dist(*one))
        ruler = "ruler" if new.chain.turning_deg < 0.5 else "curve ruler"
        off = apart(corner, place)
        line = f"Draw the {edge.name} smooth over the join with the {ruler}"
        says = phrase(line, ", at most ", off, " off the corners of the step.")
        if off.mm <= _SMOOTH_MM:
            length = Measure(new.length, Taken.LENGTH, (), redrawn.id, new.id, "", Stage.REDRAWN)
            says = phrase(line, "; it is ", length, " long.")
        drawn = Sketch((Inked(Ink.DRAW, new.chain),), look=_round(corners))
        steps.append(HandStep(says, whole(work.after) + drawn, "after"))
    return steps


def _round(places: Sequence[Point]) -> tuple[Point, ...]:
    return tuple((x + sign * _LOOK_MM, y + sign * _LOOK_MM) for x, y in places for sign in (-1, 1))


def _corners_of_jogs(edge: Edge, note: str) -> list[Point]:
    found = []
    for before, after, joint in zip(edge.runs, edge.runs[1:], edge.joints, strict=False):
        if joint is not None and joint.note == note and RunKind.MOUTH not in (before.kind, after.kind):
            found += [before.chain.end, after.chain.start]
    return found


def _traced(work: Work, drafted: Draft) -> list[HandStep]:
    count = len(work.before.notches)
    words = {0: "", 1: "copy the notch and ", 2: "copy both notches and "}
    copied = words.get(count, f"copy all {count} notches and ")
    says = phrase(f"{copied}trace “{work.before.name}” on fresh paper with its grainline.")
    return [HandStep(says, whole(drafted.redrawn.piece(work.after.id)), "after")]


def _walked(work: Work, drafted: Draft) -> list[HandStep]:
    """The seams of the edges that changed, walked along what they are sewn to."""
    garment, steps = drafted.redrawn, []
    new = garment.piece(work.before.id)
    seen: set[str] = set()
    for edge in work.before.edges:
        if not _changed(edge, new.edge(edge.id)):
            continue
        for seam in garment.seams_of(work.before.id, edge.id):
            if seam.id in seen:
                continue
            seen.add(seam.id)
            first, second = _sewn(garment, seam.first), _sewn(garment, seam.second)
            says = phrase(f"Walk the {seam.name}: ", first, " along ", second, ".")
            draw = Sketch((Inked(Ink.DRAW, new.edge(edge.id).chain),))
            steps.append(HandStep(says, whole(new) + draw, "after"))
    return steps


def _changed(old: Edge, new: Edge) -> bool:
    """True where an edge is another line than before, and not the same one moved or turned."""
    if new is old:
        return False
    if abs(new.length - old.length) > _SMOOTH_MM:
        return True
    shares = [0.25, 0.5, 0.75]
    spans = [
        [math.dist(edge.start, edge.chain.point(edge.chain.at_length(share * edge.chain.length))) for share in shares]
        for edge in (old, new)
    ]
    return max(abs(a - b) for a, b in zip(*spans, strict=True)) > _SMOOTH_MM


def _sewn(garment: Garment, side: Sequence[EdgeRef]) -> Phrase:
    """The edges of one side of a seam, each with its piece and its length."""
    found: list[str | Measure] = []
    for ref in side:
        length = Measure(garment.edge(ref).length, Taken.LENGTH, (), ref.piece, ref.edge, "", Stage.REDRAWN)
        found += [" and " if found else "", f"“{garment.piece(ref.piece).name}” ", length]
    return phrase(found)
