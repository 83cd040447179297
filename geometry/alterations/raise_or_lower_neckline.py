"""Raise or lower the neckline.

When: the neckline chokes or is wanted lower, or lies lower than is wanted.

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
from geometry.hand_ways import drawn_anew
from geometry.necklines import named, neckline_of, neckline_raised, necks_that_copy
from geometry.notes import Address, Target, edge_run_length, length_at
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.stages import Offer, Strip

RAISE, LOWER = "raise", "lower"
#: A stretch of a band that would change by less than this stays as it is (mm).
_LEAST_MM = 0.05


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
    return replace(done, offers=(*offers, *band_offers(garment, done.garment, targets)))


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


def band_offers(before: Garment, after: Garment, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """Straight bands sewn to necklines that changed, offered longer or shorter between the same notches."""
    seams = {
        seam.id: seam
        for target in targets
        for seam in before.seams_of(target.piece, neckline_of(before.piece(target.piece)).edge.id)
    }
    return tuple(offer for seam in seams.values() for offer in _band_offers(before, after, seam, targets))


def _band_offers(before: Garment, after: Garment, seam: Seam, targets: tuple[Target, ...]) -> list[Offer]:
    changed = {target.piece for target in targets}
    mine = 0 if any(ref.piece in changed for ref in seam.first) else 1
    side, others = (seam.first, seam.second) if mine == 0 else (seam.second, seam.first)
    if len(others) != 1 or before.edge(others[0]).kind is not EdgeKind.BAND:
        return []
    ref, band = others[0], before.piece(others[0].piece)
    outer = band.edge(ref.edge)
    inner = next((edge for edge in band.edges_of(EdgeKind.BAND) if edge.id != outer.id), None)
    if inner is None or not (outer.chain.is_straight and inner.chain.is_straight):
        return []
    old, new = (_stations(garment, seam, side, mine) for garment in (before, after))
    on_band = _stations(before, seam, others, 1 - mine)
    first, last = ("end", "start") if ref.backwards else ("start", "end")
    found: dict[str, list[Target]] = {LENGTHEN: [], SHORTEN: []}
    for i in reversed(range(len(old) - 1)):
        stretch = seam.stretches[i if len(seam.stretches) > 1 else 0]
        ratio = stretch.ratio if stretch.kind is StretchKind.STRETCHED and stretch.ratio else 1.0
        change = ((new[i + 1] - new[i]) - (old[i + 1] - old[i])) * (ratio if mine == 0 else 1 / ratio)
        if abs(change) < _LEAST_MM:
            continue
        along = round((on_band[i] + on_band[i + 1]) / 2, 1)
        across = (Address(outer.id, first, length=along), Address(inner.id, last, length=along))
        found[LENGTHEN if change > 0 else SHORTEN].append(Target(band.id, across=across, amount=round(abs(change), 2)))
    offers = []
    for way, places in found.items():
        if places:
            whole = sum(target.amount or 0.0 for target in places)
            says = f"{way.capitalize()} “{band.name}” by {mm_words(whole)} against the neckline"
            amounts = ShortenOrLengthen(way, round(whole, 2), "line drawn across", AWAY)
            offers.append(Offer(says, "shorten_or_lengthen", amounts, tuple(places)))
    return offers


def _stations(garment: Garment, seam: Seam, side: tuple[EdgeRef, ...], which: int) -> list[float]:
    """Where one side of a seam begins, its matched notches stand, and it ends (mm of sewn length)."""
    wanted = {(m.first_piece, m.first) if which == 0 else (m.second_piece, m.second) for m in seam.matches}
    found, before = [0.0], 0.0
    for ref in side:
        piece, edge = garment.piece(ref.piece), garment.edge(ref)
        length = edge_run_length(edge)
        for notch in piece.notches:
            if notch.place.edge == edge.id and (piece.id, notch.id) in wanted:
                at = length_at(edge, notch.place)
                found.append(before + (length - at if ref.backwards else at))
        before += length
    return sorted([*found, before])


ALTERATION = Alteration(
    name="raise_or_lower_neckline",
    title="Raise or lower the neckline",
    region="neckline",
    order=34,
    sentence="{way} the neckline of {pieces} by {amount} at the centre",
    amounts=RaiseOrLowerNeckline,
    do=do,
    steps=drawn_anew,
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
