"""Something asked that may take its time, such as which printers there are: answered later, the window stays alive."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress

from PySide6.QtCore import QObject, Signal

from geometry.errors import PatternError


class Asked(QObject):
    """``answered`` brings what ``ask`` gave, ``refused`` why not in one sentence. Whoever asked may be gone by then."""

    answered = Signal(object)
    refused = Signal(str)

    def start(self, ask: Callable[[], object]) -> None:
        threading.Thread(target=self._run, args=(ask,), daemon=True).start()

    def _run(self, ask: Callable[[], object]) -> None:
        # What was asked for a dialog that is closed by now reaches nobody.
        with suppress(RuntimeError):
            try:
                found = ask()
            except PatternError as error:
                self.refused.emit(error.says)
            else:
                self.answered.emit(found)
