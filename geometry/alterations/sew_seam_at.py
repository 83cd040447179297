"""Sew this seam at another width.

By hand: after basting, the seam is sewn nearer to the cut edge or farther from it. The paper and the cloth stay
as they are cut; the stitching line moves by the difference, in every edge of the seam, band and facing included,
or to nothing at a named point. Not to be confused with a new allowance width, where the stitching line stays.

Source: common practice, no source. Let out no further than 6 mm short of the cut edge: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, mm
from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment
from geometry.notes import Target, place_of
from geometry.offsets import offset_edge
from geometry.pieces import Piece
from geometry.readings import mm_words
from geometry.tolerances import LEAST_ALLOWANCE_MM


@dataclass(frozen=True)
class SewSeamAt:
    width: float = mm("seam width", 12.0, 0.0, 60.0, main=True, basis="from the cut edge, on every edge of the seam")


def do(garment: Garment, amounts: SewSeamAt, targets: tuple[Target, ...], note: str) -> Done:
    readings: list[str] = []
    for ref, target in edges_sewn_with(garment, targets):
        piece = garment.piece(ref.piece)
        edge = piece.edge(ref.edge)
        width = amounts.width if target.amount is None else target.amount
        outward = garment.width(edge) - width
        if outward == 0:
            continue
        if outward > 0 and width < LEAST_ALLOWANCE_MM:
            raise PatternError(
                f"“{edge.name}” of “{piece.name}” can be let out no further than {mm_words(LEAST_ALLOWANCE_MM)} short "
                f"of the cut edge; {mm_words(width)} is too narrow.",
                piece.id,
                edge.id,
                edge.start,
            )
        garment = garment.with_piece(_sewn_at(piece, edge.id, width, outward, target))
        words = "let out" if outward > 0 else "taken in"
        readings.append(
            f"“{edge.name}” of “{piece.name}” {words} {mm_words(abs(outward))} on each edge, "
            f"{mm_words(abs(outward) * piece.cut_count)} in all; the cut edge stays"
        )
    return Done(garment, readings=tuple(readings))


def edges_sewn_with(garment: Garment, targets: tuple[Target, ...]) -> list[tuple[EdgeRef, Target]]:
    """Every edge in a seam with a target's edge, and every facing edge that copies one, each once."""
    found: dict[tuple[str, str], Target] = {}
    for target in targets:
        if target.edge is None:
            raise PatternError("Say which edge is meant, as well as the piece.", target.piece)
        seams = garment.seams_of(target.piece, target.edge)
        refs = [ref for seam in seams for ref in (*seam.first, *seam.second)] or [EdgeRef(target.piece, target.edge)]
        for ref in refs:
            found.setdefault((ref.piece, ref.edge), target)
        for piece in garment.pieces:
            for copy in piece.copies:
                if (copy.piece, copy.of_edge) in found:
                    found.setdefault((piece.id, copy.edge), target)
    return [(EdgeRef(piece, edge), target) for (piece, edge), target in found.items()]


def _sewn_at(piece: Piece, edge_id: str, width: float, outward: float, target: Target) -> Piece:
    nothing_at = None
    if target.across and target.across[0].edge == edge_id:
        nothing_at = place_of(piece, target.across[0])
    new = offset_edge(piece, edge_id, outward, nothing_at)
    if nothing_at is not None:
        return new
    return new.with_edge(replace(new.edge(edge_id), width=width))


ALTERATION = Alteration(
    name="sew_seam_at",
    title="Sew this seam at another width",
    region="seams",
    order=90,
    sentence="Sew the seam of {pieces} at {width}; the cut edge stays",
    amounts=SewSeamAt,
    do=do,
    aims_at="edges",
    examples=(
        Example(
            "a neck with a 15.875 mm (5/8 in) allowance sewn at 12.7 mm (1/2 in)",
            "the stitching line lies 3.175 mm further out, the cutting line where it was",
            "subtraction",
        ),
    ),
    describes=__doc__,
)
