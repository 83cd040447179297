"""True a seam to its mate.

When: the seams were walked and one edge is longer than the edge it is sewn to.

By hand: walk one edge of the seam along the other, mark on the longer one where the shorter ends, and trim it there, or
rule the shorter one on; draw the edge beyond the corner anew to the new corner, in its old direction at both ends.

Source: sewn edges walked and made to match after Threads no. 200 (2018), "10 patternwork skills". Which end takes the
difference: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.carrying import run_on, with_edges
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.motions import Point
from geometry.named_corners import corner_named
from geometry.notes import Target
from geometry.pieces import Edge, Piece, neighbours
from geometry.readings import mm_words
from geometry.reshaping import following

LONGER, SHORTER = "longer", "shorter"
#: The edge beyond the corner can follow it by this share of its run.
_MOST_SHARE = 0.4


@dataclass(frozen=True)
class TrueASeam:
    way: str = choice("longer or shorter", SHORTER, LONGER)
    amount: float = mm("amount", 3.0, 0.0, 150.0, main=True, basis="along the seam, at the corner named")


def do(garment: Garment, amounts: TrueASeam, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == LONGER else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        return _trued(piece, target, sign * amount) if amount else PieceDone(piece)

    return piece_by_piece(garment, targets, one)


def _trued(piece: Piece, target: Target, amount: float) -> PieceDone:
    edge, at_start = corner_named(piece, target)
    beyond = neighbours(piece, edge.id)[0 if at_start else 1]
    for one in (edge, beyond):
        if one.on_fold:
            raise PatternError(
                f"“{one.name}” of “{piece.name}” lies on the fold; true the seam at its other end.", piece.id, one.id
            )
    seam = run_on(piece, edge, at_start, amount)
    old, corner = (edge.start, seam.start) if at_start else (edge.end, seam.end)
    carried = _carried(piece, beyond, not at_start, (corner[0] - old[0], corner[1] - old[1]))
    new = with_edges(piece, (carried,), (seam,), reach=abs(amount) + 30.0)
    words = (
        f"“{edge.name}” of “{piece.name}” goes from {mm_words(edge.length)} to {mm_words(new.edge(edge.id).length)} "
        f"at its corner with “{beyond.name}”, which is drawn anew"
    )
    return PieceDone(new, (), (strip_of(piece, new, amount > 0),), (words,))


def _carried(piece: Piece, edge: Edge, at_start: bool, shift: Point) -> Edge:
    """The edge beyond with its corner carried along, led off and brought in as it was at both ends of its run."""
    index = 0 if at_start else -1
    run = edge.runs[index]
    line = run.chain if at_start else run.chain.backwards()
    if math.hypot(*shift) > _MOST_SHARE * line.length:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” is too short to follow a corner moved by {mm_words(math.hypot(*shift))}.",
            piece.id,
            edge.id,
            line.start,
        )
    new = following(line, shift, 1.0)
    runs = list(edge.runs)
    runs[index] = replace(run, chain=new if at_start else new.backwards())
    return replace(edge, runs=tuple(runs))


ALTERATION = Alteration(
    name="true_a_seam",
    title="True a seam to its mate",
    region="truing",
    order=101,
    sentence="True the seam of {pieces} to its mate: {way} by {amount} at the corner named",
    amounts=TrueASeam,
    do=do,
    steps=drawn_anew,
    aims_at="edges",
    examples=(
        Example(
            "a back side seam 2 mm longer than the front's, made 2 mm shorter at the hem",
            "both side seams of one length; the hem as before at the fold, 2 mm up at the side",
            "subtraction",
        ),
    ),
    describes=__doc__,
)
