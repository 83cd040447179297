"""What she measured of the test square, and what it means: one set of words for the command line and the window."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from geometry.errors import PatternError
from geometry.papers import Paper
from geometry.print_scale import Cause, Correction, causes, is_true

#: Lengths that can be measured instead of the square (mm): up to the longest rule that fits a page.
LEAST_OF_MM, MOST_OF_MM = 50.0, 400.0


@dataclass(frozen=True)
class Reading:
    """A line or square of ``of_mm`` on pages for ``paper`` measured ``across_mm`` and ``down_mm``.

    ``loaded`` is the paper in the tray where she said so. Raises PatternError for a length that is not measured.
    """

    paper: Paper
    across_mm: float
    down_mm: float
    of_mm: float = 100.0
    loaded: Paper | None = None

    def __post_init__(self) -> None:
        if not LEAST_OF_MM <= self.of_mm <= MOST_OF_MM:
            raise PatternError(
                f"Measure a line of {LEAST_OF_MM:g} to {MOST_OF_MM:g} mm; one of {self.of_mm:g} mm tells too little."
            )

    @cached_property
    def is_true(self) -> bool:
        """Whether it is true size, as near as a ruler tells."""
        return is_true(self.across_mm, self.down_mm, self.of_mm)

    @cached_property
    def causes(self) -> tuple[Cause, ...]:
        """Every known cause, nearest first; only those on the paper that is in the tray where that is said."""
        found = causes(self.paper, self.across_mm, self.down_mm, self.of_mm)
        return tuple(cause for cause in found if self.loaded is None or cause.loaded.name == self.loaded.name)

    @cached_property
    def trays(self) -> tuple[Paper, ...]:
        """The papers between which the size alone does not tell; empty where there is nothing to ask."""
        papers = tuple({cause.loaded.name: cause.loaded for cause in self.causes}.values())
        return papers if len(papers) > 1 else ()

    def correction(self) -> Correction:
        """What the printer itself makes of 100 mm. Raises PatternError where a setting explains it, or beyond 2 %."""
        if self.causes:
            raise PatternError("A scaling setting explains that reading; put it right rather than correct the printer.")
        return Correction(100 * self.across_mm / self.of_mm, 100 * self.down_mm / self.of_mm)

    def says(self) -> list[str]:
        """What the reading means, a sentence each."""
        found = ["That is true size, as near as a ruler tells."] if self.is_true else []
        of = "" if self.of_mm == 100.0 else f" of {self.of_mm:g} mm"
        for cause in self.causes:
            measures = cause.measures_mm * self.of_mm / 100.0
            found.append(f"{measures:.1f} mm{of} is what is measured when {cause.says}.")
        if self.trays:
            names = " or ".join(paper.name for paper in self.trays)
            found.append(f"Which paper is in the tray, {names}? The size alone does not tell.")
        if self.causes or self.is_true:
            return found
        return [_unknown(self)]


def _unknown(reading: Reading) -> str:
    try:
        reading.correction()
    except PatternError:
        return (
            "No known cause measures that, and a printer that is itself off is so by no more than 2 %. Measure once "
            "more, across and down, and look which paper is in the tray."
        )
    return (
        "No known cause measures that. Measure once more along the rules of the test page; where the printer itself is "
        "off by no more than 2 %, keep a correction for it and print with that."
    )
