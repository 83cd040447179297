"""``tucktrue``: alone, or with a garment to open, it is the window; with a command it is the command line.

The window is asked for before anything of the geometry is loaded, so that it is painted first.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

# Before numpy is loaded: more threads change the last digits of a solved batten.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def wants_window(words: Sequence[str]) -> bool:
    """Whether a call is for the window: no words at all, or one garment file."""
    return not words or (len(words) == 1 and words[0].endswith(".json") and not words[0].startswith("-"))


def main(arguments: Sequence[str] | None = None) -> int:
    """Open the window or run the command; returns the exit status."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    if wants_window(words):
        from app.window.main import open_window

        return open_window(words[0] if words else None)
    from app.command_line import main as run

    return run(words)
