"""Which corner of a piece a target means: an edge, and the end of it that its place lies nearer to."""

from __future__ import annotations

from geometry.errors import PatternError
from geometry.notes import Address, Target, edge_run_length, length_at, place_of
from geometry.pieces import Edge, EdgeKind, Piece, neighbours

_FEET = (EdgeKind.HEM, EdgeKind.WRIST)


def corner_named(piece: Piece, target: Target) -> tuple[Edge, bool]:
    """The edge a target names, and True when its start is the corner meant, False for its end.

    The first place across says which end; without one it is the end at the hem. Raises PatternError when the target
    names no edge, its place lies on another one, or there is no end at the hem.
    """
    if target.edge is None:
        raise PatternError(f"Say which edge of “{piece.name}” is meant.", piece.id)
    edge = piece.edge(target.edge)
    if target.across:
        address = target.across[0]
        if address.edge != edge.id:
            raise PatternError(f"The place must lie on “{edge.name}” of “{piece.name}”.", piece.id, edge.id)
        return edge, length_at(edge, place_of(piece, address)) <= edge_run_length(edge) / 2
    before, after = neighbours(piece, edge.id)
    if (before.kind in _FEET) == (after.kind in _FEET):
        raise PatternError(
            f"Say which end of “{edge.name}” of “{piece.name}” is meant: name a place nearer to that end.",
            piece.id,
            edge.id,
        )
    return edge, before.kind in _FEET


def corner_target(piece_id: str, edge_id: str, at_start: bool, amount: float | None = None) -> Target:
    """The target that names one end of an edge."""
    place = Address(edge_id, "start" if at_start else "end", share=0.0)
    return Target(piece_id, edge=edge_id, across=(place,), amount=amount)
