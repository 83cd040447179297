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
from geometry.alterations.slash_and_spread import OVERLAP, PARALLEL, SPREAD, SlashAndSpread
from geometry.cutting_lines import largest_part
from geometry.garments import Garment, Seam
from geometry.hand_ways import drawn_anew
from geometry.joined_pieces import edges_shared, left_out, names_of, only_edge
from geometry.notes import Address, Target
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
    return replace(
        done, offers=(*shared, *bands_offered(garment, outward * edges_shared(garment, targets, _SIDES), targets))
    )


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

    A band is changed across, where the side seam meets it.
    """
    seams: dict[str, Seam] = {}
    for target in targets:
        for edge in garment.piece(target.piece).edges_of(EdgeKind.WAIST):
            seams |= {seam.id: seam for seam in garment.seams_of(target.piece, edge.id)}
    offers = []
    for seam in seams.values():
        for band, waist in ((seam.first, seam.second), (seam.second, seam.first)):
            if len(band) == 1 and len(waist) > 1 and garment.edge(band[0]).kind is EdgeKind.BAND:
                share = garment.edge(waist[0]).length / sum(garment.edge(ref).length for ref in waist)
                share = 1 - share if band[0].backwards else share
                offers.append(_band(garment.piece(band[0].piece), band[0].edge, share, wider))
    return tuple(offer for offer in offers if offer is not None)


def _band(band: Piece, edge_id: str, share: float, wider: float) -> Offer | None:
    others = [edge for edge in band.edges_of(EdgeKind.BAND) if edge.id != edge_id]
    if len(others) != 1 or band.cut_count not in (1, 2):
        return None
    each = abs(wider) / band.cut_count
    way = SPREAD if wider > 0 else OVERLAP
    across = (Address(edge_id, "start", share=share), Address(others[0].id, "end", share=share))
    says = f"Change “{band.name}” with it, {mm_words(each)} across it at the side seam"
    return Offer(says, "slash_and_spread", SlashAndSpread(way, each, PARALLEL), (Target(band.id, across=across),))


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
