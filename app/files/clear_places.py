"""Where words can stand on a page without lying on a line."""

from __future__ import annotations

from collections.abc import Iterable

import shapely

from geometry.drawing import Box, Words

#: Words keep this far from every line and from each other (mm).
CLOSE_MM = 1.0


class ClearPlaces:
    """The free paper of a box (mm) among shapes; words that were given a place take it up."""

    def __init__(self, within: Box, shapes: Iterable[shapely.Geometry]) -> None:
        self._within = shapely.box(*within)
        self._fixed = shapely.STRtree(list(shapes))
        self._taken: list[shapely.Geometry] = []

    def take(self, words: Words) -> None:
        """Take up the place of words that stand where they must."""
        self._taken.append(shapely.Polygon(words.box()))

    def first(self, candidates: Iterable[Words], clear: float = CLOSE_MM) -> Words | None:
        """The first of the candidates that stands free with ``clear`` mm all round, or None."""
        for words in candidates:
            box = shapely.Polygon(words.box(clear))
            if not self._within.contains(box) or any(box.intersects(other) for other in self._taken):
                continue
            if not len(self._fixed.query(box, predicate="intersects")):
                self._taken.append(box)
                return words
        return None
