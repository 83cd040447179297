"""Painting a print on its sheets: the pages, which carry ink, where they are joined, and the pieces over them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QTransform

from app.window.palette import Palette
from app.window.sheet_painting import pen
from app.window.sheet_pen import PathPen, paint, pictured
from app.window.view import View
from geometry.drawing import Box, Placed
from geometry.motions import Point
from geometry.pens import Role
from geometry.sheets import Page, Sheet, SheetSettings

#: The handle by which a piece is turned freely stands so far above its box (pixels), and is so large.
HANDLE_AWAY, HANDLE_PX = 22.0, 8.0


@dataclass(frozen=True)
class Shown:
    """What stands out: the chosen piece and whether it turns freely, the pieces that lie over others, the pages to
    print again (none for all), and whether pages beyond the sheet are shown, onto which a piece is being dragged."""

    chosen: str = ""
    freely: bool = False
    wrong: frozenset[str] = frozenset()
    again: frozenset[str] | None = None
    beyond: bool = False


class SheetPainter:
    """Paints sheets; the paths of a piece are kept while it lies where it lay."""

    def __init__(self, palette: Palette) -> None:
        self._palette = palette
        self._paths: dict[int, tuple[Placed, PathPen]] = {}

    def paths(self, placed: Placed) -> PathPen:
        """What is drawn of a piece, in the sheet's frame."""
        kept = self._paths.get(id(placed))
        if kept is None:
            kept = self._paths[id(placed)] = (placed, pictured(placed.there))
        return kept[1]

    def paint(
        self, painter: QPainter, view: View, sheet: Sheet, pages: Iterable[Page], settings: SheetSettings, shown: Shown,
        area: QRectF,
    ) -> None:
        """The sheet in a view; ``area`` is what the widget shows."""
        if shown.beyond:
            self._paint_beyond(painter, view, settings, area)
        pages = tuple(pages)
        for page in pages:
            self._paint_page(painter, view, page, sheet, settings)
        for page in pages:
            if page.number is not None and shown.again is not None and page.name not in shown.again:
                painter.fillRect(_box(view, _live(page, settings)), _veil(self._palette.mat))
        self._paint_pieces(painter, view, sheet, shown)
        self._paint_names(painter, view, pages, settings)
        living = {id(placed) for placed in sheet.placed}
        self._paths = {key: one for key, one in self._paths.items() if key in living}

    def _paint_page(self, painter: QPainter, view: View, page: Page, sheet: Sheet, settings: SheetSettings) -> None:
        """What a page keeps when it is taped on white; what it shares with its neighbours between two light frames."""
        live = _live(page, settings)
        keeps = _kept(page, sheet, settings)
        if page.number is None:
            box = _box(view, keeps)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen(self._palette.mat_ghost, 1.0, (4, 4)))
            painter.drawRect(box)
            painter.drawLine(box.topLeft(), box.bottomRight())
            painter.drawLine(box.topRight(), box.bottomLeft())
            return
        painter.fillRect(_box(view, live), QColor(self._palette.paper))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(self._palette.paper_ghost, 0.5))
        painter.drawRect(_box(view, live))
        painter.setPen(pen(self._palette.paper_measured, 1.2, (6, 3)))
        painter.drawRect(_box(view, keeps))

    def _paint_beyond(self, painter: QPainter, view: View, settings: SheetSettings, area: QRectF) -> None:
        """Joins wherever there might be pages, lightly."""
        painter.setPen(pen(self._palette.mat_grid_strong, 1.0, (2, 4)))
        (x0, y1), (x1, y0) = view.mm((area.left(), area.top())), view.mm((area.right(), area.bottom()))
        half = settings.overlap_mm / 2
        for k in range(math.floor((x0 - half) / settings.step[0]), math.ceil((x1 - half) / settings.step[0]) + 1):
            x = view.px((k * settings.step[0] + half, 0.0))[0]
            painter.drawLine(QPointF(x, area.top()), QPointF(x, area.bottom()))
        for k in range(math.floor((y0 - half) / settings.step[1]), math.ceil((y1 - half) / settings.step[1]) + 1):
            y = view.px((0.0, k * settings.step[1] + half))[1]
            painter.drawLine(QPointF(area.left(), y), QPointF(area.right(), y))

    def _paint_pieces(self, painter: QPainter, view: View, sheet: Sheet, shown: Shown) -> None:
        """Every piece as it is printed; the chosen one tinted and last, those that lie over others hatched."""
        for placed in sorted(sheet.placed, key=lambda one: one.piece_id == shown.chosen):
            paths, chosen = self.paths(placed), placed.piece_id == shown.chosen
            lacking, wrong = (Role.CUT, "") not in paths.lines, placed.piece_id in shown.wrong
            outline = paths.lines.get((Role.STITCH if lacking else Role.CUT, ""), QPainterPath())
            painter.save()
            painter.translate(view.x, view.y)
            painter.scale(view.scale, view.scale)
            if chosen or wrong:
                painter.fillPath(outline, _tint(self._palette.paper_change if wrong else self._palette.paper_measured))
            if wrong:
                painter.fillPath(outline, _hatching(self._palette.paper_change, view.scale))
            paint(painter, paths, view.scale)
            if wrong or lacking:
                painter.strokePath(outline, pen(self._palette.paper_change, 2.0, (8, 4)))
            elif chosen:
                painter.strokePath(outline, pen(self._palette.paper_measured, 2.2))
            painter.restore()
            if chosen and shown.freely:
                self._paint_handle(painter, view, placed.there.bounds())

    def _paint_handle(self, painter: QPainter, view: View, box: Box) -> None:
        at = handle_at(view, box)
        painter.setPen(pen(self._palette.mat_measured, 1.6))
        painter.drawLine(QPointF(at[0], at[1] + HANDLE_AWAY), QPointF(*at))
        painter.setBrush(QColor(self._palette.paper))
        painter.drawEllipse(QPointF(*at), HANDLE_PX, HANDLE_PX)
        painter.drawArc(QRectF(at[0] - 4, at[1] - 4, 8, 8), 60 * 16, 270 * 16)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _paint_names(
        self, painter: QPainter, view: View, pages: Iterable[Page], settings: SheetSettings
    ) -> None:
        """Each page's name in its upper left corner, on its own ground so that it is read over any line."""
        metrics = painter.fontMetrics()
        for page in pages:
            if page.number is None:
                continue
            box = _box(view, _live(page, settings))
            half = settings.overlap_mm * view.scale
            high, wide = metrics.height() + 2, metrics.horizontalAdvance(page.name) + 8
            if wide > box.width() or high > box.height():
                continue
            label = QRectF(box.left() + half + 2, box.top() + half + 2, wide, high)
            painter.setPen(Qt.PenStyle.NoPen)
            ground = QColor(self._palette.paper)
            ground.setAlpha(225)
            painter.setBrush(ground)
            painter.drawRoundedRect(label, 4, 4)
            painter.setPen(QColor(self._palette.paper_measured))
            painter.drawText(label, Qt.AlignmentFlag.AlignCenter, page.name)
        painter.setBrush(Qt.BrushStyle.NoBrush)


def handle_at(view: View, box: Box) -> Point:
    """The pixel of the handle above a piece's box; below its upper edge where it would lie outside the picture."""
    x, y = view.px(((box[0] + box[2]) / 2, box[3]))
    return (x, max(y - HANDLE_AWAY, HANDLE_PX + 2))


def page_at(pages: Iterable[Page], sheet: Sheet, settings: SheetSettings, point: Point) -> Page | None:
    """The page that keeps a point of the sheet when it is taped."""
    for page in pages:
        x0, y0, x1, y1 = _kept(page, sheet, settings)
        if x0 <= point[0] <= x1 and y0 <= point[1] <= y1:
            return page
    return None


def _live(page: Page, settings: SheetSettings) -> Box:
    (x, y), (wide, high) = page.origin, settings.live
    return (x, y, x + wide, y + high)


def _kept(page: Page, sheet: Sheet, settings: SheetSettings) -> Box:
    """From join to join, or to the edge of the sheet."""
    x0, y0, x1, y1 = _live(page, settings)
    half = settings.overlap_mm / 2
    return (
        x0 + (half if x0 > 1e-6 else 0.0), y0 + (half if y0 > 1e-6 else 0.0),
        x1 - (half if x1 < sheet.width - 1e-6 else 0.0), y1 - (half if y1 < sheet.height - 1e-6 else 0.0),
    )


def _box(view: View, box: Box) -> QRectF:
    return QRectF(view.at((box[0], box[3])), view.at((box[2], box[1])))


def _tint(colour: str) -> QColor:
    tint = QColor(colour)
    tint.setAlpha(28)
    return tint


def _veil(colour: str) -> QColor:
    veil = QColor(colour)
    veil.setAlpha(190)
    return veil


def _hatching(colour: str, scale: float) -> QBrush:
    brush = QBrush(QColor(colour), Qt.BrushStyle.BDiagPattern)
    brush.setTransform(QTransform().scale(1 / scale, 1 / scale))
    return brush
