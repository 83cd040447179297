"""Cutting line to stitching line: a traced piece with its allowances included is set in, edge by edge."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np

from geometry.crossings import first_of, lengthened, met
from geometry.cut_corners import corner_owner
from geometry.errors import PatternError
from geometry.fairness import curvatures_at
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.joints import STEP_DEG, brought_to, turn_deg
from geometry.lines import Chain, chain, joined, tidied
from geometry.motions import FloatArray, Point
from geometry.offsets import MovedRun, moved_runs
from geometry.parallels import kinks_of, moved_line
from geometry.pieces import Edge, Notch, Piece
from geometry.tolerances import MEET_MM, MITRE_LIMIT

#: A curve that was trimmed is run on with the bend of this much of its end (mm).
_BEND_MM = 30.0
#: … and turns no further than this on the way (radians).
_MOST_TURN = math.radians(60)
#: A traced line that should lie on another does so within this (mm).
_NEAR_MM = 0.5
#: Lines set in that end this close together meet there; lines that hardly turn cross nowhere else of use.
_CLOSE_MM = 0.02
#: A shaped allowance ends at a line that turns off by more than this; below it the mitre limit forbids it (degrees).
_SHAPED_DEG = 10.0
#: Corners sharper than this were cut square at the mitre limit (degrees of turn).
_SPIKE_DEG = 180.0 - 2 * math.degrees(math.asin(1 / MITRE_LIMIT)) - 1.0


def set_in(garment: Garment, cutting: Piece) -> tuple[Piece, tuple[Finding, ...]]:
    """The piece on its stitching line, from one whose outline is the cutting line with allowances included.

    Each edge is moved inward by its width (the garment's by finish where it names none) and brought to meet its
    neighbours, corner by corner; a hem or seam whose corner was mirrored, squared or reflected takes back the
    lines that shaped it, so that the sides run on to the turn. Notches are carried in square; one that lay on
    such a line is left out with a finding. Raises PatternError where an allowance is wider than the piece.
    """
    try:
        return _set_in(garment, cutting)
    except PatternError as error:
        raise PatternError(
            f"“{cutting.name}” cannot be set in from its cutting line; are the allowances right? {error.says}",
            cutting.id,
            error.edge,
            error.point,
        ) from error


def _set_in(garment: Garment, cutting: Piece) -> tuple[Piece, tuple[Finding, ...]]:
    widths = [garment.width(edge) for edge in cutting.edges]
    edges = _untailed(garment, cutting, widths)
    for i in range(len(edges)):
        _take_back(garment, cutting, edges, widths, i)
    runs = [moved_runs(cutting, edge, -width) for edge, width in zip(edges, widths, strict=True)]
    for i, edge in enumerate(edges):
        _meet_at_corner(cutting, edge, runs[i - 1], runs[i], max(widths[i - 1], widths[i]))
    stitched = tuple(
        replace(edge, runs=tuple(replace(one.run, chain=one.chain) for one in line))
        for edge, line in zip(edges, runs, strict=True)
    )
    carried = [_carried_in(cutting, notch, edges, runs) for notch in cutting.notches]
    notches = tuple(one for one in carried if isinstance(one, Notch))
    return replace(cutting, edges=stitched, notches=notches), tuple(one for one in carried if isinstance(one, Finding))


def _untailed(garment: Garment, piece: Piece, widths: list[float]) -> list[Edge]:
    """The edges without the short lines that cut off a sharp point, or that step from one width to another."""
    edges = [replace(e, runs=tuple(replace(run, chain=tidied(run.chain)) for run in e.runs)) for e in piece.edges]
    for i in range(len(edges)):
        before, after = edges[i - 1], edges[i]
        arriving, leaving = before.runs[-1].chain, after.runs[0].chain
        if _cut_square(arriving, leaving):
            edges[i - 1] = _with_end(before, -1, arriving.part(0.0, len(arriving) - 1.0))
            edges[i] = _with_end(edges[i], 0, leaving.part(1.0, float(len(leaving))))
        elif _is_step(arriving, leaving, widths[i - 1] - widths[i]):
            edges[i] = _with_end(after, 0, leaving.part(1.0, float(len(leaving))))
        elif _is_step(leaving.backwards(), arriving.backwards(), widths[i] - widths[i - 1]):
            edges[i - 1] = _with_end(before, -1, arriving.part(0.0, len(arriving) - 1.0))
    return edges


def _with_end(edge: Edge, index: int, line: Chain) -> Edge:
    runs = list(edge.runs)
    runs[index] = replace(runs[index], chain=line)
    return replace(edge, runs=tuple(runs))


def _cut_square(arriving: Chain, leaving: Chain) -> bool:
    """True where one straight cut, half on either edge, takes off a point beyond the mitre limit."""
    if len(arriving) < 2 or len(leaving) < 2 or not (arriving.straight[-1] and leaving.straight[0]):
        return False
    if abs(turn_deg(arriving.end_tangent, leaving.start_tangent)) > 1.0:
        return False
    whole = turn_deg(arriving.tangent(len(arriving) - 1.0, before=True), arriving.end_tangent)
    whole += turn_deg(leaving.start_tangent, leaving.tangent(1.0))
    return whole > _SPIKE_DEG


def _is_step(arriving: Chain, leaving: Chain, drop: float) -> bool:
    """True where the second line starts with a straight step down from the first's wider allowance."""
    if drop <= MEET_MM or len(leaving) < 2 or not leaving.straight[0]:
        return False
    runs_on = turn_deg(arriving.end_tangent, leaving.tangent(1.0))
    steps = abs(turn_deg(arriving.end_tangent, leaving.start_tangent))
    return abs(runs_on) < STEP_DEG and steps > 45.0 and float(leaving.segment_lengths[0]) < 3 * drop


def _take_back(garment: Garment, piece: Piece, edges: list[Edge], widths: list[float], i: int) -> None:
    """At the corner where edge ``i`` starts, takes away the lines that shape one of the two allowances."""
    arriving = corner_owner(garment, piece, i)
    turned = turn_deg(edges[i - 1].chain.end_tangent, edges[i].chain.start_tangent)
    if arriving is None or turned < _SHAPED_DEG:
        return
    own, other = (i - 1, i) if arriving else (i, i - 1)
    if arriving:
        line, beside = edges[own].runs[-1].chain, edges[other].runs[0].chain
        line, beside = _opened(line, beside, widths[own], outward=1)
    else:
        line, beside = edges[own].runs[0].chain.backwards(), edges[other].runs[-1].chain.backwards()
        line, beside = (one.backwards() for one in _opened(line, beside, widths[own], outward=-1))
    edges[own] = _with_end(edges[own], -1 if arriving else 0, line)
    edges[other] = _with_end(edges[other], 0 if arriving else -1, beside)


def _opened(own: Chain, other: Chain, width: float, outward: int) -> tuple[Chain, Chain]:
    """The shaped edge without its tail, and the other without what lies beyond the first's stitching line.

    ``own`` runs to the corner and ``other`` from it; ``outward`` is 1 where outward is to the right.
    """
    reach = 2 * MITRE_LIMIT * width
    for kink in kinks_of(own):
        if own.length - own.length_to(kink) > reach:
            continue
        shorter = own.part(0.0, float(kink))
        seam = lengthened(run_on(moved_line(shorter, -outward * width).line, reach), after=reach)
        if seam.nearest(own.end)[1] < _NEAR_MM:
            return shorter, other
    seam = lengthened(run_on(moved_line(own, -outward * width).line, reach), after=reach)
    found = first_of(other, seam)
    if found is None or other.length_to(found.first) > reach:
        return own, other
    # The crossing is only as good as the guess at the shaped edge's end; a kink beside it is the true place.
    kinks = [k for k in kinks_of(other) if math.dist(other.point(k), found.point) < 2 * _NEAR_MM]
    at = min(kinks, key=lambda k: math.dist(other.point(k), found.point), default=found.first)
    return own, other.part(at, float(len(other)))


def _meet_at_corner(piece: Piece, edge: Edge, before: list[MovedRun], after: list[MovedRun], width: float) -> None:
    first, second = before[-1].chain, after[0].chain
    if width <= MEET_MM:
        return
    if math.dist(first.end, second.start) <= _CLOSE_MM:
        after[0] = replace(after[0], chain=brought_to(second.backwards(), first.end).backwards())
        return
    reach = 2 * MITRE_LIMIT * width
    found = met(run_on(first, reach), run_on(second.backwards(), reach).backwards(), reach)
    if found is None:
        raise PatternError(f"“{edge.name}” does not meet its neighbour once set in.", piece.id, edge.id, edge.start)
    before[-1] = replace(before[-1], chain=found[0])
    after[0] = replace(after[0], chain=found[1])


def run_on(line: Chain, reach: float) -> Chain:
    """The line run on by up to ``reach`` mm with the bend of its last stretch: straight if that is straight.

    The curvature over the last _BEND_MM is continued at its own rate of change for as far as the line has been
    followed back, or until it has turned by _MOST_TURN.
    """
    if line.straight[-1] or reach <= MEET_MM:
        return line
    first = len(line) - 1
    while first > 0 and not line.straight[first - 1] and line.length - line.length_to(first) < _BEND_MM:
        first -= 1
    back = min(line.length - line.length_to(first), _BEND_MM)
    lengths = np.linspace(line.length - back, line.length, 24)
    bends = curvatures_at(line, line.at_lengths(lengths))
    slope, bend = np.polyfit(lengths - line.length, bends, 1)
    steps = np.linspace(0.0, min(reach, back), 33)
    turned = np.abs(bend * steps + slope * steps * steps / 2)
    length = float(steps[max(int(np.argmax(turned > _MOST_TURN)) - 1, 0)]) if turned.max() > _MOST_TURN else steps[-1]
    if length <= MEET_MM:
        return line
    return joined([line, _spiral(line.end, line.end_tangent, float(bend), float(slope), float(length))])


def _spiral(start: Point, tangent: Point, bend: float, slope: float, length: float) -> Chain:
    """A line whose curvature starts at ``bend`` (1/mm) and grows by ``slope`` a mm, in cubics of 5 mm or less."""
    count = max(1, math.ceil(length / 5))
    s = np.linspace(0.0, length, 8 * count + 1)
    angles = math.atan2(tangent[1], tangent[0]) + bend * s + slope * s * s / 2
    headings = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    middle = (s[:-1] + s[1:]) / 2
    turned = math.atan2(tangent[1], tangent[0]) + bend * middle + slope * middle * middle / 2
    halfway = np.stack([np.cos(turned), np.sin(turned)], axis=1)
    steps = (headings[:-1] + 4 * halfway + headings[1:]) * (s[1] / 6)
    points: FloatArray = np.array(start) + np.concatenate([[[0.0, 0.0]], np.cumsum(steps, axis=0)])
    third = length / count / 3
    knots = range(0, 8 * count + 1, 8)
    return chain(
        [
            (points[i], points[i] + third * headings[i], points[j] - third * headings[j], points[j])
            for i, j in itertools.pairwise(knots)
        ]
    )


def _carried_in(piece: Piece, notch: Notch, edges: list[Edge], runs: list[list[MovedRun]]) -> Notch | Finding:
    """The notch on the stitching line, square to where it stood on the cutting line."""
    index = next(i for i, edge in enumerate(edges) if edge.id == notch.place.edge)
    point = piece.point_at(notch.place)
    one, traced = runs[index][notch.place.run], edges[index].runs[notch.place.run].chain
    u, gap = traced.nearest(point)
    target = one.moved.line.point(one.moved.parameter(u)) if one.moved is not None else point
    placed, off = one.chain.nearest(target)
    if gap > _NEAR_MM or off > _NEAR_MM:
        says = (
            f"Notch “{notch.name}” of “{piece.name}” lies beyond the end of its stitching line, so it is left out; "
            "place it anew on the seam."
        )
        return Finding("notch-off-the-seam", Level.WARN, says, piece.id, None, point)
    return replace(notch, place=replace(notch.place, u=placed))
