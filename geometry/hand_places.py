"""Places on a piece in the words of a class: how far along which edge, from which corner, above or below what."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from geometry.cutting_lines import hem_side_normal, square_direction
from geometry.handwork import Hatched, Ink, Inked, Measure, Phrase, Sketch, Stage, Taken, phrase
from geometry.lines import Chain, polyline, straight
from geometry.motions import FloatArray, Motion, Point
from geometry.notes import edge_run_length, length_at
from geometry.pieces import LEVELS, Edge, Line, LineKind, MarkKind, Piece, Place, RunKind, neighbours
from geometry.tolerances import MEET_MM

#: A place this near to a corner, a mark or an edge is at it (mm).
AT_MM = 0.6
_CROSS_MM = 6.0


def edge_at(piece: Piece, point: Point) -> tuple[Edge, Place, float]:
    """The edge nearest to a point, the place on it, and how far away that is (mm)."""
    found = [
        (run.chain.nearest(point), edge, index)
        for edge in piece.edges
        for index, run in enumerate(edge.runs)
        if run.kind is not RunKind.MOUTH
    ]
    (u, away), edge, index = min(found, key=lambda one: one[0][1])
    return edge, Place(edge.id, index, u), away


def along_words(piece: Piece, point: Point, stage: Stage = Stage.BEFORE) -> Phrase:
    """Where a point of the outline lies: at a corner, or so far along its edge from the nearer corner."""
    edge, place, away = edge_at(piece, point)
    if away > AT_MM:
        return (inner_words(piece, point),)
    at, whole = length_at(edge, place), edge_run_length(edge)
    before, after = neighbours(piece, edge.id)
    if min(at, whole - at) <= AT_MM:
        other = before if at < whole - at else after
        return (f"the corner of the {edge.name} and the {other.name}",)
    from_start = at <= whole - at + MEET_MM
    measure = Measure(
        at if from_start else whole - at,
        Taken.ALONG,
        (point,),
        piece.id,
        edge.id,
        "start" if from_start else "end",
        stage,
    )
    return phrase(measure, f" along the {edge.name} from the {(before if from_start else after).name}")


def inner_words(piece: Piece, point: Point) -> str:
    """A point inside the piece by its name."""
    for mark in piece.marks:
        if math.dist(mark.point, point) <= AT_MM:
            return f"the {mark.name}"
    for dart in piece.darts:
        if math.dist(dart.bust_point, point) <= AT_MM:
            apart = math.dist(dart.bust_point, dart.sewn_point) > AT_MM
            return "the bust point" if apart else f"the {dart.name}'s point"
    return "the point marked"


def line_name(line: Line) -> str:
    """A line by the trade's name for its kind, where it has one."""
    return str(line.kind) if line.kind in LEVELS or line.kind is LineKind.LENGTHEN else line.name


def up_of(piece: Piece) -> Point:
    """The unit direction along the centre or grain, away from the hem."""
    return hem_side_normal(piece, (piece.polygon.centroid.x, piece.polygon.centroid.y), square_direction(piece))


def above(piece: Piece, point: Point, other: Point) -> bool:
    """True where a point lies further from the hem than another."""
    up = up_of(piece)
    return (point[0] - other[0]) * up[0] + (point[1] - other[1]) * up[1] > 0


def whole(piece: Piece, ink: Ink = Ink.PAPER) -> Sketch:
    """The outline of a piece with its darts, levels and grainline."""
    lines = [Inked(ink, chain) for chain in outline_chains(piece)]
    if ink is Ink.OLD:
        return Sketch(tuple(lines))
    return Sketch((*lines, *inner_lines(piece)))


def outline_chains(piece: Piece) -> list[Chain]:
    """Every run of the outline but dart mouths, jogs bridged straight."""
    found = []
    for edge in piece.edges:
        for index, run in enumerate(edge.runs):
            if index and math.dist(edge.runs[index - 1].chain.end, run.chain.start) > 1e-6:
                found.append(straight(edge.runs[index - 1].chain.end, run.chain.start))
            if run.kind is not RunKind.MOUTH:
                found.append(run.chain)
    return found


def inner_lines(piece: Piece) -> list[Inked]:
    """Darts, levels and grainline of a piece."""
    found = []
    for line in piece.lines:
        if line.kind in (LineKind.GRAIN, LineKind.STRETCH):
            found.append(Inked(Ink.GRAIN, line.chain))
        else:
            found.append(Inked(Ink.LINE, line.chain))
    for dart in piece.darts:
        mouth = next(run.chain for run in piece.edge(dart.edge).runs if run.dart == dart.id)
        found.append(Inked(Ink.LINE, polyline([mouth.start, dart.sewn_point, mouth.end])))
    for mark in piece.marks:
        if mark.kind is MarkKind.BUST_POINT:
            (x, y), r = mark.point, _CROSS_MM
            for chain in (straight((x - r, y), (x + r, y)), straight((x, y - r), (x, y + r))):
                found.append(Inked(Ink.LINE, chain))
    return found


def chains_of(shape: shapely.Geometry) -> list[Chain]:
    """The lines of a shape: rings of polygons, or lines."""
    found = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon":
            found.append(polyline(shapely.get_coordinates(part.exterior)))
        elif part.geom_type in ("LineString", "LinearRing") and part.length > 0.05:
            found.append(polyline(shapely.get_coordinates(part)))
    return found


def lines_within(piece: Piece, shape: shapely.Geometry, how: Motion) -> list[Inked]:
    """What is drawn on a part of the paper, moved with it."""
    found = []
    for inked in inner_lines(piece):
        held = shapely.LineString(inked.chain.flat[0]).intersection(shape)
        found += [Inked(inked.ink, chain.moved(how)) for chain in chains_of(held)]
    return found


def hatch_of(shape: shapely.Geometry, added: bool) -> list[Hatched]:
    """The polygons of a shape as hatching."""
    return [
        Hatched(ring_of(part), added)
        for part in shapely.get_parts(shape)
        if isinstance(part, shapely.Polygon) and part.area > 0.5
    ]


def ring_of(polygon: shapely.Polygon) -> FloatArray:
    """The outline (m, 2) of a polygon, last point not repeated."""
    return np.asarray(shapely.get_coordinates(polygon.exterior))[:-1]


def middle_of(points: Sequence[Point]) -> Point:
    """The mean of points."""
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))
