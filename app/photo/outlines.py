"""The outline of a cut-out piece: its edge measured in the picture itself, side by side, and its corners kept sharp."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from app.photo.edges import Picture, Tone, located, profiles
from app.photo.regions import Region
from app.photo.smoothing import Smooth, smoothed
from app.photo.solving import View
from app.photo.turnings import ROUNDED_MM, STEP_MM, corners
from geometry.errors import PatternError
from geometry.fitting import refit
from geometry.lines import Chain, joined, straight
from geometry.motions import FloatArray, Point

#: How far (mm) the edge is looked for on both sides: at first round the rough outline, then round the measured one.
_REACHES = (5.0, 2.2)
#: The rough outline is evened over so many mm before its edge is looked for.
_EVENED_MM = 4.0
#: The edge of a place counts nothing when the light rises by less than this share of the usual.
_LEAST_RISE = 0.35
#: A curve is written in cubics this close to what was measured (mm).
_WRITTEN_MM = 0.01
#: So many times the usual misfit is an edge that something lies across.
_ODD = 4.0


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline in mm, anticlockwise: its sides from corner to corner (one closed line without a corner).

    ``edge_mm`` is the expected rms error of the edge's place, ``hidden_mm`` the length where no edge was seen.
    """

    sides: tuple[Chain, ...]
    edge_mm: float
    hidden_mm: float

    @property
    def chain(self) -> Chain:
        """The whole outline."""
        return joined(list(self.sides))


@dataclass(frozen=True, eq=False)
class Edge:
    """Measured points (n, 2) round the piece and what each counts (n,)."""

    points: FloatArray
    weights: FloatArray


#: Measures the edge beside points (n, 2) across along ways (n, 2), as far as so many mm.
Measure = Callable[[FloatArray, FloatArray, float], Edge]


def outlined(picture: Picture, view: View, tone: Tone, region: Region) -> Outline:
    """The outline of the piece that ``region`` shows roughly. Raises PatternError when its edge cannot be followed."""
    return round_about(edge_measure(picture, view, tone), region)


def edge_measure(picture: Picture, view: View, tone: Tone) -> Measure:
    """What measures a cut edge in a picture."""
    return lambda points, ways, reach: _measured(picture, view, tone, points, ways, reach)


def round_about(measure: Measure, region: Region, least_seen: float = 0.5) -> Outline:
    """The outline round a region, by whatever measures it across.

    Raises PatternError when less than the share ``least_seen`` of it can be followed.
    """
    ring = evened(region.outline, _EVENED_MM)
    for reach in _REACHES:
        points, ways = spaced(ring)
        edge = measure(points, ways, reach)
        ring = _mended(edge)
    if float((edge.weights > 0).mean()) < least_seen:
        raise PatternError(
            "The piece's edge is too weak to follow; lay it on something plainly darker or lighter, or set points "
            "along its edge by hand."
        )
    points, _ = spaced(ring)
    return _sides(measure, points, corners(points))


def evened(ring: FloatArray, over: float) -> FloatArray:
    """A closed ring (n, 2) in mm of points STEP_MM apart, evened over so many mm."""
    ring = _resampled(ring)
    width = over / STEP_MM / 2.5
    steps = np.arange(-math.ceil(3 * width), math.ceil(3 * width) + 1)
    weights = np.exp(-((steps / width) ** 2) / 2)
    weights /= weights.sum()
    even = np.zeros_like(ring)
    for step, weight in zip(steps, weights):
        even += weight * np.roll(ring, int(step), axis=0)
    return even


def spaced(ring: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points (n, 2) STEP_MM apart round a ring, and the unit ways outward (n, 2) where it runs anticlockwise."""
    points = _resampled(ring)
    along = np.roll(points, -3, axis=0) - np.roll(points, 3, axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    return points, np.stack([along[:, 1], -along[:, 0]], axis=1)


def _resampled(ring: FloatArray) -> FloatArray:
    closed = np.concatenate([ring, ring[:1]])
    lengths = np.concatenate([[0.0], np.linalg.norm(np.diff(closed, axis=0), axis=1).cumsum()])
    at = np.linspace(0.0, lengths[-1], max(8, round(lengths[-1] / STEP_MM)), endpoint=False)
    return np.stack([np.interp(at, lengths, closed[:, k]) for k in (0, 1)], axis=1)


def _measured(picture: Picture, view: View, tone: Tone, points: FloatArray, ways: FloatArray, reach: float) -> Edge:
    """The edge beside points (n, 2), looked for across along ways (n, 2) as far as ``reach`` mm."""
    per_pixel = 1 / np.linalg.norm(np.einsum("nij,nj->ni", view.slopes(points), ways), axis=1)
    step = 0.45 * float(np.median(per_pixel))
    offsets = np.arange(-reach, reach + step / 2, step)
    light = profiles(picture, tone, view, points, ways, offsets)
    grey = _along_contrast(light)
    places, rises, misfits = located(grey, offsets, tone.blur_px * per_pixel)
    usual = float(np.median(rises))
    misfit = float(np.median(misfits))
    good = (rises / usual > _LEAST_RISE) & (np.abs(places) < 0.95 * reach) & (misfits < _ODD * misfit + 1e-6)
    return Edge(points + places[:, None] * ways, np.where(good, 1.0, 0.0))


def _along_contrast(light: FloatArray) -> FloatArray:
    """Light (n, m) out of channels (n, m, c): along the colour that tells inside from outside best."""
    if light.shape[2] == 1:
        return light[..., 0]
    count = max(2, light.shape[1] // 4)
    inner, outer = light[:, :count].reshape(-1, light.shape[2]), light[:, -count:].reshape(-1, light.shape[2])
    spread = np.cov(outer.T) + np.cov(inner.T) + 1e-5 * np.eye(light.shape[2])
    # A channel that says little is not set against another: each counts as its own rise over its unevenness.
    rise = np.median(outer, axis=0) - np.median(inner, axis=0)
    weights = rise / np.diag(spread)
    return np.asarray(light @ (weights / np.abs(weights).sum()))


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
    sides: list[Smooth] = []
    hidden, errors, sizes = 0.0, [], []
    stretches = _stretches(points, at)
    for stretch, closed in stretches:
        side, seen = _side(measure, stretch, closed)
        hidden += (1 - seen) * (side.stop - side.start)
        errors.append(side.error**2)
        sizes.append(side.stop - side.start)
        sides.append(side)
    edge_mm = math.sqrt(float(np.average(errors, weights=sizes)))
    if len(at) == 0:
        return Outline((_closed_line(sides[0]),), edge_mm, hidden)
    ends = [_meeting(before, after) for before, after in zip([sides[-1], *sides[:-1]], sides)]
    return Outline(
        tuple(_written(side, *pair) for side, pair in zip(sides, pairwise([*ends, ends[0]]))), edge_mm, hidden
    )


def _stretches(points: FloatArray, at: NDArray[np.intp]) -> list[tuple[FloatArray, bool]]:
    """The points (m, 2) of every side from corner to corner; a ring without corners runs over its end a little."""
    if len(at) == 0:
        return [(np.concatenate([points[-_OVER:], points, points[:_OVER]]), True)]
    count = len(points)
    stops = [*at[1:].tolist(), int(at[0]) + count]
    return [(points[np.arange(start, stop + 1) % count], False) for start, stop in zip(at.tolist(), stops)]


_OVER = round(30.0 / STEP_MM)


def _side(measure: Measure, stretch: FloatArray, closed: bool) -> tuple[Smooth, float]:
    """One side as a smooth line, and the share of it that was seen."""
    size = (len(stretch) - 1) * STEP_MM
    leave = 0.0 if closed else min(ROUNDED_MM, 0.3 * size)
    lengths: FloatArray = np.arange(len(stretch), dtype=np.float64) * STEP_MM
    inner = (lengths >= leave) & (lengths <= size - leave)
    side = smoothed(lengths[inner], stretch[inner], np.ones(int(inner.sum())))
    for _ in range(2):
        base = side.at(lengths[inner])
        along = side.ways(lengths[inner])
        edge = measure(base, np.stack([along[:, 1], -along[:, 0]], axis=1), _REACHES[-1])
        off = np.linalg.norm(edge.points - base, axis=1)
        weights = np.where(off < max(4 * float(np.median(off)), 0.6), edge.weights, 0.0)
        if (weights > 0).sum() < 4:
            return side, 0.0
        good = weights > 0
        side = smoothed(lengths[inner][good], edge.points[good], weights[good], may_rule=not closed)
    return side, float(good.mean())


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
