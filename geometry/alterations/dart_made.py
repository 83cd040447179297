"""Dart made.

When: an edge is longer than what it is sewn to, or stands off the body and no dart takes it up.

By hand: where an edge is longer than what it is sewn to, or stands off the body, mark the mouth on the edge, half to
each side of its middle, and rule both legs, equally long, to the point. The edge is sewn shorter by the mouth. A dart
of what lies in an edge already takes nothing from the paper; to make one of a gaping armhole or a full bust use those
notes.

Source: common practice, no source; upright darts pressed to the centre, sideways darts down: Oregon State University
Extension, 4-H 92132.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, mm, piece_by_piece, share
from geometry.dart_turning import along_edge, pressed
from geometry.darts import mouth_cut, mouth_of
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_seams import dart_ruled
from geometry.motions import Point
from geometry.notes import Target, length_at, place_of
from geometry.pieces import Dart, Edge, Piece
from geometry.readings import mm_words


@dataclass(frozen=True)
class DartMade:
    width: float = mm("width at the mouth", 15.0, 0.0, 120.0, main=True, basis="along the stitching line")
    length: float = mm("length", 90.0, 10.0, 400.0, basis="from the middle of the mouth to the point, square to it")
    at: float = share("place along that edge, from the centre or from the top", 0.5, 0.0, 1.0)


def do(garment: Garment, amounts: DartMade, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        width = amounts.width if target.amount is None else target.amount
        if width == 0:
            return PieceDone(piece)
        if target.edge is None:
            raise PatternError("Say which edge is meant, as well as the piece.", target.piece)
        edge = piece.edge(target.edge)
        made = sum(dart.id.startswith(f"{note}.dart") for dart in piece.darts) + 1
        new, dart = _made(piece, edge, target, amounts, width, f"{note}.dart{made}")
        leg = math.dist(mouth_of(new, dart).start, dart.sewn_point)
        words = (
            f"a dart {mm_words(width)} wide and {mm_words(amounts.length)} long on “{edge.name}” of “{piece.name}”, "
            f"legs {mm_words(leg)}; the edge is sewn {mm_words(edge.length - new.edge(edge.id).length)} shorter"
        )
        return PieceDone(new, (), (), (words,))

    return piece_by_piece(garment, targets, one)


def _made(
    piece: Piece, edge: Edge, target: Target, amounts: DartMade, width: float, dart_id: str
) -> tuple[Piece, Dart]:
    if edge.on_fold:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” is on the fold; no dart can open there.", piece.id, edge.id, edge.start
        )
    address = target.across[0] if target.across else along_edge(piece, edge, amounts.at)
    along = length_at(edge, place_of(piece, address))
    blank = Dart(dart_id, "dart", edge.id, edge.start, edge.start)
    new = mouth_cut(piece, edge.id, along, width, blank)
    point = _inside(new, blank, amounts.length)
    dart = pressed(new, Dart(dart_id, "dart", edge.id, point, point))
    return replace(new, darts=(*new.darts[:-1], dart)), dart


def _inside(piece: Piece, dart: Dart, length: float) -> Point:
    """The point of a dart: the outline runs anticlockwise, so the paper lies to the left of the mouth."""
    mouth = mouth_of(piece, dart)
    (x, y), (ux, uy) = mouth.point(0.5), mouth.start_tangent
    return (x - length * uy, y + length * ux)


ALTERATION = Alteration(
    name="dart_made",
    title="Dart made",
    region="bust and chest",
    order=54,
    sentence="Make a dart on {pieces}: {width} wide at the mouth, {length} long, {at} along the edge",
    amounts=DartMade,
    do=do,
    steps=dart_ruled,
    aims_at="edges",
    examples=(
        Example(
            "a dart 24 mm wide and 90 mm long",
            "legs of 90.796 mm, closing 15.19 degrees; a straight edge is sewn 24 mm shorter",
            "sqrt(90^2 + 12^2) and 2 atan(12 / 90), worked by hand",
        ),
    ),
    describes=__doc__,
)
