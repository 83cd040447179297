"""Armhole gapes.

When: the edge of the armhole stands off the body, mostly at the front above the bust.

By hand: pinch the slack out as a wedge that is widest at the armhole. Paper can only lie flat when the wedge runs
out somewhere, so either cut from the armhole to the bust point, close the wedge and let it open the bust dart, or
let the wedge run out at another edge and hinge the paper there.

The angle is conserved: a pinch p at the distance R from the bust point opens the dart by 2 asin(p / 2R).
Source: geometry; turning a dart about the bust point is common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.alterations.armhole_too_low import armhole_of, underarm_of
from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.hand_ways import closed_into_dart, cut_and_drawn
from geometry.handwork import HandStep, Work
from geometry.motions import Point
from geometry.notes import Address, Target, length_at, place_of, point_of
from geometry.pieces import Edge, Piece
from geometry.pinches import pinched
from geometry.readings import mm_words
from geometry.slashes import staying
from geometry.stages import Strip
from geometry.turned_wedges import into_dart, nearest_dart

INTO_DART, INTO_EDGE = "turned into the bust dart", "run out at another edge"


@dataclass(frozen=True)
class ArmholeGapes:
    amount: float = mm("amount", 6.0, 0.0, 40.0, main=True, basis="pinched out at the armhole of each piece")
    at: float = share("place along the armhole, from the underarm", 0.5, 0.05, 0.95)
    into: str = choice("where it goes", INTO_DART, INTO_EDGE)


def do(garment: Garment, amounts: ArmholeGapes, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        armhole = armhole_of(piece)
        middle = point_of(piece, from_underarm(piece, armhole, amounts.at))
        if amounts.into == INTO_DART:
            return _into_dart(piece, armhole, middle, amount, note)
        return _into_edge(piece, armhole, amount, amounts.at, target, note)

    return piece_by_piece(garment, targets, one)


def from_underarm(piece: Piece, armhole: Edge, part: float) -> Address:
    """The place at a share of the armhole, counted from the underarm."""
    at_start = math.dist(underarm_of(piece, armhole), armhole.start) < 1e-6
    return Address(armhole.id, "start" if at_start else "end", share=part)


def _into_dart(piece: Piece, armhole: Edge, middle: Point, amount: float, note: str) -> PieceDone:
    # The part between wedge and dart that holds the underarm turns; the neck and the centre stay.
    done = into_dart(piece, armhole, middle, amount, underarm_of(piece, armhole), note)
    opens = f"the dart opens from {done.before:.1f} to {done.after:.1f} degrees"
    words = f"takes {mm_words(amount)} out of the armhole; {opens}"
    findings = (*done.moved.findings, *_slanting(piece, amount, done.step_mm, middle, note))
    return PieceDone(done.moved.piece, findings, (done.strip,), (words,))


def _into_edge(piece: Piece, armhole: Edge, amount: float, at: float, target: Target, note: str) -> PieceDone:
    if not target.across:
        raise PatternError(f"Say at which place of which edge of “{piece.name}” the wedge runs out.", piece.id)
    hinge = piece.point_at(place_of(piece, target.across[-1]))
    along = length_at(armhole, place_of(piece, from_underarm(piece, armhole, at)))
    done = pinched(piece, armhole, along, amount, hinge, note, staying(piece))
    words = (
        f"takes {mm_words(amount)} out of the armhole, to nothing at the edge; "
        f"the paper turns {done.turned_deg:.1f} degrees"
    )
    middle = point_of(piece, from_underarm(piece, armhole, at))
    findings = (*done.moved.findings, *_slanting(piece, amount, done.jog_mm, middle, note))
    return PieceDone(done.moved.piece, findings, (Strip(piece.id, done.strip, False),), (words,))


def _slanting(piece: Piece, amount: float, step: float, middle: Point, note: str) -> tuple[Finding, ...]:
    """A finding where the cut leaves a step of more than half its amount in the armhole."""
    if step <= amount / 2:
        return ()
    says = (
        f"The armhole of “{piece.name}” slants where it is cut, so the cut leaves a step of {mm_words(step)} and it "
        f"comes out less than {mm_words(amount)} shorter; cut it where it runs more squarely across the cut."
    )
    return (Finding("armhole-slants", Level.NOTICE, says, piece.id, note, middle),)


def steps(work: Work) -> list[HandStep]:
    if work.amounts.into != INTO_DART:
        return cut_and_drawn(work)
    middle = point_of(work.before, from_underarm(work.before, armhole_of(work.before), work.amounts.at))
    return closed_into_dart(work, nearest_dart(work.before, middle), work.cuts[0])


ALTERATION = Alteration(
    name="armhole_gapes",
    title="Armhole gapes",
    region="armhole",
    order=31,
    sentence="Armhole gapes: pinch out {amount} on {pieces}, {at} of the armhole up from the underarm, {into}",
    amounts=ArmholeGapes,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a pinch of 12 mm at 180 mm from the bust point",
            "the dart opens by 3.820 degrees, which is 6.000 mm at 90 mm",
            "2 asin(12 / 360), worked by hand",
        ),
    ),
    describes=__doc__,
)
