"""The strokes of each mark on a piece: notches, arrows, fold bracket, darts, dots, hatching.

Shapes and sizes are common practice of the trade, no source; sizes in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from geometry.fairness import curvature_at
from geometry.kept import frozen
from geometry.lines import Chain, arc, joined, polyline, straight
from geometry.motions import FloatArray, Point
from geometry.pens import Role, Stroke
from geometry.pieces import Dart, InnerDart, Line, LineKind, Mark, MarkKind, Notch, NotchStyle, Piece
from geometry.stages import CutNotch, CutPiece
from geometry.tolerances import MEET_MM

NICK_MM = 3.0
V_MM = (5.0, 4.0)
TICK_MM = 4.0
DOUBLE_MM = 6.0
DOT_MM = 2.0
#: The dot at a sewn point: no more round than one dash of its line, so that it is whole.
SEWN_POINT_MM = 0.39
BUST_POINT_MM = 5.0
ARROW_MM = (8.0, 2.5)
#: An open head over a closed one, so that a barb is one dash long.
OPEN_HEAD = 0.7
BRACKET_MM = 10.0

# Shapes in their own frame: a mark is one of these laid at a point, its x axis along a unit direction.
_CIRCLE = arc((0.0, 0.0), 1.0, 0.0, 360.0)
_BAR = straight((0.0, 0.0), (1.0, 0.0))
_BARBS = tuple(straight((0.0, 0.0), (ARROW_MM[0], side * ARROW_MM[1])) for side in (1, -1))
_HEAD = polyline([(0.0, 0.0), _BARBS[1].end, _BARBS[0].end, (0.0, 0.0)])
_V = polyline([(0.0, V_MM[0] / 2), (V_MM[1], 0.0), (0.0, -V_MM[0] / 2)])

#: Which role draws a line on the piece.
ROLE_OF_LINE = {
    LineKind.GRAIN: Role.GRAIN,
    LineKind.STRETCH: Role.STRETCH,
    LineKind.PLACEMENT: Role.PLACEMENT,
    LineKind.TURN: Role.TURN,
}


def piece_strokes(cut: CutPiece, outline: Chain, *, stitching: bool = True) -> Iterator[Stroke]:
    """Every line of a piece with its allowances, cutting line first; curves as they are, nothing flattened.

    ``outline`` is ``outline_of`` the piece.
    """
    piece = cut.piece
    if cut.cutting is not None:
        yield Stroke(Role.CUT, cut.cutting, True, piece.name)
    if stitching or cut.cutting is None:
        yield Stroke(Role.STITCH, outline, True, piece.name)
    yield from notch_strokes(cut)
    yield from fold_strokes(piece)
    for line in piece.lines:
        yield from line_strokes(line)
    for dart in piece.darts:
        yield from dart_strokes(piece, dart)
    for inner in piece.inner_darts:
        yield from inner_dart_strokes(inner)
    for mark in piece.marks:
        yield from mark_strokes(mark)


def outline_of(piece: Piece) -> Chain:
    """The stitching line as one closed chain, straight across dart mouths, from the first corner."""
    return joined([edge.chain for edge in piece.edges])


def notch_strokes(cut: CutPiece) -> Iterator[Stroke]:
    """The notches in the style each asks for; without a cutting line as ticks out from the stitching line."""
    carried = {one.notch: one for one in cut.notches}
    for notch in cut.piece.notches:
        place = carried.get(notch.id)
        if place is None or cut.cutting is None:
            place = _on_stitching_line(cut.piece, notch)
        curvature = _curvature(cut.piece, notch)
        if notch.count == 1:
            yield _notch(notch, place, cut.cutting is not None)
        for shift in _shifts(notch.count):
            yield _notch(notch, _shifted(place, shift, curvature), cut.cutting is not None)


def line_strokes(line: Line) -> Iterator[Stroke]:
    """A grainline or stretch line with its arrow heads (closed heads on the grain, open on the stretch)."""
    role = ROLE_OF_LINE.get(line.kind, Role.GUIDE)
    yield Stroke(role, line.chain, name=line.name)
    if role in (Role.GRAIN, Role.STRETCH):
        ends = ((line.chain.start, line.chain.start_tangent), (line.chain.end, _against(line.chain.end_tangent)))
        for tip, along in ends:
            yield from arrow_head(role, tip, along, closed=role is Role.GRAIN, name=line.name)


def arrow_head(role: Role, tip: Point, along: Point, *, closed: bool, name: str = "") -> Iterator[Stroke]:
    """An arrow head at ``tip``; ``along`` is the unit direction from the tip back into the line.

    An open head is drawn from the tip outwards, so that a dash begins there.
    """
    if closed:
        yield Stroke(role, _laid(_HEAD, tip, along), True, name)
    else:
        yield from (Stroke(role, _laid(barb, tip, along, OPEN_HEAD), name=name) for barb in _BARBS)


def fold_strokes(piece: Piece) -> Iterator[Stroke]:
    """The fold bracket: a line inside the fold edge, turned square onto it at both ends with arrow heads."""
    fold = piece.fold
    if fold is None:
        return
    start, end = fold.start, fold.end
    size = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / size, (end[1] - start[1]) / size
    inward = (-uy, ux)
    inset = min(40.0, size / 6)
    feet = [(start[0] + inset * ux, start[1] + inset * uy), (end[0] - inset * ux, end[1] - inset * uy)]
    tops = [(x + BRACKET_MM * inward[0], y + BRACKET_MM * inward[1]) for x, y in feet]
    yield Stroke(Role.FOLD, polyline([feet[0], tops[0], tops[1], feet[1]]), name=fold.name)
    for foot in feet:
        yield from arrow_head(Role.FOLD, foot, inward, closed=True, name=fold.name)


def dart_strokes(piece: Piece, dart: Dart) -> Iterator[Stroke]:
    """Both legs from the mouth to the sewn point, and the bust point where it stands apart."""
    mouth = next(run.chain for run in piece.edge(dart.edge).runs if run.dart == dart.id)
    yield Stroke(Role.DART, polyline([mouth.start, dart.sewn_point, mouth.end]), name=dart.name)
    apart = math.dist(dart.bust_point, dart.sewn_point) > DOT_MM
    marked = any(math.dist(mark.point, dart.bust_point) < MEET_MM + DOT_MM for mark in piece.marks)
    yield circle(Role.DART, dart.sewn_point, SEWN_POINT_MM, dart.name)
    if apart and not marked:
        yield from crossed_circle(dart.bust_point, dart.name)


def inner_dart_strokes(dart: InnerDart) -> Iterator[Stroke]:
    """The four legs of a double-pointed dart."""
    (top, bottom), (left, right) = dart.points, dart.widest
    yield Stroke(Role.DART, polyline([top, left, bottom, right, top]), True, dart.name)


def mark_strokes(mark: Mark) -> Iterator[Stroke]:
    """A dot as a small circle; the bust point as a cross in a circle."""
    if mark.kind is MarkKind.BUST_POINT:
        yield from crossed_circle(mark.point, mark.name)
    else:
        yield circle(Role.MARK, mark.point, DOT_MM, mark.name)


def circle(role: Role, centre: Point, radius: float, name: str = "") -> Stroke:
    """A circle as a closed chain."""
    return Stroke(role, _laid(_CIRCLE, centre, (1.0, 0.0), radius), True, name)


def crossed_circle(at: Point, name: str = "") -> Iterator[Stroke]:
    """A cross in a circle, the mark of the bust point."""
    reach = BUST_POINT_MM * 1.4
    yield circle(Role.MARK, at, BUST_POINT_MM, name)
    yield Stroke(Role.MARK, _laid(_BAR, (at[0] - reach, at[1]), (1.0, 0.0), 2 * reach), name=name)
    yield Stroke(Role.MARK, _laid(_BAR, (at[0], at[1] - reach), (0.0, 1.0), 2 * reach), name=name)


def hatching(outline: FloatArray, *, spacing: float = 3.0, angle_deg: float = 45.0) -> list[FloatArray]:
    """Hatch lines (2, 2) across a polygon (m, 2), ``spacing`` mm apart, rising to the right at ``angle_deg``."""
    polygon = shapely.Polygon(outline)
    if not polygon.is_valid or polygon.is_empty:
        return []
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    across = np.asarray(outline) @ np.array([-sin, cos])
    along = np.asarray(outline) @ np.array([cos, sin])
    first, last = math.ceil(across.min() / spacing), math.floor(across.max() / spacing)
    heights = spacing * np.arange(first, last + 1)
    ends = np.stack([np.full(len(heights), along.min() - 1), np.full(len(heights), along.max() + 1)], axis=1)
    rays = np.stack([ends * cos - heights[:, None] * sin, ends * sin + heights[:, None] * cos], axis=2)
    pieces = shapely.get_parts(shapely.intersection(shapely.linestrings(rays), polygon))
    return [shapely.get_coordinates(one) for one in pieces if one.length > 1e-3]


def _notch(notch: Notch, place: CutNotch, has_cutting_line: bool) -> Stroke:
    """One notch. A nick never goes past half the allowance; where nothing may be cut in, a V stands outward."""
    at, outward = place.at_cut, place.outward
    allowance = math.dist(place.at_stitch, place.at_cut)
    if not has_cutting_line:
        shape = _laid(_BAR, at, outward, TICK_MM)
    elif notch.style is NotchStyle.V_OUT or not place.nick or allowance < MEET_MM:
        shape = _laid(_V, at, outward)
    else:
        depth = allowance if notch.style is NotchStyle.LINE else min(NICK_MM, allowance / 2)
        shape = _laid(_BAR, at, _against(outward), depth)
    return Stroke(Role.NOTCH, shape, name=notch.name)


def _shifts(count: int) -> list[float]:
    return [] if count == 1 else [DOUBLE_MM * (index - (count - 1) / 2) for index in range(count)]


def _shifted(place: CutNotch, along: float, curvature: float) -> CutNotch:
    """A notch shifted along the cutting line, which is followed as the circle of curvature it lies on."""
    allowance = math.dist(place.at_stitch, place.at_cut)
    ox, oy = place.outward
    bend = curvature / max(1.0 + curvature * allowance, 0.2)
    turned = bend * along
    cos, sin = math.cos(turned), math.sin(turned)
    sideways = along if abs(turned) < 1e-9 else math.sin(turned) / bend
    inward = bend * along * along / 2 if abs(turned) < 1e-4 else (1 - cos) / bend
    x = place.at_cut[0] - oy * sideways - ox * inward
    y = place.at_cut[1] + ox * sideways - oy * inward
    outward = (ox * cos - oy * sin, ox * sin + oy * cos)
    at_stitch = (x - allowance * outward[0], y - allowance * outward[1])
    return CutNotch(place.notch, at_stitch, (x, y), outward, place.nick)


def _curvature(piece: Piece, notch: Notch) -> float:
    """Signed curvature (1/mm, left turn positive) of the edge at a notch."""
    if notch.count == 1:
        return 0.0
    return curvature_at(piece.run_at(notch.place).chain, notch.place.u)


def _on_stitching_line(piece: Piece, notch: Notch) -> CutNotch:
    chain = piece.run_at(notch.place).chain
    point, (tx, ty) = chain.point(notch.place.u), chain.tangent(notch.place.u)
    return CutNotch(notch.id, point, point, (ty, -tx), False)


def _against(vector: Point) -> Point:
    return (-vector[0], -vector[1])


def _laid(shape: Chain, at: Point, along: Point, scale: float = 1.0) -> Chain:
    """A shape scaled, turned so that its x axis runs along a unit direction, and laid at a point."""
    # Points of the plane as complex numbers: a factor turns and scales them.
    laid = shape.cubics.view(np.complex128) * complex(along[0] * scale, along[1] * scale) + complex(*at)
    return Chain(frozen(laid.view(np.float64)), shape.straight)
