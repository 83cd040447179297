"""Shorten or lengthen at a line.

When: the piece ends too high or too low, or bust, waist or hip of the paper sit higher or lower than those of the body:
before all other notes, so that they work on the right lengths.

By hand: fold the paper along the line and bring the fold to a parallel line the wanted amount away (the fold
itself is half as deep), or cut along the line and spread the halves over paper, the grainline kept in one line.
Then the seam lines are drawn anew across the change. Shaped pieces are changed at the line and not at the hem,
or they lose their flare.

Source: Robinson, costume construction text, ch. 17, Central Washington University. The tuck on the stated side
of the line, squaring a new line to the fold or centre, and what becomes of darts and notches: common practice,
no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import cut_line, hem_side_normal, strip_between
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.motions import slide
from geometry.moves import lay_together
from geometry.notes import Target
from geometry.pieces import LineKind, Piece
from geometry.readings import length_reading
from geometry.regions import Band, Region
from geometry.stages import Strip

SHORTEN, LENGTHEN = "shorten", "lengthen"
AWAY, TOWARDS = "away from the hem", "towards the hem"


@dataclass(frozen=True)
class ShortenOrLengthen:
    way: str = choice("shorten or lengthen", SHORTEN, LENGTHEN)
    amount: float = mm("amount", 25.0, 0.0, 300.0, main=True, basis="paper taken out or added on each piece")
    line: str = choice("line", LineKind.LENGTHEN, LineKind.BUST, LineKind.WAIST, LineKind.HIP, "line drawn across")
    side: str = choice("side of the line", AWAY, TOWARDS)


def do(garment: Garment, amounts: ShortenOrLengthen, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        return on_piece(piece, amounts, target, note)

    return piece_by_piece(garment, targets, one)


def on_piece(piece: Piece, amounts: ShortenOrLengthen, target: Target, note: str) -> PieceDone:
    """One piece shortened or lengthened; the side not stated stays where it was."""
    amount = amounts.amount if target.amount is None else target.amount
    if amount == 0:
        return PieceDone(piece)
    start, along = cut_line(piece, amounts.line, target)
    normal = hem_side_normal(piece, start, along)
    if amounts.side == TOWARDS:
        normal = (-normal[0], -normal[1])
    facing = (normal[1], -normal[0])
    sign = -1.0 if amounts.way == SHORTEN else 1.0
    motion = slide(sign * amount * normal[0], sign * amount * normal[1])
    if amounts.way == SHORTEN:
        regions = [
            Region(Band(start, facing, 0.0, amount), None),
            Region(Band(start, facing, 0.0, math.inf), motion),
        ]
    else:
        regions = [Region(Band(start, facing, 0.0, math.inf), motion)]
    moved = lay_together(piece, regions, note, facing)
    added = amounts.way == LENGTHEN
    seen = moved.piece if added else piece
    strip = Strip(piece.id, partial(strip_between, seen, start, facing, 0.0, amount), added)
    return PieceDone(moved.piece, moved.findings, (strip,), (length_reading(amount, added),))


ALTERATION = Alteration(
    name="shorten_or_lengthen",
    title="Shorten or lengthen at a line",
    region="length",
    order=10,
    sentence="{way} by {amount} at the {line} on {pieces}, {side}",
    amounts=ShortenOrLengthen,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "two crosses on the grainline 100 mm apart across the line, shortened by 25.4 mm",
            "they stand 74.6 mm apart; the fold is 12.7 mm deep",
            "Robinson, costume construction text, ch. 17, and subtraction",
        ),
        Example(
            "a straight edge leaning 10 degrees off the grain, shortened by 25.4 mm",
            "a jog of 4.479 mm",
            "25.4 tan 10 degrees, worked by hand",
        ),
    ),
    describes=__doc__,
)
