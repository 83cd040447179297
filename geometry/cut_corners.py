"""How the allowances are shaped at a corner, from the way the two edges are sewn and pressed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.crossings import Crossing, crossings, lengthened, snapped
from geometry.garments import Garment, Pressed, Seam
from geometry.joints import Joint, path, to_a_point, turn_deg
from geometry.lines import Chain, joined, straight
from geometry.motions import Point, mirror
from geometry.pieces import CornerCut, Edge, Finish, Piece
from geometry.tolerances import MEET_MM, MITRE_LIMIT

HEMS = frozenset({Finish.HEM_ONCE, Finish.HEM_TWICE})
#: Edges finished after the seams they cross.
_LATER = frozenset({Finish.FACED, Finish.BANDED, Finish.BOUND, Finish.RAW})


@dataclass(frozen=True)
class CornerPlan:
    """Which of the two edges at a corner has its allowance shaped there, and how.

    ``arriving`` is True where it is the edge that ends at the corner; None where both run on to a point.
    ``turns`` are the depths in mm by which a hem is turned, one after the other.
    """

    cut: CornerCut
    arriving: bool | None = None
    turns: tuple[float, ...] = ()


PLAIN = CornerPlan(CornerCut.TO_A_POINT)


def hem_turns(finish: Finish, width: float) -> tuple[float, ...]:
    """The depths by which an allowance is turned up: whole, or in two equal turns (mm)."""
    return (width / 2, width / 2) if finish is Finish.HEM_TWICE else (width,)


def corner_plan(garment: Garment, piece: Piece, index: int) -> CornerPlan:
    """How the corner where edge ``index`` starts is cut.

    A hem is reflected about its turn; else the seam that is sewn first is mirrored when pressed open and squared
    when pressed to a side. Where nothing tells the two apart, and on inward corners, both run on to a point.
    """
    before, after = piece.edges[index - 1], piece.edges[index]
    if turn_deg(before.chain.end_tangent, after.chain.start_tangent) <= 0:
        return PLAIN
    if before.on_fold or after.on_fold:
        return PLAIN
    ends = _ends(garment, piece, before, after)
    arriving = _owner(garment, before, after, ends)
    if arriving is None:
        return PLAIN
    owner, shape = (before, ends[0]) if arriving else (after, ends[1])
    width = garment.width(owner)
    turns = hem_turns(owner.finish, width) if shape is CornerCut.REFLECTED else (width,)
    return CornerPlan(shape, arriving, turns)


def corner_owner(garment: Garment, piece: Piece, index: int) -> bool | None:
    """Whose allowance is shaped at the corner where edge ``index`` starts: True for the edge that ends there.

    None where both run on to a point: at a fold, where the edge has no allowance, and where both ends ask alike.
    """
    before, after = piece.edges[index - 1], piece.edges[index]
    if before.on_fold or after.on_fold:
        return None
    return _owner(garment, before, after, _ends(garment, piece, before, after))


def _owner(garment: Garment, before: Edge, after: Edge, ends: tuple[CornerCut, CornerCut]) -> bool | None:
    first, second = _rank(ends[0]), _rank(ends[1])
    if first == second:
        return None
    arriving = first > second
    return arriving if garment.width(before if arriving else after) > MEET_MM else None


def _rank(cut: CornerCut) -> int:
    if cut is CornerCut.REFLECTED:
        return 2
    return 1 if cut in (CornerCut.MIRRORED, CornerCut.SQUARED) else 0


def _ends(garment: Garment, piece: Piece, before: Edge, after: Edge) -> tuple[CornerCut, CornerCut]:
    """What is asked for at the two ends, with what follows from the sewing filled in."""
    first, second = before.at_end, after.at_start
    if first is CornerCut.AS_SEWN:
        first = _as_sewn(garment, piece, before, after)
    if second is CornerCut.AS_SEWN:
        second = _as_sewn(garment, piece, after, before)
    return first, second


def _as_sewn(garment: Garment, piece: Piece, edge: Edge, other: Edge) -> CornerCut:
    if edge.finish in HEMS:
        return CornerCut.REFLECTED
    if other.finish in HEMS:
        return CornerCut.TO_A_POINT
    seam = _first_seam(garment, piece, edge)
    if seam is None:
        return CornerCut.TO_A_POINT
    rival = _first_seam(garment, piece, other)
    later = other.finish in _LATER if rival is None else seam.sewn < rival.sewn
    if not later:
        return CornerCut.TO_A_POINT
    return CornerCut.MIRRORED if seam.pressed is Pressed.OPEN else CornerCut.SQUARED


def _first_seam(garment: Garment, piece: Piece, edge: Edge) -> Seam | None:
    return min(garment.seams_of(piece.id, edge.id), key=lambda seam: seam.sewn, default=None)


@dataclass(frozen=True, eq=False)
class _Side:
    """A corner seen from the edge that is shaped: its direction beyond the corner, and outward."""

    corner: Point
    along: Point
    outward: Point

    def at(self, along: float, outward: float) -> Point:
        (x, y), (ax, ay), (ox, oy) = self.corner, self.along, self.outward
        return (x + along * ax + outward * ox, y + along * ay + outward * oy)


def shaped(plan: CornerPlan, first: Chain, second: Chain, corner: Point, widths: tuple[float, float]) -> Joint:
    """The joint of two cutting lines at a corner, as planned.

    ``first`` and ``second`` lie ``widths`` mm outside stitching lines that meet at ``corner``. The shaped
    allowance ends on the other edge's cutting line where this crosses the seam (or the turn) run on straight.
    """
    if plan.arriving is None:
        return to_a_point(first, second, corner, widths)
    if plan.arriving:
        joint = _shaped_end(plan, first, second, corner, widths)
        return joint or to_a_point(first, second, corner, widths)
    turned = _shaped_end(plan, second.backwards(), first.backwards(), corner, (widths[1], widths[0]))
    if turned is None:
        return to_a_point(first, second, corner, widths)
    return Joint(
        len(first) - turned.v,
        len(second) - turned.u,
        turned.point,
        turned.after.backwards() if turned.after else None,
        turned.before.backwards() if turned.before else None,
        turned.reach,
    )


def _shaped_end(
    plan: CornerPlan, own: Chain, other: Chain, corner: Point, widths: tuple[float, float]
) -> Joint | None:
    """The joint when ``own``, which runs to the corner on either hand, is the allowance that is shaped.

    None where the other cutting line does not cross the seam near the corner.
    """
    width = widths[0]
    limit = MITRE_LIMIT * max(widths)
    side = _Side(corner, own.end_tangent, ((own.end[0] - corner[0]) / width, (own.end[1] - corner[1]) / width))
    beside = _from_seam(side, other)
    if beside is None or math.dist(beside.start, corner) > limit:
        return None
    if plan.cut is CornerCut.SQUARED:
        end_line = straight(beside.start, _moved_by(beside.start, side.outward, 2 * limit))
    else:
        end_line = _reflected(plan, side, beside, own, limit)
    return _on_own_line(own, end_line, beside, side, (width, limit))


@dataclass(frozen=True, eq=False)
class _Beside:
    """The other cutting line from the shaped seam on: where it starts, its straight run-on, and the part kept."""

    start: Point
    run_on: Chain | None
    other: Chain
    v: float

    def up_to(self, through: Point, along: Point, reach: float) -> Chain:
        """From the start to where it first crosses a straight line, run on straight by ``reach`` if need be."""
        found = [u for u in self.other.crossings(through, along) if u > self.v + 1e-9]
        if found:
            rest = self.other.part(self.v, found[0])
        else:
            rest = lengthened(self.other.part(self.v, float(len(self.other))), after=reach)
        return rest if self.run_on is None else joined([self.run_on, rest])


def _from_seam(side: _Side, other: Chain) -> _Beside | None:
    """The other cutting line from where it, or its straight run-on, crosses the shaped seam run on straight."""
    beyond = _measure(side, other.start, side.outward)
    if beyond > MEET_MM:
        found = [u for u in other.crossings(side.corner, side.along) if u < len(other) - 1e-9]
        if not found:
            return None
        u = snapped(other, found[0])
        return _Beside(other.point(u), None, other, u)
    tx, ty = other.start_tangent
    slope = tx * side.outward[0] + ty * side.outward[1]
    if slope >= -1e-9:
        return _Beside(other.start, None, other, 0.0) if beyond > -MEET_MM else None
    start = _moved_by(other.start, (tx, ty), -beyond / slope)
    return _Beside(start, path([start, other.start]), other, 0.0)


def _measure(side: _Side, point: Point, along: Point) -> float:
    return (point[0] - side.corner[0]) * along[0] + (point[1] - side.corner[1]) * along[1]


def _moved_by(point: Point, along: Point, distance: float) -> Point:
    return (point[0] + distance * along[0], point[1] + distance * along[1])


def _reflected(plan: CornerPlan, side: _Side, beside: _Beside, own: Chain, limit: float) -> Chain:
    """The other cutting line mirrored about the seam or turn, from the seam outward to the allowance's own edge.

    Turned twice it is mirrored again about the first turn.
    """
    turn = mirror(side.corner, side.along)
    if len(plan.turns) == 1:
        return beside.up_to(turn.point(own.end), side.along, 2 * limit).moved(turn)
    depth = plan.turns[1]
    inner = beside.up_to(side.at(0.0, -depth), side.along, 2 * limit).moved(turn)
    if not inner.crossings(side.at(0.0, depth), side.along):
        return inner
    back = inner.backwards().moved(mirror(side.at(0.0, depth), side.along))
    return joined([inner, back])


def _on_own_line(own: Chain, end_line: Chain, beside: _Beside, side: _Side, sizes: tuple[float, float]) -> Joint | None:
    """The end line brought to the allowance's own edge; beyond the limit it is cut square to the seam."""
    width, limit = sizes
    ahead = [u for u in end_line.crossings(own.end, side.along) if _measure(side, end_line.point(u), side.along) >= 0]
    if ahead:
        u = snapped(end_line, ahead[0])
        hit: Crossing | None = Crossing(u, float(len(own)), end_line.point(u))
    else:
        hit = next((one for one in crossings(lengthened(end_line, after=width), own) if one.second > 1e-9), None)
    if hit is not None and _measure(side, hit.point, side.along) <= limit + MEET_MM:
        point, u = hit.point, hit.second
    else:
        point, u = side.at(limit, width), float(len(own))
        squared = crossings(end_line, straight(point, side.at(limit, 0.0)))
        if not squared:
            return None
        hit = squared[0]
    kept = lengthened(end_line, after=width) if hit.first > len(end_line) else end_line
    ends = [path([point, hit.point]), kept.part(0.0, hit.first).backwards(), beside.run_on]
    after = joined([one for one in ends if one is not None])
    return Joint(u, beside.v, point, path([own.point(u), point]), after, math.dist(side.corner, point))
