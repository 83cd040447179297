"""A sketch of a step drawn on paper: scaled to its frame, its lines by role, letters and sizes beside their places.

A sketch whose work lies close together is shown from near, with a frame round it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.handwork import Hatched, Ink, Inked, Measure, Moving, Sketch, Taken, Taped
from geometry.lines import Chain, arc, polyline
from geometry.motions import FloatArray, Point
from geometry.pens import Pen, Role, Words, draw_words
from geometry.strokes import arrow_head, hatching
from geometry.units import System

ROLE_OF: dict[Ink, Role] = {
    Ink.OLD: Role.BEFORE,
    Ink.PAPER: Role.PAPER,
    Ink.LINE: Role.INSIDE,
    Ink.GRAIN: Role.INSIDE,
    Ink.DRAW: Role.DRAW,
    Ink.CREASE: Role.CREASE,
    Ink.CUT: Role.SLASH,
}
LETTER_MM, SIZE_MM = 2.3, 1.9
#: Work that takes less than this share of the piece is shown from near; never nearer than this share of it.
_NEAR_SHARE, _NEAREST_SHARE = 0.42, 0.3
_ROOM_MM = 6.0
_HEAD = 0.3
_SPOT_MM, _HINGE_MM = 0.55, 1.1
_TAPE_MM = (3.2, 1.4)
#: An arrow shorter than this on paper is drawn longer, from further away, so that its head does not hide it.
_LEAST_ARROW_MM = 5.0


@dataclass(frozen=True)
class _View:
    """From the piece's mm to the frame's: scaled about ``corner``, laid at ``at``; ``frame`` is (x0, y0, x1, y1)."""

    scale: float
    corner: Point
    at: Point
    frame: tuple[float, float, float, float]
    near: bool

    def point(self, point: Point) -> Point:
        return (
            self.at[0] + self.scale * (point[0] - self.corner[0]),
            self.at[1] + self.scale * (point[1] - self.corner[1]),
        )

    def points(self, points: FloatArray) -> FloatArray:
        return np.array(self.at) + self.scale * (np.asarray(points) - np.array(self.corner))


def draw_sketch(pen: Pen, sketch: Sketch, frame: tuple[float, float, float, float], system: System = "mm") -> None:
    """Draw a sketch inside a frame (x0, y0, x1, y1) mm of the paper; sizes are said in ``system``."""
    view = _view(sketch, frame)
    taken: list[shapely.Geometry] = []
    for hatched in sketch.hatched:
        _hatch(pen, view, hatched)
    for inked in sorted(sketch.lines, key=lambda one: list(Ink).index(one.ink)):
        taken += _line(pen, view, inked)
    for size in sketch.sizes:
        taken += _span(pen, view, size)
    for tape in sketch.tapes:
        _tape(pen, view, tape)
    for move in sketch.moves:
        taken += _move(pen, view, move)
    for spot in sketch.spots:
        if _seen(view, spot.at):
            centre = view.point(spot.at)
            pen.closed(Role.MOVE, _circle(centre, _HINGE_MM if spot.hinge else _SPOT_MM), spot.letter)
            taken.append(shapely.Point(centre).buffer(_HINGE_MM))
    for words in _letters(view, sketch, taken, system):
        draw_words(pen, words)
    if view.near:
        x0, y0, x1, y1 = frame
        pen.closed(Role.TAPE, polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]), "seen from near")


def busy_points(sketch: Sketch) -> FloatArray:
    """(m, 2) the points between which the work of a sketch goes on; none for a drawing of the piece alone."""
    if sketch.look:
        return np.array(sketch.look)
    found = [line.chain.flat[0] for line in sketch.lines if line.ink in (Ink.DRAW, Ink.CREASE, Ink.CUT)]
    found += [hatched.outline for hatched in sketch.hatched]
    loose = [spot.at for spot in sketch.spots] + [end for move in sketch.moves for end in (move.start, move.end)]
    loose += [point for size in sketch.sizes for point in size.points]
    if loose:
        found.append(np.array(loose))
    return np.concatenate(found) if found else np.empty((0, 2))


def _view(sketch: Sketch, frame: tuple[float, float, float, float]) -> _View:
    x0, y0, x1, y1 = frame
    everything = np.concatenate([line.chain.flat[0] for line in sketch.lines])
    low, high = everything.min(axis=0), everything.max(axis=0)
    large, near = float((high - low).max()), False
    busy = busy_points(sketch)
    if len(busy) and float((busy.max(axis=0) - busy.min(axis=0)).max()) < _NEAR_SHARE * large:
        middle = (busy.min(axis=0) + busy.max(axis=0)) / 2
        span = (busy.max(axis=0) - busy.min(axis=0)) * 1.5
        wide, tall = x1 - x0, y1 - y0
        reach = max(float(span[0]) / wide, float(span[1]) / tall, _NEAREST_SHARE * large / min(wide, tall))
        half = np.array([wide, tall]) * reach / 2
        low, high, near = middle - half, middle + half, True
    room = 0.0 if near else _ROOM_MM
    scale = min((x1 - x0 - 2 * room) / float(high[0] - low[0]), (y1 - y0 - 2 * room) / float(high[1] - low[1]))
    size = (high - low) * scale
    at = ((x0 + x1 - float(size[0])) / 2, (y0 + y1 - float(size[1])) / 2)
    return _View(scale, (float(low[0]), float(low[1])), at, frame, near)


def _seen(view: _View, point: Point) -> bool:
    (x, y), (x0, y0, x1, y1) = view.point(point), view.frame
    return x0 <= x <= x1 and y0 <= y <= y1


def _line(pen: Pen, view: _View, inked: Inked) -> list[shapely.Geometry]:
    drawn = shapely.LineString(view.points(inked.chain.flat[0]))
    shown = _clipped(view, drawn)
    role = ROLE_OF[inked.ink]
    for part in shown:
        pen.line(role, polyline(shapely.get_coordinates(part)), role.value)
    if inked.ink is Ink.GRAIN and shown:
        for tip, along in _ends(shown[0]):
            for stroke in arrow_head(role, tip, along, closed=True):
                pen.closed(role, _scaled(stroke.chain.flat[0], tip, _HEAD), role.value)
    return [] if inked.ink is Ink.OLD else list(shown)


def _span(pen: Pen, view: _View, size: Measure) -> list[shapely.Geometry]:
    """A thin line between the two points that a size is taken between."""
    if size.taken is not Taken.APART:
        return []
    shown = _clipped(view, shapely.LineString(view.points(np.array(size.points))))
    for part in shown:
        pen.line(Role.INSIDE, polyline(shapely.get_coordinates(part)), Role.INSIDE.value)
    return shown


def _clipped(view: _View, drawn: shapely.Geometry) -> list[shapely.Geometry]:
    """The lines of a shape that lie in the frame."""
    if view.near:
        drawn = shapely.intersection(drawn, shapely.box(*view.frame))
    return [part for part in shapely.get_parts(drawn) if part.geom_type == "LineString" and part.length > 0.05]


def _hatch(pen: Pen, view: _View, hatched: Hatched) -> None:
    shape: shapely.Geometry = shapely.Polygon(view.points(hatched.outline)).buffer(0)
    if view.near:
        shape = shapely.intersection(shape, shapely.box(*view.frame))
    for part in shapely.get_parts(shape):
        if not isinstance(part, shapely.Polygon) or part.is_empty:
            continue
        ring = shapely.get_coordinates(part.exterior)
        pen.closed(Role.STRIP, polyline(ring), "added" if hatched.added else "taken out")
        for ray in hatching(ring[:-1], spacing=1.0, angle_deg=135.0 if hatched.added else 45.0):
            pen.line(Role.STRIP, polyline(ray), "added" if hatched.added else "taken out")


def _tape(pen: Pen, view: _View, tape: Taped) -> None:
    if not _seen(view, tape.at):
        return
    (x, y), (ux, uy) = view.point(tape.at), tape.along
    long, wide = _TAPE_MM[0] / 2, _TAPE_MM[1] / 2
    corners = [
        (x - s * long * uy + t * wide * ux, y + s * long * ux + t * wide * uy)
        for s, t in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))
    ]
    pen.closed(Role.TAPE, polyline(corners), Role.TAPE.value)


def _move(pen: Pen, view: _View, move: Moving) -> list[shapely.Geometry]:
    start, end = view.point(move.start), view.point(move.end)
    size = math.dist(start, end)
    if size < 1e-6 or not _seen(view, move.end):
        return []
    ux, uy = (end[0] - start[0]) / size, (end[1] - start[1]) / size
    if size < _LEAST_ARROW_MM:
        start = (end[0] - _LEAST_ARROW_MM * ux, end[1] - _LEAST_ARROW_MM * uy)
    pen.line(Role.MOVE, polyline([start, end]), Role.MOVE.value)
    for stroke in arrow_head(Role.MOVE, end, (-ux, -uy), closed=True):
        pen.closed(Role.MOVE, _scaled(stroke.chain.flat[0], end, _HEAD), Role.MOVE.value)
    return [shapely.LineString([start, end])]


def _letters(view: _View, sketch: Sketch, taken: list[shapely.Geometry], system: System) -> Iterator[Words]:
    """Letters at the marked points and sizes beside their places, each where it hides nothing, if there is room."""
    for spot in sketch.spots:
        if spot.letter and _seen(view, spot.at):
            words = _free(view, view.point(spot.at), Words(Role.LABEL, (0.0, 0.0), spot.letter, LETTER_MM), taken)
            taken.append(shapely.Polygon(words.box()))
            yield words
    for size in sketch.sizes:
        place = _place(size)
        if place is not None and _seen(view, place):
            words = _free(view, view.point(place), Words(Role.LABEL, (0.0, 0.0), size.words(system), SIZE_MM), taken)
            taken.append(shapely.Polygon(words.box()))
            yield words


def _place(size: Measure) -> Point | None:
    if size.taken is not Taken.APART:
        return size.points[0] if size.points else None
    (ax, ay), (bx, by) = size.points
    return ((ax + bx) / 2, (ay + by) / 2)


def _free(view: _View, beside: Point, words: Words, taken: list[shapely.Geometry]) -> Words:
    """The words laid near a point where they cross as little as possible of what is drawn, inside the frame."""
    hidden = shapely.union_all(taken) if taken else shapely.Point()
    frame = shapely.box(*view.frame)
    best, least = words, math.inf
    wide, tall = words.width_mm / 2, words.height_mm / 2
    for step in range(1, 6):
        for turn in range(16):
            angle = math.pi / 4 + turn * math.tau / 16
            x = beside[0] + math.cos(angle) * (wide + 0.9 * step)
            y = beside[1] + math.sin(angle) * (tall + 1.2 * step)
            tried = Words(words.role, (x, y), words.words, words.height_mm)
            box = shapely.Polygon(tried.box(0.25))
            crossed = shapely.intersection(box, hidden)
            cost = crossed.length + 3 * crossed.area + 0.35 * step + 20 * shapely.difference(box, frame).area
            if cost < least:
                best, least = tried, cost
    return best


def _ends(line: shapely.Geometry) -> list[tuple[Point, Point]]:
    points = [(float(x), float(y)) for x, y in shapely.get_coordinates(line)]
    found = []
    for tip, behind in ((points[0], points[1]), (points[-1], points[-2])):
        size = math.dist(tip, behind)
        found.append((tip, ((behind[0] - tip[0]) / size, (behind[1] - tip[1]) / size)))
    return found


def _scaled(points: FloatArray, about: Point, factor: float) -> Chain:
    return polyline(np.array(about) + factor * (np.asarray(points) - np.array(about)))


def _circle(centre: Point, radius: float) -> Chain:
    return arc(centre, radius, 0.0, 360.0)
