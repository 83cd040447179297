"""Armhole cut in or filled out.

When: the armhole cuts into the arm or lies in folds across the chest or the shoulder blade, and the shoulder is broad
enough.

By hand: mark how much the armhole is cut in (or filled out) at a place of it, and draw it anew through the mark with
the curve ruler, to nothing at the shoulder tip and at the underarm, which stay. The sleeve cap is compared with the
new armhole afterwards.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.armhole_gapes import from_underarm
from geometry.alterations.armhole_too_low import armhole_of
from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.battened import battened
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.notes import Target, length_at, place_of
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words

CUT_IN, FILL_OUT = "cut in", "fill out"


@dataclass(frozen=True)
class ArmholeCutInOrFilledOut:
    way: str = choice("cut in or fill out", CUT_IN, FILL_OUT)
    amount: float = mm("amount", 6.0, 0.0, 40.0, main=True, basis="square to the armhole of each piece")
    at: float = share("place along the armhole, from the underarm", 0.5, 0.1, 0.9)


def do(garment: Garment, amounts: ArmholeCutInOrFilledOut, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == FILL_OUT else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        armhole = armhole_of(piece)
        if armhole.kind is not EdgeKind.ARMHOLE:
            raise PatternError(f"“{piece.name}” has no armhole; choose a front or a back.", piece.id)
        along = length_at(armhole, place_of(piece, from_underarm(piece, armhole, amounts.at)))
        new = battened(piece, armhole, {along: sign * amount})
        words = (
            f"the armhole of “{piece.name}” goes from {mm_words(armhole.length)} to "
            f"{mm_words(new.edge(armhole.id).length)}; across both sides the piece is {mm_words(2 * amount)} "
            f"{'wider' if sign > 0 else 'narrower'} there"
        )
        return PieceDone(new, (), (strip_of(piece, new, sign > 0),), (words,))

    return piece_by_piece(garment, targets, one)


ALTERATION = Alteration(
    name="armhole_cut_in_or_filled_out",
    title="Armhole cut in or filled out",
    region="armhole",
    order=33,
    sentence="{way} the armhole of {pieces} by {amount}, {at} of it up from the underarm",
    amounts=ArmholeCutInOrFilledOut,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "an armhole cut in by 6 mm halfway",
            "6 mm narrower there, nothing and no turn at the shoulder tip and the underarm",
            "common practice, no source",
        ),
    ),
    describes=__doc__,
)
