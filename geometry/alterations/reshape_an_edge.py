"""Reshape an edge.

When: an edge is to run through other points and no other note says so.

By hand: mark up to three points beside the edge, hold a batten at both corners in the old directions, lead it through
the marks and draw along it. Darts stay where they are.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.battened import battened
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.notes import Target, length_at, place_of
from geometry.pieces import Piece
from geometry.readings import mm_words

_BASIS = "out of the piece, inwards when negative; square to the edge"


@dataclass(frozen=True)
class ReshapeAnEdge:
    first: float = mm("out at the first point", 5.0, -80.0, 80.0, basis=_BASIS)
    second: float = mm("out at the second point", 0.0, -80.0, 80.0, basis=_BASIS)
    third: float = mm("out at the third point", 0.0, -80.0, 80.0, basis=_BASIS)


def do(garment: Garment, amounts: ReshapeAnEdge, targets: tuple[Target, ...], note: str) -> Done:
    given = (amounts.first, amounts.second, amounts.third)

    def one(piece: Piece, target: Target) -> PieceDone:
        return _reshaped(piece, target, given) if any(given) else PieceDone(piece)

    return piece_by_piece(garment, targets, one)


def _reshaped(piece: Piece, target: Target, given: tuple[float, ...]) -> PieceDone:
    if target.edge is None or not target.across:
        raise PatternError(f"Say which edge of “{piece.name}” is meant, and at which places of it.", piece.id)
    edge = piece.edge(target.edge)
    if len(target.across) > len(given) or any(given[len(target.across) :]):
        raise PatternError(
            f"Name one place on “{edge.name}” of “{piece.name}” for each amount, three at the most.", piece.id, edge.id
        )
    outward = {}
    for address, amount in zip(target.across, given, strict=False):
        if address.edge != edge.id:
            raise PatternError(f"Every place must lie on “{edge.name}” of “{piece.name}”.", piece.id, edge.id)
        outward[length_at(edge, place_of(piece, address))] = amount
    new = battened(piece, edge, outward)
    points = f"{len(outward)} point{'s' if len(outward) > 1 else ''}"
    words = (
        f"“{edge.name}” of “{piece.name}” is led through {points} and goes "
        f"from {mm_words(edge.length)} to {mm_words(new.edge(edge.id).length)}"
    )
    added = new.polygon.area > piece.polygon.area
    return PieceDone(new, (), (strip_of(piece, new, added),), (words,))


ALTERATION = Alteration(
    name="reshape_an_edge",
    title="Reshape an edge",
    region="free hand",
    order=98,
    sentence=(
        "Reshape an edge of {pieces}: out by {first} at the first point, {second} at the second, {third} at the third"
    ),
    amounts=ReshapeAnEdge,
    do=do,
    steps=drawn_anew,
    aims_at="edges",
    examples=(
        Example(
            "a straight edge 400 mm long led 8 mm out in its middle",
            "4 mm out at a quarter of it, nothing and no turn at its corners",
            "the clamped spline 3 t^2 - 2 t^3, worked by hand",
        ),
    ),
    describes=__doc__,
)
