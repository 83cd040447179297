"""Move a notch.

When: the seam is as long as its mate and its notches do not meet.

By hand: walk the two edges of the seam from the end where they meet up to the notch of the one, and mark the other
there.

Source: notches walked with their seam after Threads no. 200 (2018), "10 patternwork skills".
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_seams import notch_moved
from geometry.named_corners import corner_named
from geometry.notes import Target, edge_run_length, length_at, place_at
from geometry.pieces import Edge, Notch, Piece
from geometry.readings import mm_words

AWAY, TOWARDS = "away from the corner named", "towards the corner named"


@dataclass(frozen=True)
class MoveANotch:
    way: str = choice("which way", AWAY, TOWARDS)
    amount: float = mm("amount", 3.0, 0.0, 300.0, main=True, basis="along the seam")


def do(garment: Garment, amounts: MoveANotch, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == AWAY else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        return _moved(piece, target, sign * amount) if amount else PieceDone(piece)

    return piece_by_piece(garment, targets, one)


def _moved(piece: Piece, target: Target, away: float) -> PieceDone:
    edge, at_start = corner_named(piece, target)
    notch = _notch(piece, edge, target)
    was = length_at(edge, notch.place)
    along = was + (away if at_start else -away)
    if not 0.0 <= along <= edge_run_length(edge):
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” ends before notch “{notch.name}” would come; move it by less.",
            piece.id,
            edge.id,
            piece.point_at(notch.place),
        )
    moved = replace(notch, place=place_at(edge, along))
    new = replace(piece, notches=tuple(moved if one.id == notch.id else one for one in piece.notches))
    from_corner = along if at_start else edge_run_length(edge) - along
    words = f"notch “{notch.name}” of “{piece.name}” stands {mm_words(from_corner)} from the corner named"
    return PieceDone(new, readings=(words,))


def _notch(piece: Piece, edge: Edge, target: Target) -> Notch:
    """The notch a target names, else the only one on its edge."""
    found = [notch for notch in piece.notches if notch.place.edge == edge.id and target.line in (None, notch.id)]
    if len(found) != 1:
        missing = f"has no notch “{target.line}”" if target.line is not None else "has no notch"
        words = missing if not found else "has several notches; name one"
        raise PatternError(f"“{edge.name}” of “{piece.name}” {words}.", piece.id, edge.id)
    return found[0]


ALTERATION = Alteration(
    name="move_a_notch",
    title="Move a notch",
    region="truing",
    order=103,
    sentence="Move a notch of {pieces} {amount} along the seam, {way}",
    amounts=MoveANotch,
    do=do,
    steps=notch_moved,
    aims_at="edges",
    examples=(
        Example(
            "a notch 80 mm from the underarm, moved 3 mm away from it",
            "83 mm from the underarm; every line of the piece as it was",
            "addition",
        ),
    ),
    describes=__doc__,
)
