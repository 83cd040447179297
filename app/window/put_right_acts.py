"""What is open is put right, one thing or everything: sought away from the window, written in one step."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from app.documents import with_notes
from app.long_work import PUTTING_RIGHT
from app.truing_acts import with_trued
from app.truing_sought import trued_of
from app.window.long_work import LongWork
from app.window.seams_words import put_right_words, trued_words
from geometry.errors import PatternError
from geometry.every_seam import Trued
from geometry.units import in_system

if TYPE_CHECKING:
    from app.documents import Document
    from app.window.window import MainWindow

_CHANGED = "The garment was changed meanwhile, so this was stopped; nothing was written for it."
_STOPPED = "Stopped; nothing was written."
_STOPPED_MS = 6_000


class PutRightActs:
    """One search that she waits for at a time; it is stopped when the garment is changed while it goes on."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._document: Document | None = None
        self._title = ""
        self._truing: LongWork | None = None

    def does(self) -> dict[str, Callable[[], None]]:
        return {"true": self.true_every_seam}

    def true_every_seam(self) -> None:
        """Write the notes that put right everything that is open; they are taken back in one step."""
        document = self._begin()
        if document is None:
            return
        window = self._window
        window.remedies.close()
        try:
            work = LongWork(PUTTING_RIGHT, document, None, window)
        except PatternError as error:
            window.notices.say(error.says, wrong=True)
            return
        self._document, self._truing = document, work
        work.said.connect(self._hear)
        work.ended.connect(self._truing_ended)
        window.truing.begin("Every seam is being trued.", self.stop)

    def put_right(self, about: str, title: str) -> None:
        """Write the notes that put one thing right, taken back in one step, and say in a sentence what they do."""
        document = self._begin()
        if document is None:
            return
        self._document, self._title = document, title
        self._window.truing.begin(f"What puts “{title}” right is being looked for.", self.stop)
        self._window.remedies.ask(document, about)

    def stop(self) -> None:
        """Leave what she waits for, and say so."""
        if self._leave():
            self._window.statusBar().showMessage(_STOPPED, _STOPPED_MS)
            self._window.show_verdicts()

    def close(self) -> None:
        """Leave what she waits for."""
        self._leave()

    def garment_is(self, document: Document | None) -> None:
        """The garment on the table; what was sought for another state of it is of no use."""
        if self._document is not None and document is not self._document:
            self._leave()
            self._window.notices.say(_CHANGED, wrong=True)

    def write(self, about: str) -> None:
        """What puts right the thing that she asked about is known."""
        window, document, title = self._window, self._document, self._title
        self._over()
        if document is None:
            return
        found = window.remedies.of(document).get(about)
        if found is not None:
            changed = with_notes(document, (*document.notes, *found.notes))
            if not window.change(changed, f"put right “{title}”"):
                return
            window.strip.choose(found.notes[-1].id)
            pieces = [target.piece for target in found.notes[-1].targets]
            if window.piece_id not in pieces:
                window.show_piece(pieces[0])
        self._say(put_right_words(title, about, found), wrong=found is None or found.after > 0)

    def give_up(self, about: str) -> None:
        """What puts it right takes too long to look for."""
        title = self._title
        self._over()
        self._window.notices.say(_too_much(f"what puts “{title}” right"), wrong=True)

    def _begin(self) -> Document | None:
        self._window.note_acts.settle()
        self._leave()
        return self._window.session.document

    def _leave(self) -> bool:
        """Leave what goes on; whether there was anything."""
        waited = self._document is not None
        if self._truing is not None:
            work, self._truing = self._truing, None
            work.leave()
        self._over()
        if waited:
            self._window.remedies.forget()
        return waited

    def _over(self) -> None:
        self._document = None
        self._window.truing.over()

    def _hear(self, line: dict[str, Any]) -> None:
        trued = trued_of(line)
        if trued is None:
            self._say_how_far(line["at"], line["notes"])
        else:
            self._write_trued(trued)

    def _say_how_far(self, name: str, notes: int) -> None:
        so_far = "1 note so far" if notes == 1 else f"{notes} notes so far"
        self._window.truing.say(f"Every seam is being trued: {name}, {so_far}.")

    def _write_trued(self, found: Trued) -> None:
        document, self._truing = self._document, None
        self._over()
        if document is not None:
            trued = with_trued(document, found)
            if trued is not document and not self._window.change(trued, "true every seam"):
                return
            self._say(trued_words(found), wrong=bool(found.left))
            self._window.show_verdicts()

    def _truing_ended(self, whole: bool) -> None:
        if self._truing is not None:
            self._truing = None
            self._over()
            self._window.notices.say(_too_much("what trues every seam"), wrong=True)

    def _say(self, words: str, wrong: bool) -> None:
        self._window.notices.say(in_system(words, self._window.preferences.units), wrong=wrong)


def _too_much(what: str) -> str:
    return f"Looking for {what} takes more time or memory than there is; put one thing right with a note of your own."
