"""Sew this seam at another width.

By hand: after basting, the seam is sewn nearer to the cut edge or farther from it. The paper and the cloth stay
as they are cut; the stitching line moves by the difference, in every edge of the seam, band and facing included,
or to nothing at a named point. Not to be confused with a new allowance width, where the stitching line stays.

Source: common practice, no source. Let out no further than 6 mm short of the cut edge: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, mm
from geometry.errors import PatternError
from geometry.garments import Garment, Seam
from geometry.notes import Target, edge_run_length, length_at, place_at, place_of
from geometry.offsets import offset_edge
from geometry.pieces import Edge, Piece, Taper
from geometry.readings import mm_words
from geometry.tolerances import LEAST_ALLOWANCE_MM


@dataclass(frozen=True)
class SewSeamAt:
    width: float = mm("seam width", 12.0, 0.0, 60.0, main=True, basis="from the cut edge, on every edge of the seam")


@dataclass(frozen=True)
class _Sewn:
    """An edge of the seam; ``share`` where on it the change runs to nothing, and which of its ends moves whole."""

    piece: str
    edge: str
    target: Target
    share: float | None = None
    whole_at_start: bool = False


def do(garment: Garment, amounts: SewSeamAt, targets: tuple[Target, ...], note: str) -> Done:
    readings: list[str] = []
    for sewn in edges_sewn_with(garment, targets):
        piece = garment.piece(sewn.piece)
        edge = piece.edge(sewn.edge)
        width = amounts.width if sewn.target.amount is None else sewn.target.amount
        outward = garment.width(edge) - width
        if outward == 0:
            continue
        if outward > 0 and width < LEAST_ALLOWANCE_MM:
            raise PatternError(
                f"“{edge.name}” of “{piece.name}” can be let out no further than {mm_words(LEAST_ALLOWANCE_MM)} short "
                f"of the cut edge; {mm_words(width)} is too narrow.",
                piece.id,
                edge.id,
                edge.start,
            )
        garment = garment.with_piece(_sewn_at(piece, edge, width, outward, sewn))
        readings.append(_reading(piece, edge.name, outward, sewn.share is not None))
    return Done(garment, readings=tuple(readings))


def edges_sewn_with(garment: Garment, targets: tuple[Target, ...]) -> list[_Sewn]:
    """Every edge in a seam with a target's edge, and every facing edge that copies one, each once.

    Where a target says by its first address that the change runs to nothing there, the edges beyond that place
    of the seam are left out, on both sides alike.
    """
    found: dict[tuple[str, str], _Sewn] = {}
    for target in targets:
        if target.edge is None:
            raise PatternError("Say which edge is meant, as well as the piece.", target.piece)
        for sewn in _seam_edges(garment, target):
            found.setdefault((sewn.piece, sewn.edge), sewn)
        for piece in garment.pieces:
            for copy in piece.copies:
                like = found.get((copy.piece, copy.of_edge))
                if like is not None:
                    found.setdefault((piece.id, copy.edge), _copied(garment, piece.id, copy.edge, like))
    return list(found.values())


def _seam_edges(garment: Garment, target: Target) -> list[_Sewn]:
    assert target.edge is not None
    seams = garment.seams_of(target.piece, target.edge)
    if not target.across:
        refs = [ref for seam in seams for ref in (*seam.first, *seam.second)]
        return [_Sewn(ref.piece, ref.edge, target) for ref in refs] or [_Sewn(target.piece, target.edge, target)]
    edge = garment.piece(target.piece).edge(target.edge)
    address = target.across[0]
    if address.edge != edge.id:
        raise PatternError(
            f"The place where the change runs to nothing must lie on “{edge.name}”.", target.piece, edge.id
        )
    share = length_at(edge, place_of(garment.piece(target.piece), address)) / edge_run_length(edge)
    if not seams:
        return [_Sewn(target.piece, edge.id, target, share, share >= 0.5)]
    return [one for seam in seams for one in _part_of_seam(garment, seam, target, share)]


def _part_of_seam(garment: Garment, seam: Seam, target: Target, share: float) -> list[_Sewn]:
    """The edges of a seam up to where the change runs to nothing, that place at the same share of each side."""
    own = seam.first if any((ref.piece, ref.edge) == (target.piece, target.edge) for ref in seam.first) else seam.second
    along = before = 0.0
    for ref in own:
        length = garment.edge(ref).length
        if (ref.piece, ref.edge) == (target.piece, target.edge):
            along = before + length * (1 - share if ref.backwards else share)
        before += length
    part = along / before
    from_start = part >= 0.5
    found = []
    for side in (seam.first, seam.second):
        whole = sum(garment.edge(ref).length for ref in side)
        begun = 0.0
        for ref in side:
            length = garment.edge(ref).length
            here = (part * whole - begun) / length
            begun += length
            if (here >= 1 - 1e-9) if from_start else (here <= 1e-9):
                found.append(_Sewn(ref.piece, ref.edge, target))
            elif 0 < here < 1:
                at = 1 - here if ref.backwards else here
                found.append(_Sewn(ref.piece, ref.edge, target, at, from_start != ref.backwards))
    return found


def _copied(garment: Garment, piece_id: str, edge_id: str, like: _Sewn) -> _Sewn:
    """A facing's edge changes as the edge that it copies; which way round it runs is told by the nearer ends."""
    if like.share is None:
        return _Sewn(piece_id, edge_id, like.target)
    edge, of = garment.piece(piece_id).edge(edge_id), garment.piece(like.piece).edge(like.edge)
    if math.dist(edge.start, of.start) <= math.dist(edge.start, of.end):
        return _Sewn(piece_id, edge_id, like.target, like.share, like.whole_at_start)
    return _Sewn(piece_id, edge_id, like.target, 1 - like.share, not like.whole_at_start)


def _sewn_at(piece: Piece, edge: Edge, width: float, outward: float, sewn: _Sewn) -> Piece:
    if sewn.share is None:
        new = offset_edge(piece, edge.id, outward)
        return new.with_edge(replace(new.edge(edge.id), width=width))
    nothing = place_at(edge, sewn.share * edge_run_length(edge))
    new = offset_edge(piece, edge.id, outward, nothing, "start" if sewn.whole_at_start else "end")
    moved = new.edge(edge.id)
    end = 0.0 if sewn.whole_at_start else 1.0
    return new.with_edge(replace(moved, tapers=(*moved.tapers, Taper(-outward, end, sewn.share))))


def _reading(piece: Piece, name: str, outward: float, fades: bool) -> str:
    words = "let out" if outward > 0 else "taken in"
    amount = abs(outward)
    both = f"{mm_words(amount)} on each edge, {mm_words(amount * piece.cut_count)} in all"
    fading = ", to nothing at the place named" if fades else ""
    return f"“{name}” of “{piece.name}” {words} {both}{fading}; the cut edge stays"


ALTERATION = Alteration(
    name="sew_seam_at",
    title="Sew this seam at another width",
    region="seams",
    order=90,
    sentence="Sew the seam of {pieces} at {width}; the cut edge stays",
    amounts=SewSeamAt,
    do=do,
    aims_at="edges",
    examples=(
        Example(
            "a neck with a 15.875 mm (5/8 in) allowance sewn at 12.7 mm (1/2 in)",
            "the stitching line lies 3.175 mm further out, the cutting line where it was",
            "subtraction",
        ),
    ),
    describes=__doc__,
)
