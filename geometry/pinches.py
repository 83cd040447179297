"""A wedge pinched out of an edge or let into it, to nothing at a hinge on the other side of the piece."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from geometry.cutting_lines import hem_side_normal, square_direction
from geometry.darts import way_out
from geometry.errors import PatternError
from geometry.motions import FloatArray, Point, bearing, direction, slide, turn
from geometry.moves import Moved, lay_together
from geometry.notes import edge_run_length, place_at
from geometry.pieces import Edge, LineKind, Piece
from geometry.readings import mm_words
from geometry.regions import Patch, Region, beside_slash

#: A wedge narrower than this, seen from its hinge, runs along its edge and takes nothing out (degrees).
_LEAST_DEG = 0.01
#: A wedge is cut out so far past the edge it is pinched at (mm).
_PAST_MM = 1.0
#: It must be wider than this share of what it takes out of the edge, or the edge is cut nearly lengthwise.
_LEAST_ACROSS = 0.35


@dataclass(frozen=True, eq=False)
class Pinched:
    """A piece after a pinch, and the paper taken out (m, 2).

    The strip is what was put in where it was opened. ``turned_deg`` is the turn of the paper beyond it, ``jog_mm``
    the step left in the pinched edge.
    """

    moved: Moved
    strip: FloatArray
    turned_deg: float
    jog_mm: float


def pinched(piece: Piece, edge: Edge, along: float, amount: float, hinge: Point, note: str, stays: Point) -> Pinched:
    """A piece with ``amount`` mm pinched out of an edge, half on either side of the place ``along`` mm from its start.

    The edge is shorter by exactly that before blending. The paper beyond the wedge turns about ``hinge``; what holds
    ``stays`` stays. Raises PatternError where the edge has not so much there or the wedge would take nothing out.
    """
    low, high = along - amount / 2, along + amount / 2
    if low < 0.5 or high > edge_run_length(edge) - 0.5:
        raise PatternError(
            f"{mm_words(amount)} pinched out there would reach past the end of “{edge.name}” of “{piece.name}”.",
            piece.id,
            edge.id,
        )
    first, second = (piece.point_at(place_at(edge, at)) for at in (low, high))
    opening = (bearing(hinge, second) - bearing(hinge, first) + 180) % 360 - 180
    width = 2 * math.radians(abs(opening) / 2) * min(math.dist(hinge, first), math.dist(hinge, second))
    if abs(opening) < _LEAST_DEG or width < _LEAST_ACROSS * amount:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” runs along the cut there; name another place on it.",
            piece.id,
            edge.id,
            first,
        )
    start, angle = bearing(hinge, first if opening > 0 else second), abs(opening)
    jog = abs(math.dist(hinge, first) - math.dist(hinge, second))
    pinch = edge.chain.part(*(edge.chain.at_length(at) for at in (low, high)))
    reach = max(math.dist(hinge, point) for point in pinch.flat[0].tolist())
    moved = _without(piece, hinge, start, angle, note, stays, reach)
    return Pinched(moved, np.array([hinge, first, second]), angle, jog)


def closed(piece: Piece, edge: Edge, along: float, degrees: float, hinge: Point, note: str, stays: Point) -> Pinched:
    """A piece with a wedge of so many degrees taken out about the place ``along`` mm from the start of an edge."""
    point = piece.point_at(place_at(edge, along))
    start = bearing(hinge, point) - degrees / 2
    ways = (direction(start), direction(start + degrees))
    met = [edge.chain.point(u) for way in ways for u in edge.chain.crossings(hinge, way)]
    moved = _without(piece, hinge, start, degrees, note, stays, max(math.dist(hinge, one) for one in (point, *met)))
    sides = [turn(side * degrees / 2, hinge).point(point) for side in (-1, 1)]
    return Pinched(moved, np.array([hinge, *sides]), degrees, 0.0)


def opened(piece: Piece, edge: Edge, along: float, degrees: float, hinge: Point, note: str, stays: Point) -> Pinched:
    """A piece cut from the place ``along`` mm from the start of an edge to a hinge, opened and filled in there."""
    point = piece.point_at(place_at(edge, along))
    left = _moves_left(piece, hinge, point, stays)
    motion = turn(degrees if left else -degrees, hinge)
    regions = [Region(_beside(piece, hinge, point, left), motion)]
    moved = lay_together(piece, regions, note, direction(bearing(hinge, point)))
    return Pinched(grain_kept(piece, moved), np.array([hinge, point, motion.point(point)]), degrees, 0.0)


def _without(
    piece: Piece, hinge: Point, start: float, angle: float, note: str, stays: Point, reach: float
) -> Moved:
    """The piece without the wedge from ``start`` degrees on, closed from the side that does not hold ``stays``.

    The wedge ends at the edge that is pinched, ``reach`` mm from the hinge at the most: paper beyond a hollow edge,
    as a shoulder tip beyond the armhole, is not cut.
    """
    middle = _out(piece, hinge, start + angle / 2, reach)
    left = _moves_left(piece, hinge, middle, stays)
    border = _out(piece, hinge, start + angle if left else start, reach)
    far = (reach + _PAST_MM) / math.cos(math.radians(angle / 2))
    sides = [direction(start), direction(start + angle)]
    gap = Patch((hinge, *((hinge[0] + far * x, hinge[1] + far * y) for x, y in sides)))
    regions = [
        Region(gap, None),
        Region(_beside(piece, hinge, border, left), turn(-angle if left else angle, hinge)),
    ]
    return grain_kept(piece, lay_together(piece, regions, note, direction(start + angle / 2)))


def _out(piece: Piece, hinge: Point, degrees: float, reach: float) -> Point:
    """Where a cut from a hinge leaves the piece, no more than about ``reach`` mm away."""
    (x, y) = direction(degrees)
    found = [
        math.dist(hinge, point)
        for edge in piece.edges
        for point in (edge.chain.point(u) for u in edge.chain.crossings(hinge, (x, y)))
        if 1.0 < (point[0] - hinge[0]) * x + (point[1] - hinge[1]) * y <= reach + _PAST_MM
    ]
    if not found:
        raise PatternError(f"A cut from there runs beside “{piece.name}”; name another place.", piece.id, point=hinge)
    return (hinge[0] + max(found) * x, hinge[1] + max(found) * y)


def _moves_left(piece: Piece, hinge: Point, point: Point, stays: Point) -> bool:
    """Whether the paper left of a cut from a hinge to a point moves, as ``stays`` lies on the other side of it."""
    return not _beside(piece, hinge, point, True).holds(stays)


def _beside(piece: Piece, hinge: Point, point: Point, left: bool) -> Patch:
    """The paper on one side of a cut from a hinge on the outline to a point on the outline."""
    ahead = bearing(hinge, point)
    (x, y), side = direction(ahead), 0.01 if left else -0.01
    holding = ((hinge[0] + point[0]) / 2 - side * y, (hinge[1] + point[1]) / 2 + side * x)
    ways = (way_out(piece, hinge, ahead + 180.0), way_out(piece, point, ahead))
    return beside_slash((hinge, point), ways, holding)


def grain_kept(piece: Piece, moved: Moved) -> Moved:
    """The grainline and the line of greatest stretch drawn in their old direction, as the centre stayed."""
    lines = []
    for old, new in zip(piece.lines, moved.piece.lines, strict=True):
        if old.kind in (LineKind.GRAIN, LineKind.STRETCH) and old.chain.is_straight and new is not old:
            (ax, ay), (bx, by) = (line.chain.point(len(line.chain) / 2) for line in (old, new))
            new = replace(new, chain=old.chain.moved(slide(bx - ax, by - ay)))
        lines.append(new)
    return replace(moved, piece=replace(moved.piece, lines=tuple(lines)))


def straight_down(piece: Piece, point: Point) -> Point:
    """Where a cut from a point of the outline, parallel to the centre and towards the hem, leaves the piece."""
    up = hem_side_normal(piece, point, square_direction(piece))
    found = []
    for edge in piece.edges:
        for u in edge.chain.crossings(point, up):
            x, y = edge.chain.point(u)
            below = (point[0] - x) * up[0] + (point[1] - y) * up[1]
            if below > 1.0:
                found.append((below, (x, y)))
    if not found:
        raise PatternError(f"A cut straight down from there leaves “{piece.name}” at once.", piece.id, point=point)
    return min(found)[1]
