"""Jogs: where the runs of an edge do not meet fairly, how large they are, and between which fixed points each lies."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from geometry.fairness import angle_between, senses
from geometry.kept import kept_property
from geometry.lines import Chain, joined, straight
from geometry.motions import FloatArray, Point
from geometry.notes import AS_USUAL, BlendChoice
from geometry.pieces import LEVELS, Edge, Joint, Piece, Run, RunKind
from geometry.tolerances import HEAL_RAD, MEET_MM

_STEEP = 0.2
_NO_LENGTH = 1e-6
#: So much of a line is left where another is ruled on along it (mm).
_LEAST_LEFT_MM = 10.0


class Spot(NamedTuple):
    """A place on a band: which of its old lines, and mm from that line's start."""

    line: int
    at: float


_FIRST = Spot(0, 0.0)


@dataclass(frozen=True, eq=False)
class Jog:
    """Where old line ``index`` of a band ends and the next begins.

    ``jog_mm`` as in ``jog_size``; ``kink`` is the turn between them in radians, left positive; ``overlap`` is how far
    the next one starts back beside the first, in mm (0 where there is a gap).
    """

    index: int
    note: str
    jog_mm: float
    kink: float
    overlap: float


@dataclass(frozen=True, eq=False)
class Band:
    """A stretch of an edge from corner or dart mouth to corner or dart mouth: old lines and the jogs between them.

    ``first`` is the number of its first run on the edge; ``sources`` gives the run numbers on the edge that it covers.
    """

    lines: tuple[Chain, ...]
    jogs: tuple[Jog, ...]
    sources: tuple[int, ...]

    @property
    def first_spot(self) -> Spot:
        return _FIRST

    @kept_property
    def last_spot(self) -> Spot:
        return Spot(len(self.lines) - 1, self.lines[-1].length)

    @kept_property
    def senses(self) -> tuple[FloatArray, FloatArray]:
        """Which way the old lines turn, and where they begin to turn the other way: see ``fairness.senses``."""
        return senses(self.lines)

    def walked(self, spot: Spot, distance: float) -> Spot:
        """The place ``distance`` mm further along the old lines (back when negative), kept on the band."""
        line, at = spot.line, spot.at + distance
        while at > self.lines[line].length and line + 1 < len(self.lines):
            at -= self.lines[line].length
            line += 1
        while at < 0 and line > 0:
            line -= 1
            at += self.lines[line].length
        return Spot(line, min(max(at, 0.0), self.lines[line].length))

    def between(self, start: Spot, end: Spot) -> float:
        """Length in mm along the old lines from one place to another."""
        inner = sum(line.length for line in self.lines[start.line : end.line])
        return inner + end.at - start.at

    def before(self, jog: Jog) -> Spot:
        """Where the old line ends at a jog."""
        return Spot(jog.index, self.lines[jog.index].length)

    def after(self, jog: Jog) -> Spot:
        """Where the next old line begins at a jog."""
        return Spot(jog.index + 1, 0.0)

    def parts(self, start: Spot, end: Spot) -> list[Chain]:
        """The old lines between two places; a line of no length is a speck that still tells its direction."""
        if (start, end) not in self._parts:
            self._parts[start, end] = [
                _part(
                    line,
                    start.at if index == start.line else 0.0,
                    end.at if index == end.line else line.length,
                    last=index == end.line,
                )
                for index, line in enumerate(self.lines[start.line : end.line + 1], start.line)
            ]
        return list(self._parts[start, end])

    @kept_property
    def _parts(self) -> dict[tuple[Spot, Spot], list[Chain]]:
        """Parts that were asked for already."""
        return {}


@dataclass(frozen=True, eq=False)
class Stretch:
    """What one solve redraws: from ``start`` to ``end``, both held; ``jogs`` lie between.

    ``held_from`` and ``held_to`` are the fixed points on either side, which may lie further out.
    """

    start: Spot
    end: Spot
    held_from: Spot
    held_to: Spot
    jogs: tuple[Jog, ...]


def bands_of(edge: Edge) -> list[Band | int]:
    """The bands of an edge and, between them, the number of the (first) run that crosses a dart mouth."""
    found: list[Band | int] = []
    members: list[int] = []
    for index, run in enumerate(edge.runs):
        if run.kind is not RunKind.MOUTH:
            members.append(index)
            continue
        if members:
            found.append(_band(edge, members))
            members = []
        same_mouth = index and edge.runs[index - 1].kind is RunKind.MOUTH and edge.runs[index - 1].dart == run.dart
        if not same_mouth:
            found.append(index)
    if members:
        found.append(_band(edge, members))
    return found


def mouth_members(edge: Edge, index: int) -> tuple[int, ...]:
    """The numbers of the runs that cross the same dart mouth as run ``index``, from there on."""
    last = index
    while last + 1 < len(edge.runs) and edge.runs[last + 1].kind is RunKind.MOUTH:
        if edge.runs[last + 1].dart != edge.runs[index].dart:
            break
        last += 1
    return tuple(range(index, last + 1))


def mouth_run(edge: Edge, index: int) -> Run:
    """The dart mouth that starts with run ``index``, straight from its first end to its last."""
    members = mouth_members(edge, index)
    if len(members) == 1:
        return edge.runs[index]
    first, last = edge.runs[index], edge.runs[members[-1]]
    return Run(straight(first.chain.start, last.chain.end), RunKind.MOUTH, first.dart)


def _band(edge: Edge, members: list[int]) -> Band:
    lines: list[Chain] = []
    jogs: list[Jog] = []
    real = [i for i in members if edge.runs[i].kind is not RunKind.FILLED]
    first, last = (real[0], real[-1]) if real else (members[-1] + 1, members[-1] + 1)
    previous: int | None = None
    for index in members:
        if edge.runs[index].kind is RunKind.FILLED and first < index < last:
            continue
        chain = edge.runs[index].chain
        jog = None
        if previous is not None:
            joints = [joint for joint in edge.joints[previous:index] if joint is not None]
            jog = _jog(len(lines) - 1, lines[-1], chain, joints)
        if jog is not None:
            jogs.append(jog)
        if jog is not None or previous is None:
            lines.append(chain)
        else:
            lines[-1] = joined([lines[-1], chain])
        previous = index
    _mouth_gaps(edge, members, lines, jogs)
    _run_across(edge, members, lines, jogs)
    return Band(tuple(lines), tuple(jogs), tuple(members))


def _mouth_gaps(edge: Edge, members: list[int], lines: list[Chain], jogs: list[Jog]) -> None:
    """Where a run has come away from a dart mouth, a speck at the mouth's end stands for the line beyond the jog."""
    first, last = members[0], members[-1]
    if first and math.dist(edge.runs[first - 1].chain.end, lines[0].start) > MEET_MM:
        lines.insert(0, _speck(edge.runs[first - 1].chain.end, lines[0].start_tangent, last=False))
        jogs[:] = [replace(jog, index=jog.index + 1) for jog in jogs]
        found = _jog(0, lines[0], lines[1], [j for j in [edge.joints[first - 1]] if j])
        jogs[:0] = [found] if found else []
    if last + 1 < len(edge.runs) and math.dist(lines[-1].end, edge.runs[last + 1].chain.start) > MEET_MM:
        lines.append(_speck(edge.runs[last + 1].chain.start, lines[-1].end_tangent, last=True))
        found = _jog(len(lines) - 2, lines[-2], lines[-1], [j for j in [edge.joints[last]] if j])
        jogs += [found] if found else []


def _run_across(edge: Edge, members: list[int], lines: list[Chain], jogs: list[Jog]) -> None:
    """Where a line ruled on to a corner turns back against the line beside it, it is ruled on to where they meet again.

    A neckline that turned with its paper dips below the square line from the ruled centre: the hollow is filled, as
    following it would leave a peak at the centre.
    """
    if members[0] == 0 and edge.runs[0].kind is RunKind.FILLED and len(lines) > 1:
        met = _met_again(lines[1].backwards(), lines[0].backwards(), -1.0)
        if met is not None:
            lines[:2] = [line.backwards() for line in reversed(met)]
            found = _jog(0, lines[0], lines[1], [j for j in [edge.joints[0]] if j])
            jogs[:1] = [found] if found else []
    if members[-1] == len(edge.runs) - 1 and edge.runs[-1].kind is RunKind.FILLED and len(lines) > 1:
        met = _met_again(lines[-2], lines[-1], 1.0)
        if met is not None:
            lines[-2:] = met
            found = _jog(len(lines) - 2, met[0], met[1], [j for j in [edge.joints[-1]] if j])
            jogs[-1:] = [found] if found else []


def _met_again(line: Chain, ruled: Chain, inside: float) -> tuple[Chain, Chain] | None:
    """A line, and the ruled one that goes on from its end, cut and run back to where they first meet again.

    ``inside`` is 1 where the paper lies left of them, -1 where right; None where there is no hollow to fill.
    """
    hollow = inside * angle_between(line.end_tangent, ruled.start_tangent) > 0
    if not (hollow and ruled.is_straight and math.dist(line.end, ruled.start) <= MEET_MM):
        return None
    lengths = ((u, line.length_to(u)) for u in line.crossings(ruled.end, ruled.start_tangent))
    met = [u for u, length in lengths if _LEAST_LEFT_MM < length < line.length - MEET_MM]
    return (line.part(0.0, met[-1]), straight(line.point(met[-1]), ruled.end)) if met else None


def _jog(index: int, before: Chain, after: Chain, joints: Sequence[Joint]) -> Jog | None:
    first, second = before.end_tangent, after.start_tangent
    kink = angle_between(first, second)
    gap = (after.start[0] - before.end[0], after.start[1] - before.end[1])
    if math.hypot(*gap) <= MEET_MM and abs(kink) <= HEAL_RAD:
        return None
    note = joints[0].note if joints else ""
    size = jog_size(gap, first, second, joints[0].along if joints else None)
    mean = (first[0] + second[0], first[1] + second[1])
    overlap = max(-(gap[0] * mean[0] + gap[1] * mean[1]) / max(math.hypot(*mean), 1e-9), 0.0)
    return Jog(index, note, size, kink, overlap)


def jog_size(gap: Point, before: Point, after: Point, along: Point | None) -> float:
    """How far two old lines miss each other, in mm, measured along the cut.

    gap: from the end of the one to the start of the next; before, after: their unit tangents there; along: unit
    direction of the cut. Paper added square to the cut is no jog; what the lean of the lines makes of it is. Where a
    line runs along the cut the distance is taken square to the mean tangent.
    """
    if along is not None:
        across = (-along[1], along[0])
        rise = [t[0] * across[0] + t[1] * across[1] for t in (before, after)]
        if min(abs(r) for r in rise) > _STEEP:
            lean = sum((t[0] * along[0] + t[1] * along[1]) / r for t, r in zip((before, after), rise, strict=True))
            alpha = gap[0] * along[0] + gap[1] * along[1]
            beta = gap[0] * across[0] + gap[1] * across[1]
            return abs(alpha - beta / 2 * lean)
    mean = (before[0] + after[0], before[1] + after[1])
    size = math.hypot(*mean)
    return abs(gap[0] * mean[1] - gap[1] * mean[0]) / size if size > 1e-9 else math.hypot(*gap)


def stretches_of(band: Band, fixed: Sequence[Spot], choices: Mapping[str, BlendChoice]) -> list[Stretch]:
    """What is redrawn together: each jog runs to the fixed points beside it or as far as chosen; overlaps are one."""
    found: list[Stretch] = []
    for jog in band.jogs:
        choice = choices.get(jog.note, AS_USUAL)
        before, after = band.before(jog), band.after(jog)
        held_from, held_to = band.first_spot, band.last_spot
        for spot in fixed:
            if held_from < spot <= before:
                held_from = spot
            if after <= spot < held_to:
                held_to = spot
        start, end = held_from, held_to
        if choice.before is not None:
            start = max(start, band.walked(before, -max(choice.before, 0.0)))
        if choice.after is not None:
            end = min(end, band.walked(after, max(choice.after, 0.0)))
        if found and found[-1].end > start:
            last = found.pop()
            start, end = min(last.start, start), max(last.end, end)
            held_from, held_to = min(last.held_from, held_from), max(last.held_to, held_to)
            found.append(Stretch(start, end, held_from, held_to, (*last.jogs, jog)))
        else:
            found.append(Stretch(start, end, held_from, held_to, (jog,)))
    return found


@dataclass(frozen=True, eq=False)
class LevelLine:
    """A bust, waist or hip line run on both ways: along it (mm from its start), where it ends and meets the outline.

    ``met`` names the edges it meets, with True where that is at a dart mouth; ``crossed`` says where each run's
    chain is crossed (see ``_crossings``).
    """

    start: Point
    way: Point
    ends: tuple[float, float]
    met: tuple[tuple[str, bool, float], ...]
    crossed: Mapping[Chain, list[tuple[float, float]]]


def levels_of(piece: Piece) -> list[LevelLine]:
    """The straight bust, waist and hip lines of a piece, with all places where they meet its outline."""
    runs = [(edge.id, run.kind is RunKind.MOUTH, run.chain) for edge in piece.edges for run in edge.runs]
    spreads = dict[Point, list[tuple[float, float]]]()
    found = []
    for line in piece.lines:
        if line.kind in LEVELS and line.chain.is_straight:
            start, way = line.chain.start, line.chain.start_tangent
            met, crossed = list[tuple[str, bool, float]](), dict[Chain, list[tuple[float, float]]]()
            if way not in spreads:
                spreads[way] = [chain.spread(-way[1], way[0]) for _, _, chain in runs]
            level = way[0] * start[1] - way[1] * start[0]
            for (edge_id, mouth, chain), (low, high) in zip(runs, spreads[way], strict=True):
                crossed[chain] = there = _crossings(chain, start, way) if low <= level <= high else []
                if there:
                    met += [(edge_id, mouth, along) for along, _ in there]
            found.append(LevelLine(start, way, (0.0, line.chain.length), tuple(met), crossed))
    return found


def level_spots(levels: Sequence[LevelLine], edge: Edge, band: Band) -> list[Spot]:
    """Where levels, run on from their ends, first meet the outline, when that is on the old lines of a band."""
    found: set[Spot] = set()
    for level in levels:
        mine = list[tuple[float, int, float]]()
        for index, line in enumerate(band.lines):
            known = level.crossed.get(line)
            there = _crossings(line, level.start, level.way) if known is None else known
            if there:
                mine += [(along, index, u) for along, u in there]
        if not mine:
            continue
        others = [along for edge_id, mouth, along in level.met if mouth or edge_id != edge.id]
        for end in level.ends:
            nearest = min([abs(along - end) for along in others], default=math.inf)
            away, place = math.inf, mine[0][1:]
            for along, index, u in mine:
                if abs(along - end) < away - MEET_MM:
                    away, place = abs(along - end), (index, u)
            if away <= nearest + MEET_MM:
                index, u = place
                found.add(Spot(index, band.lines[index].length_to(u)))
    return sorted(found)


def _crossings(line: Chain, start: Point, way: Point) -> list[tuple[float, float]]:
    """Where a line crosses a level: mm along the level, and the parameter on the line."""
    crossed = line.crossings(start, way)
    if not crossed or line.length <= 1e-3:
        return []
    found = []
    for u in crossed:
        x, y = line.point(u)
        found.append(((x - start[0]) * way[0] + (y - start[1]) * way[1], u))
    return found


def _part(line: Chain, low: float, high: float, *, last: bool) -> Chain:
    if low <= 0.0 and high >= line.length:
        return line
    if high - low < 1e-3:
        u = line.at_length(high if last else low)
        return _speck(line.point(u), line.tangent(u, before=u > 0), last=last)
    return line.part(line.at_length(low), line.at_length(high))


def _speck(point: Point, way: Point, *, last: bool) -> Chain:
    """A line of next to no length that starts (or, with ``last``, ends) exactly at a point."""
    off = (way[0] * _NO_LENGTH, way[1] * _NO_LENGTH)
    if last:
        return straight((point[0] - off[0], point[1] - off[1]), point)
    return straight(point, (point[0] + off[0], point[1] + off[1]))
