"""Writing the next note: the alterations by region of the body, and a first note that fits what lies on the table."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QMenu, QWidget

from app.note_options import of_region
from geometry.alterations import everything
from geometry.alterations.base import Alteration
from geometry.body_regions import covered
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.notes import Note, Target


def note_menu(parent: QWidget, write: Callable[[Alteration], None]) -> QMenu:
    """The menu of all alterations, in the order in which a fitter goes over the body, under their regions."""
    menu = QMenu(parent)
    fill_note_menu(menu, write)
    return menu


def fill_note_menu(menu: QMenu, write: Callable[[Alteration], None]) -> None:
    menu.setToolTipsVisible(True)
    regions: dict[str, list[Alteration]] = {}
    for alteration in everything():
        regions.setdefault(alteration.region, []).append(alteration)
    for region, alterations in regions.items():
        heading = menu.addAction(region[:1].upper() + region[1:])
        heading.setEnabled(False)
        for alteration in alterations:
            action = menu.addAction(f"    {alteration.title}…")
            action.setToolTip(_first_words(alteration.describes))
            action.triggered.connect(lambda _=False, alteration=alteration: write(alteration))


def first_note(alteration: Alteration, garment: Garment, piece_id: str, note_id: str) -> Note:
    """A note with the amounts it starts from, done to the pieces that its region of the body covers.

    Where the piece on the table is none of these but can be altered so too, it is meant, with those joined to it.
    """
    amounts = alteration.checked({})
    targets, _ = of_region(garment, alteration, alteration.place, amounts)
    edges = alteration.aims_at == "edges"
    covered_pieces = {one.piece for one in covered(garment, alteration.place)}
    meant = not alteration.covers and piece_id not in covered_pieces
    if not targets or (meant and (edges or _can(alteration, amounts, garment, piece_id))):
        joined = _first_edge(garment, piece_id) if edges else _fitting_pieces(alteration, amounts, garment, piece_id)
        targets = joined or targets
    return Note(note_id, alteration.name, amounts, targets, rule=alteration.version)


def _first_edge(garment: Garment, piece_id: str) -> tuple[Target, ...]:
    edges = [edge for edge in garment.piece(piece_id).edges if not edge.on_fold]
    sewn = [edge for edge in edges if garment.seams_of(piece_id, edge.id)]
    return tuple(Target(piece_id, edge=edge.id) for edge in (sewn or edges)[:1])


def _fitting_pieces(alteration: Alteration, amounts: object, garment: Garment, piece_id: str) -> tuple[Target, ...]:
    """The piece on the table, or the first that the note fits, and the pieces joined to it at edges of the same kind.

    What is done to one piece at a level is done to every piece joined to it there (The Dressmaker, c. 1911-16,
    "Use of patterns").
    """
    ids = [piece_id, *(piece.id for piece in garment.pieces if piece.id != piece_id)]
    first = next((one for one in ids if _can(alteration, amounts, garment, one)), None)
    if first is None:
        return (Target(piece_id),)
    joined = {first}
    waiting = [first]
    while waiting:
        for other in sorted(_joined_alike(garment, waiting.pop()) - joined):
            if _can(alteration, amounts, garment, other):
                joined.add(other)
                waiting.append(other)
    return tuple(Target(piece.id) for piece in garment.pieces if piece.id in joined)


def _can(alteration: Alteration, amounts: object, garment: Garment, piece_id: str) -> bool:
    """Whether a note can be done to one piece by itself."""
    try:
        alteration.do(garment, amounts, (Target(piece_id),), "trial")
    except PatternError:
        return False
    return True


def _joined_alike(garment: Garment, piece_id: str) -> set[str]:
    """The pieces sewn to one where both edges are of the same kind, and the facings that copy it."""
    found: set[str] = set()
    for seam in garment.seams:
        refs = (*seam.first, *seam.second)
        kinds = {garment.edge(ref).kind for ref in refs}
        if len(kinds) == 1 and any(ref.piece == piece_id for ref in refs):
            found |= {ref.piece for ref in refs}
    for piece in garment.pieces:
        if any(copy.piece == piece_id for copy in piece.copies):
            found.add(piece.id)
    return found - {piece_id}


def _first_words(text: str) -> str:
    """What a note is for, from the second paragraph of its description."""
    paragraphs = [" ".join(part.split()) for part in text.split("\n\n")]
    return paragraphs[1] if len(paragraphs) > 1 else paragraphs[0]
