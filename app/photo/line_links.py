"""Which small pieces of lines may follow each other on one line, and how ill the ink between them fits its dash.

A link runs smoothly on from one piece to the next, or round one corner where both run on until they meet; it passes
gaps of the dash and lines that cross. What it costs is told in mm of a stroke that is not seen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from app.photo.dashes import Dash, inkiness
from app.photo.line_elements import SPACED_MM, Elements
from app.photo.line_ink import Ink
from geometry.errors import PatternError
from geometry.motions import FloatArray

Ints = NDArray[np.intp]

#: Links are so long at least and, where they pass nothing but ink, at most (mm).
_SHORTEST_MM, _IN_INK_MM = 0.7, 3.4
#: Gaps may be so much longer than the dash says (mm); a link of a full line is so long at most.
_MORE_GAP_MM, _FULL_MM = 1.6, 4.5
#: A dash no longer than this (mm) is dots or nearly so.
_DOTS_MM = 5.0
#: A corner's legs are so much longer than a gap at most (mm), and so long at least.
_MORE_LEG_MM, _LEAST_LEG_MM = 2.8, 0.3
#: A smooth link turns no more than this to either side of its chord; a corner turns between so much and so much.
_SMOOTH_COS, _CORNER_DEG = math.cos(math.radians(28.0)), (24.0, 150.0)
#: A turn counts when it is more than this (radians) and a circle of this radius (mm) would make it; unevenness, when
#: it is more than this. A radian beyond that costs so much.
_FREE_TURN, _FREE_RADIUS_MM, _FREE_UNEVEN = math.radians(2.5), 25.0, math.radians(5.0)
_TURN_COSTS, _UNEVEN_COSTS = 20.0, 8.0
#: What a corner costs, and more where a line runs straight on from one side, and from both: that is a crossing. It is
#: seen so far beyond the corner (mm), further by a gap, when more than this share is ink.
_CORNER_COSTS, _RUNS_ON_COSTS, _CROSSING_COSTS = 2.0, 2.0, 16.0
_BEYOND_MM, _RUNS_ON = (1.0, 3.0), (0.35, 0.55)
#: Where the line's own dash is seen to run on in step, over one dash but so far (mm) at least and at most, it has no
#: corner: that costs so much.
_OWN_MM, _OWN_COSTS = (8.0, 14.0), 16.0
#: It may run on so many degrees to either side of where it seems to.
_FAN_DEG = (-18.0, -12.0, -6.0, 0.0, 6.0, 12.0, 18.0)
#: A mm of way costs so much by itself.
_WAY_COSTS = 0.004
#: So much ill fit a mm costs nothing.
_FREE_COSTS = 0.03
#: A link whose ink fits the dash worse than this at every phase is none.
_MOST_COSTS = 3.0
#: Ink along a link is sampled so often (mm).
_SAMPLE_MM = 0.25
#: How far along its line an element lies is told by links as short and straight as may be: a mm counts so much. Lines
#: of up to two to the power of so many elements are followed to where they are cut.
_LONGER_COSTS, _DOUBLINGS = 0.3, 17
#: No sheet may have more places than this, nor more pairs of them to be looked at.
_MOST_PLACES, _MOST_PAIRS = 60_000, 12_000_000
#: So many links are measured at once, and the neighbours of so many elements looked for.
_AT_ONCE, _NEAR_AT_ONCE = 20_000, 4_000


@dataclass(frozen=True, eq=False)
class Links:
    """Links between elements: from (n,), to (n,), length in mm (n,), where the corner is (n, 2) in mm (halfway for
    smooth ones), whether there is one (n,), and what each costs from every phase (n, phases); ``gone`` says how far
    along its line each element (m,) lies, in mm, by which its phases are told."""

    start: Ints
    stop: Ints
    length: FloatArray
    corner: FloatArray
    is_corner: NDArray[np.bool_]
    costs: NDArray[np.float32]
    gone: FloatArray


def links(ink: Ink, every: Elements, dash: Dash, black: float) -> Links:
    """The links of a dash between elements. Raises PatternError when there are too many lines to be looked at."""
    if len(every.points) > 2 * _MOST_PLACES:
        raise PatternError("There are too many lines on this picture to follow one; set points along it by hand.")
    smooth, corners = _smooth(every, dash), _corners(every, dash)
    gone = _gone(every, smooth)
    parts = [
        _measured(ink, every, dash, black, gone, part, is_corner)
        for pairs, is_corner in ((smooth, False), (corners, True))
        for part in _in_parts(pairs)
    ]
    return Links(
        np.concatenate([part.start for part in parts]),
        np.concatenate([part.stop for part in parts]),
        np.concatenate([part.length for part in parts]),
        np.concatenate([part.corner for part in parts]),
        np.concatenate([part.is_corner for part in parts]),
        np.concatenate([part.costs for part in parts]),
        gone,
    )


def _gone(every: Elements, pairs: _Pairs) -> FloatArray:
    """How far along its line each element lies, in mm: so far less than where its line is cut."""
    count = len(every.points)
    length = np.hypot(*(every.points[pairs.stop] - every.points[pairs.start]).T)
    order = np.argsort(-(pairs.costs + _LONGER_COSTS * length), kind="stable")
    link = np.full(count, -1, np.intp)
    link[pairs.start[order]] = order
    own = np.arange(count)
    on = np.where(link >= 0, pairs.stop[link], own)
    far = np.where(link >= 0, length[link], 0.0)
    # Where the links run round, the ring is cut at its lowest number.
    ahead, least = on.copy(), np.minimum(own, on)
    for _ in range(_DOUBLINGS):
        least, ahead = np.minimum(least, least[ahead]), ahead[ahead]
    on_ring = np.zeros(count, bool)
    on_ring[ahead] = True
    cut = on_ring & (least == own)
    on, far = np.where(cut, own, on), np.where(cut, 0.0, far)
    for _ in range(_DOUBLINGS):
        far, on = far + far[on], on[on]
    return -far


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Elements that may follow each other: from (n,), to (n,), the place between (n, 2), what the turn costs (n,)."""

    start: Ints
    stop: Ints
    corner: FloatArray
    costs: FloatArray


def _in_parts(pairs: _Pairs) -> list[_Pairs]:
    cuts = range(0, max(len(pairs.start), 1), _AT_ONCE)
    return [_Pairs(*(getattr(pairs, name)[at : at + _AT_ONCE] for name in _Pairs.__dataclass_fields__)) for at in cuts]


def _near(every: Elements, far: float) -> Iterator[tuple[Ints, Ints]]:
    """Pairs of elements (n,), (n,) no further apart than this (mm), some thousands of elements at a time."""
    tree = shapely.STRtree(np.asarray(shapely.points(every.points)))
    boxes = np.asarray(shapely.box(*(every.points - far).T, *(every.points + far).T))
    total = 0
    for at in range(0, len(boxes), _NEAR_AT_ONCE):
        one, other = tree.query(boxes[at : at + _NEAR_AT_ONCE])
        total += len(one)
        if total > _MOST_PAIRS:
            raise PatternError("The lines on this picture lie too close to follow one; set points along it by hand.")
        one = one + at
        size = np.hypot(*(every.points[other] - every.points[one]).T)
        good = (size < far) & (size > 1e-6)
        yield one[good], other[good]


def _together(parts: Iterable[_Pairs]) -> _Pairs:
    every = list(parts)
    return _Pairs(*(np.concatenate([getattr(one, name) for one in every]) for name in _Pairs.__dataclass_fields__))


def _smooth(every: Elements, dash: Dash) -> _Pairs:
    """Links that run smoothly on."""
    far = _FULL_MM if dash.is_full else max(_FULL_MM, dash.longest_gap + _MORE_GAP_MM + SPACED_MM)
    if not dash.is_full and dash.length < _DOTS_MM:
        # A dot under a line that crosses shows no direction of its own, and is passed.
        far = max(far, dash.length + dash.longest_gap + _MORE_GAP_MM)
    return _together(_smooth_among(every, *pairs) for pairs in _near(every, far))


def _smooth_among(every: Elements, start: Ints, stop: Ints) -> _Pairs:
    chord = every.points[stop] - every.points[start]
    size = np.hypot(*chord.T)
    chord = chord / size[:, None]
    out, back = (chord * every.ways[start]).sum(axis=1), (chord * every.ways[stop]).sum(axis=1)
    good = (size > _SHORTEST_MM) & (out > _SMOOTH_COS) & (back > _SMOOTH_COS)
    start, stop, chord, size = start[good], stop[good], chord[good], size[good]
    one, two = _angle(every.ways[start], chord), _angle(chord, every.ways[stop])
    turn = np.maximum(np.abs(one + two) - _FREE_TURN - size / _FREE_RADIUS_MM, 0.0)
    uneven = np.maximum(np.abs(one - two) - _FREE_UNEVEN, 0.0)
    middle = (every.points[start] + every.points[stop]) / 2
    return _Pairs(start, stop, middle, _TURN_COSTS * turn + _UNEVEN_COSTS * uneven)


def _corners(every: Elements, dash: Dash) -> _Pairs:
    """Links round a corner, where both sides run straight on until they meet."""
    far = 1.6 * (dash.longest_gap + _MORE_LEG_MM)
    return _together(_corners_among(every, dash, *pairs) for pairs in _near(every, far))


def _corners_among(every: Elements, dash: Dash, start: Ints, stop: Ints) -> _Pairs:
    leg = dash.longest_gap + _MORE_LEG_MM
    first, last = every.ways[start], every.ways[stop]
    cross = first[:, 0] * last[:, 1] - first[:, 1] * last[:, 0]
    between = every.points[stop] - every.points[start]
    safe = np.where(np.abs(cross) < 0.2, 1.0, cross)
    out = (between[:, 0] * last[:, 1] - between[:, 1] * last[:, 0]) / safe
    # The second piece lies so far beyond the corner.
    back = -(between[:, 0] * first[:, 1] - between[:, 1] * first[:, 0]) / safe
    degrees = np.degrees(np.abs(np.arctan2(cross, (first * last).sum(axis=1))))
    good = (degrees > _CORNER_DEG[0]) & (degrees < _CORNER_DEG[1])
    good &= (out > _LEAST_LEG_MM) & (back > _LEAST_LEG_MM) & (np.maximum(out, back) < leg)
    good &= out + back < dash.longest_gap + 2 * _MORE_LEG_MM
    start, stop, first, out = start[good], stop[good], first[good], out[good]
    corner = every.points[start] + first * out[:, None]
    return _Pairs(start, stop, corner, np.full(len(start), _CORNER_COSTS))


def _angle(one: FloatArray, other: FloatArray) -> FloatArray:
    """From ways (n, 2) to ways (n, 2), left above nothing, in radians (n,)."""
    cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    angle: FloatArray = np.arctan2(cross, (one * other).sum(axis=1))
    return angle


def _measured(
    ink: Ink, every: Elements, dash: Dash, black: float, gone: FloatArray, pairs: _Pairs, is_corner: bool
) -> Links:
    """Links with what they cost; those that no phase fits are left out."""
    one, two = every.points[pairs.start], every.points[pairs.stop]
    legs = np.stack([np.hypot(*(pairs.corner - one).T), np.hypot(*(two - pairs.corner).T)], axis=1)
    length = legs.sum(axis=1)
    laid = np.arange(_SAMPLE_MM / 2 - dash.phase_mm / 2, float(length.max(initial=1.0)) + dash.phase_mm, _SAMPLE_MM)
    along = laid[None] - dash.into_phase(gone[pairs.start])[:, None]
    there = (along > 0) & (along < length[:, None])
    first = along < legs[:, :1]
    shares = np.where(first, along / legs[:, :1], (along - legs[:, :1]) / legs[:, 1:])[..., None]
    points = np.where(first[..., None], one[:, None] * (1 - shares), pairs.corner[:, None] * (1 - shares))
    points = points + np.where(first[..., None], pairs.corner[:, None] * shares, two[:, None] * shares)
    ways = np.where(
        first[..., None], ((pairs.corner - one) / legs[:, :1])[:, None], ((two - pairs.corner) / legs[:, 1:])[:, None]
    )
    seen = np.where(there, inkiness(ink.along(points, ways), black), 0.0)
    strokes, gaps = dash.laid(laid)
    missed, covered = (there - seen) @ strokes * _SAMPLE_MM, seen @ gaps * _SAMPLE_MM
    costs = np.maximum(missed + dash.ink_in_gap * covered - _FREE_COSTS * length[:, None], 0.0)
    held = pairs.costs + _WAY_COSTS * length
    inked = seen.sum(axis=1) * _SAMPLE_MM > length - 0.3
    good = (costs.min(axis=1) < _MOST_COSTS) & (~inked | (length < (2 if is_corner else 1) * _IN_INK_MM))
    pairs = _Pairs(pairs.start[good], pairs.stop[good], pairs.corner[good], held[good])
    costs = costs[good] + pairs.costs[:, None]
    if is_corner:
        costs += _run_on_costs(ink, every, pairs, dash, black, gone)
    return Links(
        pairs.start,
        pairs.stop,
        length[good],
        pairs.corner,
        np.full(len(pairs.start), is_corner),
        costs.astype(np.float32),
        gone,
    )


def _run_on_costs(ink: Ink, every: Elements, pairs: _Pairs, dash: Dash, black: float, gone: FloatArray) -> FloatArray:
    """What it costs (n, phases) that lines run straight on beyond corners, most of all the line's own dash in step."""
    far = _BEYOND_MM[1] + dash.longest_gap
    beyond = np.arange(_BEYOND_MM[0], max(far, min(max(_OWN_MM[0], dash.length), _OWN_MM[1])), _SAMPLE_MM)
    near = int((beyond < far).sum())
    sides, owns = [], []
    for ways, sign in ((every.ways[pairs.start], 1), (-every.ways[pairs.stop], -1)):
        most, own = np.zeros(len(ways)), np.zeros((len(ways), dash.phases), np.float32)
        for turn in np.radians(_FAN_DEG):
            cos, sin = math.cos(turn), math.sin(turn)
            turned = ways @ np.array([[cos, sin], [-sin, cos]])
            points = pairs.corner[:, None] + beyond[None, :near, None] * turned[:, None]
            seen = inkiness(ink.near(points), black)
            share = seen.mean(axis=1)
            most = np.maximum(most, share)
            on = np.flatnonzero(share > _RUNS_ON[0])
            if dash.is_full or not len(on):
                continue
            points = pairs.corner[on, None] + beyond[None, near:, None] * turned[on, None]
            whole = np.concatenate([seen[on], inkiness(ink.near(points), black)], axis=1)
            own[on] = np.maximum(own[on], dash.seen(whole, sign * beyond))
        sides.append(np.clip((most - _RUNS_ON[0]) / (_RUNS_ON[1] - _RUNS_ON[0]), 0.0, 1.0))
        owns.append(own)
    costs = _RUNS_ON_COSTS * np.maximum(*sides) + _CROSSING_COSTS * np.minimum(*sides)
    if dash.is_full:
        return costs[:, None]
    # From the phase at the link's start to that at the corner.
    into = dash.into_phase(gone[pairs.start]) + np.hypot(*(pairs.corner - every.points[pairs.start]).T)
    at = into[:, None] / dash.phase_mm + np.arange(dash.phases)[None]
    which = np.round(at).astype(np.intp) % dash.phases
    own = np.take_along_axis(np.maximum(*owns), which, axis=1)
    found: FloatArray = np.maximum(costs[:, None], _OWN_COSTS * own)
    return found
