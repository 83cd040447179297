"""The scene shifter's trousers: woven, straight legs, a dart in each half, a zip at centre front, a waistband.

Waist and hip of the body are the published envelope table's; ease after Robinson, costume construction text, ch. 16,
Central Washington University (waist 3/4 to 1 in, hip 2 to 2 3/4 in); lengths, darts and shapes are chosen by us.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType

from geometry.closures import Girth, Opening, OpeningKind
from geometry.garments import DEFAULT_WIDTHS, Garment, Pressed, Seam
from geometry.lines import Chain, joined, straight
from geometry.motions import Point
from geometry.pieces import Cloth, Cutting, EdgeKind, Finish, Layout, LineKind, Piece
from sample_pieces.drafting.measurements import ENVELOPE_14, INCH
from sample_pieces.drafting.paper import (
    UP,
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
from sample_pieces.drafting.waists import DartPlan, WaistPlan, waist_edge, waistband

BODY = ENVELOPE_14
WAIST_EASE, HIP_EASE = 1.0 * INCH, 2.0 * INCH
#: The trousers are wider than their band by this, eased in, over the half.
EASED_IN = 6.0
KNEE, CROTCH, HIP, WAIST = 430.0, 760.0, 845.0, 1025.0
LENGTHEN, DEPTH_LINE = 300.0, 868.0
#: The back half is wider at the hip, the front half at the waist.
BACK_MORE_AT_HIP, FRONT_MORE_AT_WAIST = 12.0, 12.0
SIDE_NOTCH, KNEE_NOTCH, CROTCH_NOTCH = 160.0, KNEE, 95.0
BAND_WIDTH = 32.0
#: From the waist down.
ZIP = 180.0
#: How far the crotch line reaches into the corner between its two ends.
ROUNDNESS = 0.66
WIDTHS = MappingProxyType({**DEFAULT_WIDTHS, Finish.SEAM: 15.0, Finish.BANDED: 15.0, Finish.HEM_TWICE: 1.25 * INCH})


@dataclass(frozen=True)
class Half:
    """The front or the back of a leg; x counts from the crease, which runs along the grain.

    ``leg`` is half its width from hem to knee, ``side_at_hip`` and ``tip`` the places of side seam and crotch point,
    ``hip`` the width at the hip. ``seat_deg`` is the direction of the centre seam above the hip, ``inseam_deg`` that
    of the inseam where it reaches the crotch, ``side_in`` and ``side_lean`` how far the side comes in above the hip
    and how it leans there. ``straight_from`` is where the centre seam becomes straight, ``centre_top`` its height.
    """

    leg: float
    side_at_hip: float
    hip: float
    tip: float
    inseam_deg: float
    seat_deg: float
    straight_from: float
    centre_top: float
    side_in: float
    side_lean: float
    dart: DartPlan


FRONT = Half(
    leg=105.0,
    side_at_hip=148.0,
    hip=(BODY.hip + HIP_EASE) / 4 - BACK_MORE_AT_HIP / 2,
    tip=-146.0,
    inseam_deg=100.0,
    seat_deg=87.5,
    straight_from=HIP,
    centre_top=WAIST,
    side_in=30.0,
    side_lean=16.0,
    dart=DartPlan((0.0, WAIST - 88.0), 1.5),
)
BACK = Half(
    leg=117.0,
    side_at_hip=176.0,
    hip=(BODY.hip + HIP_EASE) / 4 + BACK_MORE_AT_HIP / 2,
    tip=-206.0,
    inseam_deg=112.0,
    seat_deg=78.0,
    straight_from=HIP,
    centre_top=WAIST + 24.0,
    side_in=24.0,
    side_lean=13.0,
    dart=DartPlan((72.0, WAIST - 112.0), -3.0),
)
SIDE_UP = 11.0


def trousers() -> Garment:
    """The trousers as drafted, without notes."""
    front_inseam, front_side = inseam(FRONT, CROTCH), side_seam(FRONT, WAIST + SIDE_UP)
    # The back's crotch point and the top of its side seam stand where both seams are as long as the front's.
    tip = solved(lambda y: inseam(BACK, y).length - front_inseam.length, CROTCH - 60.0, CROTCH + 20.0)
    top = solved(lambda y: side_seam(BACK, y).length - front_side.length, WAIST - 20.0, WAIST + 40.0)
    return Garment(
        "trousers",
        "Trousers",
        (
            _leg("front", "Front", FRONT, front_inseam, front_side),
            _leg("back", "Back", BACK, inseam(BACK, tip), side_seam(BACK, top)),
            _band(),
        ),
        _seams(),
        size=BODY.size,
        for_whom="the scene shifter",
        widths=WIDTHS,
        girths={Girth.HIP: BODY.hip},
        openings=(Opening("zip", "zip", OpeningKind.ZIP, "front", "front.crotch", "start", length=ZIP),),
    )


def inseam(half: Half, tip: float) -> Chain:
    """From the hem up: upright to the knee, then hollow to the crotch point at the height ``tip``."""
    knee = (-half.leg, KNEE)
    return joined(
        [straight((-half.leg, 0.0), knee), bow(knee, UP, (half.tip, tip), heading(half.inseam_deg), 0.36, 0.36)]
    )


def side_seam(half: Half, top: float) -> Chain:
    """From the hem up: upright to the knee, out to the hip, in to the waist at the height ``top``."""
    knee, hip = (half.leg, KNEE), (half.side_at_hip, HIP)
    waist = (half.side_at_hip - half.side_in, top)
    return joined(
        [
            straight((half.leg, 0.0), knee),
            bow(knee, UP, hip, UP, 0.36, 0.36),
            bow(hip, UP, waist, heading(90.0 + half.side_lean), 0.36, 0.33),
        ]
    )


def crotch(half: Half, tip: Point) -> Chain:
    """From the crotch point, square to the inseam, round to the centre seam and straight up to the waist."""
    at_hip = (half.side_at_hip - half.hip, HIP)
    lean = 1 / math.tan(math.radians(half.seat_deg))
    low = (at_hip[0] + (half.straight_from - HIP) * lean, half.straight_from)
    top = (at_hip[0] + (half.centre_top - HIP) * lean, half.centre_top)
    leaving, arriving = heading(half.inseam_deg - 90.0), heading(half.seat_deg)
    corner, size = meeting(tip, leaving, low, arriving), math.dist(tip, low)
    first, last = (ROUNDNESS * math.dist(end, corner) / size for end in (tip, low))
    curve = bow(tip, leaving, low, arriving, first, last)
    return joined([curve, straight(low, top)])


def waist_quarter(front: bool) -> float:
    """Half the front or back waist with the dart sewn, and with what is eased into the band."""
    more = FRONT_MORE_AT_WAIST if front else -FRONT_MORE_AT_WAIST
    return (BODY.waist + WAIST_EASE) / 4 + EASED_IN / 2 + more / 2


def _leg(name: str, label: str, half: Half, inner: Chain, outer: Chain) -> Piece:
    centre = crotch(half, inner.end)
    plan = WaistPlan(centre.end, half.seat_deg - 90.0, outer.end, half.side_lean, (half.dart,))
    waist = waist_edge(name, plan, waist_quarter(name == "front"))
    side = edge(f"{name}.side", "side seam", EdgeKind.SIDE, outer)
    rise = edge(f"{name}.crotch", "crotch seam", EdgeKind.CROTCH, centre.backwards())
    inside = edge(f"{name}.inseam", "inseam", EdgeKind.INSEAM, inner.backwards())
    hem = edge(f"{name}.hem", "hem", EdgeKind.HEM, straight(inner.start, outer.start), finish=Finish.HEM_TWICE)
    hip_in, hip_out = (half.side_at_hip - half.hip, HIP), (half.side_at_hip, HIP)
    return piece(
        name,
        label,
        (hem, side, waist.edge, rise, inside),
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.PAIR),),
        notches=(
            notch(f"{name}.side.knee", "knee notch", side, KNEE_NOTCH),
            notch(f"{name}.side.hip", "hip notch", side, -SIDE_NOTCH),
            notch(f"{name}.inseam.knee", "knee notch", inside, -KNEE_NOTCH),
            notch(f"{name}.crotch.notch", f"{name} notch", rise, -CROTCH_NOTCH, 1 if name == "front" else 2),
        ),
        darts=waist.darts,
        lines=(
            ruled(f"{name}.grain", LineKind.GRAIN, (0.0, 80.0), (0.0, 780.0), "grainline and crease"),
            ruled(f"{name}.hip", LineKind.HIP, hip_in, hip_out),
            ruled(f"{name}.lengthen", LineKind.LENGTHEN, (-half.leg, LENGTHEN), (half.leg, LENGTHEN)),
            ruled(f"{name}.depth", LineKind.LENGTHEN, *_level(centre, outer, DEPTH_LINE), "crotch depth line"),
        ),
    )


def _level(inner: Chain, outer: Chain, height: float) -> tuple[Point, Point]:
    return crossing_at(inner, height), crossing_at(outer, height)


def _band() -> Piece:
    """On the fold at centre back, its ends at the zip."""
    half = (BODY.waist + WAIST_EASE) / 2
    at_side = half * waist_quarter(False) / (waist_quarter(True) + waist_quarter(False))
    return waistband(half, at_side, BAND_WIDTH, EdgeKind.CENTRE_BACK, BODY.size)


def _seams() -> tuple[Seam, ...]:
    return (
        seam(
            "sides",
            "side seam",
            ["front.side"],
            ["back.side"],
            sewn=1,
            matches=[(f"{one} notch", f"front.side.{one}", f"back.side.{one}") for one in ("knee", "hip")],
        ),
        seam(
            "inseams",
            "inseam",
            ["front.inseam"],
            ["back.inseam"],
            sewn=2,
            matches=[("knee notch", "front.inseam.knee", "back.inseam.knee")],
        ),
        *(
            seam(
                f"{name}_crotch",
                f"{name} crotch seam",
                [f"{name}.crotch"],
                [f"{name}.crotch"],
                sewn=3,
                matches=[(f"{name} notch", f"{name}.crotch.notch", f"{name}.crotch.notch")],
            )
            for name in ("front", "back")
        ),
        seam(
            "waist",
            "waist to waistband",
            ["waistband.waist"],
            ["-back.waist", "front.waist"],
            sewn=4,
            pressed=Pressed.TO_FIRST,
            stretches=[eased(2 * EASED_IN)],
        ),
        seam(
            "band_edges",
            "waistband edges laid together",
            ["waistband.waist"],
            ["-waistband.inner"],
            sewn=5,
            matches=[("side notch", "waistband.waist.side", "waistband.inner.side")],
        ),
    )
