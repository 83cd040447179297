"""Narrow or broad shoulder, the armhole kept.

When: the armhole seam falls off the shoulder bone (narrow) or lies inside it and pulls across (broad).

By hand: cut from the middle of the shoulder seam to the armhole and hinge on its stitching line. Overlap at the
shoulder (narrow) or spread (broad), and rule the shoulder seam straight again. The armhole turns about the hinge and
keeps its length, so the sleeve fits as before; front and back are changed alike.

The amount is what the ruled seam gains or loses: the turn about the hinge is the one that gives just that (law of
cosines). Source: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from geometry.alterations.armhole_gapes import from_underarm
from geometry.alterations.armhole_too_low import armhole_of
from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.alterations.square_or_sloping_shoulder import joined_shoulders, shoulder_of
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.motions import Point, bearing
from geometry.necklines import named
from geometry.notes import Target, edge_run_length, point_of
from geometry.pieces import Edge, EdgeKind, Piece
from geometry.pinches import closed, opened
from geometry.readings import mm_words
from geometry.slashes import staying
from geometry.stages import Offer, Strip

NARROW, BROAD = "narrow shoulder", "broad shoulder"


@dataclass(frozen=True)
class NarrowOrBroadShoulder:
    way: str = choice("narrow or broad", NARROW, BROAD)
    amount: float = mm("amount", 10.0, 0.0, 50.0, main=True, basis="on each shoulder seam, ruled straight")
    hinge: float = share("place of the hinge along the armhole, from the underarm", 0.5, 0.15, 0.85)


def do(garment: Garment, amounts: NarrowOrBroadShoulder, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        return _changed(piece, amount, amounts, note)

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment:
        return done
    others = tuple(
        Target(piece)
        for piece in joined_shoulders(garment, targets)
        if garment.piece(piece).edges_of(EdgeKind.ARMHOLE)
    )
    if not others:
        return done
    return replace(done, offers=(Offer(f"Do the same to {named(garment, others)}", ALTERATION.name, amounts, others),))


def _changed(piece: Piece, amount: float, amounts: NarrowOrBroadShoulder, note: str) -> PieceDone:
    armhole = armhole_of(piece)
    if armhole.kind is not EdgeKind.ARMHOLE:
        raise PatternError(f"“{piece.name}” has no armhole; choose a front or a back.", piece.id)
    seam = shoulder_of(piece).edge
    hinge = point_of(piece, from_underarm(piece, armhole, amounts.hinge))
    along = edge_run_length(seam) / 2
    sign = -1 if amounts.way == NARROW else 1
    length = math.dist(seam.start, seam.end)
    degrees = _turn(piece, seam, hinge, length + sign * amount)
    how = closed if amounts.way == NARROW else opened
    done = how(piece, seam, along, degrees, hinge, note, staying(piece))
    words = (
        f"the shoulder seam of “{piece.name}” goes from {mm_words(length)} to {mm_words(length + sign * amount)}, "
        f"{mm_words(2 * amount)} {'less' if sign < 0 else 'more'} across both shoulders; the armhole keeps its length"
    )
    return PieceDone(done.moved.piece, done.moved.findings, (Strip(piece.id, done.strip, sign > 0),), (words,))


def _turn(piece: Piece, seam: Edge, hinge: Point, length: float) -> float:
    """How far the paper turns about the hinge for the ends of the seam to lie ``length`` mm apart (degrees)."""
    reaches = math.dist(hinge, seam.start), math.dist(hinge, seam.end)
    before = abs((bearing(hinge, seam.start) - bearing(hinge, seam.end) + 180) % 360 - 180)
    cosine = (reaches[0] ** 2 + reaches[1] ** 2 - length**2) / (2 * reaches[0] * reaches[1])
    if not -1 < cosine < 1:
        raise PatternError(
            f"The shoulder seam of “{piece.name}” cannot be made {mm_words(length)} long by turning about the armhole.",
            piece.id,
            seam.id,
            hinge,
        )
    return abs(math.degrees(math.acos(cosine)) - before)


ALTERATION = Alteration(
    name="narrow_or_broad_shoulder",
    title="Narrow or broad shoulder",
    region="shoulder",
    order=41,
    sentence="{way}: {amount} on the shoulder seam of {pieces}, hinged at {hinge} of the armhole from the underarm",
    amounts=NarrowOrBroadShoulder,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "a narrow shoulder of 12 mm",
            "the shoulder seam 12 mm shorter when it is ruled straight, the armhole as long as before",
            "common practice, no source; follows from geometry",
        ),
    ),
    describes=__doc__,
)
