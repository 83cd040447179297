"""A piece of paper on the table: its shape, its lines by role, the names on it. Widths and letters in pixels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPen

from app.window.mat import small
from app.window.palette import Palette
from app.window.piece_drawing import PieceDrawing
from app.window.view import View
from geometry.motions import Motion, Point
from geometry.pens import Role
from geometry.pieces import LineKind, Piece

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
    shade.setAlpha(22)
    for motion in sheet.motions:
        painter.setTransform(view.panned(1.5, 3.0).transform(motion))
        painter.fillPath(sheet.drawing.paper, shade)
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


def paint_names(painter: QPainter, view: View, sheet: Sheet, palette: Palette) -> None:
    """The names of level lines and the fold, each where it lies on paper and on no other name."""
    font = painter.font()
    painter.setFont(small(font))
    painter.setPen(QColor(palette.paper_quiet))
    metrics = QFontMetricsF(painter.font())
    taken: list[QRectF] = []
    for start, end, name in _level_names(sheet):
        a, b = view.at(start), view.at(end)
        left, right = (a, b) if a.x() <= b.x() else (b, a)
        width = metrics.horizontalAdvance(name)
        if right.x() - left.x() < width + 16:
            continue
        for share in (0.06, 0.5, 0.3, 0.7):
            x = left.x() + 8 + share * (right.x() - left.x() - width - 16)
            y = left.y() + (right.y() - left.y()) * (x - left.x()) / max(right.x() - left.x(), 1.0) - 4
            box = QRectF(x - 2, y - metrics.ascent(), width + 4, metrics.height())
            if not any(box.intersects(other) for other in taken):
                painter.drawText(QPointF(x, y), name)
                taken.append(box)
                break
    _paint_fold_name(painter, view, sheet, metrics)
    painter.setFont(font)


def _level_names(sheet: Sheet) -> list[tuple[Point, Point, str]]:
    """Start, end and name of each guide line that lies across, where the piece itself lies on the table."""
    motion = sheet.motions[0]
    named = []
    for line in sheet.piece.lines:
        if line.kind not in (LineKind.GRAIN, LineKind.STRETCH):
            start, end = motion.point(line.chain.start), motion.point(line.chain.end)
            if abs(start[0] - end[0]) > abs(start[1] - end[1]):
                named.append((start, end, line.name))
    return named


def _paint_fold_name(painter: QPainter, view: View, sheet: Sheet, metrics: QFontMetricsF) -> None:
    """“fold” along the fold, low down and inside, turned to run with it."""
    fold = sheet.piece.fold
    if fold is None:
        return
    motion = sheet.motions[0]
    a, b = view.px(motion.point(fold.start)), view.px(motion.point(fold.end))
    if math.dist(a, b) < 4 * metrics.horizontalAdvance("fold"):
        return
    low, high = (a, b) if a[1] >= b[1] else (b, a)
    inside = 1.0 if (fold.start[1] > fold.end[1]) else -1.0
    reach = 13.0 * view.scale + 5.0 if view.scale < 1.6 else 6.0
    x, y = low[0] + 0.16 * (high[0] - low[0]), low[1] + 0.16 * (high[1] - low[1])
    angle = math.degrees(math.atan2(high[1] - low[1], high[0] - low[0]))
    painter.save()
    painter.translate(x, y)
    painter.rotate(angle)
    below = reach + metrics.ascent() if inside > 0 else -reach
    painter.drawText(QPointF(0.0, below), "fold")
    painter.restore()
