"""The lamplighter's undershirt: a knit shirt with sleeves, a band at the neck and twin-needle hems.

Bust and waist of the body are the published table's; ease, lengths and shapes are chosen by us. The hem lies
above the hip line, so its girth is chosen between waist and hip.
"""

from __future__ import annotations

from types import MappingProxyType

from geometry.closures import Girth
from geometry.garments import DEFAULT_WIDTHS, Garment, Pressed, Seam, Stretch, StretchKind
from geometry.lines import Chain, joined, straight
from geometry.motions import Point
from geometry.pieces import Cloth, Cutting, EdgeKind, Finish, Layout, LineKind, Mark, MarkKind, Piece
from sample_pieces.drafting.knits import (
    Levels,
    Quarters,
    SleevePlan,
    armhole,
    body_guides,
    set_in_seams,
    shoulder_seam,
    shoulder_tip,
    side_seam,
    sleeve,
)
from sample_pieces.drafting.measurements import ASTM_10
from sample_pieces.drafting.paper import LEVEL_IN, bow, edge, heading, notch, piece, ruled, seam

BODY = ASTM_10
BUST_EASE = 24.0
WAIST_EASE = 152.0
HEM_GIRTH = 994.0
LEVELS = Levels(waist=185.0, lengthen=255.0, bust=350.0, underarm=385.0)
QUARTERS = Quarters(HEM_GIRTH / 4, (BODY.waist + WAIST_EASE) / 4, (BODY.bust + BUST_EASE) / 4)
NAPE = LEVELS.waist + BODY.back_waist_length - 5.0
NECK_POINT: Point = (84.0, NAPE + 20.0)
SHOULDER = 120.0
FRONT_SLOPE, BACK_SLOPE = 22.0, 18.0
#: Angles between neckline and shoulder seam; together they are 180 degrees.
FRONT_NECK_ANGLE, BACK_NECK_ANGLE = 82.0, 98.0
FRONT_NECK_DEPTH = 95.0
FRONT_NARROWEST: Point = (173.0, 470.0)
BACK_NARROWEST: Point = (183.0, 482.0)
UPPER_ARM_EASE = 56.0
CAP_EASE = 6.5
FRONT_NOTCH, BACK_NOTCH = 78.0, 84.0
#: From the underarm down the side seam.
SIDE_NOTCH = 276.0
BAND_RATIO = 0.86
BAND_WIDTH = 20.0
#: Squared for this far at the fold, so that the opened neckline shows no point.
SQUARE_RUN = 6.0
ALLOWANCE, HEM = 6.0, 22.0
#: 4 in of the jersey, and of the band cut from it, stretch to 6 in.
STRETCH = MappingProxyType({Cloth.SELF: 50.0})
WIDTHS = MappingProxyType({**DEFAULT_WIDTHS, Finish.SEAM: ALLOWANCE, Finish.BANDED: ALLOWANCE, Finish.HEM_ONCE: HEM})


def undershirt() -> Garment:
    """The undershirt as drafted, without notes."""
    front, back = front_piece(), back_piece()
    plan = SleevePlan(
        width=BODY.upper_arm + UPPER_ARM_EASE,
        hem=322.0,
        underarm_length=140.0,
        lean=8.5,
        front_armhole=front.edge("front.armhole").length,
        back_armhole=back.edge("back.armhole").length,
        ease=CAP_EASE,
        front_notch=FRONT_NOTCH,
        back_notch=BACK_NOTCH,
        hem_edge=EdgeKind.HEM,
        lengthen=70.0,
    )
    pieces = (front, back, sleeve(plan, BODY.size), _neckband(front, back))
    return Garment(
        "undershirt",
        "Undershirt",
        pieces,
        _seams(),
        size=BODY.size,
        for_whom="the lamplighter, act two",
        knit=True,
        widths=WIDTHS,
        stretch=STRETCH,
        girths={Girth.HEAD: BODY.head, Girth.HAND: BODY.hand},
    )


def front_piece() -> Piece:
    tip = shoulder_tip(NECK_POINT, FRONT_SLOPE, SHOULDER)
    hole = armhole((QUARTERS.bust, LEVELS.underarm), FRONT_NARROWEST, tip, FRONT_SLOPE, 0.44)
    neck = _neckline(FRONT_SLOPE + FRONT_NECK_ANGLE, NECK_POINT[1] - FRONT_NECK_DEPTH, 0.38, 0.38)
    return _body("front", "Front", hole, tip, neck, FRONT_NOTCH, 1)


def back_piece(longer: float = 0.0) -> Piece:
    """The back; its hem may stand ``longer`` mm lower than the front's."""
    tip = shoulder_tip(NECK_POINT, BACK_SLOPE, SHOULDER)
    hole = armhole((QUARTERS.bust, LEVELS.underarm), BACK_NARROWEST, tip, BACK_SLOPE, 0.40)
    neck = _neckline(BACK_SLOPE + BACK_NECK_ANGLE, NAPE - 4.0, 0.33, 0.36)
    return _body("back", "Back", hole, tip, neck, BACK_NOTCH, 2, 0.0 - longer)


def _neckline(below: float, depth: float, first: float, last: float) -> Chain:
    """From the shoulder, ``below`` degrees under level, outwards, to the fold, square to that."""
    curve = bow(NECK_POINT, heading(-below), (SQUARE_RUN, depth), LEVEL_IN, first, last)
    return joined([curve, straight((SQUARE_RUN, depth), (0.0, depth))])


def _body(
    name: str, label: str, hole: Chain, tip: Point, neck: Chain, hole_notch: float, count: int, hem_at: float = 0.0
) -> Piece:
    seam_line = side_seam(LEVELS, QUARTERS)
    if hem_at != 0.0:
        seam_line = joined([straight((QUARTERS.hem, hem_at), seam_line.start), seam_line])
    side = edge(f"{name}.side", "side seam", EdgeKind.SIDE, seam_line)
    armhole_edge = edge(f"{name}.armhole", "armhole", EdgeKind.ARMHOLE, hole)
    neckline = edge(f"{name}.neck", "neckline", EdgeKind.NECKLINE, neck, finish=Finish.BANDED)
    centre = EdgeKind.CENTRE_FRONT if name == "front" else EdgeKind.CENTRE_BACK
    edges = (
        edge(f"{name}.hem", "hem", EdgeKind.HEM, straight((0.0, hem_at), seam_line.start), finish=Finish.HEM_ONCE),
        side,
        armhole_edge,
        edge(f"{name}.shoulder", "shoulder seam", EdgeKind.SHOULDER, straight(tip, NECK_POINT)),
        neckline,
        edge(f"{name}.fold", "fold", centre, straight(neck.end, (0.0, hem_at)), finish=Finish.FOLD),
    )
    return piece(
        name,
        label,
        edges,
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD),),
        notches=(
            notch(f"{name}.side.notch", "side notch", side, -SIDE_NOTCH),
            notch(f"{name}.armhole.notch", f"{name} notch", armhole_edge, hole_notch, count),
            notch(f"{name}.neck.notch", "neck notch", neckline, -neckline.length / 2),
        ),
        marks=(Mark(f"{name}.bust_point", "bust point", MarkKind.BUST_POINT, (92.0, LEVELS.bust)),)
        if name == "front"
        else (),
        lines=body_guides(name, side, LEVELS, 480.0),
    )


def _neckband(front: Piece, back: Piece) -> Piece:
    """A straight band folded along its middle, on the fold at centre front, joined at centre back."""
    front_neck, back_neck = front.edge("front.neck").length, back.edge("back.neck").length
    half = BAND_RATIO * (front_neck + back_neck)
    deep = 2 * BAND_WIDTH
    outer = edge("neckband.outer", "outer edge", EdgeKind.BAND, straight((0.0, 0.0), (half, 0.0)))
    inner = edge("neckband.inner", "inner edge", EdgeKind.BAND, straight((half, deep), (0.0, deep)))
    edges = (
        outer,
        edge("neckband.end", "centre back end", EdgeKind.CENTRE_BACK, straight((half, 0.0), (half, deep))),
        inner,
        edge("neckband.fold", "fold", EdgeKind.CENTRE_FRONT, straight((0.0, deep), (0.0, 0.0)), finish=Finish.FOLD),
    )
    places = {
        "front": BAND_RATIO * front_neck / 2,
        "shoulder": BAND_RATIO * front_neck,
        "back": BAND_RATIO * (front_neck + back_neck / 2),
    }
    return piece(
        "neckband",
        "Neckband",
        edges,
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD),),
        notches=(
            *(notch(f"neckband.outer.{where}", f"{where} notch", outer, place) for where, place in places.items()),
            *(notch(f"neckband.inner.{where}", f"{where} notch", inner, -place) for where, place in places.items()),
        ),
        lines=(
            ruled("neckband.grain", LineKind.GRAIN, (half * 0.62, 5.0), (half * 0.62, deep - 5.0)),
            ruled("neckband.stretch", LineKind.STRETCH, (25.0, deep * 0.75), (105.0, deep * 0.75)),
            ruled("neckband.turn", LineKind.TURN, (0.0, BAND_WIDTH), (half, BAND_WIDTH)),
        ),
    )


def _seams() -> tuple[Seam, ...]:
    band = Stretch(StretchKind.STRETCHED, ratio=BAND_RATIO)
    where = ("front", "shoulder", "back")
    return (
        shoulder_seam(sewn=1),
        seam("band_ends", "band ends", ["neckband.end"], ["neckband.end"], sewn=2),
        seam(
            "band_edges",
            "band edges laid together",
            ["neckband.outer"],
            ["-neckband.inner"],
            sewn=3,
            matches=[(f"{one} notch", f"neckband.outer.{one}", f"neckband.inner.{one}") for one in where],
        ),
        seam(
            "neck",
            "band to neckline",
            ["-front.neck", "back.neck"],
            ["neckband.outer"],
            sewn=4,
            pressed=Pressed.TO_FIRST,
            matches=[(f"{one} notch", f"{one}.neck.notch", f"neckband.outer.{one}") for one in ("front", "back")],
            stretches=[band] * 3,
        ),
        *set_in_seams(sewn=5),
    )
