"""Crotch length.

When: folds spread like a fan from the crotch point, or the centre back is pulled down.

By hand: move the crotch point out along its own level, draw the lower crotch line to it and the inseam from it to
nothing at the knee. Too short between front and back waist shows at the back first; the amount may be shared between
front and back. The thigh is wider by as much.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import largest_part
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.joined_pieces import only_edge
from geometry.legs import crotch_point_moved
from geometry.notes import Target
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.stages import Strip

LONGER, SHORTER = "longer", "shorter"


@dataclass(frozen=True)
class CrotchLength:
    way: str = choice("longer or shorter", LONGER, SHORTER)
    amount: float = mm("amount", 12.0, 0.0, 60.0, main=True, basis="at the crotch point of each piece, along its level")


def do(garment: Garment, amounts: CrotchLength, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        return PieceDone(piece) if amount == 0 else _moved(piece, amount if amounts.way == LONGER else -amount)

    return piece_by_piece(garment, targets, one)


def _moved(piece: Piece, outward: float) -> PieceDone:
    new = crotch_point_moved(piece, outward)
    crotch = only_edge(piece, EdgeKind.CROTCH)
    longer = new.edge(crotch.id).length - crotch.length
    grown, gone = new.polygon.difference(piece.polygon), piece.polygon.difference(new.polygon)
    strip = Strip(piece.id, largest_part(grown if outward > 0 else gone), outward > 0)
    word = "longer" if longer > 0 else "shorter"
    reading = (
        f"the crotch point of “{piece.name}” moves {mm_words(abs(outward))} {'out' if outward > 0 else 'in'}; "
        f"its crotch edge is {mm_words(abs(longer))} {word}"
    )
    return PieceDone(new, (), (strip,), (reading,))


ALTERATION = Alteration(
    name="crotch_length",
    title="Crotch length",
    region="waist and seat",
    order=84,
    sentence="Crotch length of {pieces} {way} by {amount} at the crotch point",
    amounts=CrotchLength,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a back crotch point moved out by 12 mm",
            "the leg 12 mm wider at the crotch, the knee as it was",
            "common practice, no source",
        ),
    ),
    describes=__doc__,
)
