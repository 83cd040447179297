"""The bare tags of a DXF, looked through before anything is built: numbers that are none, files that were cut off."""

from __future__ import annotations

import math
import re

from app.tracing.limits import refused

_BINARY = b"AutoCAD Binary DXF"
_NUMBER = re.compile(rb"\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:[eEdD][-+]?\d+)?\s*")
#: A text of more lines than this is no pattern.
_MOST_LINES = 2_500_000
#: Group codes of numbers with a decimal point; those of 1010 on are other programs' own.
_REAL = (*range(10, 60), *range(110, 150), *range(210, 240), *range(460, 470))


def is_dxf(data: bytes) -> bool:
    """True for what begins as a DXF does."""
    if data.startswith(_BINARY):
        return True
    return re.match(rb"(?:\xef\xbb\xbf)?\s*(?:999\r?\n[^\n]*\n\s*)*0\s*\r?\n\s*SECTION", data[:4000]) is not None


def check(data: bytes, name: str) -> None:
    """Raises PatternError where the file ends too soon, or a number in it would be read as another."""
    if data.startswith(_BINARY):
        if b"EOF" not in data[-64:]:
            raise refused(name, "it ends in the middle; get the whole file once more.")
        return
    lines = data.splitlines()
    if len(lines) > _MOST_LINES:
        raise refused(name, "it holds more than any pattern does; keep only the pieces in it.")
    while lines and not lines[-1].strip():
        lines.pop()
    if not lines or lines[-1].strip() != b"EOF":
        raise refused(name, "it ends in the middle; get the whole file once more.")
    reals = {str(code).encode() for code in _REAL}
    for number in range(0, len(lines) - 1, 2):
        code = lines[number].strip()
        if code in reals:
            _check_real(lines[number + 1], number + 2, name)
        elif not code.lstrip(b"-").isdigit():
            word = code[:20].decode("ascii", "replace")
            raise refused(name, f"line {number + 1} says “{word}” where a code must stand; it is damaged.")


def _check_real(text: bytes, line: int, name: str) -> None:
    word = text.strip()[:20].decode("ascii", "replace")
    if _NUMBER.fullmatch(text) is None or not math.isfinite(float(text.replace(b"D", b"E").replace(b"d", b"e"))):
        hint = "decimal commas were written for points" if b"," in text else "it is damaged"
        raise refused(name, f"line {line} says “{word}” where a number must stand ({hint}); nothing is guessed.")
