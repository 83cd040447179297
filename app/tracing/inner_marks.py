"""What lies inside a piece: notches, dots, grainline and guide lines, told by layer, name, shape and place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.tracing.found import FoundLine, FoundWords
from app.tracing.joining import Loop
from app.tracing.orienting import grain_of
from app.tracing.pieces_found import IGNORED, RawPiece, line_role
from app.tracing.roles import EXCHANGE_POINTS, kind_of_line, kind_said, plain, role_of_layer
from geometry.lines import Chain, straight
from geometry.motions import Point
from geometry.pens import Role
from geometry.pieces import LineKind, MarkKind

#: A line this short at the outline is a notch; a ring this small is a dot (mm).
_SHORT_MM, _DOT_MM = 12.0, 14.0
#: A notch without a name stands at the outline within this (mm).
_AT_OUTLINE_MM = 1.0
#: Two notches nearer than this are one double notch (mm); different notches stand at least 1/2 in apart.
DOUBLE_MM = 9.0
#: A grainline without a name is at least this long (mm) and within this of upright (degrees).
_GRAIN_MM, _PLUMB_DEG = 60.0, 3.0
#: What is lettered beside a line or a dot stands no further from it than this and its letters' height (mm).
_BESIDE_MM = 8.0
#: A letter is about so wide, as a share of its height (common practice, no source).
_LETTER = 0.5


@dataclass(frozen=True, eq=False)
class NamedLine:
    name: str
    kind: LineKind
    line: Chain


@dataclass(frozen=True)
class NamedMark:
    name: str
    kind: MarkKind
    point: Point


@dataclass(frozen=True, eq=False)
class Inside:
    """What was picked up inside one piece; ``legs`` may be legs of darts, ``folds`` lines that mark the fold."""

    notches: tuple[tuple[Point, str], ...] = ()
    marks: tuple[NamedMark, ...] = ()
    lines: tuple[NamedLine, ...] = ()
    legs: tuple[Chain, ...] = ()
    folds: tuple[Chain, ...] = ()


def look_inside(piece: RawPiece, rim: Chain, exchange: bool) -> Inside:
    """What lies on a piece, sorted; ``rim`` is the outline that its notches stand on."""
    notches: list[tuple[Point, str]] = []
    marks: list[NamedMark] = []
    lines: list[NamedLine] = []
    legs: list[Chain] = []
    folds: list[Chain] = []
    grain = grain_of(piece, exchange)
    called = _called_by_words(piece, grain, exchange)
    for found in piece.lines:
        role = Role.GRAIN if found is grain else line_role(found, exchange)
        line = found.chain
        if role in IGNORED:
            continue
        if role is Role.NOTCH:
            notches.append((_foot_of(line, rim), _own_name(found.name)))
        elif role is Role.FOLD:
            folds.append(line)
        elif role is Role.DART:
            legs.append(line)
        elif role is Role.MARK:
            continue
        elif id(found) in called:
            lines.append(NamedLine(called[id(found)].value, called[id(found)], line))
        elif role is None and line.length <= _SHORT_MM:
            if rim.nearest(_nearer(line, rim))[1] <= _AT_OUTLINE_MM:
                notches.append((_foot_of(line, rim), ""))
        elif role is None and _may_be_legs(line, rim):
            legs.append(line)
        elif not (role in (Role.GRAIN, Role.STRETCH) and line.length <= 2 * _SHORT_MM):
            lines.append(_named_line(found.name, found.layer, line, role))
    for loop in piece.loops:
        _sort_loop(loop, line_role(loop.line, exchange), marks, lines)
    for point in piece.points:
        role = role_of_layer(point.layer, exchange)
        if role is Role.NOTCH:
            notches.append((point.at, ""))
        elif not (exchange and point.layer in EXCHANGE_POINTS):
            marks.append(NamedMark("dot", MarkKind.DOT, point.at))
    marks = [_said_mark(mark, piece) for mark in marks]
    return Inside(tuple(notches), _merged_marks(marks), tuple(lines), tuple(legs), tuple(folds))


def _called_by_words(piece: RawPiece, grain: FoundLine | None, exchange: bool) -> dict[int, LineKind]:
    """The lines without a name beside which it is lettered what they are, by id; each word calls the nearest one."""
    called: dict[int, LineKind] = {}
    long = [
        one for one in piece.lines
        if one.chain.length > _SHORT_MM and one is not grain and kind_of_line(one.name) is LineKind.OTHER
        and line_role(one, exchange) in (None, Role.GUIDE)
    ]
    for word in piece.words:
        kind = kind_said(word.words)
        if kind is None or not long:
            continue
        away, line = min(((one.chain.nearest(word.at)[1], one) for one in long), key=lambda pair: pair[0])
        if away <= _BESIDE_MM + word.height_mm:
            called.setdefault(id(line), kind)
    return called


def _said_mark(mark: NamedMark, piece: RawPiece) -> NamedMark:
    """A dot beside which it is lettered that it is the bust point."""
    said = (one for one in piece.words if plain(one.words) in ("bust point", "apex"))
    if mark.kind is MarkKind.DOT and any(_stands_beside(one, mark.point) for one in said):
        return NamedMark(MarkKind.BUST_POINT.value, MarkKind.BUST_POINT, mark.point)
    return mark


def _stands_beside(word: FoundWords, point: Point) -> bool:
    """Whether a word is lettered beside a point, set level."""
    (x, y), wide = word.at, _LETTER * word.height_mm * len(word.words)
    away = math.dist(point, (min(max(point[0], x), x + wide), y))
    return away <= _BESIDE_MM + word.height_mm


def _own_name(name: str) -> str:
    return name if "notch" in plain(name) else ""


def _nearer(line: Chain, rim: Chain) -> Point:
    return min((line.start, line.end, line.point(len(line) / 2)), key=lambda point: rim.nearest(point)[1])


def _foot_of(line: Chain, rim: Chain) -> Point:
    """Where a notch stands: the middle of a V's or box's mouth, or the end of a line that is nearest the outline."""
    if len(line) >= 2 and abs(rim.nearest(line.start)[1] - rim.nearest(line.end)[1]) < 0.5:
        return ((line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2)
    return _nearer(line, rim)


def _may_be_legs(line: Chain, rim: Chain) -> bool:
    """A line without a name that starts at the outline and ends at a point inside, or goes there and back."""
    if len(line) == 2 and line.straight.all():
        ends = [rim.nearest(point)[1] < 1.5 for point in (line.start, line.end)]
        legs = line.segment_lengths
        inside = rim.nearest(line.point(1.0))[1] > 15.0
        return all(ends) and inside and bool(abs(legs[0] - legs[1]) < max(1.5, 0.03 * legs[0]))
    if not line.is_straight:
        return False
    near = [rim.nearest(point)[1] < 1.5 for point in (line.start, line.end)]
    far = [rim.nearest(point)[1] > 15.0 for point in (line.start, line.end)]
    return (near[0] and far[1]) or (near[1] and far[0])


def _named_line(name: str, layer: str, line: Chain, role: Role | None) -> NamedLine:
    kind = kind_of_line(name)
    if kind is LineKind.OTHER:
        kind = {
            Role.GRAIN: LineKind.GRAIN,
            Role.STRETCH: LineKind.STRETCH,
            Role.PLACEMENT: LineKind.PLACEMENT,
            Role.TURN: LineKind.TURN,
        }.get(role or Role.LABEL, kind_of_line(layer))
    return NamedLine(kind.value, kind, line)


def _sort_loop(loop: Loop, role: Role | None, marks: list[NamedMark], lines: list[NamedLine]) -> None:
    """A small ring is a dot; a larger closed line is where something is placed."""
    if role in IGNORED or role in (Role.GRAIN, Role.STRETCH, Role.FOLD, Role.DART, Role.NOTCH):
        return
    x0, y0, x1, y1 = loop.chain.box
    across, down = x1 - x0, y1 - y0
    if max(across, down) <= _DOT_MM:
        round_ish = loop.polygon.area > 0.6 * across * down and abs(across - down) < 0.3 * max(across, down)
        if round_ish or role is Role.MARK:
            name = plain(loop.line.name)
            kind = MarkKind.BUST_POINT if "bust point" in name or "apex" in name else MarkKind.DOT
            marks.append(NamedMark(kind.value, kind, ((x0 + x1) / 2, (y0 + y1) / 2)))
    elif max(across, down) > 2 * _DOT_MM:
        lines.append(NamedLine(LineKind.PLACEMENT.value, LineKind.PLACEMENT, loop.chain))


def _merged_marks(marks: Sequence[NamedMark]) -> tuple[NamedMark, ...]:
    kept: list[NamedMark] = []
    for mark in sorted(marks, key=lambda one: one.kind is not MarkKind.BUST_POINT):
        if all(math.dist(mark.point, one.point) > 1.0 for one in kept):
            kept.append(mark)
    return tuple(kept)


def with_grain(lines: Sequence[NamedLine]) -> tuple[NamedLine, ...]:
    """The lines, the longest upright one that has no name as the grainline where none is named so."""
    if any(one.kind is LineKind.GRAIN for one in lines):
        return tuple(lines)
    upright = [
        one
        for one in lines
        if one.kind is LineKind.OTHER and one.line.is_straight and one.line.length >= _GRAIN_MM and _is_plumb(one.line)
    ]
    if not upright:
        return tuple(lines)
    best = max(upright, key=lambda one: one.line.length)
    grain = NamedLine(LineKind.GRAIN.value, LineKind.GRAIN, straight(best.line.start, best.line.end))
    return tuple(grain if one is best else one for one in lines)


def _is_plumb(line: Chain) -> bool:
    dx, dy = np.abs(np.array(line.end) - np.array(line.start))
    return bool(dx <= math.tan(math.radians(_PLUMB_DEG)) * dy)
