"""Where words can stand on a page without lying on a line."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice

import numpy as np
import shapely

from geometry.drawing import Box, Words

#: Words keep this far from every line and from each other (mm).
CLOSE_MM = 1.0
#: So many candidates are looked at together, at first and at most.
FIRST_TRIED, MOST_TRIED = 8, 64


class ClearPlaces:
    """The free paper of a box (mm) among shapes; words that were given a place take it up."""

    def __init__(self, within: Box, shapes: Iterable[shapely.Geometry]) -> None:
        self._low, self._high = np.array(within[:2]), np.array(within[2:])
        self._fixed = shapely.STRtree(list(shapes))
        self._taken: list[shapely.Geometry] = []

    def take(self, words: Words) -> None:
        """Take up the place of words that stand where they must."""
        self._taken.append(shapely.Polygon(words.box()))

    def first(self, candidates: Iterable[Words], clear: float = CLOSE_MM) -> Words | None:
        """The first of the candidates that stands free with ``clear`` mm all round, or None."""
        found = self.first_rows(((words,) for words in candidates), clear)
        return found[0] if found else None

    def first_rows(self, candidates: Iterable[tuple[Words, ...]], clear: float = CLOSE_MM) -> tuple[Words, ...]:
        """The first of the candidates whose rows, as many in each, all stand free; () where there is none."""
        left, count = iter(candidates), FIRST_TRIED
        while together := list(islice(left, count)):
            corners = np.array([[words.box(clear) for words in rows] for rows in together])
            boxes = np.asarray(shapely.polygons(corners))
            inside = (corners >= self._low) & (corners <= self._high)
            free = np.asarray(inside.reshape(len(inside), -1).all(axis=1))
            free[self._fixed.query(boxes.ravel(), predicate="intersects")[0] // boxes.shape[1]] = False
            if self._taken:
                free &= ~shapely.intersects(boxes[..., None], np.array(self._taken)).any(axis=(1, 2))
            if free.any():
                best = int(np.argmax(free))
                self._taken += list(boxes[best])
                return together[best]
            count = min(2 * count, MOST_TRIED)
        return ()
