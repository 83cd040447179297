"""Raise or lower the underarm.

When: the armhole binds under the arm (lower), or the garment lifts with the arm (raise), and its length above is right.

By hand: mark the new underarm on the side seam (or on the side seam run on upwards) and draw the lower part of the
armhole anew from there, in the old direction at the corner and to nothing at about the notch. The sleeve is changed
by as much: its two underarm corners move along the underarm seams and the ends of the cap are drawn to them.

Source: what is done to one piece at a level is done to every piece joined to it there after The Dressmaker,
c. 1911-16. The way of drawing: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.alterations.armhole_too_low import armhole_of
from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.raise_or_lower_neckline import strip_of
from geometry.carrying import followed, run_on, with_edges
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.necklines import named
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, Piece, neighbours
from geometry.readings import mm_words
from geometry.stages import Offer

RAISE, LOWER = "raise", "lower"
_SEAMS = (EdgeKind.SIDE, EdgeKind.UNDERARM)
#: The ends of a cap follow over less of it than an armhole does, as there are two of them.
_ARMHOLE_SHARE, _CAP_SHARE = 0.6, 0.35


@dataclass(frozen=True)
class RaiseOrLowerUnderarm:
    way: str = choice("raise or lower", RAISE, LOWER)
    amount: float = mm("amount", 10.0, 0.0, 60.0, main=True, basis="along the side seam of each piece")


def do(garment: Garment, amounts: RaiseOrLowerUnderarm, targets: tuple[Target, ...], note: str) -> Done:
    sign = 1.0 if amounts.way == RAISE else -1.0

    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            return PieceDone(piece)
        return _moved(piece, sign * amount)

    done = piece_by_piece(garment, targets, one)
    if done.garment is garment:
        return done
    return replace(done, offers=_joined(garment, amounts, targets))


def _moved(piece: Piece, up: float) -> PieceDone:
    armhole = armhole_of(piece)
    drawn, trimmed = armhole, []
    share = _ARMHOLE_SHARE if armhole.kind is EdgeKind.ARMHOLE else _CAP_SHARE
    for at_start, seam in ((True, neighbours(piece, armhole.id)[0]), (False, neighbours(piece, armhole.id)[1])):
        if seam.kind not in _SEAMS:
            continue
        new = run_on(piece, seam, not at_start, up)
        old, corner = (armhole.start, new.end) if at_start else (armhole.end, new.start)
        # The second end of a cap follows over as much of the old line as the first did.
        index = 0 if at_start else -1
        part = share * armhole.runs[index].chain.length / drawn.runs[index].chain.length
        drawn = followed(piece, drawn, at_start, (corner[0] - old[0], corner[1] - old[1]), part)
        trimmed.append(new)
    if not trimmed:
        raise PatternError(f"The armhole of “{piece.name}” meets no side seam.", piece.id, armhole.id, armhole.start)
    changed = with_edges(piece, (drawn,), trimmed, reach=120.0)
    words = (
        f"{'raises' if up > 0 else 'lowers'} the underarm by {mm_words(abs(up))}; “{armhole.name}” of “{piece.name}” "
        f"goes from {mm_words(armhole.length)} to {mm_words(drawn.length)}"
    )
    return PieceDone(changed, (), (strip_of(piece, changed, up > 0),), (words,))


def _joined(garment: Garment, amounts: RaiseOrLowerUnderarm, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """The same offered for what is sewn to these armholes and sides: the sleeve, and the other body piece."""
    done = {target.piece for target in targets}
    found: dict[str, None] = {}
    for target in targets:
        piece = garment.piece(target.piece)
        armhole = armhole_of(piece)
        edges: list[Edge] = [armhole, *(edge for edge in neighbours(piece, armhole.id) if edge.kind in _SEAMS)]
        for edge in edges:
            for seam in garment.seams_of(piece.id, edge.id):
                found |= dict.fromkeys(ref.piece for ref in (*seam.first, *seam.second) if ref.piece not in done)
    others = tuple(Target(piece) for piece in found)
    return (Offer(f"Do the same to {named(garment, others)}", ALTERATION.name, amounts, others),) if others else ()


ALTERATION = Alteration(
    name="raise_or_lower_underarm",
    title="Raise or lower the underarm",
    region="armhole",
    order=32,
    sentence="{way} the underarm of {pieces} by {amount} along the side seam",
    amounts=RaiseOrLowerUnderarm,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "an underarm lowered by 12 mm on a front and a back",
            "both side seams 12 mm shorter, the shoulder and the upper armhole as they were",
            "common practice, no source; subtraction",
        ),
    ),
    describes=__doc__,
)
