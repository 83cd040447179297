"""Words beside the pieces with their leader lines, set so that none lies on another, on a piece or off the table."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.motions import Point

#: Distances from the place a callout belongs to, tried in turn (pixels), and the turns off its direction (degrees).
DISTANCES = (16.0, 26.0, 40.0, 58.0, 82.0, 112.0, 150.0, 200.0, 270.0)
TURNS = (0.0, 18.0, -18.0, 36.0, -36.0, 54.0, -54.0, 72.0, -72.0, 90.0, -90.0, 125.0, -125.0, 160.0, -160.0)
#: Free room kept round the words and between leader and words (pixels).
CLEAR = 4.0
OFF = 2.0
#: What a turn of one degree costs against one pixel of distance.
TURN_COST = 0.9
#: What it costs that a leader holds its words by a corner (pixels of distance).
HELD_COST = 18.0
#: Words leave the place where they stood for one that is nearer by this much (pixels).
MUCH_NEARER = 30.0


@dataclass(frozen=True)
class Wanted:
    """Words of a size in pixels for a place, best in the unit direction ``away``; y runs down.

    The leader starts ``off`` pixels away from the place, so that it does not count as lying on what is there.
    """

    key: str
    words: str
    at: Point
    away: Point
    size: tuple[float, float]
    kind: str = "measured"
    off: float = OFF


@dataclass(frozen=True)
class Callout:
    """Where the words stand: the box (left, top, width, height), and the leader from the place to the box."""

    wanted: Wanted
    box: tuple[float, float, float, float]
    leader: tuple[Point, Point]


def set_out(
    wanted: Sequence[Wanted],
    bounds: tuple[float, float, float, float],
    taken: Sequence[shapely.Geometry],
    uncrossed: Sequence[shapely.Geometry] = (),
    before: Sequence[Callout] = (),
) -> tuple[Callout, ...]:
    """Every callout that finds room inside bounds (left, top, right, bottom) clear of what is taken.

    No words lie on what is ``taken`` and no leader crosses what is to be left ``uncrossed``, unless there is no
    other way. One that stood
    somewhere ``before`` keeps its place relative to what it belongs to while that is free. Those without room are
    left out. Pixels throughout, y down.
    """
    for one_taken in (*taken, *uncrossed):
        shapely.prepare(one_taken)
    kept = {one.wanted.key: one for one in before}
    placed, cramped = _place(sorted(wanted, key=lambda one: one.key not in kept), kept, bounds, taken, uncrossed)
    if cramped:
        # Those that found no room choose first the second time.
        again = _place([*cramped, *(one for one in wanted if one not in cramped)], {}, bounds, taken, uncrossed)
        placed, cramped = min((placed, cramped), again, key=lambda tried: len(tried[1]))
    for one in cramped:
        found = _first_free(one, None, bounds, taken, (), placed)
        placed += [found] if found is not None else []
    return tuple(placed)


def _place(
    wanted: Sequence[Wanted],
    kept: Mapping[str, Callout],
    bounds: tuple[float, float, float, float],
    taken: Sequence[shapely.Geometry],
    uncrossed: Sequence[shapely.Geometry],
) -> tuple[list[Callout], list[Wanted]]:
    """The callouts placed one after the other, and those without room."""
    placed: list[Callout] = []
    cramped: list[Wanted] = []
    for one in wanted:
        found = _first_free(one, kept.get(one.key), bounds, taken, uncrossed, placed)
        placed += [found] if found is not None else []
        cramped += [one] if found is None else []
    return placed, cramped


def _first_free(
    one: Wanted,
    last: Callout | None,
    bounds: tuple[float, float, float, float],
    taken: Sequence[shapely.Geometry],
    uncrossed: Sequence[shapely.Geometry],
    placed: Sequence[Callout],
) -> Callout | None:
    boxes, leaders = _candidates(one, last)
    free = _inside(boxes, bounds)
    areas = shapely.box(boxes[:, 0] - CLEAR, boxes[:, 1] - CLEAR, boxes[:, 2] + CLEAR, boxes[:, 3] + CLEAR)
    lines = np.asarray(shapely.linestrings(leaders))
    others = [shape for other in placed for shape in (_polygon(other.box), shapely.LineString(other.leader))]
    for shape in (*taken, *others):
        free[free] &= ~shapely.intersects(shape, areas[free])
    for shape in (*uncrossed, *others):
        free[free] &= ~shapely.intersects(shape, lines[free])
    if not free.any():
        return None
    index = _chosen(free, leaders, last is not None)
    left, top, right, bottom = boxes[index].tolist()
    start, end = leaders[index].tolist()
    return Callout(one, (left, top, right - left, bottom - top), ((start[0], start[1]), (end[0], end[1])))


def _chosen(free: NDArray[np.bool_], leaders: NDArray[np.float64], kept: bool) -> int:
    """The first free candidate; the place from before gives way to one that is much nearer."""
    first, *others = np.flatnonzero(free).tolist()
    if kept and first == 0 and others:
        far, near = (float(np.hypot(*(leaders[i, 1] - leaders[i, 0]))) for i in (0, others[0]))
        if far > near + MUCH_NEARER:
            return int(others[0])
    return int(first)


def _candidates(one: Wanted, last: Callout | None) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Boxes (n, 4) as left, top, right, bottom and leaders (n, 2, 2), the best first."""
    ways = _REACHES @ np.array([one.away, (-one.away[1], one.away[0])])
    distance = np.hypot(ways[:, 0], ways[:, 1])
    ends, unit = np.array(one.at) + ways, ways / distance[:, None]
    width, height = one.size
    beside = np.abs(unit[:, 0]) > 0.25
    left = np.where(beside, ends[:, 0] - width * (unit[:, 0] <= 0), ends[:, 0] - width / 2)
    top = np.where(beside, ends[:, 1] - height * _HELD_AT, ends[:, 1] - height * (unit[:, 1] <= 0))
    boxes = np.stack([left, top, left + width, top + height], axis=1)
    leaders = np.stack([np.array(one.at) + one.off * unit, ends], axis=1)
    if last is None:
        return boxes, leaders
    box, leader = _as_before(one, last)
    return np.concatenate([[box], boxes]), np.concatenate([[leader], leaders])


def _as_before(one: Wanted, last: Callout) -> tuple[tuple[float, float, float, float], tuple[Point, Point]]:
    """Where the words stood before, carried along with what they belong to."""
    dx, dy = one.at[0] - last.wanted.at[0], one.at[1] - last.wanted.at[1]
    left, top = last.box[0] + dx, last.box[1] + dy
    end = (last.leader[1][0] + dx, last.leader[1][1] + dy)
    if end[0] > left + last.box[2] * 0.75:
        left = end[0] - one.size[0]
    return (left, top, left + one.size[0], top + one.size[1]), (_off(one, end), end)


def _reaches() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Offsets (n, 2) along and across the wanted direction, and how far down its box the leader holds it (n,).

    The best come first.
    """
    tried = sorted(
        (distance + abs(turn) * TURN_COST + abs(held - 0.5) * HELD_COST, distance, turn, held)
        for distance in DISTANCES
        for turn in TURNS
        for held in (0.5, 0.9, 0.1)
    )
    _, distances, turns, held_at = np.array(tried).T
    angles = np.radians(turns)
    return np.stack([distances * np.cos(angles), distances * np.sin(angles)], axis=1), held_at


_REACHES, _HELD_AT = _reaches()


def _off(one: Wanted, end: Point) -> Point:
    part = one.off / max(math.dist(one.at, end), one.off)
    return (one.at[0] + part * (end[0] - one.at[0]), one.at[1] + part * (end[1] - one.at[1]))


def _inside(boxes: NDArray[np.float64], bounds: tuple[float, float, float, float]) -> NDArray[np.bool_]:
    left, top, right, bottom = bounds
    inside: NDArray[np.bool_] = (boxes[:, 0] >= left) & (boxes[:, 1] >= top)
    return inside & (boxes[:, 2] <= right) & (boxes[:, 3] <= bottom)


def _polygon(box: tuple[float, float, float, float]) -> shapely.Polygon:
    return shapely.box(box[0], box[1], box[0] + box[2], box[1] + box[3])
