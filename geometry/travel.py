"""In which order and from which end a pen draws lines, so that it travels little while it is lifted.

A greedy walk to the nearest end, bettered by turning stretches of the walk round (2-opt, G. A. Croes 1958) until
nothing is gained. A closed line may be entered at any of its points; it is left where it was entered.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.motions import FloatArray, Point

#: Ends this close are one place for a pen: it is not lifted between them (mm).
SAME_PLACE_MM = 0.0125
#: Longer walks are only bettered inside a window of so many lines; a whole look at them all would take long.
WINDOW = 400
#: So many rounds of betterment at most.
ROUNDS = 12


@dataclass(frozen=True, eq=False)
class Drawn:
    """One line as it is drawn: the points (n, 2) in mm in the order the pen meets them, and which line it was."""

    points: FloatArray
    index: int


def ordered(lines: Sequence[tuple[FloatArray, bool]], start: Point = (0.0, 0.0)) -> list[Drawn]:
    """The lines, (points (n, 2) in mm, closed) each, in an order with little lifted travel from ``start``.

    The points of a closed line do not repeat the first at the end; drawn, they do.
    """
    walk = _nearest_first(lines, start)
    return _bettered(walk, start)


def lifted_mm(walk: Sequence[Drawn], start: Point = (0.0, 0.0)) -> float:
    """How far the pen travels lifted (mm), from ``start`` to the last line."""
    return sum(_gaps(walk, start))


def lifts(walk: Sequence[Drawn], start: Point = (0.0, 0.0)) -> int:
    """How often the pen is lifted: ends closer than SAME_PLACE_MM are drawn on without a lift."""
    return sum(gap > SAME_PLACE_MM for gap in _gaps(walk, start))


def _gaps(walk: Sequence[Drawn], start: Point) -> list[float]:
    at, gaps = start, []
    for one in walk:
        gaps.append(math.dist(at, one.points[0].tolist()))
        at = (float(one.points[-1, 0]), float(one.points[-1, 1]))
    return gaps


def _nearest_first(lines: Sequence[tuple[FloatArray, bool]], start: Point) -> list[Drawn]:
    """Always on to the nearest end of an open line or the nearest point of a closed one."""
    starts = [points if closed else points[[0, -1]] for points, closed in lines]
    every = np.concatenate(starts) if starts else np.zeros((0, 2))
    owner = np.repeat(np.arange(len(lines)), [len(points) for points in starts])
    first = np.concatenate([[0], np.cumsum([len(points) for points in starts])]).astype(int)
    left = np.ones(len(every), dtype=bool)
    walk: list[Drawn] = []
    at = np.array(start)
    for _ in lines:
        far = np.where(left, np.hypot(*(every - at).T), np.inf)
        place = int(np.argmin(far))
        index = int(owner[place])
        points, closed = lines[index]
        entry = place - int(first[index])
        left[first[index] : first[index + 1]] = False
        walk.append(Drawn(_from(points, entry) if closed else points[:: -1 if entry else 1], index))
        at = walk[-1].points[-1]
    return walk


def _from(ring: FloatArray, entry: int) -> FloatArray:
    """A closed line from one of its points round to that point again."""
    return np.concatenate([ring[entry:], ring[: entry + 1]])


def _bettered(walk: list[Drawn], start: Point) -> list[Drawn]:
    """Stretches of the walk turned round as long as that shortens the lifted travel."""
    for _ in range(ROUNDS):
        if not _one_round(walk, start):
            break
    return walk


def _one_round(walk: list[Drawn], start: Point) -> bool:
    heads = np.array([one.points[0] for one in walk]).reshape(-1, 2)
    tails = np.array([one.points[-1] for one in walk]).reshape(-1, 2)
    gained = False
    for i in range(len(walk)):
        came = np.array(start) if i == 0 else tails[i - 1]
        stop = min(len(walk), i + WINDOW)
        # Turning walk[i..j] round: came -> tail of j, head of i -> head of j + 1 (nothing follows the last).
        nexts = np.concatenate([heads[i + 1 : stop], heads[stop : stop + 1]])
        old = np.zeros(stop - i)
        new = np.zeros(stop - i)
        old[: len(nexts)] = np.hypot(*(nexts - tails[i : i + len(nexts)]).T)
        new[: len(nexts)] = np.hypot(*(nexts - heads[i]).T)
        gain = np.hypot(*(heads[i] - came)) + old - np.hypot(*(tails[i:stop] - came).T) - new
        best = int(np.argmax(gain))
        if gain[best] > 1e-6:
            j = i + best + 1
            walk[i:j] = [Drawn(one.points[::-1], one.index) for one in reversed(walk[i:j])]
            heads[i:j], tails[i:j] = tails[i:j][::-1].copy(), heads[i:j][::-1].copy()
            gained = True
    return gained
