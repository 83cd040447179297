"""Square or sloping shoulder.

When: folds run from the shoulder tip towards the neck (square shoulder), or slant from the neck down to the underarm
(sloping shoulder).

By hand: move the shoulder tip and the underarm up (square) or down (sloping) by the same amount, so that the armhole
keeps its shape and its length and the sleeve its fit; rule the shoulder seam anew from the neck to the moved tip and
draw the side seam up to the moved underarm. A facing follows at its own end of the shoulder seam.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.carrying import followed, sheared, slid, with_edges
from geometry.cutting_lines import hem_side_normal, largest_part, square_direction
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.motions import Point
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, Piece, neighbours
from geometry.readings import mm_words
from geometry.stages import Offer, Strip

SQUARE, SLOPING = "square shoulder", "sloping shoulder"


@dataclass(frozen=True)
class SquareOrSlopingShoulder:
    way: str = choice("square or sloping", SQUARE, SLOPING)
    amount: float = mm(
        "amount", 10.0, 0.0, 60.0, main=True, basis="at the shoulder tip and the underarm, along the centre"
    )


@dataclass(frozen=True, eq=False)
class Shoulder:
    """A shoulder seam with its tip; ``beside`` is the edge that meets it there: the armhole, a facing's inner edge."""

    edge: Edge
    beside: Edge
    tip_first: bool

    @property
    def tip(self) -> Point:
        return self.edge.start if self.tip_first else self.edge.end


def do(garment: Garment, amounts: SquareOrSlopingShoulder, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == SQUARE else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = own_amount(garment, target, amounts.amount)
        if amount == 0:
            return PieceDone(piece)
        return _moved(piece, sign * amount)

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment:
        return done
    return replace(done, offers=_left_out(garment, amounts, targets))


def shoulder_of(piece: Piece) -> Shoulder:
    """The shoulder seam of a piece; its tip is at the armhole, on a facing at the end away from the neck.

    Raises PatternError when the piece has no shoulder seam.
    """
    for edge in piece.edges_of(EdgeKind.SHOULDER):
        before, after = neighbours(piece, edge.id)
        for beside, first in ((before, True), (after, False)):
            if beside.kind is EdgeKind.ARMHOLE:
                return Shoulder(edge, beside, first)
    for edge in piece.edges_of(EdgeKind.SHOULDER):
        before, after = neighbours(piece, edge.id)
        for beside, other, first in ((before, after, True), (after, before, False)):
            if other.kind is EdgeKind.NECKLINE:
                return Shoulder(edge, beside, first)
    raise PatternError(f"“{piece.name}” has no shoulder seam; choose another piece.", piece.id)


def joined_shoulders(garment: Garment, targets: tuple[Target, ...]) -> tuple[str, ...]:
    """The pieces whose shoulder seam is sewn to a target's and that are no targets themselves.

    Facings follow the piece that they copy and ask for nothing.
    """
    done = {target.piece for target in targets}
    found = {
        ref.piece: None
        for target in targets
        if not garment.piece(target.piece).copies
        for edge in garment.piece(target.piece).edges_of(EdgeKind.SHOULDER)
        for seam in garment.seams_of(target.piece, edge.id)
        for ref in (*seam.first, *seam.second)
        if ref.piece not in done
    }
    return tuple(found)


def facings_of(garment: Garment, piece_id: str) -> tuple[str, ...]:
    """The pieces that copy a neckline of this piece and have a shoulder seam: its facings and linings."""
    neck = {edge.id for edge in garment.piece(piece_id).edges_of(EdgeKind.NECKLINE)}
    return tuple(
        piece.id
        for piece in garment.pieces
        if piece.edges_of(EdgeKind.SHOULDER)
        and any(copy.piece == piece_id and copy.of_edge in neck for copy in piece.copies)
    )


def own_amount(garment: Garment, target: Target, amount: float) -> float:
    """What a note that moves the shoulder tip by ``amount`` mm moves of a target's own end of the seam.

    A facing reaches along a part of the seam of the piece that it copies, and its end moves by that part of the amount.
    """
    if target.amount is not None:
        return target.amount
    for copy in garment.piece(target.piece).copies:
        if target.piece in facings_of(garment, copy.piece) and garment.piece(copy.piece).edges_of(EdgeKind.SHOULDER):
            return round(amount * share_along(garment, target.piece, copy.piece), 2)
    return amount


def share_along(garment: Garment, facing: str, copied: str) -> float:
    """The part of the shoulder seam of the piece it copies along which a facing reaches, 1 at the most."""
    own, whole = (shoulder_of(garment.piece(piece)).edge.length for piece in (facing, copied))
    return min(1.0, own / whole)


def _moved(piece: Piece, up: float) -> PieceDone:
    shoulder = shoulder_of(piece)
    across = square_direction(piece)
    normal = hem_side_normal(piece, shoulder.tip, across)
    shift = (up * normal[0], up * normal[1])
    ruled = sheared(piece, shoulder.edge, shoulder.tip_first, shift, across)
    if shoulder.beside.kind is not EdgeKind.ARMHOLE:
        inner = followed(piece, shoulder.beside, not shoulder.tip_first, shift)
        new = with_edges(piece, (ruled, inner))
        words = f"the shoulder seam of “{piece.name}” follows by {mm_words(abs(up))} at its end"
        return PieceDone(new, (), (_strip(piece, new, up),), (words,))
    armhole = slid(shoulder.beside, shift)
    before, after = neighbours(piece, armhole.id)
    side = before if before.id != shoulder.edge.id else after
    carried = followed(piece, side, side.id == after.id, shift)
    new = with_edges(piece, (ruled, armhole, carried))
    way = "raises" if up > 0 else "lowers"
    words = (
        f"{way} shoulder tip and underarm by {mm_words(abs(up))} on each side; the armhole keeps its shape, and the "
        f"shoulder seam goes from {mm_words(shoulder.edge.length)} to {mm_words(ruled.length)}"
    )
    return PieceDone(new, (), (_strip(piece, new, up),), (words,))


def _strip(piece: Piece, new: Piece, up: float) -> Strip:
    shape = new.polygon.difference(piece.polygon) if up > 0 else piece.polygon.difference(new.polygon)
    return Strip(piece.id, largest_part(shape), up > 0)


def _left_out(
    garment: Garment, amounts: SquareOrSlopingShoulder, targets: tuple[Target, ...]
) -> tuple[Offer, ...]:
    """The same offered for the other side of the shoulder seam, and the facings' share of it."""
    offers = []
    others = joined_shoulders(garment, targets)
    if others:
        names = " and ".join(f"“{garment.piece(piece).name}”" for piece in others)
        offers.append(Offer(f"Do the same to {names}", ALTERATION.name, amounts, tuple(Target(p) for p in others)))
    done = {target.piece for target in targets}
    follow: dict[str, Target] = {}
    for target in targets:
        amount = amounts.amount if target.amount is None else target.amount
        for facing in facings_of(garment, target.piece):
            if facing not in done:
                share = share_along(garment, facing, target.piece)
                follow[facing] = Target(facing, amount=round(amount * share, 2))
    if follow:
        names = " and ".join(f"“{garment.piece(piece).name}”" for piece in follow)
        offers.append(
            Offer(f"Let the shoulder seam of {names} follow", ALTERATION.name, amounts, tuple(follow.values()))
        )
    return tuple(offers)


ALTERATION = Alteration(
    name="square_or_sloping_shoulder",
    title="Square or sloping shoulder",
    region="shoulder",
    order=40,
    sentence="{way}: move the shoulder tip and the underarm of {pieces} by {amount}, the armhole as it is",
    amounts=SquareOrSlopingShoulder,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a sloping shoulder of 10 mm",
            "shoulder tip and underarm 10 mm lower, the armhole's length and shape unchanged, the neck as it was",
            "common practice, no source; follows from geometry",
        ),
        Example(
            "a straight shoulder 95 mm across and 30 mm high (99.62 mm long), sloping by 10 mm",
            "40 mm high and 103.08 mm long",
            "Pythagoras, worked by hand",
        ),
    ),
    describes=__doc__,
)
