"""The ticket seller's straight skirt: woven, waist darts, a centre back seam with a zip, a waistband.

Waist and hip of the body are the published envelope table's; ease after Robinson, costume construction text, ch. 16,
Central Washington University (waist 3/4 to 1 in, hip 2 to 2 3/4 in); lengths, darts and shapes are chosen by us.
"""

from __future__ import annotations

from types import MappingProxyType

from geometry.closures import Girth, Opening, OpeningKind
from geometry.garments import DEFAULT_WIDTHS, Garment, Pressed, Seam
from geometry.lines import Chain, joined, straight
from geometry.pieces import Cloth, Cutting, EdgeKind, Finish, Layout, LineKind, Piece
from sample_pieces.drafting.measurements import ENVELOPE_14, INCH
from sample_pieces.drafting.paper import UP, bow, eased, edge, heading, notch, piece, ruled, seam
from sample_pieces.drafting.waists import DartPlan, WaistPlan, waist_edge, waistband

BODY = ENVELOPE_14
WAIST_EASE, HIP_EASE = 1.0 * INCH, 2.0 * INCH
#: The skirt is wider than its band by this, eased in, over the half.
EASED_IN = 6.0
HIP, LENGTHEN, WAIST = 430.0, 220.0, 630.0
#: The front half is wider than the back half by these, at hip and waist.
FRONT_MORE_AT_HIP, FRONT_MORE_AT_WAIST = 10.0, 24.0
SIDE_IN, SIDE_UP, SIDE_LEAN = 36.0, 12.0, 18.0
CENTRE_BACK_DOWN = 6.0
FRONT_DARTS = (DartPlan((104.0, WAIST - 92.0), 2.0),)
BACK_DARTS = (DartPlan((70.0, WAIST - 138.0), 2.0), DartPlan((134.0, WAIST - 122.0), 5.0))
SIDE_NOTCH = 40.0
BAND_WIDTH = 32.0
WIDTHS = MappingProxyType({**DEFAULT_WIDTHS, Finish.SEAM: 15.0, Finish.BANDED: 15.0, Finish.HEM_TWICE: 2.0 * INCH})


def skirt() -> Garment:
    """The skirt as drafted, without notes."""
    return Garment(
        "skirt",
        "Straight skirt",
        (_front(), _back(), _waistband()),
        _seams(),
        size=BODY.size,
        for_whom="the ticket seller",
        widths=WIDTHS,
        girths={Girth.HIP: BODY.hip},
        openings=(Opening("zip", "zip", OpeningKind.ZIP, "back", "back.centre", "start", "back.centre.notch"),),
    )


def hip_half(front: bool) -> float:
    """Half the front's or the back's girth at the hip, from centre to side."""
    more = FRONT_MORE_AT_HIP if front else -FRONT_MORE_AT_HIP
    return (BODY.hip + HIP_EASE) / 4 + more / 2


def waist_half(front: bool) -> float:
    """The same at the waist with the darts sewn, and with what is eased into the band."""
    more = FRONT_MORE_AT_WAIST if front else -FRONT_MORE_AT_WAIST
    return (BODY.waist + WAIST_EASE) / 4 + EASED_IN / 2 + more / 2


def side_line(hip: float) -> Chain:
    """The side seam from the hem up: upright to the hip, then a hip curve in to the waist, alike on front and back."""
    return joined(
        [
            straight((hip, 0.0), (hip, HIP)),
            bow((hip, HIP), UP, (hip - SIDE_IN, WAIST + SIDE_UP), heading(90.0 + SIDE_LEAN), 0.36, 0.33),
        ]
    )


def _panel(
    name: str, label: str, darts: tuple[DartPlan, ...], centre_kind: EdgeKind, centre_top: float, cutting: Layout
) -> Piece:
    front = centre_kind is EdgeKind.CENTRE_FRONT
    line = side_line(hip_half(front))
    plan = WaistPlan((0.0, centre_top), 0.0, line.end, SIDE_LEAN, darts)
    waist = waist_edge(name, plan, waist_half(front))
    side = edge(f"{name}.side", "side seam", EdgeKind.SIDE, line)
    centre_id, centre_name = (f"{name}.fold", "fold") if front else (f"{name}.centre", "centre back seam")
    centre_finish = Finish.FOLD if front else Finish.SEAM
    centre = edge(centre_id, centre_name, centre_kind, straight((0.0, centre_top), (0.0, 0.0)), finish=centre_finish)
    hem = edge(f"{name}.hem", "hem", EdgeKind.HEM, straight((0.0, 0.0), line.start), finish=Finish.HEM_TWICE)
    back_notch = () if front else (notch(f"{name}.centre.notch", "zip notch", centre, 200.0, count=2),)
    return piece(
        name,
        label,
        (hem, side, waist.edge, centre),
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, cutting),),
        notches=(notch(f"{name}.side.notch", "hip notch", side, HIP - SIDE_NOTCH), *back_notch),
        darts=waist.darts,
        lines=(
            ruled(f"{name}.grain", LineKind.GRAIN, (40.0, 60.0), (40.0, 460.0)),
            ruled(f"{name}.hip", LineKind.HIP, (0.0, HIP), (line.start[0], HIP)),
            ruled(f"{name}.lengthen", LineKind.LENGTHEN, (0.0, LENGTHEN), (line.start[0], LENGTHEN)),
        ),
    )


def _front() -> Piece:
    return _panel("front", "Front", FRONT_DARTS, EdgeKind.CENTRE_FRONT, WAIST, Layout.ON_FOLD)


def _back() -> Piece:
    return _panel("back", "Back", BACK_DARTS, EdgeKind.CENTRE_BACK, WAIST - CENTRE_BACK_DOWN, Layout.PAIR)


def _waistband() -> Piece:
    """On the fold at centre front, its ends at the zip."""
    half = (BODY.waist + WAIST_EASE) / 2
    at_side = half * waist_half(True) / (waist_half(True) + waist_half(False))
    return waistband(half, at_side, BAND_WIDTH, EdgeKind.CENTRE_FRONT, BODY.size)


def _seams() -> tuple[Seam, ...]:
    return (
        seam(
            "centre_back",
            "centre back seam",
            ["back.centre"],
            ["back.centre"],
            sewn=1,
            matches=[("zip notch", "back.centre.notch", "back.centre.notch")],
        ),
        seam(
            "sides",
            "side seam",
            ["front.side"],
            ["back.side"],
            sewn=2,
            matches=[("hip notch", "front.side.notch", "back.side.notch")],
        ),
        seam(
            "waist",
            "waist to waistband",
            ["waistband.waist"],
            ["-front.waist", "back.waist"],
            sewn=3,
            pressed=Pressed.TO_FIRST,
            stretches=[eased(2 * EASED_IN)],
        ),
        seam(
            "band_edges",
            "waistband edges laid together",
            ["waistband.waist"],
            ["-waistband.inner"],
            sewn=4,
            matches=[("side notch", "waistband.waist.side", "waistband.inner.side")],
        ),
    )
