"""Following a list of notes: each reads the garment as the notes before it left it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence

from geometry.alterations import find
from geometry.alterations.base import Alteration, Done, remembering
from geometry.alterations.recut_a_band import offered
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.memory import Recall, computed_anew
from geometry.notes import Note
from geometry.readings import mm_words
from geometry.stages import Followed, Offer, Step

StepFunction = Callable[[Garment, Note], Step]


def follow(
    garment: Garment, notes: Sequence[Note], step: StepFunction | None = None, recall: Recall = computed_anew
) -> Followed:
    """The garment after its notes, in order; ``step`` may be a remembering stand-in for ``take_step``."""
    take = step or take_step
    steps: list[Step] = []
    now = garment
    for note in notes:
        steps.append(take(now, note))
        now = steps[-1].after
    bands = offered(garment, now, steps, recall)
    told = (_with_offers(one, notes[at:], notes, bands.get(one.note.id, ())) for at, one in enumerate(steps))
    return Followed(garment, now, tuple(told))


def take_step(garment: Garment, note: Note, recall: Recall = computed_anew, *, on_cut: bool = False) -> Step:
    """One note followed; with ``on_cut`` what it does to the line that is cut along.

    A note that cannot be done leaves the garment as it is and says why in a finding. What it makes of a piece that
    is the same object as before is recalled.
    """
    if not note.on:
        return Step(note, garment, garment, False)
    try:
        alteration = find(note.alteration)
        if not note.targets:
            raise PatternError("Say on which pieces it is to be done.")
        with remembering(recall, (note.alteration, note.amounts, note.id)):
            do = alteration.on_cut if on_cut and alteration.on_cut is not None else alteration.do
            done = do(garment, note.amounts, note.targets, note.id)
    except PatternError as error:
        return Step(note, garment, garment, False, findings=(_not_done(garment, note, error),))
    return Step(note, garment, done.garment, True, done.strips, done.findings, done.readings, done.offers)


def _with_offers(step: Step, later: Sequence[Note], notes: Sequence[Note], bands: tuple[Offer, ...]) -> Step:
    """An offer that stands among the notes already is not made again, that of a band where it stands after the step."""
    left = _not_among(step.offers, notes)
    asked = {(offer.alteration, offer.targets) for offer in left}
    left += [offer for offer in _not_among(bands, later) if (offer.alteration, offer.targets) not in asked]
    return step if tuple(left) == step.offers else dataclasses.replace(step, offers=tuple(left))


def _not_among(offers: Sequence[Offer], notes: Sequence[Note]) -> list[Offer]:
    if not offers:
        return []
    return [offer for offer in offers if not any(_offers(offer, note) for note in notes)]


def _offers(offer: Offer, note: Note) -> bool:
    """Whether a note is what an offer would add."""
    return note.alteration == offer.alteration and note.amounts == offer.amounts and note.targets == offer.targets


def largest_that_fits(garment: Garment, note: Note, alteration: Alteration) -> float | None:
    """The largest main amount (mm, to 0.5 downwards) below the note's own that can be done, None when none can."""
    if alteration.main is None or any(target.amount is not None for target in note.targets):
        return None
    low, high = 0.0, float(getattr(note.amounts, alteration.main))
    for _ in range(9):
        middle = (low + high) / 2
        if _can(garment, note, alteration, middle) is not None:
            low = middle
        else:
            high = middle
    fitting = int(low * 2) / 2
    return fitting if fitting > 0 else None


def _can(garment: Garment, note: Note, alteration: Alteration, amount: float) -> Done | None:
    try:
        smaller = dataclasses.replace(note.amounts, **{str(alteration.main): amount})
        return alteration.do(garment, smaller, note.targets, note.id)
    except PatternError:
        return None


def _not_done(garment: Garment, note: Note, error: PatternError) -> Finding:
    says = f"Not done: {error.says}"
    try:
        alteration = find(note.alteration)
        fits = largest_that_fits(garment, note, alteration) if note.targets else None
    except PatternError:
        fits = None
    if fits is not None:
        says += f" The largest amount that fits is {mm_words(fits)}."
    return Finding("note-not-done", Level.WARN, says, error.piece, note.id, error.point)
