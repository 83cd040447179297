"""Which pieces a region of the body covers: those that have it, and those that are asked as they are sewn to it there.

What is done to one piece at a level is done to every piece joined to it there, facings and linings included (The
Dressmaker, c. 1911-16, "Use of patterns").
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from geometry.garments import Garment
from geometry.pieces import EdgeKind, LineKind, Piece

_EDGES: Mapping[str, tuple[EdgeKind, ...]] = MappingProxyType(
    {
        "neckline": (EdgeKind.NECKLINE,),
        "shoulder": (EdgeKind.SHOULDER,),
        "armhole": (EdgeKind.ARMHOLE,),
        "back": (EdgeKind.CENTRE_BACK,),
        "waist": (EdgeKind.WAIST,),
        "hem": (EdgeKind.HEM,),
        "sleeve": (EdgeKind.CAP,),
        "wrist": (EdgeKind.WRIST,),
        "crotch": (EdgeKind.CROTCH,),
        "band": (EdgeKind.BAND,),
    }
)
_LEVELS: Mapping[str, LineKind] = MappingProxyType(
    {"bust": LineKind.BUST, "waist": LineKind.WAIST, "hip": LineKind.HIP}
)
#: The regions of the body by name.
REGIONS = tuple(dict.fromkeys((*_EDGES, *_LEVELS)))
#: Along these seams a level runs on from piece to piece.
_ALONG = (EdgeKind.SIDE, EdgeKind.PRINCESS)


@dataclass(frozen=True)
class Covered:
    """A piece that a region covers, and why; ``asked`` where it has no part of it but is sewn to one that has."""

    piece: str
    why: str
    asked: bool = False


def covered(garment: Garment, region: str) -> tuple[Covered, ...]:
    """The pieces of a region in the garment's order, those that have it first; empty for a region that is not known."""
    have = {piece.id: why for piece in garment.pieces if (why := _why(garment, piece, region))}
    asked: dict[str, str] = {}
    for piece_id in have:
        for edge in garment.piece(piece_id).edges:
            if edge.kind not in (*_EDGES.get(region, ()), *(_ALONG if region in _LEVELS else ())):
                continue
            for seam in garment.seams_of(piece_id, edge.id):
                for ref in (*seam.first, *seam.second):
                    if ref.piece not in have:
                        to = f"the {edge.name} of “{garment.piece(piece_id).name}”"
                        asked.setdefault(ref.piece, f"its {garment.edge(ref).name} is sewn to {to}")
    order = [piece.id for piece in garment.pieces]
    return (
        *(Covered(one, have[one]) for one in order if one in have),
        *(Covered(one, asked[one], True) for one in order if one in asked),
    )


def _why(garment: Garment, piece: Piece, region: str) -> str:
    if piece.edges_of(EdgeKind.BAND) and region != "band":
        return ""
    for kind in _EDGES.get(region, ()):
        for edge in piece.edges_of(kind):
            copy = next((copy for copy in piece.copies if copy.edge == edge.id), None)
            if copy is not None:
                of = garment.piece(copy.piece)
                return f"its {edge.name} copies the {of.edge(copy.of_edge).name} of “{of.name}”"
            return f"its {edge.name}"
    line = piece.line(_LEVELS[region]) if region in _LEVELS else None
    return "" if line is None else f"its {line.name}"
