"""Uses of the alterations of length, width, waist and seat, for the laws and the page of alterations."""

from __future__ import annotations

from geometry.garments import Garment
from geometry.notes import Address, Target
from geometry.pieces import Piece
from sample_pieces.drafting.skirt import skirt as skirt_sample
from sample_pieces.drafting.trousers import trousers as trousers_sample
from tests.alteration_use import Case
from tests.canon import bodice, front, leaning, skirt, sleeve


def _alone(given: Piece) -> Garment:
    return Garment("alone", "alone", (given,))


_BOTH = (Target("front"), Target("back"))
_ZERO = {"amount": 0.0}

SKIRT, TROUSERS = skirt_sample(), trousers_sample()
#: Edges that are drawn anew when the side seam moves at the waist.
_WAISTED = frozenset({"front.side", "back.side", "front.waist", "back.waist"})
_LEGS = frozenset(f"{piece}.{edge}" for piece in ("front", "back") for edge in ("side", "inseam", "crotch"))

LENGTH_AND_WIDTH_CASES = (
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
        "let out a skirt at the waist alone",
        "take_in_or_let_out",
        _alone(skirt()),
        {"way": "let out", "waist": 20.0},
        (Target("skirt", edge="side"),),
        {"waist": 0.0},
        redrawn=frozenset({"side", "waist"}),
        undone_by={"way": "take in"},
    ),
    Case(
        "let out trousers at the waist alone",
        "take_in_or_let_out",
        TROUSERS,
        {"way": "let out", "waist": 6.0},
        (Target("front", edge="front.side"),),
        {"waist": 0.0},
        redrawn=_WAISTED,
        undone_by={"way": "take in"},
    ),
    Case(
        "take in two sides at waist and hem",
        "take_in_or_let_out",
        bodice(),
        {"waist": 9.0, "hem": 5.0},
        (Target("front", edge="side"),),
        {"waist": 0.0, "hem": 0.0},
        redrawn=frozenset({"side"}),
    ),
    Case(
        "raise the hem of a leaning panel",
        "hem",
        _alone(leaning()),
        {"centre": 25.0, "side": 25.0},
        (Target("panel"),),
        {"centre": 0.0, "side": 0.0},
        redrawn=frozenset({"side", "hem"}),
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
    Case(
        "spread a skirt from the hem to the waist",
        "slash_and_spread",
        _alone(skirt()),
        {"amount": 50.0, "hinge": "to nothing where the line ends"},
        (Target("skirt", across=(Address("hem", "start", length=130.0), Address("waist", "end", length=60.0))),),
        _ZERO,
        undone_by={"way": "overlap"},
    ),
    Case(
        "spread a front across, to nothing at the side",
        "slash_and_spread",
        _alone(front()),
        {"amount": 12.0, "hinge": "to nothing where the line starts"},
        (Target("front", across=(Address("side", "start", length=90.0), Address("fold", "start", length=440.0))),),
        _ZERO,
        undone_by={"way": "overlap"},
    ),
    Case(
        "spread a panel all along",
        "slash_and_spread",
        _alone(leaning()),
        {"amount": 15.0},
        (Target("panel", across=(Address("hem", "start", length=80.0), Address("waist", "end", length=80.0))),),
        _ZERO,
        undone_by={"way": "overlap"},
    ),
    Case(
        "overlap a sleeve all along, square to the grain",
        "slash_and_spread",
        _alone(sleeve()),
        {"way": "overlap", "amount": 15.0},
        (Target("sleeve", across=(Address("underarm.front", "start", length=150.0),)),),
        _ZERO,
    ),
    Case(
        "add flare to a skirt",
        "flare",
        _alone(skirt()),
        {"amount": 90.0, "slashes": "three slashes"},
        (Target("skirt"),),
        _ZERO,
        redrawn=frozenset({"hem", "waist"}),
    ),
    Case(
        "remove flare from a leaning panel",
        "flare",
        _alone(leaning()),
        {"way": "remove", "amount": 40.0},
        (Target("panel"),),
        _ZERO,
        redrawn=frozenset({"hem", "waist"}),
    ),
    Case(
        "a larger waist",
        "waist_size",
        SKIRT,
        {"amount": 25.4},
        _BOTH,
        _ZERO,
        redrawn=_WAISTED,
        undone_by={"way": "smaller"},
    ),
    Case("a smaller hip", "hip_size", SKIRT, {"way": "smaller", "amount": 24.0}, _BOTH, _ZERO, redrawn=_WAISTED),
    Case(
        "a larger hip, to nothing at the hem",
        "hip_size",
        SKIRT,
        {"amount": 40.0, "below": "to nothing at the hem"},
        _BOTH,
        _ZERO,
        redrawn=_WAISTED,
        undone_by={"way": "smaller"},
    ),
    Case("a rounder hip curve", "hip_curve", SKIRT, {}, _BOTH, _ZERO, redrawn=_WAISTED, undone_by={"way": "flatter"}),
    Case("a full seat", "seat", TROUSERS, {"amount": 20.0}, (Target("back"),), _ZERO),
    Case(
        "a flat seat in a skirt", "seat", SKIRT, {"way": "flat seat: overlap", "amount": 10.0}, (Target("back"),), _ZERO
    ),
    Case("a deeper crotch", "crotch_depth", TROUSERS, {}, _BOTH, _ZERO, undone_by={"way": "shallower"}),
    Case(
        "a longer crotch",
        "crotch_length",
        TROUSERS,
        {"amount": 15.0},
        (Target("back"),),
        _ZERO,
        redrawn=_LEGS,
        undone_by={"way": "shorter"},
    ),
    Case("a wider thigh", "leg_width", TROUSERS, {}, _BOTH, _ZERO, redrawn=_LEGS, undone_by={"way": "narrower"}),
    Case(
        "a wider leg",
        "leg_width",
        TROUSERS,
        {"amount": 40.0, "where": "from the knee down"},
        _BOTH,
        _ZERO,
        redrawn=_LEGS,
        undone_by={"way": "narrower"},
    ),
    Case(
        "a narrower hem",
        "leg_width",
        TROUSERS,
        {"way": "narrower", "amount": 60.0, "where": "at the hem of the leg"},
        _BOTH,
        _ZERO,
        redrawn=_LEGS,
    ),
    Case(
        "level a curved hem",
        "hem_levelled",
        _alone(skirt(hem_up=30.0)),
        {},
        (Target("skirt"),),
        {"part": 0.0},
        redrawn=frozenset({"hem", "side"}),
    ),
    Case(
        "half level a curved hem at the side",
        "hem_levelled",
        _alone(skirt(hem_up=30.0)),
        {"height": "as high as at the side", "part": 0.5},
        (Target("skirt"),),
        {"part": 0.0},
        redrawn=frozenset({"hem", "side"}),
    ),
)
