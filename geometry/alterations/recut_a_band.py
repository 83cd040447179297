"""Recut a band.

When: a note made the edge longer or shorter that a neckband, a waistband or a cuff is sewn to.

By hand: measure the edge from notch to notch, at a seam to the seam; take each measure times what the band is
stretched on by, or less the ease it is sewn on with; and slash the band straight across between the same notches and
spread it, or fold it out, until it measures that. The fold, the ends and the width stay, and the notches meet theirs
again.

Source: what is done to one piece at a level is done to every piece joined to it there: The Dressmaker, c. 1911-16. The
band's length as a share of its edge: multiplication. Where it is slashed: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, once_for, piece_by_piece
from geometry.bands import STRIP_DEG, BandPart, allowed_either_way, band_seam, is_strip, mates_of, parts_asked
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.memory import Recall, computed_anew
from geometry.motions import Point
from geometry.notes import Target, edge_run_length, place_at
from geometry.pieces import Edge, EdgeKind, Piece
from geometry.readings import mm_words
from geometry.slashes import slashed, staying
from geometry.stages import Offer, Step, Strip
from geometry.tolerances import TRUE_MM

LONGER, SHORTER = "longer", "shorter"
AS_ASKED, AS_IT_IS = "its seam asks", "it is"
#: A part of a band that would change by less than this stays as it is (mm).
_LEAST_MM = 0.02
#: Paper left at least between a fold across and the notches beside it (mm).
_LEFT_MM = 1.0


@dataclass(frozen=True)
class RecutABand:
    amount: float = mm(
        "amount",
        0.0,
        0.0,
        400.0,
        main=True,
        basis="along the band, on each piece",
        called="{way} than {than}: {amount}",
    )
    way: str = choice("longer or shorter", LONGER, SHORTER)
    than: str = choice("than what", AS_ASKED, AS_IT_IS)


def do(garment: Garment, amounts: RecutABand, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        by = amount if amounts.way == LONGER else -amount
        parts = _parts(garment, piece, amounts.than, by)
        made: PieceDone = once_for(piece, parts, lambda: _recut(piece, parts, note))
        return made

    return piece_by_piece(garment, targets, one)


def offered(
    traced: Garment, now: Garment, steps: Iterable[Step], recall: Recall = computed_anew
) -> dict[str, tuple[Offer, ...]]:
    """Bands to be recut, by the id of the note that last changed the length of the edge that they are sewn to.

    A band that was traced longer or shorter than its seam asks, within what is allowed, stays so by as much.
    """
    done = [step for step in steps if step.done]
    found: dict[str, tuple[Offer, ...]] = {}
    for band in traced.pieces:
        edges = band.edges_of(EdgeKind.BAND)
        if not edges:
            continue
        sewn = (seam for edge in edges for seam in now.seams_of(band.id, edge.id))
        beside = dict.fromkeys(ref.piece for seam in sewn for ref in (*seam.first, *seam.second))
        read = (traced, now.seams, now.piece(band.id), *(now.piece(piece) for piece in beside))
        offer = recall("offer of a band", read, band.id, lambda band=band: _offer(traced, now, band.id))  # type: ignore[misc]
        if offer is None:
            continue
        last = next((step for step in reversed(done) if _changes_the_edge(step, band.id)), None)
        if last is not None:
            found[last.note.id] = (*found.get(last.note.id, ()), offer)
    return found


def _changes_the_edge(step: Step, band: str) -> bool:
    found = band_seam(step.before, band)
    mates = mates_of(*found) if found is not None else ()
    if all(step.before.piece(ref.piece) is step.after.piece(ref.piece) for ref in mates):
        return False
    before, after = ([edge_run_length(garment.edge(ref)) for ref in mates] for garment in (step.before, step.after))
    return any(abs(a - b) > _LEAST_MM for a, b in zip(after, before, strict=True))


def _offer(traced: Garment, now: Garment, band: str) -> Offer | None:
    """The band's own note where it no longer fits its seam as it was traced to; None where it does or is no strip."""
    found = band_seam(traced, band)
    if found is None:
        return None
    seam, mine = found
    if all(traced.piece(ref.piece) is now.piece(ref.piece) for ref in (*seam.first, *seam.second)):
        return None
    was, parts = parts_asked(traced, band), parts_asked(now, band)
    if not all(is_strip(now.piece(band), part.edge) for part in parts):
        return None
    extra = -sum(part.change for part in was)
    if abs(extra) < TRUE_MM / 10 or abs(extra) > allowed_either_way(seam) + TRUE_MM:
        extra = 0.0
    extra = round(extra, 2)
    changes = [part.change for part in _shared(parts, extra)]
    whole, room = sum(changes), allowed_either_way(seam)
    # Where ease is allowed the notches may share it as they like; where none is they have to meet as they did.
    moved = [new.change - old.change for new, old in zip(parts, was, strict=False)]
    met = room > 0 or max(map(abs, moved)) <= TRUE_MM or max(map(abs, changes)) <= TRUE_MM
    if met and abs(whole - extra) <= room + TRUE_MM:
        return None
    piece, length = now.piece(band), sum(part.length for part in parts)
    edges = " and ".join(dict.fromkeys(now.edge(ref).name for ref in mates_of(seam, mine)))
    says = f"Recut “{piece.name}” to its {edges}: {mm_words(length)} becomes {mm_words(length + whole)}"
    amounts = RecutABand(abs(extra), LONGER if extra >= 0 else SHORTER)
    return Offer(says, ALTERATION.name, amounts, (Target(band),))


def _parts(garment: Garment, piece: Piece, than: str, by: float) -> tuple[BandPart, ...]:
    """The parts of a band with the changes that a note makes of them."""
    if than == AS_ASKED:
        return _shared(parts_asked(garment, piece.id), by)
    if by == 0:
        return ()
    if band_seam(garment, piece.id) is not None:
        parts = parts_asked(garment, piece.id)
        return _shared(parts, by - sum(part.change for part in parts))
    edges = piece.edges_of(EdgeKind.BAND)
    if not edges:
        raise PatternError(f"“{piece.name}” has no band edge; choose another piece.", piece.id)
    return (BandPart(piece.id, edges[0].id, 0.0, edge_run_length(edges[0]), by),)


def _shared(parts: tuple[BandPart, ...], by: float) -> tuple[BandPart, ...]:
    """The parts with ``by`` mm more shared over them by their lengths."""
    whole = sum(part.length for part in parts)
    return tuple(
        BandPart(p.piece, p.edge, p.low, p.high, p.change + by * p.length / whole) for p in parts
    )


def _recut(piece: Piece, parts: tuple[BandPart, ...], note: str) -> PieceDone:
    before, after = (sum(part.length + part.change * new for part in parts) for new in (0, 1))
    if not parts:
        return PieceDone(piece)
    if all(abs(part.change) < _LEAST_MM for part in parts):
        return PieceDone(piece, readings=(f"“{piece.name}” is {mm_words(before)} long, as it should be",))
    new, strips, findings = piece, list[Strip](), list[Finding]()
    # From the far end of each edge, so that what is still to be cut keeps its place.
    for part in sorted(parts, key=lambda part: part.low, reverse=True):
        if abs(part.change) < _LEAST_MM:
            continue
        if part.change < 0 and -part.change > part.length - 2 * _LEFT_MM:
            raise PatternError(
                f"{mm_words(-part.change)} is too much to take out of “{piece.name}” where it measures "
                f"{mm_words(part.length)} between two of its notches.",
                piece.id,
                part.edge,
            )
        line = _across(new, part)
        done = slashed(new, *line, part.change, note, staying(new), None)
        new = done.moved.piece
        strips.append(Strip(piece.id, done.strip, part.change > 0, abs(part.change)))
        findings.extend(done.moved.findings)
    words = f"“{piece.name}” goes from {mm_words(before)} to {mm_words(after)}"
    if piece.cut_count > 1:
        words += f", in all from {mm_words(before * piece.cut_count)} to {mm_words(after * piece.cut_count)}"
    return PieceDone(new, tuple(findings), tuple(strips), (words,))


def _across(piece: Piece, part: BandPart) -> tuple[Point, Point]:
    """A line straight across the strip: in the middle of the part, what is folded out lying on both sides of it."""
    edge = piece.edge(part.edge)
    if not is_strip(piece, edge.id):
        raise _no_strip(piece, edge)
    along = (part.low + part.high) / 2
    x, y = edge.chain.start_tangent
    if part.change < 0:
        stays = staying(piece)
        middle = piece.point_at(place_at(edge, along))
        ahead = (stays[0] - middle[0]) * x + (stays[1] - middle[1]) * y > 0
        along += part.change / 2 * (-1 if ahead else 1)
    start = piece.point_at(place_at(edge, along))
    inward = (-y, x)
    found: list[tuple[float, Edge, Point]] = []
    for other in piece.edges:
        for u in other.chain.crossings(start, inward) if other.id != edge.id else ():
            point = other.chain.point(u)
            away = (point[0] - start[0]) * inward[0] + (point[1] - start[1]) * inward[1]
            if away > 1.0:
                found.append((away, other, point))
    if not found:
        raise _no_strip(piece, edge)
    _, other, point = min(found, key=lambda one: one[0])
    ux, uy = other.chain.tangent(other.chain.nearest(point)[0])
    if not is_strip(piece, other.id) or abs(ux * inward[0] + uy * inward[1]) > math.sin(math.radians(STRIP_DEG)):
        raise _no_strip(piece, edge)
    return start, point


def _no_strip(piece: Piece, edge: Edge) -> PatternError:
    return PatternError(
        f"“{piece.name}” is no straight strip beside its {edge.name}; slash and spread it, or draw it anew.",
        piece.id,
        edge.id,
        edge.start,
    )


ALTERATION = Alteration(
    name="recut_a_band",
    title="Recut a band",
    region="band",
    order=89,
    sentence="Recut {pieces}: {amount} {way} than {than}",
    amounts=RecutABand,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "a neckline that goes from 400 to 420 mm, its band stretched on at 0.85",
            "the band goes from 340 to 357 mm",
            "multiplication",
        ),
        Example(
            "a waist 25.4 mm (1 in) larger round the body, its waistband on the fold eased on as before",
            "the half band 12.7 mm longer",
            "division",
        ),
    ),
    describes=__doc__,
)
