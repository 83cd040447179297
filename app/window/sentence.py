"""A note as a fitter's sentence: the words of its alteration with the places of its dials. No Qt."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from geometry.alterations.base import Alteration, Amount
from geometry.garments import Garment
from geometry.notes import BlendChoice, Note, Target
from geometry.units import System, tape_words

PIECES, BLEND = "pieces", "blend"


@dataclass(frozen=True)
class Part:
    """Either plain ``words``, or the dial of a ``field`` (an amount's name, "pieces" or "blend")."""

    words: str = ""
    field: str = ""


def parts_of(alteration: Alteration) -> tuple[Part, ...]:
    """The sentence in its order; one that does not speak of the blend, of a note that can leave jogs, gets it last."""
    found = re.split(r"\{(\w+)\}", alteration.sentence)
    parts = [Part(field=text) if at % 2 else Part(words=text) for at, text in enumerate(found) if text.strip(" ")]
    if alteration.aims_at == "pieces" and all(part.field != BLEND for part in parts):
        parts += [Part(words=", blended"), Part(field=BLEND)]
    return tuple(parts)


def fields_beside(alteration: Alteration) -> tuple[str, ...]:
    """The amounts that the sentence leaves out; they are dialled below it."""
    spoken = {part.field for part in parts_of(alteration)}
    return tuple(name for name in alteration.fields() if name not in spoken)


def amount_words(amount: Amount, value: object, system: System) -> str:
    """The value of an amount as the sentence says it."""
    if amount.unit == "mm" and isinstance(value, float | int):
        return tape_words(float(value), system)
    if amount.unit == "share" and isinstance(value, float | int):
        return share_words(float(value))
    return str(value)


def share_words(value: float) -> str:
    """A part of a whole: "50 %"."""
    return f"{round(value * 100, 1):g} %"


def pieces_words(garment: Garment, targets: Sequence[Target], by_edge: bool) -> str:
    """The targets as the sentence names them: "front, back", or "neckline of front"."""
    names = {piece.id: piece for piece in garment.pieces}
    said: list[str] = []
    for target in targets:
        piece = names.get(target.piece)
        if piece is None:
            said.append(f"“{target.piece}” (gone)")
        elif by_edge:
            edge = next((e.name for e in piece.edges if e.id == target.edge), "an edge")
            said.append(f"{edge} of {_small(piece.name)}")
        else:
            said.append(_small(piece.name))
    return ", ".join(said) or "no piece yet"


def _small(name: str) -> str:
    """A name as it stands within a sentence: “Front” becomes “front”, “CF band” stays."""
    return name[:1].lower() + name[1:] if name[1:] == name[1:].lower() else name


def blend_words(blend: BlendChoice, system: System, stops: Sequence[str] = ()) -> str:
    """How a note's jogs are redrawn: how far the blend runs (``stops`` are its ends by name), and how it is shared."""
    how = {0.5: "half and half", 1.0: "filled out", 0.0: "trimmed in"}.get(blend.share)
    how = how or f"{share_words(blend.share)} filled out"
    if blend.before is None and blend.after is None:
        return f"to {', '.join(stops)}, {how}" if stops else how
    before, after = (_run_words(far, system) for far in (blend.before, blend.after))
    return f"{how}, over {before} and {after}"


def _run_words(far: float | None, system: System) -> str:
    return "as far as the next mark" if far is None else tape_words(far, system)


def sentence_of(note: Note, alteration: Alteration, garment: Garment, system: System) -> str:
    """The whole sentence in plain words, for lists, undo and those who listen to the window."""
    fields = alteration.fields()
    said = ""
    for part in parts_of(alteration):
        if part.field == PIECES:
            said += pieces_words(garment, note.targets, alteration.aims_at == "edges")
        elif part.field == BLEND:
            said += " " + blend_words(note.blend, system)
        elif part.field:
            said += amount_words(fields[part.field], getattr(note.amounts, part.field), system)
        else:
            said += part.words
    return said[:1].upper() + said[1:]
