"""Turning a dart, or part of it, about its bust point to another place of the outline.

By hand: cut from the new place to the bust point and along one leg of the dart, close the dart and let the cut open.
The angle is conserved (common practice, no source; geometry).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from geometry.cutting_lines import hem_side_normal, square_direction
from geometry.darts import (
    bust_marks_carried,
    carried_dart,
    gap_as_mouth,
    mouth_filled,
    mouth_of,
    opening_deg,
    pointed_at,
    way_out,
    wedge,
    without_bust,
)
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.motions import STAY, Point, bearing, direction, turn
from geometry.moves import lay_together
from geometry.notes import Address
from geometry.pieces import Dart, Edge, EdgeKind, Joint, Line, LineKind, Piece, Place
from geometry.regions import Region, beside_slash
from geometry.stages import Strip

_NEAR_MM = 1e-3
_CENTRES = (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK)
#: Along these edges a place is counted from the top, along the others from the end nearer the centre.
_FROM_TOP = (EdgeKind.ARMHOLE, EdgeKind.SIDE, EdgeKind.UNDERARM, *_CENTRES)
_RIGID = (LineKind.GRAIN, LineKind.STRETCH, LineKind.CENTRE)


@dataclass(frozen=True, eq=False)
class Turned:
    """The piece after a dart was turned; ``dart`` is the one that opened, ``strip`` the paper between its legs."""

    piece: Piece
    findings: tuple[Finding, ...]
    strip: Strip
    degrees: float
    dart: Dart


def turned_dart(piece: Piece, dart: Dart, to: Place, part: float, back: float, new_id: str, note: str) -> Turned:
    """A share ``part`` of a dart turned to a place of the outline, about its bust point.

    Turned whole, the dart itself moves; else a new one, ``new_id``, opens there. Its sewn point stands ``back`` mm
    from the bust point. The part of the piece that holds the centre stays. Raises PatternError where the place lies
    in the dart's own mouth.
    """
    apex, mouth = dart.bust_point, mouth_of(piece, dart)
    place = piece.point_at(to)
    if piece.edge(to.edge).on_fold:
        raise PatternError(
            f"“{piece.edge(to.edge).name}” of “{piece.name}” is on the fold; no dart can open there.",
            piece.id,
            to.edge,
            place,
        )
    first, last, opening = bearing(apex, mouth.start), bearing(apex, mouth.end), opening_deg(piece, dart)
    at = bearing(apex, place)
    whole = part >= 1.0
    angle = opening * part
    before, after = (at - last) % 360, (first - at) % 360
    if opening <= 0 or abs(before + after + opening - 360) > 1e-6:
        raise PatternError(
            f"The {dart.name} of “{piece.name}” opens there already; name another place.", piece.id, to.edge, place
        )
    # The paper from the last leg to the place turns back, or that from the place to the first leg turns on.
    early = not _between(piece, apex, last, before)
    leg = mouth.end if early else mouth.start
    middle = direction(last + before / 2 if early else at + after / 2)
    inside = (apex[0] + _NEAR_MM * middle[0], apex[1] + _NEAR_MM * middle[1])
    ways = (way_out(piece, leg, bearing(apex, leg)), way_out(piece, place, at))
    how = turn(-angle if early else angle, apex)
    region = Region(beside_slash((leg, apex, place), ways, inside), how)
    joint = Joint(note, direction(bearing(apex, leg)))
    # A dart closed whole is taken out as paper, so that its mouth is never an edge without length.
    bare = without_bust(mouth_filled(piece, dart, joint) if whole else piece, [dart], apex)
    bare = replace(bare, lines=tuple(line for line in bare.lines if line.kind not in _RIGID))
    regions = [Region(wedge(apex, first, last), None), region] if whole else [region]
    moved = lay_together(bare, regions, note, joint.along)
    new = bust_marks_carried(piece, moved.piece, STAY)
    new = replace(new, lines=_lines(piece, new))
    if whole:
        made = replace(dart, edge=to.edge)
    else:
        new = replace(new, darts=_in_order(piece, new, carried_dart(piece, new, dart, apex)))
        made = Dart(new_id, f"{dart.name} 2", to.edge, apex, apex)
    new = gap_as_mouth(new, to.edge, (place, how.point(place)), made)
    made = pressed(new, pointed_at(made, mouth_of(new, made), back))
    new = replace(new, darts=_in_order(piece, replace(new, darts=(*new.darts[:-1], made)), made))
    line = mouth_of(new, made)
    return Turned(new, moved.findings, Strip(piece.id, np.array([apex, line.start, line.end]), True), angle, made)


def along_edge(piece: Piece, edge: Edge, share: float) -> Address:
    """The place at a share of an edge, counted from its top or from its end nearer the centre."""
    from_start = _first(piece, edge.start, edge.end, edge.kind in _FROM_TOP)
    return Address(edge.id, "start" if from_start else "end", share=share)


def _first(piece: Piece, start: Point, end: Point, top: bool) -> bool:
    """True where an edge is counted from its start: the end further from the hem, or nearer the centre."""
    if top:
        hem = _middle_of(piece, (EdgeKind.HEM, EdgeKind.WAIST))
        return math.dist(start, hem) > math.dist(end, hem)
    centre = _middle_of(piece, _CENTRES)
    return math.dist(start, centre) < math.dist(end, centre)


def _middle_of(piece: Piece, kinds: tuple[EdgeKind, ...]) -> Point:
    for kind in kinds:
        for edge in piece.edges_of(kind):
            return edge.chain.point(len(edge.chain) / 2)
    raise PatternError(
        f"“{piece.name}” shows neither hem nor centre; show where on its outline the dart is to open.", piece.id
    )


def pressed(piece: Piece, dart: Dart) -> Dart:
    """The dart folded as it is pressed: an upright dart to the centre, a sideways one down.

    Source: Oregon State University Extension, 4-H 92132.
    """
    mouth = mouth_of(piece, dart)
    up = hem_side_normal(piece, dart.bust_point, square_direction(piece))
    x, y = mouth.point(0.5)[0] - dart.bust_point[0], mouth.point(0.5)[1] - dart.bust_point[1]
    along, across = abs(x * up[0] + y * up[1]), abs(x * up[1] - y * up[0])
    ends = {"start": mouth.start, "end": mouth.end}
    if along < across:
        return replace(dart, fold_to=min(ends, key=lambda end: ends[end][0] * up[0] + ends[end][1] * up[1]))
    centre = _centre(piece)
    return replace(dart, fold_to=min(ends, key=lambda end: math.dist(ends[end], centre)))


def _centre(piece: Piece) -> Point:
    for edge in piece.edges:
        if edge.on_fold or edge.kind in _CENTRES:
            return edge.chain.point(len(edge.chain) / 2)
    return piece.middle


def _between(piece: Piece, apex: Point, start: float, sweep: float) -> bool:
    """True where the centre of the piece is seen from the bust point within ``sweep`` degrees on from ``start``."""
    return (bearing(apex, _centre(piece)) - start) % 360 < sweep


def _lines(old: Piece, new: Piece) -> tuple[Line, ...]:
    """Grain and centre lines belong to the part that stays; level lines that were crossed stay straight."""
    placed = {line.id: line for line in new.lines}
    return tuple(placed.get(line.id, line) for line in old.lines)


def _in_order(old: Piece, new: Piece, dart: Dart) -> tuple[Dart, ...]:
    """The darts in their old order, ``dart`` put back among them, new ones last."""
    placed = {d.id: d for d in new.darts} | {dart.id: dart}
    order = {d.id: index for index, d in enumerate(old.darts)}
    return tuple(sorted(placed.values(), key=lambda d: order.get(d.id, len(order))))


