"""The outline of a cut-out piece: its edge measured in the picture itself, side by side, and its corners kept sharp."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from app.photo.cut_edges import Edge, Measure, along, edge_measure
from app.photo.edges import Picture, Tone
from app.photo.regions import Region
from app.photo.rings import even_as_it_stands, evened, resampled, spaced
from app.photo.smoothing import Smooth, smoothed
from app.photo.solving import View
from app.photo.turnings import ROUNDED_MM, STEP_MM, corners
from app.photo.two_sides import parted_rim
from geometry.errors import PatternError
from geometry.fitting import refit
from geometry.lines import Chain, joined, straight
from geometry.motions import FloatArray, Point

#: How far (mm) the edge is looked for on both sides: at first round the rough outline, then round the measured one.
_REACHES = (5.0, 2.2)
#: The rough outline is evened over so many mm before its edge is looked for.
EVENED_MM = 4.0
#: The measured edge lies this near the rim that parts paper from table, and strays from its neighbours, so many to each
#: side, by no more than this (mm).
_RIM_MM, _STRAY_MM, _ALONE = 1.2, 0.3, 10
#: A line whose course is known is evened over so many mm; two of its corners stand so many points apart at least.
_KNOWN_EVENED_MM, _KNOWN_APART = 1.5, 6
#: Points further off their side than so many times the usual count less.
_FAR = 3.0
#: Two ways of measuring are compared over so many mm to each side.
_DOUBT_MM = 5.0
#: Shorter stretches where the edge is not seen are bridged by what is seen beside them (mm).
HIDDEN_FROM_MM = 5.0
#: A curve is written in cubics this close to what was measured (mm).
_WRITTEN_MM = 0.01


@dataclass(frozen=True)
class Hidden:
    """A stretch of an outline where no edge was seen: its middle and its length, in mm."""

    at: Point
    length: float


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline in mm, anticlockwise: its sides from corner to corner (one closed line without a corner).

    ``edge_mm`` is the expected rms error of the edge's place from its own unevenness, ``doubt_mm`` the rms of what two
    ways of measuring it differ by; ``hidden`` the stretches where no edge was seen.
    """

    sides: tuple[Chain, ...]
    edge_mm: float
    hidden: tuple[Hidden, ...] = ()
    doubt_mm: float = 0.0

    @property
    def hidden_mm(self) -> float:
        """The length where no edge was seen."""
        return sum(one.length for one in self.hidden)

    @property
    def chain(self) -> Chain:
        """The whole outline."""
        return joined(list(self.sides))


def outlined(picture: Picture, view: View, tone: Tone, region: Region) -> Outline:
    """The outline of the piece that ``region`` shows roughly. Raises PatternError when its edge cannot be followed."""
    measure = edge_measure(picture, view, tone)
    rim = parted_rim(picture, view, tone, evened(region.outline, EVENED_MM))
    if rim is None:
        return round_about(measure, region)
    edge = measure(*rim, _REACHES[-1])
    _check_seen(edge, 0.5)
    points, _ = spaced(_near_rim(*rim, edge))
    # Where the edge was not seen, the rim's own points stand; nothing is bridged.
    return _sides(measure, points, corners(points, np.ones(len(points), bool)))


def _near_rim(points: FloatArray, ways: FloatArray, edge: Edge) -> FloatArray:
    """The measured points (n, 2), those that count nothing or stray alone replaced by the rim's own."""
    off = ((edge.points - points) * ways).sum(axis=1)
    round_about = np.median(np.stack([np.roll(off, step) for step in range(-_ALONE, _ALONE + 1)]), axis=0)
    away = np.abs(off - round_about)
    good = (edge.weights > 0) & (np.abs(off) < _RIM_MM) & (away < max(_STRAY_MM, 6 * float(np.median(away))))
    return points + np.where(good, off, 0.0)[:, None] * ways


def round_about(measure: Measure, region: Region, least_seen: float = 0.5) -> Outline:
    """The outline round a region, by whatever measures it across.

    Raises PatternError when less than the share ``least_seen`` of it can be followed.
    """
    ring = evened(region.outline, EVENED_MM)
    for reach in _REACHES:
        points, ways = spaced(ring)
        edge = measure(points, ways, reach)
        ring = _mended(edge)
    _check_seen(edge, least_seen)
    points, _ = spaced(ring)
    return _sides(measure, points, corners(points, _seen(edge, len(points))))


def _seen(edge: Edge, count: int) -> NDArray[np.bool_]:
    """Which of so many points, spaced anew round a ring that was measured, lie where its edge was seen."""
    at = np.arange(count) * (len(edge.weights) / count)
    return np.asarray(edge.weights[np.round(at).astype(int) % len(edge.weights)] > 0)


def along_line(measure: Measure, ring: FloatArray, known: FloatArray, least_seen: float) -> Outline:
    """The outline along a line whose course (n, 2) in mm, anticlockwise, and whose corners (k, 2) are known already to
    about half a millimetre.

    Raises PatternError when less than the share ``least_seen`` of it is measured.
    """
    points, ways = spaced(even_as_it_stands(resampled(ring), _KNOWN_EVENED_MM))
    edge = measure(points, ways, _REACHES[-1])
    _check_seen(edge, least_seen)
    points, _ = spaced(_mended(edge))
    at = sorted({int(np.linalg.norm(points - one, axis=1).argmin()) for one in known})
    apart = [one for one, before in zip(at, [-len(points), *at], strict=False) if one - before >= _KNOWN_APART]
    return _sides(measure, points, np.array(apart, dtype=np.intp))


def _check_seen(edge: Edge, least_seen: float) -> None:
    if float((edge.weights > 0).mean()) < least_seen:
        raise PatternError(
            "The edge or line is too weak to follow; lay the piece on something plainly darker or lighter, draw the "
            "line darker, or set points along it by hand."
        )


def _mended(edge: Edge) -> FloatArray:
    """The measured points (n, 2), those that count nothing replaced from their neighbours, lone strays put back."""
    points = edge.points.copy()
    good = edge.weights > 0
    middle = np.median(np.stack([np.roll(points, step, axis=0) for step in range(-4, 5)]), axis=0)
    good &= np.linalg.norm(points - middle, axis=1) < 2.0
    if good.sum() < 8:
        return points
    index = np.arange(len(points))
    for k in (0, 1):
        points[:, k] = np.interp(index, index[good], points[good, k], period=len(points))
    return points


def _sides(measure: Measure, points: FloatArray, at: NDArray[np.intp]) -> Outline:
    """Every side measured once more across its own smooth line, and the corners where neighbours meet."""
    sides = [_side(measure, stretch, closed) for stretch, closed in _stretches(points, at)]
    lines = [side.line for side in sides]
    sizes = [line.stop - line.start for line in lines]
    edge_mm = math.sqrt(float(np.average([line.error**2 for line in lines], weights=sizes)))
    doubt_mm = math.sqrt(float(np.average([side.doubt_mm**2 for side in sides], weights=sizes)))
    hidden = tuple(one for side in sides for one in side.hidden)
    if len(at) == 0:
        return Outline((_closed_line(lines[0]),), edge_mm, hidden, doubt_mm)
    ends = [_meeting(before, after) for before, after in zip([lines[-1], *lines[:-1]], lines)]
    written = tuple(_written(line, *pair) for line, pair in zip(lines, pairwise([*ends, ends[0]])))
    return Outline(written, edge_mm, hidden, doubt_mm)


@dataclass(frozen=True, eq=False)
class _Side:
    """One side as a smooth line, what two ways of measuring it differ by (rms), and where it was not seen."""

    line: Smooth
    doubt_mm: float
    hidden: tuple[Hidden, ...]


def _stretches(points: FloatArray, at: NDArray[np.intp]) -> list[tuple[FloatArray, bool]]:
    """The points (m, 2) of every side from corner to corner; a ring without corners runs over its end a little."""
    if len(at) == 0:
        return [(np.concatenate([points[-_OVER:], points, points[:_OVER]]), True)]
    count = len(points)
    stops = [*at[1:].tolist(), int(at[0]) + count]
    return [(points[np.arange(start, stop + 1) % count], False) for start, stop in zip(at.tolist(), stops)]


_OVER = round(30.0 / STEP_MM)


def _side(measure: Measure, stretch: FloatArray, closed: bool) -> _Side:
    size = (len(stretch) - 1) * STEP_MM
    leave = 0.0 if closed else min(ROUNDED_MM, 0.3 * size)
    lengths: FloatArray = np.arange(len(stretch), dtype=np.float64) * STEP_MM
    inner = (lengths >= leave) & (lengths <= size - leave)
    side = smoothed(lengths[inner], stretch[inner], np.ones(int(inner.sum())))
    for _ in range(2):
        base = side.at(lengths[inner])
        tangents = side.ways(lengths[inner])
        edge = measure(base, np.stack([tangents[:, 1], -tangents[:, 0]], axis=1), _REACHES[-1])
        off = np.linalg.norm(edge.points - base, axis=1)
        usual = float(np.median(off[edge.weights > 0])) if (edge.weights > 0).any() else 0.0
        weights = np.where(off < max(4 * usual, 0.6), edge.weights, 0.0) / (1 + (off / (_FAR * usual + 1e-3)) ** 2)
        good = weights > 0
        if good.sum() < 4:
            return _Side(side, 0.0, (Hidden(_point(base[len(base) // 2]), size),))
        side = smoothed(lengths[inner][good], edge.points[good], weights[good], may_rule=not closed)
    doubt = 0.0
    if edge.doubt is not None:
        evenly = along(np.where(good, edge.doubt, 0.0), _DOUBT_MM / STEP_MM)
        doubt = float(np.sqrt((evenly**2).mean()))
    return _Side(side, doubt, _not_seen(base, good))


def _not_seen(base: FloatArray, good: NDArray[np.bool_]) -> tuple[Hidden, ...]:
    """The stretches of points (n, 2) that are not good over more than HIDDEN_FROM_MM."""
    turns = np.flatnonzero(np.diff(np.concatenate([[False], ~good, [False]]).astype(int)))
    runs = zip(turns[::2].tolist(), turns[1::2].tolist())
    return tuple(
        Hidden(_point(base[(start + stop) // 2]), (stop - start) * STEP_MM)
        for start, stop in runs
        if (stop - start) * STEP_MM > HIDDEN_FROM_MM
    )


def _point(row: FloatArray) -> Point:
    return float(row[0]), float(row[1])


def _meeting(before: Smooth, after: Smooth) -> Point:
    """Where the end of one side and the start of the next meet when both run on."""
    one, two = before.stop, after.start
    for _ in range(20):
        gap = (after.at(np.array([two])) - before.at(np.array([one])))[0]
        ways = np.stack([before.ways(np.array([one]))[0], -after.ways(np.array([two]))[0]], axis=1)
        if abs(float(np.linalg.det(ways))) < 0.05:
            break
        step = np.clip(np.linalg.solve(ways, gap), -1.0, 1.0)
        one, two = one + float(step[0]), two + float(step[1])
        if np.abs(step).max() < 1e-7:
            break
    point = (before.at(np.array([one]))[0] + after.at(np.array([two]))[0]) / 2
    return float(point[0]), float(point[1])


def _written(side: Smooth, start: Point, end: Point) -> Chain:
    """A side as a line or as cubics, from corner to corner."""
    if side.is_straight:
        return straight(start, end)
    inner = np.linspace(side.start, side.stop, max(4, round((side.stop - side.start) / 2.0)))
    points = np.concatenate([[start], side.at(inner), [end]])
    return _drawn(points)


def _closed_line(side: Smooth) -> Chain:
    """A ring without corners: the overlap is blended so that its end is its start."""
    over = _OVER * STEP_MM
    total = side.stop - side.start - 2 * over
    lengths = np.linspace(over, over + total, max(16, round(total / 2.0)), endpoint=False) + side.start
    points = side.at(lengths)
    share = np.clip(1 - (lengths - side.start - over) / over, 0.0, 1.0)[:, None] / 2
    points = points * (1 - share) + side.at(lengths + total) * share
    tail = np.clip((lengths - side.start - total) / over, 0.0, 1.0)[:, None] / 2
    points = points * (1 - tail) + side.at(lengths - total) * tail
    return _drawn(np.concatenate([points, points[:1]]))


def _drawn(points: FloatArray) -> Chain:
    """Few cubics through points (n, 2) of a smooth line, with the directions of circles through neighbours."""
    legs = np.diff(points, axis=0)
    sizes = np.linalg.norm(legs, axis=1)
    keep = np.concatenate([[True], sizes > 1e-6])
    points = points[keep]
    legs = np.diff(points, axis=0)
    sizes = np.linalg.norm(legs, axis=1)
    angles = np.unwrap(np.arctan2(legs[:, 1], legs[:, 0]))
    inner = (angles[:-1] * sizes[1:] + angles[1:] * sizes[:-1]) / (sizes[:-1] + sizes[1:])
    first, last = 2 * angles[0] - inner[0], 2 * angles[-1] - inner[-1]
    if bool(np.allclose(points[0], points[-1])):
        turns = 2 * np.pi * round(float(angles[-1] - angles[0]) / (2 * np.pi))
        both = (angles[0] * sizes[-1] + (angles[-1] - turns) * sizes[0]) / (sizes[0] + sizes[-1])
        first, last = both, both + turns
    lengths = np.concatenate([[0.0], sizes.cumsum()])
    return refit(points, np.concatenate([[first], inner, [last]]), lengths, _WRITTEN_MM)
