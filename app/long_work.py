"""Long work on a garment in a process of its own, with limits of time and memory; it answers line by line.

It reads what is to be done, what is asked and the garment from its standard input and prints one JSON object a line, so
that it can be left at any time and what is known so far be kept.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from app.apart import limit
from app.documents import Document
from app.files import garment_file
from geometry.errors import PatternError

#: Python’s own arguments for the process.
ARGUMENTS = ("-B", "-m", "app.long_work")
#: What she does in the window goes first.
_POLITE = 5

Say = Callable[[dict[str, Any]], None]


@dataclass(frozen=True)
class Task:
    """What is done: ``module`` has ``answer(document, asked, say)``, which says one line after another.

    ``seconds`` at work and ``memory`` in bytes are the most that it may take, a multiple of what any sample needs.
    """

    module: str
    seconds: int
    memory: int = 1_500_000_000


#: Pieces laid askew on few sheets; and what puts things right.
LAYING_ASKEW = Task("app.laying_askew", 300)
PUTTING_RIGHT = Task("app.truing_sought", 120)


def asked_of(task: Task, document: Document, asked: Any) -> bytes:
    """What the process reads; ``asked`` is JSON. Raises PatternError where the garment cannot be handed over."""
    return json.dumps([vars(task), asked]).encode() + b"\n" + garment_file.to_bytes(document)


def _main() -> int:
    if hasattr(os, "nice"):
        os.nice(_POLITE)
    told, asked = json.loads(sys.stdin.buffer.readline())
    task = Task(**told)
    limit(task.memory, task.seconds)
    # It was checked against the schema when it was sent.
    document = garment_file.read_bytes(sys.stdin.buffer.read(), shipped=True)
    try:
        import_module(task.module).answer(document, asked, lambda line: print(json.dumps(line), flush=True))
    except PatternError:
        # Whoever asked comes upon it again, and says it.
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(_main())
