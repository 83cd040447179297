"""Marks follow a redrawn edge: notches square to the new line, straight lines run on or cut off to meet it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from geometry.kept import changed
from geometry.lines import Chain, straight
from geometry.motions import Point
from geometry.pieces import Edge, Line, Notch, Piece, Place

_ON_EDGE_MM = 0.01
_REACH_MM = 30.0


def notches_reseated(
    piece: Piece, new_edges: Mapping[str, Edge], run_of: Mapping[str, Sequence[int]]
) -> tuple[Notch, ...]:
    """The notches of a piece, each on the nearest point of its redrawn run; ``run_of`` gives new run per old run."""
    placed = []
    for notch in piece.notches:
        edge = new_edges.get(notch.place.edge)
        if edge is None:
            placed.append(notch)
            continue
        old = piece.run_at(notch.place)
        index = run_of[edge.id][notch.place.run]
        run = edge.runs[index]
        u = notch.place.u if run is old else run.chain.nearest(old.chain.point(notch.place.u))[0]
        placed.append(changed(notch, place=Place(edge.id, index, u)))
    return tuple(placed)


def lines_reseated(piece: Piece, new_edges: Mapping[str, Edge], reach: float = _REACH_MM) -> tuple[Line, ...]:
    """The lines of a piece; where a straight one ended on an edge that is redrawn, it now ends on the new edge.

    An end goes no further than ``reach`` mm.
    """
    redrawn = [(piece.edge(edge_id).chain, edge.chain) for edge_id, edge in new_edges.items()]
    return tuple(_reseated(line, redrawn, reach) for line in piece.lines)


def _reseated(line: Line, redrawn: Sequence[tuple[Chain, Chain]], reach: float) -> Line:
    if not line.chain.is_straight:
        return line
    start, end = line.chain.start, line.chain.end
    ends = [_new_end(start, end, redrawn, reach), _new_end(end, start, redrawn, reach)]
    if ends == [start, end] or math.dist(*ends) < 1.0:
        return line
    return changed(line, chain=straight(ends[0], ends[1]))


def _new_end(end: Point, other: Point, redrawn: Sequence[tuple[Chain, Chain]], reach: float) -> Point:
    for old, new in redrawn:
        if not old.may_be_near(end, _ON_EDGE_MM):
            continue
        met = _nearest_meeting(new, end, other, reach)
        if met is not None and math.dist(met, end) > 1e-9 and _is_on(old, end, other):
            return met
    return end


def _is_on(line: Chain, end: Point, other: Point) -> bool:
    """Whether a point lies on a line, which is mostly seen already where the way to it from another one crosses."""
    way = (end[0] - other[0], end[1] - other[1])
    if any(math.dist(line.point(u), end) <= _ON_EDGE_MM for u in line.crossings(other, way)):
        return True
    return line.nearest(end)[1] <= _ON_EDGE_MM


def _nearest_meeting(line: Chain, end: Point, other: Point, reach: float) -> Point | None:
    way = (end[0] - other[0], end[1] - other[1])
    meetings = [line.point(u) for u in line.crossings(other, way)]
    near = [point for point in meetings if math.dist(point, end) <= reach]
    return min(near, key=lambda point: math.dist(point, end)) if near else None
