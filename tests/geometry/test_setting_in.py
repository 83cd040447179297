"""A traced cutting line set in: cutting a piece out and setting it in again gives back its stitching line."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.allowances import CutEdge, cut_lines, seam_line
from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment, Pressed, Seam
from geometry.lines import Chain, arc, straight
from geometry.pieces import CornerCut, Dart, Edge, EdgeKind, Finish, Notch, Piece, Place, Run, RunKind
from geometry.setting_in import run_on, set_in
from geometry.thinning import gap_between
from tests.canon import edge, front, leaning, piece, sleeve

#: What setting in may be off by (mm).
CLOSE = 0.01


def traced(garment: Garment, one: Piece) -> Piece:
    """The piece as it would be traced from its own cutting line, corner by corner, marks on the cut edge."""
    parts = cut_lines(garment, one, [seam_line(one, e) for e in one.edges])
    edges = tuple(_traced_edge(one, part) for part in parts)
    by_id = {e.id: e for e in edges}
    notches = tuple(_notch_on(one, notch, by_id[notch.place.edge], parts) for notch in one.notches)
    return replace(one, edges=edges, notches=notches, lines=(), marks=())


def _traced_edge(one: Piece, part: CutEdge) -> Edge:
    runs: list[Run] = []
    rest, darts = part.line, {dart.id: dart for dart in one.darts}
    for run in part.edge.runs:
        if run.kind is not RunKind.MOUTH:
            continue
        apex = darts[run.dart or ""].sewn_point
        near = _cross(rest, apex, run.chain.start)
        far = _cross(rest, apex, run.chain.end)
        runs += [Run(rest.part(0, near)), Run(straight(rest.point(near), rest.point(far)), RunKind.MOUTH, run.dart)]
        rest = rest.part(far, len(rest))
    runs.append(Run(rest))
    return replace(part.edge, runs=tuple(runs), joints=(None,) * (len(runs) - 1))


def _cross(line: Chain, apex: tuple[float, float], mouth: tuple[float, float]) -> float:
    found = line.crossings(apex, (mouth[0] - apex[0], mouth[1] - apex[1]))
    return min(found, key=lambda u: math.dist(line.point(u), mouth))


def _notch_on(one: Piece, notch: Notch, on: Edge, parts: tuple[CutEdge, ...]) -> Notch:
    run = one.run_at(notch.place).chain
    (x, y), (tx, ty) = run.point(notch.place.u), run.tangent(notch.place.u)
    width = next(part.width for part in parts if part.edge.id == on.id)
    cut = on.runs[notch.place.run].chain
    return replace(notch, place=replace(notch.place, u=cut.nearest((x + width * ty, y - width * tx))[0]))


def gap(one: Piece, other: Piece) -> float:
    """The greatest distance between matching edges, corners included."""
    return max(
        max(gap_between(a.chain, b.chain), math.dist(a.start, b.start))
        for a, b in zip(one.edges, other.edges, strict=True)
    )


def alone(one: Piece) -> Garment:
    return Garment("alone", "alone", (one,))


@pytest.mark.parametrize("cut", CornerCut)
@pytest.mark.parametrize("finish", [Finish.HEM_ONCE, Finish.HEM_TWICE, Finish.SEAM, Finish.BOUND])
@pytest.mark.parametrize("given_piece", [front(), front(with_dart=True), sleeve(), leaning(10.0), leaning(-8.0)])
def test_cut_out_and_set_in_again_is_the_same_stitching_line(
    cut: CornerCut, finish: Finish, given_piece: Piece
) -> None:
    # The first edge of each piece is its hem; every second corner is shaped as asked.
    edges = tuple(
        replace(e, finish=finish if i == 0 else e.finish, at_start=cut if i % 2 else e.at_start)
        for i, e in enumerate(given_piece.edges)
    )
    one = replace(given_piece, edges=edges)
    back, findings = set_in(alone(one), traced(alone(one), one))
    assert findings == () and gap(one, back) <= CLOSE
    for notch, was in zip(back.notches, one.notches, strict=True):
        assert math.dist(back.point_at(notch.place), one.point_at(was.place)) <= CLOSE


@given(
    st.floats(-20, 20),
    st.floats(5, 60),
    st.floats(3, 25),
    st.sampled_from([Finish.HEM_ONCE, Finish.HEM_TWICE, Finish.SEAM]),
)
def test_any_lean_depth_and_width_is_set_in_again(lean: float, depth: float, width: float, finish: Finish) -> None:
    panel = leaning(lean)
    widths = {"hem": depth, "side": width, "waist": 10.0, "fold": 0.0}
    one = replace(
        panel,
        edges=tuple(replace(e, width=widths[e.id], finish=finish if e.id == "hem" else e.finish) for e in panel.edges),
    )
    back, _ = set_in(alone(one), traced(alone(one), one))
    assert gap(one, back) <= CLOSE


@pytest.mark.parametrize("pressed", Pressed)
def test_corners_shaped_by_the_sewing_are_taken_back(pressed: Pressed) -> None:
    one = front()
    other = replace(one, id="back", corners=tuple(replace(c, id="b." + c.id) for c in one.corners))
    seams = tuple(
        Seam(f"s{i}", name, (EdgeRef("front", name),), (EdgeRef("back", name),), pressed=pressed, sewn=i)
        for i, name in enumerate(("shoulder", "side", "armhole", "neck"))
    )
    garment = Garment("sewn", "sewn", (one, other), seams)
    shaped = traced(garment, one)
    assert gap(shaped, traced(alone(one), one)) > 1.0, "the sewing shapes the corners"
    assert gap(one, set_in(garment, shaped)[0]) <= CLOSE


def test_a_mirrored_hem_is_set_in_with_the_hem_opened_out() -> None:
    # Calculation: traced as drawn on paper: side 15 mm out, hem 40 mm deep, its end reflected about the turn.
    tangent = math.tan(math.radians(10))
    out = 15 / math.cos(math.radians(10))
    wide = 150 + 400 * tangent + out
    cutting = piece(
        "panel",
        edge("hem", EdgeKind.HEM, straight((0, -40), (wide - 40 * tangent, -40)), finish=Finish.HEM_ONCE, width=40.0),
        Edge(
            "side",
            "side",
            EdgeKind.SIDE,
            (Run(_bent([(wide - 40 * tangent, -40), (wide, 0), (150 + out - 15 * tangent, 415)])),),
        ),
        edge("waist", EdgeKind.WAIST, straight((150 + out - 15 * tangent, 415), (0, 415))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 415), (0, -40)), finish=Finish.FOLD),
    )
    back, _ = set_in(alone(cutting), cutting)
    assert [tuple(e.start) for e in back.edges] == [
        pytest.approx(p, abs=1e-9) for p in ((0, 0), (150 + 400 * tangent, 0), (150, 400), (0, 400))
    ]
    # The same paper with the corner marked at the turn instead of at the raw edge.
    turned = replace(
        cutting,
        edges=(
            replace(cutting.edges[0], runs=(Run(_bent([(0, -40), (wide - 40 * tangent, -40), (wide, 0)])),)),
            replace(cutting.edges[1], runs=(Run(straight((wide, 0), cutting.edges[1].end)),)),
            *cutting.edges[2:],
        ),
    )
    assert gap(set_in(alone(turned), turned)[0], back) <= 1e-6


def _bent(points: list[tuple[float, float]]) -> Chain:
    from geometry.lines import polyline

    return polyline(points)


def test_a_point_cut_square_at_the_limit_is_set_in_to_its_point() -> None:
    angle = math.radians(15)
    tip = (300 * math.cos(angle), 300 * math.sin(angle))
    names = zip("abc", ((0.0, 0.0), (300.0, 0.0), tip), ((300.0, 0.0), tip, (0.0, 0.0)), strict=True)
    one = piece("spike", *(edge(n, EdgeKind.OTHER, straight(p, q), width=10.0) for n, p, q in names))
    assert gap(one, set_in(alone(one), traced(alone(one), one))[0]) <= 1e-6


def test_a_step_between_two_widths_is_taken_back() -> None:
    points = [(0.0, 0.0), (100.0, -4.0), (200.0, 0.0), (200.0, 120.0), (0.0, 120.0)]
    for widths in ((40.0, 10.0), (10.0, 40.0)):
        one = piece(
            "stepped",
            *(
                edge(n, EdgeKind.OTHER, straight(p, q), width=w)
                for n, p, q, w in zip(
                    "abcde", points, points[1:] + points[:1], (*widths, 15.0, 15.0, 15.0), strict=True
                )
            ),
        )
        assert gap(one, set_in(alone(one), traced(alone(one), one))[0]) <= 1e-6


def test_a_curved_hem_and_a_curved_side_are_set_in_again() -> None:
    low, high = (700 * math.sin(0.4), 700 - 700 * math.cos(0.4)), (140 * math.sin(0.4), 700 - 140 * math.cos(0.4))
    one = piece(
        "flared",
        edge("hem", EdgeKind.HEM, arc((0, 700), 700, -90, -90 + math.degrees(0.4)), finish=Finish.HEM_ONCE, width=30.0),
        edge("side", EdgeKind.SIDE, straight(low, high)),
        edge("waist", EdgeKind.WAIST, arc((0, 700), 140, -90 + math.degrees(0.4), -90), width=10.0),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 560), (0, 0)), finish=Finish.FOLD),
    )
    assert gap(one, set_in(alone(one), traced(alone(one), one))[0]) <= CLOSE


def test_dart_mouths_slide_in_along_their_legs_and_ids_are_kept() -> None:
    one = front(with_dart=True)
    cutting = traced(alone(one), one)
    back, _ = set_in(alone(one), cutting)
    mouth, was = (next(r for r in p.edge("side").runs if r.kind is RunKind.MOUTH).chain for p in (back, one))
    assert math.dist(mouth.start, was.start) <= CLOSE and math.dist(mouth.end, was.end) <= CLOSE
    assert [e.id for e in back.edges] == [e.id for e in one.edges]
    assert [c.id for c in back.corners] == [c.id for c in one.corners]
    assert isinstance(back.darts[0], Dart) and back.darts[0] == one.darts[0]


def test_a_notch_beyond_the_stitching_line_is_left_out_with_a_finding() -> None:
    panel = leaning(10.0).with_edge(replace(leaning(10.0).edge("hem"), width=40.0))
    cutting = traced(alone(panel), replace(panel, lines=()))
    cutting = replace(
        cutting, notches=(Notch("n", "hem nick", Place("side", 0, 0.3)), Notch("m", "hip", Place("side", 0, 1.5)))
    )
    back, findings = set_in(alone(panel), cutting)
    assert [n.id for n in back.notches] == ["m"]
    assert [f.code for f in findings] == ["notch-off-the-seam"] and "hem nick" in findings[0].says


def test_allowances_wider_than_the_piece_are_refused() -> None:
    small = piece(
        "small",
        edge("a", EdgeKind.OTHER, straight((0, 0), (25, 0))),
        edge("b", EdgeKind.OTHER, straight((25, 0), (25, 25))),
        edge("c", EdgeKind.OTHER, straight((25, 25), (0, 25))),
        edge("d", EdgeKind.OTHER, straight((0, 25), (0, 0))),
    )
    with pytest.raises(PatternError, match="are the allowances right"):
        set_in(alone(small), small)


def test_a_trimmed_curve_is_run_on_with_its_own_bend() -> None:
    # Calculation: an arc run on by its bend stays on its circle.
    longer = run_on(arc((0, 0), 80, 0, 60), 20.0)
    assert longer.length == pytest.approx(80 * math.pi / 3 + 20, abs=0.01)
    assert np.abs(np.hypot(*longer.flat[0].T) - 80).max() < 0.01
    ruled = straight((0, 0), (50, 0))
    assert run_on(ruled, 20.0) is ruled
