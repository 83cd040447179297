"""Uses of the alterations of neckline, shoulder, armhole and sleeve, and of those done free hand."""

from __future__ import annotations

from typing import Any

from geometry.garments import Garment
from geometry.notes import Address, Target
from tests.alteration_use import Case
from tests.canon import bodice, front, neck_facing, sleeve


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
    Case(
        "lower a neckline",
        "raise_or_lower_neckline",
        bodice(),
        {"way": "lower", "amount": 25.0},
        (Target("front"),),
        _ZERO,
        redrawn=frozenset({"neck"}),
        undone_by={"way": "raise"},
    ),
    Case(
        "raise two necklines",
        "raise_or_lower_neckline",
        bodice(),
        {"way": "raise", "amount": 8.0},
        _BOTH,
        _ZERO,
        redrawn=frozenset({"neck"}),
        undone_by={"way": "lower"},
    ),
    Case(
        "widen a neckline",
        "widen_or_narrow_neckline",
        bodice(),
        {"way": "widen", "amount": 12.0},
        _BOTH,
        _ZERO,
        redrawn=frozenset({"neck"}),
        undone_by={"way": "narrow"},
    ),
    Case(
        "narrow the neckline of a facing",
        "widen_or_narrow_neckline",
        _alone(neck_facing()),
        {"way": "narrow", "amount": 12.0},
        (Target("facing"),),
        _ZERO,
        redrawn=frozenset({"neck", "inner"}),
        undone_by={"way": "widen"},
    ),
    Case(
        "lower the neckline of a facing",
        "raise_or_lower_neckline",
        _alone(neck_facing()),
        {"way": "lower", "amount": 12.0},
        (Target("facing"),),
        _ZERO,
        redrawn=frozenset({"neck", "inner"}),
        undone_by={"way": "raise"},
    ),
    Case(
        "pinch a gaping neckline out at mid-armhole",
        "neckline_gapes",
        bodice(),
        {"amount": 6.0, "at": 0.5},
        (Target("front"),),
        _ZERO,
    ),
    Case(
        "pinch a gaping neckline out at the hem",
        "neckline_gapes",
        bodice(),
        {"amount": 6.0, "at": 0.3, "into": "to nothing at the hem"},
        (Target("front"),),
        _ZERO,
    ),
    Case(
        "a larger upper arm",
        "upper_arm",
        _alone(sleeve()),
        {"amount": 24.0},
        (Target("sleeve"),),
        _ZERO,
        undone_by={"way": "smaller"},
    ),
    Case(
        "a smaller upper arm",
        "upper_arm",
        _alone(sleeve()),
        {"way": "smaller", "amount": 15.0},
        (Target("sleeve"),),
        _ZERO,
        undone_by={"way": "larger"},
    ),
    Case(
        "a larger upper arm and wrist",
        "upper_arm",
        _alone(sleeve()),
        {"amount": 18.0, "wrist": "changed by as much"},
        (Target("sleeve"),),
        _ZERO,
        undone_by={"way": "smaller"},
    ),
    Case(
        "broaden two shoulders",
        "narrow_or_broad_shoulder",
        bodice(),
        {"way": "broad shoulder", "amount": 12.0},
        _BOTH,
        _ZERO,
        undone_by={"way": "narrow shoulder"},
    ),
    Case("narrow two shoulders", "narrow_or_broad_shoulder", bodice(), {"amount": 12.0, "hinge": 0.6}, _BOTH, _ZERO),
    Case(
        "a forward shoulder",
        "forward_shoulder",
        bodice(),
        {"amount": 8.0},
        _BOTH,
        _ZERO,
        redrawn=frozenset({"armhole"}),
    ),
    Case(
        "a shoulder seam set back all along",
        "forward_shoulder",
        bodice(),
        {"amount": 8.0, "way": "backward", "neck": "by as much at the neck"},
        _BOTH,
        _ZERO,
        redrawn=frozenset({"armhole", "neck"}),
    ),
    Case(
        "lower two underarms",
        "raise_or_lower_underarm",
        bodice(),
        {"way": "lower", "amount": 12.0},
        _BOTH,
        _ZERO,
        redrawn=frozenset({"armhole", "side"}),
    ),
    Case(
        "raise the underarm of a sleeve",
        "raise_or_lower_underarm",
        _alone(sleeve()),
        {"amount": 12.0},
        (Target("sleeve"),),
        _ZERO,
        redrawn=frozenset({"cap"}),
    ),
    Case(
        "cut two armholes in",
        "armhole_cut_in_or_filled_out",
        bodice(),
        {"amount": 6.0, "at": 0.55},
        _BOTH,
        _ZERO,
        redrawn=frozenset({"armhole"}),
    ),
    Case(
        "reshape a neckline",
        "reshape_an_edge",
        _alone(front()),
        {"first": -5.0, "second": 2.0},
        (
            Target(
                "front", edge="neck", across=(Address("neck", "start", share=0.4), Address("neck", "end", length=20.0))
            ),
        ),
        {"first": 0.0, "second": 0.0},
        redrawn=frozenset({"neck"}),
    ),
    Case(
        "reshape a side with a dart",
        "reshape_an_edge",
        _alone(front(with_dart=True)),
        {"first": 6.0},
        (Target("front", edge="side", across=(Address("side", "start", share=0.4),)),),
        {"first": 0.0},
        redrawn=frozenset({"side"}),
    ),
    Case(
        "a higher cap",
        "cap_height",
        _alone(sleeve()),
        {"amount": 13.0},
        (Target("sleeve"),),
        _ZERO,
        redrawn=frozenset({"cap"}),
        undone_by={"way": "lower"},
    ),
    Case(
        "a wider elbow and wrist",
        "elbow_and_wrist",
        _alone(sleeve()),
        {"elbow": 16.0, "wrist": 24.0},
        (Target("sleeve"),),
        {"elbow": 0.0, "wrist": 0.0},
        undone_by={"way": "narrower"},
    ),
    Case(
        "move the corner of hem and side",
        "move_a_corner",
        _alone(front()),
        {"along_centre": 6.0, "off_centre": 9.0},
        (Target("front", across=(Address("side", "start", length=0.0),)),),
        {"along_centre": 0.0, "off_centre": 0.0},
        redrawn=frozenset({"side"}),
    ),
    Case(
        "move the corner of neck and fold down",
        "move_a_corner",
        _alone(front()),
        {"way": "down", "along_centre": 12.0},
        (Target("front", across=(Address("neck", "end", length=0.0),)),),
        {"along_centre": 0.0},
        redrawn=frozenset({"neck"}),
    ),
)
