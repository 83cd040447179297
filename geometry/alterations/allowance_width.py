"""Allowance width.

When: more cloth is wanted to let out, or less to trim.

By hand: rule the cutting line wider or narrower round the stitching line. The stitching line stays, the cutting
line moves. Not to be confused with sewing a seam at another width, where the cut edge stays.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, mm, once_for
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_seams import cut_outside
from geometry.notes import Target
from geometry.offsets import offset_edge
from geometry.pieces import Edge, Piece
from geometry.readings import mm_words


@dataclass(frozen=True)
class AllowanceWidth:
    width: float = mm("allowance width", 15.0, 0.0, 100.0, basis="from the stitching line out, on the named edges")


def do(garment: Garment, amounts: AllowanceWidth, targets: tuple[Target, ...], note: str) -> Done:
    readings: list[str] = []
    for target in targets:
        if target.edge is None:
            raise PatternError("Say which edge is meant, as well as the piece.", target.piece)
        piece = garment.piece(target.piece)
        edge = piece.edge(target.edge)
        if edge.on_fold:
            raise PatternError(
                f"“{edge.name}” of “{piece.name}” is on the fold and takes no allowance.", piece.id, edge.id
            )
        width = amounts.width if target.amount is None else target.amount
        if width != garment.width(edge):
            garment = garment.with_piece(_with_width(piece, edge, width))
            readings.append(
                f"“{edge.name}” of “{piece.name}” is cut {mm_words(width)} outside the stitching line, which stays"
            )
    return Done(garment, readings=tuple(readings))


def on_cut(garment: Garment, amounts: AllowanceWidth, targets: tuple[Target, ...], note: str) -> Done:
    """The same for the line that is cut along: a seam that was sewn elsewhere is what the allowance is ruled round."""
    for target in targets:
        piece = garment.piece(target.piece)
        edge = piece.edge(target.edge or "")
        if edge.sewn_out:
            moved = offset_edge(piece, edge.id, edge.sewn_out)
            garment = garment.with_piece(moved.with_edge(replace(moved.edge(edge.id), sewn_out=None)))
    return do(garment, amounts, targets, note)


def _with_width(piece: Piece, edge: Edge, width: float) -> Piece:
    return once_for(piece, (edge.id, width), lambda: piece.with_edge(replace(edge, width=width)))


ALTERATION = Alteration(
    name="allowance_width",
    title="Allowance width",
    region="seams",
    order=91,
    sentence="Cut {pieces} with an allowance of {width}; the stitching line stays",
    amounts=AllowanceWidth,
    do=do,
    steps=cut_outside,
    on_cut=on_cut,
    aims_at="edges",
    examples=(
        Example("a square of 100 mm with allowances of 15 mm", "130 x 130 mm, 16900 square mm", "worked by hand"),
    ),
    describes=__doc__,
)
