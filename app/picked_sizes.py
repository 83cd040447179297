"""What a body wants of a nest of sizes: said in lines, and done. No files, no Qt."""

from __future__ import annotations

import math

from app.documents import Document, next_note_id, with_notes, with_size
from geometry.alterations.blend_between_sizes import ALTERATION, AS_IT_IS
from geometry.garments import Garment
from geometry.notes import Note, Target
from geometry.pieces import Cloth, EdgeKind
from geometry.readings import mm_words
from geometry.sizing import BUST, HIGH_BUST, Body, Ease, Picked


def own_stretch(garment: Garment) -> float | None:
    """The share by which the garment's own cloth stretches, None where the garment does not say."""
    percent = garment.stretch.get(Cloth.SELF)
    return None if percent is None else percent / 100


def size_to_work_in(found: Picked) -> str:
    """The size at the bust, or at the first level below it that was measured."""
    return found.at.get(BUST) or next(iter(found.at.values()))


def levels_to_blend(found: Picked) -> dict[str, str]:
    """The levels where another size is wanted than the one worked in, and which; only those that the garment has."""
    base = size_to_work_in(found)
    return {level: size for level, size in found.at.items() if size != base and found.ease(size, level) is not None}


def worked_in(document: Document, found: Picked, *, blended: bool) -> Document:
    """The document in the size to work in; ``blended`` writes the note that blends the side seams to the others.

    The same object where nothing changes.
    """
    changed = with_size(document, size_to_work_in(found))
    note = _blend(changed, found) if blended else None
    return changed if note is None else with_notes(changed, (*changed.notes, note))


def can_blend(garment: Garment, found: Picked) -> bool:
    """Whether other sizes are wanted at some level and there are side seams along which to blend to them."""
    return bool(levels_to_blend(found)) and bool(_side_seams(garment))


def _blend(document: Document, found: Picked) -> Note | None:
    if not can_blend(document.garment, found):
        return None
    base = size_to_work_in(found)
    levels = dict.fromkeys((level for level in found.at if found.ease(base, level) is not None), AS_IT_IS)
    amounts = ALTERATION.checked(levels | levels_to_blend(found))
    targets = _side_seams(document.garment)
    return Note(next_note_id(document), ALTERATION.name, amounts, targets, rule=ALTERATION.version)


def _side_seams(garment: Garment) -> tuple[Target, ...]:
    """The first edge of every seam that is sewn from side edges alone."""
    return tuple(
        Target(seam.first[0].piece, edge=seam.first[0].edge)
        for seam in garment.seams
        if all(garment.edge(ref).kind is EdgeKind.SIDE for ref in (*seam.first, *seam.second))
    )


def picked_lines(found: Picked, body: Body) -> list[str]:
    """What a body wants, line by line; lengths in mm."""
    lines: list[str] = []
    if found.by == HIGH_BUST and body.girths.bust is not None and body.high_bust is not None:
        above = body.girths.bust - body.high_bust
        lines.append(f"sized by the high bust, for the full bust is {mm_words(above)} above it (2 in or more)")
    elif found.by is not None:
        lines.append(f"sized by the {found.by}")
    for level, size in found.at.items():
        ease = found.ease(size, level)
        lines.append(f"at the {level}: size {size}{_ease_words(ease) if ease is not None else ''}")
    if found.fuller is not None and found.fuller > 0:
        lines.append(
            f"the full bust is {mm_words(found.fuller)} more than this size is for: a full bust of "
            f"{mm_words(found.fuller / 2)} on the half front"
        )
    if len(set(found.at.values())) > 1:
        lines.append("the sizes differ: work in the one at the bust and blend between two sizes along the side seams")
    return lines


def _ease_words(ease: Ease) -> str:
    """The ease, and by how much the cloth has to stretch where the garment is less than the body."""
    percent = math.ceil(round(100 * ease.stretch_needed, 6))
    stretched = f" (the cloth stretched by {percent} %)" if round(ease.ease, 1) < 0 else ""
    return f", ease {mm_words(ease.ease)}{stretched}"
