"""Bettering an arrangement: pieces are lifted and laid anew, by their true shapes, where that saves pages."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.motions import FloatArray, Motion
from geometry.shape_cells import Grid, ShapeCells
from geometry.sheets import Sheet, SheetSettings

#: So often all pages are gone through at most.
ROUNDS = 3
#: No more cells are looked at: about twice what the sample that is hardest to lay takes with every piece askew.
MOST_CELLS = 600_000_000
#: More pages than any place touches: it is not free.
_NONE = 10**6


@dataclass(frozen=True)
class Spot:
    """Which of its turns a piece lies in, and where its box's upper left corner is (mm from the sheet's, y down)."""

    turn: int
    x: float
    y: float


Spots = Mapping[int, Spot]
Cost = tuple[int, float, float]


class Effort:
    """How far laying out goes, counted in cells that are looked at for a place and never in time, so that the same
    pieces are laid the same on every machine. Whoever waits for it overrides ``enough`` and ``better``.
    """

    def __init__(self, most: int = MOST_CELLS) -> None:
        self.most, self.spent = most, 0

    @property
    def over(self) -> bool:
        """Whether no more is looked at: what was found so far is taken."""
        return self.spent >= self.most or self.enough()

    def enough(self) -> bool:
        """Whether whoever waits wants no more to be tried."""
        return False

    def better(self, pages: int, sheet: Callable[[], Sheet]) -> None:
        """An arrangement on fewer pages than any before it, made into a sheet when it is called for."""


class Relaying:
    """Pieces (their shapes, and the turns each may lie in) on a sheet of so many pages."""

    def __init__(
        self, shapes: Sequence[shapely.Geometry], turns: Sequence[Sequence[Motion]], columns: int, rows: int,
        settings: SheetSettings, effort: Effort,
    ) -> None:
        self._effort = effort
        self._grid = Grid(settings, columns, rows)
        self._shapes, self._turns = shapes, turns
        self._cells: dict[tuple[int, int], ShapeCells] = {}
        self._order = sorted(range(len(shapes)), key=lambda index: (-float(shapely.area(shapes[index])), index))

    def with_turns(self, turns: Sequence[Sequence[Motion]]) -> Relaying:
        """The same pieces on the same sheet with more turns after those they have."""
        wider = copy(self)
        wider._turns, wider._cells = turns, dict(self._cells)
        return wider

    def cells(self, index: int, turn: int) -> ShapeCells:
        """A piece in one of its turns, made when it is first asked for."""
        key = (index, turn)
        if key not in self._cells:
            self._cells[key] = ShapeCells(self._shapes[index], self._turns[index][turn], self._grid)
        return self._cells[key]

    def cost(self, spots: Spots) -> Cost:
        """Pages used, then how large the arrangement is: the map of a compact one is easier to read."""
        ends = [self._ends(index, spot) for index, spot in spots.items()]
        wide, deep = max(end[0] for end in ends), max(end[1] for end in ends)
        return int(self._used(spots).sum()), round(max(wide, deep), 1), round(wide + deep, 1)

    def from_nothing(self) -> Spots | None:
        """All pieces laid one after another by their true shapes, largest first; None when one finds no place."""
        return self._laid(self._order, {})

    def bettered(self, spots: Spots) -> Spots:
        """Page by page, the emptiest first: what touches it is lifted and laid anew elsewhere if that saves pages."""
        best, least = dict(spots), self.cost(spots)
        for _ in range(ROUNDS):
            before = least
            for lifted in self._to_lift(best):
                if self._effort.over:
                    return best
                left = {index: spot for index, spot in best.items() if index not in lifted}
                tried = self._laid([index for index in self._order if index in lifted], left)
                if tried is not None and self.cost(tried) < least:
                    best, least = tried, self.cost(tried)
            if least == before:
                break
        return best

    def settled(self, spots: Spots) -> Spots:
        """Piece by piece, the smallest first: each where joins cross it least, on no more pages and no larger sheet."""
        best, least, none = dict(spots), self.cost(spots), np.zeros((self._grid.rows, self._grid.columns), dtype=bool)
        for index in reversed(self._order):
            crossed = int(self._used({index: best[index]}).sum())
            if crossed == 1:
                continue
            taken, used = self._without(index, best)
            found = self._best(index, taken, used, crossed=none)
            tried = best if found is None else {**best, index: found}
            if self.cost(tried) <= least and int(self._used({index: tried[index]}).sum()) < crossed:
                best, least = tried, self.cost(tried)
        return best

    def _without(self, index: int, spots: Spots) -> tuple[FloatArray, NDArray[np.bool_]]:
        """The cells that the other pieces take up, and the pages that they touch."""
        others = {other: spot for other, spot in spots.items() if other != index}
        return self._taken(others), self._used(others)

    def _taken(self, spots: Spots) -> FloatArray:
        taken = np.zeros(self._grid.size[::-1])
        for index, spot in spots.items():
            self.cells(index, spot.turn).take(taken, spot.x, spot.y)
        return taken

    def _to_lift(self, spots: Spots) -> list[tuple[int, ...]]:
        """The pieces on each page, fewest and smallest first, and each piece alone."""
        pages = {index: self._used({index: spot}) for index, spot in spots.items()}
        groups = {
            tuple(index for index in sorted(pages) if pages[index][row, column])
            for row in range(self._grid.rows) for column in range(self._grid.columns)
        }
        groups |= {(index,) for index in spots}
        area = [float(shapely.area(shape)) for shape in self._shapes]
        return sorted((group for group in groups if group), key=lambda group: (sum(area[i] for i in group), group))

    def _used(self, spots: Spots) -> NDArray[np.bool_]:
        used = np.zeros((self._grid.rows, self._grid.columns), dtype=bool)
        for index, spot in spots.items():
            self.cells(index, spot.turn).use(used, spot.x, spot.y)
        return used

    def _ends(self, index: int, spot: Spot) -> tuple[float, float]:
        size = self.cells(index, spot.turn).size
        return spot.x + size[0], spot.y + size[1]

    def _laid(self, order: Sequence[int], spots: Spots) -> dict[int, Spot] | None:
        laid, taken, used = dict(spots), self._taken(spots), self._used(spots)
        for index in order:
            found = self._best(index, taken, used)
            if found is None:
                return None
            laid[index] = found
            self.cells(index, found.turn).take(taken, found.x, found.y)
            self.cells(index, found.turn).use(used, found.x, found.y)
        return laid

    def _best(
        self, index: int, taken: FloatArray, used: NDArray[np.bool_], crossed: NDArray[np.bool_] | None = None
    ) -> Spot | None:
        """Of all free places the one that touches the fewest new pages, upright before askew, then the topmost, then
        the leftmost. With ``crossed``, a sheet of no used pages, pages touched at all are counted after new ones."""
        spectrum = np.fft.rfft2(taken > 0.5, s=self._grid.padded)
        best: tuple[tuple[int, bool, float, float, int], Spot] | None = None
        for turn in range(len(self._turns[index])):
            if self._effort.over:
                return None
            cells = self.cells(index, turn)
            for offset in cells.offsets():
                xs, ys = cells.places(offset)
                there = ~np.isnan(ys)[:, None] & ~np.isnan(xs)[None, :]
                if not there.any():
                    continue
                self._effort.spent += there.size
                fresh = cells.fresh(used, offset)
                if crossed is not None:
                    fresh = fresh * 1000 + cells.fresh(crossed, offset)
                fresh = np.where(there, fresh, _NONE)
                if best is not None and fresh.min() > best[0][0]:
                    continue
                fresh = np.where(cells.free(spectrum, offset), fresh, _NONE)
                least = int(fresh.min())
                if least == _NONE or (best is not None and least > best[0][0]):
                    continue
                row, column = (int(k) for k in np.unravel_index(int(np.argmax(fresh == least)), fresh.shape))
                x, y = float(xs[column]), float(ys[row])
                key = (least, not cells.is_quarter, round(y + cells.size[1], 3), round(x, 3), turn)
                if best is None or key < best[0]:
                    best = (key, Spot(turn, x, y))
        return best[1] if best else None
