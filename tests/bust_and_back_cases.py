"""Uses of the alterations of bust, chest, darts and back on the canon, for the laws."""

from __future__ import annotations

from typing import Any

from geometry.garments import Garment
from geometry.notes import Target
from tests.alteration_use import Case
from tests.canon import bodice, front

_ZERO = {"amount": 0.0}
_FRONT = (Target("front"),)


def _alone(given: Any) -> Garment:
    return Garment("alone", "alone", (given,))


BUST_AND_BACK_CASES = (
    Case(
        "full bust into the bust dart",
        "full_or_small_bust",
        _alone(front(with_dart=True)),
        {"amount": 12.7},
        _FRONT,
        _ZERO,
        undone_by={"way": "small bust"},
    ),
    Case(
        "full bust that makes a dart",
        "full_or_small_bust",
        bodice(),
        {"amount": 15.0},
        _FRONT,
        _ZERO,
        undone_by={"way": "small bust"},
    ),
    Case(
        "full bust eased in at the side",
        "full_or_small_bust",
        bodice(),
        {"amount": 9.0, "dartless": "ease it in"},
        _FRONT,
        _ZERO,
        undone_by={"way": "small bust"},
    ),
    Case(
        "small bust that leaves a smaller dart",
        "full_or_small_bust",
        _alone(front(with_dart=True)),
        {"way": "small bust", "amount": 6.0},
        _FRONT,
        _ZERO,
    ),
    Case(
        "small bust without a dart",
        "full_or_small_bust",
        bodice(),
        {"way": "small bust", "amount": 6.0},
        _FRONT,
        _ZERO,
    ),
)
