"""Cutting the paper apart along straight lines, moving the parts, laying them together again.

A move is told as regions of the plane, each with the motion of the paper it holds, or None where the paper is
taken out; the first region that holds it counts, and paper in no region stays. Edges are cut where a region's
border crosses them. Where paper was taken out the runs on either side are laid against each other (a jog is left
for blending); where paper opened, the gap is filled straight. Everything marked on the paper goes with the part
that holds it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from geometry.cuts import Cut, keep
from geometry.errors import PatternError
from geometry.fairness import curvature_at
from geometry.findings import Finding, Level
from geometry.kept import changed, unchecked
from geometry.lines import Chain, joined, straight, tidied
from geometry.motions import STAY, Motion, Point
from geometry.pieces import (
    LEVELS,
    Dart,
    Edge,
    InnerDart,
    Joint,
    Line,
    LineKind,
    Mark,
    Notch,
    Piece,
    Place,
    Run,
    RunKind,
)
from geometry.regions import Border, Region
from geometry.slabs import keeps_clear
from geometry.tolerances import HEAL_RAD, MEET_MM


@dataclass(frozen=True, eq=False)
class Moved:
    """The piece after a move, and what is to be said about it."""

    piece: Piece
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, eq=False)
class _Fragment:
    """A stretch u0..u1 of run ``index`` of an edge, with its motion (None: taken out)."""

    index: int
    u0: float
    u1: float
    motion: Motion | None


def lay_together(piece: Piece, regions: Sequence[Region], note: str, along: Point) -> Moved:
    """Cut a piece into regions, move them, and lay the outline together again.

    ``along`` is the unit direction of the cut, kept on the joints for blending. A joint that meets again without
    a trace is healed, so that a move undone gives back the old edge. Raises PatternError (with piece, edge and
    place) when the taken-out paper holds a corner or a whole edge, when a border runs through a corner or one
    end of a dart mouth is taken out, and when the new outline crosses itself.
    """
    live = [r for r in regions if r.motion is None or not r.motion.stays]
    if not live:
        return Moved(piece)
    move = _Mover(piece, tuple(live), note, along)
    edges = tuple(move.edge(edge) for edge in piece.edges)
    move.check_corners()
    # What is slid along a straight cut mostly needs no looking at: that is seen from its joints.
    made = unchecked if move.keeps_clear() else changed
    new = made(
        piece,
        edges=edges,
        notches=tuple(move.notch(notch) for notch in piece.notches),
        marks=tuple(move.mark(mark) for mark in piece.marks),
        darts=tuple(move.dart(dart) for dart in piece.darts),
        inner_darts=tuple(_inner_dart(move, dart) for dart in piece.inner_darts),
        lines=tuple(move.line(line) for line in piece.lines),
    )
    keep(Cut(piece, tuple(live), new))
    return Moved(new, tuple(move.findings))


def _inner_dart(move: _Mover, dart: InnerDart) -> InnerDart:
    a, b = (move.point(p, f"point of {dart.name}") for p in dart.points)
    c, d = (move.point(p, f"side of {dart.name}") for p in dart.widest)
    return changed(dart, points=(a, b), widest=(c, d))


class _Mover:
    """One move in progress: how each part of one piece goes."""

    def __init__(self, piece: Piece, regions: tuple[Region, ...], note: str, along: Point) -> None:
        self.piece, self.regions, self.joint = piece, regions, Joint(note, along)
        self.borders = list(dict.fromkeys(border for region in regions for border in region.area.borders))
        #: With each border how far it lies to the left of the origin.
        self.levels = [(b, b.along[0] * b.through[1] - b.along[1] * b.through[0]) for b in self.borders]
        self.untouched: set[tuple[str, int]] = set()
        self.findings: list[Finding] = []
        self.fragments: dict[str, list[_Fragment]] = {}
        self.run_of: dict[tuple[str, int, float], int] = {}
        self.edges: dict[str, Edge] = {}
        #: Where kept paper is parted: the end before and the start after, as they come to lie.
        self.parted: list[tuple[Point, Point]] = []

    def motion_at(self, point: Point) -> Motion | None:
        for region in self.regions:
            if region.area.holds(point):
                return region.motion
        return STAY

    def edge(self, edge: Edge) -> Edge:
        fragments = [f for index, run in enumerate(edge.runs) for f in self._cut(run.chain, index, run.kind)]
        self.fragments[edge.id] = fragments
        for fragment, place in ((fragments[0], edge.start), (fragments[-1], edge.end)):
            if fragment.motion is None:
                raise PatternError(
                    f"The paper taken out of “{self.piece.name}” holds a corner of “{edge.name}”; "
                    "move the line or take out less.",
                    self.piece.id,
                    edge.id,
                    place,
                )
        if all(f.motion is not None and f.motion.stays for f in fragments):
            self.untouched |= {(edge.id, index) for index in range(len(edge.runs))}
            self.edges[edge.id] = edge
            return edge
        if len(fragments) == len(edge.runs) == 1 and fragments[0].motion is not None:
            only = edge.runs[0]
            moved = Run(only.chain.moved(fragments[0].motion), only.kind, only.dart)
            self.untouched.add((edge.id, 0))
            self.edges[edge.id] = changed(edge, runs=(moved,))
        else:
            self.edges[edge.id] = self._assembled(edge, fragments)
        return self.edges[edge.id]

    def check_corners(self) -> None:
        """Refuses a move that parts two edges at their corner."""
        edges = [self.edges[edge.id] for edge in self.piece.edges]
        for edge, following in zip(edges, edges[1:] + edges[:1], strict=True):
            if math.dist(edge.end, following.start) > MEET_MM:
                raise PatternError(
                    f"The line runs through the corner of “{edge.name}” and “{following.name}” on "
                    f"“{self.piece.name}”; draw it a little to one side.",
                    self.piece.id,
                    edge.id,
                    edge.end,
                )

    def keeps_clear(self) -> bool:
        """Whether the outline surely does not cross itself: parted at two places only, none of them a corner."""
        kept = [f.motion for edge in self.piece.edges for f in self.fragments[edge.id] if f.motion is not None]
        changes = sum(a is not b for a, b in pairwise([*kept, kept[0]]))
        return changes == len(self.parted) == 2 and keeps_clear(self.regions, self.parted)

    def notch(self, notch: Notch) -> Notch:
        place = self.place(notch.place, f"notch “{notch.name}”")
        return notch if place is notch.place else changed(notch, place=place)

    def mark(self, mark: Mark) -> Mark:
        point = self.point(mark.point, f"mark “{mark.name}”")
        return mark if point == mark.point else changed(mark, point=point)

    def place(self, place: Place, what: str) -> Place:
        """Where a place on an edge went; one in taken-out paper goes to the joint, with a finding."""
        if (place.edge, place.run) in self.untouched:
            return place
        fragments = self.fragments[place.edge]
        here = next(
            i for i, f in enumerate(fragments) if f.index == place.run and f.u0 - 1e-9 <= place.u <= f.u1 + 1e-9
        )
        u = place.u
        if fragments[here].motion is None:
            self._say(
                "mark-in-strip",
                f"The {what} lies in the paper taken out; it now stands at the joint.",
                self.piece.point_at(place),
            )
            here, u = _joint_beside(fragments, here)
        fragment = fragments[here]
        index = self.run_of[place.edge, fragment.index, fragment.u0]
        old = self.piece.edge(place.edge).runs[fragment.index].chain
        run = self.edges[place.edge].runs[index]
        assert fragment.motion is not None
        return Place(place.edge, index, run.chain.nearest(fragment.motion.point(old.point(u)))[0])

    def point(self, point: Point, what: str) -> Point:
        """Where a point inside went; one in taken-out paper goes to the nearest border, with a finding."""
        motion = self.motion_at(point)
        if motion is not None:
            return motion.point(point)
        self._say("mark-in-strip", f"The {what} lies in the paper taken out; it now stands at the joint.", point)
        return self._onto(self._nearest_border(point), point)

    def dart(self, dart: Dart) -> Dart:
        """Dart points go with the paper; the sewn point is set on the middle again if its legs came apart."""
        new = changed(
            dart,
            bust_point=self.point(dart.bust_point, f"point of {dart.name}"),
            sewn_point=self.point(dart.sewn_point, f"sewn point of {dart.name}"),
        )
        old_mouth, mouth = dart_mouth(self.piece.edge(dart.edge), dart.id), dart_mouth(self.edges[dart.edge], dart.id)
        before = math.dist(old_mouth.start, dart.sewn_point) - math.dist(old_mouth.end, dart.sewn_point)
        after = math.dist(mouth.start, new.sewn_point) - math.dist(mouth.end, new.sewn_point)
        if abs(after - before) <= MEET_MM:
            return new
        ux, uy = mouth.start_tangent
        mx, my = (mouth.start[0] + mouth.end[0]) / 2, (mouth.start[1] + mouth.end[1]) / 2
        away = (new.sewn_point[0] - mx) * ux + (new.sewn_point[1] - my) * uy
        return changed(new, sewn_point=(new.sewn_point[0] - away * ux, new.sewn_point[1] - away * uy))

    def line(self, line: Line) -> Line:
        """A line goes with the paper; a straight one that was crossed is one straight line again."""
        fragments = self._cut(line.chain)
        if all(f.motion is not None and f.motion.stays for f in fragments):
            return line
        if len(fragments) == 1 and fragments[0].motion is not None:
            return changed(line, chain=line.chain.moved(fragments[0].motion))
        moved = [line.chain.part(f.u0, f.u1).moved(f.motion) for f in fragments if f.motion is not None]
        if not moved:
            return self._swallowed(line)
        if len(moved) == 1:
            return changed(line, chain=moved[0])
        if not line.chain.is_straight:
            return changed(line, chain=tidied(joined(moved)))
        new = straight(moved[0].start, moved[-1].end)
        ends = (point for part in moved for point in (part.start, part.end))
        slip = max(new.nearest(point)[1] for point in ends) if line.kind in _KEPT_STRAIGHT else 0.0
        if slip > 0.5:
            self._say(
                "line-straightened",
                f"The {line.name} slipped {slip:.1f} mm sideways at the cut and was drawn as one straight line again.",
                moved[0].end,
            )
        return changed(line, chain=new)

    def _swallowed(self, line: Line) -> Line:
        code = "level-in-strip" if line.kind in LEVELS else "line-in-strip"
        self._say(code, f"The {line.name} lies in the paper taken out; it now stands at the joint.", line.chain.start)
        border = self._nearest_border(line.chain.start)
        return changed(line, chain=straight(self._onto(border, line.chain.start), self._onto(border, line.chain.end)))

    def _nearest_border(self, point: Point) -> Border:
        return min(self.borders, key=lambda border: abs(border.beside(point)))

    def _onto(self, border: Border, point: Point) -> Point:
        """The foot of a point on a border, moved as the paper that is kept beside it."""
        (ux, uy), away = border.along, border.beside(point)
        foot = (point[0] + away * uy, point[1] - away * ux)
        for side in (1e-3, -1e-3):
            motion = self.motion_at((foot[0] - side * uy, foot[1] + side * ux))
            if motion is not None:
                return motion.point(foot)
        return foot

    def _cut(self, line: Chain, index: int = 0, kind: RunKind = RunKind.TRACED) -> list[_Fragment]:
        """The fragments of a run; a dart mouth is never cut, it is drawn anew between its ends."""
        whole = float(len(line.cubics))
        if kind is RunKind.MOUTH:
            return [_Fragment(index, 0.0, whole, STAY)]
        cuts = dict[float, Point]()
        spread, along = (0.0, 0.0), None
        for border, level in self.levels:
            if border.along != along:
                along = border.along
                spread = line.spread(-along[1], along[0])
            if spread[0] <= level <= spread[1]:
                for u in line.crossings(border.through, border.along):
                    point = line.point(u)
                    if border.spans(point):
                        cuts[u] = point
        if not cuts:
            return [_Fragment(index, 0.0, whole, self.motion_at(line.point(whole / 2)))]
        ordered, last = [0.0], line.start
        for u in sorted(cuts):
            if math.dist(cuts[u], last) > MEET_MM:
                ordered.append(u)
                last = cuts[u]
        if len(ordered) > 1 and math.dist(last, line.end) <= MEET_MM:
            ordered[-1] = whole
        else:
            ordered.append(whole)
        fragments: list[_Fragment] = []
        for u0, u1 in pairwise(ordered):
            motion = self.motion_at(line.point((u0 + u1) / 2))
            if fragments and fragments[-1].motion == motion:
                u0 = fragments.pop().u0
            fragments.append(_Fragment(index, u0, u1, motion))
        return fragments

    def _assembled(self, edge: Edge, fragments: list[_Fragment]) -> Edge:
        runs: list[Run] = []
        joints: list[Joint | None] = []
        last: _Fragment | None = None
        removed = False
        for fragment in fragments:
            if fragment.motion is None:
                removed = True
                continue
            old = edge.runs[fragment.index]
            run = old
            if old.kind is not RunKind.MOUTH:
                run = Run(_part(old.chain, fragment).moved(fragment.motion), old.kind, old.dart)
            if last is not None:
                if removed or last.motion is not fragment.motion:
                    self.parted.append((runs[-1].chain.end, run.chain.start))
                if RunKind.MOUTH in (old.kind, runs[-1].kind):
                    if removed:
                        raise self._mouth_lost(edge, (old if old.kind is RunKind.MOUTH else runs[-1]).chain.start)
                    joints.append(None)
                elif removed:
                    joints.append(self.joint)
                elif last.motion == fragment.motion:
                    joints.append(edge.joints[last.index])
                else:
                    if math.dist(runs[-1].chain.end, run.chain.start) > MEET_MM:
                        runs.append(Run(straight(runs[-1].chain.end, run.chain.start), RunKind.FILLED))
                        joints.append(self.joint)
                    joints.append(self.joint)
            self.run_of[edge.id, fragment.index, fragment.u0] = len(runs)
            runs.append(run)
            last, removed = fragment, False
        return self._healed(edge, _mouths_drawn(runs), joints)

    def _healed(self, edge: Edge, runs: list[Run], joints: list[Joint | None]) -> Edge:
        """Joints that left no trace go, so that what was undone is one line again."""
        kept, kept_joints, new_index = healed(runs, joints)
        for key, index in self.run_of.items():
            if key[0] == edge.id:
                self.run_of[key] = new_index[index]
        return changed(edge, runs=tuple(kept), joints=tuple(kept_joints))

    def _mouth_lost(self, edge: Edge, place: Point) -> PatternError:
        return PatternError(
            f"The paper taken out of “{self.piece.name}” holds one end of the dart mouth on “{edge.name}”; "
            "move the line clear of the dart.",
            self.piece.id,
            edge.id,
            place,
        )

    def _say(self, code: str, says: str, place: Point) -> None:
        self.findings.append(Finding(code, Level.WARN, says, self.piece.id, self.joint.note, place))


def _joint_beside(fragments: Sequence[_Fragment], removed: int) -> tuple[int, float]:
    """The kept fragment and its end where taken-out paper was closed: on the side that stays, if one does."""
    before = next(i for i in range(removed, -1, -1) if fragments[i].motion is not None)
    after = next(i for i in range(removed, len(fragments)) if fragments[i].motion is not None)
    motion = fragments[after].motion
    if motion is not None and motion.stays:
        return after, fragments[after].u0
    return before, fragments[before].u1


_KEPT_STRAIGHT = (LineKind.GRAIN, LineKind.CENTRE, LineKind.STRETCH)


def dart_mouth(edge: Edge, dart_id: str) -> Chain:
    """The straight line across the mouth of a dart, in outline order."""
    return next(run.chain for run in edge.runs if run.dart == dart_id)


def _part(chain: Chain, fragment: _Fragment) -> Chain:
    if fragment.u0 == 0.0 and fragment.u1 == len(chain):
        return chain
    return chain.part(fragment.u0, fragment.u1)


def _mouths_drawn(runs: list[Run]) -> list[Run]:
    """Dart mouths drawn straight between the ends that their neighbours now have."""
    drawn = list(runs)
    for i, run in enumerate(runs):
        if run.kind is RunKind.MOUTH and 0 < i < len(runs) - 1:
            drawn[i] = changed(run, chain=straight(runs[i - 1].chain.end, runs[i + 1].chain.start))
    return drawn


def healed(runs: Sequence[Run], joints: Sequence[Joint | None]) -> tuple[list[Run], list[Joint | None], list[int]]:
    """Runs of an edge with joints that left no trace healed, the joints left, and for each old run its new index."""
    kept = [runs[0]]
    kept_joints: list[Joint | None] = []
    new_index = [0]
    for run, joint in zip(runs[1:], joints, strict=True):
        last = kept[-1]
        if joint is not None and _runs_on(last, run):
            kept[-1] = Run(_one_line(last.chain, run.chain))
        else:
            kept.append(run)
            kept_joints.append(joint)
        new_index.append(len(kept) - 1)
    return kept, kept_joints, new_index


def _one_line(before: Chain, after: Chain) -> Chain:
    if len(before) == len(after) == 1 and before.straight[0] and after.straight[0]:
        return straight(before.start, after.end)
    return tidied(joined([before, after]))


def _runs_on(before: Run, after: Run) -> bool:
    """True where two runs meet without a gap, a kink or a step in curvature."""
    if RunKind.MOUTH in (before.kind, after.kind) or math.dist(before.chain.end, after.chain.start) > MEET_MM:
        return False
    if before.kind is not after.kind and not (before.chain.straight[-1] and after.chain.straight[0]):
        return False
    (ax, ay), (bx, by) = before.chain.end_tangent, after.chain.start_tangent
    if abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)) > HEAL_RAD:
        return False
    if before.chain.straight[-1] and after.chain.straight[0]:
        return True
    return abs(curvature_at(before.chain, float(len(before.chain))) - curvature_at(after.chain, 0.0)) < 1e-6
