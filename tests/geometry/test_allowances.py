"""Allowances: mitres, reflected, mirrored and squared corners, folds, darts, notches, and what cannot be cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pyclipper
import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st

from geometry.allowances import cut_by_widths, cut_lines, cut_piece, differing_widths, nick_depth, seam_line
from geometry.dart_caps import dart_cap
from geometry.errors import PatternError
from geometry.findings import Level
from geometry.garments import EdgeRef, Garment, Pressed, Seam
from geometry.hem_fullness import hem_fullness
from geometry.lines import Chain, arc, chain, flatten, joined, straight
from geometry.motions import Motion, Point, mirror, slide, turn
from geometry.pieces import CornerCut, Dart, Edge, EdgeKind, Finish, Notch, Piece, Place, Run, RunKind
from geometry.stages import BlendedPiece, CutPiece
from geometry.thinning import gap_between
from geometry.tolerances import MITRE_LIMIT
from tests.canon import edge, front, leaning, piece, sleeve

MOTIONS = {"slide": slide(31.5, -12.25), "turn": turn(37.0, (20, 5)), "mirror": mirror((10, 0), (1, 3))}


def polygon(points: Sequence[Point], finish: Finish = Finish.SEAM) -> Piece:
    """A piece of straight edges a, b, c … through points."""
    names = [chr(97 + i) for i in range(len(points))]
    ends = [*points[1:], points[0]]
    return piece(
        "poly",
        *(edge(n, EdgeKind.OTHER, straight(p, q), finish=finish) for n, p, q in zip(names, points, ends, strict=True)),
    )


def even(given: Piece, width: float) -> CutPiece:
    return cut_by_widths(given, {e.id: 0.0 if e.on_fold else width for e in given.edges})


def region(line: Chain | None) -> shapely.Polygon:
    assert line is not None
    return shapely.Polygon(flatten(line, 0.001)[0])


def unsewn(given: Piece) -> CutPiece:
    """Cut with the garment's own widths and nothing sewn to it."""
    return cut_piece(Garment("alone", "alone", (given,)), BlendedPiece(given))


def corner_at(cut: CutPiece, near: Point) -> Point:
    """The corner of the cutting line nearest to a point."""
    assert cut.cutting is not None
    x, y = min(cut.cutting.cubics[:, 0], key=lambda p: math.dist(p, near))
    return (float(x), float(y))


@pytest.mark.parametrize(
    ("angle", "reach"), [(150, 1.0353), (120, 1.1547), (90, 1.4142), (60, 2.0), (45, 2.6131), (30, 3.8637)]
)
def test_a_corner_run_on_to_a_point_reaches_as_far_as_the_mitre_table_says(angle: float, reach: float) -> None:
    # Calculation: reach / allowance = 1 / sin(angle / 2).
    tip = (200 * math.cos(math.radians(angle)), 200 * math.sin(math.radians(angle)))
    cut = even(polygon([(0, 0), (200, 0), tip]), 15.0)
    assert math.dist(corner_at(cut, (0, 0)), (0, 0)) / 15 == pytest.approx(reach, abs=5e-5)


def test_a_square_of_100_with_15_all_round() -> None:
    # Calculation: mitred 130 x 130 = 16900 (rounded it would be 16706.858, bevelled 16450).
    assert region(even(polygon([(0, 0), (100, 0), (100, 100), (0, 100)]), 15.0).cutting).area == pytest.approx(16900)


@pytest.mark.parametrize("angle", [8.0, 15.0, 22.9])
def test_a_point_beyond_the_limit_is_cut_square_to_itself(angle: float) -> None:
    tip = (300 * math.cos(math.radians(angle)), 300 * math.sin(math.radians(angle)))
    cut = region(even(polygon([(0, 0), (300, 0), tip]), 10.0).cutting)
    half = math.radians(angle / 2)
    out = (-math.cos(half), -math.sin(half))
    reaches = np.array(cut.exterior.coords) @ np.array(out)
    assert reaches.max() == pytest.approx(MITRE_LIMIT * 10, abs=1e-9)
    assert (np.abs(reaches - reaches.max()) < 1e-9).sum() >= 2


@given(st.lists(st.tuples(st.floats(0.3, 1.0), st.floats(0.1, 0.9)), min_size=4, max_size=8), st.floats(3, 25))
def test_even_allowances_agree_with_geos_and_clipper(spokes: list[tuple[float, float]], width: float) -> None:
    # Outside checks above the mitre limit: GEOS buffer and Clipper offset, both mitred.
    count = len(spokes)
    points = [
        (
            300 * r * math.cos(2 * math.pi * (i + 0.5 * a) / count),
            300 * r * math.sin(2 * math.pi * (i + 0.5 * a) / count),
        )
        for i, (r, a) in enumerate(spokes)
    ]
    given_piece = polygon(points)
    shape = shapely.Polygon(points)
    theirs = shape.buffer(width, join_style="mitre", mitre_limit=MITRE_LIMIT)
    if not _corners_wide(points, 24.0) or len(theirs.interiors) or not _keeps_corners(theirs, count):
        return
    cut = even(given_piece, width)
    assert region(cut.cutting).symmetric_difference(theirs).area < 1e-3 * theirs.length
    assert region(cut.cutting).symmetric_difference(clipped(points, width)).area < 1e-3 * theirs.length


def clipped(points: Sequence[Sequence[float]], width: float) -> shapely.Polygon:
    """The outline moved outward by Clipper, mitred."""
    clipper = pyclipper.PyclipperOffset(MITRE_LIMIT)
    path = pyclipper.scale_to_clipper([(float(x), float(y)) for x, y in points], 2**20)
    clipper.AddPath(path, pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    return shapely.Polygon(pyclipper.scale_from_clipper(clipper.Execute(width * 2**20)[0], 2**20))


def _corners_wide(points: Sequence[Point], least: float) -> bool:
    array = np.array(points)
    a, b = np.roll(array, 1, axis=0) - array, np.roll(array, -1, axis=0) - array
    cos = (a * b).sum(axis=1) / np.linalg.norm(a, axis=1) / np.linalg.norm(b, axis=1)
    return bool((np.degrees(np.arccos(np.clip(cos, -1, 1))) > least).all())


def _keeps_corners(shape: shapely.Polygon, count: int) -> bool:
    return len(shape.exterior.coords) - 1 == count


@pytest.mark.parametrize("name", ["front", "sleeve", "waisted"])
@pytest.mark.parametrize("width", [6.0, 15.0])
def test_curved_pieces_agree_with_geos(name: str, width: float) -> None:
    # Outside checks, GEOS and Clipper, on the outline flattened so finely that a chord at a corner hardly leaves the
    # curve's tangent.
    given_piece = {"front": unfolded(front()), "sleeve": sleeve(), "waisted": front_without_fold()}[name]
    given_piece = replace(given_piece, edges=tuple(replace(e, finish=Finish.SEAM) for e in given_piece.edges))
    outline = np.concatenate([flatten(e.chain, 0.00001)[0][:-1] for e in given_piece.edges])
    theirs = shapely.Polygon(outline).buffer(width, join_style="mitre", mitre_limit=MITRE_LIMIT, quad_segs=64)
    ours = region(even(given_piece, width).cutting)
    # GEOS simplifies its input first, so it is given more.
    assert shapely.hausdorff_distance(ours.boundary, theirs.boundary) < 0.05
    assert shapely.hausdorff_distance(ours.boundary, clipped(outline, width).boundary) < 0.02


def unfolded(half: Piece) -> Piece:
    """A half on the fold opened to a whole, each edge but the fold once on either side."""
    fold = half.fold
    assert fold is not None
    opened = mirror(fold.start, fold.chain.start_tangent)
    rest = [e for e in half.edges if not e.on_fold]
    other = [
        replace(e, id=e.id + "'", runs=(Run(e.chain.moved(opened).backwards()),), joints=()) for e in reversed(rest)
    ]
    return piece("whole", *(replace(e, runs=(Run(e.chain),), joints=()) for e in rest), *other)


def front_without_fold() -> Piece:
    given_piece = front()
    return replace(given_piece, edges=tuple(replace(e, finish=Finish.SEAM) for e in given_piece.edges))


@pytest.mark.parametrize(
    ("depth", "phi", "difference"), [(40, 5, 7.00), (40, 10, 14.11), (25, 10, 8.82), (50, 15, 26.79)]
)
@pytest.mark.parametrize("sign", [1, -1])
def test_a_reflected_hem_differs_by_twice_h_tan_phi(depth: float, phi: float, difference: float, sign: int) -> None:
    # Calculation: 2 h tan(phi) a side, against a hem whose sides simply run on.
    panel = leaning(sign * phi)
    hemmed = replace(panel, edges=tuple(replace(e, width=float(depth)) if e.id == "hem" else e for e in panel.edges))
    plain = hemmed.with_edge(replace(hemmed.edge("hem"), at_end=CornerCut.TO_A_POINT))
    far = (hemmed.edge("hem").end[0], -float(depth))
    moved = corner_at(unsewn(plain), far)[0] - corner_at(unsewn(hemmed), far)[0]
    assert sign * moved == pytest.approx(difference, abs=0.005)


@pytest.mark.parametrize("phi", [-12.0, 0.0, 5.0, 15.0])
@pytest.mark.parametrize("finish", [Finish.HEM_ONCE, Finish.HEM_TWICE])
def test_a_turned_up_hem_lies_on_the_garment_s_own_cutting_line(phi: float, finish: Finish) -> None:
    panel = leaning(phi)
    hemmed = panel.with_edge(replace(panel.edge("hem"), width=48.0, finish=finish))
    cut = unsewn(hemmed).cutting
    plain = unsewn(panel.with_edge(replace(panel.edge("hem"), width=0.0, finish=Finish.RAW))).cutting
    paper, garment = region(cut), region(plain)
    below = paper.intersection(shapely.box(-500, -500, 1000, 0))
    if finish is Finish.HEM_TWICE:
        last = below.intersection(shapely.box(-500, -500, 1000, -24))
        below = below.intersection(shapely.box(-500, -24, 1000, 0))
        first = shapely.affinity.scale(last, 1, -1, origin=(0, -24))
        assert first.symmetric_difference(below).area < 1e-6
    turned = shapely.affinity.scale(below, 1, -1, origin=(0, 0))
    height = 48.0 if finish is Finish.HEM_ONCE else 24.0
    assert turned.symmetric_difference(garment.intersection(shapely.box(-500, 0, 1000, height))).area < 1e-6


def test_an_allowance_ends_on_the_fold_run_on_straight() -> None:
    cut = unsewn(front())
    assert cut.cutting is not None
    xs = cut.cutting.cubics[:, :, 0]
    assert xs.min() == pytest.approx(0.0, abs=1e-9)
    assert corner_at(cut, (0, -25)) == pytest.approx((0, -25), abs=1e-9)
    assert corner_at(cut, (0, 535)) == pytest.approx((0, 535), abs=1e-9)


def test_a_v_neck_on_the_fold_is_pointed_when_opened() -> None:
    # Calculation: where the neck line moved 6 mm out meets the fold, 6 / sin(angle at the fold) above the corner.
    v = piece(
        "v",
        edge("hem", EdgeKind.HEM, straight((0, 0), (200, 0)), width=0.0, finish=Finish.RAW),
        edge("side", EdgeKind.SIDE, straight((200, 0), (200, 500))),
        edge("neck", EdgeKind.NECKLINE, straight((200, 500), (0, 300)), width=6.0),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 300), (0, 0)), finish=Finish.FOLD),
    )
    assert corner_at(unsewn(v), (0, 310)) == pytest.approx((0, 300 + 6 / math.sin(math.radians(45))), abs=1e-9)


def sewn(pressed: Pressed, first: str = "shoulder", then: str = "armhole") -> Garment:
    """The front with its shoulder sewn before the armhole."""
    one = front()
    other = replace(one, id="back", corners=tuple(replace(c, id="b." + c.id) for c in one.corners))
    other = replace(other, edges=other.edges)
    seams = (
        Seam("s1", first, (EdgeRef("front", first),), (EdgeRef("back", first),), pressed=pressed, sewn=1),
        Seam("s2", then, (EdgeRef("front", then),), (EdgeRef("back", then),), sewn=2),
    )
    return Garment("sewn", "sewn", (one, other), seams)


def test_a_seam_pressed_open_lies_on_the_later_seam_s_cutting_line() -> None:
    garment = sewn(Pressed.OPEN)
    one = garment.piece("front")
    cut = cut_piece(garment, BlendedPiece(one))
    shoulder = one.edge("shoulder").chain
    fold = mirror(shoulder.start, shoulder.start_tangent)
    paper = region(cut.cutting)
    armhole = {p.edge.id: p for p in cut_lines(garment, one, [seam_line(one, e) for e in one.edges])}["armhole"].line
    tip = one.edge("shoulder").start
    outer = [p for p in flatten(armhole, 0.05)[0] if _right_of(shoulder, p) > 1e-6]
    assert len(outer) >= 2, "the armhole's share of the cutting line ends with the mirrored line"
    for x, y in outer:
        assert armhole.nearest(fold.point((float(x), float(y))))[1] < 0.01
    assert math.dist(tip, outer[-1]) > 15 and paper.contains(shapely.Point(tip))


def _right_of(line: Chain, point: Sequence[float]) -> float:
    (x, y), (tx, ty) = line.start, line.start_tangent
    return float((point[0] - x) * ty - (point[1] - y) * tx)


@pytest.mark.parametrize("pressed", [Pressed.TO_FIRST, Pressed.TO_SECOND])
def test_a_seam_pressed_to_one_side_is_squared(pressed: Pressed) -> None:
    garment = sewn(pressed)
    one = garment.piece("front")
    parts = {p.edge.id: p for p in cut_lines(garment, one, [seam_line(one, e) for e in one.edges])}
    squared = parts["armhole"].line
    tangent = one.edge("shoulder").chain.start_tangent
    assert abs(squared.end_tangent[0] * tangent[0] + squared.end_tangent[1] * tangent[1]) < 1e-9
    assert math.dist(squared.point(len(squared) - 1.0), squared.end) == pytest.approx(15.0, abs=1e-6)
    # The line it starts from is the armhole's cutting line where this crosses the shoulder seam run on.
    assert abs(_right_of(one.edge("shoulder").chain, squared.point(len(squared) - 1.0))) < 1e-6


def test_unsewn_or_sewn_in_no_order_corners_run_on_to_a_point() -> None:
    one = front()
    same_time = sewn(Pressed.OPEN)
    level = replace(same_time, seams=tuple(replace(s, sewn=0) for s in same_time.seams))
    assert gap_between(_cut(level, one), _cut(Garment("g", "g", (one,)), one)) < 1e-9
    assert gap_between(_cut(same_time, one), _cut(level, one)) > 1.0


def _cut(garment: Garment, one: Piece) -> Chain:
    cutting = cut_piece(garment, BlendedPiece(one)).cutting
    assert cutting is not None
    return cutting


def test_a_mirrored_corner_that_would_reach_too_far_is_cut_square_at_the_limit() -> None:
    flat = polygon([(0, 0), (200, 0), (390, 40), (390, 200), (0, 200)])
    shaped = flat.with_edge(replace(flat.edge("a"), at_end=CornerCut.MIRRORED))
    cut = even(shaped, 15.0)
    assert region(cut.cutting).bounds[1] == pytest.approx(-15.0)
    low = [p for p in cut.cutting.cubics[:, 0] if abs(p[1] + 15) < 1e-9]  # type: ignore[union-attr]
    assert max(p[0] for p in low) <= 200 + MITRE_LIMIT * 15 + 1e-6


def test_two_widths_meet_exactly_where_the_two_lines_cross() -> None:
    cut = cut_by_widths(polygon([(0, 0), (200, 0), (230, 100), (0, 100)]), {"a": 40.0, "b": 10.0, "c": 0.0, "d": 25.0})
    # Calculation: the line 10 mm outside (200, 0)-(230, 100), at y = -40.
    slope, long = 30 / 100, math.hypot(30, 100)
    assert corner_at(cut, (200, -40)) == pytest.approx((200 - 40 * slope + 10 * long / 100, -40), abs=1e-9)
    assert corner_at(cut, (230, 100)) == pytest.approx((230 + 10 * long / 100, 100), abs=1e-9)
    assert corner_at(cut, (-25, 100)) == pytest.approx((-25, 100), abs=1e-9)


def test_two_widths_on_a_seam_that_runs_on_meet_in_a_step() -> None:
    cut = cut_by_widths(polygon([(0, 0), (100, 3), (200, 0), (200, 100), (0, 100)]), {"a": 10.0, "b": 40.0})
    # Calculation: two strips, their run-ons to the upright sides, less the overlap of the strips at the step.
    strips = math.hypot(100, 3) * 50 + (10**2 + 40**2) / 2 * 0.03
    overlap = 10 * 40 * math.sin(2 * math.atan(0.03)) / 2
    assert region(cut.cutting).area == pytest.approx(200 * 100 - 300 + strips - overlap, abs=1e-6)
    assert cut.findings == ()


def test_no_allowance_anywhere_is_the_stitching_line() -> None:
    one = front()
    cut = cut_by_widths(one, {})
    assert cut.cutting is not None and gap_between(cut.cutting, joined([e.chain for e in one.edges])) < 1e-9
    assert all(not n.nick and n.at_cut == n.at_stitch for n in cut.notches)


def test_inward_corners_are_trimmed_where_the_two_lines_cross() -> None:
    # Calculation: an L of squares; the inner corner moves by the allowance both ways.
    ell = polygon([(0, 0), (200, 0), (200, 100), (100, 100), (100, 200), (0, 200)])
    assert corner_at(even(ell, 15.0), (115, 115)) == pytest.approx((115, 115), abs=1e-9)


@cache
def canon_pieces() -> tuple[Piece, ...]:
    return (front(), front(with_dart=True), sleeve(), leaning(10.0), leaning(-8.0))


@given(st.sampled_from(range(5)), st.floats(3, 25), st.floats(5, 45), st.sampled_from(list(CornerCut)))
def test_the_cutting_line_lies_the_width_outside_and_holds_the_piece(
    index: int, width: float, depth: float, cut: CornerCut
) -> None:
    one = canon_pieces()[index]
    widths = {e.id: depth if e.finish is Finish.HEM_ONCE else 0.0 if e.on_fold else width for e in one.edges}
    one = replace(one, edges=tuple(replace(e, at_start=cut, width=widths[e.id]) for e in one.edges))
    done = unsewn(one)
    assert done.cutting is not None and done.cutting.start == done.cutting.end
    paper = region(done.cutting)
    assert paper.is_valid and paper.exterior.is_ccw and paper.buffer(1e-3).contains(one.polygon)
    assert len(done.cutting) <= done.cutting.length / 10 + 4 * len(one.edges)
    for e in one.edges:
        line = seam_line(one, e)
        for share in (0.35, 0.5, 0.65):
            u = line.at_length(share * line.length)
            (x, y), (tx, ty) = line.point(u), line.tangent(u)
            out = (x + widths[e.id] * ty, y - widths[e.id] * tx)
            if e.id != "side" or not one.darts:
                assert done.cutting.nearest(out)[1] <= 0.01


@pytest.mark.parametrize("motion", MOTIONS.values(), ids=MOTIONS)
@pytest.mark.parametrize("index", range(5))
def test_moving_the_paper_and_cutting_change_places(motion: Motion, index: int) -> None:
    one = canon_pieces()[index]
    moved = moved_piece(one, motion)
    assert (
        gap_between(_cut(Garment("g", "g", (moved,)), moved), _cut(Garment("g", "g", (one,)), one).moved(motion)) < 1e-6
    )


def moved_piece(one: Piece, motion: Motion) -> Piece:
    """The piece under a motion; a mirror image is turned round to stay anticlockwise."""
    edges = [_moved_edge(e, motion) for e in one.edges]
    corners = list(one.corners)
    flip = motion.mirrors
    if flip:
        edges, corners = edges[::-1], [corners[(i + 1) % len(corners)] for i in range(len(corners))][::-1]
    darts = tuple(
        replace(
            d,
            bust_point=motion.point(d.bust_point),
            sewn_point=motion.point(d.sewn_point),
            fold_to={"start": "end", "end": "start"}[d.fold_to] if flip else d.fold_to,
        )
        for d in one.darts
    )
    notches = tuple(
        replace(
            n,
            place=Place(
                n.place.edge,
                len(one.edge(n.place.edge).runs) - 1 - n.place.run,
                len(one.run_at(n.place).chain) - n.place.u,
            ),
        )
        if flip
        else n
        for n in one.notches
    )
    return replace(one, edges=tuple(edges), corners=tuple(corners), darts=darts, notches=notches, lines=(), marks=())


def _moved_edge(e: Edge, motion: Motion) -> Edge:
    runs = tuple(replace(r, chain=r.chain.moved(motion)) for r in e.runs)
    if not motion.mirrors:
        return replace(e, runs=runs)
    back = tuple(replace(r, chain=r.chain.backwards()) for r in reversed(runs))
    return replace(e, runs=back, at_start=e.at_end, at_end=e.at_start, joints=e.joints[::-1])


def dart_in_hem(lean: float = 0.0, fold_to: str = "start") -> Piece:
    """A square piece with a 30 mm dart in its lower edge; one side of the seam leans by ``lean`` mm."""
    point = (100.0, 100.0)
    runs = (
        Run(straight((0, -lean), (85, 0))),
        Run(straight((85, 0), (115, 0)), RunKind.MOUTH, "d"),
        Run(straight((115, 0), (200, -lean))),
    )
    return piece(
        "darted",
        Edge("waist", "waist", EdgeKind.WAIST, runs, (None, None)),
        edge("right", EdgeKind.SIDE, straight((200, -lean), (200, 200))),
        edge("top", EdgeKind.OTHER, straight((200, 200), (0, 200))),
        edge("left", EdgeKind.SIDE, straight((0, 200), (0, -lean))),
        darts=(Dart("d", "waist dart", "waist", point, point, fold_to),),
    )


def test_the_shaped_dart_end_of_a_straight_seam() -> None:
    # Calculation: the seam y = 0 mirrored in the leg from (100, 100) to (85, 0) meets x = 100 at
    # y = -15 tan(2 a), with a = atan(15 / 100) the half angle of the dart.
    cap = dart_cap(dart_in_hem(), dart_in_hem().darts[0])
    peak = -15 * math.tan(2 * math.atan(0.15))
    assert [tuple(p) for p in cap.cubics[:, 0]] == [pytest.approx((85, 0)), pytest.approx((100, peak))]
    assert cap.end == pytest.approx((115, 0), abs=1e-9)


@pytest.mark.parametrize("fold_to", ["start", "end"])
@pytest.mark.parametrize("lean", [0.0, 12.0])
def test_with_the_dart_closed_and_pressed_its_cut_edge_lies_on_the_seam_s(fold_to: str, lean: float) -> None:
    one = dart_in_hem(lean, fold_to)
    point = one.darts[0].sewn_point
    mouth = (85.0, 0.0) if fold_to == "start" else (115.0, 0.0)
    leg = mirror(point, (mouth[0] - point[0], mouth[1] - point[1]))
    cutting = unsewn(one).cutting
    seams = [r.chain for r in one.edge("waist").runs if r.kind is not RunKind.MOUTH]
    seam = seams[0] if fold_to == "start" else seams[1]
    for line, source in ((cutting, 15.0), (joined([dart_cap(one, one.darts[0])]), 0.0)):
        assert line is not None
        inside = [p for p in flatten(line, 0.01)[0] if _in_dart(p, point, fold_to) and p[1] < 0.001]
        assert inside
        for x, y in inside:
            folded = leg.point((float(x), float(y)))
            (sx, sy), (tx, ty) = seam.start, seam.start_tangent
            assert (folded[0] - sx) * ty - (folded[1] - sy) * tx == pytest.approx(source, abs=1e-3)


def _in_dart(p: Sequence[float], point: Point, fold_to: str) -> bool:
    """In the half of the dart that lies against the piece when pressed: between the leg and the fold."""
    run = (point[1] - p[1]) * 0.15
    low, high = (100 - run, 100.0) if fold_to == "start" else (100.0, 100 + run)
    return low - 1e-6 <= p[0] <= high + 1e-6


def test_a_dart_with_unequal_legs_leaves_no_step() -> None:
    one = dart_in_hem()
    moved = replace(one, darts=(replace(one.darts[0], sewn_point=(104.0, 95.0)),))
    cap = dart_cap(moved, moved.darts[0])
    assert len(cap) == 2 and cap.start == pytest.approx((85, 0)) and cap.end == pytest.approx((115, 0), abs=1e-9)


def test_a_dart_end_that_cannot_be_shaped_is_cut_straight_across_with_a_finding() -> None:
    # A half angle over 45 degrees: the seam mirrored in the leg runs away from the dart's fold.
    flat = dart_in_hem()
    wide = replace(flat, darts=(replace(flat.darts[0], sewn_point=(100.0, 12.0)),))
    with pytest.raises(PatternError, match="cannot be shaped"):
        dart_cap(wide, wide.darts[0])
    cut = unsewn(wide)
    assert cut.cutting is not None and [f.code for f in cut.findings] == ["dart-end"]


def test_notches_are_carried_out_square_to_the_cutting_line() -> None:
    one = front()
    cut = unsewn(one)
    for notch, carried in zip(one.notches, cut.notches, strict=True):
        run = one.run_at(notch.place).chain
        tx, ty = run.tangent(notch.place.u)
        assert carried.at_stitch == one.point_at(notch.place) and carried.nick
        assert math.dist(carried.at_cut, carried.at_stitch) == pytest.approx(15.0, abs=0.01)
        assert carried.outward == pytest.approx((ty, -tx))
        assert cut.cutting is not None and cut.cutting.nearest(carried.at_cut)[1] < 0.01


@pytest.mark.parametrize(("width", "depth"), [(15.0, 3.0), (6.0, 3.0), (5.0, 2.5), (3.0, 1.5), (0.0, 0.0)])
def test_a_nick_never_passes_half_the_allowance(width: float, depth: float) -> None:
    # Common practice, no source: 2-3 mm deep, never past half the allowance.
    assert nick_depth(width) == depth


def rounded_v(radius: float) -> Piece:
    """A square with a V of 60 degrees cut into its top, its point rounded by an arc (0 for sharp)."""
    left, right, tip = (50.0, 200.0), (150.0, 200.0), (100.0, 200 - 50 * math.sqrt(3))
    if radius:
        centre = (100.0, tip[1] + 2 * radius)
        away = radius * math.sqrt(3)
        a, b = (100 + away / 2, tip[1] + away * math.sqrt(3) / 2), (100 - away / 2, tip[1] + away * math.sqrt(3) / 2)
        line = joined([straight(right, a), arc(centre, radius, -30, -150), straight(b, left)])
    else:
        line = joined([straight(right, tip), straight(tip, left)])
    return piece(
        "v",
        edge("hem", EdgeKind.OTHER, straight((0, 0), (200, 0))),
        edge("right", EdgeKind.OTHER, straight((200, 0), (200, 200))),
        edge("top right", EdgeKind.OTHER, straight((200, 200), right)),
        edge("v", EdgeKind.NECKLINE, line),
        edge("top left", EdgeKind.OTHER, straight(left, (0, 200))),
        edge("left", EdgeKind.OTHER, straight((0, 200), (0, 0))),
    )


@pytest.mark.parametrize("width", [6.0, 9.0])
def test_a_curve_wider_than_its_allowance_is_followed(width: float) -> None:
    cut = even(rounded_v(10.0), width)
    assert cut.findings == ()


@pytest.mark.parametrize("width", [12.0, 15.0])
def test_a_curve_tighter_than_its_allowance_is_trimmed_to_a_point(width: float) -> None:
    # Calculation: with the point rounded or sharp, the two straight lines cross at the same point.
    cut, sharp = even(rounded_v(10.0), width), even(rounded_v(0.0), width)
    assert region(cut.cutting).symmetric_difference(region(sharp.cutting)).area < 1e-3
    (finding,) = cut.findings
    assert finding.code == "allowance-tight" and finding.level is Level.NOTICE
    assert finding.place == pytest.approx((100, 200 - 50 * math.sqrt(3) + 2 * width), abs=1e-3)


def test_the_allowances_of_a_narrow_slit_run_into_each_other() -> None:
    slit = polygon([(0, 0), (100, 0), (100, 150), (60, 150), (55, 50), (45, 50), (40, 150), (0, 150)])
    cut = even(slit, 15.0)
    assert {f.level for f in cut.findings} == {Level.WARN} and cut.findings[0].place is not None
    paper = region(cut.cutting)
    assert paper.is_valid and paper.contains(slit.polygon)


def test_an_allowance_wider_than_the_piece_bears_is_named() -> None:
    bitten = piece(
        "bitten",
        edge("a", EdgeKind.OTHER, straight((0, 0), (100, 0))),
        edge("b", EdgeKind.OTHER, straight((100, 0), (100, 60))),
        edge("c", EdgeKind.OTHER, straight((100, 60), (60, 60))),
        edge("bite", EdgeKind.OTHER, arc((50, 60), 10, 0, -180)),
        edge("e", EdgeKind.OTHER, straight((40, 60), (0, 60))),
        edge("f", EdgeKind.OTHER, straight((0, 60), (0, 0))),
    )
    cut = even(bitten, 15.0)
    assert [f.code for f in cut.findings] == ["allowance-too-wide"] and "“bite”" in cut.findings[0].says
    assert region(cut.cutting).bounds == pytest.approx((-15, -15, 115, 75))


def test_a_hem_deeper_than_its_side_is_long_is_named() -> None:
    shallow = leaning(5.0, 30.0)
    assert [f.code for f in unsewn(replace(shallow, lines=(), marks=())).findings] == []
    deep = replace(shallow, lines=(), marks=()).with_edge(replace(shallow.edge("hem"), width=50.0))
    codes = [f.code for f in unsewn(deep).findings]
    assert codes == ["allowance-too-wide", "allowance-too-wide"]


def flared(degrees: float = 25.0) -> Piece:
    """A quarter of a flared skirt: waist of radius 140, hem of radius 700 about (0, 700), on the fold."""
    cos, sin = math.sin(math.radians(degrees)), -math.cos(math.radians(degrees))
    low, high = (700 * cos, 700 + 700 * sin), (140 * cos, 700 + 140 * sin)
    return piece(
        "flared",
        edge("hem", EdgeKind.HEM, arc((0, 700), 700, -90, -90 + degrees), finish=Finish.HEM_ONCE, width=40.0),
        edge("side", EdgeKind.SIDE, straight(low, high)),
        edge("waist", EdgeKind.WAIST, arc((0, 700), 140, -90 + degrees, -90), width=10.0),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 560), (0, 0)), finish=Finish.FOLD),
    )


def test_a_curved_hem_reports_the_fullness_to_ease() -> None:
    # Calculation: arcs of radius 740 and 660 over 25 degrees differ by 80 x 25 pi / 180 = 34.907 mm.
    one = flared()
    fullness = hem_fullness(one, [e.chain for e in one.edges], 0, 40.0)
    assert fullness == pytest.approx(80 * math.radians(25), abs=0.01)
    (finding,) = unsewn(one).findings
    assert finding.code == "hem-fullness" and "34.9 mm longer" in finding.says


def test_a_straight_hem_has_nothing_to_ease_and_a_scooped_one_is_short() -> None:
    panel = leaning(10.0)
    assert hem_fullness(panel, [e.chain for e in panel.edges], 0, 40.0) == 0.0
    bowl = chain([((0, 0), (70, 10), (150, 10), panel.edge("hem").end)])
    scooped = panel.with_edge(replace(panel.edge("hem"), runs=(Run(bowl),)))
    assert any("shorter" in f.says for f in unsewn(scooped).findings)


def test_two_sewn_edges_with_different_widths_get_a_notice() -> None:
    garment = sewn(Pressed.OPEN)
    assert differing_widths(garment) == ()
    wider = garment.with_piece(
        garment.piece("front").with_edge(replace(garment.piece("front").edge("shoulder"), width=10.0))
    )
    (finding,) = differing_widths(wider)
    assert finding.code == "allowance-differs" and finding.level is Level.NOTICE
    bound = garment.with_piece(
        garment.piece("front").with_edge(replace(garment.piece("front").edge("shoulder"), finish=Finish.BOUND))
    )
    assert differing_widths(bound) == ()


@pytest.mark.parametrize("width", [-1.0, math.nan, math.inf])
def test_a_width_that_is_no_width_is_refused(width: float) -> None:
    with pytest.raises(PatternError, match="0 mm or more"):
        cut_by_widths(front(), {"side": width})


def test_matching_cut_edges_differ_where_matching_stitching_lines_do_not() -> None:
    # Calculation: quarter circles of radius 100; cut edges 180.642 and 133.518, stitching lines both 157.080.
    convex = piece(
        "fan",
        edge("a", EdgeKind.OTHER, straight((0, 0), (100, 0))),
        edge("curve", EdgeKind.PRINCESS, arc((0, 0), 100, 0, 90)),
        edge("c", EdgeKind.OTHER, straight((0, 100), (0, 0))),
    )
    concave = piece(
        "bite",
        edge("curve", EdgeKind.PRINCESS, arc((0, 0), 100, 90, 0)),
        edge("b", EdgeKind.OTHER, straight((100, 0), (150, 0))),
        edge("c", EdgeKind.OTHER, straight((150, 0), (150, 150))),
        edge("d", EdgeKind.OTHER, straight((150, 150), (0, 150))),
        edge("e", EdgeKind.OTHER, straight((0, 150), (0, 100))),
    )
    for one, length in ((convex, 180.642), (concave, 133.518)):
        cut = cut_by_widths(one, {"curve": 15.0})
        parts = cut_lines(
            Garment("g", "g", (cut.piece,)), cut.piece, [seam_line(cut.piece, e) for e in cut.piece.edges]
        )
        line = next(p for p in parts if p.edge.id == "curve")
        assert line.stitching.length == pytest.approx(157.080, abs=0.005)
        assert line.line.length == pytest.approx(length, abs=0.005)


def test_a_notch_on_an_edge_without_allowance_is_never_nicked() -> None:
    one = front().with_edge(replace(front().edge("armhole"), finish=Finish.BOUND))
    carried = {n.notch: n for n in unsewn(one).notches}
    assert not carried["armhole.notch"].nick and carried["side.notch"].nick
    extra = replace(one, notches=(*one.notches, Notch("end", "end", Place("armhole", 0, 2.0))))
    assert unsewn(extra).notches[-1].at_cut == extra.point_at(extra.notches[-1].place)
