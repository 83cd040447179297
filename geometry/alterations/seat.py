"""Full or flat seat.

When: the waist is pulled down at the centre back in sitting (full), or folds hang below the seat (flat).

By hand: cut across the back a little above the hip line, parallel to it, from the centre up to the side seam, leave a
hinge there on the stitching line, and spread for a full seat or overlap for a flat one. The centre back becomes longer
or shorter, the side seam does not; the centre is drawn as one line again.

Source: the slash to a hinge on the stitching line: Robinson, ch. 17, Central Washington University. Above the hip line,
in the back alone: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import hem_side_normal
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.joined_pieces import only_edge
from geometry.motions import Point
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, LineKind, Piece
from geometry.readings import mm_words
from geometry.slashes import slashed
from geometry.stages import Strip

FULL, FLAT = "full seat: spread", "flat seat: overlap"
_CENTRES = (EdgeKind.CENTRE_BACK, EdgeKind.CROTCH, EdgeKind.CENTRE_FRONT)


@dataclass(frozen=True)
class Seat:
    way: str = choice("full or flat", FULL, FLAT)
    amount: float = mm("amount", 15.0, 0.0, 80.0, main=True, basis="at the centre of each piece, nothing at the side")
    above: float = mm("above the hip line", 40.0, -60.0, 100.0, basis="from the hip line up to the slash")


def do(garment: Garment, amounts: Seat, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        centre, side = across_seat(piece, amounts.above)
        foot = only_edge(piece, EdgeKind.HEM).chain
        signed = amount if amounts.way == FULL else -amount
        done = slashed(piece, centre, side, signed, note, foot.point(len(foot) / 2), side)
        word = "longer" if signed > 0 else "shorter"
        angle = math.degrees(2 * math.asin(amount / (2 * math.dist(centre, side))))
        reading = f"the centre of “{piece.name}” is {mm_words(amount)} {word}; the paper turns {angle:.1f} degrees"
        strip = Strip(piece.id, done.strip, signed > 0)
        return PieceDone(done.moved.piece, done.moved.findings, (strip,), (reading,))

    return piece_by_piece(garment, targets, one)


def across_seat(piece: Piece, above: float) -> tuple[Point, Point]:
    """Where a parallel ``above`` mm over the hip line meets the centre and the side of a piece.

    Raises PatternError where the piece has no hip line, or the parallel misses an edge.
    """
    line = piece.line(LineKind.HIP)
    centre = next((edge for kind in _CENTRES for edge in piece.edges_of(kind)), None)
    if line is None or centre is None:
        raise PatternError(f"“{piece.name}” needs a hip line and a centre or crotch edge.", piece.id)
    along = line.chain.start_tangent
    up = hem_side_normal(piece, line.chain.start, along)
    through = (line.chain.start[0] + above * up[0], line.chain.start[1] + above * up[1])
    return _met(piece, centre, through, along), _met(piece, only_edge(piece, EdgeKind.SIDE), through, along)


def _met(piece: Piece, edge: Edge, through: Point, along: Point) -> Point:
    found = edge.chain.crossings(through, along)
    if not found:
        raise PatternError(
            f"The line across the seat of “{piece.name}” does not meet “{edge.name}”.", piece.id, edge.id, through
        )
    return edge.chain.point(found[0])


ALTERATION = Alteration(
    name="seat",
    title="Full or flat seat",
    region="waist and seat",
    covers="seat",
    order=82,
    sentence="{way} {amount} at the centre of {pieces}, {above} above the hip line, to nothing at the side",
    amounts=Seat,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "15 mm spread at the centre of a back 250 mm wide at the hip",
            "the paper turns 3.438 degrees; the side seam keeps its length",
            "2 asin(15 / 500), worked by hand",
        ),
    ),
    describes=__doc__,
)
