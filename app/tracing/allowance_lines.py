"""Whether one outline lies inside another as a stitching line does inside its cutting line, at a few even widths."""

from __future__ import annotations

import math

import numpy as np
import shapely

from app.tracing.joining import Loop
from app.tracing.pieces_found import WIDEST_ALLOWANCE_MM
from geometry.motions import FloatArray

#: The gap between two outlines is measured this close (mm), and is even within this (mm).
_STEP_MM, _EVEN_MM = 4.0, 0.4
#: A cutting line lies at no more widths than this along most of the stitching line, mostly at least so far out (mm).
_WIDTHS, _MOST, _LEAST_MM = 3, 0.9, 3.0
#: A fold strays from a straight line by no more than this (mm).
_STRAIGHT_MM = 0.5
#: So much of the stitching line has an allowance at least; the rest lies on the fold.
_SEWN = 0.3


def is_stitching_line(outer: Loop, inner: Loop) -> bool:
    """Whether the inner outline may be the stitching line of the outer one. Sizes lie apart by ever another width, or
    run together along more than a fold."""
    if not outer.grown.covers(inner.polygon):
        return False
    line = inner.polygon.exterior
    places = shapely.line_interpolate_point(line, np.arange(0.0, line.length, _STEP_MM))
    # As an open line: from a closed ring some versions of GEOS measure too far.
    gaps = shapely.distance(places, shapely.LineString(outer.polygon.exterior.coords))
    if not _on_one_line(shapely.get_coordinates(places[gaps < _EVEN_MM])):
        return False
    left = np.sort(gaps)
    even = sewn = 0
    for _ in range(_WIDTHS):
        if not len(left):
            break
        behind = np.searchsorted(left, left + _EVEN_MM, side="right")
        held = behind - np.arange(len(left))
        first = int(held.argmax())
        even += int(held[first])
        if _LEAST_MM <= left[first] <= WIDEST_ALLOWANCE_MM:
            sewn += int(held[first])
        left = np.delete(left, slice(first, int(behind[first])))
    return even >= _MOST * len(places) and sewn >= _SEWN * len(places)


def _on_one_line(points: FloatArray) -> bool:
    """Whether points (n, 2) lie on one straight line, as those of a fold do."""
    if len(points) < 3:
        return True
    across = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)[-1]
    return bool(across / math.sqrt(len(points)) <= _STRAIGHT_MM)
