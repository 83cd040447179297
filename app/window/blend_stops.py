"""Where the blends of a note stop, by name: the lines and corners of the piece that hold them. No Qt."""

from __future__ import annotations

import math

from geometry.motions import FloatArray
from geometry.pieces import Piece, neighbours
from geometry.pipeline import Draft

_NEAR_MM = 1.0


def stops_of(draft: Draft, note_id: str) -> tuple[str, ...]:
    """The names of the places at which a note's blends end, each once: “waist”, “bust”, “shoulder seam”."""
    found: list[str] = []
    for one in draft.blended.pieces.values():
        for blend in one.blends:
            if blend.note == note_id and len(blend.blended):
                for end in (blend.blended[0], blend.blended[-1]):
                    name = _name_at(one.piece, blend.edge, end)
                    if name is not None and name not in found:
                        found.append(name)
    return tuple(found)


def _name_at(piece: Piece, edge_id: str, point: FloatArray) -> str | None:
    """The level line that meets the edge there, else the edge beyond the corner there, else None."""
    at = (float(point[0]), float(point[1]))
    for line in piece.lines:
        if min(math.dist(at, line.chain.start), math.dist(at, line.chain.end)) <= _NEAR_MM:
            return line.name.removesuffix(" line")
    edge = piece.edge(edge_id)
    before, after = neighbours(piece, edge_id)
    if math.dist(at, edge.start) <= _NEAR_MM:
        return before.name
    return after.name if math.dist(at, edge.end) <= _NEAR_MM else None
