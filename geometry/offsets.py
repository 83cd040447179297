"""An edge's stitching line moved in or out, with the neighbouring edges run on or trimmed to meet it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.crossings import crossings, lengthened, met, snapped
from geometry.errors import PatternError
from geometry.joints import STEP_DEG, turn_deg
from geometry.lines import Chain, joined, straight
from geometry.motions import FloatArray, Point
from geometry.notes import edge_run_length, length_at
from geometry.parallels import Moved, Profile, moved_line
from geometry.pieces import Edge, Joint, Line, Notch, Piece, Place, Run, RunKind, neighbours
from geometry.tolerances import MEET_MM, MITRE_LIMIT

#: The largest amount that fits is found to this (mm).
_STEP_MM = 0.1


def offset_edge(
    piece: Piece, edge_id: str, outward_mm: float, nothing_at: Place | None = None, full_end: str | None = None
) -> Piece:
    """The piece with one edge's stitching line moved outward by ``outward_mm`` (inward when negative).

    With ``nothing_at``, a place on the edge, the move dies away smoothly from the whole amount at ``full_end``
    ("start" or "end" in outline order; by default the end further away) to nothing there, and the rest stays.
    Neighbouring edges are trimmed where they cross the moved line, or run on straight to it; a dart's mouth
    follows its legs; notches are carried square; ids are kept.

    Raises PatternError with the place and the largest amount that fits where the outline would cross itself or
    a notch would be cut away, and where the edge lies on the fold.
    """
    edge = piece.edge(edge_id)
    if not math.isfinite(outward_mm):
        raise PatternError("The amount a seam is moved by must be a number.", piece.id, edge_id)
    if outward_mm == 0.0:
        return piece
    return _moved_or_refused(piece, edge, outward_mm, _fade(piece, edge, nothing_at, full_end))


def offset_edges(piece: Piece, edge_ids: Sequence[str], outward_mm: float, fade: Fade | None = None) -> Piece:
    """Edges that run on smoothly into each other, in outline order, moved as one line; see ``offset_edge``.

    ``fade`` counts mm of sewn length from the start of the first edge. Raises PatternError as ``offset_edge`` does.
    """
    if len(edge_ids) == 1 or outward_mm == 0.0:
        if outward_mm == 0.0:
            return piece
        return _moved_or_refused(piece, piece.edge(edge_ids[0]), outward_mm, fade)
    parts = [piece.edge(edge_id) for edge_id in edge_ids]
    one, begun = _as_one(piece, parts)
    moved = _moved_or_refused(one, one.edge(parts[0].id), outward_mm, fade)
    runs = moved.edge(parts[0].id).runs
    back = {e.id: replace(e, runs=runs[begun[e.id] : begun[e.id] + len(e.runs)]) for e in parts}
    edges = tuple(back.get(edge.id) or moved.edge(edge.id) for edge in piece.edges)
    notches = tuple(_handed_back(old, new, begun) for old, new in zip(piece.notches, moved.notches, strict=True))
    return replace(piece, edges=edges, notches=notches, lines=moved.lines)


def _as_one(piece: Piece, parts: Sequence[Edge]) -> tuple[Piece, dict[str, int]]:
    """The piece with consecutive edges as one edge under the first one's id, and at which run each begins."""
    begun = {}
    count = 0
    for part in parts:
        begun[part.id] = count
        count += len(part.runs)
    joints: list[Joint | None] = list(parts[0].joints)
    for part in parts[1:]:
        joints += [None, *part.joints]
    whole = replace(parts[0], runs=tuple(run for part in parts for run in part.runs), joints=tuple(joints))
    first = [edge.id for edge in piece.edges].index(parts[0].id)
    turned = piece.edges[first:] + piece.edges[:first]
    corners = piece.corners[first:] + piece.corners[:first]
    edges = (whole, *turned[len(parts) :])
    notches = tuple(
        replace(n, place=Place(whole.id, n.place.run + begun[n.place.edge], n.place.u)) if n.place.edge in begun else n
        for n in piece.notches
    )
    darts = tuple(replace(d, edge=whole.id) if d.edge in begun else d for d in piece.darts)
    corners = (corners[0], *corners[len(parts) :])
    return replace(piece, edges=edges, corners=corners, notches=notches, darts=darts), begun


def _handed_back(old: Notch, new: Notch, begun: dict[str, int]) -> Notch:
    if old.place.edge not in begun:
        return new
    return replace(new, place=Place(old.place.edge, new.place.run - begun[old.place.edge], new.place.u))


def _moved_or_refused(piece: Piece, edge: Edge, outward_mm: float, fade: Fade | None) -> Piece:
    if edge.on_fold:
        raise PatternError(f"“{edge.name}” of “{piece.name}” lies on the fold; no seam is there.", piece.id, edge.id)
    try:
        return _with_edge_moved(piece, edge, outward_mm, fade)
    except PatternError as error:
        fits = _largest(piece, edge, outward_mm, fade)
        kind = "let out" if outward_mm > 0 else "taken in"
        amount = f"it fits up to {fits:.1f} mm" if fits > 0 else "no amount fits"
        place = error.point or edge.chain.point(len(edge.chain) / 2)
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” cannot be {kind} by {abs(outward_mm):.4g} mm: {amount}. {error.says}",
            piece.id,
            edge.id,
            place,
        ) from error


@dataclass(frozen=True)
class Fade:
    """A move that is nothing up to one length along an edge (mm, sewn length) and whole from another on.

    Either may lie beyond the edge, where the move goes on along the next edge of the seam.
    """

    nothing: float
    whole: float

    def part(self, length: float) -> float:
        """Which part of the move, 0 to 1, is made at a length along the edge."""
        share = min(max((length - self.nothing) / (self.whole - self.nothing), 0.0), 1.0)
        return share * share * (3 - 2 * share)

    def profile(self, amount: float, begun: float) -> Profile:
        """Distance and slope for a run that begins ``begun`` mm along the edge."""
        span = self.whole - self.nothing

        def at(lengths: FloatArray) -> tuple[FloatArray, FloatArray]:
            share = np.clip((lengths + begun - self.nothing) / span, 0.0, 1.0)
            return amount * share * share * (3 - 2 * share), amount * 6 * share * (1 - share) / span

        return at


def _fade(piece: Piece, edge: Edge, nothing_at: Place | None, full_end: str | None) -> Fade | None:
    if nothing_at is None:
        return None
    whole = edge_run_length(edge)
    nothing = length_at(edge, nothing_at)
    at_start = nothing >= whole / 2 if full_end is None else full_end == "start"
    full = 0.0 if at_start else whole
    if nothing_at.edge != edge.id or abs(full - nothing) <= MEET_MM:
        raise PatternError(
            f"The place where the move of “{edge.name}” runs to nothing must lie on it, away from the end that moves.",
            piece.id,
            edge.id,
        )
    return Fade(nothing, full)


@dataclass(frozen=True, eq=False)
class MovedRun:
    """A run of an edge with its moved line (None for a dart's mouth) and the part of it that is kept."""

    run: Run
    moved: Moved | None
    chain: Chain


def moved_runs(piece: Piece, edge: Edge, distance: float, fade: Fade | None = None) -> list[MovedRun]:
    """The runs of an edge moved outward by ``distance`` mm, mouth ends sliding along the dart's legs."""
    runs: list[MovedRun] = []
    begun = 0.0
    for run in edge.runs:
        if run.kind is RunKind.MOUTH:
            runs.append(MovedRun(run, None, run.chain))
            continue
        moved = _faded(run.chain, distance, fade, begun) if fade else moved_line(run.chain, distance)
        runs.append(MovedRun(run, moved, moved.line))
        begun += run.chain.length
    return _mouths_closed(piece, edge, runs, distance)


def _faded(line: Chain, amount: float, fade: Fade, begun: float) -> Moved:
    """A run moved by a fading amount, cut where the move begins, so that the rest stays exactly as it was."""
    profile = fade.profile(amount, begun)
    at = line.at_length(fade.nothing - begun)
    if not 1e-9 < at % 1.0 < 1 - 1e-9:
        return moved_line(line, amount, profile)
    moved = moved_line(joined([line.part(0.0, at), line.part(at, float(len(line)))]), amount, profile)
    old = np.sort(np.append(np.arange(len(line) + 1.0), at))
    low, high = (np.interp(us, np.arange(len(old)), old) for us in (moved.low, moved.high))
    return Moved(moved.line, low, high)


def _mouths_closed(piece: Piece, edge: Edge, runs: list[MovedRun], distance: float) -> list[MovedRun]:
    """Lines on either side of a dart brought to its legs, and the mouth drawn straight between them."""
    reach = MITRE_LIMIT * abs(distance) + 1.0
    apexes = {dart.id: dart.sewn_point for dart in piece.darts}
    for i, one in enumerate(runs):
        if one.moved is not None or one.run.dart not in apexes:
            continue
        apex, mouth = apexes[one.run.dart], one.run.chain
        start, end = mouth.start, mouth.end
        if i > 0 and runs[i - 1].moved is not None:
            line = _to_leg(piece, edge, runs[i - 1].chain.backwards(), apex, start, reach).backwards()
            runs[i - 1], start = replace(runs[i - 1], chain=line), line.end
        if i + 1 < len(runs) and runs[i + 1].moved is not None:
            line = _to_leg(piece, edge, runs[i + 1].chain, apex, end, reach)
            runs[i + 1], end = replace(runs[i + 1], chain=line), line.start
        runs[i] = replace(one, chain=straight(start, end))
    return runs


def _to_leg(piece: Piece, edge: Edge, line: Chain, apex: Point, mouth: Point, reach: float) -> Chain:
    """A line that leads away from a dart's leg, trimmed or run back straight to the leg."""
    longer = lengthened(line, before=reach)
    along = (mouth[0] - apex[0], mouth[1] - apex[1])
    found = [u for u in longer.crossings(apex, along) if u < len(longer) - 1e-9]
    if not found:
        raise PatternError(f"The moved line misses the leg of a dart on “{edge.name}”.", piece.id, edge.id, mouth)
    nearest = min(found, key=lambda u: math.dist(longer.point(u), line.start))
    return longer.part(snapped(longer, nearest), float(len(longer)))


def _with_edge_moved(piece: Piece, edge: Edge, amount: float, fade: Fade | None) -> Piece:
    runs = moved_runs(piece, edge, amount, fade)
    before, after = neighbours(piece, edge.id)
    edges = {}
    if fade is None or fade.part(0.0) > 0.0:
        arriving, leaving = _meet(piece, before, edge, before.runs[-1].chain, runs[0].chain, amount)
        runs[0] = replace(runs[0], chain=leaving)
        edges[before.id] = _with_run(before, -1, arriving)
    if fade is None or fade.part(edge_run_length(edge)) > 0.0:
        arriving, leaving = _meet(piece, edge, after, runs[-1].chain, after.runs[0].chain, amount)
        runs[-1] = replace(runs[-1], chain=arriving)
        edges[after.id] = _with_run(edges.get(after.id, after), 0, leaving)
    edges[edge.id] = replace(edge, runs=tuple(replace(one.run, chain=one.chain) for one in runs))
    notches = tuple(_carried(piece, notch, edges, runs, edge.id) for notch in piece.notches)
    lines = tuple(_line_to_edge(line, edge.chain, edges[edge.id].chain, amount) for line in piece.lines)
    outline = tuple(edges.get(old.id, old) for old in piece.edges)
    return replace(piece, edges=_closed(outline, piece), notches=notches, lines=lines)


def _meet(piece: Piece, first: Edge, second: Edge, one: Chain, other: Chain, amount: float) -> tuple[Chain, Chain]:
    found = met(one, other, MITRE_LIMIT * abs(amount))
    if found is None:
        corner = second.start
        if abs(turn_deg(first.chain.end_tangent, second.chain.start_tangent)) < STEP_DEG:
            says = f"“{first.name}” runs on into “{second.name}” there; let the move run to nothing at that end."
        else:
            says = f"“{first.name}” and “{second.name}” would no longer meet."
        raise PatternError(says, piece.id, second.id, corner)
    return found


def _with_run(edge: Edge, index: int, line: Chain) -> Edge:
    runs = list(edge.runs)
    runs[index] = replace(runs[index], chain=line)
    return replace(edge, runs=tuple(runs))


def _closed(edges: tuple[Edge, ...], piece: Piece) -> tuple[Edge, ...]:
    """A two-edged piece has the moved edge on both sides of its neighbour; the outline must still be closed."""
    for edge, following in zip(edges, edges[1:] + edges[:1], strict=True):
        if math.dist(edge.end, following.start) > MEET_MM:
            raise PatternError(f"“{edge.name}” would no longer meet “{following.name}”.", piece.id, edge.id, edge.end)
    return edges


def _carried(piece: Piece, notch: Notch, edges: dict[str, Edge], runs: list[MovedRun], moved_id: str) -> Notch:
    """A notch carried square to the moved line, or kept in its place on a neighbour."""
    place = notch.place
    if place.edge not in edges:
        return notch
    point = piece.point_at(place)
    source = runs[place.run].moved if place.edge == moved_id else None
    if source is not None:
        point = source.line.point(source.parameter(place.u))
    u, gap = edges[place.edge].runs[place.run].chain.nearest(point)
    if gap > 10 * MEET_MM:
        raise PatternError(f"Notch “{notch.name}” would be cut away.", piece.id, place.edge, point)
    return replace(notch, place=replace(place, u=u))


def _line_to_edge(line: Line, old: Chain, new: Chain, amount: float) -> Line:
    """A straight line on the piece that ended on the moved edge, run on or trimmed to end on it again."""
    if not line.chain.is_straight:
        return line
    ends = [line.chain.start, line.chain.end]
    reach = MITRE_LIMIT * abs(amount)
    for i, end in enumerate(ends):
        if old.nearest(end)[1] > 0.01:
            continue
        other = ends[1 - i]
        size = math.dist(end, other)
        beyond = (end[0] + reach * (end[0] - other[0]) / size, end[1] + reach * (end[1] - other[1]) / size)
        hits = [one.point for one in crossings(straight(other, beyond), new)]
        ends[i] = min(hits, key=lambda hit: math.dist(hit, end), default=end)
    if ends == [line.chain.start, line.chain.end]:
        return line
    return replace(line, chain=straight(ends[0], ends[1]))


def _largest(piece: Piece, edge: Edge, wanted: float, fade: Fade | None) -> float:
    """The largest amount (mm, not negative) on the wanted side that fits, rounded down to _STEP_MM."""
    low, high = 0, math.ceil(abs(wanted) / _STEP_MM)
    while high - low > 1:
        middle = (low + high) // 2
        try:
            _with_edge_moved(piece, edge, math.copysign(middle * _STEP_MM, wanted), fade)
            low = middle
        except PatternError:
            high = middle
    return low * _STEP_MM
