"""The cheapest way once round through links between small pieces of lines, in step with the line's dash all the way.

A state is an element and a phase of the dash there. The way is the cheapest of all, not the best step after step
(Dijkstra 1959, done in bands of cost as by Meyer and Sanders 2003, all phases of an element at once). How much any
other way costs that passes elsewhere follows from the ways there and back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.photo.dashes import Dash
from app.photo.line_links import Ints, Links

Costs = NDArray[np.float32]

#: What it costs that the dash slips by a phase, and that it begins anew, as it does where the drawing began.
_SLIP_COSTS, _ANEW_COSTS = 0.2, 2.5
#: States are settled in bands of so much cost.
_BAND = 1.0
#: A change below this is none.
_LEAST = 1e-5


@dataclass(frozen=True, eq=False)
class Net:
    """Links sorted by the element they run from; ``first`` (elements + 1,) says where each one's begin.

    Their costs stand in rows of ``table`` (links, phases) in the order they were given, ``row`` (n,) says which.
    """

    start: Ints
    stop: Ints
    shift: Ints
    table: Costs
    row: Ints
    first: Ints
    order: Ints

    @property
    def phases(self) -> int:
        return self.table.shape[1]

    def costs(self, links: Ints) -> Costs:
        """What some links (n,) cost from every phase (n, phases)."""
        found: Costs = self.table[self.row[links]]
        return found

    def out_of(self, elements: Ints) -> Ints:
        """The links (n,) that run from some elements."""
        counts = self.first[elements + 1] - self.first[elements]
        begins = np.repeat(self.first[elements] - np.concatenate([[0], counts.cumsum()[:-1]]), counts)
        return np.arange(int(counts.sum())) + begins


def net(links: Links, dash: Dash, count: int, crosses: NDArray[np.bool_]) -> tuple[Net, Net]:
    """The links of ``count`` elements, and the same run through backwards (their costs by the phase they end in).

    Every element is there twice, reached by an even and by an odd number of links that cross a cut (n,): the second is
    numbered ``count`` higher.
    """
    phases = dash.phases
    shift = _phases_on(links, dash) % phases
    back = np.empty_like(links.costs)
    for one in dict.fromkeys(shift.tolist()):
        mine = np.flatnonzero(shift == one)
        back[mine] = links.costs[np.ix_(mine, _moved(np.array([-one]), links.costs.shape[1])[0])]
    start = np.concatenate([links.start, links.start + count])
    stop = np.concatenate([links.stop + count * crosses, links.stop + count * ~crosses])
    shift = np.tile(shift, 2)
    return (
        _sorted(start, stop, shift, links.costs, 2 * count),
        _sorted(stop, start, (-shift) % phases, back, 2 * count),
    )


def _phases_on(links: Links, dash: Dash) -> Ints:
    """By how many phases the dash comes on over each link (n,): what is rounded off at an element's own place does not
    add up over a line's many links."""
    if dash.is_full:
        return np.zeros(len(links.start), np.intp)
    at = np.round(links.gone / dash.phase_mm)
    on = at[links.stop] - at[links.start]
    left = (links.length - links.gone[links.stop] + links.gone[links.start]) / dash.phase_mm
    return np.asarray(on + np.round(left), np.intp)


def _sorted(start: Ints, stop: Ints, shift: Ints, table: Costs, count: int) -> Net:
    order = np.argsort(start, kind="stable")
    first = np.searchsorted(start[order], np.arange(count + 1))
    return Net(start[order], stop[order], shift[order], table, order % len(table), first, order)


def _moved(shift: Ints, phases: int) -> Ints:
    """Which of the phases is so many (n,) on from each (n, phases)."""
    on: Ints = (np.arange(phases)[None] + shift[:, None]) % phases
    return on


def slipped(costs: Costs) -> Costs:
    """What states (n, phases) cost when the dash may slip a phase there, or begin anew."""
    if costs.shape[1] == 1:
        return costs
    beside = np.minimum(np.roll(costs, 1, axis=1), np.roll(costs, -1, axis=1)) + np.float32(_SLIP_COSTS)
    anew = costs.min(axis=1, keepdims=True) + np.float32(_ANEW_COSTS)
    least: Costs = np.minimum(np.minimum(costs, beside), anew)
    return least


def spread(way: Net, begin: dict[int, Costs], until: Ints, more: float, most: float) -> Costs:
    """What it costs at least to reach every element in every phase (elements, phases), from the elements of ``begin``
    at their own costs (phases,).

    Stops when everything is known up to ``most``, or to ``more`` above reaching one of ``until``. What it costs to come
    back to an element of ``begin`` is told of those too.
    """
    shape = len(way.first) - 1, way.phases
    reached = np.full(shape, np.inf, np.float32)
    left = np.full(shape, np.inf, np.float32)
    waiting = np.zeros(shape[0], bool)
    for element, costs in begin.items():
        left[element] = costs
        waiting[element] = True
    begun = np.zeros(shape[0], bool)
    begun[list(begin)] = True
    limit = min(float(costs.min()) for costs in begin.values()) + _BAND
    while waiting.any():
        at = np.flatnonzero(waiting)
        least = left[at].min(axis=1)
        now = at[least <= limit]
        if not len(now):
            if limit > min(float(reached[until].min()) + more, most):
                break
            limit = max(limit, float(least.min())) + _BAND
            continue
        waiting[now] = False
        links = way.out_of(now)
        if not len(links):
            continue
        targets, costs = _relaxed(way, links, left)
        better = (costs < reached[targets] - _LEAST).any(axis=1)
        targets, costs = targets[better], costs[better]
        reached[targets] = np.minimum(reached[targets], costs)
        left[targets] = slipped(reached[targets])
        for again in targets[begun[targets]].tolist():
            left[again] = np.minimum(left[again], begin[again])
        waiting[targets] = True
    return reached


def _relaxed(way: Net, links: Ints, left: Costs) -> tuple[Ints, Costs]:
    """The elements (m,) that some links end in, each once, and what it costs to come there by them (m, phases)."""
    order = np.argsort(way.stop[links], kind="stable")
    links = links[order]
    whole = left[way.start[links]] + way.costs(links)
    if left.shape[1] > 1:
        whole = np.take_along_axis(whole, _moved(-way.shift[links], left.shape[1]), axis=1)
    stops = way.stop[links]
    heads = np.flatnonzero(np.concatenate([[True], np.diff(stops) != 0]))
    return stops[heads], np.minimum.reduceat(whole, heads, axis=0)


@dataclass(frozen=True)
class Step:
    """One link of a way, numbered as it was given, and the phases it begins and ends in."""

    link: int
    before: int
    after: int


def traced_back(
    backward: Net, reached: Costs, begin: dict[int, Costs], element: int, phase: int
) -> tuple[list[Step], int, int]:
    """The cheapest way to an element in a phase, in order, and the element of ``begin`` and the phase it begins in."""
    found: list[Step] = []
    while len(found) < reached.size:
        into = backward.out_of(np.array([element]))
        came = backward.stop[into]
        before = _moved(backward.shift[into], reached.shape[1])[:, phase]
        rows = slipped(reached[came])
        begun = [row for row, one in enumerate(came.tolist()) if one in begin]
        for row in begun:
            rows[row] = np.minimum(rows[row], begin[int(came[row])])
        at = int((rows[np.arange(len(into)), before] + backward.costs(into)[:, phase]).argmin())
        found.append(Step(int(backward.order[into[at]]), int(before[at]), phase))
        element, phase = int(came[at]), int(before[at])
        if element in begin and begin[element][phase] <= slipped(reached[element][None])[0, phase]:
            return found[::-1], element, phase
        phase = came_in(reached[element], phase)
    raise AssertionError("no way back")


def came_in(reached: Costs, phase: int) -> int:
    """The phase in which an element was reached (phases,) that is left in another."""
    single = np.full((len(reached), len(reached)), np.inf, np.float32)
    np.fill_diagonal(single, 0.0)
    return int((reached + slipped(single)[:, phase]).argmin())
