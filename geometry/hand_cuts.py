"""Folding out, spreading, slashing to a hinge: the steps by hand, made from the cuts that the change itself made."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely

from geometry.cuts import Cut, Part, parts_of
from geometry.hand_places import (
    AT_MM,
    above,
    along_words,
    chains_of,
    edge_at,
    hatch_of,
    line_name,
    lines_within,
    middle_of,
    up_of,
    whole,
)
from geometry.handwork import (
    HandStep,
    Hatched,
    Ink,
    Inked,
    Moving,
    Phrase,
    Sketch,
    Spot,
    Taped,
    Work,
    apart,
    phrase,
)
from geometry.lines import Chain, straight
from geometry.motions import Motion, Point, turn
from geometry.pieces import Piece
from geometry.regions import Band
from geometry.slashes import staying

BLADE = "mind the blade"
_INSIDE_MM = 0.05
#: Tape is stuck on at most this far apart (mm).
_TAPE_MM = 130.0


@dataclass(frozen=True, eq=False)
class Slit:
    """A straight line in the piece along which it is cut or creased, from ``start`` to ``end`` on the outline."""

    start: Point
    end: Point

    @property
    def middle(self) -> Point:
        return middle_of((self.start, self.end))


def cut_by_hand(work: Work, cut: Cut, line: Phrase = ()) -> list[HandStep]:
    """The steps of one cut, told by what its regions do; ``line`` says how a line across is ruled, if that is known."""
    taken = [region for region in cut.regions if region.motion is None]
    moving = [region for region in cut.regions if region.motion is not None]
    if len(moving) == 1 and isinstance(moving[0].area, Band) and all(isinstance(r.area, Band) for r in taken):
        return fold_out(work, cut, line) if taken else spread(work, cut, line)
    turning = len(moving) == 1 and abs(moving[0].motion.turned_deg) > 1e-9 if moving and moving[0].motion else False
    if turning and len(taken) <= 1:
        return fold_to_hinge(work, cut) if taken else slash_to_hinge(work, cut)
    return cut_apart(work, (cut,))


def grainline_through(work: Work) -> list[HandStep]:
    """The grainline drawn through the whole piece before it is cut apart or folded, so that it can be laid straight."""
    lines = [inked.chain for inked in whole(work.before).lines if inked.ink is Ink.GRAIN]
    if not lines:
        return []
    grain = lines[0]
    (x, y), (ux, uy) = grain.start, grain.start_tangent
    through = straight((x - 5000 * ux, y - 5000 * uy), (x + 5000 * ux, y + 5000 * uy))
    held = work.before.polygon.intersection(shapely.LineString(through.flat[0]))
    chains = chains_of(held)
    if not chains:
        return []
    longest = max(chains, key=lambda chain: chain.length)
    says = phrase("Rule the grainline through the whole piece, ", apart(longest.start, longest.end), " long.")
    sketch = whole(work.before) + Sketch((Inked(Ink.DRAW, longest),))
    return [HandStep(says, sketch, "before")]


def fold_out(work: Work, cut: Cut, line: Phrase = ()) -> list[HandStep]:
    """A fold straight across: two parallel lines, the one creased and brought to the other."""
    band = next(region.area for region in cut.regions if region.motion is None)
    assert isinstance(band, Band)
    first, second = (slit_along(cut.piece, border.through, border.along) for border in band.borders[:2])
    steps, name = _first_line(work, first, line)
    foot = _foot(first.middle, second)
    lines = Sketch((Inked(Ink.CREASE, _chain(first)), Inked(Ink.CREASE, _chain(second))))
    width = apart(first.middle, foot)
    way = _way_words(work.before, first.middle, foot)
    says = phrase("Rule a second line ", width, f" {way} {name}, parallel to it.")
    steps.append(HandStep(says, whole(work.before) + lines + Sketch(sizes=(width,)), "before"))
    strip = hatch_of(_taken_out(cut), False)
    half = apart(first.middle, foot, 0.5)
    says = phrase("Crease along the second line and bring the crease to the first: the fold is ", half, " deep.")
    arrow = (Moving(foot, first.middle),)
    steps.append(HandStep(says, whole(work.before) + lines + Sketch(hatched=tuple(strip), moves=arrow)))
    says = phrase("Check that ", width, " is gone and the grainline runs on in one line; tape the fold down.")
    under = [_part_way(end, _foot(end, second), 0.5) for end in (first.end, first.start)]
    folded = shapely.Polygon([first.start, first.end, *under])
    taped = Sketch(hatched=tuple(_on_paper(cut, folded)), tapes=tapes_on(first))
    steps.append(HandStep(says, laid(work, (cut,)) + taped))
    return steps


def spread(work: Work, cut: Cut, line: Phrase = ()) -> list[HandStep]:
    """A cut straight across, and the halves spread over paper."""
    region = next(region for region in cut.regions if region.motion is not None)
    assert isinstance(region.area, Band) and region.motion is not None
    border = region.area.borders[0]
    slit = slit_along(cut.piece, border.through, border.along)
    steps, name = _first_line(work, slit, line)
    across = apart(slit.start, slit.end)
    says = phrase(f"Cut along {name} from edge to edge, ", across, f"; {BLADE}.")
    steps.append(HandStep(says, whole(work.before) + Sketch((Inked(Ink.CUT, _chain(slit)),)), "before"))
    moved = Slit(region.motion.point(slit.start), region.motion.point(slit.end))
    gap = apart(slit.middle, moved.middle)
    says = phrase("Lay paper under it and spread the halves ", gap, " apart, the grainline in line; tape both sides.")
    more = Sketch(moves=(Moving(slit.middle, moved.middle),), tapes=tapes_on(slit) + tapes_on(moved), sizes=(gap,))
    steps.append(HandStep(says, laid(work, (cut,)) + more))
    return steps


def fold_to_hinge(work: Work, cut: Cut, letter: str = "H") -> list[HandStep]:
    """A fold that is deepest at one edge and runs to nothing at a hinge."""
    hinge, kept, goes = wedge_ends(cut)
    steps = _hinge_marked(work, hinge, kept, letter)
    width = apart(kept, goes)
    lines = Sketch(
        (Inked(Ink.CREASE, straight(hinge, kept)), Inked(Ink.CREASE, straight(hinge, goes))),
        spots=(Spot(hinge, letter, True), Spot(kept, "A"), Spot(goes, "B")),
        sizes=(width,),
    )
    way = _way_words(work.before, kept, goes)
    says = phrase("Mark B ", width, f" {way} A on the {edge_name(work, goes)}; rule A and B to {letter}.")
    steps.append(HandStep(says, whole(work.before) + lines, "before"))
    half = apart(kept, goes, 0.5)
    crease = f"Crease from {letter} to B and bring the crease to A: the fold is "
    says = phrase(crease, half, f" deep at A, nothing at {letter}; tape.")
    how = next(region.motion for region in cut.regions if region.motion is not None)
    middle = turn(-how.turned_deg / 2, hinge).point(kept)
    gone = tuple(_on_paper(cut, shapely.Polygon([hinge, kept, middle])))
    spots = (Spot(hinge, letter, True), Spot(kept, "A"))
    more = Sketch(moves=(Moving(goes, kept),), tapes=tapes_on(Slit(kept, hinge)), spots=spots)
    steps.append(HandStep(says, laid(work, (cut,)) + Sketch(hatched=gone) + more))
    return steps


def slash_to_hinge(work: Work, cut: Cut, letter: str = "H") -> list[HandStep]:
    """A cut from one edge to a hinge on another, opened over paper."""
    hinge, start, opened = slash_ends(cut)
    steps = _hinge_marked(work, hinge, start, letter)
    spots = (Spot(hinge, letter, True), Spot(start, "A"))
    slash = apart(start, hinge)
    says = phrase(f"Cut from A to {letter}, ", slash, f"; leave a thread of paper at {letter} for a hinge; {BLADE}.")
    cutting = Sketch((Inked(Ink.CUT, straight(start, hinge)),), spots=spots)
    steps.append(HandStep(says, whole(work.before) + cutting, "before"))
    gap = apart(start, opened)
    says = phrase("Lay paper under it and open the cut ", gap, f" at A, nothing at {letter}; tape both sides.")
    more = Sketch(
        spots=spots,
        moves=(Moving(start, opened),),
        tapes=tapes_on(Slit(start, hinge)) + tapes_on(Slit(opened, hinge)),
        sizes=(gap,),
    )
    steps.append(HandStep(says, laid(work, (cut,)) + more))
    return steps


def cut_apart(work: Work, cuts: Sequence[Cut]) -> list[HandStep]:
    """Any other cuts: every line is cut, every part goes its way."""
    before, parts = work.before, parts_of(tuple(cuts), work.before.polygon)
    slits = tuple(Inked(Ink.CUT, chain) for chain in cut_lines(before, parts))
    steps = []
    if slits:
        first = apart(slits[0].chain.start, slits[0].chain.end)
        says = phrase("Draw and cut the lines shown, the first ", first, f" long; {BLADE}.")
        steps.append(HandStep(says, whole(before) + Sketch(slits), "before"))
    goes = [part for part in parts if part.motion and not part.motion.stays]
    if goes:
        here, there = _farthest(max(goes, key=_way))
        says = phrase("Lay the parts as shown, the furthest moved by ", apart(here, there), "; tape.")
        steps.append(HandStep(says, laid(work, cuts) + Sketch(moves=(Moving(here, there),))))
    return steps


def laid(work: Work, cuts: Iterable[Cut]) -> Sketch:
    """The paper after cuts: the parts where they lie, the old outline under them, what was let in hatched."""
    cuts = tuple(cuts)
    parts = parts_of(cuts, work.before.polygon)
    sketch = whole(work.before, Ink.OLD)
    kept = [part for part in parts if part.motion is not None]
    lines: list[Inked] = []
    for part in kept:
        assert part.motion is not None
        lines += [Inked(Ink.PAPER, chain) for chain in chains_of(part.moved)]
        lines += lines_within(work.before, part.shape, part.motion)
    covered = shapely.union_all([part.moved for part in kept])
    gap = cuts[-1].laid.polygon.difference(covered.buffer(0.02)) if cuts else shapely.Polygon()
    hatched = tuple(h for h in hatch_of(gap, True) if _wide(h))
    return sketch + Sketch(tuple(lines), hatched)


def cut_lines(piece: Piece, parts: Sequence[Part]) -> list[Chain]:
    """The lines inside a piece along which its parts were cut from each other."""
    inside = piece.polygon.buffer(-_INSIDE_MM)
    borders = shapely.intersection(shapely.union_all([part.shape.exterior for part in parts]), inside)
    merged = shapely.line_merge(shapely.set_precision(borders, 1e-3))
    return [chain for chain in chains_of(merged) if chain.length > 1.0]


def slit_along(piece: Piece, through: Point, along: Point, *, ray: bool = False) -> Slit:
    """Where a straight line cuts a piece: its longest stretch inside, or as a ray the first one from ``through`` on."""
    far = 5000.0
    line = shapely.LineString(
        [(through[0] + s * far * along[0], through[1] + s * far * along[1]) for s in ((0, 1) if ray else (-1, 1))]
    )
    parts = [g for g in shapely.get_parts(line.intersection(piece.polygon)) if g.length > 0]
    if ray:
        found = min(parts, key=lambda g: float(g.distance(shapely.Point(through))))
    else:
        found = max(parts, key=lambda g: float(g.length))
    (ax, ay), *_, (bx, by) = shapely.get_coordinates(found).tolist()
    return Slit((ax, ay), (bx, by))


def wedge_ends(cut: Cut) -> tuple[Point, Point, Point]:
    """Of a wedge closed about a hinge: the hinge, the place of the outline that stays, and the one brought to it."""
    hinge = centre_of(next(region.motion for region in cut.regions if region.motion is not None))
    parts = parts_of((cut,), cut.piece.polygon)
    shape = max((part.shape for part in parts if part.motion is None), key=lambda g: float(g.area))
    corners = [(float(x), float(y)) for x, y in shapely.get_coordinates(shape.exterior)[:-1]]
    rim = cut.piece.polygon.exterior
    outside = [p for p in corners if math.dist(p, hinge) > AT_MM and rim.distance(shapely.Point(p)) < 0.1]

    def furthest(stays: bool) -> Point:
        beside = shapely.union_all([p.shape for p in parts if p.motion is not None and p.motion.stays is stays])
        near = [p for p in outside if beside.distance(shapely.Point(p)) < 0.05]
        return max(near or outside, key=lambda p: math.dist(p, hinge))

    return hinge, furthest(True), furthest(False)


def slash_ends(cut: Cut) -> tuple[Point, Point, Point]:
    """Of a slash opened about a hinge: the hinge, the place it is cut from, and where the moving side of that goes."""
    how = next(region.motion for region in cut.regions if region.motion is not None)
    hinge = centre_of(how)
    parts = parts_of((cut,), cut.piece.polygon)
    moving = shapely.union_all([part.shape for part in parts if part.motion is not None and not part.motion.stays])
    inner = moving.boundary.intersection(cut.piece.polygon.buffer(-_INSIDE_MM))
    points = [(float(x), float(y)) for x, y in shapely.get_coordinates(inner)]
    end = max(points, key=lambda p: math.dist(p, hinge))
    size = math.dist(end, hinge)
    (ux, uy), near = ((end[0] - hinge[0]) / size, (end[1] - hinge[1]) / size), size - 1.0
    beyond = slit_along(cut.piece, (hinge[0] + near * ux, hinge[1] + near * uy), (ux, uy), ray=True)
    return hinge, beyond.end, how.point(beyond.end)


def centre_of(how: Motion) -> Point:
    """The point that a turn leaves where it is."""
    a, c, e, b, d, f = 1 - how.a, -how.c, how.e, -how.b, 1 - how.d, how.f
    det = a * d - b * c
    return ((e * d - c * f) / det, (a * f - e * b) / det)


def edge_name(work: Work, point: Point) -> str:
    """The name of the edge nearest to a point of the piece as it was."""
    return edge_at(work.before, point)[0].name


def tapes_on(slit: Slit) -> tuple[Taped, ...]:
    """Tape across a join, near both ends and between them."""
    size = math.dist(slit.start, slit.end)
    if size < 1.0:
        return ()
    along = ((slit.end[0] - slit.start[0]) / size, (slit.end[1] - slit.start[1]) / size)
    count = max(2, round(size / _TAPE_MM) + 1)
    places = [size * (0.12 + 0.76 * index / (count - 1)) for index in range(count)]
    return tuple(Taped((slit.start[0] + s * along[0], slit.start[1] + s * along[1]), along) for s in places)


def _first_line(work: Work, slit: Slit, how: Phrase) -> tuple[list[HandStep], str]:
    """The line across: named where the piece has it, else marked and ruled from A to B."""
    for line in work.before.lines:
        ends = (line.chain.start, line.chain.end)
        if line.chain.is_straight and all(_beside(slit, end) < AT_MM for end in ends):
            return [], f"the {line_name(line)}"
    spots = (Spot(slit.start, "A"), Spot(slit.end, "B"))
    says = phrase("Mark A ", along_words(work.before, slit.start), " and B ", along_words(work.before, slit.end), ".")
    sketch = whole(work.before) + Sketch((Inked(Ink.DRAW, _chain(slit)),), spots=spots)
    rule = phrase("Rule a line from A to B, ", apart(slit.start, slit.end), " long", ", " if how else "", how, ".")
    return [HandStep(says, sketch, "before"), HandStep(rule, sketch, "before")], "that line"


def _hinge_marked(work: Work, hinge: Point, start: Point, letter: str) -> list[HandStep]:
    spots = (Spot(hinge, letter, True), Spot(start, "A"))
    sketch = whole(work.before) + Sketch((Inked(Ink.DRAW, straight(start, hinge)),), spots=spots)
    hinged = phrase(f"Mark {letter} for the hinge: ", along_words(work.before, hinge), ".")
    ruled = phrase("Mark A: ", along_words(work.before, start), f"; rule a line from A to {letter}.")
    return [HandStep(hinged, sketch, "before"), HandStep(ruled, sketch, "before")]


def _on_paper(cut: Cut, folded: shapely.Polygon) -> list[Hatched]:
    """The folded paper under the taped piece, as far as the piece hides it."""
    return hatch_of(shapely.intersection(folded.buffer(0), cut.laid.polygon.buffer(0)), False)


def _part_way(start: Point, end: Point, part: float) -> Point:
    return (start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1]))


def _taken_out(cut: Cut) -> shapely.Geometry:
    parts = parts_of((cut,), cut.piece.polygon)
    return shapely.union_all([part.shape for part in parts if part.motion is None])


def _chain(slit: Slit) -> Chain:
    return straight(slit.start, slit.end)


def _foot(point: Point, slit: Slit) -> Point:
    """The foot of a point on the endless line of a slit."""
    size = math.dist(slit.start, slit.end)
    ux, uy = (slit.end[0] - slit.start[0]) / size, (slit.end[1] - slit.start[1]) / size
    along = (point[0] - slit.start[0]) * ux + (point[1] - slit.start[1]) * uy
    return (slit.start[0] + along * ux, slit.start[1] + along * uy)


def _beside(slit: Slit, point: Point) -> float:
    return math.dist(point, _foot(point, slit))


def _way_words(piece: Piece, first: Point, second: Point) -> str:
    """How a second place lies from a first: above or below it, or to one side."""
    up, middle = up_of(piece), staying(piece)
    if abs((second[0] - first[0]) * up[0] + (second[1] - first[1]) * up[1]) >= 0.5 * math.dist(first, second):
        return "above" if above(piece, second, first) else "below"

    def off(point: Point) -> float:
        return abs((point[0] - middle[0]) * up[1] - (point[1] - middle[1]) * up[0])

    return "to the side of" if off(second) > off(first) else "on the centre's side of"


def _way(part: Part) -> float:
    here, there = _farthest(part)
    return math.dist(here, there)


def _farthest(part: Part) -> tuple[Point, Point]:
    """The corner of a part that goes furthest, and where it goes."""
    assert part.motion is not None
    points = [(float(x), float(y)) for x, y in shapely.get_coordinates(part.shape)]
    here = max(points, key=lambda p: math.dist(p, part.motion.point(p)))  # type: ignore[union-attr]
    return here, part.motion.point(here)


def _wide(hatched: Hatched) -> bool:
    polygon = shapely.Polygon(hatched.outline)
    return bool(not polygon.buffer(-0.15).is_empty)
