"""Where the knots of a batten stand along an old run: close to its jogs, further apart beyond, on its own joins."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

import numpy as np

from geometry.motions import FloatArray

#: Knots stand so many stiffnesses from a jog; further out the last step is repeated.
_GRADED = (0.75, 1.75, 3.2, 5.4, 8.6)
_LAST_STEP = 3.0
#: A knot no further than so many stiffnesses from the end of a run is none.
_SPECK = 0.01
#: A run no longer than so many stiffnesses has no knot inside.
_BETWEEN = 0.5
#: A join of the old line takes the place of a knot that is no further off than this share of the step beside it.
_SNAP = 0.35


def cuts_of(
    low: float,
    high: float,
    lengths: FloatArray,
    us: FloatArray,
    count: int,
    jogged: Sequence[bool],
    stiffness: float,
) -> tuple[list[float], list[int]]:
    """Rising parameters at which a run is cut, and which of them (by index) are knots of the batten.

    low, high: where on the run it is glued from and to (mm from its start); lengths, us: (m,) mm along it and the
    parameters there; count: of its cubics; jogged: whether a jog lies at its start and at its end; stiffness in mm.
    """
    inner = [low + place for place in _graded(high - low, stiffness, jogged)]
    first, *places, last = np.interp([low, *inner, high], lengths, us).tolist()
    joins = [float(join) for join in range(1, count) if first + 1e-9 < join < last - 1e-9]
    if joins:
        stops = [low, *inner, high]
        for join, length in zip(joins, np.interp(joins, us, lengths).tolist(), strict=True):
            # Only the knot before it or the one after it is near enough.
            after = bisect_left(stops, length, 1, len(stops) - 1)
            for i in range(max(after - 1, 1), min(after, len(stops) - 2) + 1):
                step = stops[i] - stops[i - 1] if length < stops[i] else stops[i + 1] - stops[i]
                if abs(length - stops[i]) < _SNAP * step and places[i - 1] not in joins:
                    stops[i], places[i - 1] = length, join
                    break
    cut = sorted({first, *places, *joins, last})
    chosen = {first, *places, last}
    return cut, [index for index, u in enumerate(cut) if u in chosen]


def _graded(length: float, stiffness: float, jogged: Sequence[bool]) -> list[float]:
    """Places of inner knots along a run (mm from its start), closer near its jogs."""
    both = all(jogged)
    reach = length / 2 if both else length
    places = [share * stiffness for share in _GRADED]
    while places[-1] < reach:
        places.append(places[-1] + _LAST_STEP * stiffness)
    places = [place for place in places if place < reach]
    if both:
        if not places:
            return [reach] if length > _BETWEEN * stiffness else []
        if reach - places[-1] < _BETWEEN * (places[-1] - (places[-2] if len(places) > 1 else 0.0)):
            places[-1] = reach
        return sorted({*places, *(length - place for place in places)} - {length - reach} | ({reach} & set(places)))
    # Where the graded places end at the very end of the run, rounding tells on which side of it.
    places = [place for place in places if reach - place > _SPECK * stiffness]
    if not places:
        return [reach / 2] if length > _BETWEEN * stiffness else []
    if len(places) > 1 and reach - places[-1] < 0.5 * (places[-1] - places[-2]):
        places.pop()
    return places if jogged[0] else [length - place for place in reversed(places)]
