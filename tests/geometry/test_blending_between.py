"""Between which points a blend runs, and how the jog is shared: levels of the body, limits, several jogs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.blending import blend_piece
from geometry.fairness import angle_between, inflections
from geometry.lines import Chain, joined, straight
from geometry.motions import Point
from geometry.notes import BlendChoice
from geometry.pieces import (
    Line,
    LineKind,
    Piece,
    RunKind,
)
from tests.blend_cases import (
    cut,
    height_at,
    jogged,
    piece_with,
    shapes,
)


def side_piece(
    lengthen: bool, kinds: tuple[LineKind, ...] = (LineKind.WAIST, LineKind.HIP)
) -> tuple[Piece, dict[str, Point]]:
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
    """Outwards is to the right of an anticlockwise outline: filled out none lies inside, trimmed in none outside."""
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


def test_a_line_is_smooth_where_a_blend_ends_between_fixed_points() -> None:
    """Only at a fixed point may the end tangent give; where she lets the blend end there is no kink in the line."""
    for name in sorted(shapes()):
        for amount in (6, 25):
            piece = jogged(name, 0.5, amount, True)
            new = blend_piece(piece, {"n1": BlendChoice(before=30, after=30)}).piece.edge("e").chain
            kinks = [angle_between(new.tangent(u, before=True), new.tangent(u)) for u in range(1, len(new))]
            assert max(map(abs, kinks), default=0.0) < 1e-6, name
