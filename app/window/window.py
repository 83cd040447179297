"""The main window: it puts the parts together and shows in all of them what the session holds.

It is painted once before it is furnished, so that there is something to look at while the geometry is loaded.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QPaintEvent,
    QResizeEvent,
    QUndoStack,
)
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QMainWindow,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.window.actions import NOTE, enable, fill_menus, make_actions
from app.window.empty import EmptyTable
from app.window.look import dress, em, palette_for
from app.window.palette import Palette
from app.window.preferences import TEXT_SIZES, Preferences

if TYPE_CHECKING:
    from app.documents import Document
    from app.session import Session
    from geometry.pipeline import Draft

_WIDE_LINES = 90
_COPY_AFTER_MS = 2_000


class MainWindow(QMainWindow):
    """One garment on one table. ``first_painted`` comes once, when there is something to look at."""

    first_painted = Signal()

    def __init__(self, preferences: Preferences, palette: Palette, opening: str = "") -> None:
        super().__init__()
        self.preferences = preferences
        self.colours = palette
        self.piece_id = ""
        self.stack = QUndoStack(self)
        self._painted = self._furnished = False
        self._copying = QTimer(self)
        self.empty = EmptyTable()
        self.empty.say_opening(opening)
        self.setCentralWidget(self.empty)
        self.setWindowTitle("Tuck & True")
        self.resize(1440, 900)

    def furnish(self, session: Session) -> None:
        """Put every part in its place; nothing is on the table yet."""
        from app.window.garment_acts import GarmentActs
        from app.window.kept_notes_acts import KeptNotesActs
        from app.window.note_acts import NoteActs
        from app.window.printer_acts import PrinterActs
        from app.window.put_right_acts import PutRightActs
        from app.window.remedies import Remedies
        from app.window.size_acts import SizeActs
        from app.window.view_acts import ViewActs

        self.session = session
        self.remedies = Remedies(self)
        self.note_acts = NoteActs(self)
        self.put_right_acts = PutRightActs(self)
        self.garment_acts = GarmentActs(self)
        self.kept_notes_acts = KeptNotesActs(self)
        self.printer_acts = PrinterActs(self)
        self.size_acts = SizeActs(self)
        self.view_acts = ViewActs(self)
        self._make_parts()
        self._lay_out()
        self._make_actions()
        self._connect()
        self.setAcceptDrops(True)
        self._furnished = True
        self.refresh()
        self.empty.take_keyboard()

    def _make_parts(self) -> None:
        from app.window.busy_line import BusyLine
        from app.window.notices import NoticeBar
        from app.window.seams_panel import SeamsLine, SeamsPanel
        from app.window.strip import Strip
        from app.window.table import Table
        from app.window.top_bar import TopBar

        self.top = TopBar(self.colours, self.preferences.units)
        self.notices = NoticeBar()
        self.table = Table()
        self.table.set_palette(self.colours)
        self.table.set_units(self.preferences.units)
        self.table.set_arrangement(self.preferences.arrangement)
        self.surface = QStackedWidget()
        self.panel = SeamsPanel()
        self.line = SeamsLine()
        self.strip = Strip(self.colours)
        self.busy, self.truing = BusyLine(), BusyLine()

    def _lay_out(self) -> None:
        self.surface.addWidget(self.empty)
        self.surface.addWidget(self.table)
        self.panel.setFixedWidth(em() * 19)
        left = QVBoxLayout()
        left.setSpacing(0)
        left.addWidget(self.surface, 1)
        left.addWidget(self.line)
        middle = QHBoxLayout()
        middle.setSpacing(0)
        middle.addLayout(left, 1)
        middle.addWidget(self.panel)
        layout = QVBoxLayout()
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for widget in (self.top, self.notices):
            layout.addWidget(widget)
        layout.addLayout(middle, 1)
        layout.addWidget(self.strip)
        central = QWidget()
        central.setLayout(layout)
        self.setCentralWidget(central)
        self._lay_out_foot()

    def _lay_out_foot(self) -> None:
        hint = QLabel("Ctrl+N writes the next note · F6 does it still sew? · F7 to the notes · F1 help")
        hint.setProperty("role", "small")
        hint.setContentsMargins(em(), 0, 0, 0)
        self.statusBar().addWidget(hint)
        for line in (self.truing, self.busy):
            self.statusBar().addPermanentWidget(line)
        self.statusBar().setSizeGripEnabled(False)

    def _make_actions(self) -> None:
        does = self.garment_acts.does() | self.note_acts.does() | self.view_acts.does()
        does |= self.kept_notes_acts.does() | self.size_acts.does() | self.printer_acts.does()
        does |= self.put_right_acts.does()
        does |= {"undo": self._undo, "redo": self._redo, "leave": lambda: (self.close(), None)[1]}
        self.acts = make_actions(self, does)
        self.menus = fill_menus(self.menuBar(), self.acts)
        self.note_acts.add_writing_menu(self.menus[NOTE], self.acts["write"])
        self.top.take_actions(self.acts["undo"], self.acts["redo"], self.acts["print"])

    def _connect(self) -> None:
        strip, acts = self.strip, self.note_acts
        strip.note_changed.connect(acts.change)
        strip.settled.connect(acts.settle)
        strip.note_moved.connect(acts.move)
        strip.note_removed.connect(acts.remove)
        strip.offered.connect(acts.take_offer)
        strip.next_wanted.connect(acts.open_writing_menu)
        strip.spot_wanted.connect(acts.ask_for_spot)
        strip.end_opened.connect(self.garment_acts.open_end)
        strip.shown_changed.connect(lambda _: self._show_on_table())
        self.panel.picked.connect(self.show_piece)
        self.panel.put_right.connect(self.put_right_acts.put_right)
        self.panel.true_all.connect(self.put_right_acts.true_every_seam)
        self.panel.accepted.connect(self.garment_acts.accept_as_traced)
        self.panel.said_of_corner.connect(self.garment_acts.say_of_corner)
        self.remedies.found.connect(self.show_verdicts)
        self.remedies.told.connect(self.put_right_acts.write)
        self.remedies.gave_up.connect(self.put_right_acts.give_up)
        self.line.unfolded.connect(lambda _: self._unfold())
        self.top.piece_picked.connect(self.show_piece)
        self.top.units_picked.connect(self.view_acts.set_units)
        self.table.amount_dragged.connect(acts.drag_amount)
        self.table.line_moved.connect(acts.drag_amount)
        self.table.line_end_moved.connect(acts.drag_line_end)
        self.table.drag_finished.connect(lambda _: acts.settle())
        self.table.spot_picked.connect(acts.take_spot)
        self.table.spot_refused.connect(acts.forget_spot)
        self.table.controls.opened_out.connect(lambda _: self._can())
        self.table.controls.size_chosen.connect(self.size_acts.work_in)
        self.table.controls.size_wanted.connect(self.size_acts.ask)
        self.table.arrangement_changed.connect(lambda how: self.prefer(arrangement=how))
        self.empty.open_wanted.connect(self.acts["open"].trigger)
        self.empty.sample_wanted.connect(self.acts["sample"].trigger)
        self.stack.indexChanged.connect(self._stack_moved)
        self.stack.cleanChanged.connect(self._stack_moved)
        self._copying.setSingleShot(True)
        self._copying.setInterval(_COPY_AFTER_MS)
        self._copying.timeout.connect(self.session.keep_copy)

    # -- changing the document -------------------------------------------------------------------------------------

    def change(self, document: Document, words: str, stroke: int = 0) -> bool:
        """Put a changed document in place, to be undone as one with others of the same stroke; False when refused."""
        from app.window.undo import Change
        from geometry.errors import PatternError

        before = self.session.document
        assert before is not None
        try:
            self.session.put(document)
        except PatternError as error:
            self.notices.say(error.says, wrong=True)
            return False
        self.stack.push(Change(self._put, before, document, words, stroke))
        return True

    def _put(self, document: Document) -> None:
        self.session.put(document)
        self.refresh()
        self._copying.start()

    def _stack_moved(self, _: object) -> None:
        self._can()

    def _undo(self) -> None:
        self.note_acts.settle()
        self.stack.undo()

    def _redo(self) -> None:
        self.note_acts.settle()
        self.stack.redo()

    def started_anew(self) -> None:
        """Another garment lies on the table."""
        self.stack.clear()
        self.piece_id = ""
        self.strip.choose("")
        self.refresh()
        self.table.fit()
        if self.draft is not None:
            self.table.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.empty.take_keyboard()

    # -- showing it ------------------------------------------------------------------------------------------------

    @property
    def draft(self) -> Draft | None:
        return self.session.draft if self.session.document is not None else None

    def refresh(self) -> None:
        """Show what the session holds in every part of the window."""
        draft = self.draft
        there = draft is not None
        self.put_right_acts.garment_is(self.session.document)
        self.surface.setCurrentWidget(self.table if there else self.empty)
        self.strip.setVisible(there)
        self._fold()
        if draft is None:
            self.empty.say_empty()
            self.top.show_nothing()
            self._can()
            return
        if all(piece.id != self.piece_id for piece in draft.garment.pieces):
            self.piece_id = draft.garment.pieces[0].id
        system = self.preferences.units
        self.top.show_draft(draft, self.piece_id)
        self.show_verdicts()
        self.strip.show_draft(draft, system, self.piece_id)
        self.garment_acts.count_pages_soon()
        self._show_on_table()
        self._can()

    def show_verdicts(self) -> None:
        """Say what walking the seams found; what puts a row right is looked for once the dialling rests."""
        from app.window.seams_words import verdicts

        draft, document = self.draft, self.session.document
        if draft is None or document is None:
            return
        known = self.remedies.of(document)
        found = verdicts(draft, self.preferences.units, self.session.opened_with, known)
        self.panel.show_verdicts(found)
        self.line.show_verdicts(found)
        shown = [verdict.about for verdict in found if verdict.about] if not self.panel.isHidden() else []
        self.remedies.seek(document, shown)

    def show_piece(self, piece_id: str) -> None:
        """Lay a piece on the table."""
        if piece_id != self.piece_id:
            self.piece_id = piece_id
            self.refresh()
            self.table.fit()

    def _show_on_table(self) -> None:
        """Nothing new while another garment is taken up: the piece that lies there is not one of it."""
        draft = self.draft
        if draft is not None and any(piece.id == self.piece_id for piece in draft.garment.pieces):
            self.table.show_draft(draft, self.piece_id, self.strip.shown)
        self._can()

    def _can(self) -> None:
        """Enable what can be done, and say in the title how the garment stands."""
        there = {"garment"} if self.session.document is not None else set()
        there |= {"fold"} if self._lies_on_the_fold() else set()
        there |= {"note"} if self.note_acts.chosen is not None else set()
        there |= {"undo"} if self.stack.canUndo() else set()
        there |= {"redo"} if self.stack.canRedo() else set()
        enable(self.acts, frozenset(there))
        self.acts["undo"].setText(f"&Undo: {self.stack.undoText()}" if self.stack.canUndo() else "&Undo")
        self.acts["redo"].setText(f"&Redo: {self.stack.redoText()}" if self.stack.canRedo() else "&Redo")
        self.view_acts.tick()
        self.garment_acts.say_title()

    def _lies_on_the_fold(self) -> bool:
        pieces = self.session.garment.pieces if self.session.document is not None else ()
        return any(piece.id == self.piece_id and piece.on_fold for piece in pieces)

    def _fold(self) -> None:
        """On a small screen the column is one line under the table, unfolded on demand."""
        there = self.session.document is not None
        small = self.width() < em() * _WIDE_LINES
        self.line.setVisible(there and small)
        self.panel.setVisible(there and (not small or self.line.is_unfolded()))

    def _unfold(self) -> None:
        self._fold()
        self.show_verdicts()

    # -- the look --------------------------------------------------------------------------------------------------

    def prefer(self, **what: object) -> None:
        """Change preferences, keep them and show the window accordingly."""
        self.preferences = replace(self.preferences, **what)  # type: ignore[arg-type]
        self.preferences.keep()
        if {"look", "text_size"} & what.keys():
            self.dress()
        self.refresh()

    def dress(self) -> None:
        """Give every part the colours and the size of text that are preferred."""
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        self.colours = palette_for(self.preferences.look)
        dress(app, self.colours, self.preferences.text_size)
        self.top.set_palette(self.colours)
        self.strip.set_palette(self.colours)
        self.table.set_palette(self.colours)
        self.strip.resize_text()
        self.panel.setFixedWidth(em() * 19)

    def text_size(self, steps: int) -> None:
        """Larger or smaller text by so many steps."""
        at = min(range(len(TEXT_SIZES)), key=lambda i: abs(TEXT_SIZES[i] - self.preferences.text_size)) + steps
        self.prefer(text_size=TEXT_SIZES[min(max(at, 0), len(TEXT_SIZES) - 1)])

    # -- what the desktop asks of a window -------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._painted:
            self._painted = True
            QTimer.singleShot(0, self.first_painted.emit)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._furnished:
            self._fold()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.setDropAction(Qt.DropAction.CopyAction)
            event.accept()

    def dropEvent(self, event: QDropEvent) -> None:
        self.garment_acts.open_dropped([url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()])
        event.acceptProposedAction()

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._furnished:
            event.accept()
            return
        if not self.garment_acts.may_let_go():
            event.ignore()
            return
        self.garment_acts.stop_work()
        self._copying.stop()
        self.put_right_acts.close()
        self.remedies.close()
        self.session.close()
        event.accept()
