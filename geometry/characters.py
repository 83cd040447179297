"""What an edge is like: its greatest curvature, its inflections, and which way it turns where."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.fairness import CORNER_MM, TURN_BACK_DEG, glued_turning, greatest_curvature, reversals
from geometry.jogs import Band
from geometry.lines import Chain
from geometry.motions import FloatArray

#: So near to where the old line begins to turn the other way a line may turn either way (mm).
_TURN_MM = 0.25


@dataclass(frozen=True, eq=False)
class Character:
    """What an edge was like before the notes: K, its greatest curvature (1/mm), and its count of inflections."""

    greatest: float
    inflections: int


def character_of(lines: Sequence[Chain]) -> Character:
    """K and the inflections of an edge as traced, given as its lines between dart mouths."""
    return Character(max(greatest_curvature(line) for line in lines), sum(count_of([line]) for line in lines))


def character_of_band(band: Band) -> Character:
    """The same from the old lines of a band, where no tracing of the edge is known; kinks at jogs are not counted."""
    last = len(band.lines) - 1
    greatest = max(
        greatest_curvature(line, leave_start=CORNER_MM if i == 0 else 0.0, leave_end=CORNER_MM if i == last else 0.0)
        for i, line in enumerate(band.lines)
        if line.length > 1.0
    )
    return Character(greatest, count_of(band.lines))


def count_of(lines: Sequence[Chain]) -> int:
    """Inflections along lines that follow each other, their kinks and gaps left out."""
    lengths, angles = glued_turning(lines)
    return len(reversals(lengths, angles, math.radians(TURN_BACK_DEG)))


def senses_at(
    turns: FloatArray, signs: FloatArray, places: FloatArray, sides: NDArray[np.intp], begins: Sequence[float]
) -> FloatArray:
    """+1 or -1 (k,): the way old lines turn at places (k,) mm along them; 0 where they begin to turn the other way.

    turns, signs: as ``senses`` gives them. sides: (k,) the line that each place is on, -1 in a gap, which goes with the
    place nearest to it; begins: mm along the old lines of each line's first place.
    """
    known = (sides >= 0).nonzero()[0]
    on = sides[known]
    shifts = np.zeros(len(begins))
    for side in dict.fromkeys(on.tolist()):
        shifts[side] = begins[side] - places[known[int((on == side).argmax())]]
    along = places[known] + shifts[on]
    found = signs[np.clip(np.searchsorted(turns, along) - 1, 0, len(signs) - 1)]
    # Where the old line begins to turn the other way, either may be.
    found[np.minimum.reduce(np.abs(along[:, None] - turns[1:-1]), axis=1) < _TURN_MM] = 0.0
    if len(known) == len(places):
        return found
    return found[np.argmin(np.abs(np.arange(len(places))[:, None] - known), axis=1)]
