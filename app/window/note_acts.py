"""What is done to fitting notes: written, dialled, moved, switched, copied, taken away."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu

from app.documents import with_notes
from app.window.by_hand_page import show_steps
from app.window.note_menu import fill_note_menu, first_note, note_menu
from geometry.alterations import find
from geometry.alterations.base import Alteration
from geometry.by_hand import by_hand
from geometry.errors import PatternError
from geometry.notes import Address, Note, Target
from geometry.stages import Offer

if TYPE_CHECKING:
    from app.documents import Document
    from app.window.window import MainWindow


#: While a number is dragged the whole garment is drafted and its seams walked this often (ms).
_WHOLE_AFTER_MS = 120


class NoteActs:
    """Every act makes a new list of notes and asks the window to put it in place.

    While a number is dialled or dragged, only the newest value is drafted: the piece on the table once a turn of the
    event loop, the whole garment with its seams a little later and when the stroke is over.
    """

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._stroke = 1
        self._newest: Note | None = None
        self._turn = QTimer()
        self._turn.setSingleShot(True)
        self._turn.setInterval(0)
        self._turn.timeout.connect(self._show_frame)
        self._rest = QTimer()
        self._rest.setSingleShot(True)
        self._rest.setInterval(_WHOLE_AFTER_MS)
        self._rest.timeout.connect(self._take_newest)
        self._spot_for: tuple[str, str] | None = None

    def does(self) -> dict[str, Callable[[], None]]:
        """What each action of the table does; those on a note are done to the chosen one."""
        return {
            "write": self.open_writing_menu,
            "switch": lambda: self._on_chosen(self.switch),
            "earlier": lambda: self._on_chosen(lambda note: self.move(note.id, -1)),
            "later": lambda: self._on_chosen(lambda note: self.move(note.id, 1)),
            "copy": lambda: self._on_chosen(self.copy),
            "by_hand": lambda: self._on_chosen(self.show_by_hand),
            "remark": lambda: self._on_chosen(self.write_remark),
            "remove": lambda: self._on_chosen(lambda note: self.remove(note.id)),
        }

    @property
    def chosen(self) -> Note | None:
        """The note whose card is chosen."""
        return next((note for note in self._window.session.notes if note.id == self._window.strip.chosen), None)

    def add_writing_menu(self, menu: QMenu, write: QAction) -> None:
        """Put the alterations into the Note menu as well, below “write the next note”."""
        submenu = QMenu("Write a note a&bout", menu)
        fill_note_menu(submenu, self.write)
        following = menu.actions()[menu.actions().index(write) + 1]
        menu.insertMenu(following, submenu)

    def open_writing_menu(self) -> None:
        """Open the menu of alterations above the empty card."""
        card = self._window.strip.next_card
        menu = note_menu(self._window, self.write)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        at = card.mapToGlobal(QPoint(0, 0))
        menu.popup(QPoint(at.x(), at.y() - menu.sizeHint().height()))

    def write(self, alteration: Alteration) -> None:
        """Write the next note, with the amounts it starts from, on the piece on the table and those joined to it."""
        window = self._window
        draft = window.draft
        if draft is None:
            return
        note = first_note(alteration, draft.followed.garment, window.piece_id, window.session.next_note_id())
        self._add(note, f"write “{alteration.title}”")

    def take_offer(self, offer: Offer) -> None:
        """Write the note that was offered."""
        alteration = find(offer.alteration)
        note = Note(
            self._window.session.next_note_id(), offer.alteration, offer.amounts, offer.targets, rule=alteration.version
        )
        self._add(note, offer.says)

    def show_by_hand(self, note: Note) -> None:
        """How a note is done by hand, on a page of its own."""
        document: Document | None = self._window.session.document
        if document is None:
            return
        try:
            steps = by_hand(document.garment, document.notes, note.id)
        except PatternError as error:
            self._window.notices.say(error.says, wrong=True)
            return
        show_steps(self._window, steps, self._window.preferences.units, self._window.colours)

    def write_remark(self, note: Note) -> None:
        """Open the line of her own words on a note's card."""
        self._window.strip.write_remark(note.id)

    def copy(self, note: Note) -> None:
        notes = list(self._window.session.notes)
        again = replace(note, id=self._window.session.next_note_id())
        notes.insert(notes.index(note) + 1, again)
        if self._put(notes, f"write “{_title(note)}” once more"):
            self._window.strip.choose(again.id)

    def change(self, note: Note, stroke: bool) -> None:
        """Put a note in place of the one with its id; the changes of a stroke are undone together."""
        if stroke:
            self._window.remedies.pause()
            self._newest = note
            if not self._turn.isActive():
                self._turn.start()
            return
        self.settle()
        self._replace(note, 0)
        self._window.refresh()

    def drag_amount(self, note_id: str, field: str, value: float) -> None:
        """A number dragged on the piece."""
        note = self._newest if self._newest is not None and self._newest.id == note_id else self._note(note_id)
        if note is None:
            return
        alteration = find(note.alteration)
        amount = alteration.fields()[field]
        value = min(max(value, amount.least), amount.most)
        own = next((t for t in note.targets if t.piece == self._window.piece_id and t.amount is not None), None)
        if field == alteration.main and own is not None:
            targets = tuple(replace(t, amount=value) if t is own else t for t in note.targets)
            self.change(replace(note, targets=targets), True)
        else:
            self.change(replace(note, amounts=replace(note.amounts, **{field: value})), True)

    def drag_line_end(self, note_id: str, piece_id: str, which: int, edge_id: str, share: float) -> None:
        """A place of a note slid along the outline of the piece on the table."""
        note = self._newest if self._newest is not None and self._newest.id == note_id else self._note(note_id)
        if note is None:
            return
        targets = []
        for target in note.targets:
            if target.piece == piece_id and target.across is not None and which < len(target.across):
                place = Address(edge_id, share=share)
                target = replace(target, across=(*target.across[:which], place, *target.across[which + 1 :]))
            targets.append(target)
        self.change(replace(note, targets=tuple(targets)), True)

    def settle(self) -> None:
        """A run of steps is over: take the newest, and let what follows be undone by itself."""
        self._turn.stop()
        self._rest.stop()
        self._take_newest()
        self._stroke += 1

    def move(self, note_id: str, places: int) -> None:
        self.settle()
        notes = list(self._window.session.notes)
        note = self._note(note_id)
        if note is None:
            return
        at = notes.index(note)
        to = min(max(at + places, 0), len(notes) - 1)
        if to != at:
            notes.insert(to, notes.pop(at))
            self._put(notes, f"move “{_title(note)}”")

    def remove(self, note_id: str) -> None:
        self.settle()
        note = self._note(note_id)
        if note is not None:
            kept = [one for one in self._window.session.notes if one is not note]
            self._put(kept, f"take “{_title(note)}” away")

    def switch(self, note: Note) -> None:
        self.settle()
        self._replace(replace(note, on=not note.on), 0)

    def ask_for_spot(self, note_id: str, piece_id: str) -> None:
        """Let her point at a place on a piece's edge for a note."""
        self._spot_for = (note_id, piece_id)
        self._window.show_piece(piece_id)
        self._window.strip.choose(note_id)
        self._window.table.ask_for_place("Point at the place on the edge; Escape leaves it as it is.")
        self._window.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def take_spot(self, piece_id: str, edge_id: str, share: float) -> None:
        """The place pointed at becomes that piece's own place in the note."""
        asked, self._spot_for = self._spot_for, None
        note = self._note(asked[0]) if asked is not None else None
        if note is None or asked is None or asked[1] != piece_id:
            return
        across = (Address(edge_id, share=share),)
        placed = (replace(t, across=across) if t.piece == piece_id else t for t in note.targets)
        targets = tuple(dict.fromkeys(placed))
        if all(target.piece != piece_id for target in note.targets):
            targets += (Target(piece_id, across=across),)
        self.change(replace(note, targets=targets), False)

    def forget_spot(self) -> None:
        """She left the place as it was."""
        self._spot_for = None

    def _add(self, note: Note, words: str) -> None:
        self.settle()
        if self._put([*self._window.session.notes, note], words):
            self._window.strip.choose(note.id)
            self._window.strip.focus_note(note.id)

    def _show_frame(self) -> None:
        """The newest value on the piece that lies on the table; the rest of the garment follows."""
        window, note = self._window, self._newest
        document: Document | None = window.session.document
        if note is None or document is None:
            return
        if not self._rest.isActive():
            self._rest.start()
        notes = [note if one.id == note.id else one for one in document.notes]
        drafted = window.session.preview(with_notes(document, notes), window.piece_id)
        window.table.show_draft(drafted, window.piece_id, window.strip.shown)

    def _take_newest(self) -> None:
        note, self._newest = self._newest, None
        if note is not None:
            self._replace(note, self._stroke)

    def _replace(self, note: Note, stroke: int) -> None:
        notes = [note if one.id == note.id else one for one in self._window.session.notes]
        self._put(notes, f"change “{_title(note)}”", stroke)

    def _put(self, notes: Sequence[Note], words: str, stroke: int = 0) -> bool:
        document: Document | None = self._window.session.document
        if document is None:
            return False
        try:
            changed = with_notes(document, notes)
        except PatternError as error:
            self._window.notices.say(error.says, wrong=True)
            return False
        return self._window.change(changed, words, stroke)

    def _note(self, note_id: str) -> Note | None:
        return next((note for note in self._window.session.notes if note.id == note_id), None)

    def _on_chosen(self, act: Callable[[Note], None]) -> None:
        if self.chosen is not None:
            act(self.chosen)


def _title(note: Note) -> str:
    return find(note.alteration).title
