"""The garment for a fitting toile: seams with wide allowances, so that they can be let out on the body."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import replace
from types import MappingProxyType

from geometry.garments import Garment
from geometry.notes import Note
from geometry.pieces import Finish, Piece

#: A fitting toile has an inch, here 25 mm, at every seam. Common practice, no source.
TOILE_MM = 25.0
_ALLOWANCE_NOTE = "allowance_width"


def toile(garment: Garment, notes: Sequence[Note]) -> tuple[Garment, tuple[Note, ...]]:
    """The garment with TOILE_MM at every seam, and its notes without those about allowances; hems stay.

    What is sewn to another edge is a seam, whatever is to become of it: a waist that is to have a band is fitted too.
    """
    sewn = {(ref.piece, ref.edge) for seam in garment.seams for ref in (*seam.first, *seam.second)}
    pieces = tuple(_wide(piece, sewn) for piece in garment.pieces)
    nest = {size: tuple(_wide(piece, sewn) for piece in others) for size, others in garment.nest.items()}
    wide = replace(garment, pieces=pieces, nest=MappingProxyType(nest))
    return wide, tuple(note for note in notes if note.alteration != _ALLOWANCE_NOTE)


def _wide(piece: Piece, sewn: Container[tuple[str, str]]) -> Piece:
    edges = tuple(
        replace(edge, width=TOILE_MM) if edge.finish is Finish.SEAM or (piece.id, edge.id) in sewn else edge
        for edge in piece.edges
    )
    return replace(piece, edges=edges)
