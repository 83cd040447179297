"""A piece in another size with all that sizes share: the picked size's names and ids, its own lines and places.

A mark that the other size lacks is set at the same share of its edge, or of the piece; one that only the other size
has is left out. Both are told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from app.tracing.matching import box_of, carried
from geometry.errors import PatternError
from geometry.lines import Chain, straight
from geometry.motions import Point, slide
from geometry.pieces import Edge, Line, Mark, Notch, Piece, Place, RunKind

#: Marks of two sizes are one when they are off by no more than this share of the edge or the piece.
_ALIKE = 0.2
#: A line ends on an edge when its end lies this near (mm).
_ON_EDGE_MM = 1.0
_T = TypeVar("_T", Notch, Mark, Line)
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Lacks:
    """The names of what the picked size has and another lacks, and of what only the other has."""

    lacks: tuple[str, ...] = ()
    besides: tuple[str, ...] = ()


def as_in(picked: Piece, other: Piece) -> tuple[Piece, Lacks]:
    """A piece as drawn in another size, sharing everything with the picked size but its lines; and what it lacked.

    Raises PatternError where an edge is not drawn in as many lines, which only darts can bring about.
    """
    edges = tuple(_edge(mine, its) for mine, its in zip(picked.edges, other.edges, strict=True))
    notches, no_notches, more_notches = _paired(picked.notches, other.notches, lambda a, b: _apart(picked, a, other, b))
    made = replace(picked, edges=edges, notches=(), marks=(), lines=(), size=other.size)
    ours, theirs = (box_of([edge.chain for edge in one.edges]) for one in (picked, made))

    def between(one: Point, its: Point) -> float:
        x, y = carried(ours, theirs, one)
        wide, high = theirs[2] - theirs[0], theirs[3] - theirs[1]
        return max(abs(x - its[0]) / max(wide, 1e-9), abs(y - its[1]) / max(high, 1e-9))

    marks, no_marks, more_marks = _paired(
        picked.marks, other.marks, lambda a, b: between(a.point, b.point) if a.kind is b.kind else math.inf
    )
    lines, no_lines, more_lines = _paired(
        picked.lines, other.lines, lambda a, b: between(_middle(a), _middle(b)) if a.kind is b.kind else math.inf
    )
    made = replace(
        made,
        notches=tuple(
            replace(one, place=its.place if its is not None else _same_share(picked, made, one))
            for one, its in zip(picked.notches, notches, strict=True)
        ),
        marks=tuple(
            replace(one, point=its.point if its is not None else carried(ours, theirs, one.point))
            for one, its in zip(picked.marks, marks, strict=True)
        ),
        darts=tuple(
            replace(one, bust_point=its.bust_point, sewn_point=its.sewn_point)
            for one, its in zip(picked.darts, other.darts, strict=True)
        ),
        lines=tuple(
            replace(one, chain=_along(one, its) if its is not None else _moved(one, picked, made, ours, theirs))
            for one, its in zip(picked.lines, lines, strict=True)
        ),
    )
    lacks: list[Notch | Mark | Line] = [*no_notches, *no_marks, *no_lines]
    besides: list[Notch | Mark | Line] = [*more_notches, *more_marks, *more_lines]
    return made, Lacks(tuple(one.name for one in lacks), tuple(one.name for one in besides))


def _edge(mine: Edge, its: Edge) -> Edge:
    if [run.kind for run in mine.runs] != [run.kind for run in its.runs]:
        raise PatternError(f"its {mine.name} is not drawn in as many lines")
    runs = tuple(replace(run, chain=other.chain) for run, other in zip(mine.runs, its.runs, strict=True))
    return replace(mine, runs=runs)


def _paired(
    ours: Sequence[_T], theirs: Sequence[_T], apart: Callable[[_T, _T], float]
) -> tuple[list[_T | None], list[_T], list[_T]]:
    """For each of ours the one of theirs that is least apart, or None; then those of ours and theirs left over."""
    found: list[_T | None] = [None] * len(ours)
    pairs = [(apart(a, b), i, k) for i, a in enumerate(ours) for k, b in enumerate(theirs)]
    taken: set[int] = set()
    for gap, i, k in sorted(pairs):
        if gap <= _ALIKE and found[i] is None and k not in taken:
            found[i] = theirs[k]
            taken.add(k)
    lacking = [one for one, its in zip(ours, found, strict=True) if its is None]
    return found, lacking, [one for k, one in enumerate(theirs) if k not in taken]


def _apart(picked: Piece, mine: Notch, other: Piece, its: Notch) -> float:
    if mine.place.edge != its.place.edge:
        return math.inf
    return abs(_share(picked, mine.place) - _share(other, its.place))


def _share(piece: Piece, place: Place) -> float:
    """The share of its edge's sewn length at which a place lies."""
    edge = piece.edge(place.edge)
    before = sum(run.chain.length for run in edge.runs[: place.run] if run.kind is not RunKind.MOUTH)
    return (before + edge.runs[place.run].chain.length_to(place.u)) / max(edge.length, 1e-9)


def _same_share(picked: Piece, made: Piece, notch: Notch) -> Place:
    """The place in another size at the same share of the run that it stands on."""
    place = notch.place
    mine, its = (piece.edge(place.edge).runs[place.run].chain for piece in (picked, made))
    share = mine.length_to(place.u) / max(mine.length, 1e-9)
    return replace(place, u=its.at_length(share * its.length))


def _middle(line: Line) -> Point:
    x0, y0, x1, y1 = line.chain.box
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _along(mine: Line, its: Line) -> Chain:
    """The other size's line, drawn the same way along."""
    (ax, ay), (bx, by) = ((c.end[0] - c.start[0], c.end[1] - c.start[1]) for c in (mine.chain, its.chain))
    return its.chain.backwards() if ax * bx + ay * by < 0 else its.chain


def _moved(line: Line, picked: Piece, made: Piece, ours: Box, theirs: Box) -> Chain:
    """A line set into another size: its middle at the same share of the piece; from edge to edge where it ran so."""
    x, y = _middle(line)
    to = carried(ours, theirs, (x, y))
    moved = line.chain.moved(slide(to[0] - x, to[1] - y))
    if not line.chain.is_straight:
        return moved
    ends = []
    (x0, y0), (x1, y1) = moved.start, moved.end
    along = ((x1 - x0) / max(moved.length, 1e-9), (y1 - y0) / max(moved.length, 1e-9))
    met = [edge.chain.point(u) for edge in made.edges for u in edge.chain.crossings((x0, y0), along)]
    for was, now in ((line.chain.start, moved.start), (line.chain.end, moved.end)):
        on_edge = min(edge.chain.nearest(was)[1] for edge in picked.edges) <= _ON_EDGE_MM
        ends.append(min(met, key=lambda point: math.dist(point, now), default=now) if on_edge else now)
    return straight(*ends) if math.dist(*ends) > _ON_EDGE_MM else moved
