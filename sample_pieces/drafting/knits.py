"""What the two knit tops have in common: side seam, armhole, and a sleeve whose cap is drafted to the armhole."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.garments import Pressed, Seam, Stretch
from geometry.lines import Chain, chain, joined, straight
from geometry.motions import Point
from geometry.pieces import Cloth, Cutting, Edge, EdgeKind, Finish, Layout, Line, LineKind, Notch, Piece
from geometry.splines import spline
from sample_pieces.drafting.paper import (
    LEVEL_IN,
    UP,
    away,
    between,
    bow,
    crossing_at,
    eased,
    edge,
    heading,
    meeting,
    notch,
    piece,
    ruled,
    seam,
    solved,
)

#: A cap in a knit may be up to this much longer than its armhole (common practice, no source).
KNIT_CAP_EASE = 13.0
#: The underarm notches stand this share of the seam above the hem, clear of the lengthen/shorten line.
_UNDERARM_NOTCH = 0.28


@dataclass(frozen=True)
class Levels:
    """Heights above the hem in mm."""

    waist: float
    lengthen: float
    bust: float
    underarm: float


@dataclass(frozen=True)
class Quarters:
    """Widths from the fold to the side seam in mm: a quarter of the garment's girth at each level."""

    hem: float
    waist: float
    bust: float


def side_seam(levels: Levels, quarters: Quarters) -> Chain:
    """From the hem up to the underarm: upright at the hem, in to the waist, upright again from bust to underarm."""
    shaped = spline([(quarters.hem, 0.0), (quarters.waist, levels.waist), (quarters.bust, levels.bust)], UP, UP)
    return joined([shaped, straight((quarters.bust, levels.bust), (quarters.bust, levels.underarm))])


def shoulder_tip(neck: Point, slope: float, length: float) -> Point:
    """The outer end of a shoulder that falls ``slope`` degrees from the neck."""
    x, y = heading(-slope)
    return (neck[0] + length * x, neck[1] + length * y)


def armhole(underarm: Point, narrowest: Point, tip: Point, slope: float, scoop: float) -> Chain:
    """From the underarm, square to the side seam, past the narrowest place, upright there, to the shoulder tip,
    square to the shoulder. ``scoop`` is how far the lower curve reaches into the corner (0.39 is a circle's)."""
    lower = bow(underarm, LEVEL_IN, narrowest, UP, scoop, scoop + 0.06)
    upper = bow(narrowest, UP, tip, heading(90.0 - slope), 0.36, 0.33)
    return joined([lower, upper])


def body_guides(name: str, side: Edge, levels: Levels, grain_top: float) -> tuple[Line, ...]:
    """Grainline, arrow of greatest stretch and level lines of a front or back on the fold."""

    def level(what: str, kind: LineKind, height: float) -> Line:
        return ruled(f"{name}.{what}", kind, (0.0, height), crossing_at(side.chain, height))

    return (
        ruled(f"{name}.grain", LineKind.GRAIN, (118.0, 40.0), (118.0, grain_top)),
        ruled(f"{name}.stretch", LineKind.STRETCH, (40.0, 120.0), (160.0, 120.0)),
        level("waist", LineKind.WAIST, levels.waist),
        level("lengthen", LineKind.LENGTHEN, levels.lengthen),
        level("bust", LineKind.BUST, levels.bust),
    )


@dataclass(frozen=True)
class SleevePlan:
    """A sleeve before its cap is drafted: widths and length in mm, and the armholes it must fit.

    ``front_notch`` and ``back_notch`` are the distances of the armhole notches from the underarm.
    """

    width: float
    hem: float
    underarm_length: float
    lean: float
    front_armhole: float
    back_armhole: float
    ease: float
    front_notch: float
    back_notch: float
    hem_edge: EdgeKind
    lengthen: float


def sleeve(plan: SleevePlan, size: str) -> Piece:
    """The whole sleeve, front to the left: the cap's height and the place of its top are found so that each half
    is longer than its armhole by half the ease."""
    front = plan.front_armhole + plan.ease / 2
    back = plan.back_armhole + plan.ease / 2
    half = plan.width / 2

    def halves(top: Point) -> tuple[Chain, Chain]:
        y, lean = plan.underarm_length, plan.lean
        return _cap_half((half, y), lean, top, _BACK_CAP), _cap_half((-half, y), lean, top, _FRONT_CAP)

    def top_for(aside: float) -> Point:
        rise = solved(lambda h: halves((aside, plan.underarm_length + h))[1].length - front, 60.0, 190.0)
        return (aside, plan.underarm_length + rise)

    aside = solved(lambda x: halves(top_for(x))[0].length - back, -30.0, 30.0)
    back_half, front_half = halves(top_for(aside))
    return _sleeve_piece(plan, size, back_half, front_half)


@dataclass(frozen=True)
class _CapShape:
    """A cap half: where along its chord it turns from hollow to full (share, and mm off the chord), how much
    steeper than the chord it is there (degrees), and how far the two curves follow that slope (shares)."""

    share: float
    lift: float
    steeper: float
    lower: float
    upper: float


_FRONT_CAP = _CapShape(share=0.43, lift=-4.0, steeper=17.0, lower=0.42, upper=0.50)
_BACK_CAP = _CapShape(share=0.38, lift=-1.0, steeper=14.0, lower=0.42, upper=0.52)


def _cap_half(underarm: Point, lean: float, top: Point, shape: _CapShape) -> Chain:
    """One half of a cap from the underarm, square to the underarm seam, to the level top.

    Both curves have their inner handles on the tangent at the turning point, so that the curvature is nothing
    there and each bends one way only.
    """
    side = 1.0 if underarm[0] > top[0] else -1.0
    chord = (top[0] - underarm[0], top[1] - underarm[1])
    size = math.hypot(*chord)
    slope = math.degrees(math.atan2(chord[1], -side * chord[0]))
    normal = (side * chord[1] / size, -side * chord[0] / size)
    turning = away(away(underarm, (chord[0] / size, chord[1] / size), shape.share * size), normal, shape.lift)
    through = _mirrored(heading(180.0 - slope - shape.steeper), side)
    foot = meeting(underarm, _mirrored(heading(180.0 - lean), side), turning, through)
    brow = meeting(top, (1.0, 0.0), turning, through)
    lower = (underarm, foot, between(foot, turning, shape.lower), turning)
    upper = (turning, between(turning, brow, shape.upper), brow, top)
    return chain([lower, upper])


def _mirrored(direction: Point, side: float) -> Point:
    return (side * direction[0], direction[1])


def _sleeve_piece(plan: SleevePlan, size: str, back_half: Chain, front_half: Chain) -> Piece:
    half, hem, y = plan.width / 2, plan.hem / 2, plan.underarm_length
    back_seam = bow((hem, 0.0), UP, (half, y), heading(90.0 - plan.lean), 0.33, 0.33)
    front_seam = bow((-half, y), heading(plan.lean - 90.0), (-hem, 0.0), (0.0, -1.0), 0.33, 0.33)
    cap = edge("sleeve.cap", "sleeve cap", EdgeKind.CAP, back_half, front_half.backwards())
    underarm = EdgeKind.UNDERARM
    edges = (
        edge("sleeve.hem", "sleeve hem", plan.hem_edge, straight((-hem, 0.0), (hem, 0.0)), finish=Finish.HEM_ONCE),
        edge("sleeve.back_underarm", "back underarm seam", underarm, back_seam),
        cap,
        edge("sleeve.front_underarm", "front underarm seam", underarm, front_seam),
    )
    top = back_half.end
    return piece(
        "sleeve",
        "Sleeve",
        edges,
        size=size,
        cutting=(Cutting(Cloth.SELF, Layout.PAIR),),
        notches=_sleeve_notches(plan, cap, edges, back_half.length),
        lines=(
            ruled("sleeve.grain", LineKind.GRAIN, (top[0], 20.0), (top[0], top[1] - 25.0)),
            ruled("sleeve.stretch", LineKind.STRETCH, (-half / 2, y - 22.0), (half / 2, y - 22.0)),
            ruled("sleeve.upper_arm", LineKind.OTHER, (-half, y), (half, y), "upper arm line"),
            ruled(
                "sleeve.lengthen",
                LineKind.LENGTHEN,
                crossing_at(front_seam, plan.lengthen),
                crossing_at(back_seam, plan.lengthen),
            ),
        ),
    )


def _sleeve_notches(plan: SleevePlan, cap: Edge, edges: tuple[Edge, ...], back_length: float) -> tuple[Notch, ...]:
    return (
        notch("sleeve.cap.back", "back notch", cap, plan.back_notch, count=2),
        notch("sleeve.cap.shoulder", "shoulder notch", cap, back_length),
        notch("sleeve.cap.front", "front notch", cap, -plan.front_notch),
        notch("sleeve.back_underarm.notch", "underarm notch", edges[1], _UNDERARM_NOTCH * plan.underarm_length),
        notch("sleeve.front_underarm.notch", "underarm notch", edges[3], -_UNDERARM_NOTCH * plan.underarm_length),
    )


def shoulder_seam(sewn: int) -> Seam:
    """Front to back at the shoulder, pressed to the back."""
    return seam(
        "shoulders", "shoulder seam", ["front.shoulder"], ["back.shoulder"], sewn=sewn, pressed=Pressed.TO_SECOND
    )


def side_seams(sewn: int) -> Seam:
    """Front to back at the side, from the underarm down, pressed to the back."""
    return seam(
        "sides",
        "side seam",
        ["-front.side"],
        ["-back.side"],
        sewn=sewn,
        pressed=Pressed.TO_SECOND,
        matches=[("side notch", "front.side.notch", "back.side.notch")],
    )


def set_in_seams(sewn: int) -> tuple[Seam, ...]:
    """Cap to armholes while the side is open, then side and underarm in one go; even under the arm."""
    return (
        seam(
            "sleeve_cap",
            "sleeve to armhole",
            ["front.armhole", "-back.armhole"],
            ["-sleeve.cap"],
            sewn=sewn,
            pressed=Pressed.TO_SECOND,
            matches=[(f"{one} notch", f"{one}.armhole.notch", f"sleeve.cap.{one}") for one in ("front", "back")],
            stretches=[Stretch(), eased(KNIT_CAP_EASE), Stretch()],
        ),
        side_seams(sewn=sewn + 1),
        seam(
            "underarms",
            "sleeve underarm seam",
            ["sleeve.front_underarm"],
            ["-sleeve.back_underarm"],
            sewn=sewn + 2,
            pressed=Pressed.TO_SECOND,
            matches=[("underarm notch", "sleeve.front_underarm.notch", "sleeve.back_underarm.notch")],
        ),
    )
