"""What puts a finding right: for everything that walking found, the notes that can be added with one act.

First the joined piece's own note, the same alteration done where its mate had it; walked again; then the remainder
solved on the garment as it is really redrawn. What does not make it better is not proposed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from geometry.allowance_acts import allowance_cure, widths_cure
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.mates_notes import other_offers, own_acts
from geometry.matters import MM, Bench, Matter
from geometry.memory import Memory
from geometry.notes import Note
from geometry.opening_acts import ring_cure
from geometry.pieces import Piece
from geometry.pipeline import Walked
from geometry.stages import SeamWalk, Step
from geometry.truing_acts import Act, corner_acts, dart_acts, last_acts, length_acts, notch_acts

#: One proposal holds no more notes than this.
_MOST_NOTES = 6
#: Amounts are solved until what is left is less than this (mm, or degrees), and rounded where this much may be left.
_SOLVED, _ROUNDED = 0.02, 0.3
_MOST_TRIES = 9
#: Weights this near to each other count as equal, and the usual way goes first (mm).
_ALIKE_MM = 0.4
#: What is not walked, by the first word of what it is about.
_CURES = {"ring": ring_cure, "allowance": allowance_cure, "widths": widths_cure}


@dataclass(frozen=True)
class Proposal:
    """Notes that put something right: what it is ``about``, what they do in words, how far out it was and will be.

    ``before`` and ``after`` are in ``unit``, mm or degrees.
    """

    about: str
    says: str
    notes: tuple[Note, ...]
    before: float
    after: float
    unit: str = MM


def propose(
    garment: Garment, notes: Sequence[Note], finding: Finding, number: int, memory: Memory | None = None
) -> Proposal | None:
    """What puts a finding of this draft right; None where it is about nothing that a note changes, or nothing helps.

    ``number`` is the highest number that a note's id ever had; the new notes are numbered on from it.
    """
    about = finding.about or finding.cure
    if about is None:
        return None
    return proposal(Bench(garment, notes, number, memory or Memory(2000)), about)


def proposal(bench: Bench, about: str) -> Proposal | None:
    """The same for what is open about one seam, corner or dart, one ring, or the allowance of an edge."""
    if (look := _CURES.get(about.partition(":")[0])) is not None:
        cure = look(bench, about)
        return None if cure is None else Proposal(about, cure.says, cure.notes, cure.out, 0.0, cure.unit)
    first = bench.matter(about)
    if first is None:
        return None
    said: list[str] = []
    added: list[Note] = []
    now = bench
    matter: Matter | None = first
    while matter is not None and len(added) < _MOST_NOTES:
        found = _step(now, matter)
        if found is None:
            break
        note, says = found
        said.append(says)
        added.append(note)
        now = now.with_notes([note])
        matter = now.matter(about)
    if not added:
        return None
    words = "; then ".join(text if i == 0 else text[:1].lower() + text[1:] for i, text in enumerate(said))
    return Proposal(about, words, tuple(added), first.out, 0.0 if matter is None else matter.out, first.unit)


def _step(bench: Bench, matter: Matter) -> tuple[Note, str] | None:
    """The next note about a matter: the joined piece's own, else the act that leaves least open."""
    kind, _, which = matter.about.partition(":")
    if kind == "corner":
        corner = next(one for one in bench.now.corners if one.id == which)
        return _best(bench, Bench.weight, corner_acts(bench, corner))
    if kind == "dart":
        dart = next(one for one in bench.now.darts if one.key == matter.about)
        return _best(bench, Bench.weight, dart_acts(bench, dart))
    seam = next(one for one in bench.garment.seams if one.id == which)
    walk = next(one for one in bench.now.seams if one.seam == which)
    altered = _altered(bench.now, walk)
    if walk.whole_is_true:
        return _best(bench, Bench.weight, notch_acts(bench, seam, walk, altered))

    def weigh(bench: Bench, found: Walked | None = None) -> float:
        # The notches of a seam are moved once its length is true.
        return bench.weight(found, notches_of=which)

    return (
        _best(bench, weigh, own_acts(bench, seam), passing_on=True)
        or _best(bench, weigh, (*other_offers(bench, seam), *length_acts(bench, seam, walk, altered)))
        or _best(bench, weigh, last_acts(bench, seam, walk, altered))
    )


def _best(
    bench: Bench, weigh: Callable[..., float], acts: Iterable[Act], passing_on: bool = False
) -> tuple[Note, str] | None:
    """The act that leaves least open in all; of those alike the one with the lowest rank.

    With ``passing_on`` an act may also put right what it is about and put something else out: what is done to one
    piece is then done to the next one joined.
    """
    before = weigh(bench)
    helping: list[tuple[float, float, Note, str]] = []
    for act in sorted(acts, key=lambda act: act.rank):
        solved = _solved(bench, act)
        if solved is None:
            continue
        amount, found = solved
        weight = weigh(bench, found)
        left, was = act.left(found), act.left(bench.now)
        if left > (1 - act.takes) * was or (weight > before - _ALIKE_MM / 4 and not (passing_on and left == 0.0)):
            continue
        helping.append((_ALIKE_MM * round(weight / _ALIKE_MM), act.rank, act.note(amount), act.says(amount)))
        if weight < _ALIKE_MM / 2 and bench.cuts_well([act.note(amount)]):
            break
    for _, _, note, says in sorted(helping, key=lambda one: one[:2]):
        if bench.cuts_well([note]):
            return note, says
    return None


def _solved(bench: Bench, act: Act) -> tuple[float, Walked] | None:
    """The amount that brings an act's measure to nothing, and the garment walked with it; None where it cannot be done.

    Secants from nothing and the guess; where a note cannot be done so far, half of it is tried.
    """
    if act.guess is None:
        found = bench.tried([act.note(0.0)])
        return None if found is None else (0.0, found)
    x0, y0 = 0.0, act.measure(bench.now)
    x1 = act.guess
    best: tuple[float, float, Walked] | None = None
    for _ in range(_MOST_TRIES):
        found = _tried(bench, act, x1)
        if found is None:
            x1 = (x0 + x1) / 2
            continue
        y1 = act.measure(found)
        if abs(x1) > act.most:
            return None
        if best is None or abs(y1) < abs(best[1]):
            best = (x1, y1, found)
        if abs(y1) < _SOLVED or y1 == y0:
            break
        x0, y0, x1 = x1, y1, x1 - y1 * (x1 - x0) / (y1 - y0)
        if abs(x1 - x0) < 1e-4:
            break
    if best is None:
        return None
    for places in (1, 2):
        rounded = round(best[0], places)
        found = _tried(bench, act, rounded) if rounded else None
        if found is not None and abs(act.measure(found)) <= max(_ROUNDED, abs(best[1])):
            return rounded, found
    return None


def _tried(bench: Bench, act: Act, amount: float) -> Walked | None:
    """None too where the amount lies beyond the limits of its alteration."""
    try:
        return bench.tried([act.note(amount)])
    except PatternError:
        return None


def _altered(now: Walked, walk: SeamWalk) -> frozenset[str]:
    """The pieces of a seam that a note was done to."""
    pieces = {ref.piece for ref in (*walk.first, *walk.second)}
    changed = {p.id for step in now.followed.steps if step.done for p in _changed_by(step)}
    return frozenset(pieces & changed)


def _changed_by(step: Step) -> Iterator[Piece]:
    yield from (new for old, new in zip(step.before.pieces, step.after.pieces, strict=True) if old is not new)
