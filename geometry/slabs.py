"""Paper cut straight across and slid: whether its outline surely keeps clear of itself, so that nobody need look."""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometry.motions import Point
from geometry.regions import Band, Region
from geometry.tolerances import MEET_MM

#: Two parts that meet may lap by a rounding error (mm).
_LAP_MM = 1e-9


def keeps_clear(regions: Sequence[Region], joints: Sequence[tuple[Point, Point]]) -> bool:
    """True where a sound outline, parted by ``regions`` at two places, surely crosses itself nowhere.

    joints: at each place the end of the run before it and the start of the run after it, as they come to lie (mm).
    True only for one half of the paper slid straight against the other, with or without a strip taken out between.
    Then either half lies on its own side of where it was cut, as sound as it was, and the two are joined there by the
    two joints alone, which do not cross when one lies wholly to the side of the other. False says nothing.
    """
    slid, taken = regions[-1], regions[:-1]
    if len(joints) != 2 or len(taken) > 1 or slid.motion is None or not slid.motion.slides:
        return False
    band, strip = slid.area, taken[0].area if taken else None
    if not isinstance(band, Band) or (taken and taken[0].motion is not None):
        return False
    # Seen so that what is slid lies beyond what stays.
    side = 1.0 if band.high == math.inf else -1.0
    stays_to = slid_from = _seen(band, side)[0]
    if strip is not None:
        if not isinstance(strip, Band) or (strip.through, strip.along) != (band.through, band.along):
            return False
        low, high = _seen(strip, side)
        if not low <= slid_from <= high:
            return False
        stays_to, slid_from = low, high
    if not (math.isfinite(stays_to) and math.isfinite(slid_from) and _seen(band, side)[1] == math.inf):
        return False
    (ux, uy), (x, y) = band.along, band.through
    slid_from += side * (ux * slid.motion.f - uy * slid.motion.e)
    if slid_from < stays_to - _LAP_MM:
        return False
    spans = []
    for ends in joints:
        near, far = sorted(side * (ux * (py - y) - uy * (px - x)) for px, py in ends)
        if abs(near - stays_to) > MEET_MM or abs(far - slid_from) > MEET_MM:
            return False
        spans.append(sorted(ux * px + uy * py for px, py in ends))
    first, second = sorted(spans)
    return first[1] < second[0] - MEET_MM


def _seen(band: Band, side: float) -> tuple[float, float]:
    """How far a band reaches, seen from one side (+1) of its line or from the other (-1)."""
    return (band.low, band.high) if side > 0 else (-band.high, -band.low)
