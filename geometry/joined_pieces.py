"""Which pieces hang beside others: what is done to one piece at a level is done to every piece joined to it there."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.letter_widths import shortened
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, Piece


def left_out(garment: Garment, targets: Iterable[Target], kinds: Collection[EdgeKind]) -> tuple[str, ...]:
    """The pieces that are sewn to edges of these kinds of the targets and are no targets themselves."""
    done = {target.piece: None for target in targets}
    found: dict[str, None] = {}
    for piece_id in done:
        for edge in garment.piece(piece_id).edges:
            for seam in garment.seams_of(piece_id, edge.id) if edge.kind in kinds else ():
                found |= {ref.piece: None for ref in (*seam.first, *seam.second) if ref.piece not in done}
    return tuple(found)


def sewn_to(garment: Garment, piece_id: str) -> dict[str, str]:
    """What each sewn edge of a piece is sewn to, by edge id: other pieces' names, or its own other edge's name."""
    found: dict[str, dict[str, None]] = {}
    for seam in garment.seams:
        for side, other in ((seam.first, seam.second), (seam.second, seam.first)):
            for edge in (ref.edge for ref in side if ref.piece == piece_id):
                names = found.setdefault(edge, {})
                for ref in other:
                    piece = garment.piece(ref.piece)
                    if ref.edge != edge or ref.piece != piece_id:
                        names[piece.edge(ref.edge).name if ref.piece == piece_id else shortened(piece.name)] = None
    return {edge: _listed(list(names)) for edge, names in found.items() if names}


def _listed(names: list[str]) -> str:
    """“Front”, “Front and Back”, “Front, Back and waist edge”."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)


def names_of(garment: Garment, pieces: Iterable[str]) -> str:
    """The pieces by name, for a sentence."""
    return " and ".join(f"“{garment.piece(piece).name}”" for piece in pieces)


def edges_shared(garment: Garment, targets: Iterable[Target], kinds: Collection[EdgeKind]) -> int:
    """How many edges of these kinds the targets have round the body, every piece as often as it is cut."""
    pieces = [garment.piece(target.piece) for target in targets]
    return sum(piece.cut_count for piece in pieces for edge in piece.edges if edge.kind in kinds)


def only_edge(piece: Piece, kind: EdgeKind) -> Edge:
    """The one edge of a kind; raises PatternError when there is none, or several."""
    found = piece.edges_of(kind)
    if len(found) != 1:
        words = f"has no {kind} edge" if not found else f"has several edges of the kind {kind}"
        raise PatternError(f"“{piece.name}” {words}; choose another piece.", piece.id)
    return found[0]
