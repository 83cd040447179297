"""One size's line on a sheet of several, followed by its dash from a point on it, straight on through crossings.

The lines of the sheet are taken to small pieces, each piece linked to those that may follow it on one line. The line
that was clicked is the cheapest way once round in step with its own dash. Where another way costs nearly as little, or
where other lines lie on it so that its dash is not seen by itself, that is told with the place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from app.photo.cut_edges import Edge, Measure
from app.photo.dashes import dash_at, inkiness
from app.photo.line_doubts import Doubt, Sight, covered, doubts, own_way
from app.photo.line_elements import Elements, elements
from app.photo.line_ink import Ink, Ridges, ink_on
from app.photo.line_links import links
from app.photo.line_routes import NEAR_MM, Route, Search
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
#: So often another way is looked for where other lines lie on the line.
_LOOKED = 2
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


@dataclass(frozen=True, eq=False)
class Followed(PenOutline):
    """The outline along a line that was followed, and where it may be another's."""

    doubts: tuple[Doubt, ...]


def followed(flattened: Flattened, clicks: Sequence[Point], side: LineSide = LineSide.MIDDLE) -> Followed:
    """The outline along the closed line through the points ``clicks`` (mm), whatever other lines cross it.

    Its dash is learnt at the first point. The gaps of its dash count as not seen. Raises PatternError when there is no
    line there, or when it cannot be followed.
    """
    sight, every, search = _search(ink_on(flattened), np.array(clicks, dtype=float))
    found = search.found()
    others = [_anticlockwise(other) for other in found.others]
    route, elsewhere = own_way(sight, _anticlockwise(found.route), others), None
    for _ in range(_LOOKED):
        places, dearer = covered(sight, route)
        other = search.avoiding(found, places, dearer) if len(places) else None
        elsewhere = _anticlockwise(other) if other else None
        before, route = route, own_way(sight, route, [elsewhere] if elsewhere else [])
        if route is before:
            break
    measure, widths = pen_measure(flattened, side, within=_OWN_MM)
    own = _own(measure, sight, route, lambda: _BESIDE_MIDDLE[side] * widths[0].mm)
    outline = along_line(own, route.points, _corners(route), _LEAST_SEEN)
    if not shapely.LinearRing(outline.chain.flat[0]).is_simple:
        raise PatternError(
            "Where other lines lie close beside it the line that was followed crosses itself; click another point on "
            "it there, or set points along it by hand."
        )
    return Followed(outline, widths[0], doubts(sight, route, others, elsewhere, every))


def _search(ink: Ink, clicks: FloatArray) -> tuple[Sight, Elements, Search]:
    """How the line that was clicked is seen, the small pieces of all lines, and what looks for its way."""
    ridges = ink.ridges(_LEAST)
    off = np.hypot(*(ridges.points - clicks[0]).T)
    if not len(off) or off.min() > NEAR_MM:
        raise PatternError("There is no drawn line at the point that was clicked; click a point on the line.")
    # Specks of a grainy picture are paler than the line.
    plain = ridges.points[ridges.strength > _PLAIN_SHARE * ridges.strength[off <= NEAR_MM].max()]
    first = plain[np.hypot(*(plain - clicks[0]).T).argmin()]
    round_about = np.argsort(np.hypot(*(plain - first).T))[:_PLACES]
    black = float(np.percentile(ink.at(plain[round_about]), _DARKEST))
    strong = ridges.strength > _LEAST_SHARE * black
    every = elements(ink, Ridges(ridges.points[strong], ridges.strength[strong]), black, _SEEN_MM)
    if not len(every.points):
        raise PatternError("There is no drawn line at the point that was clicked; click a point on the line.")
    start = int(np.hypot(*(every.points - first).T).argmin())
    dash = dash_at(ink, every.points[start], every.ways[start], black)
    search = Search(every, links(ink, every, dash, black), dash, start, list(clicks[1:]))
    return Sight(ink, dash, black), every, search


def _anticlockwise(route: Route) -> Route:
    if route.ring.is_ccw:
        return route
    return Route(route.points[::-1], route.phase[::-1], route.corners, route.turns, route.cost, route.dearest)


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


def _own(measure: Measure, sight: Sight, route: Route, beside_middle: Callable[[], float]) -> Measure:
    """What measures a line where its own stroke lies with no other ink by it; where there is other ink, its own way
    is taken as it was followed, and counts less. The side that is asked for lies so far ``beside_middle`` (mm)."""
    ink, black = sight.ink, sight.black
    stroke = route.laid(sight.dash)[0] > 0.5
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
