"""What a printed square measures, and why: a page fitted to other paper or shrunk to a printer's margins."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.errors import PatternError
from geometry.papers import A4, BOTH, LETTER, PAPERS, Paper

#: What a reading with a ruler can be off (mm).
READING_MM = 0.5
#: A printer that is itself off is corrected within these (shares of true size).
LEAST_SHARE, MOST_SHARE = 0.98, 1.02
#: Margins that printers leave blank and programs shrink pages to (mm). Common practice, no source.
MARGINS_MM = (3.0, 4.0, 6.35)


@dataclass(frozen=True)
class Cause:
    """A reason for a wrong size: in a sentence, and what 100 mm would then measure (mm)."""

    says: str
    measures_mm: float
    loaded: Paper


@dataclass(frozen=True)
class Correction:
    """What 100 mm measures as a printer prints it, across and down the page (mm). Raises PatternError beyond 98-102."""

    x_mm: float = 100.0
    y_mm: float = 100.0

    def __post_init__(self) -> None:
        for side in (self.x_mm, self.y_mm):
            if not 100 * LEAST_SHARE <= side <= 100 * MOST_SHARE:
                raise PatternError(
                    f"A printer that prints 100 mm as {side:g} mm is not corrected (98 to 102 mm are); look for a "
                    "scaling setting or the wrong paper first."
                )

    @property
    def scale(self) -> tuple[float, float]:
        """By how much a page is drawn larger or smaller, across and down, so that it comes out true."""
        return (100.0 / self.x_mm, 100.0 / self.y_mm)

    @property
    def says(self) -> str:
        """The correction in words; empty when there is none."""
        if self == NONE:
            return ""
        x, y = (100 * share for share in self.scale)
        return f"corrected for the printer: {x:.2f} % across, {y:.2f} % down"


#: Printed as it is.
NONE = Correction()


def causes(paper: Paper, x_mm: float, y_mm: float, length_mm: float = 100.0) -> tuple[Cause, ...]:
    """Every known cause within READING_MM of a reading both ways, nearest first; none when the reading is true.

    ``paper`` is what the pages were laid out for, ``x_mm`` and ``y_mm`` what a line of ``length_mm`` measures.
    """
    found = []
    for cause in known(paper):
        expected = cause.measures_mm * length_mm / 100.0
        off = max(abs(x_mm - expected), abs(y_mm - expected))
        if off <= READING_MM + 1e-9:
            found.append((round(off, 9), cause))
    return tuple(cause for _, cause in sorted(found, key=lambda one: one[0]))


def is_true(x_mm: float, y_mm: float, length_mm: float = 100.0) -> bool:
    """Whether a reading is as near as a ruler tells."""
    return max(abs(x_mm - length_mm), abs(y_mm - length_mm)) <= READING_MM + 1e-9


def known(paper: Paper) -> tuple[Cause, ...]:
    """Pages for this paper fitted to other papers, and shrunk to a printer's margins on A4 or Letter."""
    others = [other for other in dict.fromkeys((A4, LETTER, *PAPERS.values())) if _close(paper, other)]
    # No tray holds pages that fit both; they lie on one of the two.
    others = [other for other in others if other != BOTH]
    fitted = [
        Cause(
            f"pages for {paper.name} were fitted to {other.name} (“fit to page”, or the wrong paper was chosen)",
            100 * min(other.width_mm / paper.width_mm, other.height_mm / paper.height_mm), other,
        )
        for other in others
    ]
    shrunk = [
        Cause(
            f"pages for {paper.name} were shrunk to a printer's margins of {margin:g} mm on {other.name} "
            "(“shrink to fit”, “printable area”)",
            100 * min((other.width_mm - 2 * margin) / paper.width_mm, (other.height_mm - 2 * margin) / paper.height_mm),
            other,
        )
        for other in (*(() if paper == BOTH else (paper,)), *others) for margin in MARGINS_MM
    ]
    return tuple(cause for cause in (*fitted, *shrunk) if abs(cause.measures_mm - 100.0) > READING_MM)


def _close(paper: Paper, other: Paper) -> bool:
    """Papers that might lie in the tray for each other: no side differs by a tenth."""
    return other != paper and all(
        0.9 <= mine / its <= 1.1
        for mine, its in ((paper.width_mm, other.width_mm), (paper.height_mm, other.height_mm))
    )
