"""The three slashes of a full or small bust, the box about a dart, the four quarters of a sleeve: steps by hand."""

from __future__ import annotations

import math

import shapely

from geometry.bust_slashes import Slashes
from geometry.cuts import parts_of
from geometry.darts import bust_point_of
from geometry.hand_cuts import BLADE, cut_lines, laid, slit_along
from geometry.hand_edges import darts_by_hand, edges_by_hand
from geometry.hand_places import along_words, whole
from geometry.handwork import HandStep, Ink, Inked, Moving, Sketch, Spot, Work, apart, phrase
from geometry.lines import straight
from geometry.motions import Point, slide
from geometry.sleeves import sleeve_of, wrist_middle, wrist_of


def three_slashes(work: Work, plan: Slashes) -> list[HandStep]:
    """The long slash to a hinge on the armhole, the one along the dart, the one from the centre; spread or lapped."""
    before, frame, where = work.before, plan.frame, plan.where
    apex, hinge, side = where.apex, where.hinge, where.side
    # The height of the slash from the centre on the paper as it lies, and where it meets the long slash.
    inner = frame.at(frame.across(apex), plan.cross)
    down = slit_along(before, apex, (-frame.up[0], -frame.up[1]), ray=True)
    foot = max((down.start, down.end), key=lambda p: math.dist(p, apex))
    inwards = slit_along(before, inner, (-frame.out[0], -frame.out[1]), ray=True)
    centre = max((inwards.start, inwards.end), key=lambda p: math.dist(p, inner))
    spots = (Spot(apex, "P"), Spot(hinge, "H", True), Spot(foot, "A"), Spot(side, "B"), Spot(centre, "C"))
    lines = [straight(foot, apex), straight(apex, hinge), straight(apex, side), straight(centre, inner)]

    def ruled(count: int, ink: Ink = Ink.DRAW) -> Sketch:
        return whole(before) + Sketch(tuple(Inked(ink, line) for line in lines[:count]), spots=spots[: count + 1])

    dart = "along the middle of the dart " if where.in_mouth else ""
    long, short = apart(hinge, apex), apart(centre, inner)
    told = [
        (phrase("Mark H for the hinge: ", along_words(before, hinge), "."), ruled(0) + Sketch(spots=(spots[1],))),
        (phrase("Rule from H to P, the bust point, ", long, ", and straight down to A on the hem."), ruled(2)),
        (phrase(f"Rule from P {dart}to B on the side, ", apart(apex, side), "."), ruled(3)),
        (phrase("Mark C ", along_words(before, centre), "; rule across from it to the line below P."), ruled(4)),
        (
            phrase("Cut from A to P, ", apart(foot, apex), ", and on to H, ", long, f"; leave a thread at H; {BLADE}."),
            ruled(4, Ink.CUT),
        ),
        (
            phrase("Cut from B to P, leaving a thread there, and from C to the long cut, ", short, "."),
            ruled(4, Ink.CUT),
        ),
    ]
    steps = [HandStep(says, sketch, "before") for says, sketch in told]
    moved = plan.lower_motion.point(apex)
    level = frame.at(frame.across(moved), frame.height(apex))
    spread, drop = apart(apex, level), apart(level, moved)
    corner = tuple(Inked(Ink.LINE, straight(*ends)) for ends in ((apex, level), (level, moved)))
    shown = laid(work, work.cuts) + Sketch(corner, spots=(Spot(apex, "P"), spots[1]), moves=(Moving(apex, moved),))
    if plan.opens:
        first = phrase("Lay paper under it and spread the long cut ", spread, ", the same from P down to the hem.")
        second = phrase("The bust point drops ", drop, ": lower the part below C by as much, the hem level; tape.")
    else:
        first = phrase("Lap the long cut by ", spread, ", the same from P down to the hem.")
        second = phrase("The bust point rises ", drop, ": lap the cut at C by as much, the hem level; tape.")
    steps += [HandStep(first, shown + Sketch(sizes=(spread,))), HandStep(second, shown + Sketch(sizes=(drop,)))]
    return [*steps, *edges_by_hand(work), *darts_by_hand(work)]


def box_slid(work: Work) -> list[HandStep]:
    """A dart cut out in a box with its mouth, and the box slid along the seam."""
    old, new = bust_point_of(work.before), bust_point_of(work.after)
    away = apart(old, new)
    marked = whole(work.before) + Sketch(spots=(Spot(new, "P"),), moves=(Moving(old, new),), sizes=(away,))
    steps = [HandStep(phrase("Mark P, the new bust point, ", away, " from the old one, as drawn."), marked, "before")]
    for cut in work.cuts:
        parts = parts_of((cut,), cut.piece.polygon)
        box = next(part for part in parts if part.motion is not None and not part.motion.stays)
        assert box.motion is not None
        lines = tuple(Inked(Ink.CUT, chain) for chain in cut_lines(cut.piece, [box]))
        corners = _corners(box.shape, work)
        wide, deep = apart(corners[0], corners[1]), apart(corners[1], corners[2])
        says = phrase("Rule a box round the dart, mouth and all: ", wide, " by ", deep, f"; cut it out; {BLADE}.")
        steps.append(HandStep(says, whole(work.before) + Sketch(lines), "before"))
        here = box.shape.representative_point()
        start = (here.x, here.y)
        end = box.motion.point(start)
        far = apart(corners[1], box.motion.point(corners[1]))
        says = phrase("Slide the box ", far, " along the seam; fill the hole with paper; tape all round.")
        shown = laid(work, (cut,)) + Sketch(moves=(Moving(start, end),))
        steps.append(HandStep(says, shown))
    return [*steps, *edges_by_hand(work), *darts_by_hand(work)]


def _corners(shape: shapely.Polygon, work: Work) -> list[Point]:
    """Three corners of the box inside the piece: one at the seam, and the two that lie deepest."""
    edge = work.before.polygon.exterior
    points = [(float(x), float(y)) for x, y in shapely.get_coordinates(shape.exterior)[:-1]]
    deep = sorted(points, key=lambda p: -edge.distance(shapely.Point(p)))[:2]
    seam = [p for p in points if edge.distance(shapely.Point(p)) < 0.1]
    last = max(seam, key=lambda p: math.dist(p, deep[0]) if math.dist(p, deep[1]) < math.dist(p, deep[0]) else -1.0)
    return [deep[0], deep[1], last]


def four_quarters(work: Work, kept_wrist: bool) -> list[HandStep]:
    """A sleeve cut upright and across to hinges at its four corners, the underarm corners drawn apart or together."""
    old, new = sleeve_of(work.before), sleeve_of(work.after)
    foot = wrist_middle(old, wrist_of(old))
    (first, last), top = old.corners, old.top
    spots = (Spot(top, "A", True), Spot(foot, "B", kept_wrist), Spot(first, "C", True), Spot(last, "D", True))
    lines = (straight(top, foot), straight(first, last))
    ruled = whole(work.before) + Sketch(tuple(Inked(Ink.DRAW, line) for line in lines), spots=spots)
    cuts = whole(work.before) + Sketch(tuple(Inked(Ink.CUT, line) for line in lines), spots=spots)
    end = "leave threads at A, B, C and D" if kept_wrist else "leave threads at A, C and D"
    says = phrase("Rule from A, the top of the cap, straight down to B at the wrist, ", apart(top, foot), ".")
    steps = [HandStep(says, ruled, "before")]
    says = phrase("Rule across from C to D, underarm to underarm, ", apart(first, last), ".")
    steps.append(HandStep(says, ruled, "before"))
    steps.append(HandStep(phrase(f"Cut both lines, but {end} for hinges; {BLADE}."), cuts, "before"))
    wider = new.width > old.width
    both = apart(*new.corners)
    arrows = (Moving(first, new.corners[0]), Moving(last, new.corners[1]))
    corners = (Spot(new.corners[0], "C", True), Spot(new.corners[1], "D", True))
    shown = laid(work, work.cuts) + Sketch(spots=corners, moves=arrows)
    way = "Draw C and D apart" if wider else "Push C and D together"
    says = phrase(f"{way} until they stand ", both, " from each other; the quarters lap along the other cut; tape.")
    steps.append(HandStep(says, shown + Sketch(sizes=(both,))))
    parts = [p for p in parts_of(work.cuts, work.before.polygon) if p.motion is not None]
    upper = min(parts, key=lambda p: p.shape.distance(shapely.Point(top)) + p.shape.distance(shapely.Point(first)))
    assert upper.motion is not None
    now = upper.motion.point(top)
    if math.dist(now, top) > 0.05:
        way = "lower" if wider else "higher"
        says = phrase("Check that the top of the cap lies ", apart(top, now), f" {way} than before, straight above B.")
        steps.append(HandStep(says, shown + Sketch(look=_near(top))))
    return [*steps, *edges_by_hand(work), *darts_by_hand(work)]


def _near(point: Point) -> tuple[Point, Point]:
    return (slide(-40.0, -40.0).point(point), slide(40.0, 40.0).point(point))
