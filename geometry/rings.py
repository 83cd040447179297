"""Rings that a part of the body passes: neck, waist and wrist, followed from edge to edge across the seams.

A ring goes on over a fold and over a seam into what is sewn there. It is closed where it comes back to its start,
open where an edge is sewn to nothing (or to its facing alone). A band that closes the ring is a ring of its own.

Stretch in percent is (stretched - rest) / rest x 100, measured along the ring (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from geometry.closures import ROOM, USUAL_GIRTHS, USUAL_STRETCH, Girth, Opening, stretched
from geometry.garments import EdgeRef, Garment, Seam
from geometry.notes import edge_run_length, length_at
from geometry.pieces import Cloth, Edge, EdgeKind, Line, LineKind, Piece

#: Two places along both sides of a seam further apart than this (mm) are not one corner.
_SAME_CORNER_MM = 15.0
#: A turn line runs beside an edge where both of its ends lie on the edge's neighbours, within this (mm).
_ON_EDGE_MM = 1.0


class RingKind(StrEnum):
    """What a ring goes round."""

    NECK = "neck"
    WAIST = "waist"
    WRIST = "wrist"


PASSES = {RingKind.NECK: Girth.HEAD, RingKind.WAIST: Girth.HIP, RingKind.WRIST: Girth.HAND}


@dataclass(frozen=True)
class Passage:
    """A closed ring and what has to pass it (mm). ``piece`` names the piece that it is told of.

    ``rest_mm`` is the ring as sewn, ``stretch`` what its cloth gives in percent (the mean over its pieces),
    ``slit_mm`` both sides of an opening that ends before the girth is through, ``girth_mm`` the body's and
    ``room_mm`` what is wanted beside it. ``assumed`` says which numbers the garment does not name. ``of`` is a piece of
    the ring itself where a band that closes it is tighter, and is told of.
    """

    kind: RingKind
    piece: str
    edges: tuple[tuple[str, str], ...]
    rest_mm: float
    stretch: float
    slit_mm: float
    girth: Girth
    girth_mm: float
    room_mm: float
    assumed: tuple[str, ...] = ()
    of: str = ""

    @property
    def key(self) -> str:
        """What it is called, whichever of ring and band is the tighter."""
        return f"ring:{self.kind}:{self.of}"

    @property
    def opens_mm(self) -> float:
        return stretched(self.rest_mm, self.stretch) + self.slit_mm

    @property
    def needs_mm(self) -> float:
        return self.girth_mm + self.room_mm

    @property
    def passes(self) -> bool:
        return round(self.opens_mm, 3) >= round(self.needs_mm, 3)


@dataclass(frozen=True)
class _Part:
    """One edge of a ring: followed ``forward`` in outline order or against it, on the piece or its mirror image."""

    piece: str
    edge: str
    forward: bool
    mirrored: bool = False


@dataclass(frozen=True)
class _Ring:
    parts: tuple[_Part, ...]
    slit_mm: float


def passages(garment: Garment) -> tuple[Passage, ...]:
    """Every closed ring of the garment, the tightest of neckline and band for each; open rings are left out."""
    found: list[Passage] = []
    for kind in RingKind:
        seen: set[tuple[str, str]] = set()
        for piece, edge in _starts(garment, kind):
            if (piece, edge) in seen:
                continue
            ring = _followed(garment, _Part(piece, edge, True), _kinds(garment, kind, piece))
            if ring is None:
                continue
            seen |= {(part.piece, part.edge) for part in ring.parts}
            rings = [_passage(garment, kind, one) for one in (ring, *_bands(garment, ring))]
            found.append(replace(min(rings, key=lambda one: one.opens_mm), of=ring.parts[0].piece))
    return tuple(found)


def stretch_of(garment: Garment, cloth: Cloth) -> tuple[float, bool]:
    """The usable stretch of a cloth in percent, and whether the garment names it."""
    if cloth in garment.stretch:
        return garment.stretch[cloth], True
    return (USUAL_STRETCH, False) if garment.knit else (0.0, True)


def girth_of(garment: Garment, girth: Girth) -> tuple[float, bool]:
    """A girth of the body (mm), and whether the garment names it; its table of sizes names the hip."""
    if girth in garment.girths:
        return garment.girths[girth], True
    if girth is Girth.HIP and garment.size_table is not None:
        of_size = garment.size_table.girths.get(garment.size)
        if of_size is not None and of_size.hip is not None:
            return of_size.hip, True
    return USUAL_GIRTHS[girth], False


def copies_of(garment: Garment, piece_id: str, edge_id: str) -> tuple[Piece, ...]:
    """The facings and linings that copy an edge."""
    return tuple(p for p in garment.pieces if any((c.piece, c.of_edge) == (piece_id, edge_id) for c in p.copies))


def _starts(garment: Garment, kind: RingKind) -> Iterator[tuple[str, str]]:
    """The edges at which a ring of a kind may begin: none of a facing, a lining or a band."""
    for piece in garment.pieces:
        if not piece.copies and piece.edges_of(EdgeKind.BAND) == ():
            for edge in piece.edges:
                if edge.kind in _kinds(garment, kind, piece.id):
                    yield piece.id, edge.id


def _kinds(garment: Garment, kind: RingKind, piece_id: str) -> frozenset[EdgeKind]:
    """The kinds of edges of a piece that such a ring is made of."""
    piece = garment.piece(piece_id)
    upper = any(piece.edges_of(one) for one in (EdgeKind.NECKLINE, EdgeKind.SHOULDER, EdgeKind.ARMHOLE))
    if kind is RingKind.NECK:
        # A grown-on facing ends the neck of a piece that has no neckline of its own.
        return frozenset({EdgeKind.NECKLINE} if piece.edges_of(EdgeKind.NECKLINE) or not upper else {EdgeKind.FACING})
    if kind is RingKind.WAIST:
        return frozenset() if upper or piece.edges_of(EdgeKind.CAP) else frozenset({EdgeKind.WAIST})
    if not piece.edges_of(EdgeKind.CAP):
        return frozenset({EdgeKind.WRIST})
    return frozenset({EdgeKind.WRIST, EdgeKind.HEM})


def _followed(garment: Garment, start: _Part, kinds: Collection[EdgeKind]) -> _Ring | None:
    """The ring from an edge on, None where it does not close."""
    parts, slit, now = [start], 0.0, start
    while len(parts) <= 4 * len(garment.pieces) + 4:
        step = _next(garment, now)
        if step is None:
            return None
        now, longer = step
        slit += longer
        if now == start:
            return _Ring(tuple(parts), slit)
        if now in parts or garment.piece(now.piece).edge(now.edge).kind not in kinds:
            return None
        parts.append(now)
    return None


def _next(garment: Garment, part: _Part) -> tuple[_Part, float] | None:
    """The part that follows, and both sides of an opening between the two (mm); None where the ring is open."""
    piece = garment.piece(part.piece)
    index = [edge.id for edge in piece.edges].index(part.edge)
    across = piece.edges[(index + 1) % len(piece.edges) if part.forward else index - 1]
    if across.on_fold:
        return _Part(part.piece, part.edge, not part.forward, not part.mirrored), 0.0
    for seam in garment.seams_of(piece.id, across.id):
        met = _met(garment, seam, piece.id, across, at_start=part.forward)
        if met is None:
            continue
        there, at_start = met
        slit = _slit(garment, (piece.id, across.id, part.forward), (there.piece, there.edge, at_start))
        if slit is None:
            return None
        if (there.piece, there.edge) == (piece.id, across.id):
            return _Part(part.piece, part.edge, not part.forward, not part.mirrored), slit
        other = garment.piece(there.piece)
        at = [edge.id for edge in other.edges].index(there.edge)
        beside = other.edges[at - 1 if at_start else (at + 1) % len(other.edges)]
        return _Part(other.id, beside.id, not at_start, part.mirrored), slit
    return None


def _met(garment: Garment, seam: Seam, piece_id: str, edge: Edge, *, at_start: bool) -> tuple[EdgeRef, bool] | None:
    """The edge that is sewn to a corner of another, and whether it is its start that lies there; never a facing's."""
    for side, others in ((seam.first, seam.second), (seam.second, seam.first)):
        for index, ref in enumerate(side):
            if (ref.piece, ref.edge) != (piece_id, edge.id):
                continue
            station = index if at_start != ref.backwards else index + 1
            there = _at_station(garment, side, others, station)
            if there is None or any(c.piece == piece_id for c in garment.piece(there[0].piece).copies):
                return None
            return there
    return None


def _at_station(
    garment: Garment, side: tuple[EdgeRef, ...], others: tuple[EdgeRef, ...], station: int
) -> tuple[EdgeRef, bool] | None:
    """The edge of the other side of a seam that begins or ends where ``station`` edges of this side are passed."""
    if station == 0:
        return others[0], not others[0].backwards
    if station == len(side):
        return others[-1], others[-1].backwards
    here, there = (list(_stations(garment, one)) for one in (side, others))
    near = min(range(len(there)), key=lambda i: abs(there[i] - here[station]))
    if abs(there[near] - here[station]) > _SAME_CORNER_MM or near in (0, len(others)):
        return None
    return others[near], not others[near].backwards


def _stations(garment: Garment, side: tuple[EdgeRef, ...]) -> Iterator[float]:
    along = 0.0
    yield along
    for ref in side:
        along += garment.edge(ref).length
        yield along


def _slit(garment: Garment, *corners: tuple[str, str, bool]) -> float | None:
    """Both sides of the openings at a corner (mm): 0 where there are none, None where one is open all along."""
    longest = 0.0
    for opening in garment.openings:
        if (opening.piece, opening.edge, opening.end == "start") in corners:
            reach = _reach(garment, opening)
            if reach is None:
                return None
            longest = max(longest, reach)
    return 2 * longest


def _reach(garment: Garment, opening: Opening) -> float | None:
    """How far an opening reaches along its edge (mm), None for all along."""
    piece = garment.piece(opening.piece)
    edge = piece.edge(opening.edge)
    whole = edge_run_length(edge)
    if opening.length is not None:
        return None if opening.length >= whole else opening.length
    if opening.notch is None:
        return None
    along = length_at(edge, next(n for n in piece.notches if n.id == opening.notch).place)
    return along if opening.end == "start" else whole - along


def _bands(garment: Garment, ring: _Ring) -> Iterator[_Ring]:
    """The closed rings of the bands and cuffs that are sewn to a ring."""
    seen: set[tuple[str, str]] = set()
    for part in ring.parts:
        for seam in garment.seams_of(part.piece, part.edge):
            for ref in (*seam.first, *seam.second):
                key = (ref.piece, ref.edge)
                if key in seen or ref.piece == part.piece or garment.edge(ref).kind is not EdgeKind.BAND:
                    continue
                band = _followed(garment, _Part(ref.piece, ref.edge, True), {EdgeKind.BAND})
                if band is not None:
                    seen |= {(one.piece, one.edge) for one in band.parts}
                    yield band


def _passage(garment: Garment, kind: RingKind, ring: _Ring) -> Passage:
    rest = given = 0.0
    measured = True
    for part in ring.parts:
        piece = garment.piece(part.piece)
        length = _span(piece, piece.edge(part.edge))
        found = [stretch_of(garment, _cloth(one)) for one in (piece, *copies_of(garment, part.piece, part.edge))]
        percent, known = min(found)
        measured = measured and known
        rest += length
        given += stretched(length, percent)
    girth = PASSES[kind]
    girth_mm, known = girth_of(garment, girth)
    assumed = (*(() if measured else ("stretch",)), *(() if known else (girth.value,)))
    return Passage(
        kind,
        ring.parts[0].piece,
        tuple(dict.fromkeys((part.piece, part.edge) for part in ring.parts)),
        rest,
        100 * (given - rest) / rest,
        ring.slit_mm,
        girth,
        girth_mm,
        ROOM[girth],
        assumed,
    )


def _cloth(piece: Piece) -> Cloth:
    cloths = [cutting.cloth for cutting in piece.cutting if cutting.cloth is not Cloth.INTERFACING]
    return Cloth.SELF if Cloth.SELF in cloths or not cloths else cloths[0]


def _span(piece: Piece, edge: Edge) -> float:
    """How long a ring's edge is (mm): where a band or a facing is turned beside it, the shortest line of them."""
    lengths = [edge.length]
    if edge.kind in (EdgeKind.BAND, EdgeKind.FACING):
        index = [one.id for one in piece.edges].index(edge.id)
        sides = (piece.edges[index - 1], piece.edges[(index + 1) % len(piece.edges)])
        lengths += [line.chain.length for line in piece.lines if line.kind is LineKind.TURN and _between(line, sides)]
    return min(lengths)


def _between(line: Line, sides: tuple[Edge, Edge]) -> bool:
    ends = (line.chain.start, line.chain.end)
    return any(
        all(side.chain.nearest(end)[1] <= _ON_EDGE_MM for side, end in zip(sides, order, strict=True))
        for order in (ends, ends[::-1])
    )
