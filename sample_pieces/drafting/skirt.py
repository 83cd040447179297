"""The ticket seller's straight skirt: woven, waist darts, a centre back seam with a zip, a waistband.

Waist and hip of the body are the published envelope table's; ease after Robinson, costume construction text, ch. 16,
Central Washington University (waist 3/4 to 1 in, hip 2 to 2 3/4 in); lengths, darts and shapes are chosen by us.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from geometry.garments import DEFAULT_WIDTHS, Garment, Pressed, Seam
from geometry.lines import Chain, joined, straight
from geometry.motions import Point
from geometry.pieces import Cloth, Cutting, Dart, Edge, EdgeKind, Finish, Layout, LineKind, Piece, Run, RunKind
from sample_pieces.drafting.measurements import ENVELOPE_14, INCH
from sample_pieces.drafting.paper import UP, away, bow, eased, edge, heading, notch, piece, ruled, seam, solved

BODY = ENVELOPE_14
WAIST_EASE, HIP_EASE = 1.0 * INCH, 2.0 * INCH
#: The skirt is wider than its band by this, eased in, over the half.
EASED_IN = 6.0
HIP, LENGTHEN, WAIST = 430.0, 220.0, 630.0
#: The front half is wider than the back half by these, at hip and waist.
FRONT_MORE_AT_HIP, FRONT_MORE_AT_WAIST = 10.0, 24.0
SIDE_IN, SIDE_UP, SIDE_LEAN = 36.0, 12.0, 18.0
CENTRE_BACK_DOWN = 6.0
#: Squared for this far at the centre, so that the opened waist shows no point.
SQUARE_RUN = 8.0
#: Dart points from the centre outwards; the darts stand square to the waist, which rises by so many degrees there.
FRONT_DARTS: tuple[Point, ...] = ((104.0, WAIST - 92.0),)
BACK_DARTS: tuple[Point, ...] = ((70.0, WAIST - 138.0), (134.0, WAIST - 122.0))
FRONT_RISES, BACK_RISES = (2.0,), (2.0, 5.0)
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


@dataclass(frozen=True, eq=False)
class _Waist:
    """A waist edge from the side to the centre, its darts open, and the darts."""

    edge: Edge
    darts: tuple[Dart, ...]


def _waist(name: str, side: Point, centre: Point, tips: Sequence[Point], sewn: float) -> _Waist:
    """The waist whose sewn length is ``sewn``: every dart has the same width, and the line runs on over each.

    Beside a dart the waist is square to its legs, so that it is one smooth line when the darts are sewn.
    """
    width = solved(lambda w: sum(one.length for one in _parts(side, centre, tips, w)) - sewn, 5.0, 45.0)
    parts = _parts(side, centre, tips, width)
    runs: list[Run] = []
    for i, part in enumerate(parts):
        if i > 0:
            runs.append(Run(straight(parts[i - 1].end, part.start), RunKind.MOUTH, f"{name}.dart_{len(tips) - i + 1}"))
        runs.append(Run(part))
    joints = (None,) * (len(runs) - 1)
    waist = Edge(f"{name}.waist", "waist", EdgeKind.WAIST, tuple(runs), joints, Finish.BANDED)
    darts = tuple(
        Dart(f"{name}.dart_{i}", "waist dart" if len(tips) == 1 else f"waist dart {i}", waist.id, tip, tip, "end")
        for i, tip in enumerate(tips, start=1)
    )
    return _Waist(waist, darts)


def _parts(side: Point, centre: Point, tips: Sequence[Point], width: float) -> list[Chain]:
    """The waist between side, darts and centre, in this order, for darts of one width."""
    squared = (centre[0] + SQUARE_RUN, centre[1])
    # From the centre outwards: both ends of a mouth, slope in degrees on the way in and on the way out.
    stops: list[tuple[Point, Point, float, float]] = [(squared, squared, 0.0, 0.0)]
    for tip, rise in zip(tips, FRONT_RISES if len(tips) == 1 else BACK_RISES, strict=True):
        stops.append(_mouth(stops[-1][1], stops[-1][3], tip, rise, width))
    stops.append((side, side, SIDE_LEAN, SIDE_LEAN))
    parts = [
        bow(before[1], heading(before[3]), after[0], heading(after[2]), 0.36, 0.36) for before, after in pairwise(stops)
    ]
    parts[0] = joined([straight(centre, squared), parts[0]])
    return [part.backwards() for part in reversed(parts)]


def _mouth(start: Point, slope: float, tip: Point, rise: float, width: float) -> tuple[Point, Point, float, float]:
    """The mouth of a dart that stands square to a waist rising by ``rise`` degrees, and the slopes beside it.

    Its legs are so long that the waist bends evenly between ``start``, where it slopes by ``slope``, and the dart.
    """

    def ends(leg: float) -> tuple[Point, Point, float]:
        half = math.degrees(math.asin(width / 2 / leg))
        up = 90.0 + rise
        return away(tip, heading(up + half), leg), away(tip, heading(up - half), leg), half

    def off(leg: float) -> float:
        inner, _, half = ends(leg)
        even = (math.tan(math.radians(slope)) + math.tan(math.radians(rise + half))) / 2 * (inner[0] - start[0])
        return inner[1] - start[1] - even

    inner, outer, half = ends(solved(off, 60.0, 200.0))
    return inner, outer, rise + half, rise - half


def _panel(
    name: str, label: str, tips: Sequence[Point], centre_kind: EdgeKind, centre_top: float, cutting: Layout
) -> Piece:
    front = centre_kind is EdgeKind.CENTRE_FRONT
    line = side_line(hip_half(front))
    waist = _waist(name, line.end, (0.0, centre_top), tips, waist_half(front))
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
    """A straight band folded along its middle, on the fold at centre front, its ends at the zip."""
    half, deep = (BODY.waist + WAIST_EASE) / 2, 2 * BAND_WIDTH
    outer = edge("waistband.waist", "waist edge", EdgeKind.BAND, straight((0.0, 0.0), (half, 0.0)))
    inner = edge("waistband.inner", "inner edge", EdgeKind.BAND, straight((half, deep), (0.0, deep)))
    at_side = half * waist_half(True) / (waist_half(True) + waist_half(False))
    return piece(
        "waistband",
        "Waistband",
        (
            outer,
            edge("waistband.end", "centre back end", EdgeKind.CENTRE_BACK, straight((half, 0.0), (half, deep))),
            inner,
            edge(
                "waistband.fold", "fold", EdgeKind.CENTRE_FRONT, straight((0.0, deep), (0.0, 0.0)), finish=Finish.FOLD
            ),
        ),
        size=BODY.size,
        cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD), Cutting(Cloth.INTERFACING, Layout.ON_FOLD)),
        notches=(
            notch("waistband.waist.side", "side notch", outer, at_side),
            notch("waistband.inner.side", "side notch", inner, -at_side),
        ),
        lines=(
            ruled("waistband.grain", LineKind.GRAIN, (half * 0.3, 6.0), (half * 0.3, deep - 6.0)),
            ruled("waistband.turn", LineKind.TURN, (0.0, BAND_WIDTH), (half, BAND_WIDTH)),
        ),
    )


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
