"""The table: hands on the picture. It zooms and pans, takes hold of handles, and asks; it changes nothing itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QEvent, QPointF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QToolTip, QWidget

from app.picking import Hit, What, nearest_of, spot_along, spot_near, under
from app.window.change_painting import Grip
from app.window.dragging import Drag, OnceAFrame, Pinches, step_of, stepped
from app.window.table_picture import TablePicture
from geometry.motions import Point
from geometry.notes import edge_run_length
from geometry.pieces import Piece
from geometry.units import tape_words

#: What a pointer may miss by and still mean it (pixels); a target is at least 24 pixels wide (WCAG 2.2, 2.5.8).
REACH_PX = 13.0
PAN_KEY_PX = 48.0
#: A press that moves less than this is a click (pixels).
CLICK_PX = 4.0
ZOOM_STEP = 1.25

_ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


def is_main(grips: Sequence[Grip], note: str, field: str) -> bool:
    """True unless the field is known to be another than its note's main amount."""
    return all(grip.handle.main for grip in grips if grip.handle.note == note and grip.handle.field == field)


class Table(TablePicture):
    """The picture with its gestures. Every gesture only asks, by a signal; the next draft shows what came of it."""

    #: note id, field name, the new value (mm; a share 0..1) while the note's main amount is dragged
    amount_dragged = Signal(str, str, float)
    #: note id: the hand has let go
    drag_finished = Signal(str)
    #: note id, field name, the new value while another number of the note is dragged by its line
    line_moved = Signal(str, str, float)
    #: note id, piece id, which of its places, edge id, share: a place the note was given is slid along the outline
    line_end_moved = Signal(str, str, int, str, float)
    #: piece id, edge id, share along the edge: the place that was asked for
    spot_picked = Signal(str, str, float)
    #: asking for a place was given up
    spot_refused = Signal()
    arrangement_changed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._pinches = Pinches(self)
        self._pinches.pinched.connect(self.zoom)
        self._drag: Drag | None = None
        self._pressed: QPointF | None = None
        self._panning = self._space = False
        self._asked = ""
        self._stepping: str | None = None
        self._teller = OnceAFrame(self)
        self._teller.told.connect(self._tell)
        self.controls.arrangement_chosen.connect(self._choose_arrangement)
        self.controls.meeting_chosen.connect(self.set_meeting)
        self.controls.opened_out.connect(self.set_opened)
        self.controls.zoom_asked.connect(self.zoom)
        self.controls.fit_asked.connect(self.fit)
        self.controls.set_palette(self._palette)
        self.controls.hide()

    def ask_for_place(self, says: str) -> None:
        """Ask for a place on the outline of the piece on the left; ``spot_picked`` answers, Escape gives up."""
        self._asked = self._says = says
        self.setFocus()
        self.update()

    def stop_asking(self) -> None:
        self._asked = self._says = ""
        self._spot = None
        self.update()

    def zoom(self, factor: float, about: QPointF | None = None) -> None:
        """Both pieces larger or smaller together, about a pixel or the middle of the table."""
        where = about if about is not None else QPointF(self.width() / 2, self.height() / 2)
        self._set_view(self._view.zoomed(factor, (where.x(), where.y())))

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab goes from handle to handle, then on to the next widget."""
        if self.hasFocus() and self._handle_count():
            following = self._focused + (1 if forward else -1)
            if 0 <= following < self._handle_count():
                self._focused = following
                self._say_focused()
                self.update()
                return True
            self._focused = -1
        return super().focusNextPrevChild(forward)

    def focusInEvent(self, event: QFocusEvent) -> None:
        if event.reason() is Qt.FocusReason.TabFocusReason and self._handle_count():
            self._focused = 0
        elif event.reason() is Qt.FocusReason.BacktabFocusReason:
            self._focused = self._handle_count() - 1
        self._say_focused()
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self._space = False
        super().focusOutEvent(event)
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y()
        if turned:
            self.zoom(ZOOM_STEP ** (turned / 120.0), event.position())
        elif event.angleDelta().x():
            self._set_view(self._view.panned(event.angleDelta().x() / 2.0, 0.0))
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed = event.position()
        index = self._handle_at(event.position())
        if event.button() is Qt.MouseButton.LeftButton and index is not None and not self._space and not self._asked:
            self._focused = index
            self._take_hold(index, event.position())
        else:
            self._panning = event.button() is Qt.MouseButton.MiddleButton or self._space
        self._show_cursor(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        self._caret, moved = at, QPointF()
        if self._pressed is not None and self._drag is None and self._held_end is None:
            moved = at - self._pressed
            self._panning = self._panning or moved.manhattanLength() > CLICK_PX
        if self._drag is not None:
            fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            value = self._drag.value(self._view.mm((at.x(), at.y())), self._units, fine)
            self._teller.tell(self._drag.handle.note, self._drag.handle.field, value)
        elif self._held_end is not None:
            self._slide_end(self._held_end, at)
        elif self._panning:
            self._pressed = at
            self._set_view(self._view.panned(moved.x(), moved.y()))
        else:
            self._point_at(at)
        self._show_cursor(at)
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._drag is not None or self._held_end is not None:
            self._let_go()
        elif self._asked and not self._panning and self._spot is not None:
            self._answer()
        self._pressed, self._panning = None, False
        self._show_cursor(event.position())

    def leaveEvent(self, event: QEvent) -> None:
        self._caret = self._pointed = None
        self._says = self._asked
        self.update()
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        if self._asked and self._answer_by_key(key):
            return
        if key == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = True
            self.setCursor(Qt.CursorShape.OpenHandCursor)
        elif key in _ARROWS:
            self._arrow(_ARROWS[key], bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(ZOOM_STEP)
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self.zoom(1 / ZOOM_STEP)
        elif key == Qt.Key.Key_0 and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.fit()
        elif key == Qt.Key.Key_Escape and self._focused >= 0:
            self._focused = -1
            self.update()
        else:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if event.isAutoRepeat():
            return
        if event.key() == Qt.Key.Key_Space:
            self._space = False
            self.unsetCursor()
        if self._stepping is not None and event.key() in _ARROWS:
            note, self._stepping = self._stepping, None
            self._teller.flush()
            self.drag_finished.emit(note)
        super().keyReleaseEvent(event)

    def _choose_arrangement(self, arrangement: str) -> None:
        self.set_arrangement(arrangement)
        self.arrangement_changed.emit(arrangement)

    def _handle_count(self) -> int:
        """Round handles and then the square ones at the ends of a drawn line, in the order of Tab."""
        return len(self._grips) + (len(self._scene.ends) if self._scene is not None else 0)

    def _handle_at(self, at: QPointF) -> int | None:
        places = [grip.centre for grip in self._grips]
        if self._scene is not None and self._laid is not None:
            places += [self._view.px(self._laid.before.point(end.at)) for end in self._scene.ends]
        return nearest_of(places, (at.x(), at.y()), REACH_PX)

    def _take_hold(self, index: int, at: QPointF) -> None:
        if index < len(self._grips):
            self._held = self._grips[index].handle
            self._drag = Drag(self._held, self._view.mm((at.x(), at.y())))
        else:
            self._held_end = index - len(self._grips)
        self.update()

    def _slide_end(self, index: int, at: QPointF) -> None:
        """The place on the outline nearest to the pointer becomes the place of the note."""
        assert self._scene is not None and self._laid is not None
        point = self._laid.before.undone().point(self._view.mm((at.x(), at.y())))
        spot = spot_near(self._scene.before.piece, point)
        if spot is not None and index < len(self._scene.ends):
            self._teller.tell(self._scene.ends[index].note, self._piece_id, index, spot.edge, spot.share)

    def _let_go(self) -> None:
        note = self._held.note if self._held is not None else self._stepped_end_note()
        self._teller.flush()
        self._drag = self._held = self._held_end = None
        self.drag_finished.emit(note)
        if self._draft is not None:
            self.show_draft(self._draft, self._piece_id, self._shown_note)

    def _stepped_end_note(self) -> str:
        ends = self._scene.ends if self._scene is not None else ()
        return ends[0].note if ends else (self._shown_note or "")

    def _tell(self, what: tuple[Any, ...]) -> None:
        if len(what) == 5:
            self.line_end_moved.emit(*what)
            return
        note, field, value = what
        main = is_main(self._grips, note, field) if self._held is None else self._held.main
        (self.amount_dragged if main else self.line_moved).emit(note, field, value)

    def _arrow(self, way: Point, fine: bool) -> None:
        """Steps the handle that has the focus along its way; without one the table is pushed."""
        if not 0 <= self._focused < self._handle_count():
            self._set_view(self._view.panned(-way[0] * PAN_KEY_PX, way[1] * PAN_KEY_PX))
            return
        if self._focused >= len(self._grips):
            self._step_end(self._focused - len(self._grips), way)
            return
        handle = self._grips[self._focused].handle
        along = way[0] * handle.along[0] + way[1] * handle.along[1]
        sign = 1.0 if (along if abs(along) > 0.3 else way[0] + way[1]) > 0 else -1.0
        value = stepped(handle, handle.value + sign * step_of(handle, self._units, fine), self._units, fine)
        self._stepping = handle.note
        self._teller.flush()
        self._teller.tell(handle.note, handle.field, value)
        self._say_focused()

    def _step_end(self, index: int, way: Point) -> None:
        """A place slides 1 mm along its edge, the way the arrow points."""
        assert self._scene is not None
        end, piece = self._scene.ends[index], self._scene.before.piece
        spot, edge = spot_near(piece, end.at), piece.edge(end.edge)
        if spot is None:
            return
        tx, ty = edge.chain.tangent(edge.chain.nearest(end.at)[0])
        sign = 1.0 if way[0] * tx + way[1] * ty > 0 else -1.0
        share = spot_along(piece, end.edge, spot.share + sign / edge_run_length(edge)).share
        self._stepping = end.note
        self._teller.flush()
        self._teller.tell(end.note, self._piece_id, index, end.edge, share)

    def _say_focused(self) -> None:
        if 0 <= self._focused < len(self._grips):
            handle = self._grips[self._focused].handle
            said = f"{handle.value:.0%}" if handle.unit == "share" else tape_words(handle.value, self._units)
            self.setAccessibleDescription(f"{handle.label} {said}; arrow keys change it")

    def _point_at(self, at: QPointF) -> None:
        """Say what lies under the pointer; nothing is kept of it but the words and the edge that lights up."""
        self._pointed = None
        if self._scene is None or self._laid is None:
            return
        point = self._view.mm((at.x(), at.y()))
        if self._asked:
            here = self._laid.before.undone().point(point)
            self._spot = spot_near(self._scene.before.piece, here, 3 * REACH_PX / self._view.scale)
            self._says = self._asked if self._spot is None else self._spot_words()
            return
        self._show_doubt(at)
        self._says = ""
        sheets = self._sheets(self._scene, self._laid)
        for which in (1, 0):
            for motion in sheets[which].motions:
                hit = under(sheets[which].piece, motion.undone().point(point), 0.6 * REACH_PX / self._view.scale)
                if hit is not None:
                    self._say_hit(which, sheets[which].piece, hit)
                    return

    def _say_hit(self, which: int, piece: Piece, hit: Hit) -> None:
        if hit.what is What.EDGE:
            self._pointed = (which, hit.id)
            self._says = f"{hit.name} {tape_words(piece.edge(hit.id).length, self._units)}"
        elif hit.what is not What.PAPER:
            self._says = hit.name

    def _show_doubt(self, at: QPointF) -> None:
        assert self._scene is not None and self._laid is not None
        doubts = self._doubts(self._scene, self._laid)
        index = nearest_of([mark.at for mark in doubts], (at.x(), at.y()), REACH_PX)
        if index is None:
            QToolTip.hideText()
        else:
            QToolTip.showText(self.mapToGlobal(at.toPoint()), doubts[index].says, self)

    def _spot_words(self) -> str:
        assert self._spot is not None
        return f"{self._asked}  {self._spot.name}, {tape_words(self._spot.length, self._units)} along it"

    def _answer(self) -> None:
        assert self._spot is not None
        edge, share = self._spot.edge, self._spot.share
        self.stop_asking()
        self.spot_picked.emit(self._piece_id, edge, share)

    def _answer_by_key(self, key: Qt.Key) -> bool:
        """Up and down go from edge to edge, left and right along it, Enter takes the place, Escape gives up."""
        if self._scene is None:
            return False
        piece = self._scene.before.piece
        if key == Qt.Key.Key_Escape:
            self.stop_asking()
            self.spot_refused.emit()
            return True
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._spot is not None:
            self._answer()
            return True
        if key not in _ARROWS:
            return False
        way = _ARROWS[key]
        edges = [edge.id for edge in piece.edges]
        if self._spot is None:
            self._spot = spot_along(piece, edges[0], 0.5)
        elif way[1]:
            self._spot = spot_along(piece, edges[(edges.index(self._spot.edge) + int(way[1])) % len(edges)], 0.5)
        else:
            whole = edge_run_length(piece.edge(self._spot.edge))
            self._spot = spot_along(piece, self._spot.edge, self._spot.share + way[0] / whole)
        self._says = self._spot_words()
        self.update()
        return True

    def _show_cursor(self, at: QPointF) -> None:
        if self._drag is not None:
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
        elif self._panning:
            self.setCursor(Qt.CursorShape.SizeAllCursor)
        elif self._asked:
            self.setCursor(Qt.CursorShape.CrossCursor)
        elif self._space or self._handle_at(at) is not None:
            self.setCursor(Qt.CursorShape.OpenHandCursor)
        else:
            self.unsetCursor()
