"""Parallel lines: a line moved sideways by a distance, as cubics within OFFSET_MM of the true parallel curve.

Distances are positive to the right of travel, which is outward on an anticlockwise outline. Each cubic is
replaced by the cubic with the parallel curve's own end points and end derivatives, and halved by de Casteljau's
construction until it is close enough (offsets by subdivision: Tiller and Hanson 1984, from memory).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.beziers import weights
from geometry.joints import SMOOTH_DEG, to_a_point
from geometry.kept import frozen
from geometry.lines import Chain, joined
from geometry.motions import FloatArray

#: A parallel curve lies this close to the true one (mm); half of what is promised, as it is measured at points.
OFFSET_MM = 0.0025
#: No piece of a cubic shorter than this share of it is halved again; at a cusp no halving would be enough.
_SHORTEST = 1 / 512
_LOG_16 = math.log(16)
_CHECKS = np.linspace(0.0, 1.0, 5)
_AT_CHECKS = np.concatenate(weights(_CHECKS))
_THIRDS = np.array([0.0, 1 / 3, 2 / 3, 1.0])[None, :, None]
_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(6)
_FIFTHS = (_CHECKS[:-1, None] + (_GAUSS_X + 1) / 8).ravel()
#: Distance to move (mm) and its slope (mm per mm) at lengths along the line (mm), arrays of one shape.
Profile = Callable[[FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True, eq=False)
class Moved:
    """A moved line, and which stretch of the old line each of its segments came from.

    Segment i follows parameters ``low[i]`` to ``high[i]`` of the old line; the two are equal where the segment
    only joins two parts at a kink.
    """

    line: Chain
    low: FloatArray
    high: FloatArray

    def parameter(self, u: float) -> float:
        """The parameter on the moved line square to parameter ``u`` of the old one, kept within the line."""
        index = min(int(np.searchsorted(self.high, u)), len(self.line) - 1)
        low, high = float(self.low[index]), float(self.high[index])
        return index + (min(max((u - low) / (high - low), 0.0), 1.0) if high > low else 0.0)


@dataclass(frozen=True, eq=False)
class _State:
    """Cubics being moved: old parameters, whether ruled, distance, which line they are of, and the length before."""

    cubics: FloatArray
    low: FloatArray
    high: FloatArray
    ruled: NDArray[np.bool_]
    distance: FloatArray
    line: NDArray[np.intp]
    begins: FloatArray


def moved_line(line: Chain, distance: float, profile: Profile | None = None) -> Moved:
    """A line moved sideways by ``distance`` mm, to the right of travel when positive.

    ``profile`` gives the distance and its slope by length instead. At a kink the parts run on to a point on the
    outer side and are trimmed on the inner. A curve tighter than the distance turns back in a loop, which stays
    in the line (``crossings.outer_line`` cuts it off).
    """
    parts = _smooth_parts(line)
    moved = _parallels(parts, [distance] * len(parts), profile)
    return moved[0] if len(parts) == 1 else _joined_at_kinks(line, moved, distance, profile)


def moved_lines(lines: Sequence[Chain], distances: Sequence[float]) -> list[Chain]:
    """Many lines moved, each by its own distance in mm as in ``moved_line``, reckoned together."""
    parts = [_smooth_parts(line) if distance else [] for line, distance in zip(lines, distances, strict=True)]
    flat = [part for own in parts for part in own]
    each = [distance for own, distance in zip(parts, distances, strict=True) for _ in own]
    moved = iter(_parallels(flat, each) if flat else ())
    found = []
    for line, own, distance in zip(lines, parts, distances, strict=True):
        mine = list(itertools.islice(moved, len(own)))
        if len(mine) > 1:
            found.append(_joined_at_kinks(line, mine, distance, None).line)
        else:
            found.append(mine[0].line if mine else line)
    return found


def _smooth_parts(line: Chain) -> list[Chain]:
    kinks = kinks_of(line)
    if not kinks:
        return [line]
    return [line.part(low, high) for low, high in itertools.pairwise([0, *kinks, len(line)])]


def kinks_of(line: Chain) -> list[int]:
    """The joins of a line at which it turns by more than SMOOTH_DEG."""
    if len(line) == 1:
        return []
    arriving = line.cubics[:-1, 3] - line.cubics[:-1, 2]
    leaving = line.cubics[1:, 1] - line.cubics[1:, 0]
    ax, ay, bx, by = arriving[:, 0], arriving[:, 1], leaving[:, 0], leaving[:, 1]
    turns = np.abs(np.arctan2(ax * by - ay * bx, ax * bx + ay * by)) > math.radians(SMOOTH_DEG)
    return [i + 1 for i in turns.nonzero()[0].tolist()]


def _joined_at_kinks(line: Chain, parts: list[Moved], distance: float, profile: Profile | None) -> Moved:
    chains, lows, highs = [parts[0].line], [parts[0].low], [parts[0].high]
    at = 0.0
    for previous, part in itertools.pairwise(parts):
        at += float(previous.high[-1])
        begun = line.length_to(at)
        width = distance if profile is None else float(profile(np.array([begun]))[0][0])
        first, second = (chains[-1], part.line) if width >= 0 else (part.line.backwards(), chains[-1].backwards())
        joint = to_a_point(first, second, line.point(at), (abs(width), abs(width)))
        u, v, between = joint.u, joint.v, [one for one in (joint.before, joint.after) if one is not None]
        if width < 0:
            u, v = len(second) - v, len(first) - u
            between = [one.backwards() for one in reversed(between)]
        chains[-1], lows[-1], highs[-1] = _kept(chains[-1], lows[-1], highs[-1], 0.0, u)
        for one in between:
            chains.append(one)
            lows.append(np.full(len(one), at))
            highs.append(np.full(len(one), at))
        chain, low, high = _kept(part.line, part.low, part.high, v, float(len(part.line)))
        chains.append(chain)
        lows.append(low + at)
        highs.append(high + at)
    return Moved(joined(chains), np.concatenate(lows), np.concatenate(highs))


def _kept(line: Chain, low: FloatArray, high: FloatArray, u: float, v: float) -> tuple[Chain, FloatArray, FloatArray]:
    """A stretch of a moved line with the old parameters of its segments."""
    first, last = min(int(u), len(line) - 1), min(max(int(np.ceil(v)) - 1, 0), len(line) - 1)
    low, high = low[first : last + 1].copy(), high[first : last + 1].copy()
    span = high - low
    high[-1] = low[-1] + span[-1] * (v - last)
    low[0] += span[0] * (u - first)
    return line.part(u, v), low, high


def _parallels(lines: Sequence[Chain], distances: Sequence[float], profile: Profile | None = None) -> list[Moved]:
    """Smooth lines moved sideways, all at once; for a profile they follow each other as one line."""
    counts = [len(line) for line in lines]
    state = _State(
        np.concatenate([line.cubics for line in lines]),
        np.concatenate([np.arange(float(n)) for n in counts]),
        np.concatenate([np.arange(1.0, n + 1) for n in counts]),
        np.concatenate([line.straight if profile is None else np.zeros(len(line), dtype=bool) for line in lines]),
        np.repeat(np.array(distances, dtype=float), counts),
        np.repeat(np.arange(len(lines)), counts),
        np.zeros(sum(counts)) if profile is None else _begins(lines),
    )
    offsets, errors, halves = _hermite(state, profile)
    while True:
        poor = (errors > OFFSET_MM) & ~state.ruled & (state.high - state.low > _SHORTEST)
        if not poor.any():
            break
        # The error falls with the fourth power of the length, which says how often to halve before looking again.
        wanted = np.ceil(np.log(errors[poor] / OFFSET_MM) / _LOG_16)
        times = np.zeros(len(poor))
        times[poor] = np.minimum(np.maximum(wanted, 1), 1 if profile else 3)
        cut = poor
        while cut.any():
            state = _halved(state, halves, cut)
            times = np.repeat(np.maximum(times - 1, 0), cut + 1)
            cut = times > 0
            halves = np.zeros(len(times))
        offsets, errors, halves = _hermite(state, profile)
    same_line = state.line[1:] == state.line[:-1]
    meets = (offsets[:-1, 3] + offsets[1:, 0])[same_line] / 2
    offsets[1:, 0][same_line] = meets
    offsets[:-1, 3][same_line] = meets
    if state.ruled.any():
        ends = offsets[state.ruled][:, [0, 3]]
        offsets[state.ruled] = ends[:, :1] + _THIRDS * (ends[:, 1:] - ends[:, :1])
    for array in (offsets, state.ruled, state.low, state.high):
        frozen(array)
    bounds = np.searchsorted(state.line, np.arange(len(lines) + 1))
    return [
        Moved(Chain(offsets[i:j], state.ruled[i:j]), state.low[i:j], state.high[i:j])
        for i, j in itertools.pairwise(bounds.tolist())
    ]


def _begins(lines: Sequence[Chain]) -> FloatArray:
    """The length before each segment of lines that follow each other."""
    lengths: FloatArray = np.concatenate([line.segment_lengths for line in lines])
    begins: FloatArray = np.cumsum(lengths) - lengths
    return begins


def _hermite(state: _State, profile: Profile | None) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Cubics (n, 4, 2) with the offset's ends and end derivatives, their errors (n,) in mm, half lengths (n,)."""
    cubics, count = state.cubics, len(_CHECKS)
    everything = _AT_CHECKS @ cubics
    points, first, second = (everything[:, i : i + count] for i in (0, count, 2 * count))
    dx, dy = first[..., 0], first[..., 1]
    speed = np.hypot(dx, dy)
    cross = dx * second[..., 1] - dy * second[..., 0]
    heading = first / np.maximum(speed, 1e-300)[..., None]
    if np.minimum.reduce(speed, axis=None) < 1e-9:
        # Where a line has no speed it heads the way it sets out, or came.
        still = speed < 1e-9
        way = np.where(_CHECKS[None, :, None] < 0.5, second, -second)[still]
        heading[still] = way / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-300)[:, None]
        bend = np.where(still, 0.0, cross / np.maximum(speed, 1e-9) ** 2)
    else:
        bend = cross / (speed * speed)
    normals = np.empty_like(heading)
    normals[..., 0], normals[..., 1] = heading[..., 1], -heading[..., 0]
    halves = np.zeros(len(cubics))
    if profile is None:
        away = state.distance[:, None]
        goal = points + away[..., None] * normals
        moving = (speed + away * bend)[..., None] * heading
    else:
        lengths = _lengths_at_checks(3 * (cubics[:, 1:] - cubics[:, :-1]))
        halves = lengths[:, 2]
        away, slope = profile(state.begins[:, None] + lengths)
        goal = points + away[..., None] * normals
        moving = (speed + away * bend)[..., None] * heading + (slope * speed)[..., None] * normals
    offsets = np.empty_like(cubics)
    offsets[:, 0], offsets[:, 3] = goal[:, 0], goal[:, -1]
    offsets[:, 1] = goal[:, 0] + moving[:, 0] / 3
    offsets[:, 2] = goal[:, -1] - moving[:, -1] / 3
    miss = _AT_CHECKS[:count] @ offsets - goal
    square = miss[..., 0] * normals[..., 0] + miss[..., 1] * normals[..., 1]
    return offsets, np.maximum.reduce(np.abs(square), axis=1), halves


def _lengths_at_checks(legs: FloatArray) -> FloatArray:
    """(n, 5) lengths of n cubics from their starts to the check parameters; ``legs`` (n, 3, 2) derivative control."""
    s = 1 - _FIFTHS
    first = np.stack([s * s, 2 * s * _FIFTHS, _FIFTHS * _FIFTHS], axis=1) @ legs
    speeds = np.hypot(first[..., 0], first[..., 1]).reshape(len(legs), len(_CHECKS) - 1, -1)
    steps = speeds @ _GAUSS_W / 8
    return np.concatenate([np.zeros((len(legs), 1)), np.cumsum(steps, axis=1)], axis=1)


def _halved(state: _State, halves: FloatArray, poor: NDArray[np.bool_]) -> _State:
    """Every poor cubic cut in two by de Casteljau's construction, with what belongs to each half."""
    index = np.repeat(np.arange(len(state.cubics)), poor + 1)
    # With one place more at the end, what is the first half is seen from the second one place on.
    halved = np.zeros(len(index) + 1, dtype=bool)
    np.equal(index[1:], index[:-1], out=halved[1:-1])
    first, second = halved[1:], halved[:-1]
    cut = state.cubics[index]
    whole = state.cubics[poor]
    a = (whole[:, :-1] + whole[:, 1:]) / 2
    b = (a[:, :-1] + a[:, 1:]) / 2
    c = (b[:, 0] + b[:, 1]) / 2
    left, right = np.empty_like(whole), np.empty_like(whole)
    left[:, 0], left[:, 1], left[:, 2], left[:, 3] = whole[:, 0], a[:, 0], b[:, 0], c
    right[:, 0], right[:, 1], right[:, 2], right[:, 3] = c, b[:, 1], a[:, 2], whole[:, 3]
    cut[first], cut[second] = left, right
    low, high = state.low[index], state.high[index]
    middle = (state.low[poor] + state.high[poor]) / 2
    low[second], high[first] = middle, middle
    begins = state.begins[index]
    begins[second] += halves[poor]
    return _State(cut, low, high, state.ruled[index], state.distance[index], state.line[index], begins)
