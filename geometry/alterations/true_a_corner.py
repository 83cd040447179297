"""True a corner.

When: an edge that runs on over a seam shows a point or a hollow there, or one at the fold when the piece is opened.

By hand: lay the two pieces together as they will be sewn, or fold the paper at the fold, and look along the edge that
runs over the seam. Where it points, round the point off; where it is scooped, fill the hollow in; draw from the new
corner to nothing a short run further along, the same on both pieces. A corner that is meant to point is left alone.

Source: joined pieces form one smooth line at both ends of a seam, pointed rounded off and scooped filled in: Conover, A
Complete Course in Dressmaking, 1921-22, vol. 9 p. 22. Square for a short run at a fold, and how long the run is: common
practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.carrying import with_edges
from geometry.crossings import met
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.lines import Chain, joined, tidied
from geometry.motions import FloatArray
from geometry.named_corners import corner_named
from geometry.notes import Target
from geometry.parallels import moved_line
from geometry.pieces import Edge, Piece, neighbours
from geometry.readings import mm_words

ROUND, FILL = "round the point off", "fill the hollow in"
#: A run this short is no run (mm).
_LEAST_RUN_MM = 3.0


@dataclass(frozen=True)
class TrueACorner:
    way: str = choice("round off or fill in", ROUND, FILL)
    amount: float = mm("amount", 1.5, 0.0, 40.0, main=True, basis="square to the edge that runs on, at the corner")
    run: float = mm("to nothing over", 50.0, 5.0, 300.0, basis="along the edge that runs on, from the corner")


def do(garment: Garment, amounts: TrueACorner, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == FILL else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        return _trued(piece, target, sign * amount, amounts.run) if amount else PieceDone(piece)

    return piece_by_piece(garment, targets, one)


def _trued(piece: Piece, target: Target, out: float, run: float) -> PieceDone:
    edge, at_start = corner_named(piece, target)
    if edge.on_fold:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” lies on the fold; name the edge that meets it.", piece.id, edge.id
        )
    seam = neighbours(piece, edge.id)[0 if at_start else 1]
    shaped = _led(piece, edge, at_start, out, run)
    line, along = shaped.runs[0 if at_start else -1].chain, seam.runs[-1 if at_start else 0].chain
    reach = 5 * abs(out) + 1.0
    found = met(along, line, reach) if at_start else met(line, along, reach)
    if found is None:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” would no longer meet “{seam.name}”; change it by less.",
            piece.id,
            edge.id,
            edge.start if at_start else edge.end,
        )
    along, line = found if at_start else reversed(found)
    new_edge, new_seam = _with_end(shaped, at_start, line), _with_end(seam, not at_start, along)
    new = with_edges(piece, (new_edge,), (new_seam,), reach=reach + 30.0)
    words = (
        f"the corner of “{edge.name}” and “{seam.name}” of “{piece.name}” is "
        f"{'filled in' if out > 0 else 'rounded off'} by {mm_words(abs(out))}, to nothing over {mm_words(run)}"
    )
    return PieceDone(new, (), (strip_of(piece, new, out > 0),), (words,))


def _led(piece: Piece, edge: Edge, at_start: bool, out: float, run: float) -> Edge:
    """The edge led ``out`` mm off at the corner, dying away with the third power, so that its far end is not felt."""
    line = edge.runs[0].chain if at_start else edge.runs[-1].chain.backwards()
    reach = min(run, line.length)
    if reach < _LEAST_RUN_MM:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” is too short there to be drawn anew.", piece.id, edge.id, line.start
        )
    stop = line.at_length(reach) if reach < line.length else float(len(line))
    right = out if at_start else -out

    def profile(lengths: FloatArray) -> tuple[FloatArray, FloatArray]:
        left = 1.0 - np.clip(lengths / reach, 0.0, 1.0)
        return right * left**3, -3.0 * right / reach * left**2

    rest = [line.part(stop, float(len(line)))] if stop < len(line) else []
    new = joined([moved_line(line.part(0.0, stop), 0.0, profile).line, *rest])
    return _with_end(edge, at_start, new if at_start else new.backwards())


def _with_end(edge: Edge, at_start: bool, line: Chain) -> Edge:
    runs = list(edge.runs)
    index = 0 if at_start else -1
    runs[index] = replace(runs[index], chain=tidied(line))
    return replace(edge, runs=tuple(runs))


ALTERATION = Alteration(
    name="true_a_corner",
    title="True a corner",
    region="truing",
    order=102,
    sentence="True a corner of {pieces}: {way} by {amount}, to nothing over {run}",
    amounts=TrueACorner,
    do=do,
    steps=drawn_anew,
    aims_at="edges",
    examples=(
        Example(
            "a straight hem that meets a fold at 87 degrees, its point rounded off over 60 mm",
            "square to the fold when 1.05 mm is taken off at the fold",
            "60 tan 3 degrees / 3, worked by hand",
        ),
    ),
    describes=__doc__,
)
