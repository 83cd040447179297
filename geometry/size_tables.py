"""A table of sizes: the body that each size of a garment is drafted for, with its source. Girths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from geometry.errors import PatternError

#: The girths of a table, in the order in which they are read.
LEVELS_OF_BODY = ("bust", "waist", "hip")
_LEAST_MM, _MOST_MM = 200.0, 3000.0


@dataclass(frozen=True)
class Girths:
    """A body's girths in mm as ISO 8559-1 takes them; None where the table does not say."""

    bust: float | None = None
    waist: float | None = None
    hip: float | None = None

    def __post_init__(self) -> None:
        for name in LEVELS_OF_BODY:
            girth = getattr(self, name)
            if girth is not None and not (math.isfinite(girth) and _LEAST_MM <= girth <= _MOST_MM):
                raise PatternError(
                    f"A {name} girth of {girth:g} mm is no body's; it goes from {_LEAST_MM:g} to {_MOST_MM:g} mm."
                )


@dataclass(frozen=True)
class SizeTable:
    """The girths of each size, smallest first, and where they are from.

    Raises PatternError when it names no source.
    """

    source: str
    girths: Mapping[str, Girths] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise PatternError("A table of sizes names its source; say where the numbers are from.")
