"""What a note changes, painted: strips with their hatching, blended slivers, handles, callouts, doubts, titles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath

from app.handles import Handle, straight_sides
from app.scene import ShownStrip
from app.window.callouts import Callout
from app.window.hatching import sliver_comb, sliver_outlines, strip_hatch
from app.window.palette import Palette
from app.window.piece_drawing import polygon_path
from app.window.sheet_painting import GHOST_DASHES, pen
from app.window.view import View
from geometry.motions import STAY, Motion, Point
from geometry.stages import JogBlend

HANDLE_PX = 9.0
#: How far past the paper a handle stands, and how much further the next one where two would meet (pixels).
HANDLE_OUT_PX = 30.0
HANDLE_NEXT_PX = 30.0
LINE_OUT_PX = 20.0
SHORT_DASHES = (6.0, 4.0)
LEGEND_LINE_PX = 30.0


@dataclass(frozen=True)
class Grip:
    """A handle where it lies on the screen: its circle, and its line from end to end (pixels)."""

    handle: Handle
    centre: Point
    line: tuple[Point, Point]


def grips_of(handles: Sequence[Handle], view: View) -> tuple[Grip, ...]:
    """Where the handles (already moved to the table) stand, set out so that no two circles meet."""
    grips: list[Grip] = []
    for handle in handles:
        at = view.px(handle.at)
        other = view.px(handle.side[0] if math.dist(handle.side[1], handle.at) < 1e-6 else handle.side[1])
        size = max(math.dist(at, other), 1e-9)
        ux, uy = (at[0] - other[0]) / size, (at[1] - other[1]) / size
        out = HANDLE_OUT_PX
        centre = (at[0] + out * ux, at[1] + out * uy)
        while any(math.dist(centre, grip.centre) < 2.6 * HANDLE_PX for grip in grips):
            out += HANDLE_NEXT_PX
            centre = (at[0] + out * ux, at[1] + out * uy)
        grips.append(Grip(handle, centre, (other, at)))
    return tuple(grips)


def paint_strip(
    painter: QPainter,
    view: View,
    strip: ShownStrip,
    motions: Sequence[Motion],
    palette: Palette,
    moving: Sequence[Handle],
) -> None:
    """The strip's hatching at its line, on both halves of an opened piece; the side that is dragged is dashed."""
    tint = QColor(palette.paper_change)
    tint.setAlpha(26)
    dragged = [handle.side[0] for handle in moving if handle.main and handle.note == strip.note]
    for motion in motions:
        outline = motion.points(strip.outline)
        path = polygon_path(outline)
        painter.setTransform(view.transform(STAY))
        painter.fillPath(path, tint)
        painter.strokePath(strip_hatch(outline, strip.added, view.scale), pen(palette.paper_change, 1.0))
        if not strip.chosen:
            painter.strokePath(path, pen(palette.paper_change, 1.1))
            continue
        for start, end in straight_sides(strip.outline):
            moves = any(math.dist(start, one) < 1e-6 for one in dragged)
            painter.setPen(pen(palette.paper_change, 1.8, SHORT_DASHES if moves else ()))
            painter.drawLine(QPointF(*motion.point(start)), QPointF(*motion.point(end)))
    painter.resetTransform()


def paint_blend(painter: QPainter, view: View, blend: JogBlend, motions: Sequence[Motion], palette: Palette) -> None:
    """The sliver between the old line and the new, with its comb."""
    old, new = sliver_outlines(blend)
    if len(old) < 2 or len(new) < 2:
        return
    sliver = QPainterPath(QPointF(*old[0]))
    for x, y in old[1:].tolist() + new[::-1].tolist():
        sliver.lineTo(x, y)
    tint = QColor(palette.paper_change)
    tint.setAlpha(70)
    comb = sliver_comb(blend, view.scale)
    for motion in motions:
        painter.setTransform(view.transform(motion))
        painter.fillPath(sliver, tint)
        painter.strokePath(comb, pen(palette.paper_change, 1.0))
    painter.resetTransform()


def paint_grip(painter: QPainter, grip: Grip, palette: Palette, *, held: bool, focused: bool) -> None:
    """The handle's line drawn on over the mat to its round handle; small arrows say which way it goes."""
    far, near = grip.line
    size = max(math.dist(far, near), 1e-9)
    ux, uy = (near[0] - far[0]) / size, (near[1] - far[1]) / size
    dashes = SHORT_DASHES if grip.handle.main else ()
    painter.setPen(pen(palette.mat_change, 1.6, dashes))
    reach = math.dist(near, grip.centre) - HANDLE_PX
    painter.drawLine(QPointF(*near), QPointF(near[0] + reach * ux, near[1] + reach * uy))
    centre = QPointF(*grip.centre)
    painter.setPen(pen(palette.mat_change, 2.4))
    painter.setBrush(QColor(palette.mat_change if held else palette.paper))
    painter.drawEllipse(centre, HANDLE_PX, HANDLE_PX)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if focused:
        painter.setPen(pen(palette.mat_ink, 1.6, (3.0, 2.0)))
        painter.drawEllipse(centre, HANDLE_PX + 4.5, HANDLE_PX + 4.5)
    _paint_arrows(painter, grip, palette.paper if held else palette.paper_change)


def _paint_arrows(painter: QPainter, grip: Grip, colour: str) -> None:
    ax, ay = grip.handle.along[0], -grip.handle.along[1]
    x, y = grip.centre
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colour))
    for sign in (-1.0, 1.0):
        tip = (x + sign * 6.0 * ax, y + sign * 6.0 * ay)
        foot = (x + sign * 2.2 * ax, y + sign * 2.2 * ay)
        arrow = QPainterPath(QPointF(*tip))
        arrow.lineTo(foot[0] - 3.0 * ay, foot[1] + 3.0 * ax)
        arrow.lineTo(foot[0] + 3.0 * ay, foot[1] - 3.0 * ax)
        painter.drawPath(arrow)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def paint_end(painter: QPainter, at: Point, palette: Palette, *, held: bool, focused: bool) -> None:
    """A square handle where a drawn line meets its edge; it slides along the edge."""
    half = HANDLE_PX * 0.75
    square = QRectF(at[0] - half, at[1] - half, 2 * half, 2 * half)
    painter.setBrush(QColor(palette.paper_change if held else palette.paper))
    painter.setPen(pen(palette.paper_change, 2.2))
    painter.drawRect(square)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if focused:
        painter.setPen(pen(palette.paper_ink, 1.6, (3.0, 2.0)))
        painter.drawRect(square.adjusted(-4.5, -4.5, 4.5, 4.5))


def callout_size(words: str, font: QFont) -> tuple[float, float]:
    """The box of a callout's words in pixels."""
    metrics = QFontMetricsF(font)
    rows = words.split("\n")
    wide = max(metrics.horizontalAdvance(row) for row in rows)
    return (math.ceil(wide) + 10.0, math.ceil(metrics.height() + (len(rows) - 1) * metrics.lineSpacing()) + 4.0)


def paint_callout(painter: QPainter, callout: Callout, palette: Palette) -> None:
    """Leader and words; what is being changed in the warm colour, what was measured in the cool one."""
    colour = palette.mat_change if callout.wanted.kind == "change" else palette.mat_measured
    painter.setPen(pen(colour, 1.0))
    start, end = (QPointF(*point) for point in callout.leader)
    painter.drawLine(start, end)
    if callout.wanted.kind == "measured":
        painter.setBrush(QColor(palette.paper_measured))
        painter.drawEllipse(QPointF(*callout.wanted.at), 2.2, 2.2)
        painter.setBrush(Qt.BrushStyle.NoBrush)
    box = QRectF(*callout.box)
    paint_plate(painter, box, palette)
    painter.setPen(QColor(colour))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, callout.wanted.words)


def paint_plate(painter: QPainter, box: QRectF, palette: Palette) -> None:
    """A quiet ground of the mat's own colour under words, so that the grid does not run through them."""
    ground = QColor(palette.mat)
    ground.setAlpha(215)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ground)
    painter.drawRoundedRect(box, 5, 5)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def paint_title(painter: QPainter, box: QRectF, words: str, palette: Palette) -> None:
    """What a piece on the table is: as traced, or redrawn."""
    paint_plate(painter, box, palette)
    painter.setPen(QColor(palette.mat_ink))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)


def paint_doubt(painter: QPainter, at: Point, palette: Palette, *, wrong: bool) -> None:
    """An exclamation mark in a triangle where something is wrong, a wave in a circle where it is to be noticed."""
    x, y = at
    if not wrong:
        _paint_notice(painter, x, y, palette)
        return
    sign = QPainterPath(QPointF(x, y - 9))
    sign.lineTo(x + 8.5, y + 6)
    sign.lineTo(x - 8.5, y + 6)
    sign.closeSubpath()
    painter.setBrush(QColor(palette.paper))
    painter.setPen(pen(palette.paper_change, 1.8))
    painter.drawPath(sign)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawLine(QPointF(x, y - 3.5), QPointF(x, y + 0.5))
    painter.drawPoint(QPointF(x, y + 3.3))


def _paint_notice(painter: QPainter, x: float, y: float, palette: Palette) -> None:
    painter.setBrush(QColor(palette.paper))
    painter.setPen(pen(palette.paper_measured, 1.8))
    painter.drawEllipse(QPointF(x, y), 8.5, 8.5)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    wave = QPainterPath(QPointF(x - 4.5, y + 1.5))
    wave.cubicTo(QPointF(x - 2.0, y - 5.5), QPointF(x + 2.0, y + 5.5), QPointF(x + 4.5, y - 1.5))
    painter.drawPath(wave)


def legend_width(words: tuple[str, str], font: QFont) -> float:
    """The width of a legend of a solid and a dashed line with their words."""
    return sum(callout_size(one, font)[0] for one in words) + 2 * (LEGEND_LINE_PX + 14.0)


def paint_legend(painter: QPainter, box: QRectF, words: tuple[str, str], palette: Palette) -> None:
    """What the solid line and the dashed line are when the two pieces lie over each other."""
    paint_plate(painter, box, palette)
    x, y = box.left() + 8.0, box.center().y()
    for index, one in enumerate(words):
        width = callout_size(one, painter.font())[0]
        line = pen(palette.mat_ink, 1.9) if index == 0 else pen(palette.mat_ghost, 1.4, GHOST_DASHES)
        painter.setPen(line)
        painter.drawLine(QPointF(x, y), QPointF(x + LEGEND_LINE_PX, y))
        painter.setPen(QColor(palette.mat_ink))
        painter.drawText(QRectF(x + LEGEND_LINE_PX, box.top(), width, box.height()), Qt.AlignmentFlag.AlignCenter, one)
        x += LEGEND_LINE_PX + width + 10.0


def paint_spot(painter: QPainter, at: QPointF, palette: Palette) -> None:
    """The place that a click or Enter would take."""
    painter.setPen(pen(palette.paper_change, 2.0))
    painter.setBrush(QColor(palette.paper))
    painter.drawEllipse(at, 5.0, 5.0)
    painter.setBrush(Qt.BrushStyle.NoBrush)
