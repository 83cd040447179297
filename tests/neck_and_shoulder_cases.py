"""Uses of the alterations of neckline, shoulder, armhole and sleeve, and of those done free hand."""

from __future__ import annotations

from typing import Any

from geometry.garments import Garment
from geometry.notes import Target
from tests.alteration_use import Case
from tests.canon import bodice


def _alone(given: Any) -> Garment:
    return Garment("alone", "alone", (given,))


_BOTH = (Target("front"), Target("back"))
_ZERO = {"amount": 0.0}

NECK_AND_SHOULDER_CASES = (
    Case(
        "slope two shoulders",
        "square_or_sloping_shoulder",
        bodice(),
        {"way": "sloping shoulder", "amount": 12.0},
        _BOTH,
        _ZERO,
        redrawn=frozenset({"side", "shoulder"}),
    ),
)
