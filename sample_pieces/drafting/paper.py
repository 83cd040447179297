"""Drawing aids: directions, smooth curves between two directions, edges, notches and lines of a piece."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from geometry.garments import EdgeRef, Match, Pressed, Seam, Stretch, StretchKind
from geometry.lines import Chain, chain, joined, straight
from geometry.motions import Point
from geometry.pieces import (
    CopyOf,
    Corner,
    CornerKind,
    Cutting,
    Dart,
    Edge,
    EdgeKind,
    Finish,
    InnerDart,
    Line,
    LineKind,
    Mark,
    Notch,
    Piece,
    Place,
    Run,
)

#: Drafted points are rounded to so many places of a mm: far below anything that sews and far above a rounding error.
_DECIMALS = 6

UP: Point = (0.0, 1.0)
LEVEL_IN: Point = (-1.0, 0.0)


def heading(degrees: float) -> Point:
    """The unit direction ``degrees`` anticlockwise from level to the right."""
    return (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))


def away(point: Point, direction: Point, distance: float) -> Point:
    """The point ``distance`` mm from a point along a unit direction."""
    return (point[0] + distance * direction[0], point[1] + distance * direction[1])


def left_of(direction: Point) -> Point:
    """A direction turned 90 degrees to the left."""
    return (-direction[1], direction[0])


def between(start: Point, end: Point, share: float) -> Point:
    """The point at a share of the way from ``start`` to ``end``."""
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))


def meeting(first: Point, along_first: Point, second: Point, along_second: Point) -> Point:
    """Where two endless straight lines meet."""
    cross = along_first[0] * along_second[1] - along_first[1] * along_second[0]
    dx, dy = second[0] - first[0], second[1] - first[1]
    return away(first, along_first, (dx * along_second[1] - dy * along_second[0]) / cross)


def bow(start: Point, leaving: Point, end: Point, arriving: Point, first: float = 0.39, last: float = 0.39) -> Chain:
    """One cubic from ``start`` to ``end`` with unit tangents given; ``first`` and ``last`` are its handles as
    shares of the distance (0.39 suits a quarter of a circle, 0.33 a flat line)."""
    size = math.dist(start, end)
    return chain([(start, away(start, leaving, first * size), away(end, arriving, -last * size), end)])


def crossing_at(line: Chain, height: float) -> Point:
    """Where a line first crosses the level ``height``."""
    return line.point(line.crossings((0.0, height), (1.0, 0.0))[0])


def edge(
    edge_id: str,
    name: str,
    kind: EdgeKind,
    *lines: Chain,
    finish: Finish = Finish.SEAM,
    width: float | None = None,
) -> Edge:
    """An edge drawn in one go from lines laid end to end."""
    return Edge(edge_id, name, kind, (Run(joined(lines)),), finish=finish, width=width)


def notch(notch_id: str, name: str, on: Edge, along: float, count: int = 1) -> Notch:
    """A notch ``along`` mm from the start of an edge (from its end when negative), on its first or only run."""
    line = on.runs[0].chain
    return Notch(notch_id, name, Place(on.id, 0, line.at_length(along if along >= 0 else line.length + along)), count)


def ruled(line_id: str, kind: LineKind, start: Point, end: Point, name: str = "") -> Line:
    """A straight line on a piece, named after its kind unless a name is given."""
    return Line(line_id, name or kind.value, kind, straight(start, end))


def _point(point: Point) -> Point:
    # Adding nothing turns a negative zero into a plain one.
    return (round(point[0], _DECIMALS) + 0.0, round(point[1], _DECIMALS) + 0.0)


def _on_grid(line: Chain) -> Chain:
    """The line with its control points rounded to 1e-6 mm."""
    return chain(
        [
            [_point((float(x), float(y))) for x, y in (cubic[[0, 3]] if is_line else cubic)]
            for cubic, is_line in zip(line.cubics, line.straight, strict=True)
        ]
    )


def piece(
    piece_id: str,
    name: str,
    edges: Sequence[Edge],
    *,
    size: str,
    cutting: Sequence[Cutting],
    pointing: Sequence[str] = (),
    notches: Sequence[Notch] = (),
    marks: Sequence[Mark] = (),
    darts: Sequence[Dart] = (),
    inner_darts: Sequence[InnerDart] = (),
    lines: Sequence[Line] = (),
    copies: Sequence[CopyOf] = (),
) -> Piece:
    """A piece whose corners are named after the edge that starts there; ``pointing`` names those meant to point.

    Everything drawn is rounded to 1e-6 mm, so that every machine drafts the same file.
    """
    corners = tuple(
        Corner(f"{one.id}.corner", CornerKind.POINTS if one.id in pointing else CornerKind.RUNS_ON) for one in edges
    )
    return Piece(
        piece_id,
        name,
        tuple(replace(one, runs=tuple(replace(run, chain=_on_grid(run.chain)) for run in one.runs)) for one in edges),
        corners,
        size=size,
        notches=tuple(replace(one, place=replace(one.place, u=round(one.place.u, 9))) for one in notches),
        marks=tuple(replace(one, point=_point(one.point)) for one in marks),
        darts=tuple(replace(d, bust_point=_point(d.bust_point), sewn_point=_point(d.sewn_point)) for d in darts),
        inner_darts=tuple(
            replace(
                d,
                points=(_point(d.points[0]), _point(d.points[1])),
                widest=(_point(d.widest[0]), _point(d.widest[1])),
            )
            for d in inner_darts
        ),
        lines=tuple(replace(one, chain=_on_grid(one.chain)) for one in lines),
        cutting=tuple(cutting),
        copies=tuple(copies),
    )


def along(*edges: str) -> tuple[EdgeRef, ...]:
    """Edges as a seam takes them, each written “piece.edge”, with “-” in front when it runs against the outline."""
    return tuple(EdgeRef(one.lstrip("-").split(".")[0], one.lstrip("-"), one.startswith("-")) for one in edges)


def seam(
    seam_id: str,
    name: str,
    first: Sequence[str],
    second: Sequence[str],
    *,
    sewn: int,
    pressed: Pressed = Pressed.OPEN,
    matches: Sequence[tuple[str, str, str]] = (),
    stretches: Sequence[Stretch] | None = None,
) -> Seam:
    """A seam; ``matches`` are (name, notch of the first side, notch of the second), ids starting with the piece."""
    pairs = tuple(Match(label, a.split(".")[0], a, b.split(".")[0], b) for label, a, b in matches)
    kinds = tuple(stretches) if stretches is not None else (Stretch(),) * (len(pairs) + 1)
    return Seam(seam_id, name, along(*first), along(*second), kinds, pairs, pressed, sewn)


def eased(most: float) -> Stretch:
    """A stretch whose second side may be up to ``most`` mm longer."""
    return Stretch(StretchKind.EASED, 0.0, most)


def solved(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that changes sign once between ``low`` and ``high`` is zero, to 1e-10 (Illinois method).

    Raises ValueError when it does not change sign.
    """
    at_low, at_high = function(low), function(high)
    if at_low * at_high > 0:
        raise ValueError("the measure asked for cannot be drafted between these limits")
    for _ in range(100):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = function(middle)
        if abs(value) < 1e-10:
            break
        if value * at_high < 0:
            low, at_low = high, at_high
        else:
            at_low /= 2
        high, at_high = middle, value
    return middle
