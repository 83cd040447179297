"""What puts each row of the seams right, looked for one row at a time while she rests.

Not in a thread of its own: what Python tidies away there may be a part of the window.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QApplication

from app.documents import Document
from app.truing_acts import what_puts_right
from geometry.memory import Memory
from geometry.remedies import Proposal

#: Nothing is looked for until nothing was changed for so long (ms).
_REST_MS = 400
_REMEMBERED = 2000


class Remedies(QObject):
    """Answers by what they are about: a proposal, None where nothing helps. ``found`` comes when one more is known."""

    found = Signal()

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._memory = Memory(_REMEMBERED)
        self._document: Document | None = None
        self._answers: dict[str, Proposal | None] = {}
        self._wanted: list[str] = []
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._look)

    def of(self, document: Document) -> Mapping[str, Proposal | None]:
        """What is known about a document so far."""
        return self._answers if document is self._document else {}

    def seek(self, document: Document, abouts: Sequence[str]) -> None:
        """Look for what puts these right, in this order, once nothing has been changed for a moment."""
        if document is not self._document:
            self._document, self._answers = document, {}
        self._wanted = [about for about in abouts if about not in self._answers]
        self.pause()

    def pause(self) -> None:
        """Something is being dialled: go on when it rests."""
        self._rest.stop()
        if self._wanted:
            self._rest.start()

    def at_once(self, document: Document, about: str) -> Proposal | None:
        """What puts something right, now; she has asked for it."""
        self.seek(document, [one for one in self._wanted if one != about])
        if about not in self._answers:
            self._answers[about] = what_puts_right(document, about, self._memory)
        return self._answers[about]

    def close(self) -> None:
        """Look for nothing more."""
        self._rest.stop()

    def _look(self) -> None:
        """Find one answer; not while the mouse is held down, as something may be dragged."""
        if self._document is None or not self._wanted:
            return
        if QApplication.mouseButtons() is not Qt.MouseButton.NoButton:
            self._rest.start()
            return
        self.at_once(self._document, self._wanted[0])
        self.found.emit()
