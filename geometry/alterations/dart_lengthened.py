"""Dart lengthened, shortened.

When: the dart ends in a bubble short of the bust or hip, or runs on past it.

By hand: the mouth stays; the sewn point is set nearer to the bust point or further back on the middle of the dart, and
both legs are ruled to it anew. The dart is still turned about its bust point. The legs stay equal; a shorter dart of
the same mouth is sewn at a wider angle.

Source: common practice, no source; the angles follow from geometry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.darts import chosen_dart, mouth_of
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_seams import point_set
from geometry.handwork import HandStep, Work
from geometry.lines import Chain
from geometry.motions import Point
from geometry.notes import Target
from geometry.pieces import Dart, Piece
from geometry.readings import mm_words

LONGER, SHORTER = "lengthen", "shorten"
#: A sewn point this near past the bust point stands at it (mm).
_AT_POINT_MM = 1e-6


@dataclass(frozen=True)
class DartLengthened:
    way: str = choice("lengthen or shorten", SHORTER, LONGER)
    amount: float = mm("amount", 15.0, 0.0, 150.0, main=True, basis="along each leg of the dart")


def do(garment: Garment, amounts: DartLengthened, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        dart = chosen_dart(piece, target.across[0] if target.across else None)
        new = _set_back(piece, dart, amount if amounts.way == SHORTER else -amount)
        mouth = mouth_of(piece, dart)
        back = math.dist(new.sewn_point, new.bust_point)
        words = (
            f"the {dart.name} of “{piece.name}” is sewn {mm_words(_leg(mouth, new.sewn_point))} long, "
            f"{mm_words(back)} short of the bust point; it closes {_angle(mouth, dart.sewn_point):.1f} degrees "
            f"and now {_angle(mouth, new.sewn_point):.1f}"
        )
        darts = tuple(new if d.id == dart.id else d for d in piece.darts)
        return PieceDone(replace(piece, darts=darts), (), (), (words,))

    return piece_by_piece(garment, targets, one)


def _set_back(piece: Piece, dart: Dart, shorter: float) -> Dart:
    """The dart with legs ``shorter`` mm shorter, its sewn point moved on the line from the middle of its mouth."""
    mouth = mouth_of(piece, dart)
    mx, my = mouth.point(0.5)
    deep = math.dist((mx, my), dart.sewn_point)
    half = mouth.length / 2
    leg = math.hypot(deep, half) - shorter
    if leg <= half:
        raise PatternError(
            f"The legs of the {dart.name} of “{piece.name}” would be shorter than its mouth allows.",
            piece.id,
            dart.edge,
            dart.sewn_point,
        )
    now = math.sqrt(leg * leg - half * half)
    if now > math.dist((mx, my), dart.bust_point) + _AT_POINT_MM:
        raise PatternError(
            f"The {dart.name} of “{piece.name}” would be sewn past the bust point.",
            piece.id,
            dart.edge,
            dart.bust_point,
        )
    scale = now / deep
    x, y = dart.sewn_point
    return replace(dart, sewn_point=(mx + scale * (x - mx), my + scale * (y - my)))


def _leg(mouth: Chain, point: Point) -> float:
    return (math.dist(mouth.start, point) + math.dist(mouth.end, point)) / 2


def _angle(mouth: Chain, point: Point) -> float:
    return math.degrees(2 * math.asin(mouth.length / 2 / _leg(mouth, point)))


def steps(work: Work) -> list[HandStep]:
    across = work.target.across if work.target is not None else None
    return point_set(work, chosen_dart(work.before, across[0] if across else None))


ALTERATION = Alteration(
    name="dart_lengthened",
    title="Dart lengthened or shortened",
    region="bust and chest",
    order=56,
    sentence="{way} the dart on {pieces} by {amount}; its mouth stays",
    amounts=DartLengthened,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a dart of 15.03 degrees with legs of 131.53 mm, sewn 25 mm shorter",
            "it is sewn at 18.59 degrees, its mouth 34.41 mm as before",
            "2 asin(17.207 / 106.53), worked by hand",
        ),
    ),
    describes=__doc__,
)
