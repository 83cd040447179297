"""The prompter's top: knit, long sleeves, a funnel neck whose facing is grown on beyond a turn line.

Bust and waist of the body are the published table's; ease, lengths and shapes are chosen by us.
"""

from __future__ import annotations

import math
from types import MappingProxyType

from geometry.closures import Girth
from geometry.garments import DEFAULT_WIDTHS, Garment, Pressed, Seam
from geometry.lines import Chain, arc, joined, straight
from geometry.motions import Point, mirror
from geometry.pieces import Cloth, Cutting, EdgeKind, Finish, Layout, LineKind, Mark, MarkKind, Piece
from sample_pieces.drafting.knits import (
    Levels,
    Quarters,
    SleevePlan,
    armhole,
    body_guides,
    set_in_seams,
    side_seam,
    sleeve,
)
from sample_pieces.drafting.measurements import ASTM_10
from sample_pieces.drafting.paper import away, edge, heading, notch, piece, ruled, seam

BODY = ASTM_10
BUST_EASE, WAIST_EASE, UPPER_ARM_EASE = 48.0, 184.0, 62.0
HEM_GIRTH = 1016.0
LEVELS = Levels(waist=200.0, lengthen=270.0, bust=365.0, underarm=400.0)
QUARTERS = Quarters(HEM_GIRTH / 4, (BODY.waist + WAIST_EASE) / 4, (BODY.bust + BUST_EASE) / 4)
NAPE = LEVELS.waist + BODY.back_waist_length
FRONT_SLOPE, BACK_SLOPE = 22.0, 18.0
#: Where the shoulder line would meet the upright side of the funnel if the corner were not rounded.
NECK_WIDTH, NECK_HEIGHT = 98.0, NAPE + 9.0
NECK_RADIUS = 28.0
TURN = NECK_HEIGHT + 60.0
FACING_DEPTH = 34.0
SHOULDER_SEAM = 160.0
FRONT_NARROWEST: Point = (179.0, 486.0)
BACK_NARROWEST: Point = (188.0, 498.0)
CAP_EASE = 6.5
FRONT_NOTCH, BACK_NOTCH, SIDE_NOTCH, NECK_NOTCH = 80.0, 86.0, 120.0, 60.0
#: 10 cm of the double knit stretch to 16 cm.
STRETCH = MappingProxyType({Cloth.SELF: 60.0})
WIDTHS = MappingProxyType({**DEFAULT_WIDTHS, Finish.SEAM: 6.0, Finish.HEM_ONCE: 22.0})


def funnel_neck() -> Garment:
    """The funnel-neck top as drafted, without notes."""
    front = _body("front", "Front", FRONT_SLOPE, FRONT_NARROWEST, 0.44, FRONT_NOTCH, 1)
    back = _body("back", "Back", BACK_SLOPE, BACK_NARROWEST, 0.40, BACK_NOTCH, 2)
    plan = SleevePlan(
        width=BODY.upper_arm + UPPER_ARM_EASE,
        hem=214.0,
        underarm_length=430.0,
        lean=13.5,
        front_armhole=front.edge("front.armhole").length,
        back_armhole=back.edge("back.armhole").length,
        ease=CAP_EASE,
        front_notch=FRONT_NOTCH,
        back_notch=BACK_NOTCH,
        hem_edge=EdgeKind.WRIST,
        lengthen=230.0,
    )
    return Garment(
        "funnel_neck",
        "Funnel-neck top",
        (front, back, sleeve(plan, BODY.size)),
        (_shoulders(), *set_in_seams(sewn=2)),
        size=BODY.size,
        for_whom="the prompter",
        knit=True,
        widths=WIDTHS,
        stretch=STRETCH,
        girths={Girth.HEAD: BODY.head, Girth.HAND: BODY.hand},
    )


def _shoulder(slope: float) -> Chain:
    """From the tip along the shoulder, round the base of the neck, and upright to the turn line.

    The straight part is as long as it takes for front and back to have the same seam.
    """
    turning = math.radians(90.0 - slope)
    kept = NECK_RADIUS * math.tan(turning / 2)
    upright_from: Point = (NECK_WIDTH, NECK_HEIGHT + kept)
    rise = TURN - upright_from[1]
    flat = SHOULDER_SEAM - NECK_RADIUS * turning - rise
    bend = arc((NECK_WIDTH + NECK_RADIUS, upright_from[1]), NECK_RADIUS, 270.0 - slope, 180.0)
    tip = away(bend.start, heading(-slope), flat)
    return joined([straight(tip, bend.start), bend, straight(upright_from, (NECK_WIDTH, TURN))])


def _mirrored_beyond_turn(shoulder: Chain) -> Chain:
    """The facing's side: the shoulder seam below the turn line, mirrored about it, from the turn line up."""
    below = shoulder.part(shoulder.crossings((0.0, TURN - FACING_DEPTH), (1.0, 0.0))[0], float(len(shoulder)))
    return below.moved(mirror((0.0, TURN), (1.0, 0.0))).backwards()


def _body(name: str, label: str, slope: float, narrowest: Point, scoop: float, hole_notch: float, count: int) -> Piece:
    seam_line, shoulder = side_seam(LEVELS, QUARTERS), _shoulder(slope)
    facing_side = _mirrored_beyond_turn(shoulder)
    top = (0.0, facing_side.end[1])
    side = edge(f"{name}.side", "side seam", EdgeKind.SIDE, seam_line)
    hole = edge(
        f"{name}.armhole",
        "armhole",
        EdgeKind.ARMHOLE,
        armhole((QUARTERS.bust, LEVELS.underarm), narrowest, shoulder.start, slope, scoop),
    )
    shoulder_edge = edge(f"{name}.shoulder", "shoulder seam", EdgeKind.SHOULDER, shoulder)
    facing_edge = straight(facing_side.end, top)
    centre = EdgeKind.CENTRE_FRONT if name == "front" else EdgeKind.CENTRE_BACK
    edges = (
        edge(f"{name}.hem", "hem", EdgeKind.HEM, straight((0.0, 0.0), seam_line.start), finish=Finish.HEM_ONCE),
        side,
        hole,
        shoulder_edge,
        edge(f"{name}.facing_side", "facing side", EdgeKind.SHOULDER, facing_side),
        edge(f"{name}.facing", "facing edge", EdgeKind.FACING, facing_edge, finish=Finish.RAW),
        edge(f"{name}.fold", "fold", centre, straight(top, (0.0, 0.0)), finish=Finish.FOLD),
    )
    bust_point = (Mark("front.bust_point", "bust point", MarkKind.BUST_POINT, (92.0, LEVELS.bust)),)
    return piece(
        name,
        label,
        edges,
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD),),
        notches=(
            notch(f"{name}.side.notch", "side notch", side, SIDE_NOTCH),
            notch(f"{name}.armhole.notch", f"{name} notch", hole, hole_notch, count),
            notch(f"{name}.shoulder.notch", "neck notch", shoulder_edge, -NECK_NOTCH),
        ),
        marks=bust_point if name == "front" else (),
        lines=(
            *body_guides(name, side, LEVELS, 500.0),
            ruled(f"{name}.turn", LineKind.TURN, (0.0, TURN), (NECK_WIDTH, TURN), "turn line of the facing"),
        ),
    )


def _shoulders() -> Seam:
    """The shoulder seam, run on up the funnel and through the facing."""
    return seam(
        "shoulders",
        "shoulder and funnel seam",
        ["front.shoulder", "front.facing_side"],
        ["back.shoulder", "back.facing_side"],
        sewn=1,
        pressed=Pressed.OPEN,
        matches=[("neck notch", "front.shoulder.notch", "back.shoulder.notch")],
    )
