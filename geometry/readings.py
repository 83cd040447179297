"""Both readings of an amount, in the words of a class. Lengths stand in mm and are put in inches for display."""

from __future__ import annotations

from geometry.garments import Garment
from geometry.pieces import Piece


def mm_words(length: float) -> str:
    """A length as a dressmaker reads it: whole or to a tenth of a millimetre."""
    # Adding nothing makes -0 nothing.
    return f"{round(length, 1) + 0.0:g} mm"


def length_reading(amount: float, added: bool) -> str:
    """What a change of length does to the paper."""
    if added:
        return f"adds {mm_words(amount)} (cut along the line and spread the halves {mm_words(amount)})"
    return f"takes out {mm_words(amount)} (crease a fold {mm_words(amount / 2)} deep)"


def round_body(garment: Garment, piece: Piece, amount: float) -> str:
    """What an amount on one edge comes to round the body, the piece being cut on the fold, as a pair, or once."""
    count = piece.cut_count
    return f"each edge {mm_words(amount)}, {mm_words(amount * count)} round the body for “{piece.name}”"
