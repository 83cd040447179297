"""One piece built from what was found and answered: edges named, allowances known, turned right side up, set in."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from app.tracing.corner_finding import CORNER_DEG, corners_of
from app.tracing.inner_marks import DOUBLE_MM, Inside, NamedLine, look_inside, with_grain
from app.tracing.joining import Loop
from app.tracing.line_fitting import STRAIGHT_MM, edge_lines
from app.tracing.naming import Shape, Suggestion, names_for, suggest
from app.tracing.outline_marks import DrawnEdge, Outline, Stretch, darts_between, read_outline
from app.tracing.pieces_found import RawPiece
from geometry.errors import PatternError
from geometry.kept import frozen
from geometry.lines import Chain, joined, straight
from geometry.motions import Point
from geometry.pieces import (
    Cloth,
    Corner,
    Cutting,
    Dart,
    Edge,
    EdgeKind,
    Finish,
    Layout,
    Line,
    LineKind,
    Mark,
    Notch,
    Piece,
    Place,
    Run,
    RunKind,
)

#: A line that marks the fold lies this close to its edge (mm).
_FOLD_MM = 20.0
#: A notch stands no further from its edge than this (mm).
_NOTCH_MM = 40.0
_HEMS = frozenset({EdgeKind.HEM, EdgeKind.WRIST})


@dataclass(frozen=True)
class SetCorner:
    """A place (mm) where a corner was set by hand, or taken away where it is not wanted."""

    point: Point
    wanted: bool


@dataclass(frozen=True, eq=False)
class Drawn:
    """One piece before its questions are answered: its edges and marks, what is suggested for them, and the corners
    that were set by hand or taken away."""

    id: str
    raw: RawPiece
    edges: tuple[DrawnEdge, ...]
    notches: tuple[tuple[Point, str], ...]
    inside: Inside
    suggestion: Suggestion
    corners: tuple[SetCorner, ...] = ()

    @property
    def names(self) -> list[str]:
        return names_for(self.suggestion.kinds, self.suggestion.fold)

    @property
    def words(self) -> tuple[str, ...]:
        return tuple(one.words for one in self.raw.words)


@dataclass(frozen=True)
class Settled:
    """The answers for one piece: the edge on the fold, kinds by edge, allowances in mm by edge, which side is up.

    ``called`` are names of her own by edge.
    """

    name: str
    fold: int | None
    kinds: tuple[EdgeKind, ...]
    on_cutting_line: bool
    widths: Mapping[int, float] = field(default_factory=dict)
    wrong_side_up: bool = False
    square: bool = False
    size: str = ""
    called: Mapping[int, str] = field(default_factory=dict)

    @property
    def names(self) -> list[str]:
        """The name of every edge in order: her own, or that of its kind."""
        return [self.called.get(i, name) for i, name in enumerate(names_for(self.kinds, self.fold))]


def slug(name: str) -> str:
    """An id from a name: “Front bodice” is “front-bodice”."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "piece"


def draw(
    piece_id: str,
    raw: RawPiece,
    noise_mm: float,
    exchange: bool,
    straight_mm: float = STRAIGHT_MM,
    corner_deg: float = CORNER_DEG,
) -> Drawn:
    """The edges of a piece from corner to corner, and what lies on it; see the modules that find each."""
    loop = raw.stitching or raw.outline
    outline = _outline_of(loop, noise_mm, straight_mm, corner_deg)
    inside = look_inside(raw, raw.outline.chain, exchange)
    edges, left_over = darts_between(inside.legs, outline.edges)
    rest = [NamedLine(LineKind.OTHER.value, LineKind.OTHER, line) for line in left_over]
    inside = replace(inside, lines=with_grain((*inside.lines, *rest)))
    notches = (*((point, "") for point in outline.notches), *inside.notches)
    if raw.stitching is not None:
        notches = (*((point, "") for point in _outline_of(raw.outline, noise_mm, straight_mm).notches), *notches)
    wholes = [edge.whole for edge in edges]
    fold = _marked_fold(wholes, inside.folds, raw)
    words = [one.words for one in raw.words]
    if fold is None and any(re.search(r"\bfold\b", one.lower()) for one in words):
        fold = suggest(raw.name, wholes, words, None).fold
    suggestion = suggest(raw.name, wholes, words, fold)
    if EdgeKind.HEM in suggestion.kinds:
        # Every piece begins at its hem, wherever its file began to draw it.
        first = suggestion.kinds.index(EdgeKind.HEM)
        edges = [*edges[first:], *edges[:first]]
        marked = None if fold is None else (fold - first) % len(edges)
        suggestion = suggest(raw.name, [edge.whole for edge in edges], words, marked)
    return Drawn(piece_id, raw, tuple(edges), tuple(notches), inside, suggestion)


def _outline_of(loop: Loop, noise_mm: float, straight_mm: float, corner_deg: float = CORNER_DEG) -> Outline:
    lines = edge_lines(loop.chain, corners_of(loop.chain, noise_mm, corner_deg), noise_mm, straight_mm)
    outline = read_outline(lines)
    if len(outline.edges) >= 2:
        return outline
    # A ring without corners, or with one, is two edges that meet at its ends.
    whole = outline.edges[0].whole
    half = whole.at_length(whole.length / 2)
    halves = (whole.part(0.0, half), whole.part(half, float(len(whole))))
    return Outline(tuple(DrawnEdge((Stretch(one),)) for one in halves), outline.notches)


def _marked_fold(edges: Sequence[Chain], folds: Sequence[Chain], raw: RawPiece) -> int | None:
    """The straight edge beside which a fold or mirror line runs, or that has no allowance where others have one."""
    best: tuple[float, int] | None = None
    for fold in folds:
        for index, edge in enumerate(edges):
            if not edge.is_straight:
                continue
            gaps = [edge.nearest(point)[1] for point in (fold.start, fold.point(len(fold) / 2), fold.end)]
            if max(gaps) <= _FOLD_MM and (best is None or max(gaps) < best[0]):
                best = (max(gaps), index)
    if best is not None:
        return best[1]
    if raw.stitching is not None:
        bare = [i for i, edge in enumerate(edges) if edge.is_straight and _allowance(edge, raw) < 0.05]
        if len(bare) == 1:
            return bare[0]
    return None


def _allowance(edge: Chain, raw: RawPiece) -> float:
    """How far the cutting line lies outside the middle of an edge (mm)."""
    return raw.outline.chain.nearest(edge.point(edge.at_length(edge.length / 2)))[1]


def drawn_allowances(drawn: Drawn) -> dict[int, float]:
    """The allowance of each edge where the file shows both lines, rounded to 0.1 mm; nothing otherwise."""
    if drawn.raw.stitching is None:
        return {}
    return {i: round(_allowance(edge.whole, drawn.raw), 1) for i, edge in enumerate(drawn.edges)}


def build(drawn: Drawn, answers: Settled) -> Piece:
    """The piece as answered, still on the line that was traced and where it lies in the file.

    Raises PatternError, naming it, where it cannot be.
    """
    edges = list(drawn.edges)
    if answers.square and answers.fold is not None:
        edges = _squared(edges, answers.fold)
    names = answers.names
    ids = [f"{drawn.id}.{slug(name)}" for name in names_for(answers.kinds, answers.fold)]
    finished: list[Edge] = []
    darts: list[Dart] = []
    for index, edge in enumerate(edges):
        runs = []
        for stretch in edge.stretches:
            dart_id = None
            if stretch.dart is not None:
                dart_id = f"{drawn.id}.dart-{len(darts) + 1}"
                name = "dart" if not darts else f"dart {len(darts) + 1}"
                darts.append(Dart(dart_id, name, ids[index], stretch.dart.tip, stretch.dart.tip))
            kind = RunKind.MOUTH if dart_id else RunKind.TRACED
            runs.append(Run(stretch.line, kind, dart_id))
        if index == answers.fold:
            runs = [Run(straight(edge.whole.start, edge.whole.end))]
        finish = _finish(answers.kinds[index], index == answers.fold)
        width = None if index == answers.fold else answers.widths.get(index)
        joints = (None,) * (len(runs) - 1)
        finished.append(Edge(ids[index], names[index], answers.kinds[index], tuple(runs), joints, finish, width))
    return Piece(
        drawn.id,
        answers.name,
        tuple(finished),
        tuple(Corner(f"{drawn.id}.corner-{index + 1}") for index in range(len(finished))),
        size=answers.size,
        notches=_notches(drawn, finished),
        marks=tuple(
            Mark(f"{drawn.id}.{slug(one.name)}-{n}", one.name, one.kind, one.point)
            for n, one in enumerate(drawn.inside.marks, 1)
        ),
        darts=tuple(darts),
        lines=_lines(drawn),
        cutting=(_cutting(drawn, answers),),
        set_in=False if answers.on_cutting_line else None,
    )


def _finish(kind: EdgeKind, on_fold: bool) -> Finish:
    if on_fold:
        return Finish.FOLD
    return Finish.HEM_ONCE if kind in _HEMS else Finish.SEAM


def _cutting(drawn: Drawn, answers: Settled) -> Cutting:
    words = " ".join(drawn.words).lower()
    cloth = Cloth.LINING if "lining" in f"{words} {answers.name.lower()}" else Cloth.SELF
    if answers.fold is not None:
        return Cutting(cloth, Layout.ON_FOLD)
    once = re.search(r"\bcut\s*(1|one)\b", words) is not None
    return Cutting(cloth, Layout.SINGLE if once else Layout.PAIR)


def _lines(drawn: Drawn) -> tuple[Line, ...]:
    found: list[Line] = []
    for line in drawn.inside.lines:
        count = sum(one.kind is line.kind for one in found)
        name = line.name if not count else f"{line.name} {count + 1}"
        found.append(Line(f"{drawn.id}.{slug(name)}", name, line.kind, line.line))
    return tuple(found)


def _notches(drawn: Drawn, edges: Sequence[Edge]) -> tuple[Notch, ...]:
    """The notches on their nearest edges; two that stand close together are one double notch."""
    places: list[tuple[int, float, int, float, str]] = []
    for point, name in drawn.notches:
        best = None
        for index, edge in enumerate(edges):
            if edge.on_fold:
                continue
            for run, one in enumerate(edge.runs):
                if one.kind is RunKind.MOUTH:
                    continue
                u, gap = one.chain.nearest(point)
                if best is None or gap < best[0]:
                    best = (gap, index, run, u, one.chain.length_to(u))
        if best is not None and best[0] <= _NOTCH_MM:
            places.append((best[1], best[4] + 1e6 * best[2], best[2], best[3], name))
    places.sort(key=lambda one: one[:2])
    notches: list[Notch] = []
    group: list[tuple[int, float, int, float, str]] = []
    for place in [*places, None]:
        near = place is not None and group and place[0] == group[-1][0] and place[1] - group[-1][1] <= DOUBLE_MM
        if group and not near:
            notches.append(_notch(drawn, edges, group, len(notches) + 1))
            group = []
        if place is not None:
            group.append(place)
    return tuple(notches)


def _notch(
    drawn: Drawn, edges: Sequence[Edge], group: Sequence[tuple[int, float, int, float, str]], number: int
) -> Notch:
    index, _, run, _, name = group[0]
    chain = edges[index].runs[run].chain
    along = sum(one[1] - 1e6 * one[2] for one in group) / len(group)
    # The same notch drawn twice stands in one place and counts once.
    apart = sorted({round(one[1], 0) for one in group})
    u = chain.at_length(along)
    label = name or f"{edges[index].name} notch"
    return Notch(f"{drawn.id}.notch-{number}", label, Place(edges[index].id, run, u), min(len(apart), 3))


def _squared(edges: list[DrawnEdge], fold: int) -> list[DrawnEdge]:
    """The edges with both neighbours of the fold meeting it at a right angle: straight ones moved, curves bent."""
    line = edges[fold].whole
    along = line.start_tangent
    found = list(edges)
    for at_end in (True, False):
        index = (fold + 1) % len(edges) if at_end else fold - 1
        edge = found[index]
        stretches = list(edge.stretches)
        part = stretches[0 if at_end else -1]
        line_in = part.line if at_end else part.line.backwards()
        squared, corner = _square_start(line_in, along)
        stretches[0 if at_end else -1] = Stretch(squared if at_end else squared.backwards(), part.dart)
        found[index] = DrawnEdge(tuple(stretches))
        ends = (line.start, corner) if at_end else (corner, line.end)
        line = straight(*ends)
    found[fold] = DrawnEdge((Stretch(line),))
    return found


def _square_start(line: Chain, along: Point) -> tuple[Chain, Point]:
    """The line leaving the fold (unit direction ``along``) square; a straight one starts elsewhere on the fold."""
    start = line.start
    if line.is_straight:
        shift = (line.end[0] - start[0]) * along[0] + (line.end[1] - start[1]) * along[1]
        corner = (start[0] + shift * along[0], start[1] + shift * along[1])
        return straight(corner, line.end), corner
    if line.straight[0]:
        far = line.point(1.0)
        shift = (far[0] - start[0]) * along[0] + (far[1] - start[1]) * along[1]
        corner = (start[0] + shift * along[0], start[1] + shift * along[1])
        return joined([straight(corner, far), line.part(1.0, float(len(line)))]), corner
    cubics = line.cubics.copy()
    handle = cubics[0, 1] - cubics[0, 0]
    off = handle[0] * along[0] + handle[1] * along[1]
    cubics[0, 1] -= off * cubics.dtype.type(1) * [along[0], along[1]]
    return Chain(frozen(cubics), line.straight), start


def index_of(drawn: Drawn, word: str) -> int:
    """The index of an edge by its number from 1, its name or its kind. Raises PatternError when there is none."""
    names = drawn.names
    wanted = word.strip().lower()
    if wanted.isdigit() and 1 <= int(wanted) <= len(names):
        return int(wanted) - 1
    for index, name in enumerate(names):
        if wanted in (name, slug(name)):
            return index
    kinds = [kind.value for kind in drawn.suggestion.kinds]
    if kinds.count(wanted) == 1:
        return kinds.index(wanted)
    listed = ", ".join(f"{i} {name}" for i, name in enumerate(names, 1))
    raise PatternError(f"“{drawn.raw.name}” has no edge “{word}”; it has {listed}.", drawn.id)


def right_angle_gap(edges: Sequence[DrawnEdge], fold: int) -> float:
    """How far (degrees) the corners at the fold are from a right angle, the greater of the two."""
    line = edges[fold].whole
    before, after = edges[fold - 1].whole, edges[(fold + 1) % len(edges)].whole
    gaps = []
    for a, b in ((before.end_tangent, line.start_tangent), (line.end_tangent, after.start_tangent)):
        angle = math.degrees(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]))
        gaps.append(abs(90.0 - abs(angle)))
    return max(gaps)


__all__ = ["Drawn", "Settled", "Shape", "build", "draw", "drawn_allowances", "index_of", "right_angle_gap", "slug"]
