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

import numpy as np

from geometry.alterations.armhole_too_low import armhole_of, underarm_of
from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.hand_ways import closed_into_dart, cut_and_drawn
from geometry.handwork import HandStep, Work
from geometry.motions import Point, bearing, direction, turn
from geometry.moves import dart_mouth, lay_together
from geometry.notes import Address, Target, length_at, place_of, point_of
from geometry.pieces import Dart, Edge, Piece
from geometry.pinches import pinched
from geometry.readings import mm_words
from geometry.regions import Region, Sector
from geometry.slashes import staying
from geometry.stages import Strip

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
    if not piece.darts:
        raise PatternError(
            f"“{piece.name}” has no bust dart to turn the wedge into; let it run out at another edge.", piece.id
        )
    dart = _nearest_dart(piece, middle)
    apex = dart.bust_point
    mouth = dart_mouth(piece.edge(dart.edge), dart.id)
    angle = _wedge_deg(piece, apex, middle, amount)
    wedge = bearing(apex, middle)
    opening = bearing(apex, mouth.point(0.5))
    # The part between wedge and dart that holds the underarm turns; the neck and the centre stay.
    clockwise = _holds_underarm(piece, armhole, apex, opening, wedge)
    if clockwise:
        start, sweep = opening, (wedge - angle / 2 - opening) % 360
        motion = turn(angle, apex)
    else:
        start, sweep = wedge + angle / 2, (opening - wedge - angle / 2) % 360
        motion = turn(-angle, apex)
    regions = [Region(Sector(apex, wedge - angle / 2, angle), None), Region(Sector(apex, start, sweep), motion)]
    moved = lay_together(piece, regions, note, direction(wedge))
    before, after = _mouth_deg(piece, dart), _mouth_deg(moved.piece, dart)
    words = f"takes {mm_words(amount)} out of the armhole; the dart opens from {before:.1f} to {after:.1f} degrees"
    step = _step(armhole, apex, wedge - angle / 2, angle)
    findings = (*moved.findings, *_slanting(piece, amount, step, middle, note))
    return PieceDone(moved.piece, findings, (_wedge(piece, apex, middle, wedge, angle),), (words,))


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


def _step(armhole: Edge, apex: Point, start: float, angle: float) -> float:
    """How much further out the armhole lies on one side of a wedge than on the other (mm), 0 where it is not met."""
    reaches = []
    for side in (start, start + angle):
        (x, y) = direction(side)
        points = [armhole.chain.point(u) for u in armhole.chain.crossings(apex, (x, y))]
        ahead = [math.dist(apex, p) for p in points if (p[0] - apex[0]) * x + (p[1] - apex[1]) * y > 0]
        if not ahead:
            return 0.0
        reaches.append(min(ahead))
    return abs(reaches[0] - reaches[1])


def _wedge_deg(piece: Piece, apex: Point, middle: Point, amount: float) -> float:
    reach = math.dist(apex, middle)
    if amount >= reach:
        raise PatternError(
            f"A wedge of {mm_words(amount)} is wider than it is long on “{piece.name}”; pinch out less.",
            piece.id,
            point=middle,
        )
    return math.degrees(2 * math.asin(amount / (2 * reach)))


def _holds_underarm(piece: Piece, armhole: Edge, apex: Point, opening: float, wedge: float) -> bool:
    underarm = bearing(apex, underarm_of(piece, armhole))
    return (underarm - opening) % 360 < (wedge - opening) % 360


def _mouth_deg(piece: Piece, dart: Dart) -> float:
    mouth = dart_mouth(piece.edge(dart.edge), dart.id)
    return abs((bearing(dart.bust_point, mouth.end) - bearing(dart.bust_point, mouth.start) + 180) % 360 - 180)


def _wedge(piece: Piece, apex: Point, middle: Point, middle_deg: float, angle: float) -> Strip:
    reach = math.dist(apex, middle)
    sides = [direction(middle_deg + side * angle / 2) for side in (-1, 1)]
    points = [apex] + [(apex[0] + reach * x, apex[1] + reach * y) for x, y in sides]
    return Strip(piece.id, np.array(points), False)


def steps(work: Work) -> list[HandStep]:
    if work.amounts.into != INTO_DART:
        return cut_and_drawn(work)
    middle = point_of(work.before, from_underarm(work.before, armhole_of(work.before), work.amounts.at))
    return closed_into_dart(work, _nearest_dart(work.before, middle), work.cuts[0])


def _nearest_dart(piece: Piece, middle: Point) -> Dart:
    return min(piece.darts, key=lambda d: math.dist(d.bust_point, middle))


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
