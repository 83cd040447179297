"""The chorus's tabard: woven, without sleeves, cut in five sizes from one nest because nine people wear it.

Bust, waist and hip of each size are the published envelope table's; ease, lengths, grading and shapes are chosen by
us. All sizes lie with fold on fold and hem on hem.
"""

from __future__ import annotations

from types import MappingProxyType

from geometry.closures import Girth, Opening, OpeningKind
from geometry.garments import DEFAULT_WIDTHS, Garment
from geometry.lines import Chain, joined, straight
from geometry.motions import Point
from geometry.nests import nested
from geometry.pieces import Cloth, Cutting, Edge, EdgeKind, Finish, Layout, Line, LineKind, Mark, MarkKind, Piece
from geometry.size_tables import Girths, SizeTable
from geometry.splines import spline
from sample_pieces.drafting.knits import Levels, armhole, body_guides, shoulder_seam, shoulder_tip, side_seams
from sample_pieces.drafting.measurements import INCH
from sample_pieces.drafting.paper import LEVEL_IN, UP, bow, crossing_at, edge, heading, notch, piece, ruled

#: Published envelope table for misses: bust, waist and hip in inches.
TABLE = {
    "10": (32.5, 25.0, 34.5),
    "12": (34.0, 26.5, 36.0),
    "14": (36.0, 28.0, 38.0),
    "16": (38.0, 30.0, 40.0),
    "18": (40.0, 32.0, 42.0),
}
MIDDLE = "14"
BUST_EASE, WAIST_EASE, HIP_EASE = 96.0, 150.0, 76.0
HIP_UP, WAIST_UP, BUST_UP, UNDERARM_UP = 170.0, 375.0, 540.0, 572.0
#: What a size is longer than the one before it, from hip to waist, waist to bust, and bust to underarm.
LONGER = (1.5, 2.0, 1.0)
BACK_LENGTH, BACK_LONGER = 405.0, 5.0
NECK_WIDE, NECK_WIDER = 80.0, 1.5
SHOULDER, SHOULDER_LONGER = 112.0, 3.0
FRONT_SLOPE, BACK_SLOPE = 22.0, 18.0
FRONT_NECK_ANGLE, BACK_NECK_ANGLE = 82.0, 98.0
FRONT_NECK_DEPTH = 105.0
SQUARE_RUN = 6.0
WIDTHS = MappingProxyType({**DEFAULT_WIDTHS, Finish.HEM_ONCE: 32.0})
#: The largest head of the nine, and how far both shoulders are left open from the neck: chosen by us.
HEAD, NECK_OPENS = 585.0, ("front", "front.shoulder", "end", None, 60.0)
SOURCE = "published envelope table, misses"


def tabard() -> Garment:
    """The tabard in its five sizes, worked in the middle one, without notes."""
    girths = {size: Girths(*(inches * INCH for inches in row)) for size, row in TABLE.items()}
    table = SizeTable(SOURCE, MappingProxyType(girths))
    return nested([_in_size(size, table) for size in TABLE], MIDDLE)


def _in_size(size: str, table: SizeTable) -> Garment:
    return Garment(
        "tabard",
        "Tabard",
        (_body("front", "Front", size), _body("back", "Back", size)),
        (shoulder_seam(sewn=1), side_seams(sewn=2)),
        size=size,
        for_whom="the chorus, act one",
        widths=WIDTHS,
        girths={Girth.HEAD: HEAD},
        openings=(Opening("buttons", "shoulder buttons", OpeningKind.BUTTONS, *NECK_OPENS),),
        size_table=table,
    )


def _body(name: str, label: str, size: str) -> Piece:
    step = list(TABLE).index(size) - list(TABLE).index(MIDDLE)
    waist = WAIST_UP + LONGER[0] * step
    bust = BUST_UP + sum(LONGER[:2]) * step
    levels = Levels(waist=waist, lengthen=waist + 60.0, bust=bust, underarm=UNDERARM_UP + sum(LONGER) * step)
    side = edge(f"{name}.side", "side seam", EdgeKind.SIDE, _side(size, levels))
    front = name == "front"
    slope = FRONT_SLOPE if front else BACK_SLOPE
    neck_point = (NECK_WIDE + NECK_WIDER * step, waist + BACK_LENGTH + BACK_LONGER * step + 15.0)
    tip = shoulder_tip(neck_point, slope, SHOULDER + SHOULDER_LONGER * step)
    narrowest = (tip[0] - (19.0 if front else 11.0), levels.underarm + (84.0 if front else 96.0) + 2.0 * step)
    hole = armhole(side.end, narrowest, tip, slope, 0.44 if front else 0.40)
    neck = _neckline(neck_point, slope, front, step)
    armhole_edge = edge(f"{name}.armhole", "armhole", EdgeKind.ARMHOLE, hole, finish=Finish.BOUND)
    edges = (
        edge(f"{name}.hem", "hem", EdgeKind.HEM, straight((0.0, 0.0), side.start), finish=Finish.HEM_ONCE),
        side,
        armhole_edge,
        edge(f"{name}.shoulder", "shoulder seam", EdgeKind.SHOULDER, straight(tip, neck_point)),
        edge(f"{name}.neck", "neckline", EdgeKind.NECKLINE, neck, finish=Finish.BOUND),
        edge(
            f"{name}.fold",
            "fold",
            EdgeKind.CENTRE_FRONT if front else EdgeKind.CENTRE_BACK,
            straight(neck.end, (0.0, 0.0)),
            finish=Finish.FOLD,
        ),
    )
    hip = crossing_at(side.chain, HIP_UP)
    return piece(
        name,
        label,
        edges,
        size=f"{size} (envelope table, misses)",
        cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD),),
        notches=(notch(f"{name}.side.notch", "side notch", side, side.chain.length_to(_at(side.chain, waist))),),
        marks=(Mark(f"{name}.bust_point", "bust point", MarkKind.BUST_POINT, (92.0 + 3.0 * step, bust)),)
        if front
        else (),
        lines=(*_guides(name, side, levels), ruled(f"{name}.hip", LineKind.HIP, (0.0, HIP_UP), hip)),
    )


def _side(size: str, levels: Levels) -> Chain:
    """From the hem up to the underarm: upright to the hip, in to the waist, upright again from bust to underarm."""
    eases = (BUST_EASE, WAIST_EASE, HIP_EASE)
    bust, waist, hip = ((inches * INCH + ease) / 4 for inches, ease in zip(TABLE[size], eases, strict=True))
    corner: Point = (bust, levels.bust)
    shaped = spline([(hip, HIP_UP), (waist, levels.waist), corner], UP, UP)
    return joined([straight((hip, 0.0), (hip, HIP_UP)), shaped, straight(corner, (bust, levels.underarm))])


def _neckline(point: Point, slope: float, front: bool, step: int) -> Chain:
    below = slope + (FRONT_NECK_ANGLE if front else BACK_NECK_ANGLE)
    depth = point[1] - (FRONT_NECK_DEPTH + 1.5 * step if front else 22.0)
    shares = (0.38, 0.38) if front else (0.33, 0.36)
    curve = bow(point, heading(-below), (SQUARE_RUN, depth), LEVEL_IN, *shares)
    return joined([curve, straight((SQUARE_RUN, depth), (0.0, depth))])


def _at(line: Chain, height: float) -> float:
    return line.crossings((0.0, height), (1.0, 0.0))[0]


def _guides(name: str, side: Edge, levels: Levels) -> tuple[Line, ...]:
    """A woven cloth has no line of greatest stretch."""
    return tuple(line for line in body_guides(name, side, levels, 520.0) if line.kind is not LineKind.STRETCH)
