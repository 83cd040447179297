"""Blending: the laws of a redrawn edge, hand-worked straight edges, and the bounds over a wide family of curves."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.blending import blend_piece
from geometry.errors import PatternError
from geometry.fairness import angle_between, inflections
from geometry.jogs import jog_size
from geometry.lines import Chain, arc, chain, gap_between, joined, straight
from geometry.motions import Point, mirror, slide, turn
from geometry.notes import BlendChoice
from geometry.pieces import (
    Dart,
    Edge,
    EdgeKind,
    Finish,
    Joint,
    Line,
    LineKind,
    Notch,
    Piece,
    Place,
    Run,
    RunKind,
    same,
)
from tests.blend_cases import blended_case, cases, cut, piece_with, shapes, summary_lines, turned_about

SHAPES = sorted(shapes())


def height_at(line: Chain, share: float) -> float:
    return line.start[1] + share * (line.end[1] - line.start[1])


def jogged(name: str, share: float, amount: float, lengthen: bool = False) -> Piece:
    line = shapes()[name]
    return piece_with(*cut(line, height_at(line, share), amount, lengthen))


def leaning(phi_deg: float, height: float = 400.0) -> Chain:
    """A straight edge ``height`` mm high, leaning off the grain, drawn downwards."""
    return straight((0, height), (height * math.tan(math.radians(phi_deg)), 0))


@pytest.mark.parametrize(
    ("phi", "jog"), [(2, 0.887), (5, 2.222), (10, 4.479), (15, 6.806)]
)
@pytest.mark.parametrize("lengthen", [False, True])
def test_the_jog_of_a_straight_edge_is_t_tan_phi(phi: float, jog: float, lengthen: bool) -> None:
    """T tan(phi) for 25.4 mm, from geometry alone, worked by hand to 0.001 mm."""
    piece = piece_with(*cut(leaning(phi), 150, 25.4, lengthen))
    (blend,) = blend_piece(piece, {}).blends
    assert blend.jog_mm == pytest.approx(jog, abs=5e-4)
    assert blend.kink_deg == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(("phi", "before", "after"), [(10, 406.17, 381.182), (5, 401.528, 376.230)])
def test_a_straight_edge_is_redrawn_from_corner_to_corner(phi: float, before: float, after: float) -> None:
    """sqrt((H - T)^2 + (H tan phi)^2) with H 400, T 25.4, worked by hand: at 10 degrees 406.17 becomes 381.18 mm."""
    line = leaning(phi)
    assert line.length == pytest.approx(before, abs=5e-3)
    result = blend_piece(piece_with(*cut(line, 150, 25.4, False)), {})
    new = result.piece.edge("e")
    assert new.chain.is_straight and len(new.chain) == 1
    assert new.length == pytest.approx(after, abs=5e-3)
    (blend,) = result.blends
    assert (blend.kind, blend.within_bounds, blend.max_curvature_ratio) == ("straight", None, None)


def test_where_a_line_runs_along_the_cut_the_jog_is_square_to_it() -> None:
    """Two level lines 3 mm apart, cut level: 3 mm, from geometry alone."""
    assert jog_size((5.0, 3.0), (1.0, 0.0), (1.0, 0.0), (1.0, 0.0)) == pytest.approx(3.0)
    assert jog_size((5.0, 3.0), (1.0, 0.0), (1.0, 0.0), None) == pytest.approx(3.0)


def test_an_undisturbed_piece_is_the_same_object_and_so_are_undisturbed_edges() -> None:
    whole = piece_with((Run(shapes()["armhole"]),))
    assert blend_piece(whole, {}).piece is whole
    piece = jogged("armhole", 0.5, 12)
    new = blend_piece(piece, {}).piece
    assert all(new.edge(name) is piece.edge(name) for name in "bcd")


@pytest.mark.parametrize("name", SHAPES)
def test_no_jog_gives_back_the_old_line(name: str) -> None:
    """A cut and a rejoining that moved nothing leave the very same cubics."""
    line = shapes()[name]
    (u,) = line.crossings((0, height_at(line, 0.4)), (1, 0))
    runs = (Run(line.part(0, u)), Run(line.part(u, len(line))))
    new = blend_piece(piece_with(runs, (Joint("n1", (1, 0)),)), {}).piece.edge("e")
    assert len(new.runs) == 1 and new.joints == () and len(new.chain) == len(line)
    assert np.abs(new.chain.cubics - line.cubics).max() < 1e-9


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
@pytest.mark.parametrize("lengthen", [False, True])
def test_a_hundredth_of_a_millimetre_moves_no_point_by_more_than_a_twentieth(
    name: str, share: float, lengthen: bool
) -> None:
    line = shapes()[name]
    new = blended_case(line, share, 0.01, lengthen).piece.edge("e").chain
    assert gap_between(line, new) <= 0.05


@pytest.mark.parametrize("name", SHAPES)
def test_an_even_share_of_a_growing_jog_moves_the_line_gradually(name: str) -> None:
    """Amounts 0.05 mm apart give lines no further apart than a few times that: a dial moves the line, never throws it."""
    line = shapes()[name]
    before = blended_case(line, 0.4, 8.0, False).piece.edge("e").chain
    after = blended_case(line, 0.4, 8.05, False).piece.edge("e").chain
    assert gap_between(before, after) <= 0.25


def test_every_case_of_the_fixed_set_keeps_the_bounds() -> None:
    broken = [case.name for case in cases() if case.blend.within_bounds is False]
    assert broken == []
    assert sum(case.blend.within_bounds is True for case in cases()) >= 70
    assert summary_lines()


def test_even_where_the_bounds_do_not_apply_no_case_of_the_set_bends_oddly() -> None:
    """Short runs and large jogs: still no new inflection, and no sharper than the bounds ask of roomier ones."""
    for case in cases():
        if case.blend.kind == "batten":
            assert case.blend.new_inflections == 0, case.name
            assert case.blend.max_curvature_ratio is not None and case.blend.max_curvature_ratio <= 1.4, case.name


def test_no_case_of_the_set_needs_more_than_a_segment_per_centimetre_and_four() -> None:
    for case in cases():
        assert case.segments <= case.length / 10 + 4, case.name


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("lengthen", [False, True])
def test_end_points_are_exact_and_end_tangents_kept(name: str, lengthen: bool) -> None:
    piece = jogged(name, 0.5, 12, lengthen)
    old, new = piece.edge("e"), blend_piece(piece, {}).piece.edge("e")
    assert (new.start, new.end) == (old.start, old.end)
    first, last = old.runs[0].chain, old.runs[-1].chain
    assert abs(math.degrees(angle_between(first.start_tangent, new.chain.start_tangent))) <= 0.5
    assert abs(math.degrees(angle_between(last.end_tangent, new.chain.end_tangent))) <= 0.5
    assert all(run.kind is RunKind.TRACED for run in new.runs)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize(
    "motion", [slide(311, -207), turn(37, (50, 20)), turn(180, (0, 0)), mirror((3, 4), (0.6, 0.8))], ids=["slid", "turned", "half turn", "mirrored"]
)
@pytest.mark.parametrize("lengthen", [False, True])
def test_moving_turning_and_mirroring_commute_with_blending(name: str, motion, lengthen: bool) -> None:
    piece = jogged(name, 0.4, 11, lengthen)
    there = turned_about(motion, blend_piece(piece, {}).piece)
    here = blend_piece(turned_about(motion, piece), {}).piece
    assert same(there.edge("e").chain.cubics, here.edge("e").chain.cubics, 1e-6)


def test_the_same_answer_to_the_byte() -> None:
    first = blend_piece(jogged("armhole", 0.5, 12), {}).piece.edge("e").chain.cubics
    again = blend_piece(jogged("armhole", 0.5, 12), {}).piece.edge("e").chain.cubics
    assert first.tobytes() == again.tobytes()


# Levels of the body -------------------------------------------------------------------------------------------------


def side_piece(lengthen: bool, kinds: tuple[LineKind, ...] = (LineKind.WAIST, LineKind.HIP)) -> tuple[Piece, dict[str, Point]]:
    """A side seam cut between waist and hip with both lines on it; the points where they met the old lines."""
    line = shapes()["hip curve"]
    runs, joints = cut(line, -90, 20, lengthen)
    levels, points = [], {}
    for kind, height in zip(kinds, (-30.0, -250.0), strict=True):
        run = runs[0] if height > -90 else runs[-1]
        level = height if height > -90 else height + (-20 if lengthen else 20)
        (u,) = run.chain.crossings((0, level), (1, 0))
        x, y = run.chain.point(u)
        points[kind.value] = (x, y)
        # Short of the edge on purpose: a level reaches the edge when it is run on.
        levels.append(Line(kind.value, kind.value, kind, straight((x + 8, y), (x + 300, y))))
    return piece_with(runs, joints, lines=tuple(levels)), points


@pytest.mark.parametrize("lengthen", [False, True])
def test_the_width_at_every_level_is_kept(lengthen: bool) -> None:
    piece, points = side_piece(lengthen)
    new = blend_piece(piece, {}).piece.edge("e").chain
    for x, y in points.values():
        crossed = [new.point(u)[0] for u in new.crossings((0, y), (1, 0))]
        assert min(abs(met - x) for met in crossed) < 1e-6


@pytest.mark.parametrize("lengthen", [False, True])
def test_a_blend_stops_at_the_next_level_on_either_side(lengthen: bool) -> None:
    piece, points = side_piece(lengthen)
    result = blend_piece(piece, {})
    old = joined([run.chain for run in piece.edge("e").runs])
    new = result.piece.edge("e").chain
    for share in np.linspace(0, 1, 60):
        point = old.point(old.at_length(float(share) * old.length))
        if point[1] > -30 or point[1] < points["hip line"][1]:
            assert new.nearest(point)[1] < 1e-6
    (blend,) = result.blends
    assert blend.run_mm[0] < 70 and blend.run_mm[1] < 180


def test_other_lines_on_the_piece_are_no_fixed_points() -> None:
    piece, _ = side_piece(False, (LineKind.OTHER, LineKind.PLACEMENT))
    (blend,) = blend_piece(piece, {}).blends
    assert blend.run_mm[0] > 80 and blend.run_mm[1] > 290


@pytest.mark.parametrize("lengthen", [False, True])
@pytest.mark.parametrize("offset", [0.0, 0.3, 4.0])
def test_a_level_at_the_cut_holds_its_point_and_the_rest_is_still_redrawn(lengthen: bool, offset: float) -> None:
    """The waist line is the line that was cut, or lies just below it: its point stays where the lower part took it."""
    line = shapes()["hip curve"]
    runs, joints = cut(line, -90, 15, lengthen)
    x, y = runs[-1].chain.point(runs[-1].chain.at_length(offset))
    level = Line("w", "Waist", LineKind.WAIST, straight((x, y), (x + 200, y)))
    result = blend_piece(piece_with(runs, joints, lines=(level,)), {})
    new = result.piece.edge("e").chain
    assert new.nearest((x, y))[1] < 1e-6
    assert inflections(new) <= inflections(line) + 1
    assert result.piece.lines[0].chain.start == pytest.approx((x, y), abs=1e-6)


def test_a_level_inside_a_removed_strip_changes_nothing() -> None:
    """Such a line lies nowhere on the old lines any more; where it is drawn it crosses the gap between them."""
    line = shapes()["hip curve"]
    runs, joints = cut(line, -90, 15, False)
    level = Line("w", "Waist", LineKind.WAIST, straight((60, -90), (200, -90)))
    (blend,) = blend_piece(piece_with(runs, joints, lines=(level,)), {}).blends
    assert blend.kind == "batten" and np.isfinite(blend.blended).all()


# Choices ------------------------------------------------------------------------------------------------------------


def offsets_outward(piece: Piece, chain: Chain) -> tuple[float, float]:
    """The least and the greatest distance of a line from the nearer old line of edge “e”, outwards positive."""
    found = []
    for share in np.linspace(0.02, 0.98, 150):
        u = chain.at_length(float(share) * chain.length)
        point = np.array(chain.point(u))
        best = (math.inf, 0.0)
        for run in piece.edge("e").runs:
            if run.kind is RunKind.FILLED:
                continue
            v, gap = run.chain.nearest((float(point[0]), float(point[1])))
            if v in (0.0, float(len(run.chain))):
                continue
            way, away = run.chain.tangent(v), point - np.array(run.chain.point(v))
            best = min(best, (gap, float(away[0] * way[1] - away[1] * way[0])))
        if best[0] < math.inf:
            found.append(best[1])
    return min(found), max(found)


@pytest.mark.parametrize("lengthen", [False, True])
def test_a_jog_is_filled_out_shared_or_trimmed_in(lengthen: bool) -> None:
    """Outwards is to the right of an anticlockwise outline: filled out nothing lies inside, trimmed in nothing outside."""
    piece = jogged("armhole", 0.5, 8, lengthen)
    areas = {}
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        result = blend_piece(piece, {"n1": BlendChoice(share)})
        areas[share] = result.piece.polygon.area
        low, high = offsets_outward(piece, result.piece.edge("e").chain)
        if share == 1.0:
            assert low > -0.1 and high > 0.3
        if share == 0.0:
            assert high < 0.1 and low < -0.3
        assert result.blends[0].share == share
    assert areas[0.0] < areas[0.25] < areas[0.5] < areas[0.75] < areas[1.0]


def test_a_blend_runs_no_further_than_chosen() -> None:
    piece = jogged("armhole", 0.5, 6)
    result = blend_piece(piece, {"n1": BlendChoice(before=40, after=55)})
    first, last = (run.chain for run in piece.edge("e").runs)
    new = result.piece.edge("e").chain
    for share in np.linspace(0, 1, 40):
        for line, length in ((first, (first.length - 40) * share), (last, 55 + (last.length - 55) * share)):
            assert new.nearest(line.point(line.at_length(float(length))))[1] < 1e-6
    assert result.blends[0].run_mm == pytest.approx((40, 55), abs=1e-6)
    assert new.nearest(first.end)[1] > 0.1


def two_jogs(first_note: str = "n1", second_note: str = "n2") -> Piece:
    line = shapes()["armhole"]
    runs, joints = cut(line, height_at(line, 0.3), 6, False, first_note)
    upper, lower = runs
    height = lower.chain.start[1] - 50
    lower_runs, lower_joints = cut(lower.chain, height, 8, False, second_note)
    return piece_with((upper, *lower_runs), (*joints, *lower_joints))


def test_jogs_between_the_same_fixed_points_are_redrawn_together() -> None:
    piece = two_jogs()
    result = blend_piece(piece, {})
    assert [blend.note for blend in result.blends] == ["n1", "n2"]
    assert result.blends[0].run_mm[1] == pytest.approx(result.blends[1].run_mm[0])
    new = result.piece.edge("e")
    assert len(new.runs) == 1 and inflections(new.chain) == 0
    assert all(blend.max_curvature_ratio is not None and blend.max_curvature_ratio < 1.4 for blend in result.blends)


def test_jogs_kept_apart_by_choice_leave_the_line_between_alone() -> None:
    piece = two_jogs()
    choice = BlendChoice(before=20, after=20)
    new = blend_piece(piece, {"n1": choice, "n2": choice}).piece.edge("e").chain
    middle = piece.edge("e").runs[1].chain
    assert new.nearest(middle.point(middle.at_length(middle.length / 2)))[1] < 1e-6


# Dart mouths, folds, marks ------------------------------------------------------------------------------------------


def darted() -> Piece:
    """A waist edge with a dart mouth, jogged by a wedge on each side of it."""
    top = chain([((0, 0), (30, -14), (60, -18), (90, -18))])
    mouth = straight((90, -18), (114, -18))
    rest = chain([((114, -18), (150, -18), (190, -10), (230, 6))])
    (u,), (v,) = top.crossings((45, 0), (0, 1)), rest.crossings((170, 0), (0, 1))
    runs = (
        Run(top.part(0, u).moved(slide(0, 1.5))),
        Run(top.part(u, 1)),
        Run(mouth, RunKind.MOUTH, "d1"),
        Run(rest.part(0, v)),
        Run(rest.part(v, 1).moved(slide(0, -1.2))),
    )
    joint = Joint("n1", (0.0, 1.0))
    base = piece_with(runs, (joint, None, None, joint))
    return replace(base, darts=(Dart("d1", "Waist dart", "e", (102, 90), (102, 70)),))


def test_a_dart_mouth_is_never_blended_across() -> None:
    piece = darted()
    result = blend_piece(piece, {})
    edge = result.piece.edge("e")
    assert [run.kind for run in edge.runs] == [RunKind.TRACED, RunKind.MOUTH, RunKind.TRACED]
    assert edge.runs[1] is piece.edge("e").runs[2] and edge.joints == (None, None)
    assert edge.runs[0].chain.end == edge.runs[1].chain.start
    assert edge.runs[1].chain.end == edge.runs[2].chain.start
    assert len(result.blends) == 2


def test_a_mouth_left_in_two_parts_is_straight_again_and_a_run_that_came_away_is_led_back() -> None:
    mouth = [straight((90, -18), (100, -18)), straight((100, -18), (114, -18))]
    top = chain([((0, 0), (30, -14), (60, -18), (90, -18))])
    rest = chain([((114, -18), (150, -18), (190, -10), (230, 6))]).moved(slide(0, 1.0))
    runs = (
        Run(top),
        Run(mouth[0], RunKind.MOUTH, "d1"),
        Run(mouth[1], RunKind.MOUTH, "d1"),
        Run(rest),
    )
    joint = Joint("n1", (0.0, 1.0))
    piece = replace(
        piece_with(runs, (None, joint, joint)), darts=(Dart("d1", "Waist dart", "e", (102, 90), (102, 70)),)
    )
    edge = blend_piece(piece, {}).piece.edge("e")
    assert [run.kind for run in edge.runs] == [RunKind.TRACED, RunKind.MOUTH, RunKind.TRACED]
    assert edge.runs[0] is piece.edge("e").runs[0]
    assert edge.runs[1].chain.length == pytest.approx(24)
    assert edge.runs[2].chain.start == (114, -18) and edge.runs[2].chain.end == rest.end


def test_a_fold_is_one_straight_line_again() -> None:
    line = straight((0, 400), (0, 0))
    runs, joints = cut(line, 150, 25, False)
    piece = piece_with(runs, joints, finish=Finish.FOLD)
    result = blend_piece(piece, {})
    edge = result.piece.edge("e")
    assert len(edge.runs) == 1 and edge.chain.is_straight and edge.chain.length == pytest.approx(375, abs=1e-9)
    assert result.blends == () and result.findings == ()


def test_a_fold_that_a_note_bent_is_straightened_and_it_is_said() -> None:
    """0.0005 degrees over 400 mm: as much as a piece may carry as a fold at all."""
    runs = (Run(straight((0, 400), (0.0015, 200))), Run(straight((0.0015, 200), (0.0, 0))))
    piece = piece_with(runs, (Joint("n1", (1, 0)),), finish=Finish.FOLD)
    result = blend_piece(piece, {})
    (finding,) = result.findings
    assert finding.code == "fold-straightened" and "0.0015 mm" in finding.says
    assert result.piece.edge("e").chain.is_straight


def test_notches_are_carried_square_to_the_new_line() -> None:
    piece = jogged("armhole", 0.5, 10)
    notches = tuple(
        Notch(f"k{i}", f"Notch {i}", Place("e", run, piece.edge("e").runs[run].chain.at_length(at)), count)
        for i, (run, at, count) in enumerate([(0, 30.0, 1), (0, 85.0, 2), (1, 4.0, 1), (1, 90.0, 1)])
    )
    piece = replace(piece, notches=notches)
    result = blend_piece(piece, {}).piece
    assert [(n.id, n.count) for n in result.notches] == [(n.id, n.count) for n in notches]
    for old, new in zip(notches, result.notches, strict=True):
        was, now = np.array(piece.point_at(old.place)), np.array(result.point_at(new.place))
        assert new.place.run == 0
        way = np.array(result.run_at(new.place).chain.tangent(new.place.u))
        assert abs(float((now - was) @ way)) < 1e-6
        assert np.linalg.norm(now - was) < 3


def test_a_guide_line_that_ended_on_the_old_edge_ends_on_the_new_one() -> None:
    piece = jogged("armhole", 0.5, 10)
    first = piece.edge("e").runs[0].chain
    x, y = first.point(first.at_length(first.length - 12))
    guide = Line("g", "Guide", LineKind.OTHER, straight((x, y), (x + 120, y + 9)))
    inside = Line("i", "Inside", LineKind.PLACEMENT, straight((x + 40, y), (x + 120, y)))
    result = blend_piece(replace(piece, lines=(guide, inside)), {}).piece
    new = result.lines[0].chain
    assert result.edge("e").chain.nearest(new.start)[1] < 1e-6 and math.dist(new.start, (x, y)) > 0.2
    assert new.end == guide.chain.end
    assert abs(angle_between(new.start_tangent, guide.chain.start_tangent)) < 1e-9
    assert result.lines[1] is inside


# What cannot be done ------------------------------------------------------------------------------------------------


def narrow_neck() -> Piece:
    """A strip with an edge that is cut across a deep bight: whichever way the edge is redrawn long, it meets its back."""
    left = chain([((0, 0), (0, -60), (0, -60), (0, -120))])
    right = chain([((26, -121), (26, -170), (26, -170), (26, -240))])
    edge = Edge("e", "Edge", EdgeKind.OTHER, (Run(left), Run(right)), (Joint("n1", (1.0, 0.0)),))
    base = piece_with((Run(straight((0, 0), (26, -240))),))
    back = joined([straight((26, -240), (60, -240)), straight((60, -240), (60, 40)), straight((60, 40), (0, 0))])
    wall = Edge("b", "Back", EdgeKind.OTHER, (Run(back.part(0, 1)),))
    side = Edge("c", "Side", EdgeKind.OTHER, (Run(back.part(1, 2)),))
    top = Edge("d", "Top", EdgeKind.OTHER, (Run(back.part(2, 3)),))
    return replace(base, edges=(edge, wall, side, top))


def test_a_blend_always_comes_back_as_a_piece() -> None:
    result = blend_piece(narrow_neck(), {})
    assert result.piece.polygon.is_valid and not result.piece.edge("e").disturbed


@pytest.mark.parametrize(("from_first", "left", "codes"), [(5, True, {"blend-shortened"}), (99, False, {"blend-crossing"})])
def test_a_crossing_outline_is_blended_shorter_or_bridged(
    monkeypatch: pytest.MonkeyPatch, from_first: int, left: bool, codes: set[str]
) -> None:
    """The outline check is made to refuse: only short runs pass, or none does; then the jog is bridged with a fault."""
    import geometry.blending as blending

    real = blending._put_together

    def refusing(piece: Piece, results):
        for result in results:
            if any(sum(blend.run_mm) > (60 if left else -1) for blend in result.blends):
                raise PatternError("The outline crosses itself.", piece.id, point=(1.0, 2.0))
        return real(piece, results)

    monkeypatch.setattr(blending, "_put_together", refusing)
    result = blend_piece(jogged("armhole", 0.5, 8), {})
    assert codes <= {finding.code for finding in result.findings}
    assert not result.piece.edge("e").disturbed and result.piece.polygon.is_valid
    if not left:
        assert result.findings[0].level == "fault" and result.findings[0].place == (1.0, 2.0)


def test_where_room_is_short_a_finding_tells_what_was_reached() -> None:
    result = blend_piece(jogged("armhole", 0.85, 25, True), {})
    (blend,) = result.blends
    assert blend.within_bounds is None
    (finding,) = result.findings
    assert finding.code == "blend-tight" and finding.note == "n1" and finding.piece == "p"
    assert f"{blend.jog_mm:.1f} mm" in finding.says and "times the greatest before" in finding.says


# The bounds over a wide family --------------------------------------------------------------------------------------


@st.composite
def edges(draw: st.DrawFn) -> Chain:
    """Armholes, necklines, hip curves, caps, shallow seams and hems of many proportions, either way round."""

    def f(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    kind = draw(st.sampled_from(["armhole", "underarm", "neckline", "hip", "s", "cap", "shallow", "hem"]))
    if kind == "armhole":
        d, w = f(160, 230), f(80, 130)
        line = chain([((0, 0), (-f(0, 25), -d * f(0.3, 0.5)), (f(-10, 20), -d * f(0.85, 1.0)), (w, -d))])
    elif kind == "underarm":
        radius, lean = f(42, 75), f(-8, 8)
        line = arc((0, 0), radius, 180 + lean, 180 + lean + f(70, 95))
        (x, y), (dx, dy), h = line.start, line.start_tangent, f(60, 120)
        line = joined([straight((x - h * dx, y - h * dy), (x, y)), line])
    elif kind == "neckline":
        w, d, k = f(60, 100), f(60, 130), f(0.47, 0.6)
        line = chain([((0, 0), (0, -d * k), (w * (1 - k), -d), (w, -d))])
    elif kind == "hip":
        high, w = f(180, 240), f(20, 50)
        line = chain([((0, 0), (w * f(0.4, 0.8), -high * 0.35), (w, -high * 0.65), (w, -high))])
    elif kind == "s":
        high, w, k = f(200, 350), f(30, 120), f(0.35, 0.6)
        line = chain([((0, 0), (0, -high * k), (w, -high * (1 - k)), (w, -high))])
    elif kind == "cap":
        w, h = f(130, 180), f(90, 150)
        line = chain([((0, 0), (-w * 0.45, -f(0, 10)), (-w * 0.5, -h * f(0.9, 1.0)), (-w, -h))])
    elif kind == "shallow":
        high, bulge, lean = f(250, 500), f(3, 15), f(-60, 60)
        line = chain([((0, 0), (lean / 3 + bulge, -high / 3), (lean * 2 / 3 + bulge, -high * 2 / 3), (lean, -high))])
    else:
        radius = f(400, 1500)
        line = arc((0, 0), radius, 270, 270 + math.degrees(f(200, 400) / radius))
    if draw(st.booleans()):
        line = line.moved(mirror((0, 0), (0, 1)))
    return line.backwards() if draw(st.booleans()) else line


def slanted_cut(line: Chain, share: float, lean_deg: float, amount: float, lengthen: bool) -> Piece | None:
    """The line cut at a share of its length, the cut leaning off square to it; None where the cut cannot be made."""
    u = line.at_length(share * line.length)
    point, way = line.point(u), line.tangent(u)
    cos, sin = math.cos(math.radians(lean_deg)), math.sin(math.radians(lean_deg))
    across = (cos * way[0] - sin * way[1], sin * way[0] + cos * way[1])
    along = (-across[1], across[0])
    joint = Joint("n1", along)
    shift = (across[0] * amount, across[1] * amount)
    try:
        if lengthen:
            first, last = line.part(0, u), line.part(u, len(line)).moved(slide(*shift))
            fill = Run(straight(first.end, last.start), RunKind.FILLED)
            return piece_with((Run(first), fill, Run(last)), (joint, joint))
        beyond = [v for v in line.crossings((point[0] + shift[0], point[1] + shift[1]), along) if v > u]
        again = [v for v in line.crossings(point, along) if v > u + 1e-6]
        if not beyond or (again and again[0] < beyond[0]):
            return None
        return piece_with(
            (Run(line.part(0, u)), Run(line.part(beyond[0], len(line)).moved(slide(-shift[0], -shift[1])))), (joint,)
        )
    except PatternError:
        return None


wide = {
    "line": edges(),
    "share": st.floats(0.12, 0.88),
    "lean": st.floats(-35, 35),
    "amount": st.floats(0.5, 25),
    "lengthen": st.booleans(),
}


def check_bounds(line: Chain, share: float, lean: float, amount: float, lengthen: bool) -> None:
    piece = slanted_cut(line, share, lean, amount, lengthen)
    assume(piece is not None)
    assert piece is not None
    traced = piece_with((Run(line),))
    result = blend_piece(piece, {}, traced=traced)
    assume(result.blends)
    assert all(blend.within_bounds is not False for blend in result.blends), [f.says for f in result.findings]
    assert result.piece.edge("e").start == piece.edge("e").start
    assert result.piece.edge("e").end == piece.edge("e").end


@settings(max_examples=150)
@given(**wide)
def test_wherever_the_bounds_apply_they_are_kept(
    line: Chain, share: float, lean: float, amount: float, lengthen: bool
) -> None:
    check_bounds(line, share, lean, amount, lengthen)


@pytest.mark.long
@settings(max_examples=4000)
@given(**wide)
def test_wherever_the_bounds_apply_they_are_kept_over_thousands(
    line: Chain, share: float, lean: float, amount: float, lengthen: bool
) -> None:
    check_bounds(line, share, lean, amount, lengthen)
