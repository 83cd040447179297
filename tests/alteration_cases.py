"""Uses of every alteration on the canon, for the laws. A new alteration adds its uses here or the laws fail."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from geometry.garments import Garment
from geometry.notes import Address, Target
from tests.alteration_use import Case
from tests.bust_and_back_cases import BUST_AND_BACK_CASES
from tests.canon import bodice, front, leaning, piece, sleeve
from tests.length_and_width_cases import LENGTH_AND_WIDTH_CASES
from tests.neck_and_shoulder_cases import NECK_AND_SHOULDER_CASES
from tests.size_cases import SIZE_CASES
from tests.truing_cases import TRUING_CASES

__all__ = ["CASES", "Case", "piece"]


def _alone(given: Any) -> Garment:
    return Garment("alone", "alone", (given,))


_BOTH = (Target("front"), Target("back"))
_ZERO = {"amount": 0.0}

CASES = (
    Case(
        "shorten a leaning panel", "shorten_or_lengthen", _alone(leaning()), {"amount": 25.4}, (Target("panel"),), _ZERO
    ),
    Case("shorten a bodice", "shorten_or_lengthen", bodice(), {"amount": 25.0}, _BOTH, _ZERO),
    Case("lengthen a bodice", "shorten_or_lengthen", bodice(), {"way": "lengthen", "amount": 18.0}, _BOTH, _ZERO),
    Case(
        "shorten towards the hem",
        "shorten_or_lengthen",
        bodice(),
        {"amount": 12.0, "side": "towards the hem"},
        _BOTH,
        _ZERO,
    ),
    Case(
        "shorten at a line drawn across",
        "shorten_or_lengthen",
        bodice(),
        {"amount": 9.0, "line": "line drawn across"},
        (
            Target("front", across=(Address("side", "start", length=120.0),)),
            Target("back", across=(Address("side", "start", length=120.0),)),
        ),
        _ZERO,
    ),
    Case(
        "shorten at a slanting line",
        "shorten_or_lengthen",
        _alone(front()),
        {"amount": 9.0, "line": "line drawn across"},
        (Target("front", across=(Address("fold", "end", length=255.0), Address("side", "start", length=251.0))),),
        _ZERO,
    ),
    Case("shorten a sleeve", "shorten_or_lengthen", _alone(sleeve()), {"amount": 20.0}, (Target("sleeve"),), _ZERO),
    Case(
        "shorten above a dart",
        "shorten_or_lengthen",
        _alone(front(with_dart=True)),
        {"amount": 20.0},
        (Target("front"),),
        _ZERO,
    ),
    Case("tuck two armholes", "armhole_too_low", bodice(), {"amount": 6.0, "height": 70.0}, _BOTH, _ZERO),
    Case(
        "tuck a cap", "armhole_too_low", _alone(sleeve()), {"amount": 6.0, "height": 50.0}, (Target("sleeve"),), _ZERO
    ),
    Case(
        "fill in two underarms",
        "armhole_too_low",
        bodice(),
        {"way": "fill in the underarm by", "amount": 12.0},
        _BOTH,
        _ZERO,
    ),
    Case(
        "pinch a gaping armhole into the dart",
        "armhole_gapes",
        _alone(front(with_dart=True)),
        {"amount": 8.0, "at": 0.5},
        (Target("front"),),
        _ZERO,
    ),
    Case(
        "pinch a gaping armhole out at the hem",
        "armhole_gapes",
        _alone(front()),
        {"amount": 5.0, "at": 0.3, "into": "run out at another edge"},
        (Target("front", across=(Address("hem", "start", length=150.0),)),),
        _ZERO,
    ),
    Case(
        "sew the sides at 10 mm",
        "sew_seam_at",
        bodice(),
        {"width": 10.0},
        (Target("front", edge="side"),),
        {"width": 15.0},
        redrawn=frozenset({"side", "hem", "armhole"}),
    ),
    Case(
        "sew the shoulders at 20 mm",
        "sew_seam_at",
        bodice(),
        {"width": 20.0},
        (Target("back", edge="shoulder"),),
        {"width": 15.0},
        redrawn=frozenset({"shoulder", "armhole", "neck"}),
    ),
    Case(
        "cut the sides with 25 mm",
        "allowance_width",
        bodice(),
        {"width": 25.0},
        (Target("front", edge="side"),),
        {"width": 15.0},
    ),
    *LENGTH_AND_WIDTH_CASES,
    *BUST_AND_BACK_CASES,
    *NECK_AND_SHOULDER_CASES,
    *TRUING_CASES,
    *SIZE_CASES,
)


def opposite(case: Case) -> Case | None:
    """The use that undoes a lengthening at the same line."""
    if case.alteration == "shorten_or_lengthen" and case.values.get("way", "shorten") == "shorten":
        return replace(case, values=case.values | {"way": "lengthen"})
    return None
