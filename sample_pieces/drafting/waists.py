"""Waist edges with darts that are one smooth line when the darts are sewn, and the straight band for them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from geometry.lines import Chain, joined, straight
from geometry.motions import Point
from geometry.pieces import Cloth, Cutting, Dart, Edge, EdgeKind, Finish, Layout, LineKind, Piece, Run, RunKind
from sample_pieces.drafting.paper import away, bow, edge, heading, notch, piece, ruled, solved

#: Squared for this far at the centre, so that the opened waist shows no point.
SQUARE_RUN = 8.0


@dataclass(frozen=True)
class DartPlan:
    """A dart's point, and how many degrees the waist rises towards the side where the dart stands square to it."""

    point: Point
    rise: float


@dataclass(frozen=True)
class WaistPlan:
    """A waist from centre (left) to side (right): both ends, its slopes there in degrees, darts from the centre on."""

    centre: Point
    centre_slope: float
    side: Point
    side_slope: float
    darts: tuple[DartPlan, ...]


@dataclass(frozen=True, eq=False)
class Waist:
    """A waist edge from the side to the centre, its darts open, and the darts."""

    edge: Edge
    darts: tuple[Dart, ...]


def waist_edge(name: str, plan: WaistPlan, sewn: float) -> Waist:
    """The waist whose sewn length is ``sewn``: every dart has the same width, and the line runs on over each.

    Beside a dart the waist is square to its legs, so that it is one smooth line when the darts are sewn.
    """
    width = solved(lambda w: sum(one.length for one in _parts(plan, w)) - sewn, 5.0, 45.0)
    parts = _parts(plan, width)
    runs: list[Run] = []
    count = len(plan.darts)
    for i, part in enumerate(parts):
        if i > 0:
            runs.append(Run(straight(parts[i - 1].end, part.start), RunKind.MOUTH, f"{name}.dart_{count - i + 1}"))
        runs.append(Run(part))
    joints = (None,) * (len(runs) - 1)
    waist = Edge(f"{name}.waist", "waist", EdgeKind.WAIST, tuple(runs), joints, Finish.BANDED)
    darts = tuple(
        Dart(
            f"{name}.dart_{i}", "waist dart" if count == 1 else f"waist dart {i}", waist.id, one.point, one.point, "end"
        )
        for i, one in enumerate(plan.darts, start=1)
    )
    return Waist(waist, darts)


def _parts(plan: WaistPlan, width: float) -> list[Chain]:
    """The waist between side, darts and centre, in this order, for darts of one width."""
    squared = away(plan.centre, heading(plan.centre_slope), SQUARE_RUN)
    # From the centre outwards: both ends of a mouth, slope in degrees on the way in and on the way out.
    stops: list[tuple[Point, Point, float, float]] = [(squared, squared, plan.centre_slope, plan.centre_slope)]
    for dart in plan.darts:
        stops.append(_mouth(stops[-1][1], stops[-1][3], dart, width))
    stops.append((plan.side, plan.side, plan.side_slope, plan.side_slope))
    parts = [
        bow(before[1], heading(before[3]), after[0], heading(after[2]), 0.36, 0.36) for before, after in pairwise(stops)
    ]
    parts[0] = joined([straight(plan.centre, squared), parts[0]])
    return [part.backwards() for part in reversed(parts)]


def _mouth(start: Point, slope: float, dart: DartPlan, width: float) -> tuple[Point, Point, float, float]:
    """The mouth of a dart that stands square to the waist, and the slopes beside it.

    Its legs are so long that the waist bends evenly between ``start``, where it slopes by ``slope``, and the dart.
    """

    def ends(leg: float) -> tuple[Point, Point, float]:
        half = math.degrees(math.asin(width / 2 / leg))
        up = 90.0 + dart.rise
        return away(dart.point, heading(up + half), leg), away(dart.point, heading(up - half), leg), half

    def off(leg: float) -> float:
        inner, _, half = ends(leg)
        even = (math.tan(math.radians(slope)) + math.tan(math.radians(dart.rise + half))) / 2 * (inner[0] - start[0])
        return inner[1] - start[1] - even

    inner, outer, half = ends(solved(off, 60.0, 200.0))
    return inner, outer, dart.rise + half, dart.rise - half


def waistband(half: float, at_side: float, width: float, fold: EdgeKind, size: str) -> Piece:
    """A straight band of ``half`` the waist, folded along its middle, on the fold at centre front or back (``fold``).

    ``at_side`` is where the side seam meets it, from the fold; ``width`` its finished width; all in mm.
    """
    deep = 2 * width
    at_front = fold is EdgeKind.CENTRE_FRONT
    end_kind = EdgeKind.CENTRE_BACK if at_front else EdgeKind.CENTRE_FRONT
    outer = edge("waistband.waist", "waist edge", EdgeKind.BAND, straight((0.0, 0.0), (half, 0.0)))
    inner = edge("waistband.inner", "inner edge", EdgeKind.BAND, straight((half, deep), (0.0, deep)))
    return piece(
        "waistband",
        "Waistband",
        (
            outer,
            edge("waistband.end", f"{end_kind} end", end_kind, straight((half, 0.0), (half, deep))),
            inner,
            edge("waistband.fold", "fold", fold, straight((0.0, deep), (0.0, 0.0)), finish=Finish.FOLD),
        ),
        size=size,
        cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD), Cutting(Cloth.INTERFACING, Layout.ON_FOLD)),
        notches=(
            notch("waistband.waist.side", "side notch", outer, at_side),
            notch("waistband.inner.side", "side notch", inner, -at_side),
        ),
        lines=(
            ruled("waistband.grain", LineKind.GRAIN, (half * 0.3, 6.0), (half * 0.3, deep - 6.0)),
            ruled("waistband.turn", LineKind.TURN, (0.0, width), (half, width)),
        ),
    )
