"""Leg width: thigh, knee and hem.

When: the legs bind or flap at thigh, knee or hem, and waist and hip are right.

By hand: share the change of a leg's girth over its edges, side seam and inseam of front and back alike, and draw the
seams anew: at the thigh from the crotch level to nothing at the knee and the hip; for the whole leg the same from knee
to hem, to nothing at hip and crotch; at the hem to nothing at the knee.

Source: a change shared over all seam edges (1 in over 4 edges is 6.35 mm each): Robinson, ch. 17, Central Washington
University. Where it runs to nothing: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import largest_part
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.joined_pieces import left_out, names_of
from geometry.legs import leg_changed
from geometry.notes import Target
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.stages import Offer, Strip

WIDER, NARROWER = "wider", "narrower"
THIGH, LEG, HEM = "at the thigh", "from the knee down", "at the hem of the leg"
_AT = {THIGH: (1.0, 0.0, 0.0), LEG: (0.0, 1.0, 1.0), HEM: (0.0, 0.0, 1.0)}
_SEAMS = (EdgeKind.SIDE, EdgeKind.INSEAM)


@dataclass(frozen=True)
class LegWidth:
    way: str = choice("wider or narrower", WIDER, NARROWER)
    amount: float = mm("amount", 24.0, 0.0, 300.0, main=True, basis="round one leg, over the seam edges of its pieces")
    where: str = choice("where on the leg", THIGH, LEG, HEM)


def do(garment: Garment, amounts: LegWidth, targets: tuple[Target, ...], note: str) -> Done:
    if amounts.amount == 0:
        return Done(garment)
    pieces = [garment.piece(target.piece) for target in targets]
    count = sum(edge.kind in _SEAMS for piece in pieces for edge in piece.edges)
    each = amounts.amount / max(count, 1)
    outward = each if amounts.way == WIDER else -each

    def one(piece: Piece, target: Target) -> PieceDone:
        crotch, knee, foot = (outward * share for share in _AT[amounts.where])
        new = leg_changed(piece, crotch, knee, foot)
        grown, gone = new.polygon.difference(piece.polygon), piece.polygon.difference(new.polygon)
        strip = Strip(piece.id, largest_part(grown if outward > 0 else gone), outward > 0)
        word = "let out" if outward > 0 else "taken in"
        reading = f"{count} edges {word} by {mm_words(each)} each, {mm_words(amounts.amount)} round each leg"
        return PieceDone(new, (), (strip,), (reading,))

    done = piece_by_piece(garment, targets, one)
    left = left_out(garment, targets, _SEAMS)
    if not left:
        return done
    says = f"Share it with {names_of(garment, left)}, over all the edges of the leg"
    return replace(done, offers=(Offer(says, "leg_width", amounts, (*targets, *map(Target, left))),))


ALTERATION = Alteration(
    name="leg_width",
    title="Leg width",
    region="waist and seat",
    order=85,
    sentence="Leg of {pieces} {way} by {amount} round the leg, {where}",
    amounts=LegWidth,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a leg of front and back 25.4 mm (1 in) wider from the knee down",
            "4 edges, 6.35 mm each from knee to hem",
            "Robinson, costume construction text, ch. 17, and division",
        ),
    ),
    describes=__doc__,
)
