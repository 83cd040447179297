"""Ctrl-C while pieces are laid askew takes the best arrangement so far; pressed again, it stops the command."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from geometry.relaying import Effort
from geometry.sheets import Sheet


@contextmanager
def listening(say: Callable[[str], None], *, askew: bool) -> Iterator[Callable[[], Effort]]:
    """Makes efforts that end at the first Ctrl-C; they say what it comes to where pieces are tried ``askew``."""
    pressed = threading.Event()
    if not askew or threading.current_thread() is not threading.main_thread():
        yield Effort
        return

    def press(number: int, frame: Any) -> None:
        if pressed.is_set():
            raise KeyboardInterrupt
        pressed.set()

    before = signal.signal(signal.SIGINT, press)
    say("trying pieces askew as well; Ctrl-C takes the best so far")
    try:
        yield lambda: _Said(say, pressed)
    finally:
        signal.signal(signal.SIGINT, before)
        if pressed.is_set():
            say("notice: stopped; the best so far is taken, fewer sheets might still have been found")


class _Said(Effort):
    def __init__(self, say: Callable[[str], None], pressed: threading.Event) -> None:
        super().__init__()
        self._say, self._pressed = say, pressed

    def enough(self) -> bool:
        return self._pressed.is_set()

    def better(self, pages: int, sheet: Callable[[], Sheet]) -> None:
        self._say(f"{pages} {'sheet' if pages == 1 else 'sheets'} so far")
