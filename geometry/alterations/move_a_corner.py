"""Move a corner.

When: a corner is to lie elsewhere and no other note says so.

By hand: mark where the corner is to lie and draw the two edges that meet there anew to it: a straight one with the
ruler, a curved one with the curve ruler, in its old direction at both ends. A corner on the fold stays on it.

Source: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.carrying import followed, run_on, with_edges
from geometry.cutting_lines import hem_side_normal, square_direction
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.motions import Point
from geometry.notes import Target, point_of
from geometry.pieces import Edge, Piece
from geometry.readings import mm_words
from geometry.slashes import staying

UP, DOWN = "up", "down"
OUT, IN = "outwards", "inwards"
#: A place within this of a corner names it (mm).
_NEAR_MM = 1.0


@dataclass(frozen=True)
class MoveACorner:
    way: str = choice("up or down", UP, DOWN)
    along_centre: float = mm("along the centre", 5.0, 0.0, 150.0, basis="away from the hem or towards it")
    side: str = choice("outwards or inwards", OUT, IN)
    off_centre: float = mm("square to the centre", 0.0, 0.0, 150.0, basis="away from the centre or towards it")


def do(garment: Garment, amounts: MoveACorner, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        if not (amounts.along_centre or amounts.off_centre):
            return PieceDone(piece)
        return _moved(piece, target, amounts)

    return piece_by_piece(garment, targets, one)


def _moved(piece: Piece, target: Target, amounts: MoveACorner) -> PieceDone:
    arriving, leaving = _corner(piece, target)
    corner = leaving.start
    shift = _shift(piece, corner, amounts)
    curved, trimmed = [], []
    for edge, at_start in ((arriving, False), (leaving, True)):
        if edge.on_fold:
            trimmed.append(_along_fold(piece, edge, at_start, shift))
        else:
            curved.append(followed(piece, edge, at_start, shift, 1.0))
    new = with_edges(piece, curved, trimmed, reach=math.hypot(*shift) + 30.0)
    lengths = ", ".join(
        f"“{edge.name}” goes from {mm_words(edge.length)} to {mm_words(new.edge(edge.id).length)}"
        for edge in (arriving, leaving)
    )
    added = new.polygon.area > piece.polygon.area
    strip = strip_of(piece, new, added)
    return PieceDone(new, (), (strip,), (f"on “{piece.name}” {lengths}",))


def _corner(piece: Piece, target: Target) -> tuple[Edge, Edge]:
    """The edges that arrive at and leave the corner a target's place names."""
    if target.across:
        point = point_of(piece, target.across[0])
        for arriving, leaving in zip((piece.edges[-1], *piece.edges[:-1]), piece.edges, strict=True):
            if math.dist(leaving.start, point) <= _NEAR_MM:
                return arriving, leaving
    raise PatternError(f"Say which corner of “{piece.name}” is meant: name a place at the end of an edge.", piece.id)


def _shift(piece: Piece, corner: Point, amounts: MoveACorner) -> Point:
    across, middle = square_direction(piece), staying(piece)
    up = hem_side_normal(piece, middle, across)
    outward = across[0] * (corner[0] - middle[0]) + across[1] * (corner[1] - middle[1])
    along = amounts.along_centre if amounts.way == UP else -amounts.along_centre
    away = math.copysign(1.0, outward) * (amounts.off_centre if amounts.side == OUT else -amounts.off_centre)
    return (along * up[0] + away * across[0], along * up[1] + away * across[1])


def _along_fold(piece: Piece, edge: Edge, at_start: bool, shift: Point) -> Edge:
    """The fold run on or trimmed to the new corner; raises PatternError when the corner would leave it."""
    tx, ty = edge.chain.start_tangent
    if abs(tx * shift[1] - ty * shift[0]) > 1e-6:
        raise PatternError(
            f"The corner of “{piece.name}” lies on the fold and can move only along it; leave the amount square to "
            "the centre at nothing.",
            piece.id,
            edge.id,
            edge.start if at_start else edge.end,
        )
    along = tx * shift[0] + ty * shift[1]
    return run_on(piece, edge, at_start, -along if at_start else along)


ALTERATION = Alteration(
    name="move_a_corner",
    title="Move a corner",
    region="free hand",
    order=97,
    sentence="Move a corner of {pieces} {way} by {along_centre} and {side} by {off_centre}",
    amounts=MoveACorner,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "the corner between a hem 150 mm and a straight side 400 mm long, moved 30 mm up and 40 mm out",
            "a hem of 192.4 mm and a side of 372.2 mm, both straight",
            "Pythagoras: sqrt(190^2 + 30^2) and sqrt(370^2 + 40^2), worked by hand",
        ),
    ),
    describes=__doc__,
)
