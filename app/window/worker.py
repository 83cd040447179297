"""Long work in a process of its own, on a copy of the garment that nothing changes any more; it can be stopped.

It runs the command line, which saves whole or not at all, so work that was stopped leaves nothing half done.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any

from PySide6.QtCore import QObject, QProcess, QTemporaryDir, Signal

from app.documents import Document
from app.window.apart import begin, process_for
from geometry.errors import PatternError

_DONE, _FAULTED, _REFUSED = 0, 1, 2
_UNSAID = "It could not be done; nothing was written."


class Work(QObject):
    """One command on one garment. ``done`` brings what it printed, ``failed`` one sentence, ``stopped`` nothing."""

    done = Signal(dict)
    failed = Signal(str)
    stopped = Signal()

    def __init__(
        self, says: str, document: Document, command: str, options: Sequence[str],
        files: Mapping[str, bytes] = MappingProxyType({}), saved: Path | None = None,
    ) -> None:
        """Write the copy and start; each of the ``files`` is written beside it and given with its option. The copy has
        the date of the file that was ``saved`` with the same in it.

        Raises PatternError when the copy cannot be written.
        """
        super().__init__()
        from app.files import garment_file, safely

        self.says = says
        self._stopped = False
        self._folder = QTemporaryDir()
        if not self._folder.isValid():
            raise PatternError("There is no room for a working copy of the garment.")
        copy = Path(self._folder.path()) / "copy.garment.json"
        garment_file.save_file(copy, document)
        if saved is not None:
            with contextlib.suppress(OSError):
                os.utime(copy, (saved.stat().st_atime, saved.stat().st_mtime))
        told = [command, "--json", str(copy)]
        for number, (option, data) in enumerate(files.items()):
            path = Path(self._folder.path()) / f"{number}.json"
            safely.write_bytes(path, data)
            told += [option, str(path)]
        self._process = process_for(self)
        self._process.finished.connect(self._finish)
        self._process.errorOccurred.connect(self._break)
        begin(self._process, ["-m", "app", *told, *options], b"")

    def stop(self) -> None:
        """Stop it; what it was to write is not written."""
        self._stopped = True
        self._process.kill()

    def wait(self, milliseconds: int = 30_000) -> bool:
        """Wait until it is over."""
        return self._process.waitForFinished(milliseconds)

    def _finish(self, status: int, how: QProcess.ExitStatus) -> None:
        self._folder.remove()
        if self._stopped:
            self.stopped.emit()
            return
        printed = _read(bytes(self._process.readAllStandardOutput().data()))
        if how is QProcess.ExitStatus.NormalExit and status in (_DONE, _FAULTED) and printed is not None:
            self.done.emit(printed)
            return
        error = (printed or {}).get("error", {})
        self.failed.emit(str(error.get("says", _UNSAID)))

    def _break(self, error: QProcess.ProcessError) -> None:
        if error is QProcess.ProcessError.FailedToStart:
            self._folder.remove()
            self.failed.emit("Python could not be started for it.")


def _read(printed: bytes) -> dict[str, Any] | None:
    try:
        found = json.loads(printed.decode("utf-8"))
    except ValueError:
        return None
    return found if isinstance(found, dict) else None
