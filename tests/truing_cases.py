"""Uses of the alterations of truing."""

from __future__ import annotations

from dataclasses import replace

from geometry.garments import Garment
from geometry.named_corners import corner_target
from geometry.notes import Target
from tests.alteration_use import Case
from tests.canon import bodice, front

_ZERO = {"amount": 0.0}


def uneven_dart() -> Garment:
    """The canon's front with a dart whose sewn point slipped 2 mm along the seam: its legs are no more equal."""
    piece = front(with_dart=True)
    dart = piece.darts[0]
    slipped = replace(dart, sewn_point=(dart.sewn_point[0], dart.sewn_point[1] + 2.0))
    return Garment("uneven", "uneven", (replace(piece, darts=(slipped,)),))


TRUING_CASES = (
    Case(
        "true a side seam at the hem",
        "true_a_seam",
        bodice(),
        {"way": "longer", "amount": 6.0},
        (Target("back", edge="side"),),
        _ZERO,
        redrawn=frozenset({"side", "hem"}),
    ),
    Case(
        "true a side seam at the underarm",
        "true_a_seam",
        bodice(),
        {"way": "shorter", "amount": 4.0},
        (corner_target("front", "side", False),),
        _ZERO,
        redrawn=frozenset({"side", "armhole"}),
    ),
    Case(
        "round an underarm corner off",
        "true_a_corner",
        bodice(),
        {"way": "round the point off", "amount": 3.0, "run": 60.0},
        (corner_target("front", "armhole", True), corner_target("back", "armhole", True)),
        _ZERO,
        redrawn=frozenset({"armhole", "side"}),
    ),
    Case(
        "fill a neckline in at the fold",
        "true_a_corner",
        bodice(),
        {"way": "fill the hollow in", "amount": 1.0, "run": 30.0},
        (corner_target("front", "neck", False),),
        _ZERO,
        redrawn=frozenset({"neck"}),
    ),
    Case(
        "move a waist notch",
        "move_a_notch",
        bodice(),
        {"amount": 9.0},
        (replace(corner_target("front", "side", True), line="side.notch"),),
        _ZERO,
        undone_by={"way": "towards the corner named"},
    ),
    Case(
        "make the shorter leg of a dart longer",
        "true_dart_legs",
        uneven_dart(),
        {"amount": 1.5},
        (Target("front", line="dart"),),
        _ZERO,
        redrawn=frozenset({"side"}),
    ),
    Case(
        "share what the legs of a dart differ by",
        "true_dart_legs",
        uneven_dart(),
        {"way": "shared over both legs", "amount": 1.5},
        (Target("front"),),
        _ZERO,
        redrawn=frozenset({"side"}),
    ),
)
