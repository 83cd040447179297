"""Dart split in two.

When: one wide dart makes a hard point.

By hand: a wide dart makes a hard point. Mark a second place on the same edge, cut from there to the bust point, close
the dart by its share and let the cut open; both darts then point to the bust point and stop short of it.

Source: geometry, the angle is conserved and shared; common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.dart_turning import along_edge, turned_dart
from geometry.darts import chosen_dart, mouth_of, opening_deg
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import turned_about
from geometry.handwork import HandStep, Work
from geometry.notes import Target, edge_run_length, length_at, place_at
from geometry.pieces import Dart, Piece, Place
from geometry.readings import mm_words

NEARER = "above it, or on the centre's side"
FURTHER = "below it, or away from the centre"


@dataclass(frozen=True)
class DartSplit:
    part: float = share("part of the dart", 0.5, 0.0, 0.9)
    apart: float = mm("apart", 30.0, 5.0, 200.0, basis="along the edge, from the mouth of the old dart")
    side: str = choice("where the second dart lies", FURTHER, NEARER)
    back: float = mm("point set back", 25.0, 0.0, 60.0, basis="from the bust point, along the middle of the dart")


def do(garment: Garment, amounts: DartSplit, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        if amounts.part == 0:
            return PieceDone(piece)
        dart = chosen_dart(piece, target.across[0] if target.across else None)
        done = turned_dart(piece, dart, _second(piece, dart, amounts), amounts.part, amounts.back, f"{note}.dart", note)
        old = next(d for d in done.piece.darts if d.id == dart.id)
        widths = [mouth_of(done.piece, d).length for d in (old, done.dart)]
        angles = [abs(opening_deg(done.piece, d)) for d in (old, done.dart)]
        words = (
            f"the {dart.name} of “{piece.name}” is two: {angles[0]:.1f} and {angles[1]:.1f} degrees, "
            f"{mm_words(widths[0])} and {mm_words(widths[1])} at the mouths"
        )
        return PieceDone(done.piece, done.findings, (done.strip,), (words,))

    return piece_by_piece(garment, targets, one)


def _second(piece: Piece, dart: Dart, amounts: DartSplit) -> Place:
    """Where the second dart opens, on the edge of the first."""
    edge = piece.edge(dart.edge)
    mouth = length_at(edge, Place(edge.id, [run.dart for run in edge.runs].index(dart.id), 0.0))
    towards_start = (along_edge(piece, edge, 0.0).end == "start") == (amounts.side == NEARER)
    along = mouth - amounts.apart if towards_start else mouth + amounts.apart
    if not 1.0 < along < edge_run_length(edge) - 1.0:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” ends less than {mm_words(amounts.apart)} from the {dart.name} there.",
            piece.id,
            edge.id,
            mouth_of(piece, dart).start,
        )
    return place_at(edge, along)


def steps(work: Work) -> list[HandStep]:
    across = work.target.across if work.target is not None else None
    return turned_about(work, chosen_dart(work.before, across[0] if across else None), work.cuts[0])


ALTERATION = Alteration(
    name="dart_split",
    title="Dart split in two",
    region="bust and chest",
    order=57,
    sentence="Split {part} of the dart on {pieces} off, {apart} {side}; point {back} back from the bust point",
    amounts=DartSplit,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a dart of 15.03 degrees split in half", "two darts of 7.52 degrees about one bust point", "division"
        ),
    ),
    describes=__doc__,
)
