"""What she has set for the window: the tape measure, the look, the size of the text, the paper."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Literal

from PySide6.QtCore import QSettings

from app.window.look import LOOKS
from geometry import papers

TEXT_SIZES = (1.0, 1.15, 1.3, 1.5, 1.75, 2.0)
#: The papers of the printer, as the window names them.
OWN_SIZE = "own"
PAPERS = {name: paper.name for name, paper in papers.PAPERS.items()} | {OWN_SIZE: "a size of your own"}


@dataclass(frozen=True)
class Preferences:
    """Kept between one window and the next; a value that is not known falls back to the first."""

    units: Literal["cm", "in"] = "cm"
    look: str = LOOKS[0]
    text_size: float = TEXT_SIZES[0]
    paper: str = "a4"
    own_width: float = papers.A4.width_mm
    own_height: float = papers.A4.height_mm
    landscape: bool = False
    either_way: bool = False
    overlap: float = 12.0
    margin: float = 6.35
    arrangement: str = "side by side"

    @staticmethod
    def read() -> Preferences:
        """What was kept, or what she starts with."""
        kept = _kept()
        start = Preferences()
        found: dict[str, Any] = {
            f.name: _value(kept.value(f.name), getattr(start, f.name)) for f in fields(Preferences)
        }
        if found["units"] not in ("cm", "in"):
            found["units"] = start.units
        if found["look"] not in LOOKS:
            found["look"] = start.look
        if found["paper"] not in PAPERS:
            found["paper"] = start.paper
        found["text_size"] = min(max(found["text_size"], TEXT_SIZES[0]), TEXT_SIZES[-1])
        return Preferences(**found)

    def keep(self) -> None:
        """Keep them for the next window."""
        kept = _kept()
        for field in fields(self):
            kept.setValue(field.name, getattr(self, field.name))


def _kept() -> QSettings:
    return QSettings(QSettings.Format.IniFormat, QSettings.Scope.UserScope, "tuck-and-true", "window")


def _value(kept: object, start: object) -> object:
    """A kept value as the kind of the one she starts with."""
    if isinstance(start, bool):
        return str(kept).lower() == "true" if kept is not None else start
    if isinstance(start, float):
        try:
            number = float(str(kept))
        except ValueError:
            return start
        return number if 0 <= number < 1e4 else start
    return str(kept) if kept is not None else start
