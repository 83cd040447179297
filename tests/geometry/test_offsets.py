"""Parallel lines and moved edges: distances, lengths and areas against Steiner's formulas and GEOS."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import PatternError
from geometry.lines import Chain, arc, chain, flatten, polyline, straight
from geometry.motions import Motion, mirror, slide, turn
from geometry.offsets import moved_runs, offset_edge
from geometry.parallels import moved_line, moved_lines
from geometry.pieces import Finish, Place, RunKind
from geometry.splines import spline
from geometry.thinning import gap_between
from tests.canon import front, leaning, sleeve

PROMISED = 0.005
ARMHOLE = front().edge("armhole").chain
CAP = sleeve().edge("cap").chain
WAVE = spline([(0, 0), (40, 25), (90, 20), (150, -20), (210, 5)])
CURVES = {"armhole": ARMHOLE, "cap": CAP, "wave": WAVE, "neck": front().edge("neck").chain}
MOTIONS = {"slide": slide(31.5, -12.25), "turn": turn(37.0, (20, 5)), "mirror": mirror((10, 0), (1, 3))}


def ellipse(a: float, b: float, pieces: int = 16) -> Chain:
    """A smooth closed convex curve, anticlockwise: tangent cubics through points of an ellipse."""
    angles = np.linspace(0, 2 * math.pi, pieces + 1)
    step = 4 / 3 * math.tan(math.pi / pieces / 2)
    points = np.stack([a * np.cos(angles), b * np.sin(angles)], axis=1)
    along = step * np.stack([-a * np.sin(angles), b * np.cos(angles)], axis=1)
    return chain(
        [(points[i], points[i] + along[i], points[i + 1] - along[i + 1], points[i + 1]) for i in range(pieces)]
    )


def area(line: Chain) -> float:
    """Area inside a closed line, by Green's formula with Gauss points on the curve itself."""
    total = 0.0
    x, w = np.polynomial.legendre.leggauss(8)
    t = (x + 1) / 2
    for cubic in line.cubics:
        s = 1 - t
        b = np.stack([s**3, 3 * s * s * t, 3 * s * t * t, t**3], axis=1) @ cubic
        d = np.stack([s * s, 2 * s * t, t * t], axis=1) @ (3 * np.diff(cubic, axis=0))
        total += float(((b[:, 0] * d[:, 1] - b[:, 1] * d[:, 0]) * w).sum()) / 4
    return total


@pytest.mark.parametrize("distance", [15.0, 6.0, -15.0, -3.5])
def test_a_straight_line_moves_exactly(distance: float) -> None:
    line = straight((10, 5), (110, 5))
    moved = moved_line(line, distance).line
    assert moved.straight.all() and len(moved) == 1
    assert moved.start == pytest.approx((10, 5 - distance), abs=1e-12)
    assert moved.end == pytest.approx((110, 5 - distance), abs=1e-12)


@pytest.mark.parametrize(("distance", "length"), [(15.0, 180.642), (-15.0, 133.518)])
def test_a_quarter_circle_of_radius_100_moved_by_15(distance: float, length: float) -> None:
    # Calculation: pi/2 (R + d). Cut edges of matching curves are not equal, stitching lines are.
    quarter = arc((0, 0), 100, 0, 90)
    assert quarter.length == pytest.approx(157.080, abs=PROMISED)
    assert moved_line(quarter, distance).line.length == pytest.approx(length, abs=PROMISED)
    radii = np.hypot(*moved_line(quarter, distance).line.flat[0].T)
    assert np.abs(radii - (100 + distance)).max() <= PROMISED


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("distance", [15.0, 6.0, -6.0, -15.0])
def test_every_point_of_a_parallel_curve_is_the_distance_away(name: str, distance: float) -> None:
    line = CURVES[name]
    moved = moved_line(line, distance)
    us = np.linspace(0, len(moved.line), 400)[1:-1]
    far = [abs(line.nearest((float(x), float(y)))[1] - abs(distance)) for x, y in moved.line.points(us)]
    assert max(far) <= PROMISED
    # Each old point has its moved point square to the line, on the right side, within what is promised.
    for u in np.linspace(0, len(line), 50):
        (x, y), (tx, ty) = line.point(u), line.tangent(u)
        goal = (x + distance * ty, y - distance * tx)
        assert moved.line.nearest(goal)[1] <= PROMISED
        assert math.dist(moved.line.point(moved.parameter(float(u))), goal) <= 4 * PROMISED


@pytest.mark.parametrize("name", CURVES)
def test_a_parallel_curve_has_few_segments(name: str) -> None:
    for distance in (15.0, -10.0):
        moved = moved_line(CURVES[name], distance).line
        assert len(moved) <= moved.length / 10 + 4


@given(
    st.floats(60, 300),
    st.floats(60, 300),
    st.floats(2, 40),
)
def test_a_smooth_convex_curve_grows_as_steiner_says(a: float, b: float, d: float) -> None:
    # Steiner's formula for convex bodies: length + 2 pi d, area + L d + pi d^2.
    line = ellipse(a, b)
    moved = moved_line(line, d).line
    assert moved.length == pytest.approx(line.length + 2 * math.pi * d, abs=0.01)
    assert area(moved) == pytest.approx(area(line) + line.length * d + math.pi * d * d, abs=PROMISED * moved.length)


@pytest.mark.parametrize("name", CURVES)
def test_a_parallel_curve_agrees_with_geos(name: str) -> None:
    # Outside check: shapely (GEOS) offset_curve with quad_segs=64 on the curve flattened at 0.001 mm.
    points = flatten(CURVES[name], 0.001)[0]
    theirs = shapely.LineString(points).offset_curve(-15.0, quad_segs=64, join_style="mitre")
    # Its chords turn away from the curve's ends by half a step, so the first and last 1 mm are left out.
    ours = moved_line(CURVES[name], 15.0).line
    middle = shapely.points(ours.points(ours.at_lengths(np.linspace(1, ours.length - 1, 300))))
    assert shapely.distance(theirs, middle).max() <= 0.01


@pytest.mark.parametrize("motion", MOTIONS.values(), ids=MOTIONS)
@pytest.mark.parametrize("name", CURVES)
def test_moving_the_paper_and_moving_the_line_change_places(name: str, motion: Motion) -> None:
    line = CURVES[name]
    distance = -15.0 if motion.mirrors else 15.0
    assert (
        np.abs(
            moved_line(line.moved(motion), distance).line.cubics - moved_line(line, 15.0).line.moved(motion).cubics
        ).max()
        < 1e-6
    )


def test_a_line_moved_backwards_is_the_same_line() -> None:
    assert gap_between(moved_line(ARMHOLE, 12).line, moved_line(ARMHOLE.backwards(), -12).line.backwards()) < 1e-6


def test_at_a_kink_the_parts_run_on_to_a_point_or_are_trimmed() -> None:
    corner = polyline([(0, 0), (100, 0), (100, 100)])
    outside, inside = moved_line(corner, 15), moved_line(corner, -15)
    assert any(math.dist(p, (115, -15)) < 1e-9 for p in outside.line.cubics[:, 0])
    assert inside.line.cubics[:, 0].tolist() == [pytest.approx([0, 15]), pytest.approx([85, 15])]
    assert outside.line.point(outside.parameter(0.5)) == pytest.approx((50, -15))
    assert inside.line.point(inside.parameter(1.5)) == pytest.approx((85, 50))


def test_many_lines_at_once_are_the_same_as_one_by_one() -> None:
    lines = [ARMHOLE, straight((0, 0), (50, 0)), polyline([(0, 0), (60, 0), (90, 40)]), CAP]
    distances = [15.0, 10.0, 6.0, 0.0]
    for line, distance, one in zip(lines, distances, moved_lines(lines, distances), strict=True):
        assert gap_between(one, moved_line(line, distance).line) < 1e-9


def test_a_move_that_dies_away_leaves_the_old_line_tangent() -> None:
    length = ARMHOLE.length

    def fade(at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        share = np.clip(1 - at / 100, 0, 1)
        return 6 * share**2 * (3 - 2 * share), -36 * share * (1 - share) / 100

    moved = moved_line(ARMHOLE, 0.0, fade)
    for at, amount in ((0.0, 6.0), (25.0, 5.0625), (50.0, 3.0), (75.0, 0.9375), (100.0, 0.0), (length - 1, 0.0)):
        u = ARMHOLE.at_length(at)
        # Calculation: 6 s^2 (3 - 2 s) at s = 1 - length / 100.
        assert math.dist(moved.line.point(moved.parameter(u)), ARMHOLE.point(u)) == pytest.approx(amount, abs=0.005)


def test_to_nothing_on_a_curve_leaves_it_tangent_and_the_rest_untouched() -> None:
    piece = front()
    place = Place("armhole", 0, 1.3)
    out = offset_edge(piece, "armhole", 5.0, place, "start").edge("armhole").chain
    for u in np.linspace(1.3, 2.0, 20):
        assert out.nearest(ARMHOLE.point(float(u)))[1] < 1e-9
    here = out.nearest(ARMHOLE.point(1.3))[0]
    assert out.tangent(here - 1e-6) == pytest.approx(ARMHOLE.tangent(1.3), abs=1e-4)


def test_letting_out_a_straight_side_moves_its_corners_along_the_neighbours() -> None:
    # Calculation: along a level hem a side leaning 10 degrees moves by amount / cos 10.
    panel = leaning(10.0)
    out = offset_edge(panel, "side", 6.0)
    shift = 6 / math.cos(math.radians(10))
    for index in (1, 2):
        before, after = panel.edges[index].start, out.edges[index].start
        assert after == pytest.approx((before[0] + shift, before[1]), abs=1e-9)
    assert [c.id for c in out.corners] == [c.id for c in panel.corners]
    assert out.edge("side").length == pytest.approx(panel.edge("side").length, abs=1e-9)
    # The level line that ended on the side ends on it again.
    assert out.line(panel.lines[0].kind).chain.end == pytest.approx(
        (panel.lines[0].chain.end[0] + shift, 180), abs=1e-9
    )  # type: ignore[union-attr]


@pytest.mark.parametrize("edge", ["side", "armhole", "shoulder", "neck", "hem"])
@pytest.mark.parametrize("amount", [4.0, -4.0])
def test_a_moved_edge_lies_the_amount_from_the_old_one(edge: str, amount: float) -> None:
    piece = front()
    moved = offset_edge(piece, edge, amount)
    old, new = piece.edge(edge).chain, moved.edge(edge).chain
    middle = new.points(new.at_lengths(np.linspace(10, new.length - 10, 60)))
    assert max(abs(old.nearest((float(x), float(y)))[1] - abs(amount)) for x, y in middle) <= 0.01
    grown = moved.polygon.area - piece.polygon.area
    assert math.copysign(1, grown) == math.copysign(1, amount)
    for notch in moved.notches:
        was = next(n for n in piece.notches if n.id == notch.id)
        gap = math.dist(moved.point_at(notch.place), piece.point_at(was.place))
        assert gap == pytest.approx(abs(amount) if notch.place.edge == edge else 0.0, abs=0.01)


def test_out_and_in_again_gives_back_the_edge() -> None:
    piece = front()
    back = offset_edge(offset_edge(piece, "shoulder", 5.0), "shoulder", -5.0)
    for old, new in zip(piece.edges, back.edges, strict=True):
        assert gap_between(old.chain, new.chain) < 0.01


def test_nothing_moved_is_the_same_piece() -> None:
    piece = front()
    assert offset_edge(piece, "side", 0.0) is piece


def test_to_nothing_at_a_place_leaves_the_rest_as_it_was() -> None:
    panel = leaning(10.0)
    out = offset_edge(panel, "side", 6.0, Place("side", 0, 0.5), "start")
    assert out.edge("waist") is panel.edge("waist")
    assert out.edge("side").end == panel.edge("side").end
    assert out.edge("side").start[0] == pytest.approx(
        panel.edge("side").start[0] + 6 / math.cos(math.radians(10)), abs=0.01
    )
    half = panel.edge("side").chain
    for share in (0.5, 0.7, 0.95):
        assert out.edge("side").chain.nearest(half.point(share))[1] < 1e-9
    assert offset_edge(panel, "side", 6.0, Place("side", 0, 0.6)).edge("waist") is panel.edge("waist")


def test_a_dart_mouth_slides_along_its_legs() -> None:
    piece = front(with_dart=True)
    out = offset_edge(piece, "side", 5.0)
    dart = out.darts[0]
    old = next(r for r in piece.edge("side").runs if r.kind is RunKind.MOUTH).chain
    new = next(r for r in out.edge("side").runs if r.kind is RunKind.MOUTH).chain
    for was, now in ((old.start, new.start), (old.end, new.end)):
        across = straight(dart.sewn_point, now).nearest(was)[1]
        assert across < 1e-6 and math.dist(now, was) > 4.9
    assert [r.kind for r in out.edge("side").runs] == [r.kind for r in piece.edge("side").runs]
    assert len(moved_runs(piece, piece.edge("side"), 5.0)) == 3


@pytest.mark.parametrize(("edge", "amount"), [("side", -300.0), ("armhole", -300.0), ("shoulder", -90.0)])
def test_too_much_is_refused_with_the_place_and_the_largest_that_fits(edge: str, amount: float) -> None:
    piece = front()
    with pytest.raises(PatternError, match="it fits up to") as caught:
        offset_edge(piece, edge, amount)
    assert caught.value.point is not None and caught.value.edge == edge
    fits = float(caught.value.says.split("up to ")[1].split(" mm")[0])
    offset_edge(piece, edge, -fits)
    with pytest.raises(PatternError):
        offset_edge(piece, edge, -fits - 0.1)


@pytest.mark.parametrize("amount", [math.nan, math.inf])
def test_no_number_is_refused(amount: float) -> None:
    with pytest.raises(PatternError, match="number"):
        offset_edge(front(), "side", amount)


def test_the_fold_and_a_place_elsewhere_are_refused() -> None:
    with pytest.raises(PatternError, match="fold"):
        offset_edge(front(), "fold", 5.0)
    with pytest.raises(PatternError, match="must lie on it"):
        offset_edge(front(), "side", 5.0, Place("side", 0, 0.0), "start")


def test_a_corner_that_runs_on_asks_for_nothing_at_that_end() -> None:
    piece = leaning(0.0)
    split = piece.edge("side").chain
    edges = (
        piece.edges[0],
        replace(piece.edges[1], runs=(replace(piece.edges[1].runs[0], chain=split.part(0, 0.5)),)),
        replace(
            piece.edges[1],
            id="upper",
            name="upper side",
            runs=(replace(piece.edges[1].runs[0], chain=split.part(0.5, 1)),),
        ),
        *piece.edges[2:],
    )
    corners = (*piece.corners, replace(piece.corners[0], id="extra"))
    with pytest.raises(PatternError, match="runs on into"):
        offset_edge(replace(piece, edges=edges, corners=corners), "upper", 5.0)
    assert edges[3].finish is not Finish.FOLD


@pytest.mark.parametrize("distance", [-40.0, -39.9, -45.0])
def test_a_curve_as_tight_as_the_distance_stays_a_line_of_few_segments(distance: float) -> None:
    # Calculation: an arc of radius 40 moved 40 inward is one point; moved further it comes out on the other side.
    moved = moved_line(arc((0, 0), 40, 0, 180), distance).line
    assert len(moved) < 20
    assert np.abs(np.hypot(*moved.flat[0].T) - abs(40 + distance)).max() < 0.01
