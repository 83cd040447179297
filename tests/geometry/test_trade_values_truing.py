"""Values of the alterations of truing that come from outside: plain geometry worked by hand, and books."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from geometry.corners import walk_corners
from geometry.dart_legs import legs_of
from geometry.garments import Garment
from geometry.lines import straight
from geometry.named_corners import corner_target
from geometry.notes import Note, Target, length_at
from geometry.pieces import EdgeKind, Finish, Piece, Run, corner_angle
from geometry.pipeline import draft
from tests.alteration_use import Case
from tests.canon import bodice, edge, front, leaning, piece
from tests.truing_cases import uneven_dart


def done(garment: Garment, alteration: str, *targets: Target, **values: object) -> Garment:
    note: Note = Case("", alteration, garment, values, targets, {}).note()
    drafted = draft(garment, (note,))
    assert drafted.followed.steps[0].done, drafted.findings
    return drafted.redrawn


def test_a_seam_is_trued_by_its_amount_and_the_hem_keeps_both_its_corners() -> None:
    # A straight side 400 / cos 10 degrees long, run on by 6 mm: addition. The hem leaves both corners as it did.
    given = leaning(10)
    new = done(Garment("g", "g", (given,)), "true_a_seam", Target("panel", edge="side"), way="longer", amount=6.0)
    panel = new.piece("panel")
    assert panel.edge("side").length == pytest.approx(400 / math.cos(math.radians(10)) + 6.0, abs=1e-6)
    for index in (0, 1):
        assert corner_angle(panel, index) == pytest.approx(corner_angle(given, index), abs=1e-6)
    # 6 mm along a side that leans 10 degrees: 6 sin 10 = 1.042 out, 6 cos 10 = 5.909 down.
    out, down = panel.edge("hem").end[0] - given.edge("hem").end[0], -panel.edge("hem").end[1]
    assert (out, down) == pytest.approx((1.0419, 5.9088), abs=1e-4)


def _hem_at(degrees: float) -> Piece:
    """A panel on the fold whose straight hem meets the fold at an angle."""
    rise = 200 * math.tan(math.radians(90 - degrees))
    return piece(
        "panel",
        edge("hem", EdgeKind.HEM, straight((0, 0), (200, rise)), finish=Finish.HEM_ONCE),
        edge("side", EdgeKind.SIDE, straight((200, rise), (200, 400))),
        edge("waist", EdgeKind.WAIST, straight((200, 400), (0, 400))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 400), (0, 0)), finish=Finish.FOLD),
    )


@pytest.mark.parametrize(
    ("degrees", "way", "amount"), [(87.0, "round the point off", 1.048), (94.0, "fill the hollow in", 1.399)]
)
def test_a_hem_that_meets_the_fold_at_87_degrees_is_made_square(degrees: float, way: str, amount: float) -> None:
    # Square for a short run at a fold, or the opened piece shows a point: common practice, no source. A change that
    # dies away with the third power of the run R leaves at 3 a / R: a = 60 tan 3 / 3 = 1.048, 60 tan 4 / 3 = 1.399.
    garment = Garment("g", "g", (_hem_at(degrees),))
    assert corner_angle(garment.piece("panel"), 0) == pytest.approx(degrees, abs=1e-9)
    new = done(garment, "true_a_corner", corner_target("panel", "hem", True), way=way, amount=amount, run=60.0)
    panel = new.piece("panel")
    assert corner_angle(panel, 0) == pytest.approx(90.0, abs=0.2)
    # Beyond the run nothing is changed, and the fold stays straight.
    assert panel.edge("hem").chain.nearest((100.0, 100 * math.tan(math.radians(90 - degrees))))[1] < 1e-3
    assert panel.edge("fold").chain.is_straight
    moved = panel.edge("fold").end[1]
    assert moved == pytest.approx(amount if way.startswith("round") else -amount, rel=0.01)


def test_a_point_is_rounded_off_to_180_degrees_by_what_the_tangent_says() -> None:
    # Pointed is rounded off, scooped filled in: Conover, A Complete Course in Dressmaking, 1921-22, vol. 9 p. 22. Two
    # corners of 87 degrees, each trued by 50 tan 3 / 3 = 0.873 mm.
    panel = replace(_hem_at(93.0), id="front")
    other = replace(panel, id="back", edges=tuple(replace(e, id=f"b.{e.id}") for e in panel.edges),
                    corners=tuple(replace(c, id=f"b.{c.id}") for c in panel.corners))  # fmt: skip
    from geometry.garments import EdgeRef, Seam

    seam = Seam("sides", "side seam", (EdgeRef("front", "side", True),), (EdgeRef("back", "b.side", True),))
    garment = Garment("g", "g", (panel, other), (seam,))
    hem = next(c for c in walk_corners(garment) if c.id == "sides:end")
    assert hem.degrees == pytest.approx(174.0, abs=1e-6) and hem.off < 0
    targets = [corner_target(part.piece, part.edge, part.at_start) for part in hem.parts]
    new = done(garment, "true_a_corner", *targets, way="round the point off", amount=0.873, run=50.0)
    after = next(c for c in walk_corners(new) if c.id == "sides:end")
    assert after.degrees == pytest.approx(180.0, abs=0.3)
    assert new.piece("front").edge("side").length == pytest.approx(new.piece("back").edge("b.side").length, abs=1e-9)


def test_a_notch_moves_by_its_amount_and_nothing_else_does() -> None:
    # Addition.
    garment = bodice()
    side = garment.piece("front").edge("side")
    was = length_at(side, garment.piece("front").notches[0].place)
    target = replace(corner_target("front", "side", False), line="side.notch")
    new = done(garment, "move_a_notch", target, amount=7.5).piece("front")
    assert length_at(new.edge("side"), new.notches[0].place) == pytest.approx(was - 7.5, abs=1e-6)
    assert new.edges == garment.piece("front").edges and new.notches[1] == garment.piece("front").notches[1]


def test_the_shorter_leg_of_a_dart_is_made_as_long_as_the_other() -> None:
    # The legs of a dart are equal: common practice, no source. Addition along the leg.
    garment = uneven_dart()
    piece = garment.piece("front")
    legs = legs_of(piece, piece.darts[0])
    missing = abs(legs[0] - legs[1])
    assert missing > 0.3
    longer = done(garment, "true_dart_legs", Target("front", line="dart"), amount=missing).piece("front")
    assert legs_of(longer, longer.darts[0]) == pytest.approx((max(legs), max(legs)), abs=1e-6)
    even = front(with_dart=True)
    assert legs_of(even, even.darts[0])[0] == pytest.approx(legs_of(even, even.darts[0])[1], abs=1e-9)


def test_a_run_of_the_edge_beside_a_mouth_keeps_its_far_end() -> None:
    garment = uneven_dart()
    piece = garment.piece("front")
    new = done(garment, "true_dart_legs", Target("front"), way="the longer leg shorter", amount=0.5).piece("front")
    assert (new.edge("side").start, new.edge("side").end) == (piece.edge("side").start, piece.edge("side").end)
    assert isinstance(new.edge("side").runs[0], Run)
