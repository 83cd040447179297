"""Uses of every alteration on the canon, for the laws. A new alteration adds its uses here or the laws fail."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from geometry.alterations import find
from geometry.garments import Garment
from geometry.notes import Address, Note, Target
from tests.canon import bodice, front, leaning, piece, sleeve

__all__ = ["CASES", "Case", "piece"]


@dataclass(frozen=True)
class Case:
    """One use: a garment, the amounts as plain values, the targets, and the amount that changes nothing.

    ``gone`` are ids that the alteration means to take away, as a dart that is closed. ``redrawn`` are edges that it
    draws anew instead of moving them. After it, a second note with the values ``undone_by`` gives everything back.
    """

    name: str
    alteration: str
    garment: Garment
    values: dict[str, Any]
    targets: tuple[Target, ...]
    nothing: dict[str, float]
    gone: frozenset[str] = frozenset()
    redrawn: frozenset[str] = frozenset()
    undone_by: dict[str, Any] | None = None

    def note(self, note_id: str = "note1", **changes: Any) -> Note:
        alteration = find(self.alteration)
        return Note(note_id, alteration.name, alteration.checked(self.values | changes), self.targets)

    def none(self) -> Note:
        return self.note(**self.nothing)


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
        "pinch a gaping armhole out at the side",
        "armhole_gapes",
        _alone(front()),
        {"amount": 5.0, "at": 0.5, "into": "run out at another edge"},
        (Target("front", across=(Address("side", "end", length=90.0),)),),
        _ZERO,
    ),
    Case(
        "sew the sides at 10 mm",
        "sew_seam_at",
        bodice(),
        {"width": 10.0},
        (Target("front", edge="side"),),
        {"width": 15.0},
    ),
    Case(
        "sew the shoulders at 20 mm",
        "sew_seam_at",
        bodice(),
        {"width": 20.0},
        (Target("back", edge="shoulder"),),
        {"width": 15.0},
    ),
    Case(
        "cut the sides with 25 mm",
        "allowance_width",
        bodice(),
        {"width": 25.0},
        (Target("front", edge="side"),),
        {"width": 15.0},
    ),
    # Length, width, waist and seat.
    Case(
        "let out two sides at every level",
        "take_in_or_let_out",
        bodice(),
        {"way": "let out", "bust": 8.0, "waist": 10.0, "hem": 12.0},
        (Target("front", edge="side"),),
        {"bust": 0.0, "waist": 0.0, "hem": 0.0},
        redrawn=frozenset({"side", "armhole"}),
        undone_by={"way": "take in"},
    ),
    Case(
        "let out a side with a dart",
        "take_in_or_let_out",
        _alone(front(with_dart=True)),
        {
            "way": "let out",
            "bust": 6.0,
            "waist": 10.0,
            "hem": 6.0,
            "counted": "in all, shared over the edges of the seam",
        },
        (Target("front", edge="side"),),
        {"bust": 0.0, "waist": 0.0, "hem": 0.0},
        redrawn=frozenset({"side", "armhole"}),
        undone_by={"way": "take in"},
    ),
    Case(
        "let out a sleeve at the underarm",
        "take_in_or_let_out",
        _alone(sleeve()),
        {"way": "let out", "bust": 9.0, "waist": 0.0},
        (Target("sleeve", edge="underarm.front"), Target("sleeve", edge="underarm.back")),
        {"bust": 0.0},
        redrawn=frozenset({"underarm.front", "underarm.back", "cap"}),
        undone_by={"way": "take in"},
    ),
    Case(
        "lower two hems",
        "hem",
        bodice(),
        {"way": "lower", "centre": 20.0, "side": 20.0},
        _BOTH,
        {"centre": 0.0, "side": 0.0},
        redrawn=frozenset({"side"}),
        undone_by={"way": "raise"},
    ),
    Case(
        "curve the hem of a leaning panel",
        "hem",
        _alone(leaning()),
        {"centre": 0.0, "side": 18.0, "shape": "curving all the way to the side"},
        (Target("panel"),),
        {"side": 0.0},
        redrawn=frozenset({"side", "hem"}),
    ),
    Case(
        "high at the side and low at the back",
        "hem",
        bodice(),
        {"way": "high at the side, low at the centre", "centre": 30.0, "side": 25.0},
        (Target("back"),),
        {"centre": 0.0, "side": 0.0},
        redrawn=frozenset({"side", "hem"}),
    ),
    Case(
        "curve a wrist",
        "hem",
        _alone(sleeve()),
        {"way": "lower", "centre": 12.0, "side": 0.0},
        (Target("sleeve"),),
        {"centre": 0.0, "side": 0.0},
        redrawn=frozenset({"wrist"}),
        undone_by={"way": "raise"},
    ),
)


def opposite(case: Case) -> Case | None:
    """The use that undoes a lengthening at the same line."""
    if case.alteration == "shorten_or_lengthen" and case.values.get("way", "shorten") == "shorten":
        return replace(case, values=case.values | {"way": "lengthen"})
    return None
