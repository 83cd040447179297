"""A wedge pinched out between two places of an edge, to nothing at a hinge on the other side of the piece."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from geometry.cutting_lines import hem_side_normal, square_direction
from geometry.errors import PatternError
from geometry.motions import FloatArray, Point, bearing, direction, slide, turn
from geometry.moves import Moved, lay_together
from geometry.notes import edge_run_length, place_at
from geometry.pieces import Edge, LineKind, Piece
from geometry.readings import mm_words
from geometry.regions import Region, Sector
from geometry.slashes import check_once

#: A wedge narrower than this, seen from its hinge, runs along its edge and takes nothing out (degrees).
_LEAST_DEG = 0.01
#: It must be wider than this share of what it takes out of the edge, or the edge is cut nearly lengthwise.
_LEAST_ACROSS = 0.35


@dataclass(frozen=True, eq=False)
class Pinched:
    """A piece after a pinch, and the paper taken out (m, 2).

    ``turned_deg`` is the turn of the paper beyond it, ``jog_mm`` the step left in the pinched edge.
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
    for point in (first, second):
        check_once(piece, point, hinge)
    opening = (bearing(hinge, second) - bearing(hinge, first) + 180) % 360 - 180
    width = 2 * math.radians(abs(opening) / 2) * min(math.dist(hinge, first), math.dist(hinge, second))
    if abs(opening) < _LEAST_DEG or width < _LEAST_ACROSS * amount:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” runs along the cut there; name another place on it.",
            piece.id,
            edge.id,
            first,
        )
    start = bearing(hinge, first if opening > 0 else second)
    angle = abs(opening)
    cut = direction(start + angle / 2)
    left = cut[0] * (stays[1] - hinge[1]) - cut[1] * (stays[0] - hinge[0]) > 0
    begin = start - (180 - angle) if left else start + angle
    motion = turn(angle if left else -angle, hinge)
    regions = [Region(Sector(hinge, start, angle), None), Region(Sector(hinge, begin, 180 - angle), motion)]
    moved = lay_together(piece, regions, note, cut)
    jog = abs(math.dist(hinge, first) - math.dist(hinge, second))
    return Pinched(_grain_kept(piece, moved), np.array([hinge, first, second]), angle, jog)


def _grain_kept(piece: Piece, moved: Moved) -> Moved:
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
