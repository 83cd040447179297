"""The file's lines or the picture, always in view, with what was found laid over: outline, corners, edges, marks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from app.tracing.found import Found, FoundPage, FoundPicture
from app.tracing.laid_over import SeenEdge, SeenPiece
from app.window.look import em
from app.window.palette import Palette
from app.window.piece_drawing import path_of
from app.window.trace_tools import NEAR_PX, Tool
from app.window.view import Box, View, fitted
from geometry.motions import Motion, Point

ZOOM_STEP = 1.2
_NEAR_PX, _CLICK_PX = 10.0, 4.0
_CORNER_PX, _MARK_PX = 4.5, 5.0
#: Names of edges stand on a piece that is so wide on the screen, numbers alone on a smaller one (em).
_ROOM_FOR_NAMES = 9
_EMPTY: Box = (0.0, 0.0, 200.0, 200.0)


@dataclass(frozen=True, eq=False)
class Under:
    """A picture with the box (x0, y0, x1, y1, y up) that it covers."""

    image: QImage
    box: Box


@lru_cache(maxsize=4)
def under(picture: FoundPicture) -> Under:
    """A picture decoded to be laid under what was found; those that were shown last are kept."""
    return Under(QImage.fromData(picture.jpeg), picture.box)


class TracePicture(QWidget):
    """Paper with what was read and what was found on it. ``edge_picked`` brings a piece's id and an edge's place,
    ``tool_left`` says that what is being done in it should be left."""

    edge_picked = Signal(str, int)
    tool_left = Signal()

    def __init__(self, palette: Palette) -> None:
        super().__init__()
        self._palette = palette
        self._view, self._fitted = View(), True
        self._under: Under | None = None
        self._drawn: list[QPainterPath] = []
        self._pages: tuple[FoundPage, ...] = ()
        self._waits = ""
        self._pieces: tuple[SeenPiece, ...] = ()
        self._box: Box = _EMPTY
        self._chosen: tuple[str, int] | None = None
        self._pressed: QPointF | None = None
        self._panned = self._holds = False
        self._tool: Tool | None = None
        #: How much is covered at its top (px).
        self.covered = self._top = 0
        self.setMinimumSize(em() * 20, em() * 16)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("The file with what was found")
        self.setToolTip("Wheel or + and − to look closer, drag or arrow keys to move, click an edge to choose it")

    # -- what is shown ---------------------------------------------------------------------------------------------

    def show_found(self, found: Found | None, pieces: tuple[SeenPiece, ...], under: Under | None) -> None:
        """Show what was read of a file and the pieces found in it; the view stays while the size does."""
        self._under = under
        # Over a photo its own outline is drawn as the pieces' edges.
        self._drawn = [] if found is None or under else [path_of(line.chain) for line in found.lines]
        self._pieces = pieces
        self._pages = () if found is None else found.pages
        box = self._whole(found)
        if box != self._box:
            self._box = box
            self.fit()
        elif self._fitted:
            self._fit()
        self.update()

    def wait(self, words: str) -> None:
        """Say what is waited for, while there is nothing to show yet."""
        self._waits = words
        self.update()

    def choose(self, piece: str, edge: int) -> None:
        """Show one edge as the one that is spoken of."""
        self._chosen = (piece, edge)
        self.update()

    def take_up(self, tool: Tool | None) -> None:
        """Let the mouse do something else than look, or nothing else again."""
        self._tool, self._holds = tool, False
        if tool is not None:
            self.setFocus(Qt.FocusReason.OtherFocusReason)
        self.setCursor(Qt.CursorShape.ArrowCursor if tool is None else Qt.CursorShape.CrossCursor)
        self.update()

    @property
    def tool(self) -> Tool | None:
        return self._tool

    @property
    def pieces(self) -> tuple[SeenPiece, ...]:
        return self._pieces

    @property
    def view(self) -> View:
        return self._view

    def edge_at(self, pixel: QPointF) -> tuple[str, int] | None:
        """The edge that lies under a pixel, or near it."""
        at = self._view.mm((pixel.x(), pixel.y()))
        near = [
            (edge.line.nearest(at)[1] * self._view.scale, piece.id, place)
            for piece in self._pieces
            for place, edge in enumerate(piece.edges)
        ]
        best = min(near, default=None)
        return None if best is None or best[0] > _NEAR_PX else best[1:]

    def corner_at(self, pixel: QPointF) -> Point | None:
        """The corner (mm) that lies under a pixel, or near it."""
        at = self._view.mm((pixel.x(), pixel.y()))
        corners = [edge.line.start for piece in self._pieces for edge in piece.edges]
        best = min(corners, key=lambda corner: math.dist(corner, at), default=None)
        near = best is not None and math.dist(best, at) * self._view.scale <= NEAR_PX
        return best if near else None

    def _whole(self, found: Found | None) -> Box:
        """All that is shown; parts that were joined may lie outside of what was drawn."""
        boxes = [edge.line.box for piece in self._pieces for edge in piece.edges]
        if self._under is not None:
            boxes.append(self._under.box)
        elif found is not None:
            boxes += [line.chain.box for line in found.lines]
        boxes += [page.frame or page.paper for page in self._pages]
        if not boxes:
            return _EMPTY
        return (
            min(box[0] for box in boxes), min(box[1] for box in boxes),
            max(box[2] for box in boxes), max(box[3] for box in boxes),
        )  # fmt: skip

    # -- looking closer --------------------------------------------------------------------------------------------

    def fit(self) -> None:
        """Show all of it, below what covers the top."""
        self._top = self.covered
        self._fit()

    def _fit(self) -> None:
        """Show all of it where it was shown before: nothing moves under the hand when a tool is taken up."""
        margin = em() * 2
        room = (margin, margin + self._top, self.width() - margin, self.height() - margin)
        self._view, self._fitted = fitted(self._box, room), True
        self.update()

    def zoom(self, factor: float, about: QPointF | None = None) -> None:
        """Look closer or further, about a pixel or the middle."""
        at = about or QPointF(self.width() / 2, self.height() / 2)
        self._view, self._fitted = self._view.zoomed(factor, (at.x(), at.y())), False
        self.update()

    def pan(self, dx: float, dy: float) -> None:
        self._view, self._fitted = self._view.panned(dx, dy), False
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._fitted:
            self._fit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.zoom(ZOOM_STEP ** (event.angleDelta().y() / 120.0), event.position())
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed, self._panned = event.position(), False
        self._holds = self._tool is not None and self._tool.press(self._mm(event), self._view)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._pressed is None:
            return
        if self._holds and self._tool is not None:
            self._tool.drag(self._mm(event))
            return
        moved = event.position() - self._pressed
        if self._panned or moved.manhattanLength() > _CLICK_PX:
            self._panned = True
            self.pan(moved.x(), moved.y())
            self._pressed = event.position()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        pressed, self._pressed = self._pressed, None
        if self._holds and self._tool is not None:
            self._holds = False
            self._tool.drop()
        elif pressed is not None and not self._panned:
            if self._tool is not None and self._tool.click(self._mm(event), self._view):
                return
            found = self.edge_at(event.position())
            if found is not None:
                self.choose(*found)
                self.edge_picked.emit(*found)

    def _mm(self, event: QMouseEvent) -> Point:
        at = event.position()
        return self._view.mm((at.x(), at.y()))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows move the picture, with Shift by little; Enter clicks or takes hold in its middle, or lets go there."""
        step = 2 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else em() * 3
        ways = {Qt.Key.Key_Left: (step, 0), Qt.Key.Key_Right: (-step, 0), Qt.Key.Key_Up: (0, step)}
        ways[Qt.Key.Key_Down] = (0, -step)
        if event.key() in ways:
            self.pan(*ways[Qt.Key(event.key())])
            if self._holds and self._tool is not None:
                self._tool.drag(self._view.mm(self._middle()))
        elif self._tool is not None and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._press_in_the_middle(self._tool)
        elif self._tool is not None and event.key() == Qt.Key.Key_Escape:
            self.tool_left.emit()
        elif event.key() in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(ZOOM_STEP)
        elif event.key() == Qt.Key.Key_Minus:
            self.zoom(1 / ZOOM_STEP)
        elif event.key() == Qt.Key.Key_0:
            self.fit()
        else:
            super().keyPressEvent(event)

    def _middle(self) -> Point:
        return (self.width() / 2, self.height() / 2)

    def _press_in_the_middle(self, tool: Tool) -> None:
        if self._holds:
            self._holds = False
            tool.drop()
            return
        at = self._view.mm(self._middle())
        self._holds = tool.press(at, self._view)
        if not self._holds:
            tool.click(at, self._view)
        self.update()

    # -- painting --------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self._palette.mat))
        self._paint_under(painter)
        painter.setTransform(self._view.transform(Motion()))
        painter.setPen(_pen(self._palette.paper_quiet, 1.0))
        for path in self._drawn:
            painter.drawPath(path)
        for piece in self._pieces:
            self._paint_lines(painter, piece)
        painter.resetTransform()
        for piece in self._pieces:
            self._paint_marks(painter, piece)
        taken: list[QRectF] = []
        for piece in self._pieces:
            self._paint_names(painter, piece, taken)
        if self._tool is not None:
            self._tool.paint(painter, self._view, self._palette)
            if self.hasFocus():
                self._paint_cross(painter)
        painter.end()

    def _paint_cross(self, painter: QPainter) -> None:
        """The place that the keyboard works at."""
        x, y = self._middle()
        for colour, width in ((self._palette.paper, 3.0), (self._palette.paper_ink, 1.0)):
            painter.setPen(_pen(colour, width))
            for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
                painter.drawLine(QPointF(x + 4 * dx, y + 4 * dy), QPointF(x + 12 * dx, y + 12 * dy))

    def _paint_under(self, painter: QPainter) -> None:
        x0, y0, x1, y1 = self._box if self._under is None else self._under.box
        place = QRectF(self._view.at((x0, y1)), self._view.at((x1, y0)))
        if self._under is not None:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(place, self._under.image)
        elif self._pages:
            self._paint_pages(painter)
        elif self._drawn:
            edge = em()
            painter.fillRect(place.adjusted(-edge, -edge, edge, edge), QColor(self._palette.paper))
        else:
            painter.setPen(QColor(self._palette.mat_ink))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self._waits)

    def _paint_pages(self, painter: QPainter) -> None:
        """The pages as they were laid, with their joins and numbers."""
        for page in self._pages:
            x0, y0, x1, y1 = page.frame or page.paper
            place = QRectF(self._view.at((x0, y1)), self._view.at((x1, y0)))
            painter.setPen(_pen(self._palette.paper_quiet, 1.0, dashed=page.frame is not None))
            painter.setBrush(QColor(self._palette.paper))
            painter.drawRect(place)
            painter.setPen(QColor(self._palette.paper_quiet))
            inside = place.adjusted(em() / 3, em() / 4, 0, 0)
            whole = f"page {page.number}"
            fits = QFontMetricsF(painter.font()).horizontalAdvance(whole) <= inside.width()
            words = whole if fits else f"{page.number}"
            painter.drawText(inside, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, words)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _paint_lines(self, painter: QPainter, piece: SeenPiece) -> None:
        painter.setPen(_pen(self._palette.paper_measured, 1.6, dashed=True))
        for line in piece.lines:
            painter.drawPath(path_of(line))
        for place, edge in enumerate(piece.edges):
            chosen = self._chosen == (piece.id, place)
            if self._under is not None:
                painter.setPen(_pen(self._palette.paper, 5.0 if chosen else 4.0))
                painter.drawPath(path_of(edge.line))
            colour = self._palette.paper_change if chosen else self._palette.paper_measured
            painter.setPen(_pen(colour, 3.4 if chosen else 2.0))
            painter.drawPath(path_of(edge.line))

    def _paint_marks(self, painter: QPainter, piece: SeenPiece) -> None:
        painter.setPen(_pen(self._palette.paper_measured, 2.0))
        painter.setBrush(QColor(self._palette.paper))
        for point in piece.dots:
            painter.drawEllipse(self._view.at(point), _MARK_PX, _MARK_PX)
        for point in piece.notches:
            at = self._view.at(point)
            corners = [at + QPointF(-_MARK_PX, _MARK_PX), at + QPointF(_MARK_PX, _MARK_PX), at + QPointF(0, -_MARK_PX)]
            painter.drawPolygon(corners)
        painter.setBrush(QColor(self._palette.paper_measured))
        painter.setPen(_pen(self._palette.paper, 1.0))
        for edge in piece.edges:
            painter.drawEllipse(self._view.at(edge.line.start), _CORNER_PX, _CORNER_PX)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _paint_names(self, painter: QPainter, piece: SeenPiece, taken: list[QRectF]) -> None:
        font = QFont(painter.font())
        # On a small piece the names would cover the lines and each other.
        numbers_alone = self._view.scale * min(piece.size_mm) < em() * _ROOM_FOR_NAMES
        for place, edge in enumerate(piece.edges):
            chosen = self._chosen == (piece.id, place)
            font.setBold(chosen)
            painter.setFont(font)
            words = f"{place + 1}" if numbers_alone and not chosen else f"{place + 1} {edge.name}"
            self._paint_label(painter, words, self._beside(edge, font, words), taken)
        font.setBold(True)
        painter.setFont(font)
        self._paint_label(painter, piece.name, self._view.at(_middle(piece)), taken)

    def _beside(self, edge: SeenEdge, font: QFont, label: str) -> QPointF:
        """The middle of an edge's label: beside the middle of the edge, on the inner side, which lies left of it."""
        u = edge.line.at_length(edge.line.length / 2)
        along, on = edge.line.tangent(u), self._view.at(edge.line.point(u))
        inward = QPointF(-along[1], -along[0])
        words = QFontMetricsF(font).boundingRect(label)
        off = abs(inward.x()) * words.width() / 2 + abs(inward.y()) * words.height() / 2 + em() * 2 / 3
        return QPointF(on.x() + inward.x() * off, on.y() + inward.y() * off)

    def _paint_label(self, painter: QPainter, words: str, middle: QPointF, taken: list[QRectF]) -> None:
        """A label, below those that stand in its place already."""
        box = QFontMetricsF(painter.font()).boundingRect(words)
        room = QRectF(QPointF(), QSizeF(box.width() + em() / 2, box.height() + 2))
        room.moveCenter(middle)
        while (over := next((one for one in taken if one.intersects(room)), None)) is not None:
            room.moveTop(over.bottom() + 1)
        taken.append(room)
        ground = QColor(self._palette.paper)
        ground.setAlpha(225)
        painter.fillRect(room, ground)
        painter.setPen(QColor(self._palette.paper_ink))
        painter.drawText(room, Qt.AlignmentFlag.AlignCenter, words)


def _middle(piece: SeenPiece) -> Point:
    boxes = [edge.line.box for edge in piece.edges]
    x0, y0 = min(box[0] for box in boxes), min(box[1] for box in boxes)
    x1, y1 = max(box[2] for box in boxes), max(box[3] for box in boxes)
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _pen(colour: str, width: float, *, dashed: bool = False) -> QPen:
    pen = QPen(QColor(colour), width)
    pen.setCosmetic(True)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    if dashed:
        pen.setDashPattern([4, 3])
    return pen
