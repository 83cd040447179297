"""Which pieces a region of the body covers: those that have it, and those that are asked as they are sewn to it there.

What is done to one piece at a level is done to every piece joined to it there, facings and linings included (The
Dressmaker, c. 1911-16, "Use of patterns").
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from geometry.garments import Garment
from geometry.notes import edge_run_length
from geometry.pieces import EdgeKind, LineKind, MarkKind, Piece

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
        "upper arm": (EdgeKind.CAP,),
    }
)
_LEVELS: Mapping[str, LineKind] = MappingProxyType(
    {"bust": LineKind.BUST, "waist": LineKind.WAIST, "hip": LineKind.HIP}
)
#: Along these seams a level runs on from piece to piece.
UPRIGHT_SEAMS = (EdgeKind.SIDE, EdgeKind.PRINCESS)
#: What changes its length by less asks nothing of its mate (mm).
_LEAST_MM = 0.1
_UPRIGHT = (*UPRIGHT_SEAMS, EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK)


@dataclass(frozen=True)
class Covered:
    """A piece that a region covers, and why; ``asked`` where it has no part of it but is sewn to one that has.

    ``seams`` are then the ids of the seams between the two.
    """

    piece: str
    why: str
    seams: tuple[str, ...] = ()

    @property
    def asked(self) -> bool:
        return bool(self.seams)


def covered(garment: Garment, region: str) -> tuple[Covered, ...]:
    """The pieces of a region in the garment's order, those that have it first; empty for a region that is not known."""
    have = {piece.id: why for piece in garment.pieces if (why := _why(garment, piece, region))}
    asked: dict[str, Covered] = {}
    for piece_id in have if region != "band" else ():
        for edge in garment.piece(piece_id).edges:
            if edge.kind not in (*_EDGES.get(region, ()), *(UPRIGHT_SEAMS if region in _LEVELS else ())):
                continue
            for seam in garment.seams_of(piece_id, edge.id):
                for ref in (*seam.first, *seam.second):
                    if ref.piece not in have:
                        to = f"the {edge.name} of “{garment.piece(piece_id).name}”"
                        why = f"its {garment.edge(ref).name} is sewn to {to}"
                        one = asked.get(ref.piece) or Covered(ref.piece, why)
                        asked[ref.piece] = replace(one, seams=(*one.seams, seam.id))
    order = [piece.id for piece in garment.pieces]
    return (
        *(Covered(one, have[one]) for one in order if one in have),
        *(asked[one] for one in order if one in asked),
    )


def is_asked(one: Covered, before: Garment, after: Garment) -> bool:
    """Whether a note that made ``after`` of ``before`` asks for a piece: what that is sewn to changed its length."""
    for seam in before.seams:
        for ref in (*seam.first, *seam.second) if seam.id in one.seams else ():
            changed = edge_run_length(after.edge(ref)) - edge_run_length(before.edge(ref))
            if ref.piece != one.piece and abs(changed) > _LEAST_MM:
                return True
    return False


def _why(garment: Garment, piece: Piece, region: str) -> str:
    if piece.edges_of(EdgeKind.BAND) and region != "band":
        return ""
    if region in _WIDER:
        return _WIDER[region](garment, piece)
    for kind in _EDGES.get(region, ()):
        for edge in piece.edges_of(kind):
            copy = next((copy for copy in piece.copies if copy.edge == edge.id), None)
            if copy is not None:
                of = garment.piece(copy.piece)
                return f"its {edge.name} copies the {of.edge(copy.of_edge).name} of “{of.name}”"
            return f"its {edge.name}"
    line = piece.line(_LEVELS[region]) if region in _LEVELS else None
    return "" if line is None else f"its {line.name}"


def _length(garment: Garment, piece: Piece) -> str:
    """The body of a garment, its facings and linings with it, without the sleeves."""
    for edge in piece.edges if not piece.edges_of(EdgeKind.CAP) else ():
        if edge.kind in UPRIGHT_SEAMS:
            return f"its {edge.name}"
        copy = next((copy for copy in piece.copies if copy.edge == edge.id), None)
        if copy is not None and edge.kind in _UPRIGHT:
            of = garment.piece(copy.piece)
            return f"its {edge.name} copies the {of.edge(copy.of_edge).name} of “{of.name}”"
    return ""


def _width(garment: Garment, piece: Piece) -> str:
    return next((f"its {edge.name}" for edge in piece.edges if edge.kind in UPRIGHT_SEAMS), "")


def _bust_and_chest(garment: Garment, piece: Piece) -> str:
    mark = next((mark for mark in piece.marks if mark.kind is MarkKind.BUST_POINT), None)
    if mark is not None:
        return f"its {mark.name}"
    line = piece.line(LineKind.BUST)
    return f"its {line.name}" if line is not None and piece.edges_of(EdgeKind.CENTRE_FRONT) else ""


def _waist_and_seat(garment: Garment, piece: Piece) -> str:
    edge = next((edge for edge in piece.edges if edge.kind in (EdgeKind.WAIST, EdgeKind.CROTCH)), None)
    if edge is not None:
        return f"its {edge.name}"
    line = piece.line(LineKind.HIP) or piece.line(LineKind.WAIST)
    return f"its {line.name}" if line is not None and piece.edges_of(EdgeKind.SIDE) else ""


def _seat(garment: Garment, piece: Piece) -> str:
    """The back of a skirt by its centre; of trousers by the longer of the crotch edges (common practice, no source)."""
    if piece.line(LineKind.HIP) is None:
        return ""
    if centre := piece.edges_of(EdgeKind.CENTRE_BACK):
        return f"its {centre[0].name}"
    crotches = [edge.length for one in garment.pieces for edge in one.edges_of(EdgeKind.CROTCH)]
    mine = piece.edges_of(EdgeKind.CROTCH)
    return f"its {mine[0].name}, the longer" if mine and mine[0].length == max(crotches) else ""


#: Regions that are no one edge and no one level: why a piece belongs to them, nothing where it does not.
_WIDER: Mapping[str, Callable[[Garment, Piece], str]] = MappingProxyType(
    {
        "length": _length,
        "width": _width,
        "bust and chest": _bust_and_chest,
        "waist and seat": _waist_and_seat,
        "seat": _seat,
    }
)
#: The regions of the body by name.
REGIONS = tuple(dict.fromkeys((*_EDGES, *_LEVELS, *_WIDER)))
