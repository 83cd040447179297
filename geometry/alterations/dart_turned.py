"""Dart turned to another edge.

By hand: mark where the dart is wanted, cut from there to the bust point, close the old dart and let the cut open; then
the new dart's point is set back from the bust point, its mouth kept. The part with the centre stays. All of the dart
or a part of it can be turned; what is left stays where it was.

Source: geometry, the angle is conserved; the point set back 12 to 40 mm: common practice, no source. Upright darts
pressed to the centre, sideways darts down: Oregon State University Extension, 4-H 92132.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.dart_turning import turned_dart
from geometry.darts import chosen_dart, mouth_of
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.motions import Point
from geometry.notes import Address, Target, place_of
from geometry.pieces import EdgeKind, Piece, Place
from geometry.readings import mm_words

DRAWN = "line drawn across"
_CENTRES = (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK)
#: Along these edges the place is counted from the top, along the others from the end nearer the centre.
_FROM_TOP = (EdgeKind.ARMHOLE, EdgeKind.SIDE, *_CENTRES)


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
        top = edge.kind in _FROM_TOP
        from_start = _first(piece, edge.start, edge.end, top)
        return place_of(piece, Address(edge.id, "start" if from_start else "end", share=amounts.at))
    raise PatternError(f"“{piece.name}” has no edge “{amounts.to}”; choose another.", piece.id)


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


ALTERATION = Alteration(
    name="dart_turned",
    title="Dart turned to another edge",
    region="bust and chest",
    order=55,
    sentence="Turn {part} of the dart on {pieces} to the {to}, {at} along it from the centre or the top; "
    "point {back} back from the bust point",
    amounts=DartTurned,
    do=do,
    examples=(
        Example(
            "a dart of 3.820 degrees turned to an edge 90 mm from the bust point",
            "it is 6.000 mm wide there",
            "2 x 90 x sin(3.820 / 2 degrees), worked by hand",
        ),
    ),
    describes=__doc__,
)
