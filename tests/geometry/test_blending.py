"""Blending: the laws of a redrawn edge, hand-worked straight edges, and the fixed set of cases."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.blending import blend_piece
from geometry.fairness import angle_between
from geometry.jogs import jog_size
from geometry.lines import Chain, straight
from geometry.motions import Motion, mirror, slide, turn
from geometry.pieces import Joint, Run, RunKind
from geometry.sameness import same
from geometry.thinning import gap_between
from tests.blend_cases import (
    blended_case,
    cases,
    cut,
    height_at,
    jogged,
    piece_with,
    shapes,
    summary_lines,
    turned_about,
)

SHAPES = sorted(shapes())


def leaning(phi_deg: float, height: float = 400.0) -> Chain:
    """A straight edge ``height`` mm high, leaning off the grain, drawn downwards."""
    return straight((0, height), (height * math.tan(math.radians(phi_deg)), 0))


@pytest.mark.parametrize(("phi", "jog"), [(2, 0.887), (5, 2.222), (10, 4.479), (15, 6.806)])
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
    """Amounts 0.05 mm apart give lines no further apart than a few times that: a dial never throws the line."""
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
    "motion",
    [slide(311, -207), turn(37, (50, 20)), turn(180, (0, 0)), mirror((3, 4), (0.6, 0.8))],
    ids=["slid", "turned", "half turn", "mirrored"],
)
@pytest.mark.parametrize("lengthen", [False, True])
def test_moving_turning_and_mirroring_commute_with_blending(
    name: str, motion: Motion, lengthen: bool
) -> None:
    piece = jogged(name, 0.4, 11, lengthen)
    there = turned_about(motion, blend_piece(piece, {}).piece)
    here = blend_piece(turned_about(motion, piece), {}).piece
    assert same(there.edge("e").chain.cubics, here.edge("e").chain.cubics, 1e-6)


def test_the_same_answer_to_the_byte() -> None:
    first = blend_piece(jogged("armhole", 0.5, 12), {}).piece.edge("e").chain.cubics
    again = blend_piece(jogged("armhole", 0.5, 12), {}).piece.edge("e").chain.cubics
    assert first.tobytes() == again.tobytes()
