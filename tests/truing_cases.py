"""Uses of the alterations of truing."""

from __future__ import annotations

from dataclasses import replace

from geometry.garments import Garment
from geometry.lines import straight
from geometry.named_corners import corner_target
from geometry.notes import Target
from geometry.pieces import EdgeKind, Finish, Line, LineKind, Notch, Piece, Place
from tests.alteration_use import Case
from tests.canon import bodice, edge, front, piece

_ZERO = {"amount": 0.0}


def uneven_dart() -> Garment:
    """The canon's front with a dart whose sewn point slipped 2 mm along the seam: its legs are no more equal."""
    body = front(with_dart=True)
    dart = body.darts[0]
    slipped = replace(dart, sewn_point=(dart.sewn_point[0], dart.sewn_point[1] + 2.0))
    return Garment("uneven", "uneven", (replace(body, darts=(slipped,)),))


def neckband(length: float = 200.0) -> Piece:
    """Half a band 40 mm wide on the fold, a notch 60 mm from the fold on both long sides."""
    return piece(
        "band",
        edge("outer", EdgeKind.BAND, straight((0, 0), (length, 0))),
        edge("end", EdgeKind.CENTRE_BACK, straight((length, 0), (length, 40))),
        edge("inner", EdgeKind.BAND, straight((length, 40), (0, 40))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 40), (0, 0)), finish=Finish.FOLD),
        notches=(
            Notch("outer.notch", "front notch", Place("outer", 0, 60 / length)),
            Notch("inner.notch", "front notch", Place("inner", 0, 1 - 60 / length)),
        ),
        lines=(Line("turn", "turn line", LineKind.TURN, straight((0, 20), (length, 20))),),
    )


TRUING_CASES = (
    Case(
        "recut a band longer",
        "recut_a_band",
        Garment("alone", "alone", (neckband(),)),
        {"amount": 17.0, "than": "it is"},
        (Target("band"),),
        _ZERO,
        undone_by={"way": "shorter"},
    ),
    Case(
        "recut a band shorter",
        "recut_a_band",
        Garment("alone", "alone", (neckband(),)),
        {"amount": 9.0, "way": "shorter", "than": "it is"},
        (Target("band"),),
        _ZERO,
        undone_by={"way": "longer"},
    ),
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
