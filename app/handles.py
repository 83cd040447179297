"""Where a note can be taken hold of on a piece, worked out from how its strip answers to its amounts.

No alteration is named here: every number of a note is changed a little, the note is done again to the one piece,
and the side of the strip that went along is the line to drag. So a new alteration can be dragged as it is.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.alterations import find
from geometry.alterations.base import Alteration, Amount
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.motions import FloatArray, Motion, Point, slide
from geometry.notes import Note, point_of
from geometry.pieces import Edge
from geometry.stages import Step, Strip

#: By how much a number is changed to see what goes along: mm, and parts of a whole.
_NUDGE = {"mm": 0.5, "share": 0.005}
#: A strip's side runs straight on where it turns less than this.
_STRAIGHT_RAD = 1e-4
#: Sides shorter than this part of the longest carry no handle.
_LONG_ENOUGH = 0.25
#: A side that goes along by less than this part of the nudge does not answer.
_LEAST_ANSWER = 0.05
#: Sides whose directions differ by less than this (sine) can be the same side before and after.
_SAME_WAY = 0.2

#: A handle's line passes this close to the hand that drags it (mm).
_NEAR_THE_HAND = 0.1
#: A handle is carried on past what can be done by no more than this (mm).
_OUT_OF_REACH_MM = 60.0

Side = tuple[Point, Point]


@dataclass(frozen=True)
class Handle:
    """One number of a note, and the line on the piece that goes with it.

    ``side`` is that line from end to end and ``at`` the end where the handle stands (mm, on the piece the strip is
    drawn on). Moving it by 1 mm along the unit direction ``along`` changes the number by ``per_mm``. ``called`` says it
    with {} for the number, "" where it is what the strip takes out or adds.
    """

    note: str
    field: str
    label: str
    unit: str
    main: bool
    value: float
    least: float
    most: float
    side: Side
    at: Point
    along: Point
    per_mm: float
    called: str = ""

    def value_at(self, start: Point, now: Point, value: float) -> float:
        """The number after a drag from ``start`` to ``now`` (mm) that began at ``value``, kept within its limits."""
        way = (now[0] - start[0]) * self.along[0] + (now[1] - start[1]) * self.along[1]
        return min(max(value + way * self.per_mm, self.least), self.most)

    def moved(self, motion: Motion) -> Handle:
        """The same handle where the piece lies after a motion."""
        side = (motion.point(self.side[0]), motion.point(self.side[1]))
        return dataclasses.replace(self, side=side, at=motion.point(self.at), along=motion.vector(self.along))


def handles_of(step: Step, piece_id: str, only: str | None = None) -> tuple[Handle, ...]:
    """The handles of a note on one piece, its main amount first; none where it was not done or has no strip.

    ``only`` asks for the handle of one field, which is quicker.
    """
    target = next((one for one in step.note.targets if one.piece == piece_id), None)
    strip = strip_of(step.strips, piece_id)
    if not step.done or strip is None or target is None:
        return ()
    alteration = find(step.note.alteration)
    note = _with_own_amount(dataclasses.replace(step.note, targets=(target,)), alteration)
    sides = straight_sides(strip.outline)
    fold = step.before.piece(piece_id).fold
    found: list[Handle] = []
    for name, amount in sorted(alteration.fields().items(), key=lambda item: not item[1].main):
        if amount.unit in _NUDGE and only in (None, name):
            handle = _handle(step, note, (name, amount), sides, [one.side for one in found], fold)
            if handle is not None and _follows_the_hand(step, note, handle):
                found.append(handle)
    return tuple(found)


def handles_past_limit(step: Step, done: Step, piece_id: str, only: str | None = None) -> tuple[Handle, ...]:
    """The handles of a note that could not be done, so that it can be dragged back.

    They stand where they stood when it was last ``done``, each carried on to what its number is now.
    None where ``done`` is of another note or another garment.
    """
    alike = (done.note.id, done.note.alteration, done.before.id) == (
        step.note.id, step.note.alteration, step.before.id
    )
    target = next((one for one in step.note.targets if one.piece == piece_id), None)
    if not alike or target is None:
        return ()
    note = _with_own_amount(dataclasses.replace(step.note, targets=(target,)), find(step.note.alteration))
    return tuple(
        _carried_on(one, float(getattr(note.amounts, one.field))) for one in handles_of(done, piece_id, only)
    )


def _carried_on(handle: Handle, value: float) -> Handle:
    """A handle moved to what its number is now, but not out of reach."""
    way = min(max((value - handle.value) / handle.per_mm, -_OUT_OF_REACH_MM), _OUT_OF_REACH_MM)
    motion = slide(way * handle.along[0], way * handle.along[1])
    return dataclasses.replace(handle.moved(motion), value=value)


@dataclass(frozen=True)
class LineEnd:
    """A place on an edge that a note was given: the ``index``-th address of a line drawn across (mm on the piece)."""

    note: str
    index: int
    edge: str
    at: Point


def line_ends(step: Step, piece_id: str) -> tuple[LineEnd, ...]:
    """The places on its edges that the note was given for a piece, as far as they are still there."""
    target = next((one for one in step.note.targets if one.piece == piece_id), None)
    if target is None or not target.across or not step.note.on:
        return ()
    found = []
    for index, address in enumerate(target.across):
        try:
            at = point_of(step.before.piece(piece_id), address)
        except PatternError:
            continue
        found.append(LineEnd(step.note.id, index, address.edge, at))
    return tuple(found)


def strip_of(strips: tuple[Strip, ...], piece_id: str) -> Strip | None:
    """The strip of a piece that has any paper in it."""
    return next((strip for strip in strips if strip.piece == piece_id and len(strip.outline) >= 3), None)


def straight_sides(outline: FloatArray) -> tuple[Side, ...]:
    """The long straight sides of a strip, at least a quarter as long as the longest of them."""
    points = np.asarray(outline, dtype=float)
    points = points[_turns(points)]
    ends = np.roll(points, -1, axis=0)
    sizes = np.hypot(*(ends - points).T)
    long = np.flatnonzero(sizes > _LONG_ENOUGH * sizes.max())
    return tuple((_point(points[i]), _point(ends[i])) for i in long)


def _turns(points: FloatArray) -> NDArray[np.bool_]:
    """(m,) True at the points where the outline does not run straight on."""
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    kept: NDArray[np.bool_] = np.abs(np.arctan2(cross, (before * after).sum(axis=1))) > _STRAIGHT_RAD
    return kept if kept.sum() >= 3 else np.ones(len(points), dtype=bool)


def _with_own_amount(note: Note, alteration: Alteration) -> Note:
    """The note with the amount of its only target as its main amount, so that it answers to it."""
    (target,) = note.targets
    if target.amount is None or alteration.main is None:
        return note
    amounts = dataclasses.replace(note.amounts, **{alteration.main: target.amount})
    return dataclasses.replace(note, amounts=amounts, targets=(dataclasses.replace(target, amount=None),))


def _handle(
    step: Step, note: Note, field: tuple[str, Amount], sides: tuple[Side, ...], taken: list[Side], fold: Edge | None
) -> Handle | None:
    name, amount = field
    value = float(getattr(note.amounts, name))
    nudge = _NUDGE[amount.unit] if value + _NUDGE[amount.unit] <= amount.most else -_NUDGE[amount.unit]
    moved = _nudged(step.before, note, name, value + nudge)
    answers = [(side, *_answer(side, moved, fold)) for side in sides]
    answers = [one for one in answers if math.hypot(*one[2]) > _LEAST_ANSWER * _NUDGE["mm"]]
    if not answers:
        return None
    side, at, way = max(answers, key=lambda one: (round(math.hypot(*one[2]) * (0.4 if one[0] in taken else 1), 6)))
    size = math.hypot(*way)
    sign = 1.0 if nudge > 0 else -1.0
    return Handle(
        note.id,
        name,
        amount.label,
        amount.unit,
        amount.main,
        value,
        amount.least,
        amount.most,
        side,
        at,
        (sign * way[0] / size, sign * way[1] / size),
        abs(nudge) / size,
        amount.called.format(**(vars(note.amounts) | {name: "{}"})),
    )


def _follows_the_hand(step: Step, note: Note, handle: Handle) -> bool:
    """True where the strip's side passes within 0.1 mm of a hand that pulls the handle by 1 mm.

    A side that does not (of a strip whose shape changes otherwise) would slip from the hand: it has no handle.
    """
    hand = (handle.at[0] + handle.along[0], handle.at[1] + handle.along[1])
    moved = _nudged(step.before, note, handle.field, handle.value_at(handle.at, hand, handle.value))
    return any(abs(_gap(hand, _normal(side), side)) < _NEAR_THE_HAND for side in moved)


def _nudged(garment: Garment, note: Note, name: str, value: float) -> tuple[Side, ...]:
    """The sides of the strip with one number changed; none where the note then does not fit."""
    try:
        amounts = dataclasses.replace(note.amounts, **{name: value})
        done = find(note.alteration).do(garment, amounts, note.targets, note.id)
    except PatternError:
        return ()
    strip = strip_of(done.strips, note.targets[0].piece)
    return () if strip is None else straight_sides(strip.outline)


def _answer(side: Side, moved: tuple[Side, ...], fold: Edge | None) -> tuple[Point, Point]:
    """The free end of a side, and how far the side went there (mm, square to itself)."""
    normal = _normal(side)
    best: tuple[float, float] | None = None
    for other in moved:
        if abs(_across(normal, _unit(other))) < _SAME_WAY:
            went = tuple(_gap(end, normal, other) for end in side)
            if best is None or sum(map(abs, went)) < sum(map(abs, best)):
                best = (went[0], went[1])
    went = best or (0.0, 0.0)
    first = _first_is_free(side, went, fold)
    far = went[0] if first else went[1]
    return side[0 if first else 1], (far * normal[0], far * normal[1])


def _first_is_free(side: Side, went: tuple[float, float], fold: Edge | None) -> bool:
    """True when the side's first end goes further, or, where both go alike, lies further from the fold."""
    if abs(abs(went[0]) - abs(went[1])) > 0.1 * max(abs(went[0]), abs(went[1])):
        return abs(went[0]) > abs(went[1])
    if fold is not None:
        return fold.chain.nearest(side[0])[1] > fold.chain.nearest(side[1])[1]
    return side[0] > side[1]


def _gap(point: Point, normal: Point, line: Side) -> float:
    """How far along ``normal`` the endless line of a side lies from a point (mm)."""
    across = _normal(line)
    away = (line[0][0] - point[0]) * across[0] + (line[0][1] - point[1]) * across[1]
    return away / _across(normal, across)


def _across(one: Point, other: Point) -> float:
    return one[0] * other[0] + one[1] * other[1]


def _unit(side: Side) -> Point:
    size = math.dist(*side)
    return ((side[1][0] - side[0][0]) / size, (side[1][1] - side[0][1]) / size)


def _normal(side: Side) -> Point:
    ux, uy = _unit(side)
    return (-uy, ux)


def _point(values: FloatArray) -> Point:
    return (float(values[0]), float(values[1]))
