"""Units that a file may have been drawn in, and what a piece would measure in each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from app.tracing.found import FoundLine
from app.tracing.joining import join
from app.tracing.questions import Choice
from geometry.lines import Chain
from geometry.motions import Motion

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
#: The longest line of a drawing is taken to be so long while its outlines are looked for, and gaps in it so wide (mm).
_ABOUT_MM, _GAP_MM = 500.0, 0.5
#: The larger side of the largest piece lies between these if the unit is likely (mm).
LIKELY_MM = (60.0, 2500.0)
#: No piece is smaller than this, nor larger than a garment's file can hold (mm).
LEAST_MM, WIDEST_MM = 20.0, 10_000.0


def box_of(line: Chain) -> tuple[float, float]:
    """Width and height of a line's box."""
    points = line.flat[0]
    x, y = points.max(axis=0) - points.min(axis=0)
    return (float(x), float(y))


def largest_box(lines: Sequence[FoundLine]) -> tuple[float, float] | None:
    """Width and height, in the file's own units, of the largest outline that lines form; None where there is none."""
    boxes = [line.chain.box for line in lines]
    whole = max((max(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes), default=0.0)
    if whole <= 0:
        return None
    # Gaps are as good as closed in a drawing of about a metre, whatever it was drawn in.
    scale = _ABOUT_MM / whole
    grown = [replace(line, chain=line.chain.moved(Motion(scale, 0.0, 0.0, scale))) for line in lines]
    loops = [loop.box for loop in join(grown, _GAP_MM).loops]
    across, down = max(loops, key=lambda size: size[0] * size[1], default=(0.0, 0.0))
    return (across / scale, down / scale) if across * down > 0 else None


def size_choice(unit: str, scale: float, largest: tuple[float, float] | None) -> Choice:
    """The choice of a unit with the size of the largest piece, in mm and inches."""
    if largest is None:
        return Choice(unit)
    x, y = largest[0] * scale, largest[1] * scale
    return Choice(unit, f"the largest piece is {x:.1f} x {y:.1f} mm ({x / 25.4:.2f} x {y / 25.4:.2f} in)")
