"""Uses of the alterations of bust, chest, darts and back on the canon, for the laws."""

from __future__ import annotations

from typing import Any

from geometry.garments import Garment
from geometry.notes import Address, Target
from tests.alteration_use import Case
from tests.canon import bodice, front

_ZERO = {"amount": 0.0}
_FRONT = (Target("front"),)
_BACK = (Target("back"),)


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
    Case("swayback at the waist", "swayback", bodice(), {"amount": 12.0}, _BACK, _ZERO),
    Case(
        "swayback at a line drawn across",
        "swayback",
        bodice(),
        {"amount": 18.0, "line": "line drawn across"},
        (Target("back", across=(Address("side", "start", length=190.0),)),),
        _ZERO,
    ),
    Case("hollow chest", "hollow_or_pigeon_chest", bodice(), {"amount": 9.0}, _FRONT, _ZERO),
    Case(
        "pigeon chest",
        "hollow_or_pigeon_chest",
        bodice(),
        {"way": "pigeon chest: spread", "amount": 9.0},
        _FRONT,
        _ZERO,
        redrawn=frozenset({"neck"}),
    ),
    Case(
        "round upper back",
        "round_or_erect_back",
        bodice(),
        {"amount": 12.0},
        _BACK,
        _ZERO,
        redrawn=frozenset({"neck"}),
    ),
    Case(
        "erect back",
        "round_or_erect_back",
        bodice(),
        {"way": "erect back: fold out", "amount": 8.0},
        _BACK,
        _ZERO,
    ),
    Case("dart turned to the shoulder", "dart_turned", _alone(front(with_dart=True)), {}, _FRONT, {"part": 0.0}),
    Case(
        "dart turned to the armhole",
        "dart_turned",
        _alone(front(with_dart=True)),
        {"to": "armhole", "at": 0.6, "back": 15.0},
        _FRONT,
        {"part": 0.0},
    ),
    Case(
        "half a dart turned to the hem",
        "dart_turned",
        _alone(front(with_dart=True)),
        {"to": "hem", "part": 0.5},
        _FRONT,
        {"part": 0.0},
    ),
    Case(
        "dart turned along its own side seam",
        "dart_turned",
        _alone(front(with_dart=True)),
        {"to": "line drawn across"},
        (Target("front", across=(Address("side", "end", length=95.0),)),),
        {"part": 0.0},
    ),
    Case(
        "dart sewn shorter",
        "dart_lengthened",
        _alone(front(with_dart=True)),
        {"amount": 12.0},
        _FRONT,
        _ZERO,
        undone_by={"way": "lengthen"},
    ),
    Case(
        "broad back eased at the shoulder",
        "broad_or_narrow_back",
        bodice(),
        {"amount": 6.0},
        _BACK,
        _ZERO,
        undone_by={"way": "narrow back: overlap"},
    ),
    Case(
        "broad back with a shoulder dart, to nothing at the hem",
        "broad_or_narrow_back",
        bodice(),
        {"amount": 10.0, "below": "to nothing at the hem", "shoulder": "taken up in a shoulder dart"},
        _BACK,
        _ZERO,
    ),
    Case(
        "broad back shared with the front",
        "broad_or_narrow_back",
        bodice(),
        {"amount": 12.0, "shoulder": "shared with the front armhole"},
        (Target("back"), Target("front")),
        _ZERO,
        redrawn=frozenset({"armhole"}),
    ),
    Case(
        "narrow back shared with the front",
        "broad_or_narrow_back",
        bodice(),
        {"way": "narrow back: overlap", "amount": 8.0, "shoulder": "shared with the front armhole"},
        (Target("back"), Target("front")),
        _ZERO,
        redrawn=frozenset({"armhole"}),
    ),
    Case(
        "dart eased in",
        "dart_eased",
        _alone(front(with_dart=True)),
        {},
        _FRONT,
        {"part": 0.0},
        gone=frozenset({"dart"}),
    ),
    Case(
        "a third of a dart gathered in",
        "dart_eased",
        _alone(front(with_dart=True)),
        {"part": 0.34, "into": "gathered"},
        _FRONT,
        {"part": 0.0},
    ),
    Case(
        "dart made on a shoulder",
        "dart_made",
        bodice(),
        {"width": 14.0, "at": 0.4},
        (Target("back", edge="shoulder"),),
        {"width": 0.0},
        redrawn=frozenset({"shoulder"}),
    ),
    Case(
        "dart made above the waist notch",
        "dart_made",
        bodice(),
        {"width": 20.0, "length": 110.0, "at": 0.2},
        (Target("front", edge="side"),),
        {"width": 0.0},
        redrawn=frozenset({"side"}),
    ),
    Case("dart split in two", "dart_split", _alone(front(with_dart=True)), {}, _FRONT, {"part": 0.0}),
    Case(
        "dart split, the second above",
        "dart_split",
        _alone(front(with_dart=True)),
        {"part": 0.4, "apart": 18.0, "side": "above it, or on the centre's side"},
        _FRONT,
        {"part": 0.0},
    ),
    Case("bust point raised", "bust_point_moved", _alone(front(with_dart=True)), {"amount": 14.0}, _FRONT, _ZERO),
    Case(
        "bust point lowered",
        "bust_point_moved",
        _alone(front(with_dart=True)),
        {"way": "lower", "amount": 25.0},
        _FRONT,
        _ZERO,
    ),
    Case(
        "bust point moved to the side",
        "bust_point_moved",
        _alone(front(with_dart=True)),
        {"way": "move to the side", "amount": 12.0},
        _FRONT,
        _ZERO,
        undone_by={"way": "move to the centre"},
    ),
)
