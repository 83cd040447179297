"""A piece from a photo lies as it was laid on the table; it is turned until its fold, or its grainline, is plumb."""

from __future__ import annotations

from app.tracing.placing import moved
from geometry.motions import bearing, slide, turn
from geometry.pieces import LineKind, Piece

#: A piece that leans by less than this is plumb (degrees).
_PLUMB_DEG = 1e-6


def laid_plumb(piece: Piece) -> tuple[Piece, float]:
    """The piece with its lower left corner at 0, 0 again, and by how many degrees it was turned anticlockwise."""
    edges = [(edge.start, edge.end) for edge in piece.edges if edge.on_fold]
    grains = [(line.chain.start, line.chain.end) for line in piece.lines if line.kind is LineKind.GRAIN]
    along = next(iter([*edges, *grains]), None)
    if along is None:
        return piece, 0.0
    # A quarter turn at most: which end is up is as she laid it.
    by = 90.0 - bearing(*along) % 180.0
    if abs(by) < _PLUMB_DEG:
        return piece, 0.0
    turned = moved(piece, turn(by, (0.0, 0.0)))
    x0, y0, _, _ = turned.polygon.bounds
    return moved(turned, slide(-x0, -y0)), by
