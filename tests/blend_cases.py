"""The fixed set of blend cases: six edges, five places, amounts of 6 to 25 mm, shortened and lengthened.

Also the tools to make a jogged edge: cut a traced line along a straight line, take paper out or add it, lay the parts
together. The set never changes, so its medians and worst figures can be compared from one version to the next.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from geometry.blending import blend_piece
from geometry.fairness import curvature_variation
from geometry.lines import Chain, arc, chain, joined, straight
from geometry.motions import Motion, Point, slide
from geometry.pieces import Corner, Edge, EdgeKind, Finish, Joint, Line, Notch, Piece, Run, RunKind
from geometry.splines import spline
from geometry.stages import BlendedPiece, JogBlend

PLACES = (0.2, 0.35, 0.5, 0.65, 0.8)
AMOUNTS = (6.0, 12.0, 25.0)
ACROSS: Point = (1.0, 0.0)


def shapes() -> dict[str, Chain]:
    """Six edges of the usual sizes, drawn from the top down, the grain upright (mm)."""
    return {
        "armhole": chain([((0, 0), (-14, -75), (0, -165), (80, -172))]),
        "neckline": chain([((0, 0), (3, -48), (32, -92), (82, -92))]),
        "hip curve": spline([(0, 0), (21, -75), (35, -150), (41, -205), (44, -300), (46, -420)]),
        "sleeve cap": chain([((0, 0), (-75, -4), (-60, -118), (-165, -130))]),
        "side seam": chain([((0, 0), (13, -130), (9, -270), (2, -400))]),
        "round underarm": _round_underarm(),
    }


def _round_underarm() -> Chain:
    """A straight upper part of 95 mm that leans 7 degrees, then an arc of radius 55: curvature starts at once."""
    round_part = arc((0, 0), 55, 187, 264)
    (x, y), (dx, dy) = round_part.start, round_part.start_tangent
    return joined([straight((x - 95 * dx, y - 95 * dy), (x, y)), round_part])


def cut(
    line: Chain, height: float, amount: float, lengthen: bool, note: str = "n1"
) -> tuple[tuple[Run, ...], tuple[Joint, ...]]:
    """A line drawn downwards, cut level at a height, ``amount`` mm taken out below it or added: runs and joints."""
    (u,) = line.crossings((0.0, height), ACROSS)
    joint = Joint(note, ACROSS)
    if lengthen:
        first, last = line.part(0, u), line.part(u, len(line)).moved(slide(0, -amount))
        return (Run(first), Run(straight(first.end, last.start), RunKind.FILLED), Run(last)), (joint, joint)
    (v,) = line.crossings((0.0, height - amount), ACROSS)
    return (Run(line.part(0, u)), Run(line.part(v, len(line)).moved(slide(0, amount)))), (joint,)


def height_at(line: Chain, share: float) -> float:
    """The height (mm) at a share of a line's fall from its start to its end."""
    return line.start[1] + share * (line.end[1] - line.start[1])


def jogged(name: str, share: float, amount: float, lengthen: bool = False) -> Piece:
    """A piece with one of the six edges, cut at a share of its height and not yet blended."""
    line = shapes()[name]
    return piece_with(*cut(line, height_at(line, share), amount, lengthen))


def piece_with(
    runs: tuple[Run, ...],
    joints: tuple[Joint | None, ...] = (),
    *,
    lines: tuple[Line, ...] = (),
    notches: tuple[Notch, ...] = (),
    finish: Finish = Finish.SEAM,
    deep: float = 600.0,
) -> Piece:
    """A piece whose first edge “e” is made of these runs, closed by straight edges far to its left."""
    start, end = np.array(runs[0].chain.start), np.array(runs[-1].chain.end)
    way = (end - start) / np.linalg.norm(end - start)
    left = deep * np.array([-way[1], way[0]])
    points = [tuple(float(c) for c in p) for p in (end, end + left, start + left, start)]
    others = tuple(
        Edge(name, name, EdgeKind.OTHER, (Run(straight(a, b)),)) for name, a, b in zip("bcd", points, points[1:])
    )
    edge = Edge("e", "Edge", EdgeKind.OTHER, runs, joints, finish)
    corners = tuple(Corner(f"corner {i}") for i in range(4))
    return Piece("p", "Front", (edge, *others), corners, lines=lines, notches=notches)


@dataclass(frozen=True)
class Case:
    """One case of the set and what became of it."""

    shape: str
    place: float
    amount: float
    lengthen: bool
    blend: JogBlend
    segments: int
    length: float
    variation: float

    @property
    def name(self) -> str:
        return f"{self.shape} at {self.place:g}, {'+' if self.lengthen else '-'}{self.amount:g} mm"


def blended_case(line: Chain, place: float, amount: float, lengthen: bool) -> BlendedPiece:
    """An edge cut at a share of its height and blended, its traced edge known."""
    traced = piece_with((Run(line),))
    return blend_piece(piece_with(*cut(line, height_at(line, place), amount, lengthen)), {}, traced=traced)


@cache
def cases() -> tuple[Case, ...]:
    """Every case of the set, blended by default (shared evenly, as far as the next fixed point)."""
    found = []
    for name, line in shapes().items():
        before = curvature_variation(line)
        for place in PLACES:
            for amount in AMOUNTS:
                if place * abs(line.end[1] - line.start[1]) + amount > abs(line.end[1] - line.start[1]) - 5:
                    continue
                for lengthen in (False, True):
                    result = blended_case(line, place, amount, lengthen)
                    new = result.piece.edge("e").chain
                    variation = curvature_variation(new) / before
                    (blend,) = result.blends
                    found.append(Case(name, place, amount, lengthen, blend, len(new), new.length, variation))
    return tuple(found)


def summary_lines() -> list[str]:
    """Medians and worst figures of the set, for the end of a test run."""
    lines = []
    for title, applies in (("bounds apply", True), ("less room", False)):
        some = [case for case in cases() if (case.blend.within_bounds is not None) == applies]
        kept = sum(case.blend.within_bounds is True for case in some)
        lines.append(f"blend cases, {title}: {len(some)}" + (f", {kept} within the bounds" if applies else ""))
        for label, values in _figures(some):
            worst = int(np.argmax(values))
            lines.append(f"  {label}: median {np.median(values):.2f}, worst {values[worst]:.2f} ({some[worst].name})")
    return lines


def _figures(some: list[Case]) -> list[tuple[str, list[float]]]:
    return [
        ("greatest curvature / original's", [case.blend.max_curvature_ratio or 0.0 for case in some]),
        ("new inflections", [float(case.blend.new_inflections or 0) for case in some]),
        ("end tangents turned, degrees", [max(case.blend.end_tangent_deg or (0.0,)) for case in some]),
        ("off the old lines, mm", [case.blend.off_line_mm for case in some]),
        ("off the old lines / jog", [case.blend.off_line_mm / max(case.blend.jog_mm, 0.1) for case in some]),
        ("curvature variation / original's", [case.variation for case in some]),
        ("segments", [float(case.segments) for case in some]),
    ]


def turned_about(motion: Motion, piece: Piece) -> Piece:
    """A piece under a motion; a mirror image runs backwards, so that it stays anticlockwise."""
    def moved(run: Run) -> Run:
        line = run.chain.moved(motion)
        return Run(line.backwards() if motion.mirrors else line, run.kind, run.dart)

    def joint(one: Joint | None) -> Joint | None:
        return None if one is None else Joint(one.note, motion.vector(one.along))

    edges = []
    for edge in piece.edges:
        runs, joints = [moved(run) for run in edge.runs], [joint(one) for one in edge.joints]
        if motion.mirrors:
            runs, joints = runs[::-1], joints[::-1]
        edges.append(Edge(edge.id, edge.name, edge.kind, tuple(runs), tuple(joints), edge.finish))
    if motion.mirrors:
        edges = edges[::-1]
    lines = tuple(Line(line.id, line.name, line.kind, line.chain.moved(motion)) for line in piece.lines)
    return Piece(piece.id, piece.name, tuple(edges), piece.corners, lines=lines)

