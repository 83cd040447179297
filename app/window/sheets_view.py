"""The print on its sheets, to look at and to change by hand: pieces are dragged, moved and turned, by mouse or keys.

The widget holds no truth: it asks for another arrangement, and shows what the laying then says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QWidget

from app.laying import Laid, Laying
from app.window.look import em
from app.window.palette import Palette
from app.window.sheets_picture import HANDLE_PX, SheetPainter, Shown, handle_at, page_at
from app.window.view import View, fitted
from geometry.laid_by_hand import Arrangement, to_snap
from geometry.motions import Point

#: A piece is moved by so much (mm) with an arrow key, ten times as far with Shift, a tenth with Alt.
STEP_MM = 5.0
#: And turned freely by so many degrees, with Alt by a fifth.
STEP_DEG = 5.0
#: A drag begins after so many pixels, and draws a piece to a join from so many.
BEGINS_PX, SNAP_PX = 4.0, 7.0
_ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0), Qt.Key.Key_Right: (1.0, 0.0), Qt.Key.Key_Up: (0.0, 1.0), Qt.Key.Key_Down: (0.0, -1.0)
}


@dataclass(frozen=True)
class _Drag:
    """A piece in hand: where it was taken hold of (mm), and whether it is turned rather than moved."""

    piece: str
    start: Point
    turns: bool
    begun: bool = False


class SheetsView(QWidget):
    """``changed`` comes when pieces were laid otherwise, ``looked`` with what a drag would come to, ``chosen`` with a
    piece, ``page_clicked`` with the name of a page that was clicked, with Ctrl held, to print it again."""

    changed = Signal()
    looked = Signal(object)
    chosen = Signal(str)
    page_clicked = Signal(str)

    def __init__(self, palette: Palette) -> None:
        super().__init__()
        self._palette = palette
        self._painter = SheetPainter(palette)
        self._laying: Laying | None = None
        self._view = View()
        self._piece = ""
        self._drag: _Drag | None = None
        self._trial: tuple[Arrangement, Laid] | None = None
        self._again: frozenset[str] | None = None
        self.setMinimumSize(QSize(em() * 14, em() * 10))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("the pieces on their sheets")

    def show_laying(self, laying: Laying | None) -> None:
        """Show other pieces, or other pages."""
        self._laying, self._drag, self._trial = laying, None, None
        if laying is None or all(one.piece_id != self._piece for one in laying.drawings):
            self.choose("")
        self.look_anew()

    def look_anew(self) -> None:
        """Show how the pieces lie now, as large as there is room."""
        if self._laying is not None:
            sheet = self._laying.now.sheet
            room = (12.0, 34.0, self.width() - 12.0, self.height() - 12.0)
            self._view = fitted((0.0, 0.0, sheet.width, sheet.height), room)
        self.update()

    def show_again(self, names: frozenset[str] | None) -> None:
        """Veil the pages that are not printed again; None shows all."""
        self._again = names
        self.update()

    @property
    def piece(self) -> str:
        """The chosen piece, empty for none."""
        return self._piece

    def choose(self, piece: str) -> None:
        if piece != self._piece:
            self._piece = piece
            self.chosen.emit(piece)
            self.update()

    def turn(self, degrees: float) -> None:
        """Turn the chosen piece anticlockwise."""
        if self._laying is not None and self._piece:
            self._take(self._laying.turned(self._piece, degrees))

    def point(self, x: float, y: float) -> QPointF:
        """The pixel of a point of the sheet (mm)."""
        return self._view.at((x, y))

    # -- painting ----------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self._palette.mat))
        if self._laying is not None:
            laid = self._laying.now if self._trial is None else self._trial[1]
            free = bool(self._piece) and self._laying.turns_freely(self._piece)
            dragged = self._drag is not None and self._drag.begun
            shown = Shown(self._piece, free, laid.wrong, self._again, dragged)
            painter.setFont(self.font())
            self._painter.paint(
                painter, self._shown_view(), laid.sheet, laid.pages, self._laying.settings, shown, QRectF(self.rect())
            )
        if self.hasFocus():
            painter.setPen(QPen(QColor(self._palette.measured), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.look_anew()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def _shown_view(self) -> View:
        """The view, kept under the hand while a trial begins on other pages."""
        if self._trial is None:
            return self._view
        dx, dy = self._trial[1].beyond(self._trial[0])
        return self._view.panned(-dx * self._view.scale, dy * self._view.scale)

    # -- the mouse ---------------------------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is not Qt.MouseButton.LeftButton or self._laying is None:
            super().mousePressEvent(event)
            return
        at = (event.position().x(), event.position().y())
        start = self._view.mm(at)
        if self._on_handle(at):
            self._drag = _Drag(self._piece, start, True)
            return
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            page = page_at(self._laying.now.pages, self._laying.now.sheet, self._laying.settings, start)
            if page is not None and page.number is not None:
                self.page_clicked.emit(page.name)
            return
        found = self._laying.piece_at(start, self._piece)
        self.choose(found)
        if found:
            self._drag = _Drag(found, start, False)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = (event.position().x(), event.position().y())
        if self._laying is None:
            return
        if self._drag is None:
            over = self._on_handle(at) or self._laying.piece_at(self._view.mm(at), self._piece)
            self.setCursor(Qt.CursorShape.OpenHandCursor if over else Qt.CursorShape.ArrowCursor)
            return
        if not self._drag.begun:
            if math.dist(at, self._view.px(self._drag.start)) < BEGINS_PX:
                return
            self._drag = replace(self._drag, begun=True)
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
        freely = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        trial = self._turned_to(at, freely) if self._drag.turns else self._moved_to(at, freely)
        self._trial = (trial, self._laying.tried(trial))
        self.looked.emit(self._trial[1])
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() is not Qt.MouseButton.LeftButton:
            return
        trial, self._drag = self._trial, None
        self.setCursor(Qt.CursorShape.ArrowCursor)
        if trial is not None:
            self._take(trial[0])

    def _on_handle(self, at: Point) -> bool:
        laying = self._laying
        if laying is None or not self._piece or not laying.turns_freely(self._piece):
            return False
        return math.dist(at, handle_at(self._view, laying.box(self._piece))) <= HANDLE_PX + 4

    def _moved_to(self, at: Point, freely: bool) -> Arrangement:
        """The piece in hand under the mouse; near a join it is laid against it, unless it is moved freely."""
        assert self._laying is not None and self._drag is not None
        x, y = self._view.mm(at)
        dx, dy = x - self._drag.start[0], y - self._drag.start[1]
        if not freely:
            x0, y0, x1, y1 = self._laying.box(self._drag.piece)
            box, reach = (x0 + dx, y0 + dy, x1 + dx, y1 + dy), SNAP_PX / self._view.scale
            sx, sy = to_snap(box, self._laying.now.sheet, self._laying.settings, reach)
            dx, dy = dx + sx, dy + sy
        return self._laying.slid(self._drag.piece, dx, dy)

    def _turned_to(self, at: Point, freely: bool) -> Arrangement:
        """The piece in hand turned so that its upper side looks to the mouse: by steps, or by tenths of a degree."""
        assert self._laying is not None and self._drag is not None
        x0, y0, x1, y1 = self._laying.box(self._drag.piece)
        x, y = self._view.mm(at)
        degrees = math.degrees(math.atan2((x0 + x1) / 2 - x, y - (y0 + y1) / 2))
        step = 0.1 if freely else STEP_DEG
        return self._laying.turned(self._drag.piece, round(degrees / step) * step)

    # -- keys --------------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self._laying is None or not self._key(Qt.Key(event.key()), event.modifiers()):
            super().keyPressEvent(event)

    def _key(self, key: Qt.Key, held: Qt.KeyboardModifier) -> bool:
        """Do what a key asks; False where it asks for nothing here."""
        assert self._laying is not None
        shift = bool(held & Qt.KeyboardModifier.ShiftModifier)
        alt = bool(held & Qt.KeyboardModifier.AltModifier)
        if key == Qt.Key.Key_Space:
            self._choose_next(-1 if shift else 1)
        elif key == Qt.Key.Key_Escape and (self._drag is not None or self._piece):
            self._drag = self._trial = None
            self.choose("")
            self.looked.emit(self._laying.now)
            self.update()
        elif not self._piece or held & Qt.KeyboardModifier.ControlModifier:
            return False
        elif key in _ARROWS:
            far = STEP_MM * (10.0 if shift else 0.1 if alt else 1.0)
            self._take(self._laying.slid(self._piece, *(far * way for way in _ARROWS[key])))
        elif key == Qt.Key.Key_R:
            self.turn(90.0 if shift else -90.0)
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown) and self._laying.turns_freely(self._piece):
            degrees = STEP_DEG / 5 if alt else STEP_DEG
            self.turn(degrees if key == Qt.Key.Key_PageUp else -degrees)
        else:
            return False
        return True

    def _choose_next(self, by: int) -> None:
        assert self._laying is not None
        pieces = [drawing.piece_id for drawing in self._laying.drawings]
        at = pieces.index(self._piece) if self._piece else (-1 if by > 0 else 0)
        self.choose(pieces[(at + by) % len(pieces)])

    def _take(self, arrangement: Arrangement) -> None:
        assert self._laying is not None
        self._trial = None
        self._laying.take(arrangement)
        self.look_anew()
        self.changed.emit()

