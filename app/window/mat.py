"""The cutting mat with its grid, and the tape measures along its edges, in cm or inches, for every zoom."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen, QPixmap, QPolygonF

from app.window.palette import Palette
from app.window.view import View

#: The divisions of a mat and a tape measure in mm, from the finest, and what a number on the tape counts.
DIVISIONS = {
    "cm": ((1.0, 5.0, 10.0, 50.0, 100.0, 500.0, 1000.0, 5000.0), 10.0),
    "in": (tuple(25.4 * part for part in (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 3, 6, 12, 36, 180)), 25.4),
}
GRID_PX = 6.0
TICK_PX = 5.0
NUMBER_PX = 46.0
CARET_PX = 5.0


@dataclass(frozen=True)
class Division:
    """Every ``minor`` mm a light line or tick, every ``major`` mm a strong one; ``number`` between numbers."""

    minor: float
    major: float
    number: float
    unit: float


class Backdrop:
    """Mat and tapes painted once and kept while the view, the units, the colours and the size stay as they are."""

    def __init__(self) -> None:
        self._key: tuple[object, ...] = ()
        self._mat, self._tapes = QPixmap(), QPixmap()

    def paint_mat(self, painter: QPainter, area: QRectF, view: View, units: str, palette: Palette) -> None:
        self._prepare(painter, area, view, units, palette)
        painter.drawPixmap(0, 0, self._mat)

    def paint_tapes(self, painter: QPainter, area: QRectF, view: View, units: str, palette: Palette) -> None:
        self._prepare(painter, area, view, units, palette)
        width, ratio = tape_width(painter.font()) + 1.0, self._tapes.devicePixelRatio()
        for strip in (QRectF(0, 0, area.width(), width), QRectF(0, 0, width, area.height())):
            source = QRectF(0, 0, strip.width() * ratio, strip.height() * ratio)
            painter.drawPixmap(strip, self._tapes, source)

    def _prepare(self, painter: QPainter, area: QRectF, view: View, units: str, palette: Palette) -> None:
        ratio = painter.device().devicePixelRatioF()
        key = (area.width(), area.height(), ratio, view, units, palette, painter.font().key())
        if key == self._key:
            return
        self._key = key
        layers = []
        for paint in (paint_mat, paint_tapes):
            layer = QPixmap(int(area.width() * ratio), int(area.height() * ratio))
            layer.setDevicePixelRatio(ratio)
            on = QPainter(layer)
            on.setFont(painter.font())
            paint(on, area, view, units, palette)
            on.end()
            layers.append(layer)
        self._mat, self._tapes = layers


def division(units: str, scale: float, least_px: float) -> Division:
    """The finest division whose lines stand at least ``least_px`` pixels apart at ``scale`` pixels for each mm."""
    steps, unit = DIVISIONS[units]
    fine = next((i for i, step in enumerate(steps) if step * scale >= least_px), len(steps) - 1)
    major = steps[min(fine + 1, len(steps) - 1)]
    if major < 4 * steps[fine]:
        major = steps[min(fine + 2, len(steps) - 1)]
    number = next((step for step in steps if step * scale >= NUMBER_PX and step >= unit / 4), steps[-1])
    return Division(steps[fine], major, number, unit)


def lines_between(low: float, high: float, step: float) -> Iterator[int]:
    """The whole numbers n with n * step from low to high."""
    yield from range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)


def tape_width(font: QFont) -> float:
    """How wide a tape is in pixels, so that three figures fit on it."""
    metrics = QFontMetricsF(small(font))
    return max(24.0, math.ceil(max(metrics.height(), metrics.horizontalAdvance("−88")) + 8.0))


def small(font: QFont) -> QFont:
    """The size for figures on the tape."""
    smaller = QFont(font)
    if font.pointSizeF() > 0:
        smaller.setPointSizeF(max(font.pointSizeF() * 0.78, 6.5))
    else:
        smaller.setPixelSize(max(int(font.pixelSize() * 0.78), 9))
    return smaller


def paint_mat(painter: QPainter, area: QRectF, view: View, units: str, palette: Palette) -> None:
    """The mat and its grid over an area in pixels."""
    painter.fillRect(area, QColor(palette.mat))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    mesh = division(units, view.scale, GRID_PX)
    for step, colour in ((mesh.minor, palette.mat_grid), (mesh.number, palette.mat_grid_strong)):
        painter.setPen(QPen(QColor(colour), 1))
        painter.drawLines(_grid(area, view, step))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def _grid(area: QRectF, view: View, step: float) -> list[QLineF]:
    x0, y1 = view.mm((area.left(), area.top()))
    x1, y0 = view.mm((area.right(), area.bottom()))
    lines = []
    for n in lines_between(x0, x1, step):
        x = round(view.x + n * step * view.scale)
        lines.append(QLineF(x, area.top(), x, area.bottom()))
    for n in lines_between(y0, y1, step):
        y = round(view.y - n * step * view.scale)
        lines.append(QLineF(area.left(), y, area.right(), y))
    return lines


def paint_tapes(painter: QPainter, area: QRectF, view: View, units: str, palette: Palette) -> None:
    """The tape measures along the top and the left of an area."""
    width = tape_width(painter.font())
    font = small(painter.font())
    painter.save()
    painter.setFont(font)
    painter.fillRect(QRectF(area.left(), area.top(), area.width(), width), QColor(palette.tape))
    painter.fillRect(QRectF(area.left(), area.top(), width, area.height()), QColor(palette.tape))
    _paint_ticks(painter, area, view, units, palette, width)
    corner = QRectF(area.left(), area.top(), width, width)
    painter.fillRect(corner, QColor(palette.tape))
    painter.setPen(QColor(palette.tape_ink))
    painter.drawText(corner, Qt.AlignmentFlag.AlignCenter, units)
    painter.restore()


def _paint_ticks(
    painter: QPainter, area: QRectF, view: View, units: str, palette: Palette, width: float
) -> None:
    ticks = division(units, view.scale, TICK_PX)
    metrics = QFontMetricsF(painter.font())
    painter.setPen(QPen(QColor(palette.tape_ink), 1))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    lines = []
    x0, x1 = view.mm((area.left() + width, 0))[0], view.mm((area.right(), 0))[0]
    for n in lines_between(x0, x1, ticks.minor):
        x, long = round(view.x + n * ticks.minor * view.scale), _tick_length(n * ticks.minor, ticks)
        lines.append(QLineF(x, area.top() + width - long, x, area.top() + width))
    for n in lines_between(x0, x1, ticks.number):
        x = round(view.x + n * ticks.number * view.scale)
        figure = _figure(n * ticks.number / ticks.unit)
        if x + 3 + metrics.horizontalAdvance(figure) < area.right():
            painter.drawText(QPointF(x + 3, area.top() + metrics.ascent() + 2), figure)
    y0, y1 = view.mm((0, area.bottom()))[1], view.mm((0, area.top() + width))[1]
    for n in lines_between(y0, y1, ticks.minor):
        y, long = round(view.y - n * ticks.minor * view.scale), _tick_length(n * ticks.minor, ticks)
        lines.append(QLineF(area.left() + width - long, y, area.left() + width, y))
    for n in lines_between(y0, y1, ticks.number):
        y = round(view.y - n * ticks.number * view.scale)
        if y - metrics.height() < area.top() + width:
            continue
        painter.drawText(QPointF(area.left() + 3, y - 3), _figure(n * ticks.number / ticks.unit))
    painter.drawLines(lines)
    painter.drawLine(QLineF(area.left() + width, area.top() + width, area.right(), area.top() + width))
    painter.drawLine(QLineF(area.left() + width, area.top() + width, area.left() + width, area.bottom()))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def _tick_length(at: float, ticks: Division) -> float:
    for step, long in ((ticks.number, 10.0), (ticks.major, 7.0)):
        if abs(at / step - round(at / step)) < 1e-6:
            return long
    return 4.0


def _figure(value: float) -> str:
    """Whole figures; parts of an inch as fractions, of a centimetre as tenths."""
    whole, part = divmod(abs(value), 1.0)
    quarters = {0.25: "¼", 0.5: "½", 0.75: "¾"}
    sign = "−" if value < -1e-9 else ""
    near = next((mark for size, mark in quarters.items() if abs(part - size) < 1e-6), None)
    if near is None:
        return f"{sign}{abs(round(value)):d}"
    return f"{sign}{int(whole) or ''}{near}"


def paint_caret(painter: QPainter, area: QRectF, caret: QPointF, palette: Palette) -> None:
    """Marks on both tapes where the pointer stands."""
    width = tape_width(painter.font())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(palette.tape_ink))
    x, y, c = caret.x(), caret.y(), CARET_PX
    edge, top = area.left() + width, area.top() + width
    if x > edge:
        painter.drawPolygon(QPolygonF([QPointF(x - c, top - c), QPointF(x + c, top - c), QPointF(x, top)]))
    if y > top:
        painter.drawPolygon(QPolygonF([QPointF(edge - c, y - c), QPointF(edge - c, y + c), QPointF(edge, y)]))
