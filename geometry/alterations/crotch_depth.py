"""Crotch depth.

When: the trousers cut in at the crotch all round, or hang below it.

By hand: on front and back of trousers, fold a tuck out straight across between waist and crotch, or cut there and
spread, the same on both; the centre and the side seams are drawn smooth again.

Source: the fold half as deep as what it takes out, and cutting and spreading: Robinson, ch. 17, Central Washington
University. At the crotch depth line, or at the hip line where there is none: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.shorten_or_lengthen import AWAY, LENGTHEN, SHORTEN, ShortenOrLengthen, on_piece
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.joined_pieces import left_out, names_of
from geometry.notes import Target
from geometry.pieces import EdgeKind, Line, LineKind, Piece
from geometry.stages import Offer

DEEPER, SHALLOWER = "deeper", "shallower"


@dataclass(frozen=True)
class CrotchDepth:
    way: str = choice("deeper or shallower", DEEPER, SHALLOWER)
    amount: float = mm("amount", 12.0, 0.0, 100.0, main=True, basis="paper added or taken out across each piece")


def do(garment: Garment, amounts: CrotchDepth, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        way = LENGTHEN if amounts.way == DEEPER else SHORTEN
        line = depth_line(piece)
        like = ShortenOrLengthen(way, amount, line.kind, AWAY)
        return on_piece(piece, like, Target(piece.id, line=line.id), note)

    done = piece_by_piece(garment, targets, one)
    left = tuple(
        piece
        for piece in left_out(garment, targets, (EdgeKind.SIDE, EdgeKind.INSEAM))
        if garment.piece(piece).edges_of(EdgeKind.CROTCH)
    )
    if done.garment is garment or not left:
        return done
    offer = Offer(f"Do the same on {names_of(garment, left)}", "crotch_depth", amounts, tuple(map(Target, left)))
    return replace(done, offers=(offer,))


def depth_line(piece: Piece) -> Line:
    """The lengthen/shorten line that runs from the crotch edge to the side, else the hip line."""
    crotches = piece.edges_of(EdgeKind.CROTCH)
    if not crotches:
        raise PatternError(f"“{piece.name}” has no crotch edge; choose a piece of trousers.", piece.id)
    for line in piece.lines:
        ends = (line.chain.start, line.chain.end)
        near = any(edge.chain.nearest(end)[1] < 1.0 for edge in crotches for end in ends)
        if line.kind is LineKind.LENGTHEN and near:
            return line
    hip = piece.line(LineKind.HIP)
    if hip is None:
        raise PatternError(f"“{piece.name}” has neither a crotch depth line nor a hip line; draw one.", piece.id)
    return hip


ALTERATION = Alteration(
    name="crotch_depth",
    title="Crotch depth",
    region="waist and seat",
    order=83,
    sentence="Crotch of {pieces} {way} by {amount}",
    amounts=CrotchDepth,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example("a crotch 12 mm deeper", "side seam and crotch edge 12 mm longer, the leg as it was", "addition"),
    ),
    describes=__doc__,
)
