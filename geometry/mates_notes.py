"""The joined piece's own note: what was done to one piece at a level is done to every piece joined to it there.

After The Dressmaker, c. 1911-16, "Use of patterns".
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from geometry.alterations import find
from geometry.garments import EdgeRef, Garment, Seam
from geometry.matters import Bench
from geometry.notes import Note, Target
from geometry.pipeline import Walked
from geometry.stages import Step
from geometry.truing_acts import Act, whole_out

#: Body regions whose alterations go round the body at one level.
_LEVEL_REGIONS = ("length", "width", "armhole", "neckline", "shoulder", "waist and seat")
#: A note that offers itself to the mate takes at least this share off what is out, one that does not takes more.
_OFFERED_TAKES, _SAME_TAKES = 0.05, 0.6
#: A note is carried over to the pieces beyond the mate no more often than this.
_MOST_BEYOND = 3


def own_acts(bench: Bench, seam: Seam) -> Iterator[Act]:
    """The notes that put a seam out, done to its other side as well: as they offer it, else as they stand."""
    rank = 0.0
    written = {(note.alteration, note.amounts, note.targets) for note in bench.notes}
    for step in bench.now.followed.steps:
        offered = [(*one, _OFFERED_TAKES) for one in _offered(step, seam) if one[1].alteration == step.note.alteration]
        same = [(*one, _SAME_TAKES) for one in _same(bench.garment, step, seam)]
        for says, note, takes in (*offered, *same) if step.done else ():
            if (note.alteration, note.amounts, note.targets) not in written:
                act = _as_far_as_needed(bench, seam, rank, says, replace(note, id=bench.next_id()))
                yield replace(act, takes=takes)
                rank += 0.01


def other_offers(bench: Bench, seam: Seam) -> Iterator[Act]:
    """What the notes offer to a piece of this seam by another alteration, as a band made to fit its neckline."""
    for step in bench.now.followed.steps:
        for says, note in _offered(step, seam) if step.done else ():
            if note.alteration != step.note.alteration:
                act = _act(seam, -0.5, says, replace(note, id=bench.next_id()))
                # Half an answer is left to be solved whole.
                yield replace(act, measure=lambda found: float(whole_out(found, seam) != 0.0))


def _act(seam: Seam, rank: float, says: str, note: Note) -> Act:
    return Act(rank, lambda x: note, lambda x: says, lambda found: whole_out(found, seam))


def _as_far_as_needed(bench: Bench, seam: Seam, rank: float, says: str, note: Note) -> Act:
    """A note carried on to the pieces beyond the mate where it only passes the fault on to the next seam."""
    before = {matter.about for matter in bench.matters()}
    longer, also = note, list[str]()
    for _ in range(_MOST_BEYOND):
        found = bench.tried([longer])
        if found is None or bench.weight(found) < bench.weight():
            break
        further = _beyond(bench, found, before, longer)
        if not further:
            break
        longer = replace(longer, targets=(*longer.targets, *further))
        also += [f"“{bench.garment.piece(target.piece).name}”" for target in further]
    if not also or found is None:
        return _act(seam, rank, says, note)
    return _act(seam, rank, f"{says}, and to {' and '.join(also)}", longer)


def _beyond(bench: Bench, found: Walked, before: set[str], note: Note) -> tuple[Target, ...]:
    """Targets on the pieces that seams newly put out join to those of a note; none that any such note was done to."""
    if find(note.alteration).aims_at == "edges":
        return ()
    done = {t.piece for one in (*bench.notes, note) if one.alteration == note.alteration for t in one.targets}
    new = [m.about.removeprefix("seam:") for m in bench.matters(found) if m.about not in before]
    reached: dict[str, None] = {}
    for seam in bench.garment.seams:
        pieces = dict.fromkeys(ref.piece for ref in (*seam.first, *seam.second))
        if seam.id in new and any(target.piece in pieces for target in note.targets):
            reached |= {piece: None for piece in pieces if piece not in done}
    return tuple(Target(piece) for piece in reached)


def _offered(step: Step, seam: Seam) -> Iterator[tuple[str, Note]]:
    """What a note offers to pieces of a seam that it was not done to itself."""
    done = {target.piece for target in step.note.targets}
    pieces = {ref.piece for ref in (*seam.first, *seam.second)}
    for offer in step.offers:
        reached = {target.piece for target in offer.targets}
        if pieces & reached and not reached & done:
            alteration = find(offer.alteration)
            yield offer.says, Note("", alteration.name, offer.amounts, offer.targets, rule=alteration.version)


def _same(garment: Garment, step: Step, seam: Seam) -> Iterator[tuple[str, Note]]:
    """The same note done to the other side of a seam, where it was done to one side only."""
    alteration = find(step.note.alteration)
    targets = step.note.targets
    if alteration.region not in _LEVEL_REGIONS or any(t.across is not None or t.line is not None for t in targets):
        return
    done = {target.piece for target in targets}
    for side, others in ((seam.first, seam.second), (seam.second, seam.first)):
        if any(ref.piece in done for ref in side) and not any(ref.piece in done for ref in others):
            new = _mates(targets, side, others, alteration.aims_at == "edges")
            names = " and ".join(dict.fromkeys(f"“{garment.piece(target.piece).name}”" for target in new))
            yield f"Do “{alteration.title}” to {names} as well", replace(step.note, id="", targets=new)


def _mates(
    targets: Sequence[Target], side: Sequence[EdgeRef], others: Sequence[EdgeRef], by_edge: bool
) -> tuple[Target, ...]:
    """Targets on the other side of a seam, with the amount that the first side had."""
    amount = next((t.amount for t in targets if t.piece in {ref.piece for ref in side}), None)
    mates = dict.fromkeys((ref.piece, ref.edge if by_edge else None) for ref in others)
    return tuple(Target(piece, edge=edge, amount=amount) for piece, edge in mates)
