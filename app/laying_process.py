"""Pieces laid askew on few sheets, looked for in a process of its own with limits of time and memory.

It reads what is printed and a garment from its standard input and prints one JSON object a line: each arrangement that
takes fewer sheets, and how much was looked at. So it can be left at any time, and the best so far be kept.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from dataclasses import asdict, replace
from typing import Any

from app import outputs
from app.apart import limit
from app.documents import Document
from app.files import garment_file
from app.print_choice import PrintChoice, for_toile
from geometry.errors import PatternError
from geometry.laid_by_hand import Arrangement, LaidPiece, arrangement_of
from geometry.pipeline import draft
from geometry.relaying import Effort
from geometry.sheets import Paper, Sheet, SheetSettings

#: Python’s own arguments for the process.
ARGUMENTS = ("-B", "-m", "app.laying_process")
#: What one process may take: seconds at work, and bytes of memory. Both are a multiple of what any sample needs.
SECONDS, MEMORY = 300, 1_500_000_000
#: What she does in the window goes first.
_POLITE = 5

Say = Callable[[dict[str, Any]], None]


def asked_of(document: Document, choice: PrintChoice, beside: outputs.Beside) -> bytes:
    """What the process reads: the pages, what is drawn on them, and the garment."""
    drawn = {"before": choice.before, "shaded": choice.shaded, "date": beside.date, "units": beside.units}
    asked = {
        "ways": [asdict(way) for way in choice.settings()], "whole": choice.whole, "toile": choice.toile, "drawn": drawn
    }
    return json.dumps(asked).encode() + b"\n" + garment_file.to_bytes(document)


def found_in(line: dict[str, Any]) -> tuple[int, Arrangement] | None:
    """Which way the pages lie, as a number, and how the pieces lie; None for a line that only says how far it is."""
    if "laid" not in line:
        return None
    return int(line["way"]), tuple(LaidPiece(piece, turned, (x, y)) for piece, turned, x, y in line["laid"])


class _Telling(Effort):
    """Says each better arrangement, and each hundredth of what may be looked at."""

    def __init__(self, way: int, say: Say) -> None:
        super().__init__()
        self._way, self._say, self._said = way, say, 0

    def enough(self) -> bool:
        looked = 100 * self.spent // self.most
        if looked > self._said:
            self._said = looked
            self._say({"way": self._way, "looked": looked})
        return False

    def better(self, pages: int, sheet: Callable[[], Sheet]) -> None:
        _say_laid(self._say, self._way, pages, sheet())


def _say_laid(say: Say, way: int, pages: int, sheet: Sheet) -> None:
    laid = [(one.piece, one.turned_deg, *one.at) for one in arrangement_of(sheet)]
    say({"way": way, "sheets": pages, "laid": laid})


def answer(document: Document, asked: dict[str, Any], say: Say) -> None:
    """Lay the pieces for pages of each way, a line for each arrangement that takes fewer sheets than those before."""
    drafted = draft(document.garment, document.notes)
    pieces = for_toile(drafted) if asked["toile"] else drafted
    beside = replace(outputs.ALONE, **asked["drawn"])
    for number, way in enumerate(asked["ways"]):
        settings = SheetSettings(**(way | {"paper": Paper(**way["paper"])}))
        effort = _Telling(number, say)
        sheet = outputs.page_sheet(pieces, settings, whole=asked["whole"], freely=True, beside=beside, effort=effort)
        _say_laid(say, number, outputs.count_of(sheet, settings), sheet)


def _main() -> int:
    if hasattr(os, "nice"):
        os.nice(_POLITE)
    limit(MEMORY, SECONDS)
    asked = json.loads(sys.stdin.buffer.readline())
    # It was checked against the schema when it was sent.
    document = garment_file.read_bytes(sys.stdin.buffer.read(), shipped=True)
    try:
        answer(document, asked, lambda line: print(json.dumps(line), flush=True))
    except PatternError:
        # Whoever asked comes upon it again, and says it.
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(_main())
