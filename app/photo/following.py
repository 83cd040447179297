"""One size's line on a sheet of several, followed by its dash from a point on it, straight on through crossings.

The lines of the sheet are taken to small pieces, each piece linked to those that may follow it on one line. The line
that was clicked is the cheapest way once round in step with its own dash. Where another way costs nearly as little, or
where other lines lie on it so that its dash is not seen by itself, that is told with the place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.photo.cut_edges import Edge, Measure
from app.photo.dashes import SAMPLE_MM, Dash, dash_at, inkiness
from app.photo.line_elements import elements
from app.photo.line_ink import Ink, ink_on
from app.photo.line_links import links
from app.photo.line_routes import NEAR_MM, OFF_MM, Found, Route, Search
from app.photo.outlines import along_line
from app.photo.pen_lines import LineSide, PenOutline, pen_measure
from app.photo.photographs import Flattened
from app.photo.rings import resampled
from app.photo.turnings import STEP_MM
from geometry.errors import PatternError
from geometry.motions import FloatArray, Point

#: How dark the line is, is told from so many places, as what this share (per cent) of them does not pass.
_PLACES, _DARKEST = 24, 80.0
#: The least dark ridge that is looked at, at first, and as a share of the line's own.
_LEAST, _LEAST_SHARE = 0.06, 0.22
#: Round the first point, ridges this much as plain as the plainest are of lines.
_PLAIN_SHARE = 0.45
#: Directions are seen over so much to both sides (mm).
_SEEN_MM = 4.0
#: The line's own dash is seen where over so much (mm), and so many dashes, this share of its strokes is ink, and no
#: more than that of its gaps. Stretches shorter than this need not be seen (mm), nor told apart from another way.
_SURE_MM, _SURE_DASHES, _INK, _COVERED = 8.0, 1.5, 0.8, 0.45
_UNSEEN_MM, _OTHER_MM = 15.0, 4.0
#: Ink this near (mm) to the followed line is its own, where so far to both sides (mm) there is no more ink across it
#: than is usual and this (mm). This share of the line at least is measured; what lies between is bridged.
_OWN_MM, _ALONE_MM, _WIDER_MM, _LEAST_SEEN = 1.0, 2.1, 0.3, 0.1
#: How far beside a line's middle a side of it is, in its widths.
_BESIDE_MIDDLE = {LineSide.OUTSIDE: 0.5, LineSide.MIDDLE: 0.0, LineSide.INSIDE: -0.5}
#: What a place counts where there is other ink.
_BESIDE_OTHERS = 0.3
#: What turns by less than this (radians) is no corner of the outline.
_LEAST_CORNER = np.radians(24.0)
#: Between arms from so far to so far (mm) on both sides of a place, a way that turns faster than this (radians) has a
#: corner.
_ARM_MM, _FAST_TURN = (1.5, 5.0), np.radians(33.0)


@dataclass(frozen=True)
class Doubt:
    """A stretch of a followed line, from and to points in mm, of so many mm: another way is nearly as likely there, or
    (``is_covered``) other lines lie on it."""

    start: Point
    stop: Point
    length: float
    is_covered: bool


@dataclass(frozen=True, eq=False)
class Followed(PenOutline):
    """The outline along a line that was followed, and where it may be another's."""

    doubts: tuple[Doubt, ...]


def followed(flattened: Flattened, clicks: Sequence[Point], side: LineSide = LineSide.MIDDLE) -> Followed:
    """The outline along the closed line through the points ``clicks`` (mm), whatever other lines cross it.

    Its dash is learnt at the first point. The gaps of its dash count as not seen. Raises PatternError when there is no
    line there, or when it cannot be followed.
    """
    ink = ink_on(flattened)
    dash, black, found = _found(ink, np.array(clicks, dtype=float))
    route = _anticlockwise(found.route)
    measure, widths = pen_measure(flattened, side, within=_OWN_MM)
    seen = _seen(ink, dash, black, route)
    own = _own(measure, ink, black, route, dash, lambda: _BESIDE_MIDDLE[side] * widths[0].mm)
    outline = along_line(own, route.points, _corners(route), _LEAST_SEEN)
    doubts = (*_other_ways(route, found.others), *_stretches(route, ~seen, _UNSEEN_MM, is_covered=True))
    return Followed(outline, widths[0], doubts)


def _found(ink: Ink, clicks: FloatArray) -> tuple[Dash, float, Found]:
    """The dash of the line that was clicked, how dark it is, and the way it takes."""
    ridges = ink.ridges(_LEAST)
    off = np.hypot(*(ridges.points - clicks[0]).T)
    if not len(off) or off.min() > NEAR_MM:
        raise PatternError("There is no drawn line at the point that was clicked; click a point on the line.")
    # Specks of a grainy picture are paler than the line.
    plain = ridges.points[ridges.strength > _PLAIN_SHARE * ridges.strength[off <= NEAR_MM].max()]
    first = plain[np.hypot(*(plain - clicks[0]).T).argmin()]
    round_about = np.argsort(np.hypot(*(plain - first).T))[:_PLACES]
    black = float(np.percentile(ink.at(plain[round_about]), _DARKEST))
    every = elements(ink, ink.ridges(_LEAST_SHARE * black), black, _SEEN_MM)
    if not len(every.points):
        raise PatternError("There is no drawn line at the point that was clicked; click a point on the line.")
    start = int(np.hypot(*(every.points - first).T).argmin())
    dash = dash_at(ink, every.points[start], every.ways[start], black)
    search = Search(every, links(ink, every, dash, black), dash, start, list(clicks[1:]))
    return dash, black, search.found()


def _anticlockwise(route: Route) -> Route:
    if route.ring.is_ccw:
        return route
    return Route(route.points[::-1], route.phase[::-1], route.corners, route.turns, route.cost)


def _corners(route: Route) -> FloatArray:
    """The corners (k, 2) of a way: those it was known to turn, and others where it turns as fast as no curve does."""
    known = route.corners[route.turns > _LEAST_CORNER]
    points = resampled(route.points)
    near, far = (round(size / STEP_MM) for size in _ARM_MM)
    before = np.roll(points, near, axis=0) - np.roll(points, far, axis=0)
    after = np.roll(points, -far, axis=0) - np.roll(points, -near, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turns = np.abs(np.arctan2(cross, (before * after).sum(axis=1)))
    if len(known):
        turns[np.linalg.norm(points[:, None] - known[None], axis=2).min(axis=1) < _ARM_MM[1] + _ARM_MM[0]] = 0.0
    found = [known]
    while turns.max() > _FAST_TURN:
        at = int(turns.argmax())
        found.append(points[at][None])
        turns[np.hypot(*(points - points[at]).T) < _ARM_MM[1]] = 0.0
    return np.concatenate(found)


def _stroke(route: Route, dash: Dash) -> tuple[FloatArray, FloatArray]:
    """How much stroke and how much gap of the dash there is at every point of a way, 0 to 1 (n,) each."""
    strokes, gaps = dash.laid(route.phase)
    return strokes[:, 0], gaps[:, 0]


def _seen(ink: Ink, dash: Dash, black: float, route: Route) -> NDArray[np.bool_]:
    """Whether the line's own dash is seen by itself round about every point (n,) of a way."""
    ways = np.roll(route.points, -3, axis=0) - np.roll(route.points, 3, axis=0)
    ways = ways / np.maximum(np.hypot(*ways.T), 1e-9)[:, None]
    inked = inkiness(ink.along(route.points, ways), black)
    strokes, gaps = _stroke(route, dash)
    wide = round(max(_SURE_MM, _SURE_DASHES * dash.length) / SAMPLE_MM)

    def about(values: FloatArray) -> FloatArray:
        summed = np.concatenate([values[-wide // 2 :], values, values[: wide // 2 + 1]]).cumsum()
        total: FloatArray = (summed[wide:] - summed[:-wide])[: len(values)]
        return total

    whole = about(strokes * inked) > _INK * about(strokes)
    clear = about(gaps * inked) <= _COVERED * about(gaps) + 1e-6
    return np.asarray(whole & clear)


def _other_ways(route: Route, others: Sequence[Route]) -> list[Doubt]:
    """The stretches of a way where others go elsewhere."""
    off = [other.nearest(route.points)[1] for other in others]
    away = np.asarray(np.max([np.zeros(len(route.points)), *off], axis=0) > OFF_MM)
    return _stretches(route, away, _OTHER_MM, is_covered=False)


def _stretches(route: Route, flags: NDArray[np.bool_], least: float, is_covered: bool) -> list[Doubt]:
    """The stretches of a way, longer than ``least`` mm, where ``flags`` (n,) are set."""
    points, count = route.points, len(route.points)
    if flags.all():
        return [Doubt(_point(points[0]), _point(points[-1]), float(route.ring.length), is_covered)]
    begin = int(np.flatnonzero(~flags)[0])
    turned = np.roll(flags, -begin)
    turns = np.flatnonzero(np.diff(np.concatenate([[False], turned, [False]]).astype(int)))
    return [
        Doubt(_point(points[(a + begin) % count]), _point(points[(b - 1 + begin) % count]), size, is_covered)
        for a, b in zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True)
        if (size := (b - a) * SAMPLE_MM) > least
    ]


def _own(
    measure: Measure, ink: Ink, black: float, route: Route, dash: Dash, beside_middle: Callable[[], float]
) -> Measure:
    """What measures a line where its own stroke lies with no other ink by it; where there is other ink, its own way
    is taken as it was followed, and counts less. The side that is asked for lies so far ``beside_middle`` (mm)."""
    stroke = _stroke(route, dash)[0] > 0.5
    across = np.arange(-_ALONE_MM, _ALONE_MM + 0.01, ink.pixel_mm / 2)

    def measured(points: FloatArray, ways: FloatArray, reach: float) -> Edge:
        edge = measure(points, ways, reach)
        at, _ = route.nearest(points)
        off = ((route.points[at] - points) * ways).sum(axis=1) + beside_middle()
        inky = inkiness(ink.at(edge.points[:, None] + across[:, None] * ways[:, None]), black) > 0.5
        wide = inky.sum(axis=1) * ink.pixel_mm / 2
        good = (edge.weights > 0) & stroke[at]
        if good.any():
            good &= wide < np.median(wide[good]) + _WIDER_MM
        places = np.where(good[:, None], edge.points, points + off[:, None] * ways)
        return Edge(places, np.where(good, edge.weights, np.where(stroke[at], _BESIDE_OTHERS, 0.0)))

    return measured


def _point(row: FloatArray) -> Point:
    return float(row[0]), float(row[1])
