"""Laying pieces askew away from the window, in a process of its own; it can be stopped, and the best so far is kept."""

from __future__ import annotations

import json
import sys

from PySide6.QtCore import QObject, QProcess, QProcessEnvironment, Signal

from app.apart import surroundings
from app.documents import Document
from app.laying_process import ARGUMENTS, asked_of, found_in
from app.outputs import Beside
from app.print_choice import PrintChoice
from geometry.laid_by_hand import Arrangement
from geometry.sheets import SheetSettings

#: A process that was stopped is waited for so long (ms).
_GONE_MS = 2_000


class LayingWork(QObject):
    """One search. ``went_on`` says how far it is; ``ended`` brings the best arrangement for each way pages may lie, as
    far as it came, and comes last, and not at all once the search was left."""

    went_on = Signal(str)
    ended = Signal(object)

    def __init__(self, document: Document, choice: PrintChoice, beside: Beside, parent: QObject) -> None:
        """Start it. Raises PatternError where the garment cannot be handed over."""
        super().__init__(parent)
        asked = asked_of(document, choice, beside)
        self._ways = choice.settings()
        self._best: dict[SheetSettings, Arrangement] = {}
        self._sheets, self._looked = 0, 0
        environment = QProcessEnvironment.systemEnvironment()
        for name, value in surroundings().items():
            environment.insert(name, value)
        self._process = QProcess(self)
        self._process.setProcessEnvironment(environment)
        self._process.setStandardErrorFile(QProcess.nullDevice())
        self._process.readyReadStandardOutput.connect(self._read)
        self._process.finished.connect(self._finish)
        self._process.errorOccurred.connect(self._break)
        self._process.start(sys.executable, list(ARGUMENTS))
        self._process.write(asked)
        self._process.closeWriteChannel()

    def stop(self) -> None:
        """Try no more: the best so far is brought."""
        self._process.kill()

    def leave(self) -> None:
        """Stop it; nothing is brought any more."""
        self.blockSignals(True)
        self._process.kill()
        self._process.waitForFinished(_GONE_MS)
        self.deleteLater()

    def _read(self) -> None:
        while self._process.canReadLine():
            line = json.loads(bytes(self._process.readLine().data()))
            found = found_in(line)
            if found is not None:
                self._best[self._ways[found[0]]] = found[1]
                self._sheets = line["sheets"]
            else:
                self._looked = (100 * line["way"] + line["looked"]) // len(self._ways)
            best = f"{self._sheets} sheets so far, " if self._sheets else ""
            self.went_on.emit(f"Laying the pieces out, askew as well: {best}{self._looked} % of it looked at.")

    def _finish(self) -> None:
        self._read()
        self.ended.emit(self._best)
        self.deleteLater()

    def _break(self, error: QProcess.ProcessError) -> None:
        if error is QProcess.ProcessError.FailedToStart:
            self.ended.emit(self._best)
            self.deleteLater()
