"""What puts each row of the seams right, looked for beside the window's own work, one at a time, while she rests.

A thread of its own tries the notes; as soon as a number is dialled or the garment changes it lets go.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Event
from typing import TypeVar

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QApplication

from app.documents import Document
from app.truing_acts import what_puts_right
from geometry.memory import Memory
from geometry.remedies import Proposal

T = TypeVar("T")

#: Nothing is looked for until nothing was changed for so long, and answers are fetched this often (ms).
_REST_MS, _FETCH_MS = 400, 30
_REMEMBERED = 2000


class _Stopped(Exception):
    """Somebody else needs the time."""


class _StoppableMemory(Memory):
    """A memory that gives up at the next stage once it is told to stop."""

    def __init__(self) -> None:
        super().__init__(_REMEMBERED)
        self.stop = Event()

    def recall(self, stage: str, inputs: tuple[object, ...], extra: Hashable, make: Callable[[], T]) -> T:
        if self.stop.is_set():
            raise _Stopped
        return super().recall(stage, inputs, extra, make)


class Remedies(QObject):
    """Answers by what they are about: a proposal, None where nothing helps. ``found`` comes when one more is known."""

    found = Signal()

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(1, "remedies")
        self._memory = _StoppableMemory()
        self._document: Document | None = None
        self._answers: dict[str, Proposal | None] = {}
        self._wanted: list[str] = []
        self._running: tuple[str, Event, Future[Proposal | None]] | None = None
        self._rest, self._fetch = QTimer(self), QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._begin)
        self._fetch.setInterval(_FETCH_MS)
        self._fetch.timeout.connect(self._take)

    def of(self, document: Document) -> Mapping[str, Proposal | None]:
        """What is known about a document so far."""
        return self._answers if document is self._document else {}

    def seek(self, document: Document, abouts: Sequence[str]) -> None:
        """Look for what puts these right, in this order, once nothing has been changed for a moment."""
        if document is not self._document:
            self._let_go()
            self._document, self._answers = document, {}
        self._wanted = [about for about in abouts if about not in self._answers]
        if self._running is None:
            self._rest.start() if self._wanted else self._rest.stop()

    def pause(self) -> None:
        """Something is being dialled: let go, and go on when it rests."""
        self._let_go()
        if self._wanted:
            self._rest.start()

    def at_once(self, document: Document, about: str) -> Proposal | None:
        """What puts something right, now; she has asked for it."""
        self.seek(document, [about, *(one for one in self._wanted if one != about)])
        if about not in self._answers:
            if self._running is None or self._running[0] != about:
                self._let_go()
                self._start(about)
            assert self._running is not None
            self._answers[about] = self._running[2].result()
            self._running = None
            self._fetch.stop()
        self._wanted = [one for one in self._wanted if one != about]
        if self._wanted:
            self._rest.start()
        return self._answers[about]

    def close(self) -> None:
        """Let go for good."""
        self._let_go()
        self._rest.stop()
        self._pool.shutdown()

    def _begin(self) -> None:
        if self._wanted and self._running is None:
            self._start(self._wanted[0])

    def _start(self, about: str) -> None:
        document, stop = self._document, Event()
        assert document is not None

        def look() -> Proposal | None:
            self._memory.stop = stop
            return what_puts_right(document, about, self._memory)

        self._running = (about, stop, self._pool.submit(look))
        self._fetch.start()

    def _take(self) -> None:
        """Take an answer that is there; not while the mouse is held down, as rows grow when it is shown."""
        if self._running is None or not self._running[2].done():
            return
        if QApplication.mouseButtons() is not Qt.MouseButton.NoButton:
            return
        about, _, future = self._running
        self._running = None
        self._fetch.stop()
        self._answers[about] = future.result()
        self._wanted = [one for one in self._wanted if one != about]
        self.found.emit()
        self._begin()

    def _let_go(self) -> None:
        if self._running is not None:
            self._running[1].set()
            self._running = None
        self._fetch.stop()
