"""How fair a line is: its turning, its curvature averaged over a window, its inflections, on analytic tangents.

Curvature is averaged over 10 mm and read every 1 mm, so that what is measured is what the eye and the needle see,
not the joins of the cubics; the first 10 mm at a corner are left out. An inflection counts only where the line
turns back by half a degree.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.lines import Chain
from geometry.motions import FloatArray, Point

#: Curvature is averaged over this length (mm), and read at this step (mm).
WINDOW_MM = 10.0
STEP_MM = 1.0
#: The stretch at a corner that is left out of the greatest curvature (mm).
CORNER_MM = 10.0
#: A line must turn back this far before its inflection counts (degrees).
TURN_BACK_DEG = 0.5

_PARTS = 24
_GRID = np.linspace(0.0, 1.0, _PARTS + 1)
_WEIGHTS = np.stack([(1 - _GRID) ** 2, 2 * _GRID * (1 - _GRID), _GRID**2], axis=1)


def angle_between(first: Point | FloatArray, second: Point | FloatArray) -> float:
    """The turn from one direction to another in radians, left positive, between -pi and pi."""
    cross = first[0] * second[1] - first[1] * second[0]
    return math.atan2(cross, first[0] * second[0] + first[1] * second[1])


def turning(line: Chain) -> tuple[FloatArray, FloatArray]:
    """Lengths (m,) in mm along a line and the angle (m,) in radians it has turned there, left positive, 0 at its start.

    A kink shows as two equal lengths with different angles.
    """
    lengths, angles, _ = table(line)
    return lengths, angles


def table(line: Chain) -> tuple[FloatArray, FloatArray, FloatArray]:
    """As ``turning``, with the parameter (m,) of each entry; between entries all three may be interpolated."""
    legs = line.cubics[:, 1:] - line.cubics[:, :-1]
    x, y = _WEIGHTS @ legs[:, :, 0].T, _WEIGHTS @ legs[:, :, 1].T
    sizes = np.hypot(x, y)
    lengths = _lengths(line, sizes)
    us = (_GRID[:, None] + np.arange(len(line))).T.ravel()
    x, y = x.T.ravel(), y.T.ravel()
    usable = sizes.T.ravel() > 1e-9
    if not usable.all():
        lengths, us, x, y = lengths[usable], us[usable], x[usable], y[usable]
    turns = np.arctan2(x[:-1] * y[1:] - y[:-1] * x[1:], x[:-1] * x[1:] + y[:-1] * y[1:])
    return lengths, np.concatenate([[0.0], np.cumsum(turns)]), us


def _lengths(line: Chain, speeds: FloatArray) -> FloatArray:
    along = np.zeros_like(speeds)
    np.cumsum((speeds[:-1] + speeds[1:]) / 2, axis=0, out=along[1:])
    along *= line.segment_lengths / np.maximum(along[-1], 1e-12)
    starts = np.concatenate([[0.0], np.cumsum(line.segment_lengths)[:-1]])
    return (along + starts).T.ravel()


def averaged_curvature(
    line: Chain, *, leave_start: float = CORNER_MM, leave_end: float = CORNER_MM
) -> tuple[FloatArray, FloatArray]:
    """Lengths (m,) every 1 mm along a line and its curvature (m,) in 1/mm there, averaged over 10 mm, left positive.

    ``leave_start`` and ``leave_end`` are left out at the ends (mm). Near an end the window is cut off by it. A line
    too short to leave anything is measured whole.
    """
    lengths, angles = turning(line)
    whole = line.length
    low, high = leave_start, whole - leave_end
    if high < low:
        low, high = 0.0, whole
    at = np.linspace(low, high, max(2, math.ceil((high - low) / STEP_MM) + 1))
    first, last = np.maximum(at - WINDOW_MM / 2, 0.0), np.minimum(at + WINDOW_MM / 2, whole)
    turned = np.interp(last, lengths, angles) - np.interp(first, lengths, angles)
    return at, turned / np.maximum(last - first, 1e-9)


def greatest_curvature(line: Chain, *, leave_start: float = CORNER_MM, leave_end: float = CORNER_MM) -> float:
    """The greatest curvature of a line in 1/mm, either way, as ``averaged_curvature`` reads it."""
    return float(np.abs(averaged_curvature(line, leave_start=leave_start, leave_end=leave_end)[1]).max())


def curvature_variation(line: Chain) -> float:
    """How much the averaged curvature rises and falls in all along a line, in 1/mm: small is fair."""
    return float(np.abs(np.diff(averaged_curvature(line)[1])).sum())


def inflections(line: Chain) -> int:
    """How often a line turns back by half a degree or more."""
    return len(turn_backs(line))


def turn_backs(line: Chain) -> list[float]:
    """The lengths in mm at which a line begins to turn back, where it then does so by half a degree or more."""
    lengths, angles = turning(line)
    return reversals(lengths, angles, math.radians(TURN_BACK_DEG))


def reversals(lengths: FloatArray, angles: FloatArray, least: float) -> list[float]:
    """The lengths at which ``angles`` reverse by at least ``least``: the counted extremes between its two ends."""
    found: list[float] = []
    way, high, low = 0, 0, 0
    for i in range(len(angles)):
        high = i if angles[i] > angles[high] else high
        low = i if angles[i] < angles[low] else low
        if way >= 0 and angles[high] - angles[i] >= least:
            if way > 0:
                found.append(float(lengths[high]))
            way, low = -1, i
            high = i
        elif way <= 0 and angles[i] - angles[low] >= least:
            if way < 0:
                found.append(float(lengths[low]))
            way, high = 1, i
            low = i
    return found
