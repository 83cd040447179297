"""Processes of their own that the window starts and hears from."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from PySide6.QtCore import QObject, QProcess, QProcessEnvironment

from app.apart import surroundings

#: A process that was stopped is waited for so long (ms).
_GONE_MS = 2_000


def process_for(parent: QObject) -> QProcess:
    """A process with the surroundings that it needs, not started yet."""
    environment = QProcessEnvironment.systemEnvironment()
    for name, value in surroundings().items():
        environment.insert(name, value)
    process = QProcess(parent)
    process.setProcessEnvironment(environment)
    return process


def begin(process: QProcess, arguments: Sequence[str], reads: bytes) -> None:
    """Start Python with these arguments; ``reads`` is all that its standard input holds."""
    process.start(sys.executable, list(arguments))
    process.write(reads)
    process.closeWriteChannel()


def end(process: QProcess) -> None:
    """Stop it, and wait until it is gone."""
    process.kill()
    process.waitForFinished(_GONE_MS)
