"""Sew this seam at another width.

When: after basting, the cut cloth shows that a seam is better sewn nearer to its edge or farther from it.

By hand: after basting, the seam is sewn nearer to the cut edge or farther from it. The paper and the cloth stay
as they are cut; the stitching line moves by the difference, in every edge of the seam, band and facing included,
or to nothing at a named point. Not to be confused with a new allowance width, where the stitching line stays.

Source: common practice, no source. Let out no further than 6 mm short of the cut edge: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, mm, once_for
from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment, Seam
from geometry.hand_seams import sewn_elsewhere
from geometry.joints import STEP_DEG, turn_deg
from geometry.notes import Target, edge_run_length, length_at, place_of
from geometry.offsets import Fade, offset_edges
from geometry.pieces import Edge, Piece, Taper, neighbours
from geometry.readings import mm_words
from geometry.stages import Offer
from geometry.tolerances import LEAST_ALLOWANCE_MM, MEET_MM


@dataclass(frozen=True)
class SewSeamAt:
    width: float = mm("seam width", 12.0, 0.0, 60.0, main=True, basis="from the cut edge, on every edge of the seam")


@dataclass(frozen=True)
class _Sewn:
    """An edge of the seam; ``fade`` where the change runs to nothing, in mm from the edge's start."""

    piece: str
    edge: str
    target: Target
    fade: Fade | None = None


def do(garment: Garment, amounts: SewSeamAt, targets: tuple[Target, ...], note: str) -> Done:
    sewn = edges_sewn_with(garment, targets)
    changes = {(one.piece, one.edge): _outward(garment, amounts, one) for one in sewn}
    wanted = [one for one in sewn if changes[one.piece, one.edge] != 0]
    readings: list[str] = []
    for group in _smooth_groups(garment, wanted, changes):
        piece = garment.piece(group[0].piece)
        outward = changes[piece.id, group[0].edge]
        garment = garment.with_piece(_sewn_at(garment, piece, group, outward))
        readings += [_reading(piece, piece.edge(one.edge).name, outward, one.fade is not None) for one in group]
    if not wanted:
        return Done(garment)
    return Done(garment, readings=tuple(readings), offers=_joined_on(garment, amounts, sewn))


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


def _outward(garment: Garment, amounts: SewSeamAt, sewn: _Sewn) -> float:
    """How far the stitching line moves out (mm). Raises PatternError where it would come too near the cut edge."""
    piece = garment.piece(sewn.piece)
    edge = piece.edge(sewn.edge)
    width = amounts.width if sewn.target.amount is None else sewn.target.amount
    outward = garment.width(edge) - width
    if outward > 0 and width < LEAST_ALLOWANCE_MM:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” can be let out no further than {mm_words(LEAST_ALLOWANCE_MM)} short "
            f"of the cut edge; {mm_words(width)} is too narrow.",
            piece.id,
            edge.id,
            edge.start,
        )
    return outward


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
    along = length_at(edge, place_of(garment.piece(target.piece), address))
    if not seams:
        length = edge_run_length(edge)
        return [_Sewn(target.piece, edge.id, target, Fade(along, 0.0 if along >= length / 2 - MEET_MM else length))]
    return [one for seam in seams for one in _part_of_seam(garment, seam, target, along)]


def _part_of_seam(garment: Garment, seam: Seam, target: Target, along: float) -> list[_Sewn]:
    """The edges of a seam that change, at the same shares of both sides.

    The change is nothing at the place named, whole at the further end of the edge named, and goes on whole from
    there to the end of the seam.
    """
    here = (target.piece, target.edge)
    own = seam.first if any((ref.piece, ref.edge) == here for ref in seam.first) else seam.second
    at = full = before = 0.0
    for ref in own:
        length = edge_run_length(garment.edge(ref))
        if (ref.piece, ref.edge) == here:
            at = before + (length - along if ref.backwards else along)
            # A place halfway, to a rounding error, leaves the edge's start as the end that moves whole.
            whole_at_start = along >= length / 2 - MEET_MM
            full = before if whole_at_start != ref.backwards else before + length
        before += length
    return [
        sewn
        for side in (seam.first, seam.second)
        for sewn in _part_of_side(garment, side, target, at / before, full / before)
    ]


def _part_of_side(
    garment: Garment, side: tuple[EdgeRef, ...], target: Target, nothing_share: float, whole_share: float
) -> list[_Sewn]:
    total = sum(edge_run_length(garment.edge(ref)) for ref in side)
    begun, found = 0.0, []
    for ref in side:
        length = edge_run_length(garment.edge(ref))
        nothing, whole = nothing_share * total - begun, whole_share * total - begun
        begun += length
        if ref.backwards:
            nothing, whole = length - nothing, length - whole
        fade = Fade(nothing, whole)
        parts = (fade.part(0.0), fade.part(length))
        if max(parts) > 1e-9:
            found.append(_Sewn(ref.piece, ref.edge, target, None if min(parts) > 1 - 1e-9 else fade))
    return found


def _copied(garment: Garment, piece_id: str, edge_id: str, like: _Sewn) -> _Sewn:
    """A facing's edge changes as the edge that it copies; which way round it runs is told by the nearer ends."""
    if like.fade is None:
        return _Sewn(piece_id, edge_id, like.target)
    edge, of = garment.piece(piece_id).edge(edge_id), garment.piece(like.piece).edge(like.edge)
    length = edge_run_length(edge)
    scale = length / edge_run_length(of)
    nothing, whole = like.fade.nothing * scale, like.fade.whole * scale
    if math.dist(edge.start, of.start) > math.dist(edge.start, of.end):
        nothing, whole = length - nothing, length - whole
    return _Sewn(piece_id, edge_id, like.target, Fade(nothing, whole))


def _smooth_groups(garment: Garment, sewn: list[_Sewn], changes: dict[tuple[str, str], float]) -> list[list[_Sewn]]:
    """The edges in groups that run on smoothly into each other on their piece and move alike, in outline order."""
    by_edge = {(one.piece, one.edge): one for one in sewn}
    groups: list[list[_Sewn]] = []
    for piece_id in dict.fromkeys(one.piece for one in sewn):
        piece = garment.piece(piece_id)
        current: list[_Sewn] = []
        for edge in piece.edges:
            one = by_edge.get((piece_id, edge.id))
            if one is None:
                continue
            if current and _runs_on_alike(piece, current[-1], one, changes):
                current.append(one)
            else:
                current = [one]
                groups.append(current)
    return groups


def _runs_on_alike(piece: Piece, before: _Sewn, after: _Sewn, changes: dict[tuple[str, str], float]) -> bool:
    first, second = piece.edge(before.edge), piece.edge(after.edge)
    if math.dist(first.end, second.start) > MEET_MM:
        return False
    alike = changes[piece.id, first.id] == changes[piece.id, second.id]
    return alike and abs(turn_deg(first.chain.end_tangent, second.chain.start_tangent)) < STEP_DEG


def _sewn_at(garment: Garment, piece: Piece, group: list[_Sewn], outward: float) -> Piece:
    how = (tuple(group), outward, tuple(garment.width(piece.edge(one.edge)) for one in group))
    return once_for(piece, how, lambda: _sewn_anew(garment, piece, group, outward))


def _sewn_anew(garment: Garment, piece: Piece, group: list[_Sewn], outward: float) -> Piece:
    new = offset_edges(piece, [one.edge for one in group], outward, _fade_of(piece, group))
    for one in group:
        edge = new.edge(one.edge)
        if one.fade is None:
            new = new.with_edge(replace(edge, width=garment.width(piece.edge(one.edge)) - outward))
        else:
            length = edge_run_length(piece.edge(one.edge))
            taper = Taper(-outward, one.fade.whole / length, one.fade.nothing / length)
            new = new.with_edge(replace(edge, tapers=(*edge.tapers, taper)))
    return new


def _fade_of(piece: Piece, group: list[_Sewn]) -> Fade | None:
    """The fade of edges moved as one line, counted from the start of the first of them."""
    begun = 0.0
    for one in group:
        if one.fade is not None:
            return Fade(one.fade.nothing + begun, one.fade.whole + begun)
        begun += edge_run_length(piece.edge(one.edge))
    return None


def on_cut(garment: Garment, amounts: SewSeamAt, targets: tuple[Target, ...], note: str) -> Done:
    """What the note does to the line that is cut along: nothing, but a later allowance is measured from the seam."""
    for sewn in edges_sewn_with(garment, targets):
        piece = garment.piece(sewn.piece)
        edge = piece.edge(sewn.edge)
        out = edge.sewn_out or 0.0
        now = garment.width(edge) - out
        width = amounts.width if sewn.target.amount is None else sewn.target.amount
        if sewn.fade is None and now != width:
            garment = garment.with_piece(piece.with_edge(replace(edge, sewn_out=out + now - width)))
    return Done(garment)


def _joined_on(garment: Garment, amounts: SewSeamAt, sewn: list[_Sewn]) -> tuple[Offer, ...]:
    """The same offered for the edges that these run on into across another seam, as a front neck into the back's."""
    done = {(one.piece, one.edge) for one in sewn}
    offers: list[Offer] = []
    for one in (one for one in sewn if one.fade is None):
        for piece_id, edge in _run_on_into(garment, one):
            if (piece_id, edge.id) in done:
                continue
            done |= {(ref.piece, ref.edge) for seam in garment.seams_of(piece_id, edge.id) for ref in _refs(seam)}
            name = f"“{edge.name}” of “{garment.piece(piece_id).name}”"
            says = f"Sew {name} at {mm_words(amounts.width)} as well"
            offers.append(Offer(says, "sew_seam_at", amounts, (Target(piece_id, edge=edge.id),)))
    return tuple(offers)


def _run_on_into(garment: Garment, sewn: _Sewn) -> Iterator[tuple[str, Edge]]:
    """Edges of the same kind that meet this one at either end of a seam beside it, by piece."""
    kind = garment.piece(sewn.piece).edge(sewn.edge).kind
    for beside in neighbours(garment.piece(sewn.piece), sewn.edge):
        for seam in garment.seams_of(sewn.piece, beside.id):
            for ref in _refs(seam):
                for other in neighbours(garment.piece(ref.piece), ref.edge):
                    if other.kind is kind and not other.on_fold:
                        yield ref.piece, other


def _refs(seam: Seam) -> tuple[EdgeRef, ...]:
    return (*seam.first, *seam.second)


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
    steps=sewn_elsewhere,
    on_cut=on_cut,
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
