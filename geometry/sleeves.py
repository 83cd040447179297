"""A sleeve and its four corners: underarm to underarm across, the top of the cap and the middle of the wrist up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.errors import PatternError
from geometry.motions import Point
from geometry.pieces import Edge, EdgeKind, Piece, neighbours

#: A notch this near to the highest place of a cap (mm along it) is the shoulder notch.
_NEAR_TOP_MM = 25.0


@dataclass(frozen=True, eq=False)
class Sleeve:
    """A whole sleeve: its cap, the underarm corners where the cap starts and ends, top of cap, the edge at the wrist.

    ``up`` is the unit direction square to the line between the underarm corners that leads to the cap.
    """

    piece: Piece
    cap: Edge
    before: Edge
    after: Edge
    top: Point
    up: Point

    @property
    def corners(self) -> tuple[Point, Point]:
        return self.cap.start, self.cap.end

    @property
    def width(self) -> float:
        """From underarm corner to underarm corner, in mm."""
        return math.dist(*self.corners)

    @property
    def height(self) -> float:
        """Of the cap above the line between the underarm corners, in mm."""
        return height_above(self.top, self.cap.start, self.up)


def sleeve_of(piece: Piece) -> Sleeve:
    """The sleeve that a piece is, cut whole with its underarm seams on either side.

    Raises PatternError when the piece has no cap or the cap does not lie between two underarm seams.
    """
    for cap in piece.edges_of(EdgeKind.CAP):
        before, after = neighbours(piece, cap.id)
        if {before.kind, after.kind} != {EdgeKind.UNDERARM}:
            raise PatternError(
                f"The cap of “{piece.name}” does not lie between two underarm seams, as it would on a whole sleeve.",
                piece.id,
                cap.id,
                cap.start,
            )
        x, y = cap.end[0] - cap.start[0], cap.end[1] - cap.start[1]
        size = math.hypot(x, y)
        # The outline is anticlockwise, so the sleeve lies left of its cap and the cap right of the line across.
        up = (y / size, -x / size)
        return Sleeve(piece, cap, before, after, _top(piece, cap, up), up)
    raise PatternError(f"“{piece.name}” has no sleeve cap; choose a sleeve.", piece.id)


def height_above(point: Point, through: Point, up: Point) -> float:
    """How far a point lies above another, in mm along ``up``."""
    return (point[0] - through[0]) * up[0] + (point[1] - through[1]) * up[1]


def wrist_middle(sleeve: Sleeve, edge: Edge) -> Point:
    """Where the line down from the top of the cap, square to the line across, meets the wrist."""
    found = [edge.chain.point(u) for u in edge.chain.crossings(sleeve.top, sleeve.up)]
    if not found:
        raise PatternError(
            f"The top of the cap of “{sleeve.piece.name}” does not lie above its “{edge.name}”.",
            sleeve.piece.id,
            sleeve.cap.id,
            sleeve.top,
        )
    return found[0]


def wrist_of(sleeve: Sleeve) -> Edge:
    """The edge at the wrist, or the hem of a short sleeve; raises PatternError when it is not one edge."""
    edge = neighbours(sleeve.piece, sleeve.after.id)[1]
    if edge.id != neighbours(sleeve.piece, sleeve.before.id)[0].id:
        raise PatternError(
            f"The foot of “{sleeve.piece.name}” is not one edge between its underarm seams.", sleeve.piece.id
        )
    return edge


def _top(piece: Piece, cap: Edge, up: Point) -> Point:
    """The shoulder notch where there is one near the highest place, else that place."""
    points, us = cap.chain.flat
    heights = points @ up
    highest = float(us[int(heights.argmax())])
    point = cap.chain.point(highest)
    notches = [piece.point_at(n.place) for n in piece.notches if n.place.edge == cap.id]
    near = [p for p in notches if math.dist(p, point) <= _NEAR_TOP_MM]
    return min(near, key=lambda p: math.dist(p, point)) if near else point
