"""Slash and spread.

When: a piece is too narrow or too wide along a line that no other note names.

By hand: draw a line across the piece from edge to edge, cut along it and spread the halves over paper, or lay one
half over the other; or cut up to the stitching line, leave a hinge there, and spread or overlap the other end alone.
The grainline is drawn through first, so that it can be straightened again. A slash never stops inside the piece: the
paper would not lie flat.

Source: every slash runs edge to edge or ends in a hinge on the stitching line, and the paper must lie flat: Robinson,
ch. 17, Central Washington University; fold out, slash and spread (or overlap), redraw are the only kinds of change:
New Mexico State University Extension, Guide C-228.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import square_direction
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.motions import Point
from geometry.notes import Address, Target, point_of
from geometry.pieces import Piece
from geometry.readings import mm_words
from geometry.slashes import slashed, staying
from geometry.stages import Strip

SPREAD, OVERLAP = "spread", "overlap"
PARALLEL = "the same all along"
AT_START, AT_END = "to nothing where the line starts", "to nothing where the line ends"


@dataclass(frozen=True)
class SlashAndSpread:
    way: str = choice("spread or overlap", SPREAD, OVERLAP)
    amount: float = mm("amount", 12.0, 0.0, 400.0, main=True, basis="across the slash, at its open end")
    hinge: str = choice("along the line", PARALLEL, AT_START, AT_END)


def do(garment: Garment, amounts: SlashAndSpread, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        start, end = drawn_across(piece, target)
        hinge = {PARALLEL: None, AT_START: start, AT_END: end}[amounts.hinge]
        signed = amount if amounts.way == SPREAD else -amount
        done = slashed(piece, start, end, signed, note, staying(piece), hinge)
        strip = Strip(piece.id, done.strip, amounts.way == SPREAD)
        return PieceDone(done.moved.piece, done.moved.findings, (strip,), (_reading(piece, amounts, amount),))

    return piece_by_piece(garment, targets, one)


def drawn_across(piece: Piece, target: Target) -> tuple[Point, Point]:
    """Both ends of the line drawn across, on the stitching line; from one address, square to the fold or centre."""
    if not target.across:
        raise PatternError(f"Say where the line across “{piece.name}” starts, and where it ends.", piece.id)
    start = point_of(piece, target.across[0])
    if len(target.across) > 1:
        return start, point_of(piece, target.across[1])
    return start, _opposite(piece, start, square_direction(piece), target.across[0])


def _opposite(piece: Piece, start: Point, along: Point, address: Address) -> Point:
    found = [edge.chain.point(u) for edge in piece.edges for u in edge.chain.crossings(start, along)]
    away = [p for p in found if abs((p[0] - start[0]) * along[0] + (p[1] - start[1]) * along[1]) > 1.0]
    if not away:
        raise PatternError(
            f"A line square to the grain from there leaves “{piece.name}” at once; say where it ends.",
            piece.id,
            address.edge,
            start,
        )
    return max(away, key=lambda p: abs((p[0] - start[0]) * along[0] + (p[1] - start[1]) * along[1]))


def _reading(piece: Piece, amounts: SlashAndSpread, amount: float) -> str:
    words = "adds" if amounts.way == SPREAD else "takes out"
    whole = f"{mm_words(amount)} in each “{piece.name}”, {mm_words(amount * piece.cut_count)} in all"
    return f"{words} {whole}" + ("" if amounts.hinge == PARALLEL else ", to nothing at the hinge")


ALTERATION = Alteration(
    name="slash_and_spread",
    title="Slash and spread",
    region="width",
    order=13,
    sentence="Slash {pieces} along a line drawn across and {way} by {amount}, {hinge}",
    amounts=SlashAndSpread,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "a slash of 400 mm from the hem to a hinge at the waist, spread by 50 mm",
            "the paper turns 7.166 degrees; the waist keeps its length",
            "2 asin(50 / 800), worked by hand",
        ),
        Example("a slash across, spread by 12 mm all along", "both sides 12 mm longer", "subtraction"),
    ),
    describes=__doc__,
)
