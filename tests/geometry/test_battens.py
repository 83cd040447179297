"""The batten itself: no jog gives back the old line, ends are met, stops hold, stiffness reaches as far as it says."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.battens import Laid, Stops, lay
from geometry.gluing import STATIONS, Glued, averaged, glue
from geometry.lines import Chain, arc, chain, joined, straight
from geometry.motions import slide, turn
from tests.blend_cases import cut, height_at, shapes

SHAPES = sorted(shapes())


def places(values: np.ndarray) -> np.ndarray:
    """Of what is given at the stations, what is given where stops are looked at."""
    return values.reshape(-1, STATIONS)[:, ::2].ravel()


def free(glued: Glued, *, give: float = 0.0) -> Stops:
    """Stops so far out that nothing ever touches them."""
    bend, off = np.full(len(places(glued.lengths)), 10.0), np.full(len(places(glued.lengths)), 1e4)
    return Stops(-bend, bend, -off, off, (give, give))


def parts_of(name: str, share: float, amount: float, lengthen: bool = False) -> list[Chain]:
    line = shapes()[name]
    runs, _ = cut(line, height_at(line, share), amount, lengthen)
    return [runs[0].chain, runs[-1].chain]


def halves(name: str) -> list[Chain]:
    line = shapes()[name]
    u = line.at_length(0.45 * line.length)
    return [line.part(0, u), line.part(u, len(line))]


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("stiffness", [6.0, 25.0, 80.0])
def test_without_a_jog_the_batten_lies_on_the_old_line(name: str, stiffness: float) -> None:
    """The change is stiffened, not the curve: whatever the stiffness, an unbroken curve is left as it is."""
    glued = glue(halves(name), stiffness)
    laid = lay(glued, stiffness, free(glued))
    assert laid.closed and laid.furthest_off < 1e-6
    old = shapes()[name]
    assert max(old.nearest((float(x), float(y)))[1] for x, y in laid.points) < 1e-6


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("lengthen", [False, True])
def test_both_ends_are_met_in_place_and_direction(name: str, lengthen: bool) -> None:
    parts = parts_of(name, 0.5, 15, lengthen)
    glued = glue(parts, 20.0)
    laid = lay(glued, 20.0, free(glued))
    assert laid.closed
    assert tuple(laid.points[0]) == parts[0].start and tuple(laid.points[-1]) == parts[-1].end
    assert np.abs(laid.cubics[1:, 0] - laid.cubics[:-1, 3]).max() == 0.0
    for angle, way in ((laid.angles[0], parts[0].start_tangent), (laid.angles[-1], parts[-1].end_tangent)):
        assert math.cos(angle) * way[0] + math.sin(angle) * way[1] == pytest.approx(1, abs=1e-9)


def test_points_and_directions_belong_to_one_line() -> None:
    """The chord of each step points the mean way of its two ends, and is as long as the lengths say."""
    glued = glue(parts_of("armhole", 0.5, 12), 20.0)
    laid = lay(glued, 20.0, free(glued))
    steps, longer = np.diff(laid.points, axis=0), np.diff(laid.lengths)
    mean = (laid.angles[1:] + laid.angles[:-1]) / 2
    off = (np.arctan2(steps[:, 1], steps[:, 0]) - mean)[longer > 1e-6]
    # Nothing turns where one segment goes over into the next.
    assert (longer <= 1e-6).sum() == len(laid.cubics) - 1
    assert np.abs(np.diff(laid.angles)[longer <= 1e-6]).max() < 1e-9
    assert np.abs((off + np.pi) % (2 * np.pi) - np.pi).max() < 1e-3
    assert np.hypot(steps[:, 0], steps[:, 1]) == pytest.approx(longer, rel=1e-3, abs=1e-9)


def two_lines(jog: float) -> list[Chain]:
    """Two level lines 150 mm long, the second ``jog`` mm higher."""
    return [straight((0, 0), (150, 0)), straight((150, jog), (300, jog))]


def test_a_straight_jog_is_crossed_half_way_by_symmetry() -> None:
    glued = glue(two_lines(2.0), 20.0)
    laid = lay(glued, 20.0, free(glued))
    assert np.interp(150, laid.points[:, 0], laid.points[:, 1]) == pytest.approx(1.0, abs=1e-3)
    turned = turn(180, (150, 1)).points(laid.points)[::-1]
    assert np.abs(turned - laid.points).max() < 1e-4


@pytest.mark.parametrize("stiffness", [10.0, 20.0, 30.0])
def test_stiffness_is_how_far_a_jog_makes_itself_felt(stiffness: float) -> None:
    """A pulled batten dies away within a few of its lengths: six of them on, a fiftieth of the jog is left."""
    glued = glue(two_lines(1.0), stiffness)
    laid = lay(glued, stiffness, free(glued))
    far = np.abs(laid.points[:, 0] - 150) > 6 * stiffness
    near = np.abs(laid.points[:, 0] - 150) < stiffness / 4
    off = np.minimum(np.abs(laid.points[:, 1]), np.abs(laid.points[:, 1] - 1))
    assert off[near].max() > 0.2
    assert not far.any() or off[far].max() < 0.02


def bends(laid: Laid) -> np.ndarray:
    return averaged(laid.lengths, laid.angles)


def test_a_stop_against_turning_back_keeps_the_curve_bending_one_way() -> None:
    """A jog in an arc of radius 80 so large that a free batten turns back; held, it does not, and still closes."""
    line = arc((0, 0), 80, 180, 270)
    parts = [line.part(0, 1), line.part(1, 2).moved(slide(-8.0, -8.0))]
    glued = glue(parts, 10.0)
    loose = lay(glued, 10.0, free(glued))
    assert bends(loose).min() < -1e-3
    stops = free(glued)
    held = lay(glued, 10.0, Stops(np.zeros_like(stops.least), stops.most, stops.right, stops.left))
    assert held.closed and bends(held).min() > -2e-4


def test_a_stop_against_bending_hard_spreads_the_bend() -> None:
    """A kink of 12 degrees in an arc of radius 100: held to 1.3 of its curvature where a slack batten takes more."""
    first = arc((0, 0), 100, 180, 230)
    second = arc((0, 0), 100, 242, 292).moved(turn(0, (0, 0)))
    second = second.moved(slide(first.end[0] - second.start[0], first.end[1] - second.start[1]))
    glued = glue([first, second], 8.0)
    loose = lay(glued, 8.0, free(glued))
    stops = free(glued)
    held = lay(glued, 8.0, Stops(stops.least, np.full_like(stops.most, 0.013), stops.right, stops.left))
    assert bends(loose).max() > 0.018
    assert held.closed and bends(held).max() < 0.0135


def test_a_stop_beside_the_old_line_keeps_the_batten_near_it() -> None:
    glued = glue(parts_of("armhole", 0.65, 18), 60.0)
    loose, stops = lay(glued, 60.0, free(glued)), free(glued)
    near = np.full(len(stops.left), 0.75 * loose.furthest_off)
    held = lay(glued, 60.0, Stops(stops.least, stops.most, -near, near))
    assert held.closed and held.furthest_off < 0.85 * loose.furthest_off


def test_a_stop_on_turning_from_one_station_to_another_holds() -> None:
    line = arc((0, 0), 80, 180, 270)
    glued = glue([line.part(0, 1), line.part(1, 2).moved(slide(-8.0, -8.0))], 10.0)
    loose = lay(glued, 10.0, free(glued))
    angles = places(loose.angles)
    high = int(np.argmax(np.maximum.accumulate(angles) - angles))
    first = int(np.argmax(angles[: high + 1]))
    assert angles[high] < angles[first] - 0.01
    stops = free(glued)
    turned = ((first, high, 1.0, -0.005),)
    held = lay(glued, 10.0, Stops(stops.least, stops.most, stops.right, stops.left, (0.0, 0.0), turned))
    assert places(held.angles)[high] - places(held.angles)[first] > -0.0055


def test_ends_may_give_as_far_as_allowed_and_no_further() -> None:
    glued = glue(two_lines(6.0), 60.0)
    give = math.radians(0.45)
    laid = lay(glued, 60.0, free(glued, give=give))
    assert laid.closed
    assert 0 < abs(laid.angles[0]) < give * 1.05
    assert tuple(laid.points[-1]) == (300.0, 6.0)


def test_the_same_batten_is_laid_twice_to_the_byte() -> None:
    parts = parts_of("sleeve cap", 0.5, 12)
    laid = [lay(glue(parts, 30.0), 30.0, free(glue(parts, 30.0))).cubics.tobytes() for _ in range(2)]
    assert laid[0] == laid[1]


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("lengthen", [False, True])
def test_read_from_the_other_end_it_is_the_same_line(name: str, lengthen: bool) -> None:
    parts = parts_of(name, 0.4, 11, lengthen)
    back = [part.backwards() for part in reversed(parts)]
    one, other = (lay(glue(runs, 25.0), 25.0, free(glue(runs, 25.0))) for runs in (parts, back))
    assert np.abs(one.cubics - other.cubics[::-1, ::-1]).max() < 1e-6


def test_gluing_keeps_the_old_curvature_and_puts_kinks_aside() -> None:
    """Two halves of an arc with 5 degrees taken out between them: the line bends evenly, the kink stands apart."""
    first, second = arc((0, 0), 60, 180, 220), arc((0, 0), 60, 225, 265)
    second = second.moved(slide(first.end[0] - second.start[0], first.end[1] - second.start[1]))
    glued = glue([first, second], 10.0)
    assert glued.curved * 60 == pytest.approx(1, abs=2e-3)
    assert [math.degrees(kink) for kink in glued.kinks] == pytest.approx([5], abs=1e-6)
    (joint,) = glued.joints
    assert glued.lengths[joint * STATIONS] == pytest.approx(first.length, abs=1e-3)
    assert glued.length == pytest.approx(first.length + second.length, abs=1e-3)


def test_gluing_fills_a_gap_on_the_curve_of_its_sides() -> None:
    first, second = arc((0, 0), 60, 180, 220), arc((0, 0), 60, 220, 260)
    way = first.end_tangent
    glued = glue([first, second.moved(slide(12 * way[0], 12 * way[1]))], 10.0)
    assert glued.length == pytest.approx(first.length + 12 + second.length, abs=1e-3)
    assert glued.curved * 60 == pytest.approx(1, abs=5e-3)
    (joint,) = glued.joints
    assert glued.sides[joint - 1] == glued.sides[joint] == -1
    # The old lines go on straight: half way across the gap an arc lies 6^2 / (2 * 60) mm beside them.
    assert [glued.beside[joint - 1, -1], glued.beside[joint, 0]] == pytest.approx([0.3, 0.3], abs=0.005)


def test_a_run_of_no_length_still_tells_where_and_which_way_to_end() -> None:
    first = chain([((0, 0), (30, 0), (60, 4), (90, 12))])
    speck = straight((110, 20), (110 + 1e-6, 20 + 4e-7))
    glued = glue([first, speck], 15.0)
    laid = lay(glued, 15.0, free(glued))
    assert laid.closed and math.dist(laid.points[-1], (110, 20)) < 2e-6
    assert math.tan(laid.angles[-1]) == pytest.approx(0.4, abs=1e-6)


def test_several_jogs_are_one_solve() -> None:
    line = arc((0, 0), 120, 180, 300)
    thirds = [line.part(0, 1).moved(slide(-0.8, 0)), line.part(1, 2), line.part(2, len(line)).moved(slide(0, -0.8))]
    glued = glue(thirds, 25.0)
    laid = lay(glued, 25.0, free(glued))
    assert laid.closed and len(glued.joints) == 2
    assert joined(thirds).length == pytest.approx(laid.lengths[-1], abs=1.5)
    assert bends(laid).min() > 0.3 / 120 and bends(laid).max() < 1.7 / 120
