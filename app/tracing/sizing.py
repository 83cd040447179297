"""Units that a file may have been drawn in, and what a piece would measure in each."""

from __future__ import annotations

from collections.abc import Mapping

from app.tracing.questions import Choice
from geometry.lines import Chain

#: Millimetres in one unit of a file.
PER_UNIT: Mapping[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": 25.4,
    "ft": 304.8,
    "96dpi": 25.4 / 96,
    "90dpi": 25.4 / 90,
    "72dpi": 25.4 / 72,
}
#: The larger side of the largest piece lies between these if the unit is likely (mm).
LIKELY_MM = (60.0, 2500.0)


def box_of(line: Chain) -> tuple[float, float]:
    """Width and height of a line's box."""
    points = line.flat[0]
    x, y = points.max(axis=0) - points.min(axis=0)
    return (float(x), float(y))


def size_choice(unit: str, scale: float, largest: tuple[float, float] | None) -> Choice:
    """The choice of a unit with the size of the largest piece, in mm and inches."""
    if largest is None:
        return Choice(unit)
    x, y = largest[0] * scale, largest[1] * scale
    return Choice(unit, f"the largest piece is {x:.1f} x {y:.1f} mm ({x / 25.4:.2f} x {y / 25.4:.2f} in)")
