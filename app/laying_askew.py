"""Pieces laid askew on few sheets, looked for as long work: what is asked, and what each line answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from app import outputs
from app.documents import Document
from app.print_choice import PrintChoice, for_toile
from geometry.laid_by_hand import Arrangement, LaidPiece, arrangement_of
from geometry.papers import Paper
from geometry.pipeline import draft
from geometry.relaying import Effort
from geometry.sheets import Sheet, SheetSettings

if TYPE_CHECKING:
    from app.long_work import Say


def asked_for(choice: PrintChoice, beside: outputs.Beside) -> dict[str, Any]:
    """What is asked: the pages, and what is drawn on them."""
    drawn = {"before": choice.before, "shaded": choice.shaded, "date": beside.date, "units": beside.units}
    ways = [asdict(way) for way in choice.settings()]
    return {"ways": ways, "whole": choice.whole, "toile": choice.toile, "drawn": drawn}


class LaidSoFar:
    """What the lines have brought: the ``best`` arrangement for each way the pages of a choice may lie."""

    def __init__(self, choice: PrintChoice) -> None:
        self.best: dict[SheetSettings, Arrangement] = {}
        self._ways = choice.settings()
        self._sheets, self._looked = 0, 0

    def take(self, line: dict[str, Any]) -> None:
        """Take up one more line."""
        if "laid" in line:
            laid = (LaidPiece(piece, turned, (x, y)) for piece, turned, x, y in line["laid"])
            self.best[self._ways[line["way"]]] = tuple(laid)
            self._sheets = line["sheets"]
        else:
            self._looked = (100 * line["way"] + line["looked"]) // len(self._ways)

    def words(self) -> str:
        """How far it is."""
        best = f"{self._sheets} sheets so far, " if self._sheets else ""
        return f"Laying the pieces out, askew as well: {best}{self._looked} % of it looked at."


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
    """Lay the pieces for pages of each way, a line for each arrangement that takes fewer sheets than those before.

    Raises PatternError where they cannot be laid out.
    """
    drafted = draft(document.garment, document.notes)
    pieces = for_toile(drafted) if asked["toile"] else drafted
    beside = replace(outputs.ALONE, **asked["drawn"])
    for number, way in enumerate(asked["ways"]):
        settings = SheetSettings(**(way | {"paper": Paper(**way["paper"])}))
        effort = _Telling(number, say)
        sheet = outputs.page_sheet(pieces, settings, whole=asked["whole"], freely=True, beside=beside, effort=effort)
        _say_laid(say, number, outputs.count_of(sheet, settings), sheet)
