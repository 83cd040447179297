"""Widen or narrow the neckline.

When: the neckline binds at the sides of the neck, or stands away from them.

By hand: mark the new neck point on the shoulder seam, on the front and the back alike, and draw the neckline anew
from there to the centre, square to it as before. A facing follows with its width
kept; a band is recut.

Source: what is done to one piece at a level is done to every piece joined to it there after The Dressmaker,
c. 1911-16. The way of drawing: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import neck_reading, strip_of
from geometry.alterations.square_or_sloping_shoulder import joined_shoulders
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.necklines import named, neckline_widened, necks_that_copy
from geometry.notes import Target
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.stages import Offer

WIDEN, NARROW = "widen", "narrow"


@dataclass(frozen=True)
class WidenOrNarrowNeckline:
    way: str = choice("widen or narrow", WIDEN, NARROW)
    amount: float = mm("amount", 10.0, 0.0, 120.0, main=True, basis="along the shoulder seam of each piece")


def do(garment: Garment, amounts: WidenOrNarrowNeckline, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == WIDEN else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        new = neckline_widened(piece, sign * amount)
        reading = (
            f"{amounts.way}s the neckline by {mm_words(amount)} on each side, {mm_words(2 * amount)} in all; "
            f"{neck_reading(piece, new)}"
        )
        return PieceDone(new, (), (strip_of(piece, new, sign < 0),), (reading,))

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment:
        return done
    return replace(done, offers=_left_out(garment, amounts, targets))


def _left_out(garment: Garment, amounts: WidenOrNarrowNeckline, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    across = tuple(
        Target(piece)
        for piece in joined_shoulders(garment, targets)
        if garment.piece(piece).edges_of(EdgeKind.NECKLINE)
    )
    return tuple(
        Offer(f"Do the same to {named(garment, group)}", ALTERATION.name, amounts, group)
        for group in (across, necks_that_copy(garment, targets))
        if group
    )


ALTERATION = Alteration(
    name="widen_or_narrow_neckline",
    title="Widen or narrow the neckline",
    region="neckline",
    order=35,
    sentence="{way} the neckline of {pieces} by {amount} along the shoulder seam",
    amounts=WidenOrNarrowNeckline,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a neckline widened by 10 mm along the shoulder seams of front and back",
            "both shoulder seams 10 mm shorter and still equal; the centre where it was",
            "common practice, no source; follows from geometry",
        ),
    ),
    describes=__doc__,
)
