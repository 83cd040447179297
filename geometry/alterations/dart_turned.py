"""Dart turned to another edge.

When: a dart is wanted elsewhere: for the design, or to be hidden in another seam.

By hand: mark where the dart is wanted, cut from there to the bust point, close the old dart and let the cut open; then
the new dart's point is set back from the bust point, its mouth kept. The part with the centre stays. All of the dart
or a part of it can be turned; what is left stays where it was.

Source: geometry, the angle is conserved; the point set back 12 to 40 mm: common practice, no source. Upright darts
pressed to the centre, sideways darts down: Oregon State University Extension, 4-H 92132.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.dart_turning import along_edge, turned_dart
from geometry.darts import chosen_dart, mouth_of
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import turned_about
from geometry.handwork import HandStep, Work
from geometry.notes import Target, place_of
from geometry.pieces import EdgeKind, Piece, Place
from geometry.readings import mm_words

DRAWN = "line drawn across"


@dataclass(frozen=True)
class DartTurned:
    to: str = choice(
        "turned to",
        EdgeKind.SHOULDER,
        EdgeKind.ARMHOLE,
        EdgeKind.SIDE,
        EdgeKind.NECKLINE,
        EdgeKind.WAIST,
        EdgeKind.HEM,
        EdgeKind.CENTRE_FRONT,
        DRAWN,
    )
    at: float = share("place along that edge, from the centre or from the top", 0.5, 0.02, 0.98)
    part: float = share("part of the dart", 1.0, 0.0, 1.0)
    back: float = mm("point set back", 25.0, 0.0, 60.0, basis="from the bust point, along the middle of the dart")


def do(garment: Garment, amounts: DartTurned, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        if amounts.part == 0:
            return PieceDone(piece)
        across = target.across or ()
        dart = chosen_dart(piece, across[0] if len(across) > 1 else None)
        to = place_of(piece, across[-1]) if across else _place(piece, amounts)
        done = turned_dart(piece, dart, to, amounts.part, amounts.back, f"{note}.dart", note)
        words = (
            f"the {dart.name} of “{piece.name}” closes by {done.degrees:.1f} degrees and opens as much at "
            f"“{piece.edge(to.edge).name}”, {mm_words(mouth_of(done.piece, done.dart).length)} at its mouth; "
            f"its point stands {mm_words(amounts.back)} back"
        )
        return PieceDone(done.piece, done.findings, (done.strip,), (words,))

    return piece_by_piece(garment, targets, one)


def _place(piece: Piece, amounts: DartTurned) -> Place:
    if amounts.to == DRAWN:
        raise PatternError(f"Show where on the outline of “{piece.name}” the dart is to open.", piece.id)
    for edge in piece.edges_of(EdgeKind(amounts.to)):
        return place_of(piece, along_edge(piece, edge, amounts.at))
    raise PatternError(f"“{piece.name}” has no edge “{amounts.to}”; choose another.", piece.id)


def steps(work: Work) -> list[HandStep]:
    across = (work.target.across or ()) if work.target is not None else ()
    return turned_about(work, chosen_dart(work.before, across[0] if len(across) > 1 else None), work.cuts[0])


ALTERATION = Alteration(
    name="dart_turned",
    title="Dart turned to another edge",
    region="bust and chest",
    order=55,
    sentence="Turn {part} of the dart on {pieces} to the {to}, {at} along it from the centre or the top; "
    "point {back} back from the bust point",
    amounts=DartTurned,
    do=do,
    steps=steps,
    examples=(
        Example(
            "a dart of 3.820 degrees turned to an edge 90 mm from the bust point",
            "it is 6.000 mm wide there",
            "2 x 90 x sin(3.820 / 2 degrees), worked by hand",
        ),
    ),
    describes=__doc__,
)
