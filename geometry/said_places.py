"""Where a place on a piece lies, as a dressmaker says it: so far from which corner along which edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometry.lines import Chain
from geometry.motions import Point

#: A place no further than this from a corner is said to be there (mm).
_AT_CORNER_MM = 5.0
#: Halfway between two corners, within this, the place is said from where the edge starts (mm).
_EVEN_MM = 0.5
#: The names of corners that have one, by the kinds of the two edges that meet there.
_CORNERS = {
    frozenset({"side", "armhole"}): "the underarm corner",
    frozenset({"underarm", "sleeve cap"}): "the underarm corner",
    frozenset({"shoulder", "armhole"}): "the shoulder tip",
    frozenset({"shoulder", "neckline"}): "the neck point",
}


@dataclass(frozen=True, eq=False)
class Along:
    """An edge as it is needed to say a place on it: its ``kind`` and ``name``, and the lines it is sewn along."""

    kind: str
    name: str
    lines: tuple[Chain, ...]

    @property
    def length(self) -> float:
        return sum(line.length for line in self.lines)


def place_words(edges: Sequence[Along], point: Point) -> str:
    """Where a point (mm) on or beside an outline lies, from the nearer end of the edge nearest to it.

    “about 40 mm from the underarm corner along the side seam”, “at the shoulder tip”; ``edges`` stand in order.
    """
    _, index, at = min(
        (round(away, 3), index, sum(before.length for before in edge.lines[:number]) + line.length_to(u))
        for index, edge in enumerate(edges)
        for number, line in enumerate(edge.lines)
        for u, away in (line.nearest(point),)
    )
    edge, rest = edges[index], edges[index].length - at
    other = edges[index - 1] if at <= rest + _EVEN_MM else edges[(index + 1) % len(edges)]
    corner = _CORNERS.get(frozenset({edge.kind, other.kind}))
    if min(at, rest) <= _AT_CORNER_MM:
        return f"at {corner or f'the corner of the {edge.name} and the {other.name}'}"
    return f"about {min(at, rest):.0f} mm from {corner or f'the {other.name}'} along the {edge.name}"
