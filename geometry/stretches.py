"""A stretch of a jogged edge by itself: all that redrawing it hangs on, so that it can be recalled."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np

from geometry.jogs import Band, Jog, Spot, Stretch
from geometry.kept import frozen
from geometry.motions import FloatArray

#: Places where the old lines begin to turn the other way count so far beyond the stretch (mm), and to this many digits,
#: so that what lies further away cannot tell.
_BEYOND_MM, _DIGITS = 1.0, 6
_EVERYWHERE = frozen(np.array([-np.inf, np.inf]))


@dataclass(frozen=True, eq=False)
class Alone:
    """A stretch on its own old lines.

    at_ends: whether its first and its last line are those of the edge between its corners. turns, signs: where the old
    lines begin to turn the other way (mm along them, the first and the last far beyond) and the way they turn between,
    as in ``Band.senses``.
    """

    band: Band
    stretch: Stretch
    at_ends: tuple[bool, bool]
    turns: FloatArray
    signs: FloatArray

    @property
    def told(self) -> Hashable:
        """Everything but the lines themselves, by value."""
        one = self.stretch
        jogs = tuple((jog.index, jog.jog_mm, jog.kink, jog.overlap) for jog in one.jogs)
        spots = (one.start, one.end, one.held_from, one.held_to)
        return (spots, jogs, self.at_ends, tuple(self.turns.tolist()), tuple(self.signs.tolist()))


def alone(band: Band, stretch: Stretch) -> Alone:
    """A stretch of a band with the lines between its fixed points alone."""
    first, last = stretch.held_from.line, stretch.held_to.line
    lines = band.lines[first : last + 1]
    jogs = tuple(Jog(jog.index - first, jog.note, jog.jog_mm, jog.kink, jog.overlap) for jog in stretch.jogs)
    own = Band(lines, jogs, ())
    spots = (stretch.start, stretch.end, stretch.held_from, stretch.held_to)
    start, end, held_from, held_to = (Spot(spot.line - first, spot.at) for spot in spots)
    there = Stretch(start, end, held_from, held_to, jogs)
    turns, signs = band.senses
    at_ends = (first == 0, last == len(band.lines) - 1)
    if len(signs) == 1:
        return Alone(own, there, at_ends, _EVERYWHERE, signs)
    inner = np.round(turns[1:-1] - band.between(band.first_spot, Spot(first, 0.0)), _DIGITS)
    whole = own.between(own.first_spot, own.last_spot)
    low, high = inner.searchsorted([-_BEYOND_MM, whole + _BEYOND_MM]).tolist()
    turns = np.concatenate([[-np.inf], inner[low:high], [np.inf]])
    return Alone(own, there, at_ends, turns, signs[low : high + 1])


@dataclass(frozen=True, eq=False)
class Room:
    """The run in mm that one jog has on either side, and whether the bounds apply there."""

    before: float
    after: float
    applies: bool


def room_of(band: Band, stretch: Stretch, jog: Jog, greatest: float) -> Room:
    """The run of a jog on either side: to the end of the stretch, or half the way to the next jog in it."""
    before, after = band.between(stretch.start, band.before(jog)), band.between(band.after(jog), stretch.end)
    for other in stretch.jogs:
        if other.index < jog.index:
            before = min(before, band.between(band.after(other), band.before(jog)) / 2)
        elif other.index > jog.index:
            after = min(after, band.between(band.after(jog), band.before(other)) / 2)
    least = min(before, after)
    applies = (
        greatest > 0
        and least >= 25 * jog.jog_mm
        and least * greatest >= 2 * abs(jog.kink)
        and greatest * least**2 >= 5 * jog.jog_mm
    )
    return Room(before, after, applies)


def most_off(jog: Jog, greatest: float) -> float:
    """How far off the old lines an even share may lie, in mm, where the bounds apply."""
    return 0.75 * jog.jog_mm + 0.2 * jog.kink**2 / max(greatest, 1e-9) + 0.1
