"""Armhole too low.

When: the armhole hangs below the arm and the garment lifts when the arm is raised.

By hand: fold a tuck straight across the piece at a height of the armhole, square to the centre, the same on the
front, the back and across the sleeve cap, and draw the armhole smooth again. Or leave the length alone and fill
the underarm in: raise the underarm corner along the side seam and draw the lower armhole up to it. A tuck also
shortens the centre and lifts the bust point and the waist by as much; the note offers that length back at the
lengthen/shorten line. Too low and gaping are two faults: this is the parallel tuck for the first.

Source: common practice, no source; the fold half as deep as what it takes out after Robinson, ch. 17, Central
Washington University.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.shorten_or_lengthen import AWAY, LENGTHEN, ShortenOrLengthen
from geometry.cutting_lines import hem_side_normal, largest_part, square_direction, strip_between
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn, drawn_anew
from geometry.handwork import HandStep, Work, phrase
from geometry.lines import Chain
from geometry.motions import Point, slide
from geometry.moves import lay_together
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, LineKind, Piece, neighbours
from geometry.readings import length_reading, mm_words
from geometry.regions import Band, Region
from geometry.reshaping import corner_raised
from geometry.stages import Offer, Strip

TUCK, FILL = "tuck out", "fill in the underarm by"


@dataclass(frozen=True)
class ArmholeTooLow:
    way: str = choice("tuck or fill in", TUCK, FILL)
    amount: float = mm("amount", 6.0, 0.0, 60.0, main=True, basis="paper taken out across each piece")
    height: float = mm("height above the underarm", 60.0, 5.0, 250.0, basis="square to the centre, from the underarm")


def do(garment: Garment, amounts: ArmholeTooLow, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        if amounts.way == FILL:
            return _filled(piece, amount)
        return _tucked(piece, amount, amounts.height, note)

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment or amounts.way == FILL:
        return done
    return replace(done, offers=(*_caps_left_out(garment, amounts, targets), *_lost_length(garment, amounts, targets)))


def armhole_of(piece: Piece) -> Edge:
    """The armhole of a piece, or the cap of a sleeve; raises PatternError when it has neither."""
    for kind in (EdgeKind.ARMHOLE, EdgeKind.CAP):
        for edge in piece.edges_of(kind):
            return edge
    raise PatternError(f"“{piece.name}” has no armhole and no sleeve cap; choose another piece.", piece.id)


def underarm_of(piece: Piece, armhole: Edge) -> Point:
    """The underarm corner: the armhole's end at the side seam (halfway between the two for a sleeve cap)."""
    before, after = neighbours(piece, armhole.id)
    ends = [
        point
        for point, beside in ((armhole.start, before), (armhole.end, after))
        if beside.kind in (EdgeKind.SIDE, EdgeKind.UNDERARM)
    ]
    if not ends:
        raise PatternError(f"The armhole of “{piece.name}” meets no side seam.", piece.id, armhole.id, armhole.start)
    return (sum(x for x, _ in ends) / len(ends), sum(y for _, y in ends) / len(ends))


def _tucked(piece: Piece, amount: float, height: float, note: str) -> PieceDone:
    armhole = armhole_of(piece)
    underarm = underarm_of(piece, armhole)
    normal = hem_side_normal(piece, underarm, square_direction(piece))
    facing = (normal[1], -normal[0])
    start = (underarm[0] + height * normal[0], underarm[1] + height * normal[1])
    top = _top(armhole.chain, start, normal, amount + 1.0)
    if top < amount + 1.0:
        raise PatternError(
            f"The {armhole.name} of “{piece.name}” is only {mm_words(top + height)} high; "
            f"a tuck of {mm_words(amount)} does not fit {mm_words(height)} above the underarm.",
            piece.id,
            armhole.id,
            start,
        )
    regions = [
        Region(Band(start, facing, 0.0, amount), None),
        Region(Band(start, facing, 0.0, math.inf), slide(-amount * normal[0], -amount * normal[1])),
    ]
    moved = lay_together(piece, regions, note, facing)
    strip = Strip(piece.id, partial(strip_between, piece, start, facing, 0.0, amount), False)
    readings = [length_reading(amount, False)]
    if armhole.kind is EdgeKind.ARMHOLE:
        readings.append(f"also shortens the centre by {mm_words(amount)} and lifts the bust point and waist")
    return PieceDone(moved.piece, moved.findings, (strip,), tuple(readings))


def _top(line: Chain, start: Point, normal: Point, enough: float) -> float:
    """How far a line reaches beyond a point along a direction (mm); measured closely only where its ends do not."""
    ends = ((x - start[0]) * normal[0] + (y - start[1]) * normal[1] for x, y in (line.start, line.end))
    highest = max(ends)
    if highest >= enough:
        return highest
    points = line.flat[0]
    return float(((points[:, 0] - start[0]) * normal[0] + (points[:, 1] - start[1]) * normal[1]).max())


def _filled(piece: Piece, amount: float) -> PieceDone:
    armhole = armhole_of(piece)
    if armhole.kind is EdgeKind.CAP:
        raise PatternError(f"The underarm of a sleeve cap is not filled in; leave out “{piece.name}”.", piece.id)
    at_start = neighbours(piece, armhole.id)[0].kind is EdgeKind.SIDE
    new = corner_raised(piece, armhole.id, at_start, amount)
    shape = new.polygon.difference(piece.polygon)
    strip = Strip(piece.id, largest_part(shape), True)
    words = f"raises the underarm by {mm_words(amount)} along the side seam; the centre keeps its length"
    return PieceDone(new, (), (strip,), (words,))


def _caps_left_out(garment: Garment, amounts: ArmholeTooLow, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """The same tuck offered across every sleeve cap that is sewn to one of these armholes and was left out."""
    done = {target.piece for target in targets}
    sewn = [seam for target in targets for edge in garment.piece(target.piece).edges_of(EdgeKind.ARMHOLE)
            for seam in garment.seams_of(target.piece, edge.id)]  # fmt: skip
    caps = {
        ref.piece: None
        for seam in sewn
        for ref in (*seam.first, *seam.second)
        if ref.piece not in done and garment.edge(ref).kind is EdgeKind.CAP
    }
    if not caps:
        return ()
    names = " and ".join(f"“{garment.piece(piece).name}”" for piece in caps)
    says = f"Do the same tuck across the cap of {names}"
    return (Offer(says, "armhole_too_low", amounts, tuple(Target(piece) for piece in caps)),)


def _lost_length(garment: Garment, amounts: ArmholeTooLow, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    bodies = [t for t in targets if garment.piece(t.piece).edges_of(EdgeKind.ARMHOLE)]
    lined = tuple(Target(t.piece) for t in bodies if garment.piece(t.piece).line(LineKind.LENGTHEN) is not None)
    if not lined:
        return ()
    back = ShortenOrLengthen(LENGTHEN, amounts.amount, LineKind.LENGTHEN, AWAY)
    says = f"Give the {mm_words(amounts.amount)} back at the {LineKind.LENGTHEN}"
    return (Offer(says, "shorten_or_lengthen", back, lined),)


def steps(work: Work) -> list[HandStep]:
    if work.cuts:
        return cut_and_drawn(work, phrase("square to the centre, ", work.amount("height"), " above the underarm"))
    return drawn_anew(work)


ALTERATION = Alteration(
    name="armhole_too_low",
    title="Armhole too low",
    region="armhole",
    order=30,
    sentence="Armhole too low: {way} {amount} on {pieces}, {height} above the underarm",
    amounts=ArmholeTooLow,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a tuck of 6 mm across a front",
            "centre front 6 mm shorter, the underarm 6 mm nearer the shoulder, the width at every height kept",
            "common practice, no source; follows from geometry",
        ),
        Example(
            "a tuck of 6 mm across a cap that leans 45 degrees",
            "8.485 mm less along each side of the cap",
            "6 / cos 45 degrees, worked by hand",
        ),
    ),
    describes=__doc__,
)
