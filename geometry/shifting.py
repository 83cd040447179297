"""Edges shifted along one direction, by an amount that changes smoothly from level to level.

By hand: amounts are marked square to the centre at each level and the seam is drawn through the marks, parallel to
the old one where the amounts are the same. The place of every point across the direction is kept, so a shift taken
back gives every curve back. A seam with darts is shifted with its darts folded out, as the paper is held for it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from geometry.crossings import met
from geometry.errors import PatternError
from geometry.kept import frozen
from geometry.lines import Chain, joined, straight, tidied
from geometry.motions import STAY, FloatArray, Motion, Point, turn
from geometry.parallels import Moved
from geometry.pieces import Dart, Edge, Notch, Piece, Place, Run, RunKind, neighbours
from geometry.reseating import lines_reseated
from geometry.tolerances import MEET_MM, MITRE_LIMIT

#: Two levels closer than this are one (mm).
_ONE_LEVEL_MM = 0.5
#: A segment whose control points lie this close to thirds of its chord is straight (mm).
_RULED_MM = 1e-9


@dataclass(frozen=True)
class Shift:
    """How far an edge goes along a unit direction (mm), by the place of each point square to it.

    A place is the distance in mm to the left of the direction through the origin. ``places`` rise; between them the
    amount runs smoothly with the given ``slopes`` (mm per mm), beyond them it stays what it is at the last.
    ``arriving`` are the slopes just before each place where they are others than just after it.
    """

    along: Point
    places: tuple[float, ...]
    amounts: tuple[float, ...]
    slopes: tuple[float, ...]
    arriving: tuple[float, ...] | None = None

    def place(self, point: Point) -> float:
        return self.along[0] * point[1] - self.along[1] * point[0]

    def at(self, places: FloatArray, within: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Amounts (mm) and their slopes at places, read in the stretch between two levels that ``within`` lies in."""
        knots, amounts, slopes = (np.array(row) for row in (self.places, self.amounts, self.slopes))
        arriving = slopes if self.arriving is None else np.array(self.arriving)
        index = np.clip(np.searchsorted(knots, within, side="right") - 1, 0, len(knots) - 2)
        size = knots[index + 1] - knots[index]
        t = np.clip((places - knots[index]) / size, 0.0, 1.0)
        a, b, c, d = amounts[index], amounts[index + 1], slopes[index] * size, arriving[index + 1] * size
        value = (2 * t**3 - 3 * t**2 + 1) * a + (t**3 - 2 * t**2 + t) * c + (3 * t**2 - 2 * t**3) * b
        value += (t**3 - t**2) * d
        slope = (6 * t**2 - 6 * t) * (a - b) + (3 * t**2 - 4 * t + 1) * c + (3 * t**2 - 2 * t) * d
        return value, slope / size

    @property
    def nothing(self) -> bool:
        return not any(self.amounts)


def shift_through(along: Point, amounts: Mapping[float, float], steep_at: Sequence[float] = ()) -> Shift:
    """The shift through amounts (mm) at places (mm), without overshoot, level at both ends.

    At an end named in ``steep_at`` it runs on as it came instead. Slopes are the harmonic means of the neighbouring
    ones, nothing where they change sign (Fritsch and Butland 1984, from memory). Of two places closer than half a
    millimetre the first counts.
    """
    places: list[float] = []
    for place in sorted(amounts):
        if not places or place - places[-1] > _ONE_LEVEL_MM:
            places.append(place)
    if len(places) < 2:
        places = [places[0] - 1.0, places[0]]
    values = [amounts.get(place, amounts[places[-1]]) for place in places]
    rises = [(b - a) / (q - p) for (p, a), (q, b) in pairwise(zip(places, values, strict=True))]
    slopes = [0.0] * len(places)
    for i in range(1, len(places) - 1):
        before, after = rises[i - 1], rises[i]
        slopes[i] = 2 * before * after / (before + after) if before * after > 0 else 0.0
    if places[0] in steep_at:
        slopes[0] = 1.5 * rises[0] - 0.5 * slopes[1]
    if places[-1] in steep_at:
        slopes[-1] = 1.5 * rises[-1] - 0.5 * slopes[-2]
    return Shift(along, tuple(places), tuple(values), tuple(slopes))


def shifted_line(line: Chain, shift: Shift) -> Moved:
    """A line shifted, cut at the levels and otherwise in its old segments; neighbours keep their common tangent."""
    cuts = _cuts(line, shift)
    cubics = np.concatenate([line.part(u, v).cubics for u, v in pairwise(cuts)])
    (ax, ay) = shift.along
    places = ax * cubics[..., 1] - ay * cubics[..., 0]
    middles = places[:, [0, 3]].mean(axis=1, keepdims=True)
    amounts, slopes = shift.at(places[:, [0, 3]], np.broadcast_to(middles, (len(places), 2)))
    away = np.stack(
        [
            amounts[:, 0],
            amounts[:, 0] + slopes[:, 0] * (places[:, 1] - places[:, 0]),
            amounts[:, 1] - slopes[:, 1] * (places[:, 3] - places[:, 2]),
            amounts[:, 1],
        ],
        axis=1,
    )
    new = cubics + away[..., None] * np.array(shift.along)
    new[1:, 0] = new[:-1, 3]
    thirds = new[:, :1] + np.array([0.0, 1 / 3, 2 / 3, 1.0])[None, :, None] * (new[:, 3:] - new[:, :1])
    ruled = np.abs(new - thirds).max(axis=(1, 2)) < _RULED_MM
    new[ruled] = thirds[ruled]
    return Moved(Chain(frozen(new), frozen(ruled)), np.array(cuts[:-1]), np.array(cuts[1:]))


def _cuts(line: Chain, shift: Shift) -> list[float]:
    """The parameters where a line is cut: between its segments, and where it crosses a level inside one."""
    (ax, ay) = shift.along
    cuts = {float(u) for u in range(len(line) + 1)}
    for place in shift.places:
        for u in line.crossings((-ay * place, ax * place), shift.along):
            segment = line.cubics[min(int(u), len(line) - 1)]
            if min(math.dist(line.point(u), segment[0]), math.dist(line.point(u), segment[3])) > 10 * MEET_MM:
                cuts.add(u)
    return sorted(cuts)


def edge_shifted(
    piece: Piece, edge_id: str, shift: Shift, follow: Sequence[str] = (), fixed_end: str = "start"
) -> Piece:
    """The piece with one edge shifted, corners included.

    A neighbour named in ``follow`` is shifted along as far as the shift's last place; any other is trimmed or run on
    straight to meet the edge. Where the edge has darts the part beyond a dart, seen from ``fixed_end``, is shifted
    with the dart folded out. Raises PatternError where the edges no longer meet, a notch would be cut away, or the
    outline would cross itself.
    """
    if shift.nothing:
        return piece
    return _Shifting(piece, piece.edge(edge_id), shift, tuple(follow), fixed_end).result()


class _Shifting:
    """One edge being shifted: its new runs, its neighbours, and where each old run went."""

    def __init__(self, piece: Piece, edge: Edge, shift: Shift, follow: tuple[str, ...], fixed_end: str) -> None:
        self.piece, self.edge, self.shift, self.follow = piece, edge, shift, follow
        self.frames = run_frames(piece, edge, fixed_end)
        self.went: dict[tuple[str, int], _Carried] = {}
        self.followed: dict[tuple[str, int], tuple[Chain, _Carried]] = {}
        self.edges: dict[str, Edge] = {}

    def result(self) -> Piece:
        runs = list(self.edge.runs)
        for i, (run, frame) in enumerate(zip(self.edge.runs, self.frames, strict=True)):
            if run.kind is not RunKind.MOUTH:
                self.went[self.edge.id, i] = went = _in_frame(run.chain, self.shift, frame)
                runs[i] = replace(run, chain=went.line)
        for i, run in enumerate(runs):
            if run.kind is RunKind.MOUTH:
                runs[i] = replace(run, chain=straight(runs[i - 1].chain.end, runs[i + 1].chain.start))
        for at_start in (True, False):
            index = 0 if at_start else -1
            runs[index] = replace(runs[index], chain=self._neighbour(runs[index].chain, at_start))
        self.edges[self.edge.id] = replace(self.edge, runs=tuple(runs))
        outline = tuple(self.edges.get(old.id, old) for old in self.piece.edges)
        notches = tuple(self._notch(notch) for notch in self.piece.notches)
        darts = tuple(self._dart(dart, runs) for dart in self.piece.darts)
        lines = lines_reseated(self.piece, self.edges, 1.5 * max(map(abs, self.shift.amounts)) + 1.0)
        return replace(self.piece, edges=outline, notches=notches, darts=darts, lines=lines)

    def _neighbour(self, mine: Chain, at_start: bool) -> Chain:
        """Brings the neighbour at one end and the shifted line together; gives the line, run on or trimmed."""
        which = neighbours(self.piece, self.edge.id)[0 if at_start else 1]
        edge = self.edges.get(which.id, which)
        index = len(edge.runs) - 1 if at_start else 0
        old, corner = edge.runs[index].chain, mine.start if at_start else mine.end
        if math.dist(old.end if at_start else old.start, corner) <= MEET_MM:
            return mine
        if edge.id in self.follow:
            new = self._followed(edge, index, at_start)
        else:
            reach = MITRE_LIMIT * max(abs(amount) for amount in self.shift.amounts) + 1.0
            found = met(old, mine, reach) if at_start else met(mine, old, reach)
            if found is None:
                raise PatternError(
                    f"The redrawn “{self.edge.name}” of “{self.piece.name}” would no longer meet “{edge.name}”; "
                    "change it by less.",
                    self.piece.id,
                    edge.id,
                    corner,
                )
            new, mine = (tidied(one) for one in (found if at_start else reversed(found)))
        runs = list(edge.runs)
        runs[index] = replace(runs[index], chain=new)
        self.edges[edge.id] = replace(edge, runs=tuple(runs))
        return mine

    def _followed(self, edge: Edge, index: int, at_start: bool) -> Chain:
        """The neighbour's line shifted from the corner on, until it first leaves the shift's places."""
        old = edge.runs[index].chain
        frame = self.frames[0 if at_start else -1]
        folded = old.moved(frame)
        (ax, ay), whole = self.shift.along, float(len(old))
        corner = folded.end if at_start else folded.start
        rising = self.shift.place(folded.point(whole / 2)) > self.shift.place(corner)
        last = self.shift.places[-1 if rising else 0]
        found = folded.crossings((-ay * last, ax * last), self.shift.along)
        stop = (max if at_start else min)(found, default=0.0 if at_start else whole)
        moving = old.part(stop, whole) if at_start else old.part(0.0, stop)
        went = _in_frame(moving, self.shift, frame)
        self.followed[edge.id, index] = (moving, went)
        rest = [] if stop in (0.0, whole) else [old.part(0.0, stop) if at_start else old.part(stop, whole)]
        return tidied(joined([*rest, went.line] if at_start else [went.line, *rest]))

    def _notch(self, notch: Notch) -> Notch:
        place = notch.place
        if place.edge not in self.edges:
            return notch
        old, new = self.piece.run_at(place).chain, self.edges[place.edge].runs[place.run].chain
        if new is old:
            return notch
        point = self._went(place, old.point(place.u))
        u, gap = new.nearest(point)
        if gap > 0.5:
            raise PatternError(
                f"Notch “{notch.name}” of “{self.piece.name}” would be cut away; change it by less.",
                self.piece.id,
                place.edge,
                point,
            )
        return replace(notch, place=replace(place, u=u))

    def _dart(self, dart: Dart, runs: Sequence[Run]) -> Dart:
        """A dart of the shifted edge, its sewn point turned about the bust point so that the legs stay equal."""
        for old, new in zip(self.edge.runs, runs, strict=True):
            if old.dart == dart.id:
                x, y = dart.bust_point
                was, now = (math.atan2(m[1] - y, m[0] - x) for m in (run.chain.point(0.5) for run in (old, new)))
                turned = turn(math.degrees(now - was), dart.bust_point)
                return replace(dart, sewn_point=turned.point(dart.sewn_point))
        return dart

    def _went(self, place: Place, point: Point) -> Point:
        key = (place.edge, place.run)
        if key in self.went:
            return self.went[key].point(place.u)
        if key in self.followed:
            moving, went = self.followed[key]
            u, gap = moving.nearest(point)
            return went.point(u) if gap <= MEET_MM else point
        return point


def run_frames(piece: Piece, edge: Edge, fixed_end: str) -> list[Motion]:
    """The motion of each run of an edge when its darts are folded out, nothing for the run at ``fixed_end``."""
    darts = {dart.id: dart.bust_point for dart in piece.darts}
    order = range(len(edge.runs)) if fixed_end == "start" else range(len(edge.runs) - 1, -1, -1)
    frames, frame = [STAY] * len(edge.runs), STAY
    for i in order:
        run = edge.runs[i]
        if run.kind is RunKind.MOUTH and run.dart in darts:
            apex = darts[run.dart]
            near, far = (run.chain.start, run.chain.end) if fixed_end == "start" else (run.chain.end, run.chain.start)
            angles = [math.degrees(math.atan2(p[1] - apex[1], p[0] - apex[0])) for p in (near, far)]
            frame = turn((angles[0] - angles[1] + 180) % 360 - 180, apex).then(frame)
        frames[i] = frame
    return frames


@dataclass(frozen=True, eq=False)
class _Carried:
    """How the points of an old line went: its shifted line, in the frame that it was shifted in."""

    moved: Moved
    frame: Motion

    @property
    def line(self) -> Chain:
        return tidied(self.moved.line).moved(self.frame.undone())

    def point(self, u: float) -> Point:
        return self.frame.undone().point(self.moved.line.point(self.moved.parameter(u)))


def _in_frame(line: Chain, shift: Shift, frame: Motion) -> _Carried:
    return _Carried(shifted_line(line.moved(frame), shift), frame)
