"""What puts things right, looked for as long work: what is asked, and what each line answers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from app.documents import Document
from app.files import garment_file
from app.truing_acts import every_seam, what_puts_right
from geometry.every_seam import Left, Trued
from geometry.memory import Memory
from geometry.remedies import Proposal

if TYPE_CHECKING:
    from app.long_work import Say

#: Stages that are remembered between the tries.
_REMEMBERED = 1200


def proposal_of(line: dict[str, Any]) -> tuple[str, Proposal | None]:
    """What a line answers: what it is about, and what puts that right."""
    found = line["found"]
    return str(line["about"]), None if found is None else _proposal_from(found)


def trued_of(line: dict[str, Any]) -> Trued | None:
    """What the last line says that truing every seam did; None for a line that only says how far it is."""
    if "trued" not in line:
        return None
    taken, left = line["trued"], line["left"]
    return Trued(tuple(_proposal_from(one) for one in taken), tuple(Left(**one) for one in left))


def answer(document: Document, abouts: Sequence[str] | None, say: Say) -> None:
    """Look for each in this order, one line for each; or true every seam where that is None, with a line for each thing
    that it comes to."""
    if abouts is None:
        _, trued = every_seam(document, told=lambda name, notes: say({"at": name, "notes": notes}))
        say({"trued": [_plain(one) for one in trued.taken], "left": [vars(one) for one in trued.left]})
        return
    memory = Memory(_REMEMBERED)
    for about in abouts:
        found = what_puts_right(document, about, memory)
        say({"about": about, "found": None if found is None else _plain(found)})


def _plain(found: Proposal) -> dict[str, Any]:
    return vars(found) | {"notes": [garment_file.note_to_plain(note) for note in found.notes]}


def _proposal_from(plain: dict[str, Any]) -> Proposal:
    notes = tuple(garment_file.note_from(note, ("notes",)) for note in plain["notes"])
    return Proposal(**{**plain, "notes": notes})
