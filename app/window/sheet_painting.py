"""A piece of paper on the table: its shape, its lines by role, the names on it. Widths and letters in pixels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPen

from app.window.mat import small
from app.window.palette import Palette
from app.window.piece_drawing import PieceDrawing
from app.window.view import View
from geometry.motions import FloatArray, Motion, Point
from geometry.pens import Role
from geometry.pieces import LineKind, Piece
from geometry.strokes import BRACKET_MM

#: How each role looks on the screen: colour of the palette, width, dashes and gaps (pixels), told apart by dash.
LINES: dict[Role, tuple[str, float, tuple[float, ...]]] = {
    Role.FOLD: ("paper_quiet", 1.0, ()),
    Role.GRAIN: ("paper_ink", 1.1, ()),
    Role.STRETCH: ("paper_ink", 1.1, (8, 3)),
    Role.NOTCH: ("paper_ink", 1.8, ()),
    Role.DART: ("paper_ink", 1.2, (5, 3)),
    Role.GUIDE: ("paper_quiet", 1.0, (10, 4)),
    Role.PLACEMENT: ("paper_quiet", 1.2, (1.5, 3)),
    Role.TURN: ("paper_ink", 1.1, (9, 3, 2, 3, 2, 3)),
    Role.MARK: ("paper_ink", 1.1, ()),
}
STITCH_PX = 1.9
SHADE_ALPHA = 26
CUT_PX = 0.9
FOLD_DASHES = (14.0, 4.0, 3.0, 4.0)
GHOST_DASHES = (5.0, 5.0)
#: A notch is drawn at least this long (pixels), so that it is seen when the whole piece is.
NOTCH_PX = 7.0


@dataclass(frozen=True)
class Sheet:
    """A piece laid on the table under one motion, or under two when it is opened out; its own frame comes first."""

    drawing: PieceDrawing
    motions: tuple[Motion, ...]

    @property
    def piece(self) -> Piece:
        return self.drawing.cut.piece


def pen(colour: str, width: float, dashes: Sequence[float] = ()) -> QPen:
    """A pen of so many pixels at every zoom; dashes and gaps in pixels."""
    made = QPen(QColor(colour), width)
    made.setCosmetic(True)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dashes:
        made.setCapStyle(Qt.PenCapStyle.FlatCap)
        made.setDashPattern([dash / max(width, 1.0) for dash in dashes])
    return made


def paint_paper(painter: QPainter, view: View, sheet: Sheet, palette: Palette) -> None:
    """The paper itself with a little shade under it."""
    shade = QColor("#000000")
    shade.setAlpha(SHADE_ALPHA)
    for motion in sheet.motions:
        painter.setTransform(view.panned(1.0, 2.0).transform(motion))
        painter.strokePath(sheet.drawing.paper, pen(shade.name(QColor.NameFormat.HexArgb), 4.0))
    painter.setBrush(QColor(palette.paper))
    painter.setPen(pen(palette.paper, 1.0) if len(sheet.motions) > 1 else Qt.PenStyle.NoPen)
    for motion in sheet.motions:
        painter.setTransform(view.transform(motion))
        painter.drawPath(sheet.drawing.paper)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.resetTransform()


def paint_lines(painter: QPainter, view: View, sheet: Sheet, palette: Palette) -> None:
    """Every line of the piece; the stitching line is the strongest and the cutting line lies thin outside it."""
    drawing = sheet.drawing
    for motion in sheet.motions:
        painter.setTransform(view.transform(motion))
        if drawing.cutting is not None:
            painter.strokePath(drawing.cutting, pen(palette.paper_quiet, CUT_PX))
        for role, path in drawing.paths.items():
            if role is Role.FOLD and len(sheet.motions) > 1:
                continue
            colour, width, dashes = LINES[role]
            painter.strokePath(path, pen(getattr(palette, colour), width, dashes))
        painter.strokePath(drawing.stitch, pen(palette.paper_ink, STITCH_PX))
    if drawing.fold is not None:
        painter.strokePath(drawing.fold, pen(palette.paper_ink, 1.4, FOLD_DASHES))
    painter.resetTransform()
    _paint_notches(painter, view, sheet, palette)


def _paint_notches(painter: QPainter, view: View, sheet: Sheet, palette: Palette) -> None:
    """A tick across the stitching line for each notch, two for a double one, where the drawn ones are too small."""
    if view.scale * 3.0 >= NOTCH_PX:
        return
    painter.setPen(pen(palette.paper_ink, 1.6))
    for notch in sheet.piece.notches:
        chain = sheet.piece.run_at(notch.place).chain
        (x, y), (tx, ty) = chain.point(notch.place.u), chain.tangent(notch.place.u)
        for shift in (0.0,) if notch.count == 1 else (-2.0, 2.0):
            along = shift / view.scale
            foot = (x + along * tx, y + along * ty)
            far = NOTCH_PX / view.scale
            for motion in sheet.motions:
                start, end = motion.point(foot), motion.point((foot[0] + far * ty, foot[1] - far * tx))
                painter.drawLine(view.at(start), view.at(end))


def paint_ghost(painter: QPainter, view: View, outline: QPainterPath, motions: Sequence[Motion], colour: str) -> None:
    """An outline as it was, dashed."""
    for motion in motions:
        painter.setTransform(view.transform(motion))
        painter.strokePath(outline, pen(colour, 1.1, GHOST_DASHES))
    painter.resetTransform()


def paint_names(
    painter: QPainter, view: View, sheet: Sheet, palette: Palette, strips: Sequence[FloatArray] = ()
) -> None:
    """The names of level lines and the fold, each where it lies on paper and on no other name, line or strip.

    ``strips`` are outlines (m, 2) in mm of the piece.
    """
    font = painter.font()
    painter.setFont(small(font))
    painter.setPen(QColor(palette.paper_quiet))
    metrics = QFontMetricsF(painter.font())
    taken = [_pixel_box(view, sheet.motions[0], outline) for outline in strips] + _mark_boxes(view, sheet)
    lines = _line_boxes(view, sheet)
    for line_id, start, end, name in _level_names(sheet):
        a, b = view.at(start), view.at(end)
        left, right = (a, b) if a.x() <= b.x() else (b, a)
        others = [box for other, box in lines.items() if other != line_id]
        for crossed in (others, []):
            box = _free_box(view, sheet, _places_along(left, right, metrics, name), metrics, name, taken + crossed)
            if box is not None:
                if not crossed:
                    painter.fillRect(box, QColor(palette.paper))
                painter.drawText(QPointF(box.left() + 2, box.top() + metrics.ascent()), name)
                taken.append(box)
                break
    taken += lines.values()
    _paint_fold_name(painter, view, sheet, metrics, taken)
    painter.setFont(font)


def _free_box(
    view: View,
    sheet: Sheet,
    places: Iterator[tuple[float, float]],
    metrics: QFontMetricsF,
    name: str,
    taken: Sequence[QRectF],
) -> QRectF | None:
    """The first box for a name that lies on paper and on nothing that is taken."""
    for x, y in places:
        box = QRectF(x - 2, y - metrics.ascent(), metrics.horizontalAdvance(name) + 4, metrics.ascent() + 2)
        if not any(box.intersects(other) for other in taken) and _on_paper(view, sheet, box):
            return box
    return None


def _places_along(left: QPointF, right: QPointF, metrics: QFontMetricsF, name: str) -> Iterator[tuple[float, float]]:
    """Where a name's base line may start: above its line from the left on, then below it; none where it is short."""
    width = metrics.horizontalAdvance(name)
    room = right.x() - left.x() - width - 16.0
    if room < 0:
        return
    slope = (right.y() - left.y()) / max(right.x() - left.x(), 1.0)
    for drop in (min(slope * width, 0.0) - 5.0, max(slope * width, 0.0) + metrics.ascent() + 5.0):
        for share in (0.08, 0.0, 0.2, 0.35, 0.5, 0.65, 0.8, 1.0):
            x = left.x() + 8.0 + share * room
            yield x, left.y() + slope * (x - left.x()) + drop


def _line_boxes(view: View, sheet: Sheet) -> dict[str, QRectF]:
    """The box of every line inside the piece (pixels) by its id."""
    motion = sheet.motions[0]
    return {line.id: _pixel_box(view, motion, line.chain.cubics.reshape(-1, 2)) for line in sheet.piece.lines}


def _mark_boxes(view: View, sheet: Sheet) -> list[QRectF]:
    """The box of every mark and dart inside the piece, and of the bracket at the fold (pixels)."""
    piece, motion = sheet.piece, sheet.motions[0]
    points = [mark.point for mark in piece.marks] + [dart.bust_point for dart in piece.darts]
    boxes = [_pixel_box(view, motion, np.array([point])).adjusted(-8, -8, 8, 8) for point in points]
    for dart in piece.darts:
        mouth = next(run.chain for run in piece.edge(dart.edge).runs if run.dart == dart.id)
        boxes.append(_pixel_box(view, motion, np.array([mouth.start, dart.sewn_point, mouth.end])))
    bracket = sheet.drawing.paths.get(Role.FOLD)
    if bracket is not None and len(sheet.motions) == 1:
        boxes.append(view.transform(motion).mapRect(bracket.boundingRect()))
    return boxes


def _on_paper(view: View, sheet: Sheet, box: QRectF) -> bool:
    back = sheet.motions[0].undone()
    corners = [back.point(view.mm((p.x(), p.y()))) for p in _corners(box)]
    return bool(shapely.contains_xy(sheet.piece.polygon, corners).all())


def _pixel_box(view: View, motion: Motion, points: FloatArray) -> QRectF:
    moved = motion.points(points)
    low, high = moved.min(axis=0).tolist(), moved.max(axis=0).tolist()
    corners = QRectF(view.at((low[0], high[1])), view.at((high[0], low[1])))
    return corners.adjusted(-1.0, -1.0, 1.0, 1.0)


def _level_names(sheet: Sheet) -> list[tuple[str, Point, Point, str]]:
    """Id, start, end and name of each guide line that lies across, where the piece itself lies on the table."""
    motion = sheet.motions[0]
    named = []
    for line in sheet.piece.lines:
        if line.kind not in (LineKind.GRAIN, LineKind.STRETCH):
            start, end = motion.point(line.chain.start), motion.point(line.chain.end)
            if abs(start[0] - end[0]) > abs(start[1] - end[1]):
                named.append((line.id, start, end, line.name))
    return named


def _paint_fold_name(
    painter: QPainter, view: View, sheet: Sheet, metrics: QFontMetricsF, taken: Sequence[QRectF]
) -> None:
    """“fold” along the fold, low down and inside, turned to run with it."""
    fold = sheet.piece.fold
    if fold is None:
        return
    motion = sheet.motions[0]
    a, b = view.px(motion.point(fold.start)), view.px(motion.point(fold.end))
    width, size = metrics.horizontalAdvance("fold"), math.dist(a, b)
    if size < 4 * width:
        return
    low, high = (a, b) if a[1] >= b[1] else (b, a)
    ux, uy = (high[0] - low[0]) / size, (high[1] - low[1]) / size
    # The piece lies left of its outline's travel; on the screen, where y runs down, that is (dy, -dx).
    side = ((b[1] - a[1]) / size, -(b[0] - a[0]) / size)
    away = (BRACKET_MM + 3.0) * view.scale + metrics.ascent() / 2 + 2.0
    for share in (0.16, 0.1, 0.24, 0.32, 0.42, 0.55, 0.7):
        x = low[0] + share * (high[0] - low[0]) + away * side[0]
        y = low[1] + share * (high[1] - low[1]) + away * side[1]
        ends = [(x - width / 2 * ux, y - width / 2 * uy), (x + width / 2 * ux, y + width / 2 * uy)]
        box = QRectF(QPointF(*ends[0]), QPointF(*ends[1])).normalized().adjusted(-6, -6, 6, 6)
        if not any(box.intersects(other) for other in taken):
            painter.save()
            painter.translate(x, y)
            painter.rotate(math.degrees(math.atan2(uy, ux)))
            painter.drawText(QPointF(-width / 2, metrics.ascent() / 2 - 1.0), "fold")
            painter.restore()
            return


def _corners(box: QRectF) -> tuple[QPointF, ...]:
    return (box.topLeft(), box.topRight(), box.bottomRight(), box.bottomLeft())
