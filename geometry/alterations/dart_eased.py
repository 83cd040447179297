"""Dart changed to ease or gathers.

When: a soft fullness is wanted instead of a stitched dart, or the dart is too small to be worth sewing.

By hand: leave the dart unsewn, or sew a part of it, and work the rest of its mouth in as ease or gathers where the edge
is sewn to the other piece. The paper stays as it is; across the mouth the edge is drawn on as a stitching line.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from geometry.alterations.base import Alteration, Done, Example, choice, once_for, share
from geometry.darts import chosen_dart, mouth_filled, mouth_narrowed, mouth_of, opening_deg, with_ease
from geometry.garments import Garment, StretchKind
from geometry.hand_seams import dart_left_open
from geometry.handwork import HandStep, Work
from geometry.motions import bearing, direction
from geometry.notes import Target, length_at
from geometry.pieces import Dart, Joint, Piece, Place
from geometry.readings import mm_words


@dataclass(frozen=True)
class DartEased:
    part: float = share("part of the dart", 1.0, 0.0, 1.0)
    into: str = choice("worked in", StretchKind.EASED, StretchKind.GATHERED)


def do(garment: Garment, amounts: DartEased, targets: tuple[Target, ...], note: str) -> Done:
    if amounts.part == 0:
        return Done(garment)
    readings: list[str] = []
    for target in targets:
        piece = garment.piece(target.piece)
        dart = chosen_dart(piece, target.across[0] if target.across else None)
        new, before, longer = once_for(piece, dart.id, partial(_unsewn, piece, dart, amounts.part, note))
        edge = piece.edge(dart.edge)
        garment = with_ease(garment, piece.id, edge.id, before, longer, StretchKind(amounts.into)).with_piece(new)
        left = "" if amounts.part >= 1.0 else f"; the dart still closes {abs(opening_deg(new, dart)):.1f} degrees"
        readings.append(
            f"“{edge.name}” of “{piece.name}” is {mm_words(longer)} longer, to be {amounts.into} in "
            f"where the {dart.name} was{left}"
        )
    return Done(garment, readings=tuple(readings))


def _unsewn(piece: Piece, dart: Dart, part: float, note: str) -> tuple[Piece, float, float]:
    """The piece with a part of a dart unsewn, how far along its edge the mouth stands, and how much is worked in."""
    mouth, edge = mouth_of(piece, dart), piece.edge(dart.edge)
    before = length_at(edge, Place(edge.id, [run.dart for run in edge.runs].index(dart.id), 0.0))
    joint = Joint(note, direction(bearing(dart.bust_point, mouth.point(0.5))))
    new = mouth_filled(piece, dart, joint) if part >= 1.0 else mouth_narrowed(piece, dart, part, joint)
    return new, before, part * mouth.length


def steps(work: Work) -> list[HandStep]:
    across = work.target.across if work.target is not None else None
    return dart_left_open(work, chosen_dart(work.before, across[0] if across else None), str(work.amounts.into))


ALTERATION = Alteration(
    name="dart_eased",
    title="Dart changed to ease or gathers",
    region="bust and chest",
    order=58,
    sentence="Leave {part} of the dart on {pieces} unsewn, {into} into the seam",
    amounts=DartEased,
    do=do,
    steps=steps,
    examples=(
        Example("a dart 22 mm wide left unsewn", "the seam is 22 mm longer on this piece, eased in", "addition"),
    ),
    describes=__doc__,
)
