"""True every seam: what walking found is put right one after the other, until nothing is open or nothing helps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from geometry.garments import Garment
from geometry.matters import DEGREES, Bench, Matter
from geometry.memory import Memory
from geometry.notes import Note
from geometry.readings import mm_words
from geometry.remedies import Proposal, proposal

#: No more notes than this are added at once.
_MOST_NOTES = 60
AS_TRACED = "so in the tracing; it was asked to be left"
NO_REMEDY = "no note was found that puts it right without putting something else out"
ENOUGH = "enough notes were added; look at what they did first"


#: Told what truing comes to next, by name, and how many notes there are so far.
Told = Callable[[str, int], None]


def unsaid(name: str, notes: int) -> None:
    """Nobody is told."""


@dataclass(frozen=True)
class Left:
    """Something that stays open: what it is about, how far it is out in words, and why."""

    about: str
    name: str
    out: str
    why: str


@dataclass(frozen=True)
class Trued:
    """What truing every seam did: the proposals taken in order, all their notes, and what is left with its reason."""

    taken: tuple[Proposal, ...]
    left: tuple[Left, ...]

    @property
    def notes(self) -> tuple[Note, ...]:
        return tuple(note for one in self.taken for note in one.notes)


def true_every_seam(
    garment: Garment,
    notes: Sequence[Note],
    number: int,
    memory: Memory | None = None,
    *,
    leave_traced: bool = False,
    told: Told = unsaid,
) -> Trued:
    """Notes that bring every seam, corner and dart to what it should be, to be added after ``notes``.

    Lengths and notches go first in the order of sewing, then corners, then darts; after each everything is walked
    again. ``number`` is the highest number that a note's id ever had. With ``leave_traced`` what was so in the tracing
    stays. ``told`` hears what comes next. The same garment and notes give the same answer; done once more nothing is
    added.
    """
    bench = Bench(garment, notes, number, memory or Memory(2000))
    taken: list[Proposal] = []
    stuck: dict[str, str] = {}
    while True:
        matter = next((one for one in bench.matters() if one.about not in stuck), None)
        if matter is None:
            break
        if leave_traced and matter.traced:
            stuck[matter.about] = AS_TRACED
            continue
        so_far = sum(len(one.notes) for one in taken)
        if so_far >= _MOST_NOTES:
            stuck[matter.about] = ENOUGH
            continue
        told(matter.name, so_far)
        found = proposal(bench, matter.about)
        if found is None:
            stuck[matter.about] = NO_REMEDY
            continue
        taken.append(found)
        bench = bench.with_notes(found.notes)
        stuck = {about: why for about, why in stuck.items() if why == AS_TRACED}
    return Trued(tuple(taken), tuple(_left(one, stuck[one.about]) for one in bench.matters()))


def _left(matter: Matter, why: str) -> Left:
    out = f"{matter.out:.1f} degrees" if matter.unit == DEGREES else mm_words(matter.out)
    return Left(matter.about, matter.name, out, why)
