"""Long work away from the window, in a process of its own; answers come as they are found, and it can be stopped."""

from __future__ import annotations

import json
from typing import Any

from PySide6.QtCore import QObject, QProcess, Signal

from app.documents import Document
from app.long_work import ARGUMENTS, Task, asked_of
from app.window.apart import begin, end, process_for


class LongWork(QObject):
    """One task on one document. ``said`` brings each line of its answer; ``ended`` says whether it came to its end: it
    comes last, and not at all once the work was left."""

    said = Signal(dict)
    ended = Signal(bool)

    def __init__(self, task: Task, document: Document, asked: Any, parent: QObject) -> None:
        """Start it. Raises PatternError where the garment cannot be handed over."""
        super().__init__(parent)
        reads = asked_of(task, document, asked)
        self._process = process_for(self)
        self._process.setStandardErrorFile(QProcess.nullDevice())
        self._process.readyReadStandardOutput.connect(self._read)
        self._process.finished.connect(self._finish)
        self._process.errorOccurred.connect(self._break)
        begin(self._process, ARGUMENTS, reads)

    def stop(self) -> None:
        """Go no further: what was said so far is all there is."""
        self._process.kill()

    def leave(self) -> None:
        """Stop it; nothing is brought any more."""
        self.blockSignals(True)
        end(self._process)
        self.deleteLater()

    def _read(self) -> None:
        while self._process.canReadLine():
            self.said.emit(json.loads(bytes(self._process.readLine().data())))

    def _finish(self, status: int, how: QProcess.ExitStatus) -> None:
        self._read()
        self._over(how is QProcess.ExitStatus.NormalExit and status == 0)

    def _break(self, error: QProcess.ProcessError) -> None:
        if error is QProcess.ProcessError.FailedToStart:
            self._over(False)

    def _over(self, whole: bool) -> None:
        self.ended.emit(whole)
        self.deleteLater()
