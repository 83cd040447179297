"""Where lines cross each other and themselves, found on points and settled on the curves."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.lines import Chain, flatten, joined, straight
from geometry.motions import FloatArray, Point
from geometry.tolerances import MEET_MM, SIMPLE_MM


@dataclass(frozen=True)
class Crossing:
    """Two lines cross: the parameter on the first, the parameter on the second, the point in mm."""

    first: float
    second: float
    point: Point


def crossings(first: Chain, second: Chain) -> list[Crossing]:
    """Every crossing of two lines, in the order of the first; lines that lie on each other give none."""
    points_a, us_a = flatten(first, SIMPLE_MM)
    points_b, us_b = flatten(second, SIMPLE_MM)
    rows, columns, ta, tb = _segment_crossings(points_a, points_b)
    found = []
    for i, j, s, t in zip(rows, columns, ta, tb, strict=True):
        u = us_a[i] + s * (us_a[i + 1] - us_a[i])
        v = us_b[j] + t * (us_b[j + 1] - us_b[j])
        settled = settle(first, second, float(u), float(v))
        if settled is not None:
            found.append(settled)
    found.sort(key=lambda one: one.first)
    return [one for i, one in enumerate(found) if i == 0 or math.dist(one.point, found[i - 1].point) > MEET_MM]


def settle(first: Chain, second: Chain, u: float, v: float) -> Crossing | None:
    """The crossing near parameters u and v by Newton's method, or None where the lines do not cross there."""
    for _ in range(20):
        (ax, ay), (bx, by) = first.point(u), second.point(v)
        gap_x, gap_y = bx - ax, by - ay
        if math.hypot(gap_x, gap_y) < 1e-11:
            break
        (px, py), (qx, qy) = velocity(first, u), velocity(second, v)
        cross = px * qy - py * qx
        if abs(cross) < 1e-12 * math.hypot(px, py) * math.hypot(qx, qy):
            return None
        u = min(max(u + (gap_x * qy - gap_y * qx) / cross, 0.0), float(len(first)))
        v = min(max(v + (gap_x * py - gap_y * px) / cross, 0.0), float(len(second)))
    if math.dist(first.point(u), second.point(v)) > MEET_MM / 10:
        return None
    return Crossing(snapped(first, u), snapped(second, v), first.point(u))


def snapped(line: Chain, u: float) -> float:
    """The parameter of a join where u is no further than MEET_MM from it, so that no empty segment is cut."""
    join = float(round(u))
    return join if u != join and math.dist(line.point(u), line.point(join)) <= MEET_MM else u


def velocity(line: Chain, u: float) -> Point:
    """The derivative of a line by its parameter, in mm for each whole segment."""
    index = min(max(math.floor(u), 0), len(line) - 1)
    t = min(max(u - index, 0.0), 1.0)
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = line.cubics[index]
    s = 1 - t
    p, q, r = 3 * s * s, 6 * s * t, 3 * t * t
    return (
        float(p * (bx - ax) + q * (cx - bx) + r * (dx - cx)),
        float(p * (by - ay) + q * (cy - by) + r * (dy - cy)),
    )


def lengthened(line: Chain, *, before: float = 0.0, after: float = 0.0) -> Chain:
    """The line run on straight along its end tangents by ``before`` and ``after`` mm."""
    parts = [line]
    if before > MEET_MM:
        (x, y), (tx, ty) = line.start, line.start_tangent
        parts.insert(0, straight((x - before * tx, y - before * ty), line.start))
    if after > MEET_MM:
        (x, y), (tx, ty) = line.end, line.end_tangent
        parts.append(straight(line.end, (x + after * tx, y + after * ty)))
    return joined(parts)


def meeting(first: Chain, second: Chain, reach: float) -> Crossing | None:
    """Where the end of one line and the start of the next meet when each is trimmed or run on straight.

    Neither runs on by more than ``reach`` mm; of several crossings the one nearest to the two ends is taken. The
    parameters are kept within the lines, so a point away from them lies on a straight run-on. None where the
    lines do not meet, or where one of them would be trimmed away altogether.
    """
    if math.dist(first.end, second.start) <= MEET_MM:
        return Crossing(float(len(first)), 0.0, first.end)
    long_first, long_second = lengthened(first, after=reach), lengthened(second, before=reach)
    ahead = len(long_second) - len(second)
    corner = ((first.end[0] + second.start[0]) / 2, (first.end[1] + second.start[1]) / 2)
    found = min(crossings(long_first, long_second), key=lambda one: math.dist(one.point, corner), default=None)
    if found is None:
        return None
    u, v = min(found.first, float(len(first))), max(found.second - ahead, 0.0)
    if u < 1e-9 or v > len(second) - 1e-9:
        return None
    return Crossing(u, v, found.point)


def met(first: Chain, second: Chain, reach: float) -> tuple[Chain, Chain] | None:
    """Two lines trimmed or run on straight so that the first ends where the second starts; see ``meeting``."""
    found = meeting(first, second, reach)
    if found is None:
        return None
    arriving, leaving = first.part(0.0, found.first), second.part(found.second, float(len(second)))
    if math.dist(arriving.end, found.point) > MEET_MM:
        arriving = joined([arriving, straight(arriving.end, found.point)])
    if math.dist(leaving.start, found.point) > MEET_MM:
        leaving = joined([straight(found.point, leaving.start), leaving])
    return arriving, leaving


@dataclass(frozen=True)
class Trimmed:
    """A stretch of a closed line that was cut away, from one parameter to another, and where it crossed."""

    start: float
    end: float
    point: Point


def is_simple(ring: Chain) -> bool:
    """True when a closed line does not cross itself; ends within MEET_MM of each other are one point."""
    points = flatten(ring, SIMPLE_MM)[0]
    if math.dist(ring.start, ring.end) <= MEET_MM:
        points = points[:-1]
    return bool(shapely.is_simple(shapely.linearrings(points)))


def outer_line(ring: Chain) -> tuple[Chain, tuple[Trimmed, ...]] | None:
    """The outermost way round a closed anticlockwise line that crosses itself, and what was left out.

    At every crossing the walk takes the branch that turns furthest to the right, so loops are cut off where they
    cross. None where no way round is found.
    """
    points, us = flatten(ring, SIMPLE_MM)
    partner = _self_crossings(ring, points, us)
    if not partner:
        return ring, ()
    start = _outer_vertex(points)
    if start is None:
        return None
    stretches = _walk(ring, float(us[start]), partner)
    if stretches is None:
        return None
    following = stretches[1:] + stretches[:1]
    trimmed = [Trimmed(a[1], b[0], ring.point(a[1])) for a, b in zip(stretches, following, strict=True)]
    gone = tuple(one for one in trimmed if abs(one.end - one.start) > 1e-9 and one.start - one.end < len(ring) - 1e-9)
    return joined([ring.part(u, v) for u, v in stretches]), gone


def _walk(ring: Chain, start: float, partner: dict[float, float]) -> list[tuple[float, float]] | None:
    """The stretches of the outermost way round, by parameter, the one that begins at 0 first where it is kept."""
    size = float(len(ring))
    shifted = {(u - start) % size: (v - start) % size for u, v in partner.items() if _turns_off(ring, u, v)}
    events = sorted(shifted)
    stretches: list[tuple[float, float]] = []
    at = 0.0
    for _ in range(len(events) + 1):
        stop = next((w for w in events if w > at + 1e-9), size)
        stretches.extend(_unshifted(at, stop, start, size))
        if stop == size:
            break
        at = shifted[stop]
    else:
        return None
    if abs(stretches[-1][1] - stretches[0][0]) < 1e-9:
        first = stretches.pop(0)
        stretches[-1] = (stretches[-1][0], first[1])
    begin = next((i for i, (u, _) in enumerate(stretches) if u == 0.0), 0)
    return stretches[begin:] + stretches[:begin]


def _turns_off(ring: Chain, u: float, v: float) -> bool:
    """True where the branch at v leaves to the right of the branch at u, seen along the way in at u."""
    size = float(len(ring))
    way_in, way_on = ring.tangent(u or size, before=True), ring.tangent(u % size)
    return _turn(way_in, ring.tangent(v % size)) < _turn(way_in, way_on) - 1e-9


def _turn(first: Point, second: Point) -> float:
    return math.atan2(first[0] * second[1] - first[1] * second[0], first[0] * second[0] + first[1] * second[1])


def _unshifted(low: float, high: float, start: float, size: float) -> list[tuple[float, float]]:
    u, v = low + start, high + start
    if u >= size - 1e-12:
        return [(u - size, v - size)]
    if v > size + 1e-12:
        return [(u, size), (0.0, v - size)]
    return [(u, v)]


def _self_crossings(ring: Chain, points: FloatArray, us: FloatArray) -> dict[float, float]:
    rows, columns, ta, tb = _segment_crossings(points, points)
    last = len(points) - 2
    partner: dict[float, float] = {}
    for i, j, s, t in zip(rows, columns, ta, tb, strict=True):
        if j <= i + 1 or (i == 0 and j == last):
            continue
        u, v = float(us[i] + s * (us[i + 1] - us[i])), float(us[j] + t * (us[j + 1] - us[j]))
        settled = settle(ring, ring, u, v)
        if settled is not None and abs(settled.first - settled.second) > 1e-6:
            u, v = settled.first, settled.second
        if all(abs(u - known) > 1e-7 for known in partner):
            partner[u], partner[v] = v, u
    return partner


def _outer_vertex(points: FloatArray) -> int | None:
    """A vertex of the hull where a closed line turns left, so that it runs anticlockwise there."""
    ring = points[:-1]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turns = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    middle = ring.mean(axis=0)
    for index in np.argsort(-np.hypot(*(ring - middle).T), kind="stable"):
        if turns[index] > 0:
            return int(index)
    return None


def _segment_crossings(
    first: FloatArray, second: FloatArray
) -> tuple[NDArray[np.intp], NDArray[np.intp], FloatArray, FloatArray]:
    """Pairs of segments of two point lists (m, 2), (k, 2) that cross: their indices, and the share along each."""
    mine, theirs = _reaching(first, second), _reaching(second, first)
    a, b = first[mine], first[mine + 1] - first[mine]
    c, d = second[theirs], second[theirs + 1] - second[theirs]
    cross = b[:, None, 0] * d[None, :, 1] - b[:, None, 1] * d[None, :, 0]
    gap_x, gap_y = c[None, :, 0] - a[:, None, 0], c[None, :, 1] - a[:, None, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        s = (gap_x * d[None, :, 1] - gap_y * d[None, :, 0]) / cross
        t = (gap_x * b[:, None, 1] - gap_y * b[:, None, 0]) / cross
    slack = 1e-9
    hit = (s >= -slack) & (s <= 1 + slack) & (t >= -slack) & (t <= 1 + slack)
    rows, columns = np.nonzero(hit)
    return mine[rows], theirs[columns], s[rows, columns], t[rows, columns]


def _reaching(points: FloatArray, other: FloatArray) -> NDArray[np.intp]:
    """The segments of a point list whose boxes reach the other list's box."""
    low, high = other.min(axis=0) - MEET_MM, other.max(axis=0) + MEET_MM
    least, most = np.minimum(points[:-1], points[1:]), np.maximum(points[:-1], points[1:])
    return np.flatnonzero(((least <= high) & (most >= low)).all(axis=1))


def first_of(line: Chain, other: Chain) -> Crossing | None:
    """The first crossing along ``line``, or None."""
    return next(iter(crossings(line, other)), None)
