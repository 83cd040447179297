"""Corners that were missed on an outline, set by hand, and corners that are none, taken away.

Where a corner is set, one edge becomes two; where one is taken away, two become one. Nothing of the line moves. At a
corner that the line really turns at, what each edge is is suggested anew; where it runs on straight or in a curve, as
at a vent, both halves are what the edge was.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from app.tracing.building import Drawn, SetCorner
from app.tracing.found import Found
from app.tracing.line_fitting import straightened
from app.tracing.naming import Suggestion, suggest
from app.tracing.outline_marks import DrawnEdge, Stretch
from app.tracing.questions import Answers
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.lines import Chain, joined, tidied
from geometry.motions import STAY, Motion, Point

#: The answer that names them, one to a line: “at x,y” or “not x,y”.
KEY = "corners-by-hand"
AT, NOT = "at", "not"
#: A place lies on the outline, or at a corner, within this (mm).
NEAR_MM = 15.0
#: No edge is made shorter than this (mm).
LEAST_MM = 3.0
#: A corner goes where the line turns most within this of the place (mm), looked at over so much on each side …
_SNAP_MM, _LOOK_MM = 6.0, 1.0
#: … if it turns by this at least there (degrees), and so many times as much as it usually does beside it.
_TURN_DEG, _SHARPER = 2.0, 2.5
_STEP_MM = 0.2
#: A line that turns at once by this (degrees), or by this over so much on each side (mm), has a corner that was missed.
_KINK_DEG, _TURNS_DEG, _TURNS_MM = 5.0, 15.0, 12.0
#: One corner, set and taken away again (mm).
_SAME_MM = 0.01
_ROW = re.compile(rf"\s*({AT}|{NOT})\s+([-\d.]+)\s*,\s*([-\d.]+)\s*")


@dataclass(frozen=True, eq=False)
class Changed:
    """A piece with other corners; ``places`` are, for every edge that it had, those it has instead, mostly one.

    ``anew`` says that the kinds of its edges are suggested anew.
    """

    drawn: Drawn
    places: tuple[tuple[int, ...], ...]
    anew: bool


def corner_row(found: Found, at: Point, *, wanted: bool) -> str:
    """A corner as it is answered: in mm of a drawing, in pixels of a picture as it was taken."""
    x, y = at
    if found.picture is not None:
        ((x, y),) = found.picture.view.pixels(np.array([at], dtype=float)).tolist()
    return f"{AT if wanted else NOT} {x:.4f},{y:.4f}"


def rows_of(found: Found, answers: Answers) -> tuple[tuple[bool, Point], ...]:
    """Every corner that the answer names: whether it is wanted, and its place in mm of the file. Raises PatternError
    for a row that is none."""
    return tuple(_read(found, row) for row in answers.get(KEY, "").split("\n") if row.strip())


def _read(found: Found, row: str) -> tuple[bool, Point]:
    parts = _ROW.fullmatch(row)
    try:
        numbers = [float(word) for word in parts.groups()[1:]] if parts else []
    except ValueError:
        numbers = []
    if parts is None or len(numbers) != 2:
        option = "--no-corner" if row.strip().startswith(NOT) else "--corner-at"
        raise PatternError(f"{option} “{row.strip().removeprefix(AT).removeprefix(NOT).strip()}” should be “x,y”.")
    x, y = numbers
    if found.picture is not None:
        ((x, y),) = found.picture.view.table(np.array([numbers])).tolist()
    return parts[1] == AT, (x, y)


def with_corners(
    drawn: Sequence[Drawn], lies: Mapping[str, Motion], found: Found, answers: Answers
) -> list[Drawn]:
    """The pieces with the corners that were set, and without those that were taken away, one after another.

    ``lies`` moves what was drawn to where it lies in the file, by id, where that is elsewhere. Raises PatternError
    where there is no outline or no corner at such a place.
    """
    pieces = list(drawn)
    for wanted, at in rows_of(found, answers):
        places = [lies.get(one.id, STAY).undone().point(at) for one in pieces]
        away = [_away(one, place) for one, place in zip(pieces, places, strict=True)]
        if min(away) > NEAR_MM:
            what = "A corner is set" if wanted else "A corner is taken away"
            raise PatternError(f"{what} on an outline, no further than {NEAR_MM:g} mm beside it.")
        index = away.index(min(away))
        pieces[index] = changed(pieces[index], SetCorner(places[index], wanted)).drawn
    return pieces


def changed(drawn: Drawn, corner: SetCorner) -> Changed:
    """A piece with one corner more or less; ``corner`` in the piece's own mm. Raises PatternError where it cannot be.
    """
    return _with_corner(drawn, corner.point) if corner.wanted else _without_corner(drawn, corner.point)


def with_the_same(drawn: Drawn, corners: Sequence[SetCorner], other: Drawn) -> Drawn:
    """The same piece in another size, ``other``, edge for edge as ``drawn`` is, with the corners that are set on that:
    at the same share of their edges, or where the line turns beside it. Raises PatternError where one cannot be."""
    for corner in corners:
        if corner.wanted:
            index = min(range(len(drawn.edges)), key=lambda i: drawn.edges[i].whole.nearest(corner.point)[1])
            mine, its = drawn.edges[index].whole, other.edges[index].whole
            share = mine.length_to(mine.nearest(corner.point)[0]) / mine.length
            at = its.point(its.at_length(share * its.length))
        else:
            apart = [math.dist(edge.whole.start, corner.point) for edge in drawn.edges]
            at = other.edges[apart.index(min(apart))].whole.start
        drawn, other = changed(drawn, corner).drawn, changed(other, SetCorner(at, corner.wanted)).drawn
    return other


def _away(drawn: Drawn, at: Point) -> float:
    return min(edge.whole.nearest(at)[1] for edge in drawn.edges)


def _with_corner(drawn: Drawn, at: Point) -> Changed:
    index = min(range(len(drawn.edges)), key=lambda i: drawn.edges[i].whole.nearest(at)[1])
    stretches = drawn.edges[index].stretches
    place = min(range(len(stretches)), key=lambda k: stretches[k].line.nearest(at)[1])
    line = stretches[place].line
    if stretches[place].dart is not None:
        raise PatternError(f"“{drawn.raw.name}” has the mouth of a dart there; a corner cannot stand in it.", drawn.id)
    length = _sharpest(line, line.length_to(line.nearest(at)[0]))
    first, last = place == 0, place == len(stretches) - 1
    if (first and length < LEAST_MM) or (last and length > line.length - LEAST_MM):
        raise PatternError(
            f"“{drawn.raw.name}” has a corner there already; the next one stands {LEAST_MM:g} mm off at least.",
            drawn.id,
        )
    u = line.at_length(length)
    # A corner at the very foot of a dart leaves nothing between them.
    before = [Stretch(line.part(0.0, u))] if length > 1e-6 else []
    after = [Stretch(line.part(u, float(len(line))))] if length < line.length - 1e-6 else []
    halves = (_edge((*stretches[:place], *before)), _edge((*after, *stretches[place + 1 :])))
    edges = (*drawn.edges[:index], *halves, *drawn.edges[index + 1 :])
    places = tuple((i,) if i < index else (i, i + 1) if i == index else (i + 1,) for i in range(len(drawn.edges)))
    turns = _is_corner(halves[0].whole, halves[1].whole)
    return _changed(drawn, edges, places, SetCorner(halves[1].whole.start, True), anew=turns)


def _without_corner(drawn: Drawn, at: Point) -> Changed:
    count = len(drawn.edges)
    apart = [math.dist(edge.whole.start, at) for edge in drawn.edges]
    index = apart.index(min(apart))
    if apart[index] > NEAR_MM:
        raise PatternError(
            f"“{drawn.raw.name}” has no corner within {NEAR_MM:g} mm of that place; name a corner of it.", drawn.id
        )
    if count <= 2:
        raise PatternError(f"“{drawn.raw.name}” has two corners left; a piece has no fewer.", drawn.id)
    corner = SetCorner(drawn.edges[index].whole.start, False)
    before, after = drawn.edges[index - 1].stretches, drawn.edges[index].stretches
    if before[-1].dart is None and after[0].dart is None:
        both = _edge((*before[:-1], Stretch(tidied(joined([before[-1].line, after[0].line]))), *after[1:]))
    else:
        both = _edge((*before, *after))
    if index == 0:
        edges = (both, *drawn.edges[1:-1])
        places = tuple((i % (count - 1),) for i in range(count))
    else:
        edges = (*drawn.edges[: index - 1], both, *drawn.edges[index + 1 :])
        places = tuple((i if i < index else i - 1,) for i in range(count))
    return _changed(drawn, edges, places, corner, anew=True)


def _edge(stretches: tuple[Stretch, ...]) -> DrawnEdge:
    return DrawnEdge(tuple(one if one.dart is not None else Stretch(straightened(one.line)) for one in stretches))


def _changed(
    drawn: Drawn, edges: tuple[DrawnEdge, ...], places: tuple[tuple[int, ...], ...], corner: SetCorner, *, anew: bool
) -> Changed:
    """The piece with other edges and what they are suggested to be; an edge known to lie on the fold still does."""
    before = drawn.suggestion
    whole = {there[0]: i for i, there in enumerate(places) if len(there) == 1 and places.count(there) == 1}
    fold = next((there for there, i in whole.items() if i == before.fold), None)
    suggestion = suggest(drawn.raw.name, [edge.whole for edge in edges], drawn.words, fold)
    if not anew:
        kinds = {there: before.kinds[i] for i, each in enumerate(places) for there in each}
        suggestion = Suggestion(before.shape, fold, tuple(kinds[i] for i in range(len(edges))))
    made = replace(drawn, edges=edges, suggestion=suggestion, corners=(*drawn.corners, corner))
    return Changed(made, places, anew)


def _is_corner(before: Chain, after: Chain) -> bool:
    """True where the line turns from one edge to the next, at once or seen from a little way off."""
    reach = min(_TURNS_MM, before.length / 2, after.length / 2)
    x, y = after.start
    x0, y0 = before.point(before.at_length(before.length - reach))
    x1, y1 = after.point(after.at_length(reach))
    seen = _between((x - x0, y - y0), (x1 - x, y1 - y))
    return seen > _TURNS_DEG or _between(before.end_tangent, after.start_tangent) > _KINK_DEG


def _between(one: Point, other: Point) -> float:
    """The angle between two directions (degrees)."""
    return abs(math.degrees(math.atan2(one[0] * other[1] - one[1] * other[0], one[0] * other[0] + one[1] * other[1])))


def _sharpest(line: Chain, length: float) -> float:
    """Where a line turns most near a length along it; that length itself where it turns evenly."""
    low, high = max(length - _SNAP_MM, _LOOK_MM), min(length + _SNAP_MM, line.length - _LOOK_MM)
    if high - low < _LOOK_MM:
        return length
    at = np.linspace(low, high, round((high - low) / _STEP_MM) + 1)
    back, here, ahead = (line.points(line.at_lengths(at + by)) for by in (-_LOOK_MM, 0.0, _LOOK_MM))
    one, other = here - back, ahead - here
    cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    turns = np.degrees(np.abs(np.arctan2(cross, (one * other).sum(axis=1))))
    best = int(turns.argmax())
    if turns[best] < max(_TURN_DEG, _SHARPER * float(np.median(turns))):
        return length
    # Where curves meet at an angle, there and nowhere beside it.
    ends = np.concatenate([[0.0], line.segment_lengths.cumsum()])[1:-1]
    near = ends[np.abs(ends - at[best]) <= _LOOK_MM]
    jumps = [_jump(line, float(end)) for end in near]
    return float(near[int(np.argmax(jumps))]) if jumps and max(jumps) > _TURN_DEG else float(at[best])


def _jump(line: Chain, length: float) -> float:
    """By how much a line turns at one of its nodes (degrees)."""
    u = round(line.at_length(length))
    return _between(line.tangent(float(u), before=True), line.tangent(float(u)))


def beside_corners(drawn: Drawn) -> set[int]:
    """The edges that start or end at a corner that was set by hand."""
    starts = [edge.whole.start for edge in drawn.edges]
    set_there = [
        i for i, start in enumerate(starts) for one in drawn.corners
        if one.wanted and math.dist(start, one.point) < LEAST_MM / 2
    ]  # fmt: skip
    return {there for i in set_there for there in (i, (i - 1) % len(starts))}


def said(drawn: Drawn, names: Sequence[str]) -> tuple[Finding, ...]:
    """Which corners were set by hand or taken away, by the names of the edges beside them."""
    left: list[SetCorner] = []
    for corner in drawn.corners:
        undone = [one for one in left if one.wanted != corner.wanted and math.dist(one.point, corner.point) < _SAME_MM]
        left = [one for one in left if one not in undone] if undone else [*left, corner]
    found = []
    for corner in left:
        apart = [math.dist(edge.whole.start, corner.point) for edge in drawn.edges]
        index = apart.index(min(apart))
        if corner.wanted and apart[index] < LEAST_MM / 2:
            says = f"A corner was set by hand on “{drawn.raw.name}”, between {names[index - 1]} and {names[index]}."
            found.append(Finding("corner-set", Level.NOTICE, says, drawn.id))
        elif not corner.wanted and apart[index] > LEAST_MM / 2:
            on = min(range(len(names)), key=lambda i: drawn.edges[i].whole.nearest(corner.point)[1])
            says = f"A corner of “{drawn.raw.name}” was taken away by hand; {names[on]} runs through it."
            found.append(Finding("corner-taken-away", Level.NOTICE, says, drawn.id))
    return tuple(found)
