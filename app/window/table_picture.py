"""The picture on the table: what of a draft is shown, where it lies, and how it is painted. No input here."""

from __future__ import annotations

import numpy as np
import shapely
from PySide6.QtCore import QEvent, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QWidget

from app.handles import Handle
from app.meeting import MeetingPlace, meeting_places
from app.picking import Spot
from app.scene import Scene, scene_of, step_of_note
from app.window.callouts import Callout, set_out
from app.window.change_painting import (
    Grip,
    callout_size,
    grips_of,
    legend_width,
    paint_blend,
    paint_callout,
    paint_doubt,
    paint_end,
    paint_grip,
    paint_legend,
    paint_plate,
    paint_spot,
    paint_strip,
    paint_title,
)
from app.window.laying_out import (
    LAID_OVER,
    SIDE_BY_SIDE,
    Laid,
    Room,
    box_of,
    distance_apart,
    halves,
    lay_out,
    moved_box,
    view_of,
)
from app.window.mat import Backdrop, paint_caret, tape_width
from app.window.palette import LIGHT, Palette
from app.window.piece_drawing import Drawings, path_of
from app.window.sheet_painting import Sheet, paint_ghost, paint_lines, paint_names, paint_paper, pen
from app.window.size_lines import paint_size_lines, paint_size_names
from app.window.table_controls import TableControls
from app.window.table_words import Mark, gathered, kept_clear, titles, words_wanted
from app.window.view import View
from geometry.motions import FloatArray, Motion
from geometry.pieces import Piece
from geometry.pipeline import Draft
from geometry.stages import CutPiece, Step
from geometry.units import System

MARGIN_PX = 10.0
#: Room for the words beside the pieces when everything is fitted in (pixels, for the usual letter size).
WORDS_PX = 190.0
#: On a table lower than this the pieces may reach up between titles and controls (pixels).
LOW_PX = 420.0


class TablePicture(QWidget):
    """Shows a draft; everything it paints is worked out from the draft and the few choices of how to look at it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._draft: Draft | None = None
        self._piece_id = ""
        self._shown_note: str | None = None
        self._arrangement, self._opened = SIDE_BY_SIDE, False
        self._units: System = "cm"
        self._palette: Palette = LIGHT
        self._met_at: dict[str, str] = {}
        self._scene: Scene | None = None
        self._last_done: Step | None = None
        self._places: tuple[MeetingPlace, ...] = ()
        self._laid: Laid | None = None
        self._apart = 0.0
        self._view, self._view_is_fitted, self._low = View(), True, False
        self._drawings, self._backdrop = Drawings(), Backdrop()
        self._grips: tuple[Grip, ...] = ()
        self._callouts: tuple[Callout, ...] | None = None
        self._held: Handle | None = None
        self._held_end: int | None = None
        self._focused = -1
        self._caret: QPointF | None = None
        self._says = ""
        self._pointed: tuple[int, str] | None = None
        self._spot: Spot | None = None
        self.controls = TableControls(self)
        self.setMouseTracking(True)
        self.setMinimumSize(320, 220)
        self.setAccessibleName("table: the piece as traced and redrawn")

    def show_draft(self, draft: Draft, piece_id: str, shown_note: str | None) -> None:
        """Show a piece of a draft. ``shown_note`` is the note pointed at or chosen, “traced”, or None for all notes.

        Raises PatternError when the draft has no such piece.
        """
        same_piece = self._draft is not None and self._piece_id == piece_id
        held = self._held.field if self._held is not None else None
        self._scene = scene_of(draft, piece_id, shown_note, held, self._last_done)
        step = step_of_note(draft, shown_note)
        if step is not None and step.done:
            self._last_done = step
        self._draft, self._piece_id, self._shown_note = draft, piece_id, shown_note
        self._places = meeting_places(self._scene.traced, self._scene.after.piece)
        if self._spot is not None and all(edge.id != self._spot.edge for edge in self._scene.before.piece.edges):
            self._spot = None
        if not same_piece:
            self._callouts = None
            self._opened = self._opened and self._scene.traced.on_fold
            self.fit()
        else:
            self._lay_out()

    def show_nothing(self) -> None:
        """An empty mat."""
        self._draft, self._scene, self._laid, self._grips, self._callouts = None, None, None, (), None
        self.controls.hide()
        self.update()

    def set_arrangement(self, arrangement: str) -> None:
        """“side by side” or “laid over”; raises ValueError for anything else."""
        if arrangement not in (SIDE_BY_SIDE, LAID_OVER):
            raise ValueError(f"the pieces lie {SIDE_BY_SIDE} or {LAID_OVER}, not {arrangement}")
        self._arrangement, self._callouts = arrangement, None
        self.fit()

    def set_meeting(self, name: str) -> None:
        """The place where the two are laid on each other, by its name."""
        self._met_at[self._piece_id] = name
        self._callouts = None
        self._lay_out()

    def set_opened(self, opened: bool) -> None:
        """Show a piece on the fold whole."""
        self._opened, self._callouts = opened, None
        self.fit()

    def set_units(self, units: str) -> None:
        """“cm” or “in” for the grid, the tapes and every length; raises ValueError for anything else."""
        if units not in ("cm", "in"):
            raise ValueError(f"lengths are shown in cm or in, not {units}")
        self._units, self._callouts = ("in" if units == "in" else "cm"), None
        self.fit() if self._view_is_fitted else self._lay_out()

    def set_palette(self, palette: Palette) -> None:
        self._palette = palette
        self.controls.set_palette(palette)
        self.update()

    def fit(self) -> None:
        """See everything."""
        self._view_is_fitted = True
        if self._scene is None:
            self.update()
            return
        self._place_controls()
        self._low = False
        self._fit_into(self._room(), self._scene)
        if self.height() < LOW_PX:
            usual, self._low = self._view.scale, True
            self._fit_into(self._room(), self._scene)
            if self._view.scale < usual or self._under_controls():
                self._low = False
                self._fit_into(self._room(), self._scene)

    def _fit_into(self, room: Room, scene: Scene) -> None:
        area = (float(self.width()), float(self.height()))
        self._apart = distance_apart(scene, area, room, self._opened, self._units)
        laid = lay_out(scene, self._arrangement, self.meeting, self._apart, self._opened)
        self._view = view_of(laid, area, room)
        self._lay_out()

    def _under_controls(self) -> bool:
        """True when the pieces, laid as high as they go, would lie under the controls or the legend."""
        assert self._scene is not None and self._laid is not None
        x0, x1 = self._view.px(self._laid.box[:2])[0], self._view.px(self._laid.box[2:])[0]
        over = self._arrangement == LAID_OVER
        left = self._legend_box(self._scene).right() if over else self._title_strip().left()
        return x0 < left + MARGIN_PX or x1 > self.controls.x() - MARGIN_PX

    @property
    def meeting(self) -> MeetingPlace:
        """Where the two are laid on each other."""
        wanted = self._met_at.get(self._piece_id)
        return next((place for place in self._places if place.name == wanted), self._places[0])

    @property
    def opened(self) -> bool:
        """Whether a piece on the fold is shown whole."""
        return self._opened

    @property
    def view(self) -> View:
        return self._view

    @property
    def laid(self) -> Laid | None:
        """Where the two pieces lie on the table, None on an empty one."""
        return self._laid

    @property
    def says(self) -> str:
        """What is pointed at or asked for, in words."""
        return self._says

    @property
    def grips(self) -> tuple[Grip, ...]:
        """The handles as they stand on the screen."""
        return self._grips

    @property
    def callouts(self) -> tuple[Callout, ...]:
        """The words beside the pieces as they stand on the screen."""
        if self._callouts is None:
            self._set_out_words()
        return self._callouts or ()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_controls()
        if self._view_is_fitted:
            self.fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self.controls.setFont(self.font())
            self._callouts = None
            self.fit()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.font())
        area = QRectF(self.rect())
        self._backdrop.paint_mat(painter, area, self._view, self._units, self._palette)
        if self._scene is not None and self._laid is not None:
            self._paint_scene(painter, self._scene, self._laid)
        self._backdrop.paint_tapes(painter, area, self._view, self._units, self._palette)
        if self._caret is not None:
            paint_caret(painter, area, self._caret, self._palette)
        self._paint_says(painter)

    def _set_view(self, view: View) -> None:
        self._view, self._view_is_fitted, self._callouts = view, False, None
        self._lay_out()

    def _lay_out(self) -> None:
        """Work out where everything lies; nothing is painted yet."""
        if self._scene is None:
            self.update()
            return
        self._laid = lay_out(self._scene, self._arrangement, self.meeting, self._apart, self._opened)
        self._grips = grips_of([one.moved(self._laid.before) for one in self._scene.handles], self._view)
        self._focused = min(self._focused, len(self._grips) + len(self._scene.ends) - 1)
        self._place_controls()
        self._set_out_words()
        self.update()

    def _place_controls(self) -> None:
        if self._scene is None:
            self.controls.hide()
            return
        names = [place.name for place in self._places]
        self.controls.show()
        self.controls.show_sizes(self._scene.size, self._scene.size_names)
        self.controls.show_state(self._arrangement, names, self.meeting.name, self._scene.traced.on_fold, self._opened)
        tape = tape_width(self.font())
        self.controls.move(int(self.width() - self.controls.width() - MARGIN_PX), int(tape + MARGIN_PX))

    def _room(self) -> Room:
        tape, metrics = tape_width(self.font()), QFontMetricsF(self.font())
        changed = self._scene.changed if self._scene is not None else ()
        widths = [callout_size(one.words(self._units, self._opened), self.font())[0] for one in changed]
        words = max(WORDS_PX * metrics.height() / 17.0, *widths, 0.0) + 20.0
        top = tape + MARGIN_PX + max(metrics.height() + 8, self.controls.sizeHint().height()) + 28
        if self._low:
            top = tape + 16.0
        bottom = 18.0 if self._low else 30.0
        right = max(words, self.width() - self.controls.x() + 2 * MARGIN_PX) if self._low else words
        if self._arrangement == LAID_OVER:
            return Room(tape + words, top, right, bottom, 0.0)
        return Room(tape + 46.0 + (words / 2 if self._low else 0.0), top, right, bottom, words)

    def _sheets(self, scene: Scene, laid: Laid) -> tuple[Sheet, Sheet]:
        return self._sheet(scene.before, laid.before), self._sheet(scene.after, laid.after)

    def _sheet(self, cut: CutPiece, motion: Motion) -> Sheet:
        return Sheet(self._drawings.of(cut), self._under(cut.piece, motion))

    def _under(self, piece: Piece, motion: Motion) -> tuple[Motion, ...]:
        return tuple(half.then(motion) for half in halves(piece, self._opened))

    def _paint_scene(self, painter: QPainter, scene: Scene, laid: Laid) -> None:
        view, palette = self._view, self._palette
        before, after = self._sheets(scene, laid)
        over = self._arrangement == LAID_OVER
        old = scene.before.piece if over else scene.traced
        ghost = self._drawings.outline(old, None if over else scene.after.piece, fold=not self._opened)
        ghosts = before.motions if over else self._under(old, laid.after)
        paint_size_lines(painter, view, scene.sizes, before, palette, on_paper=False)
        for sheet in (before, after):
            paint_paper(painter, view, sheet, palette)
        paint_size_lines(painter, view, scene.sizes, before, palette, on_paper=True)
        if not over:
            paint_lines(painter, view, before, palette)
            paint_names(painter, view, before, palette, [strip.outline for strip in scene.strips])
        paint_ghost(painter, view, ghost, ghosts, palette.paper_ghost)
        paint_lines(painter, view, after, palette)
        paint_names(painter, view, after, palette)
        paint_size_names(painter, view, scene.sizes, laid.before, palette)
        for blend in scene.blends:
            paint_blend(painter, view, blend, after.motions, palette)
        for strip in scene.strips:
            paint_strip(painter, view, strip, before.motions, palette, scene.handles)
        self._paint_pointed(painter, (before, after))
        for callout in self.callouts:
            paint_callout(painter, callout, palette)
        for mark in self._doubts(scene, laid):
            paint_doubt(painter, mark.at, palette, wrong=mark.wrong)
        self._paint_titles(painter, scene, laid)
        self._paint_handles(painter, scene, laid)
        if self._spot is not None:
            paint_spot(painter, view.at(laid.before.point(self._spot.at)), palette)

    def _paint_handles(self, painter: QPainter, scene: Scene, laid: Laid) -> None:
        focused = self._focused if self.hasFocus() else -1
        for index, grip in enumerate(self._grips):
            held = self._held is not None and grip.handle.field == self._held.field
            paint_grip(painter, grip, self._palette, held=held, focused=index == focused)
        for index, end in enumerate(scene.ends):
            at, held = self._view.px(laid.before.point(end.at)), index == self._held_end
            paint_end(painter, at, self._palette, held=held, focused=index + len(self._grips) == focused)

    def _paint_titles(self, painter: QPainter, scene: Scene, laid: Laid) -> None:
        if self._arrangement == LAID_OVER:
            box = self._legend_box(scene)
            paint_legend(painter, box, (scene.after_title, scene.before_title), self._palette)
        for box, words in self._titles(scene, laid):
            paint_title(painter, box, words, self._palette)

    def _doubts(self, scene: Scene, laid: Laid) -> list[Mark]:
        """Where a doubt is marked and what it says; doubts close together share one mark."""
        places = [self._view.px((laid.after if one.redrawn else laid.before).point(one.place)) for one in scene.doubts]
        return gathered(places, scene.doubts)

    def _titles(self, scene: Scene, laid: Laid) -> list[tuple[QRectF, str]]:
        if self._arrangement == LAID_OVER:
            return []
        boxes = []
        for piece, motion in ((scene.before.piece, laid.before), (scene.after.piece, laid.after)):
            x0, y0, x1, y1 = moved_box(box_of(piece, self._opened), motion)
            boxes.append((*self._view.px((x0, y1)), *self._view.px((x1, y0))))
        return titles(scene, boxes, self._title_strip(), self.font(), beside=self._low)

    def _title_strip(self) -> QRectF:
        left, top = tape_width(self.font()) + MARGIN_PX, tape_width(self.font()) + MARGIN_PX
        return QRectF(left, top, max(self.controls.x() - MARGIN_PX - left, 80.0), float(self.controls.height()))

    def _legend_box(self, scene: Scene) -> QRectF:
        strip, words = self._title_strip(), (scene.after_title, scene.before_title)
        return QRectF(strip.left(), strip.top(), legend_width(words, self.font()), strip.height())

    def _set_out_words(self) -> None:
        """Words keep their places from before as far as they can, so that they lie still while an amount is dialled."""
        scene, laid = self._scene, self._laid
        if scene is None or laid is None:
            return
        sheets = self._sheets(scene, laid)
        over = self._arrangement == LAID_OVER
        plates = [QRectF(self.controls.geometry()), *(box for box, _ in self._titles(scene, laid))]
        if over:
            plates.append(self._legend_box(scene))
        tape = tape_width(self.font())
        bounds = (tape + 4.0, tape + 4.0, self.width() - 6.0, self.height() - 8.0)
        wanted = words_wanted(scene, laid, self._view, self._grips, self._units, self._opened, self.font(), bounds)
        ghost = np.empty((0, 2)) if over else laid.after.points(self._old_points(scene))
        words, leaders = kept_clear(sheets, ghost, over, self._view, self._grips, plates)
        marks = [mark.at for mark in self._doubts(scene, laid)]
        words += [shapely.box(x - 10.0, y - 11.0, x + 10.0, y + 8.0) for x, y in marks]
        self._callouts = set_out(wanted, bounds, words, leaders, self._callouts or ())

    def _old_points(self, scene: Scene) -> FloatArray:
        traced = self._draft.cut_before[self._piece_id] if self._draft is not None else scene.before
        return self._drawings.of(traced).points(self._view.scale, cut=False)

    def _paint_pointed(self, painter: QPainter, sheets: tuple[Sheet, Sheet]) -> None:
        """The edge that is pointed at, drawn over in the colour of what is measured."""
        if self._pointed is None:
            return
        sheet, edge_id = sheets[self._pointed[0]], self._pointed[1]
        if all(edge.id != edge_id for edge in sheet.piece.edges):
            return
        path = path_of(sheet.piece.edge(edge_id).chain)
        for motion in sheet.motions:
            painter.setTransform(self._view.transform(motion))
            painter.strokePath(path, pen(self._palette.paper_measured, 3.2))
        painter.resetTransform()

    def _paint_says(self, painter: QPainter) -> None:
        """What is pointed at, or what is asked for, in one line at the foot of the table."""
        if not self._says:
            return
        width, height = callout_size(self._says, self.font())
        tape = tape_width(self.font())
        box = QRectF(tape + MARGIN_PX, self.height() - height - MARGIN_PX, width + 8.0, height)
        paint_plate(painter, box, self._palette)
        painter.setPen(QColor(self._palette.mat_ink))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, self._says)
