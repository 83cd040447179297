"""Pieces laid on their side in a file are stood upright by their grainline, so that hems are below and necks above."""

from __future__ import annotations

import math
from dataclasses import replace

from app.tracing.corner_finding import corners_of
from app.tracing.found import FoundLine
from app.tracing.joining import Loop
from app.tracing.line_fitting import edge_lines
from app.tracing.pieces_found import RawPiece, line_role
from geometry.lines import Chain
from geometry.motions import Motion, bearing, turn
from geometry.pens import Role

#: A grainline further from upright than this means that the piece lies on its side (degrees).
_LYING_DEG = 30.0
#: A foot is a level edge in the lowest part of a piece (share of its height), so many times as long as what is above.
_FOOT_SHARE, _FOOT_LONGER = 0.15, 1.5
#: A line with arrow heads is at least this long; a head is no larger than this and touches the line's end (mm).
_ARROW_MM, _HEAD_MM, _TOUCH_MM = 40.0, 14.0, 1.0


def grain_of(piece: RawPiece, exchange: bool) -> FoundLine | None:
    """The grainline by its layer or name, else the longest line with arrow heads at both ends."""
    straight = [line for line in piece.lines if line.chain.is_straight and line.chain.length >= _ARROW_MM]
    named = [line for line in straight if line_role(line, exchange) is Role.GRAIN]
    if named:
        return max(named, key=lambda line: line.chain.length)
    plain = [line for line in straight if line_role(line, exchange) is None and _has_heads(line.chain, piece)]
    closed = [line for line in plain if _has_heads(line.chain, piece, closed=True)]
    return max(closed or plain, key=lambda line: line.chain.length, default=None)


def _has_heads(line: Chain, piece: RawPiece, *, closed: bool = False) -> bool:
    small = [loop.chain for loop in piece.loops if max(loop.box) <= _HEAD_MM]
    if not closed:
        small += [one.chain for one in piece.lines if one.chain.length <= 2 * _HEAD_MM and one.chain is not line]
    return all(
        any(math.dist(end, tip) <= _TOUCH_MM for one in small for tip in map(tuple, one.cubics[:, 0].tolist()))
        or any(math.dist(end, one.end) <= _TOUCH_MM for one in small)
        for end in (line.start, line.end)
    )


def stood_upright(piece: RawPiece, exchange: bool, noise_mm: float) -> tuple[RawPiece, float]:
    """The piece with its grainline upright and its foot below, and by how many degrees it was turned (0 mostly)."""
    grain = grain_of(piece, exchange)
    if grain is None:
        return piece, 0.0
    angle = bearing(grain.chain.start, grain.chain.end) % 180.0
    lying = abs(angle - 90.0) > _LYING_DEG
    by = 90.0 - angle if lying else 0.0
    outline = (piece.stitching or piece.outline).chain
    edges = edge_lines(outline, corners_of(outline, noise_mm), noise_mm)
    here, over = _foot(edges, by), _foot(edges, by + 180.0)
    if over > (here if lying else _FOOT_LONGER * here):
        by += 180.0
    return (piece, 0.0) if by == 0.0 else (turned(piece, by), by)


def _foot(edges: list[Chain], by: float) -> float:
    """The length of the longest level edge at the foot of the piece, once turned."""
    motion = turn(by, (0.0, 0.0))
    moved = [edge.moved(motion) for edge in edges]
    low, high = min(edge.box[1] for edge in moved), max(edge.box[3] for edge in moved)
    limit = low + _FOOT_SHARE * (high - low)
    return max((abs(edge.end[0] - edge.start[0]) for edge in moved if edge.box[3] <= limit), default=0.0)


def turning(piece: RawPiece, degrees: float) -> Motion:
    """The turn anticlockwise about the middle of a piece's box, right angles exactly."""
    x0, y0, x1, y1 = piece.outline.chain.box
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    return _exactly(turn(degrees, middle), degrees, middle)


def turned(piece: RawPiece, degrees: float) -> RawPiece:
    """The piece turned anticlockwise about the middle of its box."""
    return moved_raw(piece, turning(piece, degrees))


def moved_raw(piece: RawPiece, motion: Motion) -> RawPiece:
    """The piece with all that lies on it moved."""
    return replace(
        piece,
        outline=_moved_loop(piece.outline, motion),
        stitching=None if piece.stitching is None else _moved_loop(piece.stitching, motion),
        lines=tuple(replace(line, chain=line.chain.moved(motion)) for line in piece.lines),
        loops=tuple(_moved_loop(loop, motion) for loop in piece.loops),
        words=tuple(replace(word, at=motion.point(word.at)) for word in piece.words),
        points=tuple(replace(point, at=motion.point(point.at)) for point in piece.points),
    )


def _exactly(motion: Motion, degrees: float, middle: tuple[float, float]) -> Motion:
    quarters = degrees / 90.0
    if abs(quarters - round(quarters)) > 1e-6:
        return motion
    cos, sin = ((1, 0), (0, 1), (-1, 0), (0, -1))[round(quarters) % 4]
    x, y = middle
    return Motion(cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)


def _moved_loop(loop: Loop, motion: Motion) -> Loop:
    chain = loop.chain.moved(motion)
    return Loop(chain, replace(loop.line, chain=chain))
