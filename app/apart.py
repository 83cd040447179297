"""A process of its own for work that must neither hold up nor fill the one that waits for it: surroundings, limits."""

from __future__ import annotations

import os
from pathlib import Path

_ROOT = Path(__file__).resolve().parent.parent


def surroundings() -> dict[str, str]:
    """What the process needs in its environment."""
    paths = [str(_ROOT), os.environ.get("PYTHONPATH", "")]
    return {
        "PYTHONPATH": os.pathsep.join(paths).rstrip(os.pathsep),
        "OPENBLAS_NUM_THREADS": "1",
        # Each thread would set memory aside for itself, which counts against the limit.
        "MALLOC_ARENA_MAX": "2",
        **({} if _has_list_of_fonts() else {"XDG_CACHE_HOME": os.devnull}),
    }


def _has_list_of_fonts() -> bool:
    """True where the reader of DXF has its list of fonts already; else it would leave an empty one behind, so it must
    find no place for it."""
    home = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    try:
        return os.path.getsize(os.path.join(home, "ezdxf", "font_manager_cache.json")) > 0
    except OSError:
        return False


def limit(memory: int, seconds: int) -> None:
    """Take no more than so much memory (bytes) and time at work, and write no file, where the system can see to it."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
