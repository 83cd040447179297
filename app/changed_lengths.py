"""Which edges of a piece became longer or shorter, and how that is said beside the piece."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from geometry.pieces import Piece

#: Changes smaller than this are not called out (mm).
LEAST_SAID_MM = 0.5


@dataclass(frozen=True)
class ChangedLength:
    """An edge and its sewn length as traced and as redrawn (mm); ``half`` is true where the edge meets the fold."""

    edge: str
    name: str
    was: float
    now: float
    half: bool

    def words(self, units: str, opened: bool = False) -> str:
        """As in “side seam 39.9 cm (was 42.4)”; ``opened`` counts an edge that crosses the fold whole."""
        times = 2 if self.half and opened else 1
        half = "half " if self.half and not opened else ""
        now, was = said_alike(self.now * times, self.was * times, units)
        return f"{half}{self.name} {now} {units} (was {was})"


def changed_lengths(traced: Piece, redrawn: Piece, least: float = LEAST_SAID_MM) -> tuple[ChangedLength, ...]:
    """The edges, in outline order, whose length changed by at least ``least`` mm."""
    old = {edge.id: edge for edge in traced.edges}
    found = []
    for index, edge in enumerate(redrawn.edges):
        if edge.id in old and abs(edge.length - old[edge.id].length) >= least:
            beside = (redrawn.edges[index - 1], redrawn.edges[(index + 1) % len(redrawn.edges)])
            half = any(other.on_fold for other in beside)
            found.append(ChangedLength(edge.id, edge.name, old[edge.id].length, edge.length, half))
    return tuple(found)


def said_alike(now: float, was: float, units: str) -> tuple[str, str]:
    """Two lengths (mm) in cm or in, to a tenth of a cm or 1/16 in; finer where they differ by less than that."""
    apart = abs(now - was)
    if units == "in":
        parts = next((parts for parts in (16, 32) if apart >= 25.4 / parts), 64)
        return _mixed(now, parts), _mixed(was, parts)
    places = 1 if apart >= 1.0 else 2
    return f"{now / 10:.{places}f}", f"{was / 10:.{places}f}"


def _mixed(mm: float, parts: int) -> str:
    whole, rest = divmod(Fraction(round(mm / 25.4 * parts), parts), 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)
