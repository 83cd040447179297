"""Forward shoulder.

When: the shoulder seam lies behind the top of the shoulder, or before it.

By hand: the shoulder seam is moved forward at the tip, to nothing at the neck or by as much there. What is taken off
the front is added to the back, so that the armhole is as long in all; rule both seams anew, and set the shoulder
notch of the sleeve forward by as much. A facing follows at its own end of the seam. Backward is the same the other
way round.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.alterations.square_or_sloping_shoulder import (
    Shoulder,
    facings_of,
    joined_shoulders,
    own_amount,
    share_along,
    shoulder_of,
)
from geometry.carrying import run_on, sheared, with_edges
from geometry.cutting_lines import square_direction
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.lines import straight
from geometry.motions import Point
from geometry.necklines import named
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, Piece, neighbours
from geometry.readings import mm_words
from geometry.stages import Offer

FORWARD, BACKWARD = "forward", "backward"
TO_NOTHING, AS_MUCH = "to nothing at the neck", "by as much at the neck"


@dataclass(frozen=True)
class ForwardShoulder:
    way: str = choice("forward or backward", FORWARD, BACKWARD)
    amount: float = mm("amount", 8.0, 0.0, 40.0, main=True, basis="at the shoulder tip, along the armhole")
    neck: str = choice("at the neck", TO_NOTHING, AS_MUCH)


def do(garment: Garment, amounts: ForwardShoulder, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = target.amount
        if amount is None:
            whole = amounts.neck == AS_MUCH
            amount = amounts.amount if whole else own_amount(garment, target, amounts.amount)
        if amount == 0:
            return PieceDone(piece)
        forward = amount if amounts.way == FORWARD else -amount
        return _moved(piece, -forward if is_front(piece) else forward, amounts.neck == AS_MUCH)

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment:
        return done
    readings = (*done.readings, *_notch_words(garment, amounts, targets))
    return replace(done, readings=readings, offers=_left_out(garment, amounts, targets))


def is_front(piece: Piece) -> bool:
    """True for a front, False for a back; raises PatternError for a piece without a centre."""
    if piece.edges_of(EdgeKind.CENTRE_FRONT):
        return True
    if piece.edges_of(EdgeKind.CENTRE_BACK):
        return False
    raise PatternError(
        f"“{piece.name}” has no centre front and no centre back, so it cannot be told which of the two it is.", piece.id
    )


def _moved(piece: Piece, up: float, at_neck: bool) -> PieceDone:
    """The shoulder seam moved up by ``up`` mm along the edges that meet it (down when negative)."""
    shoulder = shoulder_of(piece)
    beside = run_on(piece, shoulder.beside, not shoulder.tip_first, up)
    changed = [beside]
    if at_neck:
        before, after = neighbours(piece, shoulder.edge.id)
        neck = after if shoulder.tip_first else before
        changed.append(run_on(piece, neck, shoulder.tip_first, up))
    drawn = _between(piece, shoulder, changed)
    new = with_edges(piece, (drawn,), changed)
    way = "adds" if up > 0 else "takes"
    words = (
        f"{way} {mm_words(abs(up))} {'to' if up > 0 else 'off'} “{piece.name}” at the shoulder tip"
        f"{' and the neck' if at_neck else ', to nothing at the neck'}; its shoulder seam goes from "
        f"{mm_words(shoulder.edge.length)} to {mm_words(drawn.length)}"
    )
    return PieceDone(new, (), (strip_of(piece, new, up > 0),), (words,))


def _between(piece: Piece, shoulder: Shoulder, changed: list[Edge]) -> Edge:
    """The shoulder seam drawn to the new ends of the edges beside it."""
    edge, first = shoulder.edge, shoulder.tip_first
    tip = changed[0].end if first else changed[0].start
    ends = [tip, edge.end] if first else [edge.start, tip]
    if len(changed) > 1:
        ends[1 if first else 0] = changed[1].start if first else changed[1].end
    if edge.chain.is_straight and len(edge.runs) == 1:
        return replace(edge, runs=(replace(edge.runs[0], chain=straight(ends[0], ends[1])),))
    for at_start, old, new in ((True, edge.start, ends[0]), (False, edge.end, ends[1])):
        shift: Point = (new[0] - old[0], new[1] - old[1])
        edge = sheared(piece, edge, at_start, shift, square_direction(piece))
    return edge


def _notch_words(garment: Garment, amounts: ForwardShoulder, targets: tuple[Target, ...]) -> tuple[str, ...]:
    sleeves = {
        ref.piece: Target(ref.piece)
        for target in targets
        for edge in garment.piece(target.piece).edges_of(EdgeKind.ARMHOLE)
        for seam in garment.seams_of(target.piece, edge.id)
        for ref in (*seam.first, *seam.second)
        if garment.edge(ref).kind is EdgeKind.CAP
    }
    if not sleeves:
        return ()
    names = named(garment, tuple(sleeves.values()))
    return (f"set the shoulder notch of {names} {mm_words(amounts.amount)} {amounts.way}",)


def _left_out(garment: Garment, amounts: ForwardShoulder, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """The opposite offered for the other side of the seam, and the facings' share."""
    done = {target.piece for target in targets}
    others = tuple(Target(piece) for piece in joined_shoulders(garment, targets))
    offers = []
    if others:
        says = f"Move the shoulder seam of {named(garment, others)} {amounts.way} too"
        offers.append(Offer(says, ALTERATION.name, amounts, others))
    follow: dict[str, Target] = {}
    for target in targets:
        amount = amounts.amount if target.amount is None else target.amount
        for facing in facings_of(garment, target.piece):
            if facing not in done:
                share = share_along(garment, facing, target.piece) if amounts.neck == TO_NOTHING else 1.0
                follow[facing] = Target(facing, amount=round(amount * share, 2))
    if follow:
        facings = tuple(follow.values())
        offers.append(
            Offer(f"Let the shoulder seam of {named(garment, facings)} follow", ALTERATION.name, amounts, facings)
        )
    return tuple(offers)


ALTERATION = Alteration(
    name="forward_shoulder",
    title="Forward shoulder",
    region="shoulder",
    order=42,
    sentence="Move the shoulder seam of {pieces} {way} by {amount} at the tip, {neck}",
    amounts=ForwardShoulder,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a forward shoulder of 8 mm on a front and a back",
            "the front armhole 8 mm shorter, the back armhole 8 mm longer, both as long in all",
            "common practice, no source; addition",
        ),
    ),
    describes=__doc__,
)
