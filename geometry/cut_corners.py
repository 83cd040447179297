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
    arriving = corner_owner(garment, piece, index)
    if arriving is None:
        return PLAIN
    owner, cut = (before, 0) if arriving else (after, 1)
    shape = _ends(garment, piece, before, after)[cut]
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
    first, second = _ends(garment, piece, before, after)
    if _rank(first) == _rank(second):
        return None
    arriving = _rank(first) > _rank(second)
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
    beside = _from_seam(side, other, limit)
    if beside is None or math.dist(beside.rest.start, corner) > limit:
        return None
    return _on_own_line(own, _outer_end(plan, side, beside.rest, limit), beside, side, (width, limit))


@dataclass(frozen=True, eq=False)
class _Beside:
    """The other cutting line from the shaped seam on, its straight run-on, and the parameter it is kept from."""

    rest: Chain
    run_on: Chain | None
    v: float


def _from_seam(side: _Side, other: Chain, limit: float) -> _Beside | None:
    """The other cutting line from where it crosses the shaped seam run on straight."""
    longer = lengthened(other, before=limit)
    extra = len(longer) - len(other)
    found = [u for u in longer.crossings(side.corner, side.along) if u < len(longer) - 1e-9]
    ahead = [u for u in found if _along(side, longer.point(u)) >= -MEET_MM]
    if not ahead:
        return None
    u = snapped(longer, min(ahead, key=lambda one: math.dist(longer.point(one), side.corner)))
    run_on = longer.part(u, float(extra)) if u < extra else None
    return _Beside(longer.part(u, float(len(longer))), run_on, max(u - extra, 0.0))


def _along(side: _Side, point: Point) -> float:
    return (point[0] - side.corner[0]) * side.along[0] + (point[1] - side.corner[1]) * side.along[1]


def _outer_end(plan: CornerPlan, side: _Side, rest: Chain, limit: float) -> Chain:
    """The end line of the shaped allowance, from the seam outward, long enough to reach the allowance's edge."""
    if plan.cut is CornerCut.SQUARED:
        q = _along(side, rest.start)
        return straight(side.at(q, 0.0), side.at(q, 2 * limit))
    whole = lengthened(rest, after=2 * limit).moved(mirror(side.corner, side.along))
    if len(plan.turns) == 1:
        return whole
    return _turned_twice(plan, side, whole)


def _turned_twice(plan: CornerPlan, side: _Side, whole: Chain) -> Chain:
    """Reflected about the hem line, then about the first turn."""
    depth = plan.turns[1]
    found = whole.crossings(side.at(0.0, depth), side.along)
    if not found:
        return whole
    inner = whole.part(0.0, found[0])
    back = inner.backwards().moved(mirror(side.at(0.0, depth), side.along))
    return lengthened(joined([inner, back]), after=2 * plan.turns[0])


def _on_own_line(own: Chain, outer: Chain, beside: _Beside, side: _Side, sizes: tuple[float, float]) -> Joint | None:
    """The end line brought to the allowance's own edge; beyond the limit it is cut square to the seam."""
    width, limit = sizes
    ahead = [u for u in outer.crossings(own.end, own.end_tangent) if _along(side, outer.point(u)) >= 0.0]
    if ahead:
        hit: Crossing | None = Crossing(snapped(outer, ahead[0]), float(len(own)), outer.point(ahead[0]))
    else:
        hit = next((one for one in crossings(outer, own) if one.second > 1e-9), None)
    if hit is not None and _along(side, hit.point) <= limit + MEET_MM:
        point, u = hit.point, hit.second
    else:
        point, u = side.at(limit, width), float(len(own))
        squared = crossings(outer, straight(point, side.at(limit, 0.0)))
        if not squared:
            return None
        hit = squared[0]
    ends = [path([point, hit.point]), outer.part(0.0, hit.first).backwards(), beside.run_on]
    after = joined([one for one in ends if one is not None])
    return Joint(u, beside.v, point, path([own.point(u), point]), after, math.dist(side.corner, point))
