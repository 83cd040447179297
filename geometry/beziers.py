"""Cubic Beziers as arrays: values, slopes, lengths, cuts and zeros. Straight lines are cubics with even thirds."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from geometry.motions import FloatArray, Point
from geometry.roots import roots
from geometry.tolerances import MEET_MM

#: A cubic as plain numbers: the x and y of its four control points. For one point they are quicker than arrays.
Row = list[float]

_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(16)
_GAUSS_T = (_GAUSS_X + 1) / 2
_GAUSS_W = _GAUSS_W / 2
_HALVES_T = np.concatenate([_GAUSS_T / 2, _GAUSS_T / 2 + 0.5])
_HALVES_W = np.concatenate([_GAUSS_W, _GAUSS_W]) / 2
_HALVES_SLOPES = 3 * np.stack([(1 - _HALVES_T) ** 2, 2 * _HALVES_T * (1 - _HALVES_T), _HALVES_T**2], axis=1)
_PARTS = 24
_GRID = np.linspace(0.0, 1.0, _PARTS + 1)
_GRID_WEIGHTS = np.stack([(1 - _GRID) ** 2, 2 * _GRID * (1 - _GRID), _GRID**2], axis=1)
#: What the control points of a cubic weigh at thirteen places.
_PLACES = [(s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t) for t in (i / 12 for i in range(13)) for s in (1 - t,)]
#: Of two places whose distances differ by less than this the first is the nearest (mm).
_AS_NEAR_MM = 1e-12


def lengths(cubics: FloatArray) -> FloatArray:
    """(n,) lengths in mm of n cubics (Gauss-Legendre, two halves of 16 points)."""
    slopes = _HALVES_SLOPES @ (cubics[:, 1:] - cubics[:, :-1])
    steps: FloatArray = np.hypot(slopes[:, :, 0], slopes[:, :, 1]) @ _HALVES_W
    return steps


def turned(cubics: FloatArray, sizes: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Lengths (m,) mm along cubics that follow each other, angles turned (m,) in radians, and parameters (m,).

    sizes: (n,) lengths of the cubics. At a join two entries stand, so that a kink shows.
    """
    grid: FloatArray = _GRID_WEIGHTS @ (cubics[:, 1:] - cubics[:, :-1])
    x, y = grid[:, :, 0], grid[:, :, 1]
    speeds = np.hypot(x, y)
    along = np.zeros(speeds.shape)
    np.add.accumulate(speeds[:, :-1] + speeds[:, 1:], axis=1, out=along[:, 1:])
    along *= (sizes / np.maximum(along[:, -1], 1e-12))[:, None]
    if len(cubics) > 1:
        along += (np.add.accumulate(sizes) - sizes)[:, None]
    lengths, us = along.ravel(), (_GRID + np.arange(len(cubics))[:, None]).ravel()
    x, y = x.ravel(), y.ravel()
    if not np.minimum.reduce(speeds, axis=None) > 1e-9:
        usable = speeds.ravel() > 1e-9
        lengths, us, x, y = lengths[usable], us[usable], x[usable], y[usable]
    angles = np.zeros(len(x))
    turns = np.arctan2(x[:-1] * y[1:] - y[:-1] * x[1:], x[:-1] * x[1:] + y[:-1] * y[1:])
    np.add.accumulate(turns, out=angles[1:])
    return lengths, angles, us


def turning_deg(cubics: FloatArray) -> float:
    """How much cubics that follow each other turn in all, left and right added up, in degrees."""
    legs = (cubics[:, 1:] - cubics[:, :-1]).reshape(-1, 2)
    legs = legs[np.hypot(legs[:, 0], legs[:, 1]) > 1e-9]
    if len(legs) < 2:
        return 0.0
    x, y = legs[:, 0], legs[:, 1]
    turns = np.arctan2(x[:-1] * y[1:] - y[:-1] * x[1:], x[:-1] * x[1:] + y[:-1] * y[1:])
    return math.degrees(np.add.reduce(np.abs(turns)))


def flattened(
    cubics: FloatArray, straight: NDArray[np.bool_], tolerance: float, longest: float
) -> tuple[FloatArray, FloatArray]:
    """Points (m, 2) within ``tolerance`` mm of cubics that follow each other, and their parameters (m,).

    Ends and joins are included; where a cubic is curved points stand no more than ``longest`` mm apart. The number of
    steps follows from the second differences of the control points (Wang's bound).
    """
    if len(cubics) == 1 and straight[0]:
        return cubics[0, ::3].copy(), np.array([0.0, 1.0])
    bends = cubics[:, 2:] - 2 * cubics[:, 1:-1] + cubics[:, :-2]
    bend = np.maximum.reduce(np.hypot(bends[..., 0], bends[..., 1]), axis=1)
    steps = np.sqrt(0.75 * bend / tolerance)
    if longest < math.inf:
        legs = cubics[:, 1:] - cubics[:, :-1]
        steps = np.maximum(steps, np.maximum.reduce(np.hypot(legs[..., 0], legs[..., 1]), axis=1) * (3 / longest))
    counts = np.maximum(np.ceil(steps), 1).astype(int)
    counts[straight] = 1
    index = np.repeat(np.arange(len(cubics)), counts)
    ends = np.add.accumulate(counts)
    t = (np.arange(len(index)) - (ends - counts)[index]) / counts[index]
    points = np.concatenate([evaluate(cubics[index], t), cubics[-1:, 3]])
    return points, np.concatenate([index + t, [float(len(cubics))]])


def line_cubic(start: FloatArray, end: FloatArray) -> FloatArray:
    """A straight line as a cubic; rounded exactly as ``lines.polyline`` does it, or one line is saved in two ways."""
    return np.array([start, start + (end - start) * (1 / 3), start + (end - start) * (2 / 3), end])


def evaluate(control: FloatArray, t: FloatArray) -> FloatArray:
    s = 1 - t
    weights = np.array([s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t])
    points: FloatArray = (weights.T[:, None] @ control)[:, 0]
    return points


def derivatives(control: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
    """First and second derivatives (m, 2) of m cubics, each at its own parameter."""
    legs = 3 * (control[:, 1:] - control[:, :-1])
    bends = 2 * (legs[:, 1:] - legs[:, :-1])
    s = (1 - t)[:, None]
    t = t[:, None]
    first = s * s * legs[:, 0] + 2 * s * t * legs[:, 1] + t * t * legs[:, 2]
    return first, s * bends[:, 0] + t * bends[:, 1]


def speed(cubic: Row, t: float) -> float:
    """The length of the first derivative of one cubic at t."""
    x0, y0, x1, y1, x2, y2, x3, y3 = cubic
    s = 1 - t
    a, b, c = 3 * s * s, 6 * s * t, 3 * t * t
    return math.hypot(a * (x1 - x0) + b * (x2 - x1) + c * (x3 - x2), a * (y1 - y0) + b * (y2 - y1) + c * (y3 - y2))


def length_to(cubic: Row, t: float) -> float:
    """The length in mm of one cubic from its start to t."""
    x0, y0, x1, y1, x2, y2, x3, y3 = cubic
    u = t * _HALVES_T
    s = 1 - u
    a, b, c = s * s, 2 * s * u, u * u
    x = a * (x1 - x0) + b * (x2 - x1) + c * (x3 - x2)
    y = a * (y1 - y0) + b * (y2 - y1) + c * (y3 - y2)
    return float(3 * t * (np.hypot(x, y) @ _HALVES_W))


def lengths_to(control: FloatArray, t: FloatArray) -> FloatArray:
    """(m,) lengths of m cubics, each from its start to its own parameter."""
    legs = 3 * (control[:, 1:] - control[:, :-1])
    total = np.zeros(len(t))
    for low in (0.0, 0.5):
        at = t[:, None] * (low + _GAUSS_T[None, :] / 2)
        s = 1 - at
        d = s[..., None] ** 2 * legs[:, None, 0] + (2 * s * at)[..., None] * legs[:, None, 1]
        d = d + at[..., None] ** 2 * legs[:, None, 2]
        total += np.hypot(d[..., 0], d[..., 1]) @ _GAUSS_W * t / 2
    return total


def solve_lengths(control: FloatArray, rest: FloatArray, t: FloatArray) -> FloatArray:
    low, high = np.zeros_like(t), np.ones_like(t)
    for _ in range(60):
        miss = lengths_to(control, t) - rest
        if np.abs(miss).max() < 1e-10:
            break
        high = np.where(miss > 0, t, high)
        low = np.where(miss > 0, low, t)
        first, _ = derivatives(control, t)
        speed = np.maximum(np.hypot(first[:, 0], first[:, 1]), 1e-12)
        step = t - miss / speed
        t = np.where((step >= low) & (step <= high), step, (low + high) / 2)
    return t


def nearest(cubic: Row, point: Point) -> tuple[float, float]:
    """The parameter of a cubic's point nearest to ``point`` and its distance: least at places, then by Newton."""
    x0, y0, x1, y1, x2, y2, x3, y3 = cubic
    px, py = point
    away = [
        (x := a * x0 + b * x1 + c * x2 + d * x3 - px) * x + (y := a * y0 + b * y1 + c * y2 + d * y3 - py) * y
        for a, b, c, d in _PLACES
    ]
    best, far = 0.0, math.inf
    last = len(away) - 1
    for i, here in enumerate(away):
        if (i and away[i - 1] < here) or (i < last and away[i + 1] < here):
            continue
        low, high = max(i - 1, 0) / last, min(i + 1, last) / last
        # An end may be nearer than the places and yet not the nearest, and without a handle no step leads away from it.
        inside = (high,) if i == 0 else (low,) if i == last else ()
        still = (x1 == x0 and y1 == y0) if i == 0 else i == last and x2 == x3 and y2 == y3
        for t in (i / last, *inside, (low + high) / 2) if still else (i / last, *inside):
            for _ in range(40):
                before, t = t, t - step_to_nearest(cubic, t, point)
                t = low if t < low else high if t > high else t
                if abs(t - before) < 1e-13:
                    break
            x, y = at([cubic], t)
            off = math.hypot(x - px, y - py)
            if off < far - _AS_NEAR_MM:
                best, far = t, off
    return best, far


def nearest_of(
    cubics: list[Row], boxes: list[tuple[float, float, float, float]], point: Point
) -> tuple[float, float]:
    """The parameter of a chain of cubics, each in its box, nearest to ``point``, and the distance in mm."""
    x, y = point
    aways = []
    for index, (x0, y0, x1, y1) in enumerate(boxes):
        dx = x0 - x if x < x0 else x - x1 if x > x1 else 0.0
        dy = y0 - y if y < y0 else y - y1 if y > y1 else 0.0
        aways.append((dx * dx + dy * dy, index))
    best, far = 0.0, math.inf
    for away, index in sorted(aways):
        if away > far * far:
            break
        t, off = nearest(cubics[index], point)
        if off < far:
            best, far = index + t, off
    return best, far


def step_to_nearest(cubic: Row, t: float, point: Point) -> float:
    """Newton's step in t towards the point of a cubic nearest to ``point``, turned downhill where it would climb."""
    x0, y0, x1, y1, x2, y2, x3, y3 = cubic
    s = 1 - t
    a, b, c, d = s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t
    ax, ay = a * x0 + b * x1 + c * x2 + d * x3 - point[0], a * y0 + b * y1 + c * y2 + d * y3 - point[1]
    a, b, c = 3 * s * s, 6 * s * t, 3 * t * t
    fx, fy = a * (x1 - x0) + b * (x2 - x1) + c * (x3 - x2), a * (y1 - y0) + b * (y2 - y1) + c * (y3 - y2)
    sx = 6 * s * (x2 - 2 * x1 + x0) + 6 * t * (x3 - 2 * x2 + x1)
    sy = 6 * s * (y2 - 2 * y1 + y0) + 6 * t * (y3 - 2 * y2 + y1)
    speed = fx * fx + fy * fy
    return (ax * fx + ay * fy) / max(speed + ax * sx + ay * sy, speed / 20, 1e-12)


def weights(t: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(m, 4) each: what the control points of a cubic weigh in its value, first and second derivative at t (m,)."""
    s, none = 1 - t, np.zeros_like(t)
    value = np.stack([s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t], axis=1)
    slope = 3 * np.stack([-s * s, s * s - 2 * s * t, 2 * s * t - t * t, t * t], axis=1)
    bend = 6 * np.stack([s, t - 2 * s, s - 2 * t, t], axis=1) + none[:, None]
    return value, slope, bend


def blossomed(low: FloatArray, high: FloatArray) -> FloatArray:
    """(n, 4, 4): from the control points of a cubic to those of its part from ``low`` to ``high`` (n,)."""
    p, q = 1 - low, 1 - high
    pp, pu, uu, uv = p * p, p * low, low * low, low * high
    pq, qq, vv = p * q, q * q, high * high
    once, twice = p * high + low * q, 2 * pu
    rows = [
        *(pp * p, 3 * pp * low, 3 * p * uu, uu * low),
        *(pp * q, pp * high + twice * q, twice * high + uu * q, uu * high),
        *(pq * q, pq * high + once * q, once * high + uv * q, uv * high),
        *(qq * q, 3 * qq * high, 3 * q * vv, vv * high),
    ]
    found: FloatArray = np.array(rows).T.reshape(-1, 4, 4)
    return found


def unit_tangent(cubic: Row, t: float) -> Point:
    """The unit tangent of a cubic at t; at an end without a handle the way it sets out."""
    ax, ay, bx, by, cx, cy, dx, dy = cubic
    p, q, r = (1 - t) ** 2, 2 * t * (1 - t), t * t
    x, y = p * (bx - ax) + q * (cx - bx) + r * (dx - cx), p * (by - ay) + q * (cy - by) + r * (dy - cy)
    size = math.hypot(x, y)
    if size < 1e-9:
        legs = [(bx - ax, by - ay), (cx - bx, cy - by), (dx - cx, dy - cy)]
        usable = [leg for leg in (legs if t < 0.5 else legs[::-1]) if math.hypot(*leg) > 1e-9]
        x, y = usable[0] if usable else (1.0, 0.0)
        size = math.hypot(x, y)
    return (x / size, y / size)


def along_line(cubic: Row, point: Point) -> float:
    """The parameter of a straight line's point nearest to ``point``."""
    ax, ay, *_, dx, dy = cubic
    sx, sy = dx - ax, dy - ay
    return min(max(((point[0] - ax) * sx + (point[1] - ay) * sy) / max(sx * sx + sy * sy, 1e-18), 0.0), 1.0)


def zeros(cubics: list[Row], nx: float, ny: float, level: float) -> list[float]:
    """Parameters of a chain of cubics, rising, where x nx + y ny is ``level``; (nx, ny) is of length 1."""
    found: list[float] = []
    low, high = level - MEET_MM, level + MEET_MM
    for index, (ax, ay, bx, by, cx, cy, dx, dy) in enumerate(cubics):
        p, o = ax * nx + ay * ny, dx * nx + dy * ny
        q, r = bx * nx + by * ny, cx * nx + cy * ny
        if (p > high and o > high and q > high and r > high) or (p < low and o < low and q < low and r < low):
            continue
        found += [index + t for t in roots((p - level, q - level, r - level, o - level))]
    return found


def at(cubics: list[Row], u: float) -> Point:
    """The point at parameter u of a chain of cubics."""
    index = int(u) if u > 0.0 else 0
    if index >= len(cubics):
        index = len(cubics) - 1
    t = u - index
    t = 0.0 if t < 0.0 else 1.0 if t > 1.0 else t
    ax, ay, bx, by, cx, cy, dx, dy = cubics[index]
    s = 1 - t
    p, q, r, o = s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t
    return (p * ax + q * bx + r * cx + o * dx, p * ay + q * by + r * cy + o * dy)


def crossed(cubics: list[Row], through: Point, nx: float, ny: float) -> list[float]:
    """Parameters of a chain of cubics, rising, where it meets the endless line through a point, square to (nx, ny).

    Of neighbours within MEET_MM of each other the first is taken.
    """
    scale = math.hypot(nx, ny)
    nx, ny = nx / scale, ny / scale
    found = zeros(cubics, nx, ny, through[0] * nx + through[1] * ny)
    if len(found) < 2:
        return found
    points = [at(cubics, u) for u in found]
    return found[:1] + [u for u, (a, b) in zip(found[1:], pairwise(points), strict=True) if math.dist(a, b) > MEET_MM]


def split(cubic: FloatArray, t: float) -> tuple[FloatArray, FloatArray]:
    """De Casteljau: the two halves of a cubic at t."""
    a = cubic[:-1] + t * (cubic[1:] - cubic[:-1])
    b = a[:-1] + t * (a[1:] - a[:-1])
    c = b[0] + t * (b[1] - b[0])
    return np.array([cubic[0], a[0], b[0], c]), np.array([c, b[1], a[2], cubic[3]])


def sub_cubic(cubic: FloatArray, t0: float, t1: float) -> FloatArray:
    if t1 < 1.0:
        cubic = split(cubic, t1)[0]
    if t0 > 0.0:
        cubic = split(cubic, t0 / t1 if t1 > 0 else 0.0)[1]
    return cubic


def box(cubic: Row) -> tuple[float, float, float, float]:
    """The least and the greatest x and y (x0, y0, x1, y1) of the control points of a cubic."""
    ax, ay, bx, by, cx, cy, dx, dy = cubic
    # Compared by hand: asked of every cubic of every line, min and max would take twice the time.
    x0, x1 = (ax, dx) if ax < dx else (dx, ax)
    y0, y1 = (ay, dy) if ay < dy else (dy, ay)
    x0, x1 = bx if bx < x0 else x0, bx if bx > x1 else x1
    x0, x1 = cx if cx < x0 else x0, cx if cx > x1 else x1
    y0, y1 = by if by < y0 else y0, by if by > y1 else y1
    y0, y1 = cy if cy < y0 else y0, cy if cy > y1 else y1
    return x0, y0, x1, y1


def merged(first: Row, second: Row, is_line: bool) -> Row | None:
    """The one cubic that both are parts of, or None."""
    ax, ay, _, _, hx, hy, mx, my = first
    _, _, kx, ky, _, _, dx, dy = second
    a, b = math.hypot(mx - hx, my - hy), math.hypot(kx - second[0], ky - second[1])
    if a + b < 1e-12:
        return None
    if is_line:
        a, b = math.hypot(mx - ax, my - ay), math.hypot(dx - second[0], dy - second[1])
    t = a / (a + b)
    if not 1e-6 < t < 1 - 1e-6:
        return None
    if is_line:
        # Of straight lines at thirds the middle comes out so far from where they meet.
        off = 2 * t * (1 - t)
        if off * abs(ax + t * (dx - ax) - mx) > MEET_MM or off * abs(ay + t * (dy - ay) - my) > MEET_MM:
            return None
    elif abs(hx + t * (kx - hx) - mx) + abs(hy + t * (ky - hy) - my) > MEET_MM:
        return None
    whole = [ax, ay, 0.0, 0.0, 0.0, 0.0, dx, dy]
    for k in (0, 1):
        p0, p3 = first[k], second[6 + k]
        whole[2 + k] = p1 = p0 + (first[2 + k] - p0) / t
        whole[4 + k] = p2 = p3 + (second[4 + k] - p3) / (1 - t)
        # De Casteljau at t gives both back.
        q0, q1, q2 = p0 + t * (p1 - p0), p1 + t * (p2 - p1), p2 + t * (p3 - p2)
        r0, r1 = q0 + t * (q1 - q0), q1 + t * (q2 - q1)
        middle = r0 + t * (r1 - r0)
        left, right = (p0, q0, r0, middle), (middle, r1, q2, p3)
        for mine, old in ((left, first[k::2]), (right, second[k::2])):
            if max(abs(one - other) for one, other in zip(mine, old, strict=True)) > MEET_MM / 10:
                return None
    return whole
