"""Lettering of a PDF, as far as it names pieces and pages: where it starts, and its words by the font's own table."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from geometry.motions import STAY, Motion

_RANGE = re.compile(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>")
_SINGLE = re.compile(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]*)>")
_BLOCK = re.compile(rb"begin(bfrange|bfchar)(.*?)end\1", re.DOTALL)
_MOST = 70_000


@dataclass
class Font:
    """Bytes of a code, and the letters of each."""

    width: int = 1
    letters: dict[int, str] = field(default_factory=dict)

    def words(self, data: bytes) -> str:
        if not self.letters and self.width == 1:
            return data.decode("cp1252", "replace")
        codes = (int.from_bytes(data[i : i + self.width], "big") for i in range(0, len(data), self.width))
        return "".join(self.letters.get(code, "") for code in codes)


def font_of(font: Any) -> Font:
    """How a font's codes are spelled; what cannot be made out is left out of the words."""
    import pikepdf

    try:
        double = str(font.get("/Subtype", "")) == "/Type0"
        table = font.get("/ToUnicode")
        if not isinstance(table, pikepdf.Stream):
            return Font(2 if double else 1)
        return Font(2 if double else 1, _letters(table.read_bytes()[:2_000_000]))
    except (pikepdf.PdfError, ValueError, TypeError, AttributeError):
        return Font()


def _letters(table: bytes) -> dict[int, str]:
    found: dict[int, str] = {}
    for kind, body in _BLOCK.findall(table):
        if kind == b"bfchar":
            for code, letters in _SINGLE.findall(body):
                found[int(code, 16)] = _spelled(letters)
        else:
            for low, high, letters in _RANGE.findall(body):
                first, last = int(low, 16), int(high, 16)
                start = int(letters, 16)
                for code in range(first, min(last, first + 65535) + 1):
                    if len(found) > _MOST:
                        return found
                    value = start + code - first
                    found[code] = chr(value) if value < 0x110000 else ""
    return found


def _spelled(letters: bytes) -> str:
    return bytes.fromhex(letters.decode("ascii").zfill(len(letters) + len(letters) % 2)).decode("utf-16-be", "replace")


class TextState:
    """Where lettering stands; ``shown`` collects (words, map from text space, font size)."""

    def __init__(self) -> None:
        self.font = Font()
        self.size = 0.0
        self.leading = 0.0
        self.matrix = self.line = STAY

    def begin(self) -> None:
        self.matrix = self.line = STAY

    def move(self, x: float, y: float) -> None:
        self.line = Motion(e=x, f=y).then(self.line)
        self.matrix = self.line

    def set(self, matrix: Motion) -> None:
        self.matrix = self.line = matrix
