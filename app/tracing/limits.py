"""What a file may hold at most before it is refused, and the sentence that refuses it."""

from __future__ import annotations

from typing import NoReturn

from geometry.errors import PatternError

#: Files larger than this are not read (bytes).
LARGEST = 60_000_000
#: Groups, blocks or forms inside each other.
DEEPEST = 60
#: Drawn things after everything that is used several times has been put in its places.
MOST_THINGS = 40_000
#: Stretches of lines in all.
MOST_STRETCHES = 400_000
#: Operators of a PDF's content: pages for printing at home often draw everything on each and show a part of it.
MOST_OPERATORS = 500_000
#: Nothing lies further off than this (mm), and no line of a garment is so long.
FARTHEST_MM = 100_000.0


def refused(name: str, why: str) -> PatternError:
    """The refusal of a file: “name” was not read: why."""
    return PatternError(f"“{name}” was not read: {why}")


class Count:
    """Counts what is drawn and stretches of lines, and refuses what is too much."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._things = self._stretches = self._operators = 0

    def thing(self, stretches: int = 0) -> None:
        self._things += 1
        self._stretches += stretches
        if self._things > MOST_THINGS or self._stretches > MOST_STRETCHES:
            self._refuse()

    def operator(self) -> None:
        self._operators += 1
        if self._operators > MOST_OPERATORS:
            self._refuse()

    def _refuse(self) -> NoReturn:
        raise refused(self._name, "it draws more than any pattern does; keep only the pieces in it.")
