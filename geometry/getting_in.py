"""Does a body get in? What is said of the rings that it has to pass, and since when one of them is too tight."""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.pieces import EdgeKind
from geometry.readings import mm_words
from geometry.rings import Passage, RingKind, passages
from geometry.stages import Followed

#: A ring that is tighter than as traced by no more than this (mm) was so in the tracing.
_AS_TRACED_MM = 1.0
#: Openings are given in steps of this (mm).
_OPENINGS_MM = 5.0
_CURES = {
    RingKind.NECK: "Lower or widen the neckline, or open it for at least {}.",
    RingKind.WAIST: "Open it for at least {}, or make the waist wider.",
    RingKind.WRIST: "Open it for at least {}, or make the wrist wider.",
}
_ASSUMED = {
    "stretch": "the stretch of the cloth",
    "head": "the head",
    "hip": "the hip",
    "hand": "the hand",
}


def getting_in(followed: Followed, found: Sequence[Passage]) -> tuple[Finding, ...]:
    """A finding for every ring that is too tight: a fault where all its numbers are known, else a warning.

    ``found`` are the passages of the garment redrawn.
    """
    return tuple(_finding(followed, one) for one in found if not one.passes)


def passage_words(garment: Garment, passage: Passage) -> str:
    """“the neck opens to 524 mm stretched; the head needs 580 mm plus 10 mm”, lengths in mm."""
    piece = garment.piece(passage.piece)
    opens = mm_words(passage.opens_mm) + (" stretched" if passage.stretch else "")
    if passage.slit_mm:
        opens += f" with {mm_words(passage.slit_mm / 2)} of opening"
    if _is_band(garment, passage):
        opens += f" at “{piece.name}”"
    room = f" plus {mm_words(passage.room_mm)}" if passage.room_mm else ""
    needs = f"the {passage.girth} needs {mm_words(passage.girth_mm)}{room}"
    return f"the {ring_name(garment, passage)} opens to {opens}; {needs}"


def _is_band(garment: Garment, passage: Passage) -> bool:
    piece, edge = passage.edges[0]
    return garment.piece(piece).edge(edge).kind is EdgeKind.BAND


def ring_name(garment: Garment, passage: Passage) -> str:
    """What the ring is called: neck, waist, or the wrist of a piece."""
    if passage.kind is not RingKind.WRIST:
        return str(passage.kind)
    return f"wrist of “{garment.piece(passage.piece).name}”"


def _finding(followed: Followed, now: Passage) -> Finding:
    note, since = _since(followed, now)
    words = passage_words(followed.traced, now)
    short = now.needs_mm - now.opens_mm
    cure = _CURES[now.kind].format(mm_words(opening_for(short + now.slit_mm)))
    band = " A longer band gives more, too." if _is_band(followed.traced, now) else ""
    assumed = f" {assumed_words(now)}" if now.assumed else ""
    says = f"{words[:1].upper()}{words[1:]}: {mm_words(short)} too tight, {since}. {cure}{band}{assumed}"
    level = Level.WARN if now.assumed else Level.FAULT
    return Finding("too-tight", level, says, now.piece, note, cure=now.key)


def opening_for(short: float) -> float:
    """How long an opening has to be that gives ``short`` mm, to the next half centimetre: it gives both its sides."""
    return _OPENINGS_MM * math.ceil(round(short / 2 / _OPENINGS_MM, 6))


def assumed_words(passage: Passage) -> str:
    """Which of its numbers were taken as they usually are, and what to do about it."""
    named = " and ".join(_ASSUMED[one] for one in passage.assumed)
    usual = [f"{passage.stretch:.0f} %"] if "stretch" in passage.assumed else []
    usual += [mm_words(passage.girth_mm)] if passage.girth in passage.assumed else []
    verb = "are" if len(passage.assumed) > 1 else "is"
    return f"{named[:1].upper()}{named[1:]} {verb} taken as {' and '.join(usual)}; measure and say what it is."


def _since(followed: Followed, now: Passage) -> tuple[str | None, str]:
    was = next((one for one in passages(followed.traced) if _same(one, now)), None)
    if was is not None and not was.passes and was.opens_mm - now.opens_mm <= _AS_TRACED_MM:
        return None, "so in the tracing"
    for number, step in enumerate(followed.steps, 1):
        if step.done and any(_same(one, now) and not one.passes for one in passages(step.after)):
            return step.note.id, f"since note {number}"
    return None, "so in the tracing"


def _same(one: Passage, other: Passage) -> bool:
    return one.kind is other.kind and (one.edges == other.edges or one.kind is not RingKind.WRIST)
