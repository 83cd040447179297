"""What lies under a point of a piece: pure questions, tolerances in mm, nothing drawn and nothing changed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import shapely

from geometry.motions import Point
from geometry.notes import edge_run_length, place_at
from geometry.pieces import Edge, Piece, RunKind


class What(StrEnum):
    """What was found, from the one that wins to the one that gives way."""

    NOTCH = "notch"
    MARK = "mark"
    DART = "dart"
    CORNER = "corner"
    LINE = "line"
    EDGE = "edge"
    PAPER = "paper"


_ORDER = tuple(What)


@dataclass(frozen=True)
class Hit:
    """One thing near a point: its id and name, the nearest point of it (mm), how far that is (mm)."""

    what: What
    id: str
    name: str
    at: Point
    distance: float


@dataclass(frozen=True)
class Spot:
    """A place on an edge: the share 0..1 and the length (mm) from the edge's start, dart mouths left out."""

    edge: str
    name: str
    at: Point
    share: float
    length: float
    distance: float


def under(piece: Piece, point: Point, tolerance: float) -> Hit | None:
    """The one thing meant by a point: small things before large ones, then the nearest; None beside the piece."""
    found = [hit for hit in _things(piece, point) if hit.distance <= tolerance]
    if found:
        return min(found, key=lambda hit: (_ORDER.index(hit.what), hit.distance, hit.id))
    if holds(piece, point):
        return Hit(What.PAPER, piece.id, piece.name, point, 0.0)
    return None


def holds(piece: Piece, point: Point) -> bool:
    """True when the point lies on the paper inside the stitching line."""
    return bool(piece.polygon.covers(shapely.Point(point)))


def spot_near(piece: Piece, point: Point, tolerance: float = math.inf) -> Spot | None:
    """The nearest place on a sewn stretch of the outline, None when none is within the tolerance."""
    spots = [spot for edge in piece.edges for spot in _spots(edge, point)]
    best = min(spots, key=lambda spot: (spot.distance, spot.edge), default=None)
    return best if best is not None and best.distance <= tolerance else None


def spot_along(piece: Piece, edge_id: str, share: float) -> Spot:
    """The place at a share (kept within 0..1) of an edge; raises PatternError when there is no such edge."""
    edge = piece.edge(edge_id)
    share = min(max(share, 0.0), 1.0)
    length = share * edge_run_length(edge)
    at = piece.point_at(place_at(edge, length))
    return Spot(edge.id, edge.name, at, share, length, 0.0)


def nearest_of(points: list[Point], point: Point, tolerance: float) -> int | None:
    """Which of the points is nearest, None when none is within the tolerance."""
    if not points:
        return None
    best = min(range(len(points)), key=lambda index: (math.dist(points[index], point), index))
    return best if math.dist(points[best], point) <= tolerance else None


def _things(piece: Piece, point: Point) -> Iterator[Hit]:
    for notch in piece.notches:
        yield _point_hit(What.NOTCH, notch.id, notch.name, piece.point_at(notch.place), point)
    for mark in piece.marks:
        yield _point_hit(What.MARK, mark.id, mark.name, mark.point, point)
    for dart in piece.darts:
        for at in (dart.sewn_point, dart.bust_point):
            yield _point_hit(What.DART, dart.id, dart.name, at, point)
    for inner in piece.inner_darts:
        for at in inner.points:
            yield _point_hit(What.DART, inner.id, inner.name, at, point)
    for corner, edge, before in zip(piece.corners, piece.edges, piece.edges[-1:] + piece.edges[:-1], strict=True):
        yield _point_hit(What.CORNER, corner.id, f"{before.name} and {edge.name}", edge.start, point)
    for line in piece.lines:
        u, distance = line.chain.nearest(point)
        yield Hit(What.LINE, line.id, line.name, line.chain.point(u), distance)
    for edge in piece.edges:
        u, distance = edge.chain.nearest(point)
        yield Hit(What.EDGE, edge.id, edge.name, edge.chain.point(u), distance)


def _point_hit(what: What, id_: str, name: str, at: Point, point: Point) -> Hit:
    return Hit(what, id_, name, at, math.dist(at, point))


def _spots(edge: Edge, point: Point) -> Iterator[Spot]:
    whole = edge_run_length(edge)
    before = 0.0
    for run in edge.runs:
        if run.kind is RunKind.MOUTH:
            continue
        u, distance = run.chain.nearest(point)
        length = before + run.chain.length_to(u)
        yield Spot(edge.id, edge.name, run.chain.point(u), min(length / whole, 1.0), length, distance)
        before += run.chain.length
