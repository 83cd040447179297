"""Darts as they are measured, carried along, opened at an edge and taken out of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import shapely

from geometry.errors import PatternError
from geometry.garments import Garment, Seam, Stretch, StretchKind
from geometry.lines import Chain, straight
from geometry.motions import Motion, Point, bearing, direction
from geometry.moves import dart_mouth, healed
from geometry.notes import Address, length_at, place_at, point_of
from geometry.pieces import Dart, Edge, EdgeKind, Joint, MarkKind, Notch, Piece, Place, Run, RunKind
from geometry.regions import FAR_MM, Patch
from geometry.tolerances import MEET_MM

#: A sewn point stands back from the bust point by this unless something else is asked for (mm).
SET_BACK_MM = 25.0
#: A mark or a dart's point this near to the bust point is meant to stand there (mm).
_SAME_BUST_POINT_MM = 15.0


def chosen_dart(piece: Piece, named: Address | None) -> Dart:
    """The dart nearest to a named place, on its edge if one opens there; without a place the piece's side dart, else
    its first. Raises PatternError where the piece has no dart.
    """
    if not piece.darts:
        raise PatternError(f"“{piece.name}” has no dart; choose a piece with one.", piece.id)
    if named is not None:
        here = point_of(piece, named)
        on_edge = [d for d in piece.darts if d.edge == named.edge] or list(piece.darts)
        return min(on_edge, key=lambda d: math.dist(mouth_of(piece, d).point(0.5), here))
    return next((d for d in piece.darts if piece.edge(d.edge).kind is EdgeKind.SIDE), piece.darts[0])


def bust_point_of(piece: Piece, dart: Dart | None = None) -> Point:
    """The bust point: that of a dart if one is given, else the marked one, else that of the piece's first dart.

    Raises PatternError where the piece shows none.
    """
    if dart is not None:
        return dart.bust_point
    for mark in piece.marks:
        if mark.kind is MarkKind.BUST_POINT:
            return mark.point
    if piece.darts:
        return piece.darts[0].bust_point
    raise PatternError(f"“{piece.name}” has no bust point marked; mark it first.", piece.id)


def is_at(point: Point, bust_point: Point) -> bool:
    """True where a dart's point or a mark is meant to stand at the bust point."""
    return math.dist(point, bust_point) <= _SAME_BUST_POINT_MM


def mouth_of(piece: Piece, dart: Dart) -> Chain:
    """The straight line across a dart's mouth, in outline order."""
    return dart_mouth(piece.edge(dart.edge), dart.id)


def opening_deg(piece: Piece, dart: Dart) -> float:
    """The angle of a dart at its bust point in degrees, from mouth start to mouth end, anticlockwise positive."""
    mouth = mouth_of(piece, dart)
    return (bearing(dart.bust_point, mouth.end) - bearing(dart.bust_point, mouth.start) + 180) % 360 - 180


def set_back(dart: Dart) -> float:
    """How far the sewn point stands back from the bust point (mm)."""
    return math.dist(dart.bust_point, dart.sewn_point)


def carried_dart(old: Piece, new: Piece, dart: Dart, bust_point: Point) -> Dart:
    """The dart on a redrawn piece, whose mouth lies there already, its sewn point kept as it stood in the dart.

    The sewn point keeps its distances along the dart's middle and beside it, so what was undone is as it was.
    """
    sewn = _in_frame(dart.sewn_point, _frame(dart.bust_point, mouth_of(old, dart)))
    (x, y), (ux, uy) = _frame(bust_point, mouth_of(new, dart))
    along, beside = sewn
    return replace(
        dart,
        bust_point=bust_point,
        sewn_point=(x + along * ux - beside * uy, y + along * uy + beside * ux),
    )


def pointed_at(dart: Dart, mouth: Chain, back: float) -> Dart:
    """The dart with its sewn point ``back`` mm from the bust point, on its middle."""
    (x, y), (ux, uy) = _frame(dart.bust_point, mouth)
    return replace(dart, sewn_point=(x + back * ux, y + back * uy))


def _frame(bust_point: Point, mouth: Chain) -> tuple[Point, Point]:
    way = bearing(bust_point, mouth.point(0.5))
    return bust_point, direction(way)


def _in_frame(point: Point, frame: tuple[Point, Point]) -> Point:
    (x, y), (ux, uy) = frame
    dx, dy = point[0] - x, point[1] - y
    return (dx * ux + dy * uy, dy * ux - dx * uy)


def without_bust(piece: Piece, darts: Sequence[Dart], bust_point: Point) -> Piece:
    """The piece without some darts' points and the bust points near one, for a move that carries them itself."""
    gone = {dart.id for dart in darts}
    return replace(
        piece,
        darts=tuple(d for d in piece.darts if d.id not in gone),
        marks=tuple(m for m in piece.marks if m.kind is not MarkKind.BUST_POINT or not is_at(m.point, bust_point)),
    )


def bust_marks_carried(old: Piece, new: Piece, motion: Motion) -> Piece:
    """The piece with the bust points that ``without_bust`` left out put back where a motion takes them."""
    placed = {mark.id: mark for mark in new.marks}
    return replace(
        new,
        marks=tuple(placed[m.id] if m.id in placed else replace(m, point=motion.point(m.point)) for m in old.marks),
    )


def way_out(piece: Piece, point: Point, preferred: float) -> Point:
    """A unit direction in which a slash leaves the piece at a point of its outline, near to ``preferred`` degrees.

    Raises PatternError when the paper is in the way on every side.
    """
    for step in range(0, 36):
        for side in (1, -1) if step else (1,):
            way = direction(preferred + side * 5 * step)
            near = (point[0] + 0.1 * way[0], point[1] + 0.1 * way[1])
            far = (point[0] + FAR_MM * way[0], point[1] + FAR_MM * way[1])
            if not piece.polygon.intersects(shapely.LineString([near, far])):
                return way
    raise PatternError(f"A slash cannot leave “{piece.name}” here; choose another place.", piece.id, point=point)


def wedge(apex: Point, first: float, last: float) -> Patch:
    """The paper seen from a point between two directions in degrees, less than a half turn apart."""
    rays = (direction(first), direction(last))
    return Patch((apex, *((apex[0] + FAR_MM * x, apex[1] + FAR_MM * y) for x, y in rays)))


def gap_as_mouth(piece: Piece, edge_id: str, between: tuple[Point, Point], dart: Dart) -> Piece:
    """The piece with a straight gap of an edge, filled between two points, made the mouth of a new dart.

    Raises PatternError when there is no such gap.
    """
    edge = piece.edge(edge_id)
    for index, run in enumerate(edge.runs):
        ends = (run.chain.start, run.chain.end)
        if run.kind is RunKind.FILLED and _same_ends(ends, between) and 0 < index < len(edge.runs) - 1:
            runs, joints = list(edge.runs), list(edge.joints)
            runs[index] = replace(run, kind=RunKind.MOUTH, dart=dart.id)
            joints[index - 1] = joints[index] = None
            new = piece.with_edge(replace(edge, runs=tuple(runs), joints=tuple(joints)))
            return replace(new, darts=(*new.darts, dart))
    raise PatternError(
        f"No dart opens at “{edge.name}” of “{piece.name}” here; choose another place.", piece.id, edge_id, between[0]
    )


def _same_ends(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    return any(all(math.dist(a, b) < 1e-5 for a, b in zip(one, pair)) for pair in (other, other[::-1]))


def mouth_filled(piece: Piece, dart: Dart, joint: Joint) -> Piece:
    """The piece without a dart: the line across its mouth is sewn like the rest of the edge."""
    edge = piece.edge(dart.edge)
    index = _mouth_index(edge, dart)
    runs, joints = list(edge.runs), list(edge.joints)
    runs[index] = Run(runs[index].chain, RunKind.FILLED)
    joints[index - 1] = joints[index] = joint
    rest = replace(piece, darts=tuple(d for d in piece.darts if d.id != dart.id))
    return _rerun(rest, edge, runs, joints, range(len(runs)))


def mouth_narrowed(piece: Piece, dart: Dart, part: float, joint: Joint) -> Piece:
    """The piece whose dart takes up less: a share ``part`` (0 to 1) of its mouth, half at each end, is sewn as edge."""
    edge = piece.edge(dart.edge)
    index = _mouth_index(edge, dart)
    mouth = edge.runs[index]
    a, b = mouth.chain.point(part / 2), mouth.chain.point(1 - part / 2)
    ends = (mouth.chain.start, a, b, mouth.chain.end)
    first, middle, last = (straight(p, q) for p, q in pairwise(ends))
    parts = (Run(first, RunKind.FILLED), replace(mouth, chain=middle), Run(last, RunKind.FILLED))
    runs = (*edge.runs[:index], *parts, *edge.runs[index + 1 :])
    joints = (*edge.joints[: index - 1], joint, None, None, joint, *edge.joints[index + 1 :])
    where = [i if i < index else i + 1 if i == index else i + 2 for i in range(len(edge.runs))]
    return _rerun(piece, edge, runs, joints, where)


def mouth_cut(piece: Piece, edge_id: str, along: float, width: float, dart: Dart) -> Piece:
    """The piece with the mouth of a new dart cut out of an edge: ``width`` mm along it, its middle ``along``
    mm from the edge's start. Raises PatternError where it does not lie within one line of the edge, or over a notch.
    """
    edge = piece.edge(edge_id)
    place = place_at(edge, along)
    run = edge.runs[place.run]
    middle = run.chain.length_to(place.u)
    low, high = run.chain.at_length(middle - width / 2), run.chain.at_length(middle + width / 2)
    fits = run.kind is not RunKind.MOUTH and 1.0 < middle - width / 2 < middle + width / 2 < run.chain.length - 1.0
    if not fits or any(_holds(n, place, low, high) for n in piece.notches):
        raise PatternError(
            f"A dart {width:.1f} mm wide does not fit on “{edge.name}” of “{piece.name}” there, clear of corners, "
            "notches and other darts.",
            piece.id,
            edge_id,
            piece.point_at(place),
        )
    mouth = Run(straight(run.chain.point(low), run.chain.point(high)), RunKind.MOUTH, dart.id)
    before, after = run.chain.part(0.0, low), run.chain.part(high, float(len(run.chain)))
    parts = (replace(run, chain=before), mouth, replace(run, chain=after))
    runs = (*edge.runs[: place.run], *parts, *edge.runs[place.run + 1 :])
    joints = (*edge.joints[: place.run], None, None, *edge.joints[place.run :])
    new_edge = replace(edge, runs=runs, joints=joints)

    def again(notch: Notch) -> Notch:
        here = notch.place
        if here.edge != edge_id or here.run < place.run or (here.run == place.run and here.u <= low):
            if here.edge == edge_id and here.run == place.run:
                return replace(notch, place=replace(here, u=before.nearest(piece.point_at(here))[0]))
            return notch
        u = here.u if here.run > place.run else after.nearest(piece.point_at(here))[0]
        return replace(notch, place=replace(here, run=here.run + 2, u=u))

    edges = tuple(new_edge if e.id == edge_id else e for e in piece.edges)
    return replace(piece, edges=edges, notches=tuple(again(n) for n in piece.notches), darts=(*piece.darts, dart))


def _holds(notch: Notch, place: Place, low: float, high: float) -> bool:
    return (notch.place.edge, notch.place.run) == (place.edge, place.run) and low < notch.place.u < high


def _mouth_index(edge: Edge, dart: Dart) -> int:
    return next(i for i, run in enumerate(edge.runs) if run.dart == dart.id)


def _rerun(
    piece: Piece, edge: Edge, runs: Sequence[Run], joints: Sequence[Joint | None], where: Sequence[int]
) -> Piece:
    """An edge with other runs, healed, its notches carried along; ``where`` says which run each old run became."""
    kept, kept_joints, new_index = healed(runs, joints)
    new_edge = replace(edge, runs=tuple(kept), joints=tuple(kept_joints))

    def again(notch: Notch) -> Notch:
        if notch.place.edge != edge.id:
            return notch
        index = new_index[where[notch.place.run]]
        u = kept[index].chain.nearest(piece.point_at(notch.place))[0]
        return replace(notch, place=replace(notch.place, run=index, u=u))

    notches = tuple(again(notch) for notch in piece.notches)
    edges = tuple(new_edge if e.id == edge.id else e for e in piece.edges)
    return replace(piece, edges=edges, notches=notches)


def with_ease(
    garment: Garment,
    piece_id: str,
    edge_id: str,
    along: float,
    longer: float,
    kind: StretchKind,
    *,
    made_back: bool = False,
) -> Garment:
    """The garment whose seams allow an edge to be ``longer`` mm longer (shorter when negative) than it was.

    With ``made_back`` an allowance is only made smaller again, never opened the other way.

    ``along`` (mm from the edge's start) is where; between notches that stretch alone is eased or gathered. Seams in
    which the edge stands on both sides are left alone.
    """
    seams = tuple(_eased(garment, seam, (piece_id, edge_id), along, longer, kind, made_back) for seam in garment.seams)
    if all(new is old for new, old in zip(seams, garment.seams, strict=True)):
        return garment
    return replace(garment, seams=seams)


def _eased(
    garment: Garment, seam: Seam, edge: tuple[str, str], along: float, longer: float, kind: StretchKind, made_back: bool
) -> Seam:
    sides = [any((r.piece, r.edge) == edge for r in side) for side in (seam.first, seam.second)]
    if sum(sides) != 1:
        return seam
    change = longer if sides[1] else -longer
    index = _stretch_index(garment, seam, *edge, along)
    stretches = list(seam.stretches)
    new = _stretched(stretches[index], change, kind)
    if made_back and max(abs(new.least), abs(new.most)) > max(abs(stretches[index].least), abs(stretches[index].most)):
        return seam
    stretches[index] = new
    return replace(seam, stretches=tuple(stretches))


def _stretched(old: Stretch, change: float, kind: StretchKind) -> Stretch:
    least, most = old.least + change, old.most + change
    if max(abs(least), abs(most)) <= MEET_MM and old.kind in (StretchKind.EASED, StretchKind.GATHERED):
        return Stretch()
    return replace(old, kind=kind if old.kind is StretchKind.EVEN else old.kind, least=least, most=most)


def _stretch_index(garment: Garment, seam: Seam, piece_id: str, edge_id: str, along: float) -> int:
    """Which stretch of a seam holds a place: the notches of this edge that come before it, counted along the seam."""
    if len(seam.stretches) == 1:
        return 0
    edge = garment.piece(piece_id).edge(edge_id)
    refs = [r for side in (seam.first, seam.second) for r in side]
    ref = next(r for r in refs if (r.piece, r.edge) == (piece_id, edge_id))
    side = seam.first if ref in seam.first else seam.second
    order = [(r.piece, r.edge) for r in side]
    before = 0
    for match in seam.matches:
        piece, notch_id = (match.first_piece, match.first) if side is seam.first else (match.second_piece, match.second)
        notch = next(n for n in garment.piece(piece).notches if n.id == notch_id)
        at = order.index((piece, notch.place.edge))
        here = order.index((piece_id, edge_id))
        if at == here:
            length = length_at(edge, notch.place)
            before += (length > along) if ref.backwards else (length < along)
        else:
            before += at < here
    return before
