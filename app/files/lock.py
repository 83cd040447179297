"""One holder at a time for each garment, window and command line alike.

The lock is a small file beside the garment that names the process and the computer. One left behind by a process
that is gone is taken over.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import platform
from pathlib import Path
from typing import Any

from geometry.errors import PatternError


class Lock:
    """A garment held open; ``release`` it, or use it in a ``with`` statement."""

    def __init__(self, file: Path, held: bool) -> None:
        self.file = file
        self.held = held

    def release(self) -> None:
        """Let others open the garment; does nothing the second time."""
        if self.held and _holder(self.file) == _myself():
            with contextlib.suppress(OSError):
                self.file.unlink()
        self.held = False

    def __enter__(self) -> Lock:
        return self

    def __exit__(self, *_: object) -> None:
        self.release()


def lock_file(path: Path | str) -> Path:
    """The lock file of a garment, the same under each of its names."""
    real = Path(path).resolve()
    return real.with_name(f".{real.name[:200]}.lock")


def lock(path: Path | str) -> Lock:
    """Hold a garment; raises PatternError when another window or command has it open.

    In a folder that may not be written to nobody can save, so there the lock is granted without a file.
    """
    file = lock_file(path)
    for _ in range(3):
        try:
            _create(file)
            return Lock(file, held=True)
        except FileExistsError:
            _set_aside_if_stale(file, Path(path))
        except OSError as error:
            if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
                return Lock(file, held=False)
            if error.errno in {errno.ENOENT, errno.ENOTDIR}:
                raise PatternError(f"There is no folder “{file.parent}”.") from error
            reason = (error.strerror or str(error)).lower()
            raise PatternError(f"“{Path(path).name}” cannot be held open: {reason}.") from error
    raise _held(file, Path(path), None)


def _create(file: Path) -> None:
    """Make the lock file with its content in one act; raises FileExistsError when there is one."""
    draft = file.with_name(f"{file.name}-{os.getpid()}")
    try:
        draft.write_text(json.dumps(_myself()) + "\n", encoding="utf-8")
        os.link(draft, file)
    except OSError as error:
        if error.errno not in {errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}:
            raise
        # A file system without links, such as a memory stick's.
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(draft.read_text(encoding="utf-8"))
    finally:
        draft.unlink(missing_ok=True)


def _set_aside_if_stale(file: Path, path: Path) -> None:
    seen = _holder(file)
    if seen is None and not file.exists():
        return
    if seen is not None and not _is_gone(seen):
        raise _held(file, path, seen)
    aside = file.with_name(f"{file.name}-{os.getpid()}-aside")
    try:
        os.rename(file, aside)
    except FileNotFoundError:
        return
    taken = _holder(aside)
    if taken != seen and taken is not None and not _is_gone(taken):
        # Somebody took it over between the look and the rename: theirs goes back.
        with contextlib.suppress(OSError):
            os.link(aside, file)
        aside.unlink()
        raise _held(file, path, taken)
    aside.unlink()


def _holder(file: Path) -> dict[str, Any] | None:
    """What a lock file says, or None when it is missing or says nothing."""
    try:
        said = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(said, dict):
        return None
    whole = isinstance(said.get("process"), int) and isinstance(said.get("computer"), str)
    return said if whole else None


def _myself() -> dict[str, Any]:
    return {"process": os.getpid(), "computer": platform.node(), "begun": _begun(os.getpid())}


def _is_gone(holder: dict[str, Any]) -> bool:
    """True when the process is known to have ended; one on another computer is never known to."""
    if holder["computer"] != platform.node():
        return False
    process = holder["process"]
    try:
        if process <= 0:
            return True
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return True
    except OSError:
        return False
    begun = _begun(process)
    return begun is not None and holder.get("begun") is not None and begun != holder["begun"]


def _begun(process: int) -> int | None:
    """When a process began, in ticks since the computer started; tells it from a later one of the same number."""
    try:
        stat = Path(f"/proc/{process}/stat").read_text(encoding="utf-8", errors="replace")
        return int(stat.rpartition(")")[2].split()[19])
    except (OSError, ValueError, IndexError):
        return None


def _held(file: Path, path: Path, holder: dict[str, Any] | None) -> PatternError:
    name = path.name
    if holder is None:
        return PatternError(f"“{name}” is being opened by another window or command; try again.")
    process, computer = holder["process"], holder["computer"]
    if computer == platform.node():
        return PatternError(f"“{name}” is open in another window or command (process {process}); close it there.")
    return PatternError(
        f"“{name}” is open on the computer “{computer}”; close it there, or delete “{file.name}” if it is not."
    )
