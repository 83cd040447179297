"""How fair a line is: its turning, its curvature averaged over a window, its inflections, on analytic tangents.

Curvature is averaged over 10 mm and read every 1 mm, so that what is measured is what the eye and the needle see,
not the joins of the cubics; the first 10 mm at a corner are left out. An inflection counts only where the line
turns back by half a degree.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from geometry.beziers import derivatives
from geometry.lines import Chain
from geometry.motions import FloatArray, Point

#: Curvature is averaged over this length (mm), and read at this step (mm).
WINDOW_MM = 10.0
STEP_MM = 1.0
#: The stretch at a corner that is left out of the greatest curvature (mm).
CORNER_MM = 10.0
#: A line must turn back this far before its inflection counts (degrees).
TURN_BACK_DEG = 0.5


def angle_between(first: Point | FloatArray, second: Point | FloatArray) -> float:
    """The turn from one direction to another in radians, left positive, between -pi and pi."""
    cross = first[0] * second[1] - first[1] * second[0]
    return math.atan2(cross, first[0] * second[0] + first[1] * second[1])


def curvatures_at(line: Chain, us: FloatArray) -> FloatArray:
    """Signed curvature in 1/mm (left turn positive) at parameters (m,) of a line."""
    index = np.clip(np.floor(us).astype(int), 0, len(line) - 1)
    first, second = derivatives(line.cubics[index], np.clip(us - index, 0.0, 1.0))
    cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    speed = np.hypot(first[:, 0], first[:, 1])
    return np.where(speed > 1e-9, cross / np.maximum(speed, 1e-9) ** 3, 0.0)


def curvature_at(line: Chain, u: float) -> float:
    """As ``curvatures_at``, at one parameter: quicker than arrays of one."""
    index = min(max(math.floor(u), 0), len(line.cubics) - 1)
    t = min(max(u - index, 0.0), 1.0)
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = line.cubics[index].tolist()
    s = 1 - t
    lx, ly, mx, my, nx, ny = 3 * (bx - ax), 3 * (by - ay), 3 * (cx - bx), 3 * (cy - by), 3 * (dx - cx), 3 * (dy - cy)
    x, y = s * s * lx + 2 * s * t * mx + t * t * nx, s * s * ly + 2 * s * t * my + t * t * ny
    speed = math.hypot(x, y)
    if speed <= 1e-9:
        return 0.0
    return (x * (s * 2 * (my - ly) + t * 2 * (ny - my)) - y * (s * 2 * (mx - lx) + t * 2 * (nx - mx))) / speed**3


def turning(line: Chain) -> tuple[FloatArray, FloatArray]:
    """Lengths (m,) in mm along a line and the angle (m,) in radians it has turned there, left positive, 0 at its start.

    A kink shows as two equal lengths with different angles.
    """
    lengths, angles, _ = table(line)
    return lengths, angles


def table(line: Chain) -> tuple[FloatArray, FloatArray, FloatArray]:
    """As ``turning``, with the parameter (m,) of each entry; between entries all three may be interpolated."""
    return line.turned


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
    if not _may_reverse(angles, least):
        return []
    found: list[int] = []
    turned = angles.tolist()
    way = high = low = 0
    highest = lowest = turned[0]
    for i, angle in enumerate(turned):
        if angle > highest:
            high, highest = i, angle
        if angle < lowest:
            low, lowest = i, angle
        if way >= 0 and highest - angle >= least:
            if way > 0:
                found.append(high)
            way, low, lowest = -1, i, angle
            high, highest = i, angle
        elif way <= 0 and angle - lowest >= least:
            if way < 0:
                found.append(low)
            way, high, highest = 1, i, angle
            low, lowest = i, angle
    return [float(lengths[i]) for i in found]


def _may_reverse(angles: FloatArray, least: float) -> bool:
    """False where the angles only rise, or only fall, but for less than ``least``."""
    reduce = np.maximum.reduce
    return bool(
        reduce(np.maximum.accumulate(angles) - angles) >= least
        and reduce(angles - np.minimum.accumulate(angles)) >= least
    )


def glued_turning(lines: Sequence[Chain]) -> tuple[FloatArray, FloatArray]:
    """As ``turning``, of lines that follow each other, their kinks and gaps left out."""
    lengths, angles, along, turned = [], [], 0.0, 0.0
    for line in lines:
        local, angle = turning(line)
        lengths.append(local + along)
        angles.append(angle + turned)
        along, turned = along + line.length, turned + float(angle[-1])
    return np.concatenate(lengths), np.concatenate(angles)


def senses(lines: Sequence[Chain]) -> tuple[FloatArray, FloatArray]:
    """Lengths (k + 1,) along lines that follow each other, and +1 or -1 (k,): the way they turn from each to the next.

    The lengths between the ends are those of the counted inflections.
    """
    at_most = [sum(sides) for sides in zip(*(line.turns_back for line in lines), strict=True)]
    if min(at_most) < math.radians(TURN_BACK_DEG):
        # Too little to be counted, wherever along the lines it is.
        turned = sum(float(line.turned[1][-1]) for line in lines)
        whole = sum(line.length for line in lines)
        return np.array([0.0, whole]), np.array([1.0 if turned >= 0.0 else -1.0])
    lengths, angles = glued_turning(lines)
    back = reversals(lengths, angles, math.radians(TURN_BACK_DEG))
    if not back:
        return np.array([0.0, lengths[-1]]), np.array([1.0 if angles[-1] >= angles[0] else -1.0])
    turns = np.array([0.0, *back, lengths[-1]])
    return turns, np.where(np.diff(np.interp(turns, lengths, angles)) >= 0, 1.0, -1.0)
