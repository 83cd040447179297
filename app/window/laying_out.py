"""Where the two pieces lie on the table: side by side, or laid over each other at a chosen place."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.meeting import MeetingPlace
from app.scene import Scene
from app.window.view import Box, View, fitted
from geometry.motions import STAY, Motion, mirror, slide
from geometry.pieces import Piece
from geometry.stages import CutPiece

SIDE_BY_SIDE = "side by side"
LAID_OVER = "laid over"
#: The piece redrawn starts at a whole number of these on the tape (mm), so that widths are read off easily.
WHOLE_STEP = {"cm": 50.0, "in": 50.8}


@dataclass(frozen=True)
class Room:
    """Pixels to keep clear round the pieces for rulers, titles and words, and between the two."""

    left: float
    top: float
    right: float
    bottom: float
    between: float


@dataclass(frozen=True)
class Laid:
    """The motions that lay the two pieces on the table (mm), and the box of everything."""

    before: Motion
    after: Motion
    box: Box


def lay_out(scene: Scene, arrangement: str, meeting: MeetingPlace, apart: float, opened: bool) -> Laid:
    """``apart`` is how far to the right of the left piece's own place the other lies (mm), side by side."""
    x0, y0, _, _ = box_of(scene.traced, opened)
    before = slide(-x0, -y0)
    after = before.then(meeting.motion) if arrangement == LAID_OVER else before.then(slide(apart, 0.0))
    boxes = [moved_box(before_box(scene, opened), before), moved_box(paper_box(scene.after, opened), after)]
    if arrangement == SIDE_BY_SIDE:
        boxes.append(moved_box(box_of(scene.traced, opened), after))
    return Laid(before, after, united(boxes))


def distance_apart(scene: Scene, area: tuple[float, float], room: Room, opened: bool, units: str) -> float:
    """How far apart the two are laid (mm) for an area of (width, height) pixels: room for words, a whole step."""
    before, after = before_box(scene, opened), paper_box(scene.after, opened)
    _, y0, _, y1 = united([before, after, box_of(scene.traced, opened)])
    wide = _width(before) + _width(after)
    across = max(area[0] - room.left - room.right - room.between, 50.0) / wide
    scale = min(across, max(area[1] - room.top - room.bottom, 50.0) / (y1 - y0))
    step = WHOLE_STEP[units]
    return math.ceil((_width(before) + room.between / scale) / step) * step


def view_of(laid: Laid, area: tuple[float, float], room: Room) -> View:
    """The view in which everything is seen."""
    return fitted(laid.box, (room.left, room.top, area[0] - room.right, area[1] - room.bottom))


def box_of(piece: Piece, opened: bool = False) -> Box:
    """The box of a piece's stitching line (mm), opened out over its fold when asked."""
    x0, y0, x1, y1 = piece.polygon.bounds
    other = mirror_of(piece) if opened else None
    if other is None:
        return (x0, y0, x1, y1)
    return united([(x0, y0, x1, y1), moved_box((x0, y0, x1, y1), other)])


def paper_box(cut: CutPiece, opened: bool = False) -> Box:
    """The box of a piece with its allowances (mm)."""
    whole = [box_of(cut.piece, opened)]
    if cut.cutting is not None:
        (x0, y0), (x1, y1) = cut.cutting.cubics.min(axis=(0, 1)).tolist(), cut.cutting.cubics.max(axis=(0, 1)).tolist()
        other = mirror_of(cut.piece) if opened else None
        whole += [moved_box((x0, y0, x1, y1), motion) for motion in (STAY, other) if motion is not None]
    return united(whole)


def before_box(scene: Scene, opened: bool = False) -> Box:
    """The box of the piece on the left with its allowances and the lines of its other sizes (mm)."""
    return united([paper_box(scene.before, opened), *(box_of(one.piece, opened) for one in scene.sizes)])


def mirror_of(piece: Piece) -> Motion | None:
    """The motion that lays the other half of a piece on the fold, None for a piece without a fold."""
    fold = piece.fold
    if fold is None:
        return None
    return mirror(fold.start, (fold.end[0] - fold.start[0], fold.end[1] - fold.start[1]))


def halves(piece: Piece, opened: bool) -> tuple[Motion, ...]:
    """The motions under which the piece is drawn: itself, and its other half when opened out."""
    other = mirror_of(piece) if opened else None
    return (STAY,) if other is None else (STAY, other)


def moved_box(box: Box, motion: Motion) -> Box:
    corners = [motion.point((x, y)) for x in (box[0], box[2]) for y in (box[1], box[3])]
    return (
        min(x for x, _ in corners),
        min(y for _, y in corners),
        max(x for x, _ in corners),
        max(y for _, y in corners),
    )


def united(boxes: list[Box]) -> Box:
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def _width(box: Box) -> float:
    return box[2] - box[0]
