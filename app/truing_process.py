"""What puts things right, looked for in a process of its own with limits of time and memory; it answers line by line.

It reads a garment from its standard input and prints one JSON object a line, so that it can be left at any time.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Sequence
from typing import Any

from app.apart import limit
from app.documents import Document
from app.files import garment_file
from app.truing_acts import every_seam, what_puts_right
from geometry.every_seam import Left, Trued
from geometry.memory import Memory
from geometry.remedies import Proposal

#: Python’s own arguments for the process.
ARGUMENTS = ("-B", "-m", "app.truing_process")
#: What one process may take: seconds at work, and bytes of memory. Both are a multiple of what any sample needs.
SECONDS, MEMORY = 120, 1_500_000_000
#: Stages that are remembered between the tries.
_REMEMBERED = 1200
#: What she does in the window goes first.
_POLITE = 5

Say = Callable[[dict[str, Any]], None]


def asked_of(document: Document, abouts: Sequence[str] | None) -> bytes:
    """What the process reads: what to look for in this order, None to true every seam, and the garment."""
    return json.dumps(abouts).encode() + b"\n" + garment_file.to_bytes(document)


def proposal_of(line: dict[str, Any]) -> tuple[str, Proposal | None]:
    """What a line answers: what it is about, and what puts that right."""
    found = line["found"]
    return str(line["about"]), None if found is None else _proposal_from(found)


def trued_of(line: dict[str, Any]) -> Trued:
    """What the last line says that truing every seam did."""
    taken, left = line["trued"], line["left"]
    return Trued(tuple(_proposal_from(one) for one in taken), tuple(Left(**one) for one in left))


def answer(document: Document, abouts: Sequence[str] | None, say: Say) -> None:
    """Look for each, one line for each, or true every seam, with a line for each thing that it comes to."""
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


def _main() -> int:
    if hasattr(os, "nice"):
        os.nice(_POLITE)
    limit(MEMORY, SECONDS)
    abouts = json.loads(sys.stdin.buffer.readline())
    # It was checked against the schema when it was sent.
    document = garment_file.read_bytes(sys.stdin.buffer.read(), shipped=True)
    answer(document, abouts, lambda line: print(json.dumps(line), flush=True))
    return 0


if __name__ == "__main__":
    sys.exit(_main())
