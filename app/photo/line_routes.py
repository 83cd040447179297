"""The way of one line once round a sheet, through the places that were clicked, and how near any other way comes to it.

The outline goes round something: a point is taken a little to one side of the line, and only ways round that point are
looked at, so that a way there and back along the same line is none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise, product

import numpy as np
import shapely
from numpy.typing import NDArray

from app.photo.cheapest_rings import Costs, Net, came_in, net, slipped, spread, traced_back
from app.photo.dashes import SAMPLE_MM, Dash
from app.photo.line_elements import Elements
from app.photo.line_links import Ints, Links
from app.photo.regions import LEAST_MM2
from geometry.errors import PatternError
from geometry.motions import FloatArray

#: The point that the line goes round lies so far to its left or right (mm); the nearer ones for narrow pieces.
_BESIDE_MM = (24.0, 9.0)
#: Other ways are known that cost no more than this above the cheapest.
MORE_COSTS = 4.0
#: The way to a place that was clicked may come to it from the other side, or after it has gone round: that costs no
#: more than this above the cheapest way there.
_DEARER_COSTS = 60.0
#: Where no way passes the start, it is moved so far along its line (mm), to an element turned no further (cosine).
_ALONG_MM, _ALONG_COS = 5.0, 0.95
#: A place that is clicked lies so far off its line at most (mm). Any element that lies no more than so much (mm)
#: further off than the nearest one may be meant; a mm further costs so much.
NEAR_MM, _CLICKED_MM, _OFF_COSTS = 4.0, 1.5, 3.0
#: Another way is another where it is so far off (mm); no more than so many are told.
OFF_MM, _MOST_OTHERS = 1.0, 4
#: A way in no wider than this on the whole (mm) goes round no piece.
_NARROWEST_MM = 6.0


@dataclass(frozen=True, eq=False)
class Route:
    """A way once round: points (n, 2) every SAMPLE_MM or so, how far the dash has come at each (n,) in mm; the
    corners (k, 2) and by how many radians each turns (k,); what it costs in all, and the dearest of its corners."""

    points: FloatArray
    phase: FloatArray
    corners: FloatArray
    turns: FloatArray
    cost: float
    dearest: float

    def laid(self, dash: Dash) -> tuple[FloatArray, FloatArray]:
        """How much stroke and how much gap of the dash there is at every point, 0 to 1 (n,) each."""
        strokes, gaps = dash.laid(self.phase)
        return strokes[:, 0], gaps[:, 0]

    @cached_property
    def ring(self) -> shapely.LinearRing:
        return shapely.LinearRing(self.points)

    @cached_property
    def _tree(self) -> shapely.STRtree:
        return shapely.STRtree(np.asarray(shapely.points(self.points)))

    def nearest(self, places: FloatArray) -> tuple[Ints, FloatArray]:
        """The nearest point of the way to each of the places (m, 2), and how far off it is (m,) in mm."""
        (_, at), off = self._tree.query_nearest(shapely.points(places), return_distance=True, all_matches=False)
        return at, off


@dataclass(frozen=True, eq=False)
class Found:
    """The cheapest way, others that cost nearly as little, and the tour among which it was found."""

    route: Route
    others: tuple[Route, ...]
    tour: _Tour


@dataclass(frozen=True, eq=False)
class _Tour:
    """All ways from the start round one side, through stops in order, to the goal, which is the start again."""

    there: Net
    back: Net
    start: int
    goal: int
    stops: list[_Stop]

    def forward(self, most: float) -> tuple[list[dict[int, Costs]], list[Costs]]:
        """Where each leg begins and what each of its states costs; nothing if the goal costs more than ``most``."""
        nothing = np.zeros(self.there.phases, np.float32)
        begins, reached = _run(self.there, {self.start: nothing}, [*self.stops, _only(self.goal)], most)
        return (begins, reached) if reached and reached[-1][self.goal].min() < most else ([], [])

    def backward(self, most: float) -> tuple[list[dict[int, Costs]], list[Costs]]:
        """The same from the goal back to the start."""
        nothing = np.zeros(self.there.phases, np.float32)
        return _run(self.back, {self.goal: nothing}, [*self.stops[::-1], _only(self.start)], most, math.inf)


class Search:
    """The ways round through places that were clicked: ``start`` is the element there that the line runs along."""

    def __init__(self, every: Elements, links: Links, dash: Dash, start: int, through: Sequence[FloatArray]) -> None:
        self._every, self._links, self._dash, self._start = every, links, dash, start
        self._stops = [self._at(place, number) for number, place in enumerate(through, 2)]

    def avoiding(self, found: Found, places: FloatArray, dearer: FloatArray) -> Route | None:
        """The cheapest way of the same tour when a mm of way near places (m, 2) in mm, SAMPLE_MM apart, costs so much
        (m,) more."""
        tree = shapely.STRtree(np.asarray(shapely.points(self._every.points)))
        which, near = tree.query(shapely.points(places), predicate="dwithin", distance=OFF_MM)
        most = np.zeros(len(self._every.points))
        np.maximum.at(most, near, dearer[which])
        both = np.minimum(most[self._links.start], most[self._links.stop])
        more = (both * self._links.length).astype(np.float32)[:, None]
        there, back = (replace(one, table=one.table + more) for one in (found.tour.there, found.tour.back))
        tour = replace(found.tour, there=there, back=back)
        begins, reached = tour.forward(found.route.cost + 2 * SAMPLE_MM * float(dearer.sum()) + MORE_COSTS)
        return self._cheapest(tour, begins, reached) if reached else None

    def _at(self, place: FloatArray, number: int) -> _Stop:
        """The elements at a place that was clicked, whichever way they run, and what it costs to lie off it."""
        off = np.hypot(*(self._every.points - place).T)
        if off.min() > NEAR_MM:
            raise PatternError(
                f"There is no drawn line at point {number} of those that were clicked; click a point on the line."
            )
        near = np.flatnonzero(off < off.min() + _CLICKED_MM)
        return _Stop(near, (_OFF_COSTS * (off[near] - off.min())).astype(np.float32))

    def found(self) -> Found:
        """The cheapest way round. Raises PatternError when there is none."""
        for start, beside in product((self._start, *self._along()), _BESIDE_MM):
            every: list[Found] = []
            for side in (beside, -beside):
                for order in (self._stops, self._stops[::-1])[: 1 + (len(self._stops) > 1)]:
                    known = min((one.route.cost for one in every), default=math.inf)
                    every += self._once_round(start, side, order, known + MORE_COSTS)
            if every:
                every.sort(key=lambda one: one.route.cost)
                best = every[0]
                others = [one.route for one in every[1:]] + list(best.others)
                near = [one for one in others if one.cost < best.route.cost + MORE_COSTS]
                return Found(best.route, tuple(near), best.tour)
        if self._stops:
            raise PatternError(
                "No way once round the sheet runs through all the points that were clicked; take back the last one and "
                "click the same line where it runs alone, a cm or two from there, or set points along it by hand."
            )
        raise PatternError(
            "The line could not be followed back to where it begins; click another point on it, or set points along it "
            "by hand."
        )

    def _along(self) -> list[int]:
        """Elements a little further along the line and back, for a start on a corner's tip, which no way passes."""
        place, way = self._every.points[self._start], self._every.ways[self._start]
        found = []
        for ahead in (_ALONG_MM, -_ALONG_MM):
            off = np.hypot(*(self._every.points - place - ahead * way).T)
            at = int(np.where(self._every.ways @ way > _ALONG_COS, off, np.inf).argmin())
            if off[at] < _CLICKED_MM:
                found.append(at)
        return found

    def _once_round(self, start: int, beside: float, stops: Sequence[_Stop], most: float) -> list[Found]:
        """The cheapest way round a point so far to the left of the start (mm), through the stops in order; none where
        it costs more than ``most``."""
        count = len(self._every.points)
        way = self._every.ways[start]
        middle = self._every.points[start] + beside * np.array([-way[1], way[0]])
        both = [_Stop(np.concatenate([one.at, one.at + count]), np.tile(one.costs, 2)) for one in stops]
        tour = _Tour(*net(self._links, self._dash, count, self._crossing(middle)), start, start + count, both)
        begins, forward = tour.forward(most)
        if not forward:
            return []
        ends, backward = tour.backward(min(most, float(forward[-1][tour.goal].min()) + MORE_COSTS))
        route = self._cheapest(tour, begins, forward) if backward else None
        if route is None:
            return []
        legs = _Legs(tour.there, tour.back, begins, ends[::-1], forward, backward[::-1])
        least = legs.through().reshape(2, count).min(axis=0)
        return [Found(route, self._others(legs, route, least), tour)]

    def _cheapest(self, tour: _Tour, begins: list[dict[int, Costs]], forward: list[Costs]) -> Route | None:
        """The cheapest way of a tour; none where it goes round no piece."""
        least = forward[-1][tour.goal]
        legs = _Legs(tour.there, tour.back, begins, [], forward, [])
        route = self._route(legs.to(len(forward) - 1, tour.goal, int(least.argmin())), float(least.min()))
        area = shapely.Polygon(route.points).area
        return None if area < LEAST_MM2 or 2 * area < _NARROWEST_MM * route.ring.length else route

    def _others(self, legs: _Legs, route: Route, least: FloatArray) -> tuple[Route, ...]:
        """Other ways round, each the cheapest that passes a place where none of those before it comes."""
        places = self._every.points
        away = (least < route.cost + MORE_COSTS) & (route.nearest(places)[1] > OFF_MM)
        found: list[Route] = []
        while away.any() and len(found) < _MOST_OTHERS:
            at = np.flatnonzero(away)[int(least[away].argmin())]
            other = self._route(legs.round_by(int(at), len(self._every.points)), float(least[at]))
            found.append(other)
            away &= other.nearest(places)[1] > OFF_MM
            away[at] = False
        return tuple(found)

    def _crossing(self, middle: FloatArray) -> NDArray[np.bool_]:
        """Which links (n,) cross the ray from a point to the right."""
        one, two = self._every.points[self._links.start], self._every.points[self._links.stop]
        return _crosses(one, self._links.corner, middle) ^ _crosses(self._links.corner, two, middle)

    def _route(self, steps: list[tuple[int, int]], cost: float) -> Route:
        """The way of some links, each with the phase in which it begins."""
        links, every = self._links, self._every
        points, gone, corners, turns = [], [], [], []
        dearest = 0.0
        beyond = self._dash.into_phase(links.gone)
        for link, phase in steps:
            link %= len(links.start)
            begin, end, corner = every.points[links.start[link]], every.points[links.stop[link]], links.corner[link]
            legs = [begin, corner, end]
            sizes = [float(np.hypot(*(b - a))) for a, b in pairwise(legs)]
            along = np.arange(0.0, sum(sizes), SAMPLE_MM)
            legs_gone = [0.0, sizes[0], sum(sizes)]
            points.append(np.stack([np.interp(along, legs_gone, [leg[k] for leg in legs]) for k in (0, 1)], axis=1))
            gone.append(phase * self._dash.phase_mm + beyond[links.start[link]] + along)
            if links.is_corner[link]:
                corners.append(corner)
                dearest = max(dearest, float(links.costs[link, phase]))
                first, last = every.ways[links.start[link]], every.ways[links.stop[link]]
                turns.append(abs(float(np.arctan2(first[0] * last[1] - first[1] * last[0], first @ last))))
        return Route(
            np.concatenate(points),
            np.concatenate(gone),
            np.array(corners).reshape(-1, 2),
            np.array(turns),
            cost,
            dearest,
        )


@dataclass(frozen=True, eq=False)
class _Stop:
    """Elements (n,) of which a way passes one, and what each costs more (n,)."""

    at: Ints
    costs: Costs


def _only(element: int) -> _Stop:
    return _Stop(np.array([element]), np.zeros(1, np.float32))


def _run(
    way: Net, begin: dict[int, Costs], stops: Sequence[_Stop], most: float, dearer: float = _DEARER_COSTS
) -> tuple[list[dict[int, Costs]], list[Costs]]:
    """Where each leg from stop to stop begins, and what each of its states costs; nothing if a stop is not reached."""
    begins, reached = [begin], []
    for stop in stops:
        more = MORE_COSTS if stop is stops[-1] else dearer
        reached.append(spread(way, begins[-1], stop.at, more, most))
        rows = slipped(reached[-1][stop.at]) + stop.costs[:, None]
        begins.append({int(one): row for one, row in zip(stop.at, rows, strict=True) if np.isfinite(row).any()})
        if not begins[-1]:
            return [], []
    return begins[:-1], reached


@dataclass(frozen=True, eq=False)
class _Legs:
    """The legs of a way from stop to stop: where each begins and ends, and what it costs to reach every state of each
    leg from the beginning of all, and the end of all from there."""

    there: Net
    back: Net
    begins: list[dict[int, Costs]]
    ends: list[dict[int, Costs]]
    forward: list[Costs]
    backward: list[Costs]

    def to(self, leg: int, element: int, phase: int) -> list[tuple[int, int]]:
        """The links from the very beginning to an element in a state of a leg, each with the state it begins in."""
        steps: list[tuple[int, int]] = []
        for at in range(leg, -1, -1):
            found, element, phase = traced_back(self.back, self.forward[at], self.begins[at], element, phase)
            steps = [(one.link, one.before) for one in found] + steps
            if at:
                phase = came_in(self.forward[at - 1][element], phase)
        return steps

    def on_from(self, leg: int, element: int, phase: int) -> list[tuple[int, int]]:
        """The links from an element in a state of a leg to the very end, each with the state it begins in."""
        steps: list[tuple[int, int]] = []
        for at in range(leg, len(self.backward)):
            found, element, phase = traced_back(self.there, self.backward[at], self.ends[at], element, phase)
            steps += [(one.link, one.after) for one in found[::-1]]
            if at + 1 < len(self.backward):
                phase = came_in(self.backward[at + 1][element], phase)
        return steps

    def through(self) -> FloatArray:
        """What the cheapest way costs through every element (n,), whatever its state there."""
        whole = [(slipped(one) + two).min(axis=1) for one, two in zip(self.forward, self.backward, strict=True)]
        least: FloatArray = np.min(whole, axis=0).astype(np.float64)
        return least

    def round_by(self, element: int, count: int) -> list[tuple[int, int]]:
        """The links of the cheapest way through an element (or what it is after a crossing of the cut)."""
        every = []
        for leg, (one, two) in enumerate(zip(self.forward, self.backward, strict=True)):
            for at in (element, element + count):
                whole = slipped(one[at][None])[0] + two[at]
                every.append((float(whole.min()), leg, at, int(whole.argmin())))
        _, leg, at, phase = min(every)
        return self.to(leg, at, came_in(self.forward[leg][at], phase)) + self.on_from(leg, at, phase)


def _crosses(one: FloatArray, two: FloatArray, middle: FloatArray) -> NDArray[np.bool_]:
    """Which stretches from points (n, 2) to points (n, 2) cross the ray from a point to the right."""
    over = (one[:, 1] > middle[1]) != (two[:, 1] > middle[1])
    share = (middle[1] - one[:, 1]) / np.where(over, two[:, 1] - one[:, 1], 1.0)
    crosses: NDArray[np.bool_] = over & (one[:, 0] + share * (two[:, 0] - one[:, 0]) > middle[0])
    return crosses
