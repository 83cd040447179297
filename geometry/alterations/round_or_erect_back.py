"""Round upper back, erect back.

When: the back neckline stands off and the hem rises at the back (round), or folds lie across below the neck (erect).

By hand: for a round upper back slash across at the shoulder blades from the centre back to the armhole, hinge there
and raise the upper back; the centre back is ruled straight on upwards from below and the neckline run out to it, square
across until it meets the turned neckline again, so that no peak is left at the centre. What the neckline gains is eased
in or taken out in a dart at the neck. For an erect back a tuck is folded out there, deepest at the centre back, and the
centre back ruled straight again. The armhole keeps its length.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.alterations.armhole_gapes import from_underarm
from geometry.alterations.armhole_too_low import armhole_of
from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece, share
from geometry.centre_wedges import centre_wedge, level_at, only_edge
from geometry.garments import Garment
from geometry.hand_ways import cut_and_drawn
from geometry.notes import Target, point_of
from geometry.pieces import EdgeKind, Piece
from geometry.readings import length_reading, mm_words

ROUND, ERECT = "round upper back: spread", "erect back: fold out"


@dataclass(frozen=True)
class RoundOrErectBack:
    way: str = choice("round or erect back", ROUND, ERECT)
    amount: float = mm("amount", 10.0, 0.0, 40.0, main=True, basis="at the centre back")
    hinge: float = share("hinge on the armhole, up from the underarm", 0.6, 0.1, 0.95)


def do(garment: Garment, amounts: RoundOrErectBack, targets: tuple[Target, ...], note: str) -> Done:
    def one(piece: Piece, target: Target) -> PieceDone:
        amount = amounts.amount if target.amount is None else target.amount
        opened = amounts.way == ROUND
        gains = "the neckline is {} longer at the centre back: ease it in, or take it out in a dart at the neck"
        return wedged_at_centre(piece, amount, amounts.hinge, note, "back", opened=opened, gains=gains)

    return piece_by_piece(garment, targets, one)


def wedged_at_centre(
    piece: Piece, amount: float, hinge: float, note: str, half: str, *, opened: bool, gains: str
) -> PieceDone:
    """A half front or back (``half``) with a wedge of ``amount`` mm at its centre, opened or folded out.

    The wedge runs out to nothing at a share ``hinge`` of the armhole, up from the underarm. ``gains`` tells what
    the neckline gains where it is opened, with {} for the length. Raises PatternError where the piece
    has no such centre or no armhole.
    """
    if amount == 0:
        return PieceDone(piece)
    kind = EdgeKind.CENTRE_BACK if half == "back" else EdgeKind.CENTRE_FRONT
    centre = only_edge(piece, kind, f"a half {half}")
    nothing = point_of(piece, from_underarm(piece, armhole_of(piece), hinge))
    low = level_at(piece, centre, nothing)
    done = centre_wedge(piece, centre, nothing, low, amount, note, opened=opened)
    if not done.ruled:
        aside = f"the centre {half} keeps its shape and is drawn smooth"
    elif opened:
        aside = gains.format(mm_words(done.aside_mm))
    else:
        aside = (
            f"the centre {half} is one straight line again, {mm_words(done.aside_mm)} outside the tuck, "
            "and the grainline parallel to it"
        )
    words = (
        f"{length_reading(amount, opened)} at the centre {half} of “{piece.name}”, to nothing at the armhole",
        f"the upper {half} turns {done.turned_deg:.1f} degrees; {aside}",
    )
    return PieceDone(done.piece, done.findings, (done.strip,), words)


ALTERATION = Alteration(
    name="round_or_erect_back",
    title="Round or erect back",
    region="back",
    order=74,
    sentence="{way} {amount} at the centre back of {pieces}, to nothing {hinge} of the armhole up from the underarm",
    amounts=RoundOrErectBack,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "a slash opened 12 mm at the centre back, 180 mm from its hinge on the armhole",
            "the upper back turns 3.814 degrees; armhole and shoulder keep their length",
            "atan(12 / 180), worked by hand",
        ),
    ),
    describes=__doc__,
)
