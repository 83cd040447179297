"""Hip larger or smaller.

When: the skirt or trousers cup in or ride up at the hip, or hang there in upright folds, and the waist is right.

By hand: share the change over all the edges of the side seams and draw every seam parallel to the old one from the
hip line to the hem, from there to nothing at the waist.

Source: the change shared over all seam edges: Robinson, ch. 17, Central Washington University. The full amount from hip
level to hem, to nothing at the waist: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.waist_size import LARGER, SMALLER, share_of, sides_changed
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.joined_pieces import left_out, names_of
from geometry.notes import Target
from geometry.pieces import EdgeKind, Piece
from geometry.stages import Offer

TO_HEM, AT_HIP = "down to the hem", "to nothing at the hem"


@dataclass(frozen=True)
class HipSize:
    way: str = choice("larger or smaller", LARGER, SMALLER)
    amount: float = mm("amount", 25.0, 0.0, 250.0, main=True, basis="round the body, over the side seams of all pieces")
    below: str = choice("below the hip", TO_HEM, AT_HIP)


def do(garment: Garment, amounts: HipSize, targets: tuple[Target, ...], note: str) -> Done:
    if amounts.amount == 0:
        return Done(garment)
    each = share_of(garment, amounts.amount, targets)
    outward = each if amounts.way == LARGER else -each
    at_hem = outward if amounts.below == TO_HEM else 0.0

    def one(piece: Piece, target: Target) -> PieceDone:
        return sides_changed(piece, {"bust": 0.0, "waist": 0.0, "hip": outward, "hem": at_hem}, amounts.amount)

    done = piece_by_piece(garment, targets, one)
    left = left_out(garment, targets, (EdgeKind.SIDE,))
    if not left:
        return done
    says = f"Change the hip of {names_of(garment, left)} too, shared over all the edges"
    return replace(done, offers=(Offer(says, "hip_size", amounts, (*targets, *map(Target, left))),))


ALTERATION = Alteration(
    name="hip_size",
    title="Hip larger or smaller",
    region="waist and seat",
    order=81,
    sentence="Hip of {pieces} {way} by {amount} round the body, {below}",
    amounts=HipSize,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a hip 40 mm larger on a front on the fold and a back cut as a pair",
            "10 mm more on each of 4 edges from the hip line to the hem, the waist as it was",
            "common practice, no source; division",
        ),
    ),
    describes=__doc__,
)
