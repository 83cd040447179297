"""True the legs of a dart.

When: one leg of a dart is longer than the other, so that the edge steps where the dart is closed.

By hand: measure both legs from the sewn point to the edge, make the shorter one as long as the other (or the longer one
shorter, or share it), draw the edge anew to the new end of the leg, then fold the dart as it is pressed and shape its
mouth.

Source: the legs of a dart are equal: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.carrying import with_edges
from geometry.dart_legs import legs_of
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.lines import straight
from geometry.motions import Point
from geometry.notes import Target
from geometry.pieces import Dart, Piece, Run, RunKind
from geometry.readings import mm_words
from geometry.reshaping import following

LENGTHEN, TRIM, SHARE = "the shorter leg longer", "the longer leg shorter", "shared over both legs"
#: Legs this much alike are equal (mm).
_EQUAL_MM = 1e-9


@dataclass(frozen=True)
class TrueDartLegs:
    way: str = choice("which leg", LENGTHEN, TRIM, SHARE)
    amount: float = mm("amount", 2.0, 0.0, 60.0, main=True, basis="along the legs, from the sewn point")


def do(garment: Garment, amounts: TrueDartLegs, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        return _trued(piece, _dart(piece, target), amounts.way, amount) if amount else PieceDone(piece)

    return piece_by_piece(garment, targets, one)


def _dart(piece: Piece, target: Target) -> Dart:
    """The dart a target names, else the only one of the piece."""
    found = [dart for dart in piece.darts if target.line in (None, dart.id)]
    if len(found) != 1:
        missing = f"has no dart “{target.line}”" if target.line is not None else "has no dart"
        words = missing if not found else "has several darts; name one"
        raise PatternError(f"“{piece.name}” {words}.", piece.id)
    return found[0]


def _trued(piece: Piece, dart: Dart, way: str, amount: float) -> PieceDone:
    legs = legs_of(piece, dart)
    if abs(legs[0] - legs[1]) < _EQUAL_MM:
        return PieceDone(piece, readings=(f"the legs of dart “{dart.name}” of “{piece.name}” are equal",))
    shorter = 0 if legs[0] < legs[1] else 1
    change = [0.0, 0.0]
    change[shorter] = {LENGTHEN: amount, TRIM: 0.0, SHARE: amount / 2}[way]
    change[1 - shorter] = {LENGTHEN: 0.0, TRIM: -amount, SHARE: -amount / 2}[way]
    edge = piece.edge(dart.edge)
    index = next(i for i, run in enumerate(edge.runs) if run.dart == dart.id)
    runs = list(edge.runs)
    mouth = runs[index].chain
    ends = [_along_leg(dart, end, by) for end, by in zip((mouth.start, mouth.end), change, strict=True)]
    for step, old, new in ((-1, mouth.start, ends[0]), (1, mouth.end, ends[1])):
        if new != old:
            runs[index + step] = _carried(piece, dart, runs, index + step, step > 0, new)
    runs[index] = replace(runs[index], chain=straight(ends[0], ends[1]))
    new_piece = with_edges(piece, (replace(edge, runs=tuple(runs)),), reach=amount + 30.0)
    after = legs_of(new_piece, dart)
    words = f"the legs of dart “{dart.name}” of “{piece.name}” come to {mm_words(after[0])} and {mm_words(after[1])}"
    return PieceDone(new_piece, (), (strip_of(piece, new_piece, way == LENGTHEN),), (words,))


def _along_leg(dart: Dart, end: Point, by: float) -> Point:
    x, y = dart.sewn_point
    length = math.dist(dart.sewn_point, end)
    return (end[0] + by * (end[0] - x) / length, end[1] + by * (end[1] - y) / length) if by else end


def _carried(piece: Piece, dart: Dart, runs: list[Run], index: int, at_start: bool, to: Point) -> Run:
    """The run beside a mouth with its end carried to the new end of the leg."""
    if not 0 <= index < len(runs) or runs[index].kind is RunKind.MOUTH:
        raise PatternError(
            f"Dart “{dart.name}” of “{piece.name}” ends at a corner or another dart, so its leg cannot be moved alone.",
            piece.id,
            dart.edge,
        )
    line = runs[index].chain if at_start else runs[index].chain.backwards()
    shift = (to[0] - line.start[0], to[1] - line.start[1])
    if math.hypot(*shift) > 0.4 * line.length:
        raise PatternError(
            f"The edge beside dart “{dart.name}” of “{piece.name}” is too short for that; change it by less.",
            piece.id,
            dart.edge,
        )
    new = straight(to, line.end) if line.is_straight else following(line, shift, 1.0)
    return replace(runs[index], chain=new if at_start else new.backwards())


ALTERATION = Alteration(
    name="true_dart_legs",
    title="True the legs of a dart",
    region="truing",
    order=104,
    sentence="True the legs of a dart of {pieces}: {way} by {amount}",
    amounts=TrueDartLegs,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a dart with legs of 98 and 100 mm, the shorter one made 2 mm longer",
            "both legs 100 mm",
            "addition",
        ),
    ),
    describes=__doc__,
)
