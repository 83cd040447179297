"""Looking for what puts things right away from the window, in a process of its own; answers come as they are found."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence

from PySide6.QtCore import QObject, QProcess, QProcessEnvironment, Signal

from app.apart import surroundings
from app.documents import Document
from app.truing_process import ARGUMENTS, asked_of, proposal_of, trued_of

#: A process that was stopped is waited for so long (ms).
_GONE_MS = 2_000


class TruingWork(QObject):
    """One search on one document: for each of ``abouts``, or for all that is open where that is None.

    ``answered`` brings what it is about and a Proposal or None, ``came_to`` what truing comes to next and how many
    notes there are so far, ``trued`` what truing every seam did. ``ended`` says whether it came to its end; it comes
    last, and not at all once the search was left.
    """

    answered = Signal(str, object)
    came_to = Signal(str, int)
    trued = Signal(object)
    ended = Signal(bool)

    def __init__(self, document: Document, abouts: Sequence[str] | None, parent: QObject) -> None:
        """Start it. Raises PatternError where the garment cannot be handed over."""
        super().__init__(parent)
        asked = asked_of(document, abouts)
        self.abouts = tuple(abouts or ())
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

    def leave(self) -> None:
        """Stop it; nothing is brought any more."""
        self.blockSignals(True)
        self._process.kill()
        self._process.waitForFinished(_GONE_MS)
        self.deleteLater()

    def _read(self) -> None:
        while self._process.canReadLine():
            line = json.loads(bytes(self._process.readLine().data()))
            if "about" in line:
                self.answered.emit(*proposal_of(line))
            elif "at" in line:
                self.came_to.emit(line["at"], line["notes"])
            else:
                self.trued.emit(trued_of(line))

    def _finish(self, status: int, how: QProcess.ExitStatus) -> None:
        self._read()
        self.ended.emit(how is QProcess.ExitStatus.NormalExit and status == 0)
        self.deleteLater()

    def _break(self, error: QProcess.ProcessError) -> None:
        if error is QProcess.ProcessError.FailedToStart:
            self.ended.emit(False)
            self.deleteLater()
