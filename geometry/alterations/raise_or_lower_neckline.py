"""Raise or lower the neckline.

When: the neckline chokes or is wanted lower, or lies lower than is wanted.

By hand: mark the new height on the centre and draw the neckline anew from there to the shoulder, square to the
centre where it was square and in the old direction at the shoulder. What is joined there changes with it: a facing
by the same amount, its width kept; a band is recut.

Source: what is done to one piece at a level is done to every piece joined to it there after The Dressmaker,
c. 1911-16. The way of drawing: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import largest_part
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.necklines import named, neckline_of, neckline_raised, necks_that_copy
from geometry.notes import Target
from geometry.pieces import Piece
from geometry.readings import mm_words
from geometry.stages import Offer, Strip

RAISE, LOWER = "raise", "lower"


@dataclass(frozen=True)
class RaiseOrLowerNeckline:
    way: str = choice("raise or lower", RAISE, LOWER)
    amount: float = mm("amount", 10.0, 0.0, 200.0, main=True, basis="along the centre of each piece")


def do(garment: Garment, amounts: RaiseOrLowerNeckline, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == RAISE else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        new = neckline_raised(piece, sign * amount)
        words = "raises" if sign > 0 else "lowers"
        reading = f"{words} the neckline by {mm_words(amount)} at the centre; {neck_reading(piece, new)}"
        return PieceDone(new, (), (strip_of(piece, new, sign > 0),), (reading,))

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment:
        return done
    facings = necks_that_copy(garment, targets)
    offers = (Offer(f"Do the same to {named(garment, facings)}", ALTERATION.name, amounts, facings),) if facings else ()
    return replace(done, offers=offers)


def neck_reading(before: Piece, after: Piece) -> str:
    """The neckline of a piece before and after, on the piece and in all."""
    neck = neckline_of(before).edge
    old, new, count = neck.length, after.edge(neck.id).length, before.cut_count
    return (
        f"the neckline of “{before.name}” goes from {mm_words(old)} to {mm_words(new)}, "
        f"in all from {mm_words(old * count)} to {mm_words(new * count)}"
    )


def strip_of(before: Piece, after: Piece, added: bool) -> Strip:
    """What was added to a piece or taken off it, for hatching."""
    shape = after.polygon.difference(before.polygon) if added else before.polygon.difference(after.polygon)
    return Strip(before.id, largest_part(shape), added)


ALTERATION = Alteration(
    name="raise_or_lower_neckline",
    title="Raise or lower the neckline",
    region="neckline",
    order=34,
    sentence="{way} the neckline of {pieces} by {amount} at the centre",
    amounts=RaiseOrLowerNeckline,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a neckline a quarter of an ellipse 70 mm wide and 70 mm deep, lowered by 30 mm",
            "an ellipse 70 mm wide and 100 mm deep, still square to the centre and upright at the shoulder",
            "geometry, worked by hand",
        ),
    ),
    describes=__doc__,
)
