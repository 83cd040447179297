"""Redrawing seams and darts: the steps by hand, measured between the old line and the new one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from geometry.cutting_lines import square_direction
from geometry.darts import mouth_of, set_back
from geometry.hand_places import AT_MM, along_words, hatch_of, line_name, up_of, whole
from geometry.handwork import HandStep, Ink, Inked, Measure, Phrase, Sketch, Spot, Stage, Taken, Work, apart, phrase
from geometry.lines import polyline
from geometry.motions import FloatArray, Point
from geometry.pieces import LEVELS, Dart, Edge, EdgeKind, Piece, neighbours

#: Lines nearer to each other than this are the same line to a pencil (mm).
SAME_MM = 0.1
_UPRIGHT = (EdgeKind.SIDE, EdgeKind.UNDERARM, EdgeKind.INSEAM)
_ACROSS = (EdgeKind.HEM, EdgeKind.WRIST, EdgeKind.WAIST)
#: Another mark is wanted where the new line lies off those that there are by more than this share of an edge.
_APART_SHARE = 0.12
#: Samples along an edge.
_LOOKED_AT = 61
_SHARES = (0.2, 0.4, 0.6, 0.8, 1.0)


#: Places on the edges of a piece, by edge id, with the words that say where they are.
Places = Mapping[str, Sequence[tuple[Point, Phrase]]]


@dataclass(eq=False)
class _Marks:
    """The marks made so far on one piece, with their letters."""

    first: str = "A"
    stage: Stage = Stage.BEFORE
    spots: list[Spot] = field(default_factory=list)

    def next(self, at: Point) -> Spot:
        for spot in self.spots:
            if math.dist(spot.at, at) <= AT_MM:
                return spot
        spot = Spot(at, chr(ord(self.first) + len(self.spots)))
        self.spots.append(spot)
        return spot

    def letter_at(self, at: Point) -> str | None:
        return next((spot.letter for spot in self.spots if math.dist(spot.at, at) <= AT_MM), None)


def edges_by_hand(work: Work, base: Piece | None = None, places: Places | None = None) -> list[HandStep]:
    """Every edge that was drawn anew: where its marks stand, and how it is drawn through them.

    ``base`` is the paper the new lines are drawn on: the piece as it was, or as it was laid together. ``places`` are
    places of an edge (by id) where marks are wanted, with their words; without them marks stand at the levels and
    where the new line lies furthest off.
    """
    base = base or (work.cuts[-1].laid if work.cuts else work.before)
    after, marks = work.after, _Marks("C", Stage.LAID) if work.cuts else _Marks()
    steps: list[HandStep] = []
    for index, edge in enumerate(base.edges):
        if after.edge(edge.id) is edge and after.edge(base.edges[index - 1].id) is base.edges[index - 1]:
            continue
        steps += _corner(base, after, index, marks)
    for edge in base.edges:
        steps += _edge(base, after, edge, marks, places)
    return steps


def darts_by_hand(work: Work) -> list[HandStep]:
    """Every dart that is new or another than before: its mouth, its legs, where its point stands."""
    old = {dart.id: dart for dart in work.before.darts}
    steps = []
    for dart in work.after.darts:
        was = old.get(dart.id)
        if was is not None and _same_dart(work, was, dart):
            continue
        steps.append(_dart(work, dart))
        says = phrase(f"Fold the {dart.name} as it will be pressed and trace the seam across it: that shapes its end.")
        steps.append(HandStep(says, whole(work.after) + Sketch(look=_round(work.after, dart)), "after"))
    for dart in work.before.darts:
        if dart.id not in {d.id for d in work.after.darts}:
            width = mouth_of(work.before, dart)
            says = phrase(f"The {dart.name} is gone: leave out its mouth of ", apart(width.start, width.end), ".")
            steps.append(HandStep(says, whole(work.before, Ink.OLD) + whole(work.after), "after"))
    return steps


def _round(piece: Piece, dart: Dart) -> tuple[Point, ...]:
    return (mouth_of(piece, dart).start, mouth_of(piece, dart).end, dart.sewn_point)


def _same_dart(work: Work, was: Dart, now: Dart) -> bool:
    old, new = mouth_of(work.before, was), mouth_of(work.after, now)
    same_width = abs(old.length - new.length) < SAME_MM
    legs = [math.dist(mouth.start, dart.sewn_point) for mouth, dart in ((old, was), (new, now))]
    return same_width and abs(legs[0] - legs[1]) < SAME_MM and abs(set_back(was) - set_back(now)) < SAME_MM


def _dart(work: Work, dart: Dart) -> HandStep:
    mouth = mouth_of(work.after, dart)
    legs = polyline([mouth.start, dart.sewn_point, mouth.end])
    width, leg = apart(mouth.start, mouth.end), apart(mouth.start, dart.sewn_point)
    parts = [phrase(f"Rule the {dart.name}'s legs: ", width, " apart at the edge, each ", leg, " long")]
    if set_back(dart) > AT_MM:
        parts.append(phrase(", to a point ", apart(dart.sewn_point, dart.bust_point), " short of the bust point"))
    sketch = whole(work.after) + Sketch((Inked(Ink.DRAW, legs),), spots=(Spot(dart.sewn_point),), sizes=(width,))
    return HandStep(phrase(*parts, "."), sketch, "after")


def _corner(base: Piece, after: Piece, index: int, marks: _Marks) -> Iterator[HandStep]:
    arriving, leaving = base.edges[index - 1], base.edges[index]
    old, new = leaving.start, after.edge(leaving.id).start
    if math.dist(old, new) <= SAME_MM:
        return
    corner = f"the corner of the {arriving.name} and the {leaving.name}"
    spot = marks.next(new)
    for edge, at_start in ((arriving, False), (leaving, True)):
        on_it, beyond = _on_line(edge, at_start, new)
        if on_it:
            length = apart(old, new)
            words = f" along the {edge.name}, run on beyond " if beyond else f" along the {edge.name} from "
            says = phrase(f"Mark {spot.letter} ", length, words, corner, ".")
            yield HandStep(says, _marked(base, [spot], [length]), "before")
            return
    up, across = up_of(base), square_direction(base)
    high = (new[0] - old[0]) * up[0] + (new[1] - old[1]) * up[1]
    foot = (old[0] + high * up[0], old[1] + high * up[1])
    parts: list[Phrase | str] = []
    sizes = []
    if abs(high) > SAME_MM:
        sizes.append(apart(old, foot))
        parts += [(sizes[-1],), " above " if high > 0 else " below "]
    if math.dist(foot, new) > SAME_MM:
        middle = base.polygon.centroid
        away = (new[0] - foot[0]) * across[0] + (new[1] - foot[1]) * across[1]
        side = (old[0] - middle.x) * across[0] + (old[1] - middle.y) * across[1]
        sizes.append(apart(foot, new))
        parts += ["and " if parts else "", (sizes[-1],), " outside " if away * side > 0 else " inside "]
    yield HandStep(phrase(f"Mark {spot.letter} ", *parts, corner, "."), _marked(base, [spot], sizes), "before")


def _edge(base: Piece, after: Piece, old: Edge, marks: _Marks, places: Places | None) -> Iterator[HandStep]:
    new = after.edge(old.id)
    if new is old or _only_trimmed(old, new):
        return
    names = _end_names(base, old, [marks.letter_at(point) for point in (new.start, new.end)])
    length = Measure(new.length, Taken.LENGTH, (), after.id, new.id, "", Stage.AFTER)
    draw = whole(after) + whole(base, Ink.OLD) + _difference(base, after) + Sketch((Inked(Ink.DRAW, new.chain),))
    if new.chain.turning_deg < 0.5:
        line = f"Rule the {old.name} anew from {names[0]} to {names[1]}"
        says = phrase(line, _past(old, new), "; it is ", length, " long.")
        yield HandStep(says, draw + Sketch(spots=tuple(marks.spots)))
        return
    if _congruent(old, new):
        says = phrase(f"Trace the {old.name} as it was from {names[0]} to {names[1]}; it is still ", length, " long.")
        yield HandStep(says, draw + Sketch(spots=tuple(marks.spots)))
        return
    made = []
    for place, words in _stations(base, old, new, marks.stage) if places is None else places.get(old.id, ()):
        met = _met(base, old, new, place)
        if met is None or math.dist(met, place) <= SAME_MM:
            continue
        spot = marks.next(met)
        made.append(spot)
        size = apart(place, met)
        beyond = "inside" if base.polygon.covers(shapely.Point(met)) else "outside"
        says = phrase(f"Mark {spot.letter} ", size, f" {beyond} the {old.name}, ", words, ".")
        yield HandStep(says, _marked(base, [spot], [size]), "before")
    through = " and ".join(spot.letter for spot in made)
    says = phrase(
        f"Draw the {old.name} anew from {names[0]} to {names[1]}",
        f" through {through}" if through else "",
        " with the curve ruler; it is ",
        length,
        " long.",
    )
    yield HandStep(says, draw + Sketch(spots=tuple(marks.spots)))


def _congruent(old: Edge, new: Edge) -> bool:
    """True where an edge was moved and turned as a whole; one that lies between its old corners was drawn anew."""
    if math.dist(old.start, new.start) <= SAME_MM and math.dist(old.end, new.end) <= SAME_MM:
        return False
    spans = [
        [math.dist(edge.start, edge.chain.point(edge.chain.at_length(share * edge.chain.length))) for share in _SHARES]
        for edge in (old, new)
    ]
    return max(abs(a - b) for a, b in zip(*spans, strict=True)) < SAME_MM / 4


def _past(old: Edge, new: Edge) -> Phrase:
    """How far a ruled edge passes the corners of the steps that are left in the old one."""
    inner = [p for run in old.runs for p in (run.chain.start, run.chain.end)][1:-1]
    if not inner:
        return ()
    off = [(p, new.chain.point(new.chain.nearest(p)[0])) for p in inner]
    furthest = max(off, key=lambda one: math.dist(*one))
    return () if math.dist(*furthest) <= SAME_MM else phrase(", ", apart(*furthest), " past the fold or cut")


def _end_names(base: Piece, edge: Edge, letters: list[str | None]) -> tuple[str, str]:
    beside = neighbours(base, edge.id)
    first, second = (letter or f"the {other.name}" for letter, other in zip(letters, beside, strict=True))
    return first, second


def _stations(base: Piece, old: Edge, new: Edge, stage: Stage) -> list[tuple[Point, Phrase]]:
    """Where marks are wanted on an old edge: at the levels that end at it, else where the new line shows its shape.

    That is where it lies furthest off; beside an end that moved, where it lies half as far off as there.
    """
    found: list[tuple[Point, Phrase, float]] = []
    for line in base.lines:
        for end in (line.chain.start, line.chain.end):
            if line.kind in LEVELS and old.chain.nearest(end)[1] < 1.0:
                u = old.chain.nearest(end)[0]
                found.append((old.chain.point(u), (f"at the {line_name(line)}",), old.chain.length_to(u)))
    whole_length = old.chain.length
    target = shapely.LineString(new.chain.flat[0])
    shares = np.linspace(0.0, 1.0, _LOOKED_AT)
    points = [old.chain.point(float(u)) for u in old.chain.at_lengths(shares * whole_length)]
    away = target.distance(shapely.points(points))
    for index in _telling(away, math.dist(old.start, new.start), math.dist(old.end, new.end)):
        at = whole_length * shares[index]
        if away[index] > SAME_MM and all(abs(at - one[2]) > _APART_SHARE * whole_length for one in found):
            found.append((points[index], along_words(base, points[index], stage), at))
    return [(point, words) for point, words, _ in sorted(found, key=lambda one: one[2])]


def _telling(away: FloatArray, at_start: float, at_end: float) -> list[int]:
    """The samples (by index) that tell most of a line whose distances from the old one are given, ends included."""
    last = len(away) - 1
    top = int(np.argmax(away))
    if 0.1 * last < top < 0.9 * last and away[top] > 1.15 * max(away[0], away[last]):
        return [top]
    found = []
    for moved, there, order in ((at_start, away[0], range(last)), (at_end, away[last], range(last, 0, -1))):
        if moved > SAME_MM:
            found.append(next((i for i in order if away[i] < 0.5 * there), last // 2))
    return found or [top]


def _met(base: Piece, old: Edge, new: Edge, place: Point) -> Point | None:
    """Where the new edge passes a place of the old one, square to the centre for a seam that runs up and down."""
    across = square_direction(base)
    tx, ty = old.chain.tangent(old.chain.nearest(place)[0])
    way = (-ty, tx)
    if old.kind in _UPRIGHT and abs(tx * across[0] + ty * across[1]) < 0.7:
        way = across
    elif old.kind in _ACROSS:
        way = up_of(base)
    found = [new.chain.point(u) for u in new.chain.crossings(place, way)]
    return min(found, key=lambda point: math.dist(point, place), default=None)


def _on_line(edge: Edge, at_start: bool, point: Point) -> tuple[bool, bool]:
    """Whether a point lies on an edge, or on it run on straight beyond its end; and whether beyond."""
    if edge.chain.nearest(point)[1] <= SAME_MM:
        return True, False
    (x, y) = edge.start if at_start else edge.end
    tx, ty = edge.chain.start_tangent if at_start else edge.chain.end_tangent
    beside = abs(tx * (point[1] - y) - ty * (point[0] - x))
    ahead = (point[0] - x) * tx + (point[1] - y) * ty
    return (beside <= 0.3 and (ahead < 0 if at_start else ahead > 0), True)


def _only_trimmed(old: Edge, new: Edge) -> bool:
    """True for an edge that lies on its old line, cut off or run on straight at an end."""
    for run in new.runs:
        for u in np.linspace(0.0, float(len(run.chain)), 15):
            point = run.chain.point(float(u))
            if not any(_on_line(old, at_start, point)[0] for at_start in (True, False)):
                return False
    return True


def _marked(base: Piece, spots: list[Spot], sizes: list[Measure]) -> Sketch:
    return whole(base) + Sketch(spots=tuple(spots), sizes=tuple(sizes))


def _difference(base: Piece, after: Piece) -> Sketch:
    grown, gone = after.polygon.difference(base.polygon), base.polygon.difference(after.polygon)
    return Sketch(hatched=(*hatch_of(grown, True), *hatch_of(gone, False)))
