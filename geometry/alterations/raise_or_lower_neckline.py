"""Raise or lower the neckline.

By hand: mark the new height on the centre and draw the neckline anew from there to the shoulder, square to the
centre where it was square and in the old direction at the shoulder. What is joined there changes with it: a facing
by the same amount, its width kept; a band by the neckline's own difference, less where it is stretched on.

Source: what is done to one piece at a level is done to every piece joined to it there after The Dressmaker,
c. 1911-16. The way of drawing: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.shorten_or_lengthen import AWAY, LENGTHEN, SHORTEN, ShortenOrLengthen
from geometry.cutting_lines import largest_part
from geometry.garments import EdgeRef, Garment, Seam, StretchKind
from geometry.necklines import named, neckline_of, neckline_raised, necks_that_copy
from geometry.notes import Address, Target, length_at
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.stages import Offer, Strip

RAISE, LOWER = "raise", "lower"
#: A band is changed clear of its notches by this much (mm).
_CLEAR_MM = 2.0


@dataclass(frozen=True)
class RaiseOrLowerNeckline:
    way: str = choice("raise or lower", RAISE, LOWER)
    amount: float = mm("amount", 10.0, 0.0, 200.0, main=True, basis="along the centre of each piece")


def do(garment: Garment, amounts: RaiseOrLowerNeckline, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == RAISE else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        new = neckline_raised(piece, sign * amount)
        words = "raises" if sign > 0 else "lowers"
        reading = f"{words} the neckline by {mm_words(amount)} at the centre; {neck_reading(piece, new)}"
        return PieceDone(new, (), (strip_of(piece, new, sign > 0),), (reading,))

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment:
        return done
    facings = necks_that_copy(garment, targets)
    offers = [Offer(f"Do the same to {named(garment, facings)}", ALTERATION.name, amounts, facings)] if facings else []
    changes = {target.piece: change_of_neck(garment, done.garment, target.piece) for target in targets}
    return replace(done, offers=(*offers, *band_offers(garment, changes)))


def neck_reading(before: Piece, after: Piece) -> str:
    """The neckline of a piece before and after, on the piece and in all."""
    neck = neckline_of(before).edge
    old, new, count = neck.length, after.edge(neck.id).length, before.cut_count
    return (
        f"the neckline of “{before.name}” goes from {mm_words(old)} to {mm_words(new)}, "
        f"in all from {mm_words(old * count)} to {mm_words(new * count)}"
    )


def strip_of(before: Piece, after: Piece, added: bool) -> Strip:
    """What was added to a piece or taken off it, for hatching."""
    shape = after.polygon.difference(before.polygon) if added else before.polygon.difference(after.polygon)
    return Strip(before.id, largest_part(shape), added)


def change_of_neck(before: Garment, after: Garment, piece_id: str) -> float:
    """How much longer the neckline of a piece became (mm)."""
    neck = neckline_of(before.piece(piece_id)).edge.id
    return after.piece(piece_id).edge(neck).length - before.piece(piece_id).edge(neck).length


def band_offers(garment: Garment, changes: dict[str, float]) -> tuple[Offer, ...]:
    """Straight bands sewn to changed necklines, offered longer or shorter where they lie against the change.

    ``changes`` says by how many mm the neckline of each piece became longer.
    """
    offers = []
    for piece_id, change in changes.items():
        neck = neckline_of(garment.piece(piece_id)).edge
        for seam in garment.seams_of(piece_id, neck.id):
            offer = _band_offer(garment, seam, EdgeRef(piece_id, neck.id), change)
            if offer is not None:
                offers.append(offer)
    return tuple(offers)


def _band_offer(garment: Garment, seam: Seam, neck: EdgeRef, change: float) -> Offer | None:
    sides = (seam.first, seam.second)
    mine = next(i for i in (0, 1) if any((r.piece, r.edge) == (neck.piece, neck.edge) for r in sides[i]))
    others = sides[1 - mine]
    if len(others) != 1 or garment.edge(others[0]).kind is not EdgeKind.BAND:
        return None
    band, ref = garment.piece(others[0].piece), others[0]
    outer = band.edge(ref.edge)
    inner = next((edge for edge in band.edges_of(EdgeKind.BAND) if edge.id != outer.id), None)
    if inner is None or not (outer.chain.is_straight and inner.chain.is_straight):
        return None
    ratios = [stretch.ratio for stretch in seam.stretches if stretch.kind is StretchKind.STRETCHED and stretch.ratio]
    ratio = sum(ratios) / len(ratios) if ratios else 1.0
    amount = round(abs(change) * (ratio if mine == 0 else 1 / ratio), 1)
    if amount == 0:
        return None
    along = _place_on_band(garment, sides[mine], neck, band, ref, amount)
    first, last = ("end", "start") if ref.backwards else ("start", "end")
    target = Target(band.id, across=(Address(outer.id, first, length=along), Address(inner.id, last, length=along)))
    way = LENGTHEN if change > 0 else SHORTEN
    changed = ShortenOrLengthen(way, amount, "line drawn across", AWAY)
    of = garment.piece(neck.piece).name
    says = f"{way.capitalize()} “{band.name}” by {mm_words(amount)} against the neckline of “{of}”"
    return Offer(says, "shorten_or_lengthen", changed, (target,))


def _place_on_band(
    garment: Garment, side: tuple[EdgeRef, ...], neck: EdgeRef, band: Piece, ref: EdgeRef, amount: float
) -> float:
    """How far along the band the middle of a neckline lies, clear of the band's notches (mm, one decimal)."""
    before = whole = length = 0.0
    for one in side:
        size = garment.edge(one).length
        if (one.piece, one.edge) == (neck.piece, neck.edge):
            before, length = whole, size
        whole += size
    edge = band.edge(ref.edge)
    notches = [length_at(edge, notch.place) for notch in band.notches if notch.place.edge == edge.id]
    notches = [edge.length - at if ref.backwards else at for at in notches]
    places = [edge.length * (before + share * length) / whole for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.25, 0.75)]
    clear = [p for p in places if all(abs(p - at) > amount + _CLEAR_MM for at in notches)]
    return round((clear or places)[0], 1)


ALTERATION = Alteration(
    name="raise_or_lower_neckline",
    title="Raise or lower the neckline",
    region="neckline",
    order=34,
    sentence="{way} the neckline of {pieces} by {amount} at the centre",
    amounts=RaiseOrLowerNeckline,
    do=do,
    examples=(
        Example(
            "a neckline a quarter of an ellipse 70 mm wide and 70 mm deep, lowered by 30 mm",
            "an ellipse 70 mm wide and 100 mm deep, still square to the centre and upright at the shoulder",
            "geometry, worked by hand",
        ),
        Example(
            "a band stretched on at 0.86, the half neckline 10 mm shorter",
            "the half band 8.6 mm shorter",
            "multiplication",
        ),
    ),
    describes=__doc__,
)
