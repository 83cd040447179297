"""Bands sewn to an edge: how long the seam asks each part of one to be.

A band is measured between its notches. Where a notch has a mate, the part between two of them is asked for by what lies
between their mates; a notch without a mate goes with a seam that ends on the other side there, as the shoulder seam
does on a neckline, else it keeps its share of the part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment, Seam, Stretch, StretchKind
from geometry.notes import edge_run_length, length_at
from geometry.pieces import EdgeKind, Piece

#: The long sides of a strip bend no more than this, and lean no further apart (degrees).
STRIP_DEG = 1.0


@dataclass(frozen=True)
class BandPart:
    """A part of a band's edge from ``low`` to ``high`` (mm from the edge's start), and by how much it is too short."""

    piece: str
    edge: str
    low: float
    high: float
    change: float

    @property
    def length(self) -> float:
        return self.high - self.low


def band_seam(garment: Garment, piece_id: str) -> tuple[Seam, int] | None:
    """The seam that a band is sewn on by, and its side in it (0 first, 1 second); None for what is no band.

    A seam to the garment itself goes before one to another band; of these the one that is sewn first.
    """
    found = []
    for edge in garment.piece(piece_id).edges_of(EdgeKind.BAND):
        for seam in garment.seams_of(piece_id, edge.id):
            for mine, (side, others) in enumerate(((seam.first, seam.second), (seam.second, seam.first))):
                if EdgeRef(piece_id, edge.id) in _plain(side) and all(ref.piece != piece_id for ref in others):
                    to_band = all(garment.edge(ref).kind is EdgeKind.BAND for ref in others)
                    found.append((to_band, seam.sewn, seam.id, seam, mine))
    if not found:
        return None
    *_, seam, mine = min(found, key=lambda one: one[:3])
    return seam, mine


def mates_of(seam: Seam, mine: int) -> tuple[EdgeRef, ...]:
    """The other side of a seam."""
    return seam.first if mine else seam.second


def parts_asked(garment: Garment, piece_id: str) -> tuple[BandPart, ...]:
    """The parts of a band in the order of its seam, each with what its seam asks for more or less than it has.

    A band stretched on is asked for by its ratio, one that is eased or gathered on by the middle of what is allowed, an
    accepted difference as it is. Raises PatternError where the piece has no band edge that is sewn to another piece.
    """
    found = band_seam(garment, piece_id)
    if found is None:
        name = garment.piece(piece_id).name
        raise PatternError(f"“{name}” is no band that is sewn to another piece; choose another piece.", piece_id)
    seam, mine = found
    side = seam.second if mine else seam.first
    spans = _spans(garment, seam, mine)
    wanted = [_asked(span, mine) for span in spans]
    if seam.accepted_mm is not None:
        mates = sum(span.mates for span in spans)
        rest = mates + (seam.accepted_mm if mine else -seam.accepted_mm) - sum(wanted)
        wanted = [one + rest * span.mates / mates for one, span in zip(wanted, spans, strict=True)]
    stops = sorted({*_ends(garment, side), *_notches(garment, side).values()})
    parts: list[BandPart] = []
    for span, asked in zip(spans, wanted, strict=True):
        inside = [span.low, *(at for at in stops if span.low + 1e-6 < at < span.high - 1e-6), span.high]
        for start, end in pairwise(inside):
            change = (asked - (span.high - span.low)) * (end - start) / (span.high - span.low)
            parts.append(_on_edge(garment, side, start, end, change))
    return tuple(part for part in parts if part.piece == piece_id)


def is_strip(piece: Piece, edge_id: str) -> bool:
    """Whether an edge is one long side of a strip: straight, and without darts."""
    edge = piece.edge(edge_id)
    return edge.chain.turning_deg <= STRIP_DEG and all(run.dart is None for run in edge.runs)


def allowed_either_way(seam: Seam) -> float:
    """By how much a seam's length may be off the middle of what is allowed (mm)."""
    return sum(stretch.most - stretch.least for stretch in seam.stretches) / 2


def _plain(side: Sequence[EdgeRef]) -> list[EdgeRef]:
    return [EdgeRef(ref.piece, ref.edge) for ref in side]


def _length(garment: Garment, side: Sequence[EdgeRef]) -> float:
    return sum(edge_run_length(garment.edge(ref)) for ref in side)


def _ends(garment: Garment, side: Sequence[EdgeRef]) -> list[float]:
    """Where the edges of one side meet (mm along it)."""
    found, at = [], 0.0
    for ref in side[:-1]:
        at += edge_run_length(garment.edge(ref))
        found.append(at)
    return found


def _notches(garment: Garment, side: Sequence[EdgeRef]) -> dict[tuple[str, str], float]:
    """Where the notches of one side stand (mm along it), by piece and notch."""
    found: dict[tuple[str, str], float] = {}
    before = 0.0
    for ref in side:
        edge = garment.edge(ref)
        length = edge_run_length(edge)
        for notch in garment.piece(ref.piece).notches:
            if notch.place.edge == ref.edge:
                at = length_at(edge, notch.place)
                found[ref.piece, notch.id] = before + (length - at if ref.backwards else at)
        before += length
    return found


@dataclass(frozen=True)
class _Span:
    """A band from ``low`` to ``high`` (mm along its side) beside ``mates`` mm of what it is sewn to.

    It lies in a ``stretch`` of the seam that is ``whole`` mm long on the mates.
    """

    low: float
    high: float
    mates: float
    stretch: Stretch
    whole: float


def _spans(garment: Garment, seam: Seam, mine: int) -> list[_Span]:
    """The parts of a band whose two ends are held to a place on its mates."""
    side, mates = (seam.first, seam.second) if mine == 0 else (seam.second, seam.first)
    on_band, on_mates = _notches(garment, side), _notches(garment, mates)
    pairs = []
    for match in seam.matches:
        both = (match.first_piece, match.first), (match.second_piece, match.second)
        here, there = both if mine == 0 else both[::-1]
        if here in on_band and there in on_mates:
            pairs.append((on_band.pop(here), on_mates[there]))
    stops = [(0.0, 0.0), *sorted(pairs), (_length(garment, side), _length(garment, mates))]
    one = len(seam.stretches) == 1
    spans: list[_Span] = []
    for index, ((b0, m0), (b1, m1)) in enumerate(pairwise(stops)):
        notches = sorted(at for at in on_band.values() if b0 < at < b1)
        joints = [at for at in _ends(garment, mates) if m0 < at < m1]
        held = zip(notches, joints, strict=True) if len(notches) == len(joints) else ()
        stretch, whole = seam.stretches[0 if one else index], stops[-1][1] if one else m1 - m0
        inside = [(b0, m0), *held, (b1, m1)]
        spans += [_Span(low, high, n - m, stretch, whole) for (low, m), (high, n) in pairwise(inside) if high > low]
    return spans


def _asked(span: _Span, mine: int) -> float:
    """How long a part of a band should be (mm)."""
    stretch = span.stretch
    middle = (stretch.least + stretch.most) / 2 * span.mates / span.whole
    if stretch.kind is StretchKind.STRETCHED and stretch.ratio:
        return span.mates * stretch.ratio + middle if mine else (span.mates - middle) / stretch.ratio
    return span.mates + middle if mine else span.mates - middle


def _on_edge(garment: Garment, side: Sequence[EdgeRef], start: float, end: float, change: float) -> BandPart:
    """A part from ``start`` to ``end`` along one side of a seam, as it lies on its edge."""
    before = 0.0
    for ref in side:
        length = edge_run_length(garment.edge(ref))
        if (start + end) / 2 <= before + length or ref is side[-1]:
            break
        before += length
    low, high = start - before, end - before
    if ref.backwards:
        low, high = length - high, length - low
    return BandPart(ref.piece, ref.edge, low, high, change)
