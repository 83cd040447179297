"""Reading and saving without losing anything: whole files or none, and one sentence when it cannot be done."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import stat
import threading
from collections.abc import Iterator
from pathlib import Path

from geometry.errors import PatternError

#: A pipe is waited for so long.
_PIPE_SECONDS = 5.0


def write_bytes(path: Path | str, data: bytes) -> None:
    """Save ``data`` under ``path`` whole or not at all.

    Written to a temporary file beside it, flushed to the disk, then put in its place; a link stays a link and an
    existing file keeps its mode. A pipe or a device is written to directly. Raises PatternError, and leaves what
    was there, when the disk is full, the folder is missing or may not be written to, or the file is read-only.
    """
    shown = Path(path)
    try:
        real = shown.resolve()
        mode = _mode_of(real)
        if mode is not None and stat.S_ISDIR(mode):
            raise PatternError(f"“{shown}” is a folder; give the name of a file in it.")
        if mode is not None and not stat.S_ISREG(mode):
            real.write_bytes(data)
            return
        if mode is not None and not mode & 0o222:
            raise PatternError(f"“{shown.name}” is read-only, so it was not saved; save it under another name.")
        _replace(real, data, mode)
    except (OSError, RuntimeError, ValueError) as error:
        raise PatternError(_why_not_saved(shown, error)) from error


@contextlib.contextmanager
def made_folder(folder: Path) -> Iterator[None]:
    """A folder to write to; one that is new goes again where nothing could be written into it.

    Raises PatternError when it cannot be made.
    """
    new = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PatternError(f"The folder “{folder}” cannot be made: {error.strerror}.") from error
    try:
        yield
    except PatternError:
        if new:
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise


def read_bytes(path: Path | str, most: int) -> bytes:
    """The content of a file of at most ``most`` bytes.

    Raises PatternError when it is missing, is a folder, may not be read or is larger, and for a pipe through which
    nothing comes.
    """
    shown = Path(path)
    try:
        if stat.S_ISFIFO(shown.stat().st_mode):
            data = _through_pipe(shown, most + 1)
        else:
            with shown.open("rb") as file:
                data = file.read(most + 1)
    except (OSError, ValueError) as error:
        raise PatternError(_why_not_read(shown, error)) from error
    if len(data) > most:
        raise PatternError(f"“{shown.name}” is larger than {most // 1_000_000} MB, so it was not read.")
    return data


def _through_pipe(path: Path, most: int) -> bytes:
    """What comes through a pipe until its writers have closed it, at most so many bytes; it is not waited for long."""
    import select

    found, waited = b"", False
    with open(os.open(path, os.O_RDONLY | os.O_NONBLOCK), "rb", buffering=0) as pipe:
        while len(found) < most:
            block = pipe.read(min(1 << 20, most - len(found)))
            if block:
                found += block
            elif block is not None and (found or waited):
                # Every writer has gone.
                break
            elif not select.select([pipe], [], [], _PIPE_SECONDS)[0]:
                raise PatternError(f"“{path.name}” is a pipe through which nothing comes; give the file itself.")
            else:
                waited = True
    return found


def stamp_of(data: bytes) -> str:
    """A short mark of what a file holds, to be compared by ``changed_since``."""
    return hashlib.sha256(data).hexdigest()


def changed_since(path: Path | str, stamp: str | None) -> bool:
    """True when the file no longer holds what it did at ``stamp``; ``stamp`` None means that there was no file.

    A file that is gone has changed; one that was only touched has not. Raises PatternError when it cannot be read.
    """
    try:
        digest = hashlib.sha256()
        with Path(path).open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
    except FileNotFoundError:
        return stamp is not None
    except OSError as error:
        raise PatternError(_why_not_read(Path(path), error)) from error
    return digest.hexdigest() != stamp


def _mode_of(real: Path) -> int | None:
    try:
        return real.stat().st_mode
    except FileNotFoundError:
        return None


def _replace(real: Path, data: bytes, mode: int | None) -> None:
    beside = real.with_name(f".{real.name[:60]}.saving-{os.getpid()}-{threading.get_ident()}")
    try:
        file = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
        with os.fdopen(file, "wb") as out:
            out.write(data)
            out.flush()
            if mode is not None:
                os.chmod(beside, stat.S_IMODE(mode))
            os.fsync(out.fileno())
        os.replace(beside, real)
    except BaseException:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise
    _flush_folder(real.parent)


def _flush_folder(folder: Path) -> None:
    """Make the new name last too, where the system lets a folder be flushed."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _why_not_saved(path: Path, error: Exception) -> str:
    number = error.errno if isinstance(error, OSError) else None
    if number in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
        return f"“{path.name}” was not saved, because the disk is full; what was there before is kept."
    if number in {errno.ENOENT, errno.ENOTDIR}:
        return f"“{path.name}” was not saved, because there is no folder “{path.parent}”."
    if number in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return f"“{path.name}” was not saved, because “{path.parent}” may not be written to; choose another folder."
    if number == errno.ENAMETOOLONG:
        return f"“{path.name[:30]}…” was not saved, because the name is too long."
    return f"“{path.name}” was not saved: {_reason(error)}."


def _why_not_read(path: Path, error: Exception) -> str:
    number = error.errno if isinstance(error, OSError) else None
    if number in {errno.ENOENT, errno.ENOTDIR}:
        return f"There is no file “{path}”."
    if number == errno.EISDIR:
        return f"“{path}” is a folder; give the name of a file in it."
    if number in {errno.EACCES, errno.EPERM}:
        return f"“{path.name}” may not be read; ask whoever owns it."
    if number == errno.ENAMETOOLONG:
        return f"There is no file “{path.name[:30]}…”; the name is too long."
    return f"“{path.name}” was not read: {_reason(error)}."


def _reason(error: Exception) -> str:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return reason.rstrip(".").lower()
