"""Pieces and garments are checked when built, in one sentence that says where."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest
import shapely

from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment, Match, Seam
from geometry.lines import chain, straight
from geometry.motions import mirror, slide, turn
from geometry.notes import Address, place_of, point_of
from geometry.pieces import Cloth, Cutting, EdgeKind, Finish, Layout, Notch, Place, Run, corner_angle
from geometry.sameness import same
from tests.canon import bodice, edge, front, leaning, piece


def square(side: float = 100.0, **more: object) -> object:
    return piece(
        "square",
        edge("bottom", EdgeKind.HEM, straight((0, 0), (side, 0))),
        edge("right", EdgeKind.SIDE, straight((side, 0), (side, side))),
        edge("top", EdgeKind.WAIST, straight((side, side), (0, side))),
        edge("left", EdgeKind.CENTRE_FRONT, straight((0, side), (0, 0)), finish=Finish.FOLD),
        **more,
    )


def test_an_outline_is_taken_just_where_its_polygon_is_valid_and_anticlockwise() -> None:
    """Against the rules for a polygon of simple features (OGC 06-103r4, 6.1.11.1), as GEOS checks them."""
    chosen = np.random.default_rng(7)
    taken = [0, 0]
    for _ in range(1500):
        points = chosen.integers(0, chosen.integers(2, 6), (chosen.integers(3, 8), 2)).astype(float).tolist()
        sides = zip(points, [*points[1:], points[0]], strict=True)
        ring = shapely.LinearRing([*points, points[0]])
        good = bool(shapely.is_valid(shapely.Polygon(ring)) and shapely.is_ccw(ring))
        try:
            piece("any", *(edge(f"e{i}", EdgeKind.SIDE, straight(*side)) for i, side in enumerate(sides)))
        except PatternError:
            assert not good, points
        else:
            assert good, points
        taken[good] += 1
    assert min(taken) > 150


def test_an_open_outline_is_refused_with_the_gap() -> None:
    with pytest.raises(PatternError, match=r"open: “bottom” ends 1\.000 mm from “right”") as error:
        piece(
            "gap",
            edge("bottom", EdgeKind.HEM, straight((0, 0), (10, 0))),
            edge("right", EdgeKind.SIDE, straight((11, 0), (0, 0))),
        )
    assert error.value.where() == {"piece": "gap", "edge": "bottom", "point_mm": [10.0, 0.0]}


def test_a_crossing_outline_is_refused_where_it_crosses() -> None:
    with pytest.raises(PatternError, match=r"crosses itself about 71 mm from the d along the a\."):
        piece(
            "bow",
            edge("a", EdgeKind.HEM, straight((0, 0), (100, 100))),
            edge("b", EdgeKind.SIDE, straight((100, 100), (100, 0))),
            edge("c", EdgeKind.SIDE, straight((100, 0), (0, 100))),
            edge("d", EdgeKind.SIDE, straight((0, 100), (0, 0))),
        )


def test_a_clockwise_outline_is_refused() -> None:
    with pytest.raises(PatternError, match="clockwise"):
        piece(
            "turned",
            edge("a", EdgeKind.HEM, straight((0, 0), (0, 100))),
            edge("b", EdgeKind.SIDE, straight((0, 100), (100, 100))),
            edge("c", EdgeKind.SIDE, straight((100, 100), (0, 0))),
        )


def test_a_fold_cannot_bend() -> None:
    with pytest.raises(PatternError, match="a fold cannot bend"):
        piece(
            "bent",
            edge("bottom", EdgeKind.HEM, straight((0, 0), (50, 0))),
            edge("fold", EdgeKind.CENTRE_FRONT, chain([((50, 0), (60, 20), (40, 60), (0, 0))]), finish=Finish.FOLD),
        )


def test_ids_are_used_once_and_marks_stand_on_their_edges() -> None:
    with pytest.raises(PatternError, match="uses the id “hem” twice"):
        replace(front(), notches=(Notch("hem", "notch", Place("side", 0, 0.5)),))
    with pytest.raises(PatternError, match="is not on its edge"):
        replace(front(), notches=(Notch("n", "notch", Place("side", 0, 9.0)),))


def test_values_are_frozen_down_to_the_arrays() -> None:
    given = front()
    with pytest.raises(FrozenInstanceError):
        given.name = "other"  # type: ignore[misc]
    with pytest.raises(ValueError, match="read-only"):
        given.edges[0].chain.cubics[0, 0, 0] = 1.0
    with pytest.raises(ValueError, match="read-only"):
        given.edges[0].chain.flat[0][0, 0] = 1.0


def test_corner_angles_are_inner_angles() -> None:
    assert [corner_angle(square(), i) for i in range(4)] == pytest.approx([90] * 4)  # type: ignore[arg-type]
    assert sum(corner_angle(leaning(10), i) for i in range(4)) == pytest.approx(360)
    assert corner_angle(leaning(10), 1) == pytest.approx(80)


def test_a_dart_mouth_is_left_out_of_the_length_of_its_edge() -> None:
    plain, darted = front(), front(with_dart=True)
    mouth = next(r for r in darted.edge("side").runs if r.dart)
    assert mouth.chain.length == pytest.approx(math.hypot(22, mouth.chain.end[0] - mouth.chain.start[0]), abs=1e-6)
    missing = sum(r.chain.length for r in darted.edge("side").runs if not r.dart)
    assert darted.edge("side").length == pytest.approx(missing)
    assert plain.edge("side").length - darted.edge("side").length == pytest.approx(mouth.chain.length, abs=0.1)


@pytest.mark.parametrize(
    ("cutting", "count"),
    [
        ((Cutting(Cloth.SELF, Layout.ON_FOLD, 1),), 2),
        ((Cutting(Cloth.SELF, Layout.PAIR, 1),), 2),
        ((Cutting(Cloth.SELF, Layout.SINGLE, 1),), 1),
        ((Cutting(Cloth.SELF, Layout.PAIR, 1), Cutting(Cloth.LINING, Layout.PAIR, 1)), 2),
    ],
)
def test_a_fold_and_a_pair_count_twice(cutting: tuple[Cutting, ...], count: int) -> None:
    assert replace(front(), cutting=cutting).cut_count == count


def test_a_missing_mate_is_refused() -> None:
    with pytest.raises(PatternError, match="sewn to “sdie” of “front”, which is missing"):
        Garment(
            "g", "g", (front(),), (Seam("s", "side seam", (EdgeRef("front", "sdie"),), (EdgeRef("front", "side"),)),)
        )
    given = bodice()
    lost = replace(given.seams[0], matches=(Match("waist", "front", "side.notch", "back", "gone"),))
    with pytest.raises(PatternError, match="has no mate “gone” on “back”"):
        replace(given, seams=(lost,))


def test_addresses_are_found_from_either_end_and_by_share() -> None:
    given = leaning(10)
    length = given.edge("side").length
    assert point_of(given, Address("hem", "start", length=30)) == pytest.approx((30, 0))
    assert point_of(given, Address("hem", "end", length=30)) == pytest.approx((given.edge("hem").length - 30, 0))
    assert point_of(given, Address("side", "start", share=0.25))[1] == pytest.approx(100)
    with pytest.raises(PatternError, match=f"is {length:.1f} mm long"):
        place_of(given, Address("side", "start", length=length + 1))


def test_same_is_exact_where_asked_and_forgiving_where_asked() -> None:
    given = front()
    nudged = replace(given, marks=(replace(given.marks[0], point=(95.0 + 1e-8, 320.0)),))
    assert same(given, nudged, 1e-6) and not same(given, nudged, 0.0)
    assert not same(given, replace(given, name="other"), 1.0)
    assert same(np.zeros(3), np.zeros(3), 0.0) and not same(np.zeros(3), np.zeros(2))


def test_motions_undo_and_compose() -> None:
    how = turn(33, (12, 5)).then(slide(3, -8)).then(mirror((1, 2), (3, 1)))
    assert how.undone().point(how.point((7.0, 9.0))) == pytest.approx((7.0, 9.0), abs=1e-12)
    assert how.mirrors and not turn(20, (0, 0)).mirrors
    assert turn(90, (10, 0)).point((11.0, 0.0)) == pytest.approx((10.0, 1.0))
    assert mirror((0, 5), (1, 0)).point((3.0, 1.0)) == pytest.approx((3.0, 9.0))


def test_two_runs_that_do_not_meet_are_one_edge_with_a_jog() -> None:
    given = leaning(10)
    side = given.edge("side")
    low, high = side.chain.part(0, 0.4), side.chain.part(0.4, 1).moved(slide(2, 0))
    from geometry.pieces import Edge, Joint

    jogged = Edge("side", "side", EdgeKind.SIDE, (Run(low), Run(high)), (Joint("n", (1.0, 0.0)),))
    assert jogged.disturbed
    assert jogged.length == pytest.approx(side.length + 2)
