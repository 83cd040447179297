"""Dart mouths, folds, notches and lines under blending, and what cannot be blended."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from geometry import blending
from geometry.blending import blend_piece
from geometry.errors import PatternError
from geometry.fairness import angle_between, inflections
from geometry.lines import arc, chain, joined, straight
from geometry.motions import mirror, slide, turn
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
)
from geometry.stages import BlendedPiece
from tests.blend_cases import (
    cut,
    jogged,
    piece_with,
)


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


def narrow_neck() -> Piece:
    """A narrow piece whose edge is cut in two and laid together 26 mm aside: hardly room to lead one to the other."""
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


@pytest.mark.parametrize(("some_pass", "code"), [(True, "blend-shortened"), (False, "blend-crossing")])
def test_a_crossing_outline_is_blended_shorter_or_bridged(
    monkeypatch: pytest.MonkeyPatch, some_pass: bool, code: str
) -> None:
    """The outline check is made to refuse: only short runs pass, or none does; then the jog is bridged with a fault."""
    real = blending._put_together

    def refusing(piece: Piece, results: Sequence[blending._EdgeBlend]) -> BlendedPiece:
        for result in results:
            if any(sum(blend.run_mm) > (60 if some_pass else -1) for blend in result.blends):
                raise PatternError("The outline crosses itself.", piece.id, point=(1.0, 2.0))
        return real(piece, results)

    monkeypatch.setattr(blending, "_put_together", refusing)
    result = blend_piece(jogged("armhole", 0.5, 8), {})
    assert code in {finding.code for finding in result.findings}
    assert not result.piece.edge("e").disturbed and result.piece.polygon.is_valid
    if not some_pass:
        assert result.findings[0].level == "fault" and result.findings[0].place == (1.0, 2.0)


def test_where_room_is_short_a_finding_tells_what_was_reached() -> None:
    result = blend_piece(jogged("armhole", 0.85, 25, True), {})
    (blend,) = result.blends
    assert blend.within_bounds is None
    (finding,) = result.findings
    assert finding.code == "blend-tight" and finding.note == "n1" and finding.piece == "p"
    assert f"{blend.jog_mm:.1f} mm" in finding.says and "times the greatest before" in finding.says


def neckline(kind: RunKind, *, from_centre: bool = False, hollow: bool = True) -> Piece:
    """A neckline with a flat end of 30 mm, turned by 3 degrees about its end and run on level to the centre.

    It dips below the level where it is ``hollow``; else, with the paper above it, it is a hem that dips as far.
    """
    bend = arc((0.0, 35.0), 35.0, 330.0, 270.0)
    first = joined([bend, straight(bend.end, (-30.0, 0.0))]).moved(turn(-3.0, (-30.0, 0.0)))
    lines = [first, straight((-30.0, 0.0), (-36.0, 0.0))]
    if not hollow:
        lines = [line.moved(mirror((0.0, 0.0), (0.0, 1.0))) for line in lines]
    elif from_centre:
        lines = [line.moved(mirror((0.0, 0.0), (0.0, 1.0))).backwards() for line in reversed(lines)]
    kinds = (kind, RunKind.TRACED) if from_centre else (RunKind.TRACED, kind)
    runs = tuple(Run(line, kind) for line, kind in zip(lines, kinds, strict=True))
    return piece_with(runs, (Joint("n1", (0.0, 1.0)),))


def lowest(piece: Piece) -> float:
    return float(
        min(piece.edge("e").runs[0].chain.flat[0][:, 1].min(), piece.edge("e").runs[-1].chain.flat[0][:, 1].min())
    )


def test_a_wedge_against_the_bend_that_no_line_within_the_bounds_can_follow_is_said() -> None:
    result = blend_piece(neckline(RunKind.TRACED), {})
    (blend,), (finding,) = result.blends, result.findings
    assert blend.within_bounds is False and blend.new_inflections == 1
    assert finding.code == "blend-tight" and finding.level == "warn" and "one new inflection" in finding.says


@pytest.mark.parametrize("from_centre", [False, True])
def test_a_line_ruled_on_to_a_corner_is_ruled_across_the_hollow_beside_it(from_centre: bool) -> None:
    # The flat end, turned by 3 degrees, is 30 sin 3 = 1.570 mm lower at the arc, which sinks on for its first 3 degrees
    # by 35 (1 - cos 3) = 0.048 mm; worked by hand.
    piece = neckline(RunKind.FILLED, from_centre=from_centre)
    assert lowest(piece) == pytest.approx(-1.618, abs=5e-3)
    result = blend_piece(piece, {})
    new, (blend,) = result.piece.edge("e").chain, result.blends
    assert blend.within_bounds and blend.kink_deg > 3.0 and not inflections(new)
    # The hollow is filled, the centre met square and at its height.
    assert lowest(result.piece) > -blend.off_line_mm - 1e-6
    end, way = (new.start, new.start_tangent) if from_centre else (new.end, new.end_tangent)
    assert end == pytest.approx((36.0, 0.0) if from_centre else (-36.0, 0.0), abs=1e-9)
    assert abs(way[1]) < 1e-6


def test_what_stands_out_beside_a_line_ruled_on_to_a_corner_is_not_cut_off() -> None:
    piece = neckline(RunKind.FILLED, hollow=False)
    assert lowest(blend_piece(piece, {}).piece) == pytest.approx(lowest(piece), abs=0.1)
