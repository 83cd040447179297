"""A half on the fold opened out whole, for single layers, one-way prints and cloth that may not be folded."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from geometry.drawing import Drawing
from geometry.lines import Chain, joined
from geometry.motions import Motion, Point, mirror
from geometry.pens import Role, Stroke
from geometry.pieces import Piece
from geometry.tolerances import MEET_MM

#: Drawn once on a whole piece.
_ONCE = {Role.GRAIN, Role.STRETCH, Role.TITLE, Role.INSTRUCTIONS, Role.LABEL}
_OUTLINES = {Role.CUT, Role.STITCH, Role.BEFORE, Role.SHADE, Role.SIZE}


def opened_out(drawing: Drawing, piece: Piece) -> Drawing:
    """The drawing of a piece on the fold with its mirrored half; the same drawing where there is no fold.

    Outlines become one closed line; the fold's own bracket and stretch go. The drawing is lettered for it
    (``Lettering.opened``).
    """
    fold = piece.fold
    if fold is None:
        return drawing
    start, end = fold.start, fold.end
    along = (end[0] - start[0], end[1] - start[1])
    over = mirror(start, along)
    strokes = tuple(
        one for stroke in drawing.strokes if stroke.role is not Role.FOLD for one in _both(stroke, over, start, along)
    )
    return replace(drawing, strokes=strokes)


def _both(stroke: Stroke, over: Motion, through: Point, along: Point) -> Iterator[Stroke]:
    if stroke.role in _ONCE:
        yield stroke
    elif stroke.closed and stroke.role in _OUTLINES:
        half = _without_fold(stroke.chain, through, along)
        yield replace(stroke, chain=joined([half, half.moved(over).backwards()])) if half is not None else stroke
    elif all(_off(point, through, along) < MEET_MM for point in (stroke.chain.start, stroke.chain.end)) and (
        stroke.chain.is_straight
    ):
        yield stroke
    else:
        yield stroke
        yield stroke.moved(over)


def _without_fold(ring: Chain, through: Point, along: Point) -> Chain | None:
    """A closed outline from where it leaves the fold to where it comes back; None where it never lies on it."""
    count = len(ring)
    on = [
        bool(ring.straight[k])
        and all(_off((float(x), float(y)), through, along) < 0.01 for x, y in ring.cubics[k, ::3])
        for k in range(count)
    ]
    if not any(on) or all(on):
        return None
    first = next(k for k in range(count) if on[k - 1] and not on[k])
    left = [k % count for k in range(first, first + count) if not on[k % count]]
    parts = [ring.part(float(k), float(k + 1)) for k in left]
    return joined(parts)


def _off(point: Point, through: Point, along: Point) -> float:
    size = math.hypot(*along)
    return abs((point[0] - through[0]) * along[1] - (point[1] - through[1]) * along[0]) / size
