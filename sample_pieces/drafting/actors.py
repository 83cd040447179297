"""Three players of the theatre: what was measured on each, what the pattern is drafted for, and the notes that follow.

The parts and the plays are our own invention. Lengths in mm unless it says inches; girths all round the body.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from geometry.alterations import find
from geometry.garments import Garment
from geometry.notes import Note, Target
from geometry.pipeline import draft
from sample_pieces.drafting.measurements import INCH
from sample_pieces.drafting.trousers import trousers
from sample_pieces.drafting.undershirt import undershirt
from sample_pieces.drafting.waistcoat import waistcoat

BOTH = ("front", "back")


@dataclass(frozen=True)
class Measured:
    """One measurement: what, on the body, as the pattern is drafted for, and what comes of the difference."""

    what: str
    body: str
    pattern: str
    so: str


@dataclass(frozen=True)
class Wish:
    """One note of the list and why it is wanted. ``offered``: what the note before it offers is taken instead."""

    why: str
    alteration: str = ""
    on: tuple[str, ...] = ()
    values: tuple[tuple[str, Any], ...] = ()
    offered: bool = False


@dataclass(frozen=True)
class Actor:
    """A player in a part, measured for one garment."""

    name: str
    part: str
    play: str
    seen: str
    garment: Callable[[], Garment]
    measured: tuple[Measured, ...]
    wishes: tuple[Wish, ...]

    def drafted_for(self) -> tuple[Garment, tuple[Note, ...]]:
        """The sample garment for this player, and the list as notes, each with its reason beside it."""
        garment = self.garment()
        garment = replace(garment, name=f"{garment.name} for {self.part}", for_whom=f"{self.part} in {self.play}")
        notes: list[Note] = []
        for number, wish in enumerate(self.wishes, 1):
            notes.append(_offered(garment, notes, wish, number) if wish.offered else _note(wish, number))
        return garment, tuple(notes)


def _wish(why: str, alteration: str, *on: str, **values: Any) -> Wish:
    return Wish(why, alteration, on, tuple(values.items()))


def _note(wish: Wish, number: int) -> Note:
    found = find(wish.alteration)
    targets = []
    for one in wish.on:
        piece, _, edge = one.partition(":")
        targets.append(Target(piece, edge=f"{piece}.{edge}" if edge else None))
    amounts = found.checked(dict(wish.values))
    return Note(f"note-{number}", found.name, amounts, tuple(targets), rule=found.version, remark=wish.why)


def _offered(garment: Garment, notes: list[Note], wish: Wish, number: int) -> Note:
    (offer,) = draft(garment, notes).followed.steps[-1].offers
    rule = find(offer.alteration).version
    return Note(f"note-{number}", offer.alteration, offer.amounts, offer.targets, rule=rule, remark=wish.why)


NURSE = Actor(
    "nurse",
    "the Nurse",
    "A Crown of Chalk",
    "Short in the body, full in the bust, a little round between the shoulders; she bends over a cradle all evening.",
    waistcoat,
    (
        Measured("high bust", "36 in", "36 in", "the size is right: it is chosen by the high bust"),
        Measured("bust", "37 1/4 in", "36 in", "1 1/4 in in all, 5/8 in on the half front"),
        Measured("waist", "31 in", "28 in", "3 in in all, 1 1/4 in of it by the bust note; 7/16 in on each side edge"),
        Measured("hip", "40 in", "38 in", "2 in in all, 1 1/4 in of it by the bust note; 3/16 in on each side edge"),
        Measured("back waist length", "398 mm", "410 mm", "12 mm shorter"),
        Measured("bust point below the neck point", "10 mm lower", "as drafted", "the dart follows it down"),
        Measured("across the back", "4 mm more", "as drafted", "2 mm on the half; its shoulder 6 mm over the front's"),
    ),
    (
        _wish(
            "Back waist length 398 mm against 410 mm; length comes first.",
            "shorten_or_lengthen",
            *BOTH,
            "front_facing",
            amount=12.0,
        ),
        _wish(
            "Bust 1 1/4 in over the pattern with the high bust right; the dart takes it.",
            "full_or_small_bust",
            "front",
            amount=5 / 8 * INCH,
        ),
        Wish("The centre front grew by what the bust point drops; the facing follows it.", offered=True),
        _wish("Her bust point lies lower than the paper's.", "bust_point_moved", "front", way="lower", amount=10.0),
        _wish(
            "The V stands off: 10 mm pinched out in all; the facing follows.",
            "neckline_gapes",
            "front",
            "front_facing",
            amount=5.0,
        ),
        _wish(
            "Pulls between the armholes when she bends to the cradle: 4 mm in all, the shoulder eased in.",
            "broad_or_narrow_back",
            "back",
            amount=2.0,
        ),
        _wish("Round between the shoulders, the neck stands off.", "round_or_erect_back", "back", amount=6.0),
        _wish(
            "Waist 3 in and hip 2 in over the pattern, less what the bust note gave, over four edges.",
            "take_in_or_let_out",
            "front:side",
            way="let out",
            waist=7 / 16 * INCH,
            hip=3 / 16 * INCH,
            hem=3 / 16 * INCH,
        ),
    ),
)

CLOWN = Actor(
    "clown",
    "the Clown",
    "Nine Umbrellas",
    "Short in the leg, round in front and behind; the trousers are to flap when he falls over the footstool.",
    trousers,
    (
        Measured("waist", "31 in", "28 in", "3 in in all, 3/4 in on each side edge; the band 1 1/2 in on its half"),
        Measured("hip", "40 in", "38 in", "2 in in all, 12 mm of it by seat and crotch point, the rest at the side"),
        Measured("crotch below the waist", "275 mm", "265 mm", "10 mm deeper"),
        Measured("waist to waist round the crotch", "30 mm more", "as drafted", "depth, seat, crotch point share it"),
        Measured("inside leg", "720 mm", "760 mm", "40 mm shorter"),
        Measured("hem of the leg, all round", "504 mm", "444 mm", "60 mm wider, 19.5 mm of it by the hip note"),
    ),
    (
        _wish(
            "Inside leg 720 mm against 760 mm; at the line, so that the leg keeps its shape.",
            "shorten_or_lengthen",
            *BOTH,
            amount=40.0,
        ),
        _wish("Crotch 275 mm below the waist against 265 mm; it cuts in.", "crotch_depth", *BOTH, amount=10.0),
        _wish("Hip 2 in over the pattern, less what seat and crotch point give.", "hip_size", *BOTH, amount=39.0),
        _wish("Waist 3 in over the pattern.", "waist_size", *BOTH, amount=3 * INCH),
        Wish("The band follows the waist.", offered=True),
        _wish("Round behind: the waist is pulled down at the centre back when he sits.", "seat", "back", amount=8.0),
        _wish(
            "Folds spread from the crotch point: half of what is missing in front, half behind.",
            "crotch_length",
            *BOTH,
            amount=6.0,
        ),
        _wish(
            "The legs are to flap: 504 mm round the hem.",
            "leg_width",
            *BOTH,
            amount=40.5,
            where="at the hem of the leg",
        ),
    ),
)

PRINCE = Actor(
    "prince",
    "the Prince",
    "The Salt Stair",
    "Long and narrow, the shoulders carried forward; he duels in act three and takes the shirt off his own back.",
    undershirt,
    (
        Measured("bust", "37 1/4 in", "37 1/4 in", "the size is right"),
        Measured("waist", "751 mm", "775 mm", "24 mm less in all, 6 mm on each side edge"),
        Measured("back waist length", "440 mm", "410 mm", "30 mm longer"),
        Measured("shoulder seam", "6 mm further forward", "as drafted", "6 mm off the front, 6 mm onto the back"),
        Measured("sleeve from the underarm", "161 mm", "141 mm", "20 mm longer"),
        Measured("neck", "the chain lies 12 mm lower", "as drafted", "the front neckline 12 mm lower"),
    ),
    (
        _wish(
            "Back waist length 440 mm against 410 mm; length comes first.",
            "shorten_or_lengthen",
            *BOTH,
            way="lengthen",
            amount=30.0,
        ),
        _wish("His shoulders come forward.", "forward_shoulder", *BOTH, amount=6.0),
        _wish("Binds under the arm at the lunge.", "raise_or_lower_underarm", *BOTH, way="lower", amount=6.0),
        _wish(
            "The sleeve with it, 1 mm more, or its cap is short under the arm.",
            "raise_or_lower_underarm",
            "sleeve",
            way="lower",
            amount=7.0,
        ),
        _wish("Sleeve 20 mm too short.", "shorten_or_lengthen", "sleeve", way="lengthen", amount=20.0),
        _wish(
            "The chain of office lies lower than the shirt.",
            "raise_or_lower_neckline",
            "front",
            way="lower",
            amount=12.0,
        ),
        Wish("The band is recut for the longer neckline.", offered=True),
        _wish(
            "Waist 24 mm under the pattern, over four edges, down to the hem.",
            "take_in_or_let_out",
            "front:side",
            waist=6.0,
            hem=6.0,
        ),
    ),
)

ACTORS = (NURSE, CLOWN, PRINCE)


def sheet(actor: Actor) -> str:
    """The player's sheet as Markdown: who, what was measured, and the list of notes with their reasons."""
    from app.note_options import note_words

    garment, notes = actor.drafted_for()
    part = _capital(actor.part)
    file = f"sample_pieces/actors/{actor.name}.garment.json"
    measured = "\n".join(f"| {m.what} | {m.body} | {m.pattern} | {m.so} |" for m in actor.measured)
    listed = "\n".join(
        f"{number}. {_capital(note_words(garment, note))}. *{note.remark}*" for number, note in enumerate(notes, 1)
    )
    return (
        f"# {part}\n\n"
        f"{part} in *{actor.play}*. {actor.seen}\n\n"
        f"Garment: {garment.name}, size {garment.size}. Written by `python -m sample_pieces.draft`.\n\n"
        "## Measured\n\n"
        "| what | on the body | the pattern's | so |\n|---|---|---|---|\n"
        f"{measured}\n\n"
        "## The list\n\n"
        f"{listed}\n\n"
        "## Redrawn and printed\n\n"
        f"    tucktrue redraw {file} --out {actor.name}.svg\n"
        f"    tucktrue print {file} --out {actor.name}.pdf\n"
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
