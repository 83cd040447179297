"""Pieces of a pattern: an outline of named edges, and the marks on it. Frozen, checked when built.

A piece is drawn on its stitching line. Ids are given once and never reused; names are labels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np
import shapely

from geometry.errors import PatternError
from geometry.kept import kept_property
from geometry.lines import Chain, joined
from geometry.motions import FloatArray, Point
from geometry.said_places import Along, place_words
from geometry.tolerances import MEET_MM


class EdgeKind(StrEnum):
    """What an edge is on the body."""

    NECKLINE = "neckline"
    SHOULDER = "shoulder"
    ARMHOLE = "armhole"
    SIDE = "side"
    WAIST = "waist"
    HEM = "hem"
    CENTRE_FRONT = "centre front"
    CENTRE_BACK = "centre back"
    CAP = "sleeve cap"
    UNDERARM = "underarm"
    WRIST = "wrist"
    INSEAM = "inseam"
    CROTCH = "crotch"
    PRINCESS = "princess"
    BAND = "band"
    FACING = "facing"
    OTHER = "other"


class Finish(StrEnum):
    """What becomes of an edge."""

    SEAM = "seam"
    FACED = "faced"
    BOUND = "bound"
    BANDED = "banded"
    HEM_ONCE = "hem turned once"
    HEM_TWICE = "hem turned twice"
    RAW = "raw"
    FOLD = "on the fold"


class CornerKind(StrEnum):
    """Whether a corner runs on smoothly into the joined piece.

    ``RUNS_ON`` is what nobody said otherwise: far off in the tracing, it counts as meant to point. ``TO_RUN_ON`` is
    said of a corner that is to run on however it was traced.
    """

    RUNS_ON = "runs on smoothly"
    POINTS = "meant to point"
    TO_RUN_ON = "is to run on"


class CornerCut(StrEnum):
    """How the allowance of an edge is shaped at one end."""

    AS_SEWN = "as it is sewn"
    TO_A_POINT = "run on to a point"
    MIRRORED = "mirrored about the seam"
    SQUARED = "squared to the first-sewn seam"
    REFLECTED = "reflected about the turn"


class RunKind(StrEnum):
    """Where a stretch of an edge comes from."""

    TRACED = "traced"
    FILLED = "filled in"
    MOUTH = "dart mouth"


class LineKind(StrEnum):
    """What a line on the piece means."""

    GRAIN = "grainline"
    STRETCH = "greatest stretch"
    LENGTHEN = "lengthen/shorten line"
    BUST = "bust line"
    WAIST = "waist line"
    HIP = "hip line"
    CENTRE = "centre line"
    PLACEMENT = "placement line"
    TURN = "turn line"
    OTHER = "guide line"


#: Lines that mark a level of the body; a blend never runs past one of these.
LEVELS = frozenset({LineKind.BUST, LineKind.WAIST, LineKind.HIP})


class MarkKind(StrEnum):
    """What a marked point means."""

    DOT = "dot"
    BUST_POINT = "bust point"


class NotchStyle(StrEnum):
    """How a notch is drawn."""

    NICK = "nick"
    V_OUT = "outward V"
    LINE = "line"


class Cloth(StrEnum):
    SELF = "self"
    LINING = "lining"
    INTERFACING = "interfacing"


class Layout(StrEnum):
    ON_FOLD = "on fold"
    PAIR = "pair"
    SINGLE = "single"


@dataclass(frozen=True, eq=False)
class Run:
    """A stretch of an edge that was drawn in one go. ``dart`` names the dart whose mouth it crosses."""

    chain: Chain
    kind: RunKind = RunKind.TRACED
    dart: str | None = None


@dataclass(frozen=True)
class Joint:
    """Where two runs of an edge were laid together by a note; ``along`` is the direction of the cut (unit)."""

    note: str
    along: Point


@dataclass(frozen=True)
class Taper:
    """An allowance that is ``change`` mm wider (narrower when negative) at one end of its edge, dying away smoothly.

    The change is nothing up to the share ``nothing`` of the edge's sewn length and whole from ``whole`` on, in
    either direction; both may lie beyond the edge.
    """

    change: float
    whole: float
    nothing: float

    def __post_init__(self) -> None:
        if self.nothing == self.whole:
            raise PatternError("An allowance tapers from one place of its edge to another; they are the same.")

    def at(self, shares: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The change in mm at shares (m,) of the edge, and its slope per share."""
        span = self.whole - self.nothing
        part = np.clip((shares - self.nothing) / span, 0.0, 1.0)
        return self.change * part * part * (3 - 2 * part), self.change * 6 * part * (1 - part) / span


@dataclass(frozen=True, eq=False)
class Edge:
    """A named edge from corner to corner, in outline order (anticlockwise).

    ``tapers`` change the width towards one end. ``runs`` follow each other; between two of them stands a joint, or
    None where a dart mouth meets the edge. Consecutive runs that do not meet are a jog. ``width`` is the allowance
    in mm, None for the garment's default. ``sewn_out`` is only for the line that is cut along: how far (mm) seams
    were sewn outside this line since, which a new allowance is measured from.
    """

    id: str
    name: str
    kind: EdgeKind
    runs: tuple[Run, ...]
    joints: tuple[Joint | None, ...] = ()
    finish: Finish = Finish.SEAM
    width: float | None = None
    at_start: CornerCut = CornerCut.AS_SEWN
    at_end: CornerCut = CornerCut.AS_SEWN
    tapers: tuple[Taper, ...] = ()
    sewn_out: float | None = None

    def __post_init__(self) -> None:
        if not self.runs or len(self.joints) != len(self.runs) - 1:
            raise PatternError(f"Edge “{self.name}” is not one line from corner to corner.", edge=self.id)

    @kept_property
    def chain(self) -> Chain:
        """The whole edge, straight across jogs and dart mouths."""
        return joined([run.chain for run in self.runs])

    @property
    def start(self) -> Point:
        return self.runs[0].chain.start

    @property
    def end(self) -> Point:
        return self.runs[-1].chain.end

    @property
    def sewn(self) -> tuple[Chain, ...]:
        """The lines it is sewn along, without the mouths of its darts."""
        return tuple(run.chain for run in self.runs if run.kind is not RunKind.MOUTH)

    @kept_property
    def length(self) -> float:
        """Sewn length in mm: dart mouths left out, jogs bridged straight."""
        total = sum(line.length for line in self.sewn)
        return total + sum(math.dist(a.chain.end, b.chain.start) for a, b in zip(self.runs, self.runs[1:]))

    @property
    def taper_at_ends(self) -> tuple[float, float]:
        """By how many mm the allowance differs from ``width`` at the start and at the end."""
        changes = [taper.at(np.array([0.0, 1.0]))[0] for taper in self.tapers]
        return (float(sum(change[0] for change in changes)), float(sum(change[1] for change in changes)))

    @property
    def disturbed(self) -> bool:
        """True when a note left it in runs that want blending."""
        return any(joint is not None for joint in self.joints)

    @property
    def on_fold(self) -> bool:
        return self.finish is Finish.FOLD


@dataclass(frozen=True)
class Place:
    """A point of an edge: which run of it, and the parameter on that run's chain."""

    edge: str
    run: int
    u: float


@dataclass(frozen=True)
class Corner:
    """The corner where an edge starts; corners stand in the order of the edges."""

    id: str
    kind: CornerKind = CornerKind.RUNS_ON


@dataclass(frozen=True)
class Notch:
    """A notch on an edge; ``count`` 1 is single, 2 double."""

    id: str
    name: str
    place: Place
    count: int = 1
    style: NotchStyle = NotchStyle.NICK


@dataclass(frozen=True)
class Mark:
    """A marked point inside the piece."""

    id: str
    name: str
    kind: MarkKind
    point: Point


@dataclass(frozen=True)
class Dart:
    """A dart whose mouth is a MOUTH run of ``edge``.

    ``bust_point`` is what it is turned about, ``sewn_point`` where the stitching ends; ``fold_to`` is the mouth
    end ("start" or "end" in outline order) towards which its depth is pressed.
    """

    id: str
    name: str
    edge: str
    bust_point: Point
    sewn_point: Point
    fold_to: str = "start"


@dataclass(frozen=True)
class InnerDart:
    """A double-pointed dart inside the piece: two points and the two widest places."""

    id: str
    name: str
    points: tuple[Point, Point]
    widest: tuple[Point, Point]


@dataclass(frozen=True, eq=False)
class Line:
    """A line on the piece: grainline, guide, placement or turn line."""

    id: str
    name: str
    kind: LineKind
    chain: Chain


@dataclass(frozen=True)
class Cutting:
    """How often a piece is cut in one cloth."""

    cloth: Cloth
    layout: Layout
    count: int = 1


@dataclass(frozen=True)
class CopyOf:
    """An edge of this piece that copies an edge of another (a facing follows what it faces)."""

    edge: str
    piece: str
    of_edge: str


@dataclass(frozen=True, eq=False)
class Piece:
    """A closed outline of edges with its marks, in mm, y up, anticlockwise; see the module's first lines.

    ``set_in`` is true when it was traced on its cutting line and brought to the stitching line.

    Raises PatternError when the outline is open, turns clockwise, crosses itself, or a mark names no edge.
    """

    id: str
    name: str
    edges: tuple[Edge, ...]
    corners: tuple[Corner, ...]
    size: str = ""
    notches: tuple[Notch, ...] = ()
    marks: tuple[Mark, ...] = ()
    darts: tuple[Dart, ...] = ()
    inner_darts: tuple[InnerDart, ...] = ()
    lines: tuple[Line, ...] = ()
    cutting: tuple[Cutting, ...] = (Cutting(Cloth.SELF, Layout.PAIR),)
    copies: tuple[CopyOf, ...] = field(default=())
    set_in: bool | None = None

    def __post_init__(self) -> None:
        _check_ids(self)
        _check_closed(self)
        _check_marks(self)
        _check_outline(self)

    def edge(self, edge_id: str) -> Edge:
        """The edge with an id; raises PatternError when there is none."""
        try:
            return self._edges_by_id[edge_id]
        except KeyError:
            raise PatternError(f"Piece “{self.name}” has no edge “{edge_id}”.", self.id, edge_id) from None

    def line(self, kind: LineKind) -> Line | None:
        """The first line of a kind, or None."""
        return next((line for line in self.lines if line.kind is kind), None)

    def run_at(self, place: Place) -> Run:
        return self.edge(place.edge).runs[place.run]

    def point_at(self, place: Place) -> Point:
        """The point (mm) of a place on the outline."""
        return self.run_at(place).chain.point(place.u)

    def where(self, point: Point) -> str:
        """Where a point (mm) on or beside the outline lies, in words; see ``place_words``."""
        return place_words([Along(one.kind, one.name, one.sewn) for one in self.edges], point)

    def edges_of(self, kind: EdgeKind) -> tuple[Edge, ...]:
        return tuple(edge for edge in self.edges if edge.kind is kind)

    def has_edge(self, edge_id: str) -> bool:
        return edge_id in self._edges_by_id

    def has_notch(self, notch_id: str) -> bool:
        return notch_id in self._notch_ids

    @kept_property
    def jogged_by(self) -> tuple[str, ...]:
        """The notes that left its edges jogged, in order of their ids."""
        return tuple(sorted({joint.note for edge in self.edges for joint in edge.joints if joint is not None}))

    @kept_property
    def _notch_ids(self) -> frozenset[str]:
        return frozenset(notch.id for notch in self.notches)

    @kept_property
    def _edges_by_id(self) -> dict[str, Edge]:
        return {edge.id: edge for edge in self.edges}

    @property
    def fold(self) -> Edge | None:
        """The edge on the fold, or None."""
        return next((edge for edge in self.edges if edge.on_fold), None)

    @property
    def on_fold(self) -> bool:
        return self.fold is not None

    @property
    def cut_count(self) -> int:
        """How many of this outline lie side by side in the garment's self cloth: a fold or a pair counts two."""
        mine = [c for c in self.cutting if c.cloth is Cloth.SELF] or list(self.cutting)
        return sum(c.count * (1 if c.layout is Layout.SINGLE else 2) for c in mine)

    @kept_property
    def outline(self) -> FloatArray:
        """(m, 2) points within FLATTEN_MM of the stitching line, last not repeated, from the first corner."""
        return np.concatenate([edge.chain.flat[0][:-1] for edge in self.edges])

    @kept_property
    def polygon(self) -> shapely.Polygon:
        """The outline as a shapely polygon, for questions of inside and outside (points SIMPLE_MM close)."""
        polygon: shapely.Polygon = shapely.polygons(self._ring)
        return polygon

    @kept_property
    def _ring(self) -> shapely.LinearRing:
        lines = [edge.chain.coarse for edge in self.edges]
        points = np.concatenate([*(line[:-1] for line in lines), lines[0][:1]])
        ring: shapely.LinearRing = shapely.linearrings(points)  # type: ignore[assignment]
        return ring

    @property
    def middle(self) -> Point:
        """The middle of the piece's box, where labels go by default."""
        x0, y0, x1, y1 = self.polygon.bounds
        return ((x0 + x1) / 2, (y0 + y1) / 2)

    def with_edge(self, edge: Edge) -> Piece:
        """The piece with the edge of the same id put in place of the old one."""
        return replace(self, edges=tuple(edge if old.id == edge.id else old for old in self.edges))


def neighbours(piece: Piece, edge_id: str) -> tuple[Edge, Edge]:
    """The edges before and after an edge in outline order."""
    index = [edge.id for edge in piece.edges].index(edge_id)
    return piece.edges[index - 1], piece.edges[(index + 1) % len(piece.edges)]


def corner_angle(piece: Piece, index: int) -> float:
    """Inner angle in degrees at corner ``index`` (the start of that edge)."""
    arriving = piece.edges[index - 1].runs[-1].chain.end_tangent
    leaving = piece.edges[index].runs[0].chain.start_tangent
    cross = arriving[0] * leaving[1] - arriving[1] * leaving[0]
    return 180.0 - math.degrees(math.atan2(cross, arriving[0] * leaving[0] + arriving[1] * leaving[1]))


def _check_ids(piece: Piece) -> None:
    groups = (piece.edges, piece.corners, piece.notches, piece.marks, piece.darts, piece.inner_darts, piece.lines)
    ids = [one.id for group in groups for one in group]
    if len(set(ids)) < len(ids):
        twice = next(one for index, one in enumerate(ids) if one in ids[:index])
        raise PatternError(f"Piece “{piece.name}” uses the id “{twice}” twice.", piece.id)


def _check_closed(piece: Piece) -> None:
    if len(piece.edges) < 2 or len(piece.corners) != len(piece.edges):
        raise PatternError(f"Piece “{piece.name}” needs at least two edges, each starting at a corner.", piece.id)
    for edge, following in zip(piece.edges, piece.edges[1:] + piece.edges[:1], strict=True):
        gap = math.dist(edge.end, following.start)
        if not gap <= MEET_MM:
            raise PatternError(
                f"Piece “{piece.name}” is open: “{edge.name}” ends {gap:.3f} mm from “{following.name}”; "
                "close the gap.",
                piece.id,
                edge.id,
                edge.end,
            )


def _check_marks(piece: Piece) -> None:
    for notch in piece.notches:
        edge = piece.edge(notch.place.edge)
        if not (0 <= notch.place.run < len(edge.runs) and 0 <= notch.place.u <= len(edge.runs[notch.place.run].chain)):
            raise PatternError(f"Notch “{notch.name}” of “{piece.name}” is not on its edge.", piece.id, edge.id)
    for dart in piece.darts:
        if not any(run.dart == dart.id for run in piece.edge(dart.edge).runs):
            raise PatternError(f"Dart “{dart.name}” of “{piece.name}” has no mouth on its edge.", piece.id, dart.edge)
    for edge in piece.edges:
        if edge.on_fold and not edge.disturbed and edge.chain.turning_deg > 1e-3:
            raise PatternError(
                f"The fold “{edge.name}” of “{piece.name}” is not one straight line; a fold cannot bend.",
                piece.id,
                edge.id,
                edge.start,
            )


def _check_outline(piece: Piece) -> None:
    # One ring that neither crosses nor touches itself bounds a valid polygon, and is asked in half the time.
    ring = piece._ring
    if shapely.is_simple(ring) and shapely.is_ccw(ring):
        return
    if not shapely.is_valid(piece.polygon):
        point = place_in(shapely.is_valid_reason(piece.polygon))
        where = f" {piece.where(point)}" if point else ""
        raise PatternError(f"The outline of “{piece.name}” crosses itself{where}.", piece.id, point=point)
    raise PatternError(f"The outline of “{piece.name}” runs clockwise; draw it the other way round.", piece.id)


def place_in(reason: str) -> Point | None:
    """The place that GEOS names in its reason why a shape is not valid, None where it names none."""
    if "[" not in reason:
        return None
    x, y = reason[reason.index("[") + 1 : reason.rindex("]")].split()[:2]
    return (float(x), float(y))
