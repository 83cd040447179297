"""The ways an alteration is told by hand, for its declaration: drawn anew, cut and drawn, turned about a point."""

from __future__ import annotations

import math
from collections.abc import Iterable

import shapely

from geometry.cuts import Cut, Part, parts_of
from geometry.darts import mouth_of
from geometry.hand_cuts import BLADE, Slit, cut_by_hand, laid, tapes_on, wedge_ends
from geometry.hand_edges import darts_by_hand, edges_by_hand
from geometry.hand_places import along_words, whole
from geometry.handwork import HandStep, Ink, Inked, Measure, Moving, Phrase, Sketch, Spot, Work, apart, phrase
from geometry.lines import straight
from geometry.motions import Motion, Point
from geometry.pieces import Dart


def drawn_anew(work: Work) -> list[HandStep]:
    """Nothing is cut: marks, and the edges and darts drawn through them."""
    return [*edges_by_hand(work), *darts_by_hand(work)]


def cut_and_drawn(work: Work, line: Phrase = ()) -> list[HandStep]:
    """Cut or folded where the change did, then what is left drawn anew; ``line`` says how a line across is ruled."""
    steps: list[HandStep] = []
    for cut in work.cuts:
        steps += cut_by_hand(work, cut, line)
    return [*steps, *drawn_anew(work)]


def turned_about(work: Work, dart: Dart, cut: Cut) -> list[HandStep]:
    """A dart closed, or closed in part, and the paper beside it turned about its point to open elsewhere."""
    before, how = work.before, _motion(cut)
    old = {d.id for d in before.darts}
    now = {d.id: d for d in work.after.darts}
    # A dart turned in part leaves the old one and makes another; turned whole it moves itself.
    made = next((d for d in work.after.darts if d.id not in old), now[dart.id])
    place = _place(work, made, how)
    leg, other = _legs(work, dart, cut)
    apex = dart.bust_point
    spots = (Spot(place, "A"), Spot(leg, "B"), Spot(other, "C"), Spot(apex, "P", True))
    line, edge = straight(place, apex), straight(leg, apex)
    marks = Sketch((Inked(Ink.DRAW, line),), spots=spots[:1] + spots[3:])
    where = along_words(before, place)
    says = phrase("Mark A: ", where, "; rule a line from A to P, the bust point.")
    steps = [HandStep(says, whole(before) + marks, "before")]
    cuts = Sketch((Inked(Ink.CUT, line), Inked(Ink.CUT, edge)), spots=spots)
    says = phrase("Cut from A to P, ", apart(place, apex), " and along the dart from B to P, ", apart(leg, apex))
    steps.append(HandStep(phrase(says, f"; leave a thread of paper at P; {BLADE}."), whole(before) + cuts, "before"))
    opened = apart(place, how.point(place))
    opens = phrase("; the cut opens ", opened, " at A; tape over paper.")
    if made.id != dart.id:
        left = mouth_of(work.after, now[dart.id])
        says = phrase("Bring B towards C until they stand ", apart(left.start, left.end), " apart", opens)
    else:
        says = phrase("Bring B to C, closing the ", apart(leg, other), " of the mouth", opens)
    arrow = Sketch(
        spots=(Spot(place, "A"), Spot(apex, "P", True)),
        moves=(Moving(place, how.point(place)),),
        tapes=tapes_on(Slit(apex, other)),
        sizes=(opened,),
    )
    steps.append(HandStep(says, laid(work, (cut,)) + arrow))
    return [*steps, *edges_by_hand(work), *darts_by_hand(work)]


def closed_into_dart(work: Work, dart: Dart, cut: Cut) -> list[HandStep]:
    """A wedge pinched out of an edge, turned about the bust point into a dart, which opens by as much."""
    before, how = work.before, _motion(cut)
    apex, kept, goes = wedge_ends(cut)
    leg, _ = _legs(work, dart, cut)
    width = apart(kept, goes)
    spots = (Spot(kept, "A"), Spot(goes, "B"), Spot(apex, "P", True))
    rays = Sketch(tuple(Inked(Ink.DRAW, straight(end, apex)) for end in (kept, goes)), spots=spots, sizes=(width,))
    says = phrase("Mark A ", along_words(before, kept), " and B ", width, " from it; rule both to P, the bust point.")
    steps = [HandStep(says, whole(before) + rays, "before")]
    cuts = (Inked(Ink.CUT, straight(goes, apex)), Inked(Ink.CUT, straight(leg, apex)))
    says = phrase("Cut from B to P, ", apart(goes, apex), ", and along the dart from C to P, ", apart(leg, apex))
    sketch = whole(before) + Sketch(cuts, spots=(*spots, Spot(leg, "C")))
    steps.append(HandStep(phrase(says, f"; leave a thread of paper at P; {BLADE}."), sketch, "before"))
    mouth, now = mouth_of(before, dart), mouth_of(work.after, next(d for d in work.after.darts if d.id == dart.id))
    was, is_now = apart(mouth.start, mouth.end), apart(now.start, now.end)
    says = phrase("Bring B to A and tape; the dart opens from ", was, " to ", is_now, " at its mouth.")
    arrow = Sketch(spots=(spots[0], spots[2]), moves=(Moving(leg, how.point(leg)),), tapes=tapes_on(Slit(apex, kept)))
    steps.append(HandStep(says, laid(work, (cut,)) + arrow))
    return [*steps, *edges_by_hand(work), *darts_by_hand(work)]


def part_at(parts: Iterable[Part], *points: Point) -> Part:
    """The part of the paper that reaches nearest to all of some points."""
    kept = [part for part in parts if part.motion is not None]
    return min(kept, key=lambda part: sum(part.shape.distance(shapely.Point(point)) for point in points))


def _motion(cut: Cut) -> Motion:
    return next(region.motion for region in cut.regions if region.motion is not None)


def _place(work: Work, made: Dart, how: Motion) -> Point:
    """The place of the outline where the new mouth opened: one end of it stayed, the other is where that went."""
    mouth = mouth_of(work.after, made)
    first = math.dist(how.point(mouth.start), mouth.end)
    second = math.dist(how.point(mouth.end), mouth.start)
    return mouth.start if first < second else mouth.end


def _legs(work: Work, dart: Dart, cut: Cut) -> tuple[Point, Point]:
    """The end of the dart's mouth that moves, and the one that stays."""
    mouth = mouth_of(work.before, dart)
    moving = shapely.union_all(
        [p.shape for p in parts_of((cut,), cut.piece.polygon) if p.motion is not None and not p.motion.stays]
    )
    ends = sorted((mouth.start, mouth.end), key=lambda end: moving.distance(shapely.Point(end)))
    return ends[0], ends[1]


def fanned(work: Work, slashes: list[tuple[Point, Point]], each: Measure) -> list[HandStep]:
    """Slashes from the hem to hinges on the waist, each (hinge, foot), spread or lapped by ``each`` at the hem."""
    before, letters = work.before, "ABCDE"
    lines = tuple(Inked(Ink.DRAW, straight(*ends)) for ends in slashes)
    hinges = tuple(Spot(hinge, letter, True) for letter, (hinge, _) in zip(letters, slashes, strict=False))
    steps = []
    for spot, (hinge, foot) in zip(hinges, slashes, strict=True):
        says = phrase(
            f"Mark {spot.letter} ",
            along_words(before, hinge),
            "; rule straight down to the hem, ",
            apart(hinge, foot),
            ".",
        )
        steps.append(HandStep(says, whole(before) + Sketch(lines, spots=hinges), "before"))
    cuts = Sketch(tuple(Inked(Ink.CUT, inked.chain) for inked in lines), spots=hinges)
    every = "each line" if len(slashes) > 1 else "the line"
    names = " and ".join(spot.letter for spot in hinges) if len(hinges) < 3 else f"A to {hinges[-1].letter}"
    says = phrase(f"Cut {every} from the hem up to the waist; leave a thread of paper at {names} for hinges; {BLADE}.")
    steps.append(HandStep(says, whole(before) + cuts, "before"))
    opens = work.after.polygon.area > before.polygon.area
    way = "Lay paper under it and spread every cut " if opens else "Lap every cut by "
    says = phrase(way, each, " at the hem, nothing at the waist; tape.")
    every_end = tuple(end for ends in slashes for end in ends)
    steps.append(HandStep(says, laid(work, work.cuts) + Sketch(spots=hinges[:1], look=every_end)))
    return [*steps, *edges_by_hand(work), *darts_by_hand(work)]
