"""Chains: measured, cut and joined without moving the line."""

from __future__ import annotations

import math
import pickle

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from geometry.fairness import curvatures_at
from geometry.lines import Chain, arc, chain, flatten, joined, polyline, straight, tidied
from geometry.motions import mirror, slide, turn
from geometry.sameness import same
from geometry.splines import spline
from geometry.thinning import gap_between
from tests.canon import PIECES

CURVE = chain([((0, 0), (40, 90), (120, -60), (160, 20)), ((160, 20), (200, 100), (240, 40), (250, 0))])


def test_a_quarter_circle_in_cubics_of_45_degrees_has_its_length_and_radius() -> None:
    # 2 pi R / 4 for R 500, worked by hand; a 45-degree cubic at R 500 is 0.002 mm off the circle at most.
    quarter = arc((0, 0), 500, 0, 90)
    assert len(quarter) == 2
    assert quarter.length == pytest.approx(785.398, abs=0.005)
    radii = np.hypot(*quarter.flat[0].T)
    assert np.abs(radii - 500).max() < 0.0025


def test_length_of_a_straight_line_is_exact() -> None:
    assert straight((3, 4), (303, 404)).length == pytest.approx(500, abs=1e-12)


@pytest.mark.parametrize("tolerance", [0.005, 0.05, 0.5])
def test_flattened_points_lie_within_the_tolerance(tolerance: float) -> None:
    points, us = flatten(CURVE, tolerance)
    between = CURVE.points((us[:-1] + us[1:]) / 2)
    chords = np.diff(points, axis=0)
    away = np.abs(chords[:, 0] * (between - points[:-1])[:, 1] - chords[:, 1] * (between - points[:-1])[:, 0])
    assert (away / np.hypot(*chords.T)).max() <= tolerance


@given(st.floats(0, 1))
def test_a_length_is_found_again(part: float) -> None:
    u = CURVE.at_length(part * CURVE.length)
    assert CURVE.length_to(u) == pytest.approx(part * CURVE.length, abs=1e-8)
    assert CURVE.at_lengths(np.array([part * CURVE.length]))[0] == pytest.approx(u, abs=1e-9)


@given(st.floats(0.01, 1.99), st.floats(-30, 30))
def test_a_crossing_lies_on_both_lines(u: float, lean: float) -> None:
    through = CURVE.point(u)
    along = (math.sin(math.radians(lean)), math.cos(math.radians(lean)))
    crossings = [CURVE.point(c) for c in CURVE.crossings(through, along)]
    assert min(math.dist(p, through) for p in crossings) < 1e-6
    for x, y in crossings:
        assert abs(along[0] * (y - through[1]) - along[1] * (x - through[0])) < 1e-6


@given(st.floats(0, 2), st.floats(-40, 40))
def test_the_nearest_point_is_square_to_the_line_or_an_end(u: float, away: float) -> None:
    (x, y), (tx, ty) = CURVE.point(u), CURVE.tangent(u)
    found, distance = CURVE.nearest((x - away * ty, y + away * tx))
    assert distance <= abs(away) + 1e-9
    if 1e-6 < found < 2 - 1e-6 and distance > 1e-6:
        (fx, fy), (gx, gy) = CURVE.point(found), CURVE.tangent(found)
        cosine = ((x - away * ty - fx) * gx + (y + away * tx - fy) * gy) / distance
        assert abs(cosine) < 1e-5


@given(st.lists(st.tuples(st.floats(-60, 60), st.floats(-60, 60)), min_size=7, max_size=7), st.floats(-90, 90))
@example([(0.0, 0.0), (0.0, 31.0), (0.0, 0.0), (1.5, 0.0), (0.0, 0.0), (0.0, 0.0), (0.0, 0.0)], 2.0)
def test_no_point_of_a_line_is_nearer_than_the_nearest(controls: list[tuple[float, float]], x: float) -> None:
    """Loops, cusps and doubled points too: against a thousand points of each of two cubics."""
    line = chain([controls[:4], controls[3:]])
    us = np.linspace(0.0, 2.0, 2001)
    away = np.hypot(*(line.points(us) - (x, x / 3)).T)
    u, distance = line.nearest((x, x / 3))
    assert distance <= away.min() + 1e-9
    assert math.dist(line.point(u), (x, x / 3)) == pytest.approx(distance, abs=1e-9)


def test_a_line_that_was_slid_keeps_what_does_not_hang_on_its_place() -> None:
    """Against the same control points as a line of its own; turned or mirrored it is reckoned anew."""
    slid = CURVE.moved(slide(3.0, 4.0)).moved(slide(-800.0, 0.1))
    own = Chain(slid.cubics, slid.straight)
    assert slid.length is CURVE.length and slid.turned is CURVE.turned
    assert slid.length == pytest.approx(own.length, abs=1e-9)
    for mine, other in zip(slid.turned, own.turned, strict=True):
        assert np.abs(mine - other).max() < 1e-9
    assert (slid.start, slid.end) == (own.start, own.end)
    assert slid.start_tangent == pytest.approx(own.start_tangent, abs=1e-12)
    mirrored = CURVE.moved(mirror((0.0, 0.0), (1.0, 0.0)))
    assert np.abs(mirrored.turned[1] + CURVE.turned[1]).max() < 1e-9


def test_the_same_part_again_is_the_same_line_and_nothing_reckoned_goes_to_another_process() -> None:
    line = Chain(CURVE.cubics, CURVE.straight)
    assert line.part(0.2, 0.7) is line.part(0.2, 0.7)
    for share in np.linspace(0.1, 0.6, 30).tolist():
        line.part(share, 0.7)
        line.crossings(CURVE.point(share), (1.0, 0.0))
    there = pickle.loads(pickle.dumps(line))
    assert same(there, line) and len(pickle.dumps(line)) == len(pickle.dumps(there))
    assert there.length == line.length and there.part(0.2, 0.7).cubics.tobytes() == line.part(0.2, 0.7).cubics.tobytes()


def test_curvature_of_an_arc_is_one_over_its_radius_and_positive_to_the_left() -> None:
    us = np.linspace(0, 2, 9)
    assert curvatures_at(arc((0, 0), 80, 0, 90), us) == pytest.approx(np.full(9, 1 / 80), rel=2e-3)
    assert (curvatures_at(arc((0, 0), 80, 90, 0), us) < 0).all()


def test_twenty_seeded_cuts_and_rejoins_with_their_moves_undone_leave_the_line_where_it_was() -> None:
    random = np.random.default_rng(1911)
    line = CURVE
    for _ in range(20):
        u = float(random.uniform(0.05, len(line) - 0.05))
        move = turn(float(random.uniform(-40, 40)), (60, 20)).then(slide(*random.uniform(-90, 90, 2)))
        cut_off = line.part(u, len(line)).moved(move)
        line = joined([line.part(0, u), cut_off.moved(move.undone())])
    assert gap_between(line, CURVE) < 0.001
    assert line.length == pytest.approx(CURVE.length, abs=0.001)
    assert len(line) > 10
    assert np.abs(tidied(line).cubics - CURVE.cubics).max() < 1e-4


def test_tidying_joins_only_what_was_one_line() -> None:
    bent = joined([CURVE.part(0, 0.7), CURVE.part(0.7, 2).moved(turn(0.01, CURVE.point(0.7)))])
    assert len(tidied(bent)) == len(bent)
    assert len(tidied(joined([CURVE.part(0, 0.7), CURVE.part(0.7, 2)]))) == 2


def test_a_speck_that_goes_takes_no_end_with_it() -> None:
    start, end = CURVE.start, CURVE.end
    specks = [((start[0] + 1e-10, start[1]), start), (end, (end[0], end[1] - 1e-10))]
    line = joined([straight(*specks[0]), CURVE, straight(*specks[1])])
    assert len(tidied(line)) == len(CURVE)
    assert (tidied(line).start, tidied(line).end) == (specks[0][0], specks[1][1])


def test_backwards_is_the_same_line() -> None:
    back = CURVE.backwards()
    assert (back.start, back.end) == (CURVE.end, CURVE.start)
    assert gap_between(back, CURVE) < 1e-6
    assert back.length == pytest.approx(CURVE.length, abs=1e-9)


def test_a_spline_goes_through_its_points_with_its_end_tangents_and_bends_without_a_step() -> None:
    points = [(0, 0), (60, 25), (110, 20), (170, -10)]
    line = spline(points, (1, 0), (0, -1))
    for i, point in enumerate(points):
        assert line.point(i) == pytest.approx(point, abs=1e-9)
    assert line.start_tangent == pytest.approx((1, 0), abs=1e-9)
    assert line.end_tangent == pytest.approx((0, -1), abs=1e-9)
    for i in (1, 2):
        before, after = curvatures_at(line, np.array([i - 1e-6, i + 1e-6]))
        assert before == pytest.approx(after, abs=1e-5)


def test_segments_that_do_not_meet_are_refused() -> None:
    with pytest.raises(ValueError, match="do not meet"):
        chain([((0, 0), (1, 0)), ((2, 0), (3, 0))])
    with pytest.raises(ValueError, match="finite"):
        straight((0, 0), (math.nan, 1))


def test_turning_adds_up_left_and_right() -> None:
    assert polyline([(0, 0), (10, 0), (10, 10), (20, 10)]).turning_deg == pytest.approx(180)
    assert arc((0, 0), 50, 0, 90).turning_deg == pytest.approx(90, abs=0.01)


@pytest.mark.parametrize("name", PIECES)
def test_every_outline_of_the_canon_is_within_the_flattening_of_its_curves(name: str) -> None:
    for edge in PIECES[name].edges:
        points, us = edge.chain.flat
        between = edge.chain.points((us[:-1] + us[1:]) / 2)
        chord_middles = (points[:-1] + points[1:]) / 2
        assert np.hypot(*(between - chord_middles).T).max() <= 0.005 + 1e-9


@pytest.mark.parametrize("miss", [0.0, 1e-15, 4e-13])
def test_a_cut_a_rounding_error_off_a_join_leaves_no_speck(miss: float) -> None:
    corner = joined([straight((0, 0), (10, 0)), straight((10, 0), (10, 10))])
    before, after = corner.part(0.0, 1.0 + miss), corner.part(1.0 - miss, 2.0)
    assert len(before) == len(after) == 1
    assert before.end_tangent == pytest.approx((1, 0)) and after.start_tangent == pytest.approx((0, 1))
