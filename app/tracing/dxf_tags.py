"""The bare tags of a DXF, looked through before anything is built: numbers that are none, files that were cut off."""

from __future__ import annotations

import math
import re
import struct

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


def as_text(data: bytes, name: str) -> bytes:
    """The same DXF written as text where it is a binary one. Raises PatternError for one that is cut off or damaged."""
    if not data.startswith(_BINARY):
        return data
    from ezdxf.lldxf.const import DXFError
    from ezdxf.lldxf.tagger import binary_tags_loader

    if b"EOF" not in data[-64:]:
        raise refused(name, "it ends in the middle; get the whole file once more.")
    try:
        text = "".join(tag.dxfstr() for tag in binary_tags_loader(data))
    except (DXFError, ValueError, TypeError, LookupError, ArithmeticError, struct.error) as error:
        raise refused(name, "it is a binary DXF that is damaged; save it once more, best as text.") from error
    version = re.search(r"AC(\d{4})", text[:400])
    # Words are UTF-8 from AC1021 (2007) on, before that in the code page, mostly this.
    return text.encode("cp1252" if version and int(version[1]) < 1021 else "utf-8", "replace")


def check(data: bytes, name: str) -> None:
    """Raises PatternError where a text ends too soon, or a number in it would be read as another."""
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
