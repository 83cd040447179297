"""Swayback.

When: the back falls in folds across above the seat.

By hand: where the back falls in folds above the seat, pinch a tuck across the back, full depth at the centre back and
to nothing at the side seam's stitching line, usually at the waist. The upper back turns about the side seam, so the
centre back bends: a straight one is ruled as one straight line again from neck to hem, the grainline parallel to it. On
the fold that leaves a little more width at the waist; with a seam it can be taken in there.

Source: common practice, no source; the turn and the swing of the centre back follow from geometry.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.centre_wedges import centre_wedge, only_edge
from geometry.cutting_lines import cut_line
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.motions import Point
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, LineKind, Piece
from geometry.readings import length_reading, mm_words


@dataclass(frozen=True)
class Swayback:
    amount: float = mm("amount", 12.0, 0.0, 40.0, main=True, basis="taken out at the centre back, usually 6 to 25 mm")
    line: str = choice("line", LineKind.WAIST, LineKind.LENGTHEN, "line drawn across")


def do(garment: Garment, amounts: Swayback, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        centre = only_edge(piece, EdgeKind.CENTRE_BACK, "a half back")
        line = cut_line(piece, amounts.line, target)
        low = _crossing(piece, centre, line)
        hinge = _crossing(piece, only_edge(piece, EdgeKind.SIDE, "a half back with a side seam"), line)
        done = centre_wedge(piece, centre, hinge, low, amount, note, opened=False)
        centre_words = (
            f"the centre back is one straight line again, {mm_words(done.aside_mm)} outside the tuck, "
            "and the grainline parallel to it"
            if done.ruled
            else "the centre back keeps its shape and is drawn smooth over the tuck"
        )
        words = (
            f"{length_reading(amount, False)} at the centre back of “{piece.name}”, to nothing at the side seam",
            f"the upper back turns {done.turned_deg:.1f} degrees; {centre_words}",
        )
        return PieceDone(done.piece, done.findings, (done.strip,), words)

    return piece_by_piece(garment, targets, one)


def _crossing(piece: Piece, edge: Edge, line: tuple[Point, Point]) -> Point:
    found = edge.chain.crossings(*line)
    if not found:
        raise PatternError(
            f"The line does not reach “{edge.name}” of “{piece.name}”; draw it from side seam to centre back.",
            piece.id,
            edge.id,
            line[0],
        )
    return edge.chain.point(found[0])


ALTERATION = Alteration(
    name="swayback",
    title="Swayback",
    region="back",
    order=70,
    sentence="Swayback: tuck out {amount} at the centre back of {pieces}, to nothing at the side seam, at the {line}",
    amounts=Swayback,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "a tuck of 12 mm across a back 230 mm wide",
            "the upper back turns 2.987 degrees, the centre back 400 mm up swings 20.84 mm",
            "atan(12 / 230) and 400 sin 2.987 degrees, worked by hand",
        ),
    ),
    describes=__doc__,
)
