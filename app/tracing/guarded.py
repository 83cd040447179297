"""Reading in a process of its own with limits of time and memory, so that no file can hang or fill the machine.

What the process prints back is numbers, JSON and a picture that it encoded itself. It may write no file where the
system can forbid it.
"""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.apart import limit, surroundings
from app.tracing.found import Found, FoundPicture
from app.tracing.handing_over import from_bytes, refusal_bytes, refusal_of, to_bytes
from app.tracing.limits import refused
from app.tracing.questions import Answers
from app.tracing.reading import is_picture
from app.tracing.watching import Watch
from geometry.errors import PatternError

#: A file is given up after so many seconds …
SECONDS = 9.0
#: … or when reading it takes this much memory (bytes).
MEMORY = 900_000_000
#: A picture takes longer and more: its decoded size is limited before it is read. Of this memory some 240 MB are only
#: set aside, so that less than 1 GB is ever in use; other programs at work make it wait, but not work, longer.
PICTURE_SECONDS, PICTURE_WORK, PICTURE_MEMORY = 60.0, 20, 1_230_000_000
#: OpenCV works with no more threads than this; each sets memory aside for itself.
_THREADS = 4
_REFUSED = 3
#: What stands before a step's words on the process's standard error.
STEP = "step: "
#: Python’s own arguments for the process.
ARGUMENTS = ("-B", "-m", "app.tracing.guarded")


def read_guarded(data: bytes, name: str, answers: Answers, further: Sequence[bytes] = ()) -> Found:
    """``reading.read_found`` in a process with limits. Raises PatternError as it does, and at the limits.

    ``further`` are more pictures of the same piece.
    """
    try:
        done = subprocess.run(
            [sys.executable, *ARGUMENTS],
            input=asked_of(data, name, answers, further),
            capture_output=True,
            timeout=seconds_for(data) * (1 + len(further)),
            env={**os.environ, **surroundings()},
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise too_long(name) from error
    except OSError as error:
        raise not_started(name) from error
    found = outcome(done.returncode, done.stdout, name)
    if isinstance(found, Turned):
        raise PatternError(found.says)
    return found


def asked_of(data: bytes, name: str, answers: Answers, further: Sequence[bytes] = ()) -> bytes:
    """What the process reads from its standard input."""
    parts = [data, *further]
    head = json.dumps([name, dict(answers), [len(part) for part in parts]]).encode()
    return len(head).to_bytes(8, "big") + head + b"".join(parts)


def seconds_for(data: bytes) -> float:
    """After how long reading is given up."""
    return PICTURE_SECONDS if is_picture(data) else SECONDS


@dataclass(frozen=True, eq=False)
class Turned:
    """A file that was refused, in one sentence, with its picture as far as that could be shown."""

    says: str
    picture: FoundPicture | None = None


def outcome(status: int, printed: bytes, name: str) -> Found | Turned:
    """What the process found, or why not, from its exit status and what it printed."""
    if status == _REFUSED:
        return Turned(*refusal_of(printed))
    if status != 0:
        why = "it needs more time or memory than any pattern does, or it is made to do harm."
        return Turned(refused(name, why).says)
    return from_bytes(printed)


def too_long(name: str) -> PatternError:
    return refused(name, "reading it takes too long; it is too large or made to hold the program up.")


def not_started(name: str) -> PatternError:
    return refused(name, "no process could be started to read it.")


def _limit(pictures: int) -> None:
    limit(*((PICTURE_MEMORY, PICTURE_WORK * pictures) if pictures else (MEMORY, int(SECONDS))))


class _Told(Watch):
    """Says each step on standard error, and keeps the picture that was shown last."""

    def __init__(self) -> None:
        self._last: Callable[[], FoundPicture] | None = None

    def step(self, words: str) -> None:
        print(f"{STEP}{words}", file=sys.stderr, flush=True)

    def show(self, picture: Callable[[], FoundPicture]) -> None:
        self._last = picture

    def last(self) -> FoundPicture | None:
        return None if self._last is None else self._last()


def _main() -> int:
    """Read what standard input holds, print what was found or the refusal."""
    from app.tracing.reading import read_found, read_together

    content = io.BytesIO(sys.stdin.buffer.read())
    name, answers, sizes = json.loads(content.read(int.from_bytes(content.read(8), "big")))
    parts = [content.read(size) for size in sizes]
    del content
    if is_picture(parts[0]):
        import cv2

        cv2.setNumThreads(_THREADS)
    _limit(len(parts) if is_picture(parts[0]) else 0)
    told = _Told()
    try:
        several = len(parts) > 1
        read = read_together(parts, name, answers, told) if several else read_found(parts[0], name, answers, told)
    except PatternError as error:
        sys.stdout.buffer.write(refusal_bytes(error.says, told.last()))
        return _REFUSED
    sys.stdout.buffer.write(to_bytes(read))
    return 0


if __name__ == "__main__":
    sys.exit(_main())
