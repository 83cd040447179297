"""Upper arm larger or smaller, the cap seam kept.

When: the sleeve binds round the upper arm, or is wide there, and sits well at the armhole.

By hand: cut the sleeve from the top of the cap to the wrist and across from underarm corner to underarm corner, each
cut to a hinge at both its ends, so that four quarters hang together at those corners. Draw the underarm corners apart
(larger) or together (smaller): the quarters overlap along the other cut. Cap seam, underarm seams and wrist keep
their lengths; the cap ends lower and the middle of the sleeve shorter (larger), or the other way round. Or cut the
lower half through to the wrist and slide its halves apart by as much, as for a short sleeve. Then the wrist is ruled
and the top of the cap drawn smooth again.

Source: common practice, no source. The heights follow from the four hinges: geometry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_bust import four_quarters
from geometry.handwork import HandStep, Work
from geometry.motions import Motion, Point, bearing, slide, turn
from geometry.moves import Moved, lay_together
from geometry.notes import Target
from geometry.pieces import LineKind, Piece
from geometry.readings import mm_words
from geometry.regions import FAR_MM, Patch, Region, Sector
from geometry.sleeves import Sleeve, height_above, sleeve_of, wrist_middle, wrist_of
from geometry.stages import Strip

LARGER, SMALLER = "larger", "smaller"
KEPT, AS_MUCH = "as wide as before", "changed by as much"
#: The cap dips no further than this below the line between the underarm corners (mm).
_DIP_MM = 0.01


@dataclass(frozen=True)
class UpperArm:
    way: str = choice("larger or smaller", LARGER, SMALLER)
    amount: float = mm("amount", 20.0, 0.0, 120.0, main=True, basis="from underarm to underarm of each sleeve")
    wrist: str = choice("at the wrist", KEPT, AS_MUCH, basis="the second for a short sleeve")


def do(garment: Garment, amounts: UpperArm, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == LARGER else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        return _changed(sleeve_of(piece), sign * amount, amounts.wrist == KEPT, note)

    return piece_by_piece(garment, targets, one)


def _changed(sleeve: Sleeve, wider: float, wrist_kept: bool, note: str) -> PieceDone:
    piece, top, (first, last) = sleeve.piece, sleeve.top, sleeve.corners
    foot = wrist_middle(sleeve, wrist_of(sleeve))
    _check_cap(sleeve)
    across = ((last[0] - first[0]) / sleeve.width, (last[1] - first[1]) / sleeve.width)
    new_first, new_last = _beside(first, across, wider / 2)[0], _beside(last, across, wider / 2)[1]
    new_top = _met(piece, sleeve, top, (new_first, new_last))
    new_foot = _met(piece, sleeve, foot, (new_first, new_last)) if wrist_kept else foot
    rise = height_above(top, first, sleeve.up)
    cross = (top[0] - rise * sleeve.up[0], top[1] - rise * sleeve.up[1])
    regions = [] if wrist_kept or wider > 0 else [_strip_out(cross, across, sleeve.up, -wider)]
    for corner, new_corner in ((first, new_first), (last, new_last)):
        regions.append(Region(_quarter(cross, corner, top), _carrying((top, new_top), (corner, new_corner))))
        lower = slide(new_corner[0] - corner[0], new_corner[1] - corner[1])
        if wrist_kept:
            lower = _carrying((foot, new_foot), (corner, new_corner))
        regions.append(Region(_quarter(cross, corner, foot), lower))
    moved = _grain_stays(piece, lay_together(piece, regions, note, sleeve.up))
    down = rise - height_above(new_top, first, sleeve.up)
    shorter = math.dist(top, foot) - math.dist(new_top, new_foot)
    words = (
        f"from underarm to underarm {mm_words(sleeve.width)} becomes {mm_words(sleeve.width + wider)}; the cap is "
        f"{mm_words(abs(down))} {'lower' if down > 0 else 'higher'} and the sleeve {mm_words(abs(shorter))} "
        f"{'shorter' if shorter > 0 else 'longer'} down its middle; cap seam and underarm seams keep their lengths"
    )
    left, right = _beside(cross, across, wider / 2)
    shape = np.array([top, left, foot, right] if wider < 0 else [new_top, left, new_foot, right])
    return PieceDone(moved.piece, moved.findings, (Strip(piece.id, shape, wider > 0),), (words,))


def _strip_out(cross: Point, across: Point, up: Point, width: float) -> Region:
    """The strip that is folded out of the lower half, ``width`` mm wide."""
    (ax, ay), (bx, by) = _beside(cross, across, width / 2)
    down = (-FAR_MM * up[0], -FAR_MM * up[1])
    return Region(Patch(((ax, ay), (ax + down[0], ay + down[1]), (bx + down[0], by + down[1]), (bx, by))), None)


def _beside(point: Point, across: Point, away: float) -> tuple[Point, Point]:
    x, y = away * across[0], away * across[1]
    return (point[0] - x, point[1] - y), (point[0] + x, point[1] + y)


def _check_cap(sleeve: Sleeve) -> None:
    points = sleeve.cap.chain.flat[0]
    low = float(((points - np.array(sleeve.cap.start)) @ np.array(sleeve.up)).min())
    if low < -_DIP_MM:
        raise PatternError(
            f"The cap of “{sleeve.piece.name}” dips {mm_words(-low)} below its underarm corners, so a cut from corner "
            "to corner would run outside the sleeve; raise the cap's ends first.",
            sleeve.piece.id,
            sleeve.cap.id,
        )


def _met(piece: Piece, sleeve: Sleeve, point: Point, corners: tuple[Point, Point]) -> Point:
    """Where an end of the upright cut comes to lie when the underarm corners move, its distances from them kept."""
    reaches = [math.dist(point, corner) for corner in sleeve.corners]
    width = math.dist(*corners)
    along = (width**2 + reaches[0] ** 2 - reaches[1] ** 2) / (2 * width)
    square = reaches[0] ** 2 - along**2
    height = height_above(point, sleeve.cap.start, sleeve.up)
    if square < (0.2 * height) ** 2 or width < 1.0:
        raise PatternError(
            f"The cap of “{piece.name}” is too flat to change the upper arm by so much.", piece.id, sleeve.cap.id, point
        )
    (ax, ay), (bx, by) = corners
    x, y = ax + along * (bx - ax) / width, ay + along * (by - ay) / width
    rise = math.copysign(math.sqrt(square), height)
    return (x + rise * sleeve.up[0], y + rise * sleeve.up[1])


def _quarter(cross: Point, corner: Point, end: Point) -> Sector:
    """The quarter of the sleeve seen from where the cuts cross, between an underarm corner and an end."""
    start, stop = bearing(cross, corner), bearing(cross, end)
    sweep = (stop - start) % 360
    return Sector(cross, start, sweep) if sweep < 180 else Sector(cross, stop, 360 - sweep)


def _carrying(first: tuple[Point, Point], second: tuple[Point, Point]) -> Motion:
    """The motion that brings two points, at the same distance before and after, to where they go."""
    (a, new_a), (b, new_b) = first, second
    spun = turn(bearing(new_a, new_b) - bearing(a, b), a)
    return spun.then(slide(new_a[0] - a[0], new_a[1] - a[1]))


def _grain_stays(piece: Piece, moved: Moved) -> Moved:
    """The grainline stays as it was, along the middle of the sleeve."""
    old = {line.id: line for line in piece.lines if line.kind in (LineKind.GRAIN, LineKind.STRETCH)}
    lines = tuple(old.get(line.id, line) for line in moved.piece.lines)
    findings = tuple(finding for finding in moved.findings if finding.code != "line-straightened")
    return replace(moved, piece=replace(moved.piece, lines=lines), findings=findings)


def steps(work: Work) -> list[HandStep]:
    return four_quarters(work, work.amounts.wrist == KEPT)


ALTERATION = Alteration(
    name="upper_arm",
    title="Upper arm larger or smaller",
    region="sleeve",
    order=92,
    sentence="Upper arm {way} by {amount} on {pieces}, the cap seam as long as before, the wrist {wrist}",
    amounts=UpperArm,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a sleeve 320 mm from underarm to underarm, its cap 130 mm high, made 24 mm larger",
            "the cap 113.6 mm high, its seam as long as before",
            "sqrt(160^2 + 130^2 - 172^2), worked by hand",
        ),
    ),
    describes=__doc__,
)
