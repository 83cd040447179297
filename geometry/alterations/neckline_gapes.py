"""Neckline gapes.

When: the neckline stands off the chest although it is neither too wide nor too low.

By hand: pinch the slack out of the neckline on the body. On half a pattern overlap half of it, in one of three ways.
Cut from the neck parallel to the grain down to the hem, hinge there and overlap: this narrows the bust a little too.
Or cut from the neck to the middle of the armhole, hinge on its stitching line and overlap: the armhole keeps its
length and the bust its width, and the shoulder comes forward; a facing is hinged on its inner edge. Or, where there is
a bust dart, cut from the neck to the bust point and close the wedge: the dart opens by its angle, 2 asin(p / 2R) for a
pinch p at the distance R from the bust point; shoulder and armhole turn towards the dart and keep their length, and a
facing is hinged on its inner edge. Then draw the neckline smooth again. The second way is the one to start from: where
a neckline slants, a cut along the grain leaves a step in it, and drawing that smooth gives some of the length back.

Source: Threads, 2019-03-22, neckline; the widths in between by similar triangles; the angle by geometry; turning a
dart about the bust point: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from geometry.alterations.armhole_gapes import from_underarm
from geometry.alterations.armhole_too_low import armhole_of
from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.hand_ways import closed_into_dart, cut_and_drawn
from geometry.handwork import HandStep, Work
from geometry.motions import Point
from geometry.necklines import Neckline, named, neckline_of, necks_that_copy
from geometry.notes import Target, edge_run_length, place_at, point_of
from geometry.pieces import EdgeKind, LineKind, Piece
from geometry.pinches import pinched, straight_down
from geometry.readings import mm_words
from geometry.slashes import staying
from geometry.stages import Offer, Strip
from geometry.turned_wedges import into_dart, nearest_dart

TO_HEM, TO_ARMHOLE = "to nothing at the hem", "to nothing at mid-armhole"
INTO_DART = "turned into the bust dart"


@dataclass(frozen=True)
class NecklineGapes:
    amount: float = mm(
        "amount", 6.0, 0.0, 40.0, main=True, basis="on each piece: half of what is pinched out across the body"
    )
    at: float = share("place along the neckline, from the centre", 0.4, 0.05, 0.95)
    into: str = choice("where it runs out", TO_ARMHOLE, TO_HEM, INTO_DART)


def do(garment: Garment, amounts: NecklineGapes, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        return _pinched(piece, amount, amounts, note)

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment:
        return done
    return replace(done, offers=_facings(garment, amounts, targets))


def _pinched(piece: Piece, amount: float, amounts: NecklineGapes, note: str) -> PieceDone:
    neck = neckline_of(piece)
    along = _along(neck, amounts.at)
    start = piece.point_at(place_at(neck.edge, along))
    words = (
        f"takes {mm_words(amount)} out of the neckline of “{piece.name}”, {mm_words(amount * piece.cut_count)} in all"
    )
    if amounts.into == INTO_DART and not piece.edges_of(EdgeKind.FACING):
        # The shoulder and the armhole turn down towards the dart; the centre stays.
        turned = into_dart(piece, neck.edge, start, amount, neck.shoulder_end, note)
        moved, step, strip = turned.moved, turned.step_mm, turned.strip
        words += f"; the dart opens from {turned.before:.1f} to {turned.after:.1f} degrees"
    else:
        hinge = straight_down(piece, start) if amounts.into == TO_HEM else _beyond(piece, start)
        done = pinched(piece, neck.edge, along, amount, hinge, note, staying(piece))
        moved, step, strip = done.moved, done.jog_mm, Strip(piece.id, done.strip, False)
        if amounts.into == TO_HEM:
            words += _narrows(piece, start, hinge, done.turned_deg)
        else:
            words += "; the armhole keeps its length"
    return PieceDone(moved.piece, (*moved.findings, *_slanting(piece, amount, step, start, note)), (strip,), (words,))


def _along(neck: Neckline, share_from_centre: float) -> float:
    """The length along the neckline, from its start, of a share counted from the centre."""
    whole = edge_run_length(neck.edge)
    return share_from_centre * whole if neck.centre_first else (1 - share_from_centre) * whole


def _slanting(piece: Piece, amount: float, step: float, start: Point, note: str) -> tuple[Finding, ...]:
    """A finding where the cut leaves a step of more than half its amount in the neckline."""
    if step <= amount / 2:
        return ()
    says = (
        f"The neckline of “{piece.name}” slants where it is cut, so the cut leaves a step of {mm_words(step)} and it "
        f"comes out less than {mm_words(amount)} shorter; cut nearer to the centre, or to mid-armhole."
    )
    return (Finding("neckline-slants", Level.NOTICE, says, piece.id, note, start),)


def _beyond(piece: Piece, start: Point) -> Point:
    """The middle of the armhole; on a facing, which has none, the nearest place of its inner edge."""
    inner = piece.edges_of(EdgeKind.FACING)
    if inner and not piece.edges_of(EdgeKind.ARMHOLE):
        chain = inner[0].chain
        return chain.point(chain.nearest(start)[0])
    return point_of(piece, from_underarm(piece, armhole_of(piece), 0.5))


def _narrows(piece: Piece, start: Point, hinge: Point, turned_deg: float) -> str:
    bust = piece.line(LineKind.BUST)
    if bust is None:
        return ""
    (ax, ay), (bx, by) = bust.chain.start, bust.chain.start_tangent
    down = (hinge[0] - start[0], hinge[1] - start[1])
    share = (down[0] * (ay - start[1]) - down[1] * (ax - start[0])) / (by * down[0] - bx * down[1])
    at = (ax - share * bx, ay - share * by)
    width = 2 * math.dist(at, hinge) * math.sin(math.radians(turned_deg) / 2)
    return f"; it narrows the bust line by {mm_words(width)}, {mm_words(width * piece.cut_count)} in all"


def _facings(garment: Garment, amounts: NecklineGapes, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    facings = necks_that_copy(garment, targets)
    if not facings:
        return ()
    return (Offer(f"Take the same out of {named(garment, facings)}", ALTERATION.name, amounts, facings),)


def steps(work: Work) -> list[HandStep]:
    if work.amounts.into != INTO_DART or work.before.edges_of(EdgeKind.FACING):
        return cut_and_drawn(work)
    neck = neckline_of(work.before)
    start = work.before.point_at(place_at(neck.edge, _along(neck, work.amounts.at)))
    return closed_into_dart(work, nearest_dart(work.before, start), work.cuts[0])


ALTERATION = Alteration(
    name="neckline_gapes",
    title="Neckline gapes",
    region="neckline",
    order=36,
    sentence="Neckline gapes: take {amount} out of {pieces}, {at} of the neckline from the centre, {into}",
    amounts=NecklineGapes,
    do=do,
    steps=steps,
    examples=(
        Example(
            "12 mm pinched out of a neckline 560 mm above the hem, hinged at the hem",
            "6 mm on half the front, and 4.1 mm narrower 380 mm above the hem",
            "Threads, 2019-03-22, neckline; 6 x 380 / 560",
        ),
        Example(
            "6 mm on half the front, hinged at mid-armhole",
            "the neckline 6 mm shorter before it is drawn smooth, the armhole as long as before",
            "Threads, 2019-03-22, neckline",
        ),
        Example(
            "12 mm pinched out 180 mm above the bust point, turned into a dart",
            "the dart 3.820 degrees wider: 12 mm at 180 mm from the bust point, 6 mm at 90 mm",
            "2 asin(12 / 360), worked by hand",
        ),
    ),
    describes=__doc__,
)
