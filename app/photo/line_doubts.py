"""Where a followed line may be another's, and which of two ways is its own where they part.

Where the line's own dash is plainly seen by itself on one of two ways and not on the other, that one is taken, however
little they differ in cost otherwise. Where it is seen on both or on neither, that is told; and so is where other lines
lie on the line, unless it is the only line there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.photo.dashes import SAMPLE_MM, Dash, inkiness
from app.photo.line_elements import Elements
from app.photo.line_ink import Ink
from app.photo.line_routes import OFF_MM, Route
from geometry.motions import FloatArray, Point

Flags = NDArray[np.bool_]

#: The line's own dash is seen where over so much (mm), and so many dashes, this share of its strokes is ink, and no
#: more than that of its gaps. Stretches shorter than this need not be seen (mm), nor told apart from another way.
_SURE_MM, _SURE_DASHES, _INK, _COVERED = 8.0, 1.5, 0.8, 0.45
_UNSEEN_MM, _OTHER_MM = 15.0, 4.0
#: One of two ways is the line's own where its dash is seen on so much more of it (share), over as much at least as it
#: is told from. Which of two ways is not the line's own is not told where they part for less than this (mm).
_PLAINER, _TOLD_MM = 0.4, 10.0
#: Ways that part are compared when neither is more than so many times as long as the other.
_AS_LONG = 5.0
#: Another line runs beside one when it is no further off (mm), turned from it by no more than this (cosine), for so
#: much of its way (share, and mm).
_BESIDE_MM, _BESIDE_COS, _BESIDE_SHARE, _BESIDE_LEAST_MM = 6.0, 0.9, 0.2, 4.0
#: When another way is looked for a mm of a covered stretch is so much dearer, and the whole stretch no more than this.
_DEARER, _DEARER_RUN = 0.15, 10.0
#: A way whose dearest corner costs more than this may have taken a crossing for a corner.
_DEAR_CORNER = 7.0


@dataclass(frozen=True)
class Doubt:
    """A stretch of a followed line, from and to points in mm, of so many mm: another way is nearly as likely there, or
    (``is_covered``) other lines lie on it."""

    start: Point
    stop: Point
    length: float
    is_covered: bool


@dataclass(frozen=True, eq=False)
class Sight:
    """What is needed to see a line's own dash: the ink, the dash, and how dark its strokes are."""

    ink: Ink
    dash: Dash
    black: float

    @property
    def told_mm(self) -> float:
        """Over how many mm it is told whether the dash is seen."""
        return max(_SURE_MM, _SURE_DASHES * self.dash.length)

    def seen(self, route: Route) -> Flags:
        """Whether the line's own dash is seen by itself round about every point (n,) of a way."""
        ways = _directions(route)
        inked = inkiness(self.ink.along(route.points, ways), self.black)
        strokes, gaps = route.laid(self.dash)
        wide = round(self.told_mm / SAMPLE_MM)

        def about(values: FloatArray) -> FloatArray:
            summed = np.concatenate([values[-wide // 2 :], values, values[: wide // 2 + 1]]).cumsum()
            total: FloatArray = (summed[wide:] - summed[:-wide])[: len(values)]
            return total

        whole = about(strokes * inked) > _INK * about(strokes)
        clear = about(gaps * inked) <= _COVERED * about(gaps) + 1e-6
        return np.asarray(whole & clear)


def own_way(sight: Sight, route: Route, others: Sequence[Route]) -> Route:
    """The way with those stretches of others, all anticlockwise, on which the line's own dash is plainly seen and on
    the way's is not."""
    seen = sight.seen(route)
    for other in others:
        its = sight.seen(other)
        for stretch in _parted(route, other):
            match = _other_side(route, other, *stretch)
            if match is None:
                continue
            plain = _share(its, *match)
            size = (match[1] - match[0]) * SAMPLE_MM
            if plain <= _share(seen, *stretch) + _PLAINER or plain * size <= sight.told_mm:
                continue
            mended = _spliced(route, stretch, other, match)
            if mended.ring.is_simple or not route.ring.is_simple:
                return own_way(sight, mended, [one for one in others if one is not other])
    return route


def covered(sight: Sight, route: Route) -> tuple[FloatArray, FloatArray]:
    """Points (n, 2) of a way, SAMPLE_MM apart, where other lines lie on it, and how much dearer (n,) a mm of way is to
    be there when another is looked for."""
    places, dearer = [np.zeros((0, 2))], [np.zeros(0)]
    for run in _runs(~sight.seen(route), _UNSEEN_MM):
        places.append(route.points[np.arange(*run) % len(route.points)])
        size = (run[1] - run[0]) * SAMPLE_MM
        dearer.append(np.full(run[1] - run[0], min(_DEARER, _DEARER_RUN / size)))
    return np.concatenate(places), np.concatenate(dearer)


def doubts(
    sight: Sight, route: Route, others: Sequence[Route], elsewhere: Route | None, every: Elements
) -> tuple[Doubt, ...]:
    """Where the way may be another line's; ``elsewhere`` is the way found when what is covered was dearer."""
    seen = sight.seen(route)
    away = np.zeros(len(seen), bool)
    for other in others:
        its = sight.seen(other)
        for stretch in _parted(route, other):
            match = _other_side(route, other, *stretch)
            short = (stretch[1] - stretch[0]) * SAMPLE_MM < _TOLD_MM
            if match is None or short or _share(seen, *stretch) <= _share(its, *match) + _PLAINER:
                away[np.arange(*stretch) % len(away)] = True
    off = np.zeros(len(seen)) if elsewhere is None else elsewhere.nearest(route.points)[1]
    alone = elsewhere is not None and route.dearest < _DEAR_CORNER
    beside = _beside(route, every)
    told = [_doubt(route, run, is_covered=False) for run in _runs(away, _OTHER_MM)]
    for run in _runs(~seen, _UNSEEN_MM):
        parts = _share(np.asarray(off > OFF_MM), *run) * (run[1] - run[0]) * SAMPLE_MM > _OTHER_MM
        if parts or not alone or _has_beside(beside, *run):
            told.append(_doubt(route, run, is_covered=True))
    return tuple(told)


def _directions(route: Route) -> FloatArray:
    ways = np.roll(route.points, -3, axis=0) - np.roll(route.points, 3, axis=0)
    found: FloatArray = ways / np.maximum(np.hypot(*ways.T), 1e-9)[:, None]
    return found


def _parted(route: Route, other: Route) -> list[tuple[int, int]]:
    """The stretches of a way, as its points from and up to, where another goes elsewhere."""
    return _runs(np.asarray(other.nearest(route.points)[1] > OFF_MM), _OTHER_MM)


def _other_side(route: Route, other: Route, begin: int, end: int) -> tuple[int, int] | None:
    """The stretch of another way, as its points from and up to, beside a stretch of a way; none where they part for
    good or one is much longer."""
    count = len(route.points)
    if end - begin >= count - 2:
        return None
    (first, last), off = other.nearest(route.points[[(begin - 1) % count, end % count]])
    size = int(last - first) % len(other.points)
    if off.max() > OFF_MM or not 1 / _AS_LONG < (size + 1) / (end - begin) < _AS_LONG:
        return None
    return int(first), int(first) + size


def _share(flags: Flags, begin: int, end: int) -> float:
    """On what share of a stretch flags (n,) of points round a way are set."""
    return float(flags[np.arange(begin, max(end, begin + 1)) % len(flags)].mean())


def _spliced(route: Route, stretch: tuple[int, int], other: Route, match: tuple[int, int]) -> Route:
    """The way with a stretch of another in the place of its own."""
    count, many = len(route.points), len(other.points)
    kept = np.arange(stretch[1], stretch[0] + count) % count
    taken = np.arange(match[0], match[1] + 1) % many
    corners, turns = [], []
    for one, places in ((route, kept), (other, taken)):
        if len(one.corners):
            on = np.isin(one.nearest(one.corners)[0], places)
            corners.append(one.corners[on])
            turns.append(one.turns[on])
    return Route(
        np.concatenate([route.points[kept], other.points[taken]]),
        np.concatenate([route.phase[kept], other.phase[taken]]),
        np.concatenate([*corners, np.zeros((0, 2))]),
        np.concatenate([*turns, np.zeros(0)]),
        other.cost,
        max(route.dearest, other.dearest),
    )


def _beside(route: Route, every: Elements) -> Flags:
    """Beside which points (n,) of a way another line runs the same way."""
    low, high = route.points.min(axis=0) - _BESIDE_MM, route.points.max(axis=0) + _BESIDE_MM
    about = np.flatnonzero(((every.points > low) & (every.points < high)).all(axis=1)[: len(every.points) // 2])
    places, ways = every.points[about], every.ways[about]
    at, off = route.nearest(places)
    along = np.abs((_directions(route)[at] * ways).sum(axis=1))
    good = (off > OFF_MM) & (off < _BESIDE_MM) & (along > _BESIDE_COS)
    flags = np.zeros(len(route.points), bool)
    for step in (-2, -1, 0, 1, 2):
        flags[(at[good] + step) % len(flags)] = True
    return flags


def _has_beside(beside: Flags, begin: int, end: int) -> bool:
    size = float(beside[np.arange(begin, end) % len(beside)].sum()) * SAMPLE_MM
    return size > max(_BESIDE_LEAST_MM, _BESIDE_SHARE * (end - begin) * SAMPLE_MM)


def _runs(flags: Flags, least: float) -> list[tuple[int, int]]:
    """Stretches longer than ``least`` mm where flags (n,) of points round a way are set, as points from and up to."""
    count = len(flags)
    if flags.all():
        return [(0, count)]
    first = int(np.flatnonzero(~flags)[0])
    turns = np.flatnonzero(np.diff(np.concatenate([[False], np.roll(flags, -first), [False]]).astype(int)))
    pairs = zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True)
    return [(a + first, b + first) for a, b in pairs if (b - a) * SAMPLE_MM > least]


def _doubt(route: Route, run: tuple[int, int], *, is_covered: bool) -> Doubt:
    points, (begin, end) = route.points, run
    ends = [points[at % len(points)] for at in (begin, end - 1)]
    length = min((end - begin) * SAMPLE_MM, float(route.ring.length))
    start, stop = ((float(x), float(y)) for x, y in ends)
    return Doubt(start, stop, length, is_covered)
