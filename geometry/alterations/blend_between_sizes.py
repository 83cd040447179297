"""Blend between two sizes.

When: the body is of one size at the bust and of another at the hip, and the piece carries a nest of sizes.

By hand: follow the line of one size down to a level, mark the other size's line at the next, and draw the seam over
from one to the other between the two: with a batten where the lines are curved, with a ruler where they are straight.
Below, follow the other size's line. Every edge of the seam is drawn the same way, so front and back still sew
together. Only the width is taken from the other size; lengths stay those of the size worked in, and are changed at the
lengthen/shorten line. What earlier notes did to the seam stays done; write all levels of a seam in one note.

Source: drawing over from size to size between levels: common practice, no source. What is done to one piece at a level
is done to every piece joined to it there after The Dressmaker, c. 1911-16. The batten is ours: docs/decisions/0006.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, once_for, size
from geometry.alterations.sew_seam_at import edges_sewn_with
from geometry.alterations.waist_size import bands_offered
from geometry.cutting_lines import largest_part
from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment
from geometry.hand_ways import drawn_anew
from geometry.nests import piece_in
from geometry.notes import Target, point_of
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.seam_levels import BUST, HEM, HIP, WAIST, upright
from geometry.size_blends import PLACE, SeamLine, apart_at, passes, seam_between_sizes
from geometry.stages import Offer, Strip

AS_IT_IS, DRAWN_OVER = "as it is", "drawn over"
LEVELS = (BUST, WAIST, HIP, HEM, PLACE)
_BASIS = "a size of the nest, as it is in the size worked in, or drawn over from the level above to the one below"


@dataclass(frozen=True)
class BlendBetweenSizes:
    bust: str = size("size at the bust", AS_IT_IS, DRAWN_OVER, basis=_BASIS)
    waist: str = size("size at the waist", DRAWN_OVER, AS_IT_IS, basis=_BASIS)
    hip: str = size("size at the hip", AS_IT_IS, DRAWN_OVER, basis=_BASIS)
    hem: str = size("size at the hem", DRAWN_OVER, AS_IT_IS, basis=_BASIS)
    place: str = size("size at the marked place", DRAWN_OVER, AS_IT_IS, basis=_BASIS)


def do(garment: Garment, amounts: BlendBetweenSizes, targets: tuple[Target, ...], note: str) -> Done:
    if not any(is_size(garment, getattr(amounts, level)) for level in LEVELS):
        return Done(garment)
    if not garment.nest:
        raise PatternError(f"“{garment.name}” is drawn in one size only, so there is no other to blend with.")
    before, strips, readings = garment, [], []
    for target in targets:
        edges = _edges(before, target)
        marked = _marked(before, target, amounts)
        for ref in edges:
            piece = garment.piece(ref.piece)
            new, strip = _blended(before, piece, ref.edge, amounts, marked)
            strips.append(strip)
            garment = garment.with_piece(new)
        readings.append(_reading(before, target, amounts, edges, marked))
    offers = (*_sleeves(before, amounts, targets), *_waistbands(before, amounts, targets))
    return Done(garment, strips=tuple(strips), readings=tuple(readings), offers=offers)


def is_size(garment: Garment, value: str) -> bool:
    """Whether a word names another size than the one worked in."""
    return value not in (AS_IT_IS, DRAWN_OVER, garment.size)


def _edges(garment: Garment, target: Target) -> list[EdgeRef]:
    if target.edge is None:
        raise PatternError("Say which edge is meant, as well as the piece.", target.piece)
    plain = Target(target.piece, edge=target.edge)
    return [EdgeRef(one.piece, one.edge) for one in edges_sewn_with(garment, (plain,))]


def _marked(garment: Garment, target: Target, amounts: BlendBetweenSizes) -> float | None:
    """How far above the foot of the seam the marked place lies (mm)."""
    if amounts.place == DRAWN_OVER:
        return None
    piece = garment.piece(target.piece)
    assert target.edge is not None
    if not target.across:
        raise PatternError(f"Mark a place on “{piece.edge(target.edge).name}” of “{piece.name}” first.", piece.id)
    seam = upright(piece, target.edge)
    line = SeamLine(seam, seam.outward)
    return line.height(point_of(piece, target.across[0])) - line.levels["foot"]


def _blended(
    garment: Garment, piece: Piece, edge_id: str, amounts: BlendBetweenSizes, marked: float | None
) -> tuple[Piece, Strip]:
    own = piece_in(garment, garment.size, piece.id)
    sizes = _sizes(garment, piece, edge_id, amounts)

    def make() -> tuple[Piece, Strip]:
        new = seam_between_sizes(piece, edge_id, own, sizes, marked)
        wider = new.polygon.area > piece.polygon.area
        gone = new.polygon.difference(piece.polygon) if wider else piece.polygon.difference(new.polygon)
        return new, Strip(piece.id, largest_part(gone), wider)

    return once_for(piece, (edge_id, own, tuple(sizes.items()), marked), make)


def _sizes(garment: Garment, piece: Piece, edge_id: str, amounts: BlendBetweenSizes) -> Mapping[str, Piece | None]:
    """The piece in the size wanted at each level, None for as it is; what is drawn over is left out.

    “As it is” at a bust or hip that the seam does not pass holds the end of the seam there, unless a size is named.
    """
    seam = upright(piece, edge_id)
    found: dict[str, Piece | None] = {}
    for level in LEVELS:
        value = getattr(amounts, level)
        if value == DRAWN_OVER or (value == AS_IT_IS and not passes(seam, level)):
            continue
        found[level] = piece_in(garment, value, piece.id) if is_size(garment, value) else None
    ends = ((BUST, WAIST, "top"), (HIP, HEM, "foot"))
    for level, beside, end in ends:
        if getattr(amounts, level) == AS_IT_IS and not passes(seam, level) and beside not in found:
            found[end] = None
    return found


def _reading(
    garment: Garment, target: Target, amounts: BlendBetweenSizes, edges: list[EdgeRef], marked: float | None
) -> str:
    piece = garment.piece(target.piece)
    assert target.edge is not None
    count = sum(garment.piece(ref.piece).cut_count for ref in edges)
    own = piece_in(garment, garment.size, piece.id)
    said = []
    for level in LEVELS:
        value = getattr(amounts, level)
        if is_size(garment, value):
            out = apart_at(piece, target.edge, own, piece_in(garment, value, piece.id), level, marked)
            words = "out" if out >= 0 else "in"
            each, whole = mm_words(abs(out)), mm_words(abs(out) * count)
            where = "marked place" if level == PLACE else level
            said.append(f"size {value} at the {where}, {each} further {words} ({whole} in all)")
    return f"“{piece.edge(target.edge).name}” of “{piece.name}” on each of {count} edges: {'; '.join(said)}"


def _sleeves(garment: Garment, amounts: BlendBetweenSizes, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """Another size at the underarm offered to the sleeve that is sewn in there, as it is at the wrist."""
    if not is_size(garment, amounts.bust):
        return ()
    sleeves: dict[str, None] = {}
    for target in targets:
        for ref in _edges(garment, target):
            above = upright(garment.piece(ref.piece), ref.edge).above
            for seam in garment.seams_of(ref.piece, above.id) if above.kind is EdgeKind.ARMHOLE else ():
                caps = [r.piece for r in (*seam.first, *seam.second) if garment.edge(r).kind is EdgeKind.CAP]
                sleeves |= dict.fromkeys(caps)
    edges = tuple(
        Target(piece, edge=edge.id)
        for piece in sleeves
        for edge in garment.piece(piece).edges_of(EdgeKind.UNDERARM)[:1]
    )
    if not edges:
        return ()
    same = BlendBetweenSizes(bust=amounts.bust, hem=AS_IT_IS)
    names = " and ".join(f"“{garment.piece(piece).name}”" for piece in sleeves)
    return (Offer(f"Blend the underarm seam of {names} with it, as it is at the wrist", ALTERATION.name, same, edges),)


def _waistbands(garment: Garment, amounts: BlendBetweenSizes, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """Another size at the waist offered to the waistband that is sewn on there."""
    offers: list[Offer] = []
    for target in targets if is_size(garment, amounts.waist) else ():
        refs = _edges(garment, target)
        if any(garment.edge(ref).kind is not EdgeKind.SIDE for ref in refs):
            continue
        wider = 0.0
        for ref in refs:
            piece = garment.piece(ref.piece)
            own, other = (piece_in(garment, size, piece.id) for size in (garment.size, amounts.waist))
            wider += piece.cut_count * apart_at(piece, ref.edge, own, other, WAIST)
        offers += bands_offered(garment, wider, tuple(Target(p) for p in dict.fromkeys(ref.piece for ref in refs)))
    return tuple(dict.fromkeys(offers))


ALTERATION = Alteration(
    name="blend_between_sizes",
    version=2,
    title="Blend between two sizes",
    region="size",
    order=95,
    sentence=(
        "Blend between sizes along the seam of {pieces}: {bust} at the bust, {waist} at the waist, {hip} at the hip, "
        "{hem} at the hem, {place} at the marked place"
    ),
    amounts=BlendBetweenSizes,
    do=do,
    steps=drawn_anew,
    aims_at="edges",
    examples=(
        Example(
            "size 14 at the bust and 16 at the hip, 38 and 40 in, the same ease in both, front and back on the fold",
            "a quarter of 2 in, 12.7 mm, further out on each edge at the hip and below; nothing at the bust and above",
            "published envelope table, misses, and division",
        ),
    ),
    describes=__doc__,
)
