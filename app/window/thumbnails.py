"""Small drawings of a piece: its outline now, and dashed as it was traced."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPainterPath, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QWidget

from app.window.palette import Palette
from geometry.lines import Chain
from geometry.pieces import Piece


def path_of(chain: Chain) -> QPainterPath:
    """The path of a chain, y turned over for the screen."""
    path = QPainterPath(QPointF(chain.start[0], -chain.start[1]))
    for cubic, straight in zip(chain.cubics.tolist(), chain.straight.tolist(), strict=True):
        if straight:
            path.lineTo(cubic[3][0], -cubic[3][1])
        else:
            path.cubicTo(cubic[1][0], -cubic[1][1], cubic[2][0], -cubic[2][1], cubic[3][0], -cubic[3][1])
    return path


def outline_path(piece: Piece) -> QPainterPath:
    """The stitching line of a piece as one closed path."""
    path = path_of(piece.edges[0].chain)
    for edge in piece.edges[1:]:
        path.connectPath(path_of(edge.chain))
    path.closeSubpath()
    return path


class Thumbnail(QWidget):
    """A small drawing of a piece that fills its widget."""

    def __init__(self, palette: Palette) -> None:
        super().__init__()
        self._palette = palette
        self._now: Piece | None = None
        self._was: Piece | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)

    def show_piece(self, now: Piece | None, was: Piece | None = None) -> None:
        """Draw ``now``, and ``was`` dashed under it where it is another."""
        if now is not self._now or was is not self._was:
            self._now, self._was = now, was
            self.update()

    def set_palette(self, palette: Palette) -> None:
        self._palette = palette
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._now is not None:
            painter = QPainter(self)
            draw_small(painter, QRectF(self.rect()), self._now, self._was, self._palette)
            painter.end()


def draw_small(painter: QPainter, box: QRectF, now: Piece, was: Piece | None, palette: Palette) -> None:
    """Draw a piece to fill a box, on paper; ``was`` dashed, both to the same scale."""
    paths = [outline_path(now)] + ([outline_path(was)] if was is not None and was is not now else [])
    bounds = paths[0].boundingRect()
    for path in paths[1:]:
        bounds = bounds.united(path.boundingRect())
    scale = min((box.width() - 4) / max(bounds.width(), 1), (box.height() - 4) / max(bounds.height(), 1))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(box.center())
    painter.scale(scale, scale)
    painter.translate(-bounds.center())
    painter.setBrush(QColor(palette.paper))
    painter.setPen(_pen(palette.line if palette.name == "dark" else palette.paper_ink, 1.3))
    painter.drawPath(paths[0])
    if len(paths) > 1:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(_pen(palette.change, 1.2, dashed=True))
        painter.drawPath(paths[1])


def piece_icon(piece: Piece, size: QSize, palette: Palette, ratio: float) -> QIcon:
    """A drawing of a piece as an icon, ``ratio`` device pixels a pixel."""
    pixmap = QPixmap(size * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    draw_small(painter, QRectF(0, 0, size.width(), size.height()), piece, None, palette)
    painter.end()
    return QIcon(pixmap)


def _pen(colour: str, width: float, *, dashed: bool = False) -> QPen:
    pen = QPen(QColor(colour), width)
    pen.setCosmetic(True)
    if dashed:
        pen.setDashPattern([3, 3])
    return pen
