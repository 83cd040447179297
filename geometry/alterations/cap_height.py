"""Cap higher or lower.

When: folds slant from the top of the cap (too low), or lie across it (too high), or its ease does not suit the armhole.

By hand: mark the new height above the line from underarm to underarm and draw the cap anew, every point by its share
of the height, so that the cap keeps its shape and meets the underarm seams where it did. Its seam becomes longer or
shorter and is compared with the armhole afterwards: by this the ease of the cap is set.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.carrying import heightened, with_edges
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_edges import edges_by_hand
from geometry.hand_places import along_words
from geometry.handwork import HandStep, Work
from geometry.notes import Target
from geometry.pieces import Piece
from geometry.readings import mm_words
from geometry.sleeves import sleeve_of

HIGHER, LOWER = "higher", "lower"
#: A cap is not made lower than this share of its height.
_LEAST_SHARE = 0.3


@dataclass(frozen=True)
class CapHeight:
    way: str = choice("higher or lower", HIGHER, LOWER)
    amount: float = mm("amount", 8.0, 0.0, 80.0, main=True, basis="at the top of the cap of each sleeve")


def do(garment: Garment, amounts: CapHeight, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == HIGHER else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        return _changed(piece, sign * amount) if amount else PieceDone(piece)

    return piece_by_piece(garment, targets, one)


def _changed(piece: Piece, up: float) -> PieceDone:
    sleeve = sleeve_of(piece)
    factor = (sleeve.height + up) / sleeve.height
    if factor < _LEAST_SHARE:
        raise PatternError(
            f"The cap of “{piece.name}” is only {mm_words(sleeve.height)} high; {mm_words(-up)} is too much to take "
            "off.",
            piece.id,
            sleeve.cap.id,
            sleeve.top,
        )
    drawn = heightened(sleeve.cap, sleeve.cap.start, sleeve.up, factor)
    new = with_edges(piece, (drawn,))
    change = drawn.length - sleeve.cap.length
    words = (
        f"the cap goes from {mm_words(sleeve.height)} to {mm_words(sleeve.height + up)} in height; its seam from "
        f"{mm_words(sleeve.cap.length)} to {mm_words(drawn.length)}, so it has {mm_words(abs(change))} "
        f"{'more' if change > 0 else 'less'} to ease in"
    )
    return PieceDone(new, (), (strip_of(piece, new, up > 0),), (words,))


def steps(work: Work) -> list[HandStep]:
    cap = sleeve_of(work.before).cap
    shares = (0.2, 0.35, 0.5, 0.65, 0.8)
    places = [cap.chain.point(cap.chain.at_length(share * cap.chain.length)) for share in shares]
    marks = {cap.id: [(place, along_words(work.before, place)) for place in places]}
    return edges_by_hand(work, places=marks)


ALTERATION = Alteration(
    name="cap_height",
    title="Sleeve cap higher or lower",
    region="sleeve",
    order=93,
    sentence="Sleeve cap of {pieces} {way} by {amount}",
    amounts=CapHeight,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a cap 130 mm high, made 13 mm higher",
            "143 mm high, every point of it a tenth higher above the underarm than before",
            "multiplication",
        ),
    ),
    describes=__doc__,
)
