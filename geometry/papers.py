"""The papers of home printers, and those of the ISO and North American series: names and sizes alone.

Nothing else of the geometry is loaded for them, as the window names them before it is painted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from geometry.errors import PatternError

LEAST_PAPER_MM, MOST_PAPER_MM = 50.0, 5080.0


@dataclass(frozen=True)
class Paper:
    """A paper upright: width and height in mm, and what is left blank on every side where nothing else is said.

    Home printers leave 3 to 6 mm unprinted (common practice, no source). Raises PatternError for no paper at all.
    """

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float = 6.35

    def __post_init__(self) -> None:
        if not all(LEAST_PAPER_MM <= side <= MOST_PAPER_MM for side in (self.width_mm, self.height_mm)):
            raise PatternError(
                f"A paper is {LEAST_PAPER_MM:g} to {MOST_PAPER_MM:g} mm wide and high; {self.width_mm:g} x "
                f"{self.height_mm:g} mm is none."
            )


A4 = Paper("A4", 210.0, 297.0)
LETTER = Paper("Letter", 215.9, 279.4)
#: As wide as A4 and as high as Letter: printed at true size it fits either.
BOTH = Paper("A4 and Letter", 210.0, 279.4, 15.0)
PAPERS: Mapping[str, Paper] = MappingProxyType(
    {
        "a4": A4,
        "letter": LETTER,
        "a4-and-letter": BOTH,
        "a3": Paper("A3", 297.0, 420.0),
        "a2": Paper("A2", 420.0, 594.0),
        "a1": Paper("A1", 594.0, 841.0),
        "a0": Paper("A0", 841.0, 1189.0),
        "legal": Paper("Legal", 215.9, 355.6),
        "tabloid": Paper("Tabloid", 279.4, 431.8),
    }
)
