"""Hollow chest, pigeon chest.

When: the front falls in folds between neck and bust (hollow), or strains there and rises at the neck (pigeon).

By hand: where the chest falls in, fold a tuck across the front between neck and bust, deepest at the centre front and
to nothing at the armhole, and rule the centre front straight again. Where the chest stands out, slash there and spread
as much; the centre front is ruled straight on upwards from below and the neckline run out to it, square across until
it meets the turned neckline again. Armhole and shoulder keep their length.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.alterations.round_or_erect_back import wedged_at_centre
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.notes import Target
from geometry.pieces import Piece

HOLLOW, PIGEON = "hollow chest: fold out", "pigeon chest: spread"


@dataclass(frozen=True)
class HollowOrPigeonChest:
    way: str = choice("hollow or pigeon chest", HOLLOW, PIGEON)
    amount: float = mm("amount", 10.0, 0.0, 40.0, main=True, basis="at the centre front")
    hinge: float = share("hinge on the armhole, up from the underarm", 0.5, 0.1, 0.9)


def do(garment: Garment, amounts: HollowOrPigeonChest, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        opened = amounts.way == PIGEON
        gains = "the centre front is ruled on straight from below and the neckline is {} longer"
        return wedged_at_centre(piece, amount, amounts.hinge, note, "front", opened=opened, gains=gains)

    return piece_by_piece(garment, targets, one)


ALTERATION = Alteration(
    name="hollow_or_pigeon_chest",
    title="Hollow or pigeon chest",
    region="bust and chest",
    order=52,
    sentence="{way} {amount} at the centre front of {pieces}, to nothing {hinge} of the armhole up from the underarm",
    amounts=HollowOrPigeonChest,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "a fold of 10 mm at the centre front, 160 mm from its hinge on the armhole",
            "the upper front turns 3.576 degrees; armhole, shoulder and neckline keep their length",
            "atan(10 / 160), worked by hand",
        ),
    ),
    describes=__doc__,
)
