"""Sleeve wider or narrower at the elbow and the wrist.

When: the sleeve binds or flaps at the elbow or the wrist, and the upper arm is right.

By hand: mark half of each amount on either underarm seam, at the elbow and at the wrist, and draw both seams anew
through the marks from the underarm, which stays, so that they still match. Nothing at one of the two lets the change
run out there.

Source: a change shared over all the edges of the seam after Robinson, ch. 17, Central Washington University. The
place of the elbow: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.garments import Garment
from geometry.hand_edges import edges_by_hand
from geometry.hand_places import along_words
from geometry.handwork import HandStep, Work, phrase
from geometry.notes import Target
from geometry.pieces import Piece
from geometry.readings import mm_words
from geometry.seam_levels import upright
from geometry.shifting import edge_shifted, shift_through
from geometry.sleeves import sleeve_of

WIDER, NARROWER = "wider", "narrower"


@dataclass(frozen=True)
class ElbowAndWrist:
    way: str = choice("wider or narrower", WIDER, NARROWER)
    elbow: float = mm("change at the elbow", 0.0, 0.0, 150.0, basis="of the whole sleeve; half on each underarm seam")
    wrist: float = mm("change at the wrist", 20.0, 0.0, 200.0, basis="of the whole sleeve; half on each seam")
    at: float = share("place of the elbow, from the underarm to the wrist", 0.45, 0.2, 0.8)


def do(garment: Garment, amounts: ElbowAndWrist, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == WIDER else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        if not (amounts.elbow or amounts.wrist):
            return PieceDone(piece)
        return _changed(piece, sign, amounts)

    return piece_by_piece(garment, targets, one)


def _changed(piece: Piece, sign: float, amounts: ElbowAndWrist) -> PieceDone:
    sleeve = sleeve_of(piece)
    new = piece
    for edge in (sleeve.before, sleeve.after):
        seam = upright(new, edge.id)
        top, foot = seam.place(seam.top), seam.place(seam.foot)
        changes = {
            top: 0.0,
            top + amounts.at * (foot - top): sign * amounts.elbow / 2,
            foot: sign * amounts.wrist / 2,
        }
        new = edge_shifted(new, edge.id, shift_through(seam.outward, changes), (), seam.fixed_end)
    levels = [
        f"{mm_words(value)} at the {level} ({mm_words(value / 2)} on each underarm seam)"
        for level, value in (("elbow", amounts.elbow), ("wrist", amounts.wrist))
        if value
    ]
    words = f"the sleeve is {amounts.way} by {' and '.join(levels)}"
    return PieceDone(new, (), (strip_of(piece, new, sign > 0),), (words,))


def steps(work: Work) -> list[HandStep]:
    sleeve = sleeve_of(work.before)
    marks = {}
    for edge in (sleeve.before, sleeve.after):
        seam = upright(work.before, edge.id)
        share = work.amounts.at if edge.start == seam.top else 1 - work.amounts.at
        elbow = edge.chain.point(edge.chain.at_length(share * edge.chain.length))
        marks[edge.id] = [(elbow, phrase("at the elbow, ", along_words(work.before, elbow)))]
    return edges_by_hand(work, places=marks)


ALTERATION = Alteration(
    name="elbow_and_wrist",
    title="Sleeve wider or narrower at elbow and wrist",
    region="sleeve",
    order=94,
    sentence="Sleeve of {pieces} {way}: {elbow} at the elbow, {at} down from the underarm, and {wrist} at the wrist",
    amounts=ElbowAndWrist,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a wrist of 220 mm made 24 mm wider",
            "12 mm on each underarm seam; the upper arm and the cap as they were",
            "Robinson, costume construction text, ch. 17, and division",
        ),
    ),
    describes=__doc__,
)
