"""True every seam, and what is said of a corner: done to a document, for the command line and the window. No Qt."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Any

from app.documents import Document, highest_note, with_notes
from geometry.corners import walk_corners
from geometry.errors import PatternError
from geometry.every_seam import Told, Trued, true_every_seam, unsaid
from geometry.matters import Bench
from geometry.memory import Memory
from geometry.pieces import CornerKind
from geometry.remedies import Proposal, proposal

#: What may be said of a corner, in the words of the command line.
SAYINGS = {"points": CornerKind.POINTS, "runs-on": CornerKind.TO_RUN_ON, "nothing": CornerKind.RUNS_ON}


def add_options(true: argparse.ArgumentParser, corner: argparse.ArgumentParser) -> None:
    """The options of the two commands."""
    for made in (true, corner):
        made.add_argument("garment", metavar="GARMENT")
        made.add_argument("--out", metavar="FILE", help="save here instead of into the garment itself")
    true.add_argument("--dry-run", action="store_true", help="say the notes and save nothing")
    true.add_argument("--leave-traced", action="store_true", help="leave what was so in the tracing")
    corner.add_argument("corner", metavar="CORNER", help="a seam and its end, as sides:end, or PIECE:CORNER at a fold")
    corner.add_argument("saying", choices=tuple(SAYINGS), help="what is said of it")


def every_seam(document: Document, leave_traced: bool = False, told: Told = unsaid) -> tuple[Document, Trued]:
    """The document with the notes that put everything right, and what they do; the same one where nothing is open."""
    number = highest_note(document.notes, document)
    trued = true_every_seam(document.garment, document.notes, number, leave_traced=leave_traced, told=told)
    return with_trued(document, trued), trued


def with_trued(document: Document, trued: Trued) -> Document:
    """The document with the notes of truing; the same one where there are none."""
    return with_notes(document, (*document.notes, *trued.notes)) if trued.notes else document


def what_puts_right(document: Document, about: str, memory: Memory) -> Proposal | None:
    """What puts right one thing that is open (“seam:…”, “corner:…”, “dart:…”), None where nothing helps."""
    number = highest_note(document.notes, document)
    return proposal(Bench(document.garment, document.notes, number, memory), about)


def said_of(document: Document, corner_id: str, saying: str) -> Document:
    """The document with a corner (the id of a walked one, on every piece that meets there) said to point or run on."""
    garment = document.garment
    corners = {corner.id: corner for corner in walk_corners(garment)}
    if corner_id not in corners:
        raise PatternError(f"There is no corner “{corner_id}”; there are {', '.join(corners)}.")
    for part in corners[corner_id].parts:
        piece = garment.piece(part.piece)
        kind = SAYINGS[saying]
        changed = tuple(replace(c, kind=kind) if c.id == part.corner else c for c in piece.corners)
        garment = garment.with_piece(replace(piece, corners=changed))
    return replace(document, garment=garment)


def truing_values(trued: Trued) -> dict[str, Any]:
    """What truing did as plain values."""
    return {
        "trued": [
            {
                "about": one.about,
                "says": one.says,
                "notes": [note.id for note in one.notes],
                "out_before": round(one.before, 4),
                "out_after": round(one.after, 4),
                "units": one.unit,
            }
            for one in trued.taken
        ],
        "left": [{"about": one.about, "name": one.name, "out": one.out, "why": one.why} for one in trued.left],
    }


def truing_words(trued: Trued) -> list[str]:
    """What truing did, a line for each thing put right and each that is left."""
    lines = [f"{one.says} ({', '.join(note.id for note in one.notes)})" for one in trued.taken]
    lines += [f"left: {one.name}, {one.out} out: {one.why}" for one in trued.left]
    return lines or ["nothing is open; every seam is true"]
