"""Seams sewn or cut elsewhere, darts ruled, left open or sewn to another point: steps by hand."""

from __future__ import annotations

import shapely

from geometry.darts import mouth_of
from geometry.hand_edges import darts_by_hand, edges_by_hand
from geometry.hand_places import along_words, whole
from geometry.handwork import HandStep, Ink, Inked, Measure, Sketch, Spot, Stage, Taken, Work, apart, phrase
from geometry.lines import Chain, polyline, straight
from geometry.motions import Point
from geometry.pieces import Dart, Edge


def cut_outside(work: Work) -> list[HandStep]:
    """A cutting line at another width round a stitching line that stays."""
    steps = []
    for old in work.before.edges:
        new = work.after.edge(old.id)
        if new is old:
            continue
        width = work.amount("width")
        line = outside(new, width.mm)
        length = Measure(new.length, Taken.LENGTH, (), work.after.id, new.id, "", Stage.AFTER)
        shown = whole(work.before) + Sketch((Inked(Ink.DRAW, line),))
        says = phrase(f"Lay the ruler along the {old.name} and dot ", width, " outside it, a thumb's width apart.")
        steps.append(HandStep(says, shown, "before"))
        says = phrase("Join the dots along all ", length, f" of the {old.name}: the cutting line; the seam stays.")
        steps.append(HandStep(says, shown))
    return steps


def outside(edge: Edge, width: float) -> Chain:
    """A line so many mm outside an edge, which lies to the right of it in outline order."""
    made = shapely.LineString(edge.chain.flat[0]).offset_curve(-width)
    longest = max(shapely.get_parts(made), key=lambda part: float(part.length))
    return polyline(shapely.get_coordinates(longest))


def sewn_elsewhere(work: Work) -> list[HandStep]:
    """A seam sewn at another width from a cut edge that stays."""
    steps = []
    for old in work.before.edges:
        new = work.after.edge(old.id)
        if new.width == old.width and new.tapers == old.tapers:
            continue
        shown = whole(work.before) + Sketch((Inked(Ink.DRAW, new.chain),))
        end = ", to nothing at the place named" if new.tapers else ""
        width = work.amount("width")
        says = phrase("The cut edge stays: measure ", width, f" in from it along the {old.name}{end}, and dot.")
        steps.append(HandStep(says, shown, "before"))
    return [*steps, *edges_by_hand(work)]


def dart_ruled(work: Work) -> list[HandStep]:
    """A new dart: the middle of its mouth, half to each side, the point square to it, both legs."""
    old = {dart.id for dart in work.before.darts}
    steps: list[HandStep] = []
    for dart in work.after.darts:
        if dart.id in old:
            continue
        mouth = mouth_of(work.after, dart)
        middle = mouth.point(0.5)
        half, deep = apart(mouth.start, mouth.end, 0.5), apart(middle, dart.sewn_point)
        on_edge = _on_outline(work, middle)
        ends = (Spot(mouth.start, "B"), Spot(mouth.end, "C"))
        says = phrase("Mark A, the middle of the mouth: ", along_words(work.before, on_edge), ".")
        steps.append(HandStep(says, whole(work.before) + Sketch(spots=(Spot(on_edge, "A"),)), "before"))
        says = phrase("Mark B and C ", half, " to each side of A on the seam.")
        steps.append(HandStep(says, whole(work.before) + Sketch(spots=(Spot(on_edge, "A"), *ends)), "before"))
        says = phrase("Measure ", deep, " in from the middle of B and C, square to the seam, for the point D.")
        line = Inked(Ink.DRAW, straight(middle, dart.sewn_point))
        shown = whole(work.before) + Sketch((line,), spots=(*ends, Spot(dart.sewn_point, "D")), sizes=(deep,))
        steps.append(HandStep(says, shown, "before"))
    return [*steps, *darts_by_hand(work)]


def _on_outline(work: Work, point: Point) -> Point:
    rim = work.before.polygon.exterior
    near = rim.interpolate(rim.project(shapely.Point(point)))
    return (near.x, near.y)


def point_set(work: Work, dart: Dart) -> list[HandStep]:
    """A dart whose sewn point is set elsewhere on its middle."""
    now = next(d for d in work.after.darts if d.id == dart.id)
    middle = mouth_of(work.before, dart).point(0.5)
    deep, was = apart(middle, now.sewn_point), apart(middle, dart.sewn_point)
    line = Inked(Ink.DRAW, straight(middle, now.sewn_point))
    says = phrase(
        "Mark A ", deep, f" in from the mouth on the middle of the {dart.name}; its point stood ", was, " in."
    )
    shown = whole(work.before) + Sketch((line,), spots=(Spot(now.sewn_point, "A"),), sizes=(deep,))
    return [HandStep(says, shown, "before"), *darts_by_hand(work)]


def dart_left_open(work: Work, dart: Dart, into: str) -> list[HandStep]:
    """A dart left unsewn, or sewn in part, and the rest of its mouth worked in."""
    mouth = mouth_of(work.before, dart)
    left = next((d for d in work.after.darts if d.id == dart.id), None)
    width = apart(mouth.start, mouth.end)
    steps = []
    if left is None:
        says = phrase(f"Leave the {dart.name} unsewn: the ", width, f" of its mouth is to be {into} in.")
    else:
        now = mouth_of(work.after, left)
        sewn = apart(now.start, now.end)
        says = phrase(f"Of the {dart.name}'s mouth of ", width, " sew ", sewn, f"; the rest is {into} in.")
    drawn = Sketch((Inked(Ink.DRAW, straight(mouth.start, mouth.end)),))
    steps.append(HandStep(says, whole(work.before) + drawn, "before"))
    edge = work.after.edge(dart.edge)
    length = Measure(edge.length, Taken.LENGTH, (), work.after.id, edge.id, "", Stage.AFTER)
    says = phrase(f"Draw the {edge.name} on across the mouth; it is now ", length, " long before it is worked in.")
    steps.append(HandStep(says, whole(work.after) + drawn))
    return [*steps, *(darts_by_hand(work) if left is not None else [])]


def notch_moved(work: Work) -> list[HandStep]:
    """A notch marked further along its seam, where its mate meets it."""
    was = {notch.id: notch for notch in work.before.notches}
    steps = []
    for notch in work.after.notches:
        old, new = work.before.point_at(was[notch.id].place), work.after.point_at(notch.place)
        if old == new:
            continue
        first, second = Spot(old, "A"), Spot(new, "B")
        says = phrase(f"Find the {notch.name}, A, ", along_words(work.before, old), ".")
        steps.append(HandStep(says, whole(work.before) + Sketch(spots=(first,)), "before"))
        says = phrase("Mark B ", work.amount("amount"), " along the seam from A and nick it there; rub A out.")
        steps.append(HandStep(says, whole(work.after) + Sketch(spots=(first, second))))
    return steps
