"""Waist larger or smaller.

When: the waistband is too tight or too loose and the hip is right.

By hand: share the change over all the edges of the side seams, mark the share square to the centre at the waist and
draw the seam from there to nothing at the hip line. The waistband changes by as much.

Source: the change shared over all seam edges: Robinson, ch. 17, Central Washington University. To nothing at the hip:
common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.recut_a_band import AS_IT_IS, LONGER, SHORTER, RecutABand
from geometry.bands import band_seam, mates_of
from geometry.cutting_lines import largest_part
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.joined_pieces import edges_shared, left_out, names_of, only_edge
from geometry.notes import Target
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.seam_levels import seam_changed
from geometry.stages import Offer, Strip

LARGER, SMALLER = "larger", "smaller"
_SIDES = (EdgeKind.SIDE,)


@dataclass(frozen=True)
class WaistSize:
    way: str = choice("larger or smaller", LARGER, SMALLER)
    amount: float = mm("amount", 25.0, 0.0, 200.0, main=True, basis="round the body, over the side seams of all pieces")


def do(garment: Garment, amounts: WaistSize, targets: tuple[Target, ...], note: str) -> Done:
    if amounts.amount == 0:
        return Done(garment)
    each = share_of(garment, amounts.amount, targets)
    outward = each if amounts.way == LARGER else -each

    def one(piece: Piece, target: Target) -> PieceDone:
        return sides_changed(piece, {"bust": 0.0, "waist": outward, "hip": 0.0, "hem": 0.0}, amounts.amount)

    done = piece_by_piece(garment, targets, one)
    left = left_out(garment, targets, _SIDES)
    says = f"Change the waist of {names_of(garment, left)} too, shared over all the edges"
    shared = (Offer(says, "waist_size", amounts, (*targets, *map(Target, left))),) if left else ()
    wider = outward * edges_shared(garment, targets, _SIDES)
    return replace(done, offers=(*shared, *bands_offered(garment, wider, targets)))


def share_of(garment: Garment, amount: float, targets: tuple[Target, ...]) -> float:
    """The share (mm) of one side edge in an amount round the body; raises PatternError where a piece has no side."""
    for target in targets:
        only_edge(garment.piece(target.piece), EdgeKind.SIDE)
    return amount / edges_shared(garment, targets, _SIDES)


def sides_changed(piece: Piece, outward: dict[str, float], amount: float) -> PieceDone:
    """The piece with its side seam let out (taken in when negative) at levels, for an ``amount`` round the body."""
    new = seam_changed(piece, only_edge(piece, EdgeKind.SIDE).id, outward)
    each = max(outward.values(), key=abs)
    grown, gone = new.polygon.difference(piece.polygon), piece.polygon.difference(new.polygon)
    strip = Strip(piece.id, largest_part(grown if each > 0 else gone), each > 0)
    word = "let out" if each > 0 else "taken in"
    reading = f"every side edge {word} by {mm_words(abs(each))}, {mm_words(amount)} round the body"
    return PieceDone(new, (), (strip,), (reading,))


def bands_offered(garment: Garment, wider: float, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """A waist ``wider`` by mm round the body (narrower when negative) offered for the waistbands of the targets.

    A waistband is fitted to the body and the waist eased into it, so it changes by as much as the body does.
    """
    waists = {(t.piece, edge.id) for t in targets for edge in garment.piece(t.piece).edges_of(EdgeKind.WAIST)}
    offers = []
    for band in garment.pieces:
        found = band_seam(garment, band.id) if band.edges_of(EdgeKind.BAND) else None
        if found is not None and waists & {(ref.piece, ref.edge) for ref in mates_of(*found)}:
            way, each = LONGER if wider > 0 else SHORTER, abs(wider) / band.cut_count
            says = f"Change “{band.name}” with it, {mm_words(each)} {way}"
            offers.append(Offer(says, "recut_a_band", RecutABand(each, way, AS_IT_IS), (Target(band.id),)))
    return tuple(offers)


ALTERATION = Alteration(
    name="waist_size",
    title="Waist larger or smaller",
    region="waist and seat",
    order=80,
    sentence="Waist of {pieces} {way} by {amount} round the body, to nothing at the hip",
    amounts=WaistSize,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a waist 25.4 mm (1 in) larger on a front on the fold and a back cut as a pair",
            "4 side edges, 6.35 mm each; the waistband 25.4 mm longer in all",
            "Robinson, costume construction text, ch. 17, and division",
        ),
    ),
    describes=__doc__,
)
