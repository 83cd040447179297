"""The strip along the table's front edge: the document as cards, in the order in which the work is done."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QFrame, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from app.window.blend_stops import stops_of
from app.window.cards import Card, NoteCard
from app.window.end_cards import ALLOWANCES, PAPER, TRACED, TRUED, EndCard, allowance_lines, traced_lines, trued_lines
from app.window.look import em
from app.window.palette import Palette
from geometry.notes import Note
from geometry.pipeline import Draft
from geometry.units import System

_ENDS = (
    (TRACED, "Traced in", "What was traced; the name and size of the garment"),
    (TRUED, "Trued", "How the edges were blended and the seams walked"),
    (ALLOWANCES, "Allowances", "The widths of the allowances"),
    (PAPER, "Paper", "The paper it is printed on"),
)


class NextCard(QFrame):
    """The empty place for the next note."""

    wanted = Signal()
    stepped = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "next")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleName("write the next note")
        layout = QVBoxLayout(self)
        layout.addStretch(1)
        for text, role in (("+", "title"), ("write the\nnext note", "quiet")):
            label = QLabel(text)
            label.setProperty("role", role)
            label.setAlignment(Qt.AlignmentFlag.AlignCenter)
            layout.addWidget(label)
        layout.addStretch(1)
        self.setFixedWidth(em() * 7)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self.wanted.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.wanted.emit()
        elif event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self.stepped.emit(-1 if event.key() == Qt.Key.Key_Left else 1)
        else:
            super().keyPressEvent(event)


class Strip(QFrame):
    """Cards for a draft. What is asked of the notes goes out as signals; ``show_draft`` brings the answer."""

    note_changed = Signal(object, bool)
    settled = Signal()
    note_moved = Signal(str, int)
    note_removed = Signal(str)
    offered = Signal(object)
    next_wanted = Signal()
    end_opened = Signal(str)
    spot_wanted = Signal(str, str)
    shown_changed = Signal(str)

    def __init__(self, palette: Palette) -> None:
        super().__init__()
        self.setObjectName("strip")
        self._palette = palette
        self._cards: dict[str, NoteCard] = {}
        self._order: list[str] = []
        self._chosen = self._pointed = ""
        self.ends = {name: EndCard(name, title, opens, palette) for name, title, opens in _ENDS}
        self.next_card = NextCard()
        self._row = QHBoxLayout()
        self._area = QScrollArea()
        self._marker = QFrame(self)
        self._left = QTimer(self)
        self._build()

    def _build(self) -> None:
        heading = QLabel("Fitting notes")
        heading.setProperty("role", "heading")
        says = QLabel("in the order they are done; point at one to see the piece as it was then")
        says.setProperty("role", "quiet")
        head = QHBoxLayout()
        head.setSpacing(em() * 2 // 3)
        head.addWidget(heading)
        head.addWidget(says, 1)
        inside = QWidget()
        inside.setLayout(self._row)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(em() // 4)
        self._area.setWidget(inside)
        self._area.setWidgetResizable(True)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._row.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em() // 2, em(), em() // 3)
        layout.setSpacing(em() // 3)
        layout.addLayout(head)
        layout.addWidget(self._area, 1)
        self.resize_text()
        self._marker.setFixedWidth(4)
        self._marker.setStyleSheet(f"background: {self._palette.change}; border-radius: 2px;")
        self._marker.hide()
        self._left.setSingleShot(True)
        self._left.setInterval(120)
        self._left.timeout.connect(lambda: self._point(""))
        # A card that was just written has its place only when the row has grown.
        self._area.horizontalScrollBar().rangeChanged.connect(lambda *_: self._show_chosen())
        for card in self.ends.values():
            self._listen(card)
            card.opened.connect(self.end_opened)
        self.next_card.wanted.connect(self.next_wanted)
        self.next_card.stepped.connect(self._step)
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._focus_moved)
        self._lay_out()

    @property
    def chosen(self) -> str:
        """The id of the note or end card that is chosen, "" for none."""
        return self._chosen

    @property
    def shown(self) -> str | None:
        """The card whose state the table shows: the one pointed at, else the chosen one; None for everything done."""
        card = self._pointed or self._chosen
        return None if card in ("", TRUED, ALLOWANCES, PAPER) else card

    def card(self, note_id: str) -> NoteCard:
        return self._cards[note_id]

    def choose(self, card_id: str) -> None:
        """Choose a card, "" for none, and bring it into view."""
        if card_id == self._chosen:
            return
        self._chosen = card_id
        for name, card in (*self._cards.items(), *self.ends.items()):
            card.set_chosen(name == card_id)
        QTimer.singleShot(0, self._show_chosen)
        self.shown_changed.emit(self.shown or "")

    def write_remark(self, note_id: str) -> None:
        """Open the line of her own words on a card, and bring the card into sight."""
        card = self._cards[note_id]
        self._area.ensureWidgetVisible(card)
        card.remark.write()
        self.fit()

    def focus_note(self, note_id: str) -> None:
        """Give the first number of a note the keyboard."""
        card = self._cards[note_id]
        fields = card.alteration.fields()
        numbers = [name for name, field in fields.items() if field.unit == "mm"]
        name = card.alteration.main or next(iter([*numbers, *fields]), "")
        (card.dial(name) if name else card).setFocus(Qt.FocusReason.TabFocusReason)

    def show_draft(self, draft: Draft, system: System, piece_id: str) -> None:
        """Show every note with what became of it, and how the ends stand."""
        ids = [step.note.id for step in draft.followed.steps]
        for note_id in [one for one in self._cards if one not in ids]:
            self._cards.pop(note_id).deleteLater()
        for number, step in enumerate(draft.followed.steps, 1):
            card = self._cards.get(step.note.id)
            if card is not None and card.note.alteration != step.note.alteration:
                self._cards.pop(step.note.id).deleteLater()
                card = None
            if card is None:
                card = self._make(step.note)
            card.show_step(step, number, len(ids), system, piece_id, stops_of(draft, step.note.id))
        if self._chosen and self._chosen not in (*ids, *self.ends):
            self.choose("")
        if ids != self._order:
            self._order = ids
            self._lay_out()
        self._say_ends(draft, system, piece_id)
        self.fit()

    def say_paper(self, lines: list[str], draft: Draft, piece_id: str) -> None:
        self.ends[PAPER].say(lines, draft.redrawn.piece(piece_id))
        self.fit()

    def set_palette(self, palette: Palette) -> None:
        self._palette = palette
        self._marker.setStyleSheet(f"background: {palette.change}; border-radius: 2px;")
        for card in (*self._cards.values(), *self.ends.values()):
            card.set_palette(palette)

    def resize_text(self) -> None:
        """Follow the size of the text."""
        self.setFixedHeight(em() * 16)
        self.next_card.setFixedWidth(em() * 7)

    def fit(self) -> None:
        """Give every card the width that its words need."""
        bar = self._area.horizontalScrollBar().sizeHint().height()
        height = max(self._area.height() - bar, em() * 9)
        for card in self._cards.values():
            card.fit(height, em() * 17, em() * 80)
        self.next_card.setFixedHeight(height)
        for end in self.ends.values():
            end.fit(height, em() * 9, em() * 13)

    def _say_ends(self, draft: Draft, system: System, piece_id: str) -> None:
        traced, now = draft.garment.piece(piece_id), draft.redrawn.piece(piece_id)
        self.ends[TRACED].say(traced_lines(draft.garment), traced)
        self.ends[TRUED].say(trued_lines(draft), now, traced)
        self.ends[ALLOWANCES].say(allowance_lines(draft, system), now)

    def _make(self, note: Note) -> NoteCard:
        card = NoteCard(note, self._palette)
        self._cards[note.id] = card
        self._listen(card)
        card.changed.connect(self.note_changed)
        card.settled.connect(self.settled)
        card.moved.connect(self.note_moved)
        card.removed.connect(self.note_removed)
        card.offered.connect(self.offered)
        card.spot_wanted.connect(self.spot_wanted)
        card.dragged.connect(self._drag_card)
        self._order = []
        return card

    def _listen(self, card: Card) -> None:
        card.pointed.connect(self._point)
        card.left.connect(self._left.start)
        card.chosen.connect(self.choose)
        card.stepped.connect(self._step)

    def _focus_moved(self, _: QWidget | None, now: QWidget | None) -> None:
        """The card that holds what has the keyboard is chosen."""
        for name, card in self._cards.items():
            if now is not None and card.isAncestorOf(now):
                self.choose(name)

    def _point(self, card_id: str) -> None:
        self._left.stop()
        if card_id != self._pointed:
            self._pointed = card_id
            self.shown_changed.emit(self.shown or "")

    def _lay_out(self) -> None:
        while (item := self._row.takeAt(0)) is not None:
            if isinstance(widget := item.widget(), QLabel):
                widget.deleteLater()
        shown = self._in_order()
        for at, widget in enumerate(shown):
            if at:
                arrow = QLabel("›")
                arrow.setProperty("role", "arrow")
                self._row.addWidget(arrow)
            self._row.addWidget(widget)
            if at:
                QWidget.setTabOrder(shown[at - 1], widget)
        self._row.addStretch(1)

    def _show_chosen(self) -> None:
        if self._chosen in self._cards:
            self._area.ensureWidgetVisible(self._cards[self._chosen], em() * 2, 0)

    def _place_for(self, note_id: str, at: QPoint) -> int:
        """The place in the order, 0 first, that a card dropped there takes."""
        others = [one for one in self._order if one != note_id]
        return sum(1 for one in others if self._cards[one].mapToGlobal(self._cards[one].rect().center()).x() < at.x())

    def _drag_card(self, note_id: str, at: QPoint, dropped: bool) -> None:
        place, was = self._place_for(note_id, at), self._order.index(note_id)
        self._marker.setVisible(not dropped)
        others = [one for one in self._order if one != note_id]
        if not dropped and others:
            beside = self._cards[others[min(place, len(others) - 1)]]
            corner = beside.mapTo(self, QPoint(beside.width() + 6 if place >= len(others) else -10, 0))
            self._marker.setGeometry(corner.x(), corner.y(), 4, beside.height())
            self._marker.raise_()
        if dropped and place != was:
            self.note_moved.emit(note_id, place - was)

    def wheelEvent(self, event: QWheelEvent) -> None:
        bar = self._area.horizontalScrollBar()
        delta = event.angleDelta().y() or event.angleDelta().x()
        bar.setValue(bar.value() - delta)
        event.accept()

    def _step(self, way: int) -> None:
        """Give the keyboard to the card before or after the one that has it."""
        row = self._in_order()
        focused = next((at for at, widget in enumerate(row) if widget.hasFocus()), None)
        if focused is not None and 0 <= focused + way < len(row):
            row[focused + way].setFocus(Qt.FocusReason.TabFocusReason)
            self._area.ensureWidgetVisible(row[focused + way], em() * 2, 0)

    def _in_order(self) -> list[QWidget]:
        first, *last = (self.ends[name] for name, _, _ in _ENDS)
        return [first, *(self._cards[note] for note in self._order), self.next_card, *last]

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit()
