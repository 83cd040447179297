"""What puts each row of the seams right, looked for while she rests in a process of its own, one process at a time.

The window computes none of it, so it goes on as before; the process has its limits of time and memory and is stopped
when the garment is changed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal

from app.documents import Document
from app.long_work import PUTTING_RIGHT
from app.truing_sought import proposal_of
from app.window.long_work import LongWork
from geometry.errors import PatternError
from geometry.remedies import Proposal

#: Nothing is looked for until nothing was changed for so long (ms).
_REST_MS = 400


class Remedies(QObject):
    """Answers by what they are about: a proposal, None where nothing helps.

    ``found`` comes when one more is known; ``told`` when what she asked for is, with what it is about; ``gave_up``
    when that takes more time or memory than a search is given.
    """

    found = Signal()
    told = Signal(str)
    gave_up = Signal(str)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.started = 0
        self._document: Document | None = None
        self._answers: dict[str, Proposal | None] = {}
        self._wanted: list[str] = []
        self._too_much: set[str] = set()
        self._asked = ""
        self._work: LongWork | None = None
        self._abouts: tuple[str, ...] = ()
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._look)

    @property
    def is_looking(self) -> bool:
        return self._work is not None

    def of(self, document: Document) -> Mapping[str, Proposal | None]:
        """What is known about a document so far."""
        return self._answers if document is self._document else {}

    def seek(self, document: Document, abouts: Sequence[str]) -> None:
        """Look for what puts these right, in this order, once nothing has been changed for a moment."""
        self._take_up(document)
        self._wanted = [one for one in abouts if one not in self._answers and one not in self._too_much]
        if self._work is None:
            self.pause()
        elif not self._wanted and not self._asked:
            self.close()

    def pause(self) -> None:
        """Something is being dialled: go on when it rests. What she asked for herself is not left."""
        if not self._asked:
            self.close()
            if self._wanted:
                self._rest.start()

    def ask(self, document: Document, about: str) -> None:
        """Look for what puts one thing right before anything else; it is told at once where it is known."""
        self._take_up(document)
        self._too_much.discard(about)
        self._asked = about
        if about in self._answers:
            self._tell()
        elif self._work is None or self._next() != about:
            self._begin([about, *(one for one in self._wanted if one != about)])

    def forget(self) -> None:
        """She no longer waits for what she asked for."""
        self._asked = ""
        self.pause()

    def close(self) -> None:
        """Look for nothing more until something is asked or sought again."""
        self._rest.stop()
        if self._work is not None:
            work, self._work = self._work, None
            work.leave()

    def _take_up(self, document: Document) -> None:
        if document is not self._document:
            self.close()
            self._document, self._answers, self._too_much, self._asked = document, {}, set(), ""

    def _look(self) -> None:
        if self._work is None and self._wanted:
            self._begin(self._wanted)

    def _begin(self, abouts: Sequence[str]) -> None:
        self.close()
        assert self._document is not None
        try:
            work = self._work = LongWork(PUTTING_RIGHT, self._document, list(abouts), self)
        except PatternError:
            # What cannot be handed over cannot be saved either; saving says why.
            self._give_up(abouts[0])
            return
        self.started += 1
        self._abouts = tuple(abouts)
        work.said.connect(self._take)
        work.ended.connect(self._end)

    def _next(self) -> str:
        """What is being looked for just now."""
        left = [one for one in self._abouts if one not in self._answers] if self._work is not None else []
        return left[0] if left else ""

    def _take(self, line: dict[str, Any]) -> None:
        about, found = proposal_of(line)
        self._answers[about] = found
        self._wanted = [one for one in self._wanted if one != about]
        if about == self._asked:
            self._tell()
        self.found.emit()

    def _end(self, whole: bool) -> None:
        about, self._work = self._next(), None
        if not whole and about:
            self._give_up(about)
        if self._wanted:
            self._rest.start()

    def _give_up(self, about: str) -> None:
        self._too_much.add(about)
        self._wanted = [one for one in self._wanted if one != about]
        if about == self._asked:
            self._asked = ""
            self.gave_up.emit(about)

    def _tell(self) -> None:
        about, self._asked = self._asked, ""
        self.told.emit(about)
