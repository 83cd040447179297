"""The stage-door keeper's waistcoat: woven, long, bust dart from the side seam, V neck, faced fronts, bound armholes.

Bust, waist and hip of the body are the published envelope table's; ease, lengths and shapes are chosen by us.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType

from geometry.closures import Opening, OpeningKind
from geometry.garments import DEFAULT_WIDTHS, Garment
from geometry.lines import Chain, joined, straight
from geometry.motions import Point, slide, turn
from geometry.pieces import (
    Cloth,
    CopyOf,
    Cutting,
    Dart,
    Edge,
    EdgeKind,
    Finish,
    InnerDart,
    Layout,
    Line,
    LineKind,
    Mark,
    MarkKind,
    Piece,
    Run,
    RunKind,
)
from geometry.splines import spline
from sample_pieces.drafting.measurements import ENVELOPE_14
from sample_pieces.drafting.paper import (
    LEVEL_IN,
    UP,
    away,
    between,
    bow,
    crossing_at,
    edge,
    heading,
    left_of,
    notch,
    piece,
    ruled,
)
from sample_pieces.drafting.waistcoat_seams import waistcoat_seams

BODY = ENVELOPE_14
BUST_EASE, WAIST_EASE, HIP_EASE = 88.9, 130.0, 70.0
HIP, WAIST, LENGTHEN, BUST, UNDERARM = 25.0, 225.0, 280.0, 385.0, 415.0
NAPE = WAIST + BODY.back_waist_length - 6.0
#: The front half is wider than the back half by this, at every level.
FRONT_MORE = 10.0
CENTRE_BACK_IN_AT_WAIST, CENTRE_BACK_IN_AT_HIP = 12.0, 9.0
BACK_DART = 20.0
NECK_WIDTH = 78.0
FRONT_NECK: Point = (NECK_WIDTH, WAIST + 437.0)
BACK_NECK: Point = (NECK_WIDTH, NAPE + 24.0)
FRONT_SLOPE, BACK_SLOPE = 21.0, 18.0
FRONT_SHOULDER, BACK_SHOULDER = 110.0, 114.0
FRONT_NARROWEST: Point = (161.0, 536.0)
BACK_NARROWEST: Point = (170.0, 520.0)
STAND = 18.0
BREAK: Point = (-STAND, 425.0)
BUST_POINT: Point = (92.0, BUST)
DART_AT, DART_MOUTH, DART_SET_BACK = 338.0, 28.0, 25.0
SIDE_NOTCH = 110.0
BUTTONS = (410.0, 330.0, 250.0, 170.0, 90.0)
FACING_AT_SHOULDER, FACING_AT_HEM, BACK_FACING_DEPTH = 45.0, 70.0, 55.0
#: The back neckline is level for this far from the centre, then one round curve that bears its allowance.
BACK_NECK_LEVEL = 15.0
SQUARE_RUN = 6.0
WIDTHS = MappingProxyType({**DEFAULT_WIDTHS, Finish.SEAM: 15.0, Finish.FACED: 15.0})


def waistcoat() -> Garment:
    """The waistcoat as drafted, without notes."""
    front = _front()
    back = _back()
    return Garment(
        "waistcoat",
        "Waistcoat",
        (front, back, _front_facing(front), _back_facing(back)),
        waistcoat_seams(),
        size=BODY.size,
        for_whom="the stage-door keeper",
        widths=WIDTHS,
        openings=(Opening("buttons", "button front", OpeningKind.BUTTONS, "front", "front.edge"),),
    )


def centre_back() -> Chain:
    """The centre back seam from the nape down: straight below the neck, in to the waist, upright at the hem."""
    top, waist = (0.0, NAPE), (CENTRE_BACK_IN_AT_WAIST, WAIST)
    hip, hem = (CENTRE_BACK_IN_AT_HIP, HIP), (CENTRE_BACK_IN_AT_HIP, 0.0)
    below = (0.0, NAPE - BACK_FACING_DEPTH - 10.0)
    shaped = spline([below, waist, hip], (0.0, -1.0), (0.0, -1.0))
    return joined([straight(top, below), shaped, straight(hip, hem)])


def back_side() -> Chain:
    """The back's side seam from the hem up, in the back's own frame."""
    bust_half = (BODY.bust + BUST_EASE) / 2 - FRONT_MORE + crossing_at(centre_back(), BUST)[0]
    waist_half = (BODY.waist + WAIST_EASE) / 2 - FRONT_MORE + CENTRE_BACK_IN_AT_WAIST + BACK_DART
    hip_half = (BODY.hip + HIP_EASE) / 2 - FRONT_MORE + CENTRE_BACK_IN_AT_HIP
    bust, waist, hip = bust_half / 2, waist_half / 2, hip_half / 2
    shaped = spline([(hip, HIP), (waist, WAIST), (bust, BUST)], UP, UP)
    return joined([straight((hip, 0.0), (hip, HIP)), shaped, straight((bust, BUST), (bust, UNDERARM))])


@dataclass(frozen=True, eq=False)
class _OpenedDart:
    """The front's side seam with the dart opened: below it, its mouth, above it; and the dart."""

    lower: Chain
    mouth: Chain
    upper: Chain
    dart: Dart


def _opened_dart() -> _OpenedDart:
    """The front's side seam is the back's, set out; above the dart it is turned about the bust point."""
    closed = back_side().moved(slide(FRONT_MORE, 0.0))
    u = closed.crossings((0.0, DART_AT), (1.0, 0.0))[0]
    at = closed.point(u)
    angle = math.degrees(2 * math.asin(DART_MOUTH / (2 * math.dist(BUST_POINT, at))))
    lower, upper = closed.part(0.0, u), closed.part(u, len(closed)).moved(turn(angle, BUST_POINT))
    middle = between(lower.end, upper.start, 0.5)
    sewn = between(BUST_POINT, middle, DART_SET_BACK / math.dist(BUST_POINT, middle))
    dart = Dart("front.bust_dart", "bust dart", "front.side", BUST_POINT, sewn, "start")
    return _OpenedDart(lower, straight(lower.end, upper.start), upper, dart)


def _armhole(underarm: Point, leaving: Point, narrowest: Point, tip: Point, slope: float, scoop: float) -> Chain:
    lower = bow(underarm, leaving, narrowest, UP, scoop, 0.46)
    return joined([lower, bow(narrowest, UP, tip, heading(90.0 - slope), 0.36, 0.33)])


def _front() -> Piece:
    side = _opened_dart()
    tip = away(FRONT_NECK, heading(-FRONT_SLOPE), FRONT_SHOULDER)
    hole = _armhole(side.upper.end, left_of(side.upper.end_tangent), FRONT_NARROWEST, tip, FRONT_SLOPE, 0.42)
    fall = math.degrees(math.atan2(FRONT_NECK[1] - BREAK[1], FRONT_NECK[0] - BREAK[0]))
    neck = bow(FRONT_NECK, heading(-90.0 - FRONT_SLOPE), BREAK, heading(fall - 181.5), 0.33, 0.33)
    side_edge = Edge(
        "front.side",
        "side seam",
        EdgeKind.SIDE,
        (Run(side.lower), Run(side.mouth, RunKind.MOUTH, side.dart.id), Run(side.upper)),
        (None, None),
    )
    edges = (
        edge("front.hem", "hem", EdgeKind.HEM, straight((-STAND, 0.0), side.lower.start), finish=Finish.HEM_TWICE),
        side_edge,
        edge("front.armhole", "armhole", EdgeKind.ARMHOLE, hole, finish=Finish.BOUND),
        edge("front.shoulder", "shoulder seam", EdgeKind.SHOULDER, straight(tip, FRONT_NECK)),
        edge("front.neck", "neckline", EdgeKind.NECKLINE, neck, finish=Finish.FACED),
        edge("front.edge", "front edge", EdgeKind.CENTRE_FRONT, straight(BREAK, (-STAND, 0.0)), finish=Finish.FACED),
    )
    return piece(
        "front",
        "Front",
        edges,
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.PAIR),),
        pointing=("front.edge", "front.hem"),
        notches=(
            notch("front.side.notch", "side notch", side_edge, SIDE_NOTCH),
            notch("front.neck.notch", "neck notch", edges[4], edges[4].length / 2),
            notch("front.edge.notch", "front edge notch", edges[5], 265.0),
        ),
        marks=_front_marks(),
        darts=(side.dart,),
        lines=_front_lines(side, neck),
    )


def _front_marks() -> tuple[Mark, ...]:
    buttons = [Mark(f"front.button_{i}", f"button {i}", MarkKind.DOT, (0.0, y)) for i, y in enumerate(BUTTONS, start=1)]
    pocket = [Mark(f"front.pocket_{i}", "pocket end", MarkKind.DOT, end) for i, end in enumerate(_POCKET, start=1)]
    return (*buttons, *pocket, Mark("front.bust_point", "bust point", MarkKind.BUST_POINT, BUST_POINT))


_POCKET: tuple[Point, Point] = ((74.0, 150.0), (164.0, 158.0))


def _front_lines(side: _OpenedDart, neck: Chain) -> tuple[Line, ...]:
    def level(what: str, kind: LineKind, height: float, seam_line: Chain) -> Line:
        return ruled(f"front.{what}", kind, (-STAND, height), crossing_at(seam_line, height))

    centre_top = neck.point(neck.crossings((0.0, 0.0), UP)[0])
    buttonholes = [
        ruled(f"front.buttonhole_{i}", LineKind.PLACEMENT, (-3.0, y), (17.0, y), f"buttonhole {i}")
        for i, y in enumerate(BUTTONS, start=1)
    ]
    return (
        ruled("front.grain", LineKind.GRAIN, (60.0, 45.0), (60.0, 520.0)),
        ruled("front.centre", LineKind.CENTRE, (0.0, 0.0), centre_top, "centre front"),
        level("hip", LineKind.HIP, HIP, side.lower),
        level("waist", LineKind.WAIST, WAIST, side.lower),
        level("lengthen", LineKind.LENGTHEN, LENGTHEN, side.lower),
        level("bust", LineKind.BUST, BUST, side.upper),
        ruled("front.pocket", LineKind.PLACEMENT, *_POCKET, "pocket line"),
        *buttonholes,
    )


def _back() -> Piece:
    side, centre = back_side(), centre_back()
    tip = away(BACK_NECK, heading(-BACK_SLOPE), BACK_SHOULDER)
    hole = _armhole(side.end, LEVEL_IN, BACK_NARROWEST, tip, BACK_SLOPE, 0.36)
    across = bow(BACK_NECK, heading(-90.0 - BACK_SLOPE), (BACK_NECK_LEVEL, NAPE), LEVEL_IN, 0.36, 0.36)
    side_edge = edge("back.side", "side seam", EdgeKind.SIDE, side)
    edges = (
        edge("back.hem", "hem", EdgeKind.HEM, straight(centre.end, side.start), finish=Finish.HEM_TWICE),
        side_edge,
        edge("back.armhole", "armhole", EdgeKind.ARMHOLE, hole, finish=Finish.BOUND),
        edge("back.shoulder", "shoulder seam", EdgeKind.SHOULDER, straight(tip, BACK_NECK)),
        edge(
            "back.neck", "neckline", EdgeKind.NECKLINE, across, straight(across.end, centre.start), finish=Finish.FACED
        ),
        edge("back.centre", "centre back seam", EdgeKind.CENTRE_BACK, centre),
    )

    def level(what: str, kind: LineKind, height: float) -> Line:
        return ruled(f"back.{what}", kind, crossing_at(centre, height), crossing_at(side, height))

    half = BACK_DART / 2
    return piece(
        "back",
        "Back",
        edges,
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.PAIR),),
        notches=(
            notch("back.side.notch", "side notch", side_edge, SIDE_NOTCH),
            notch("back.centre.notch", "centre back notch", edges[5], 260.0, count=2),
        ),
        inner_darts=(
            InnerDart(
                "back.waist_dart",
                "waist dart",
                ((112.0, 350.0), (112.0, 85.0)),
                ((112.0 - half, WAIST), (112.0 + half, WAIST)),
            ),
        ),
        lines=(
            ruled("back.grain", LineKind.GRAIN, (60.0, 45.0), (60.0, 540.0)),
            level("hip", LineKind.HIP, HIP),
            level("waist", LineKind.WAIST, WAIST),
            level("lengthen", LineKind.LENGTHEN, LENGTHEN),
            level("bust", LineKind.BUST, BUST),
        ),
    )


def _front_facing(front: Piece) -> Piece:
    """The facing copies the front's neckline and front edge; its inner edge runs from shoulder to hem."""
    at_shoulder = away(FRONT_NECK, heading(-FRONT_SLOPE), FACING_AT_SHOULDER)
    foot, bend = (FACING_AT_HEM - STAND, 0.0), (FACING_AT_HEM - STAND, 330.0)
    inner = joined([straight(foot, bend), bow(bend, UP, at_shoulder, heading(90.0 - FRONT_SLOPE), 0.4, 0.33)])
    name = "front_facing"
    edges = (
        edge(f"{name}.hem", "hem", EdgeKind.HEM, straight((-STAND, 0.0), foot), finish=Finish.HEM_TWICE),
        edge(f"{name}.inner", "inner edge", EdgeKind.FACING, inner, finish=Finish.RAW),
        edge(f"{name}.shoulder", "shoulder seam", EdgeKind.SHOULDER, straight(at_shoulder, FRONT_NECK)),
        edge(f"{name}.neck", "neckline", EdgeKind.NECKLINE, front.edge("front.neck").chain, finish=Finish.FACED),
        edge(f"{name}.edge", "front edge", EdgeKind.CENTRE_FRONT, front.edge("front.edge").chain, finish=Finish.FACED),
    )

    def level(what: str, kind: LineKind, height: float) -> Line:
        return ruled(f"{name}.{what}", kind, (-STAND, height), crossing_at(inner, height))

    return piece(
        name,
        "Front facing",
        edges,
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.PAIR), Cutting(Cloth.INTERFACING, Layout.PAIR)),
        pointing=(f"{name}.edge", f"{name}.hem", f"{name}.inner"),
        notches=(
            notch(f"{name}.neck.notch", "neck notch", edges[3], edges[3].length / 2),
            notch(f"{name}.edge.notch", "front edge notch", edges[4], 265.0),
        ),
        lines=(
            ruled(f"{name}.grain", LineKind.GRAIN, (28.0, 45.0), (28.0, 460.0)),
            level("hip", LineKind.HIP, HIP),
            level("waist", LineKind.WAIST, WAIST),
            level("lengthen", LineKind.LENGTHEN, LENGTHEN),
            level("bust", LineKind.BUST, BUST),
        ),
        copies=(CopyOf(f"{name}.neck", "front", "front.neck"), CopyOf(f"{name}.edge", "front", "front.edge")),
    )


def _back_facing(back: Piece) -> Piece:
    """The neck facing of the back, on the fold: the back's centre is straight for as far as it reaches."""
    at_shoulder = away(BACK_NECK, heading(-BACK_SLOPE), FACING_AT_SHOULDER)
    low = NAPE - BACK_FACING_DEPTH
    squared = (SQUARE_RUN, low)
    inner = bow(squared, (1.0, 0.0), at_shoulder, heading(90.0 - BACK_SLOPE), 0.42, 0.28)
    name = "back_facing"
    edges = (
        edge(f"{name}.inner", "inner edge", EdgeKind.FACING, straight((0.0, low), squared), inner, finish=Finish.RAW),
        edge(f"{name}.shoulder", "shoulder seam", EdgeKind.SHOULDER, straight(at_shoulder, BACK_NECK)),
        edge(f"{name}.neck", "neckline", EdgeKind.NECKLINE, back.edge("back.neck").chain, finish=Finish.FACED),
        edge(f"{name}.fold", "fold", EdgeKind.CENTRE_BACK, straight((0.0, NAPE), (0.0, low)), finish=Finish.FOLD),
    )
    return piece(
        name,
        "Back neck facing",
        edges,
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD), Cutting(Cloth.INTERFACING, Layout.ON_FOLD)),
        lines=(ruled(f"{name}.grain", LineKind.GRAIN, (25.0, low + 8.0), (25.0, NAPE - 8.0)),),
        copies=(CopyOf(f"{name}.neck", "back", "back.neck"),),
    )
