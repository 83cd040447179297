"""Hip curve rounder or flatter.

When: the skirt or trousers stand off or pull between waist and hip, and both girths are right.

By hand: between waist and hip draw the side seam fuller or hollower, most halfway, to nothing at the waist and at the
hip line, on front and back alike.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.cutting_lines import largest_part
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.joined_pieces import left_out, names_of, only_edge
from geometry.notes import Target
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.seam_levels import HIP, WAIST, level_place, places_of, seam_through, upright
from geometry.stages import Offer, Strip

ROUNDER, FLATTER = "rounder", "flatter"


@dataclass(frozen=True)
class HipCurve:
    way: str = choice("rounder or flatter", ROUNDER, FLATTER)
    amount: float = mm("amount", 5.0, 0.0, 40.0, main=True, basis="square to the centre, halfway from waist to hip")


def do(garment: Garment, amounts: HipCurve, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        return PieceDone(piece) if amount == 0 else _curved(piece, amount if amounts.way == ROUNDER else -amount)

    done = piece_by_piece(garment, targets, one)
    left = left_out(garment, targets, (EdgeKind.SIDE,))
    if done.garment is garment or not left:
        return done
    says = f"Do the same to the hip curve of {names_of(garment, left)}"
    return replace(done, offers=(Offer(says, "hip_curve", amounts, tuple(map(Target, left))),))


def _curved(piece: Piece, outward: float) -> PieceDone:
    seam = upright(piece, only_edge(piece, EdgeKind.SIDE).id)
    top, foot = places_of(seam)
    waist = top if seam.above.kind in (EdgeKind.WAIST, EdgeKind.BAND) else level_place(seam, WAIST)
    hip = level_place(seam, HIP)
    if waist is None or hip is None:
        raise PatternError(f"The side seam of “{piece.name}” needs a waist and a hip line.", piece.id, seam.edge.id)
    new = seam_through(piece, seam.edge.id, {top: 0.0, waist: 0.0, (waist + hip) / 2: outward, hip: 0.0, foot: 0.0})
    grown, gone = new.polygon.difference(piece.polygon), piece.polygon.difference(new.polygon)
    strip = Strip(piece.id, largest_part(grown if outward > 0 else gone), outward > 0)
    fuller = "fuller" if outward > 0 else "hollower"
    count, amount = piece.cut_count, abs(outward)
    words = f"each side edge {mm_words(amount)} {fuller} halfway, {mm_words(amount * count)} in all for “{piece.name}”"
    return PieceDone(new, (), (strip,), (words,))


ALTERATION = Alteration(
    name="hip_curve",
    title="Hip curve rounder or flatter",
    region="width",
    order=15,
    sentence="Hip curve of {pieces} {way} by {amount}",
    amounts=HipCurve,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a hip curve 5 mm rounder",
            "5 mm more halfway between waist and hip, waist and hip as they were",
            "common practice, no source",
        ),
    ),
    describes=__doc__,
)
