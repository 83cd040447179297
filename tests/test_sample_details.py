"""The sample garments in detail: darts, facings, turn lines, allowances, and what goes wrong on purpose."""

from __future__ import annotations

import math

import pytest
import shapely

from geometry.allowances import cut_piece
from geometry.findings import Level
from geometry.lines import Chain, flatten
from geometry.motions import mirror
from geometry.pieces import Cloth, Finish, Layout, LineKind, Piece
from geometry.pipeline import draft
from geometry.sameness import same
from geometry.stages import BlendedPiece
from geometry.thinning import gap_between
from sample_pieces.draft import demo_notes, front_only_notes, traced_two_mm_off
from tests.sample_measures import FUNNEL, QUARTER_INCH, SAMPLES, SHIRT, WAISTCOAT, closed_side, edge_of

# --- darts, facings, turns -------------------------------------------------------------------------------------


def test_the_dart_has_even_legs_and_its_sewn_point_set_back() -> None:
    # Legs equal; the sewn point 12 to 40 mm from the bust point; pressed down: common practice, no source.
    # Mouth 2 L sin(angle / 2): Erwin, Practical Dress Design, rev. 1954, p. 31, worked by hand below.
    piece = WAISTCOAT.piece("front")
    dart = piece.darts[0]
    mouth = next(run.chain for run in piece.edge("front.side").runs if run.dart == dart.id)
    for point in (dart.bust_point, dart.sewn_point):
        assert math.dist(point, mouth.start) == pytest.approx(math.dist(point, mouth.end), abs=1e-6)
    assert math.dist(dart.bust_point, dart.sewn_point) == pytest.approx(25.0, abs=1e-6)
    assert mouth.length == pytest.approx(28.0, abs=1e-6)
    leg = math.dist(dart.bust_point, mouth.start)
    (px, py), (ax, ay), (bx, by) = dart.bust_point, mouth.start, mouth.end
    opened = math.atan2(by - py, bx - px) - math.atan2(ay - py, ax - px)
    assert 2 * leg * math.sin(opened / 2) == pytest.approx(28.0, abs=1e-6)
    assert dart.fold_to == "start" and mouth.start[1] < mouth.end[1]


def test_the_closed_dart_leaves_one_smooth_side_seam_as_long_as_the_backs() -> None:
    lower, _, upper = (run.chain for run in edge_of(WAISTCOAT, "front.side").runs)
    side = closed_side()
    u = float(len(lower))
    (ax, ay), (bx, by) = side.tangent(u, before=True), side.tangent(u)
    assert abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))) < 0.01
    assert lower.length + upper.length == pytest.approx(edge_of(WAISTCOAT, "back.side").length, abs=1e-6)


def test_facings_copy_what_they_face() -> None:
    copied = 0
    for piece in WAISTCOAT.pieces:
        for copy in piece.copies:
            assert same(piece.edge(copy.edge).chain, edge_of(WAISTCOAT, copy.of_edge).chain)
            copied += 1
    assert copied == 3


@pytest.mark.parametrize("piece_id", ["front", "back"])
def test_the_grown_on_facing_is_the_mirror_image_beyond_its_turn_line(piece_id: str) -> None:
    piece = FUNNEL.piece(piece_id)
    fold_line = piece.line(LineKind.TURN)
    assert fold_line is not None
    height = fold_line.chain.start[1]
    facing = piece.edge(f"{piece_id}.facing_side").chain
    turned_down = facing.moved(mirror((0.0, height), (1.0, 0.0))).backwards()
    shoulder = piece.edge(f"{piece_id}.shoulder").chain
    for x, y in turned_down.flat[0]:
        assert shoulder.nearest((float(x), float(y)))[1] < 1e-6
    assert math.dist(shoulder.end, fold_line.chain.end) < 1e-6
    assert piece.fold is not None and piece.fold.start[1] - height == pytest.approx(facing.length, abs=1e-6)


def test_the_neckband_is_turned_in_its_middle() -> None:
    band = SHIRT.piece("neckband")
    fold_line = band.line(LineKind.TURN)
    assert fold_line is not None
    over = band.edge("neckband.inner").chain.moved(mirror(fold_line.chain.start, (1.0, 0.0)))
    assert gap_between(over, band.edge("neckband.outer").chain) < 1e-6


# --- allowances, cutting, what goes wrong ----------------------------------------------------------------------


def test_allowances_are_those_of_the_trade() -> None:
    # Overlocked knits 1/4 in (6 mm), metric patterns 15 mm, a knit hem turned once for a twin needle 20 to 25 mm,
    # bound edges none: common practice, no source.
    for garment in (SHIRT, FUNNEL):
        assert garment.knit and garment.widths[Finish.SEAM] == pytest.approx(QUARTER_INCH, abs=0.5)
        assert 20.0 <= garment.widths[Finish.HEM_ONCE] <= 25.0
    assert WAISTCOAT.widths[Finish.SEAM] == 15.0 and not WAISTCOAT.knit
    assert WAISTCOAT.width(edge_of(WAISTCOAT, "front.armhole")) == 0.0
    assert all(g.width(e) == 0.0 for g in SAMPLES.values() for p in g.pieces for e in p.edges if e.on_fold)


@pytest.mark.parametrize("name", list(SAMPLES))
def test_every_cutting_line_can_be_drawn_and_lies_outside_the_stitching_line(name: str) -> None:
    for piece in SAMPLES[name].pieces:
        cut = cut_piece(SAMPLES[name], BlendedPiece(piece))
        assert cut.cutting is not None
        assert not [f for f in cut.findings if f.level is not Level.NOTICE]
        assert covers(cut.cutting, piece)


def covers(cutting: Chain, piece: Piece) -> bool:
    return bool(shapely.Polygon(flatten(cutting, 0.005)[0]).buffer(0.02).covers(piece.polygon))


def test_cloth_is_cut_on_the_fold_in_pairs_and_faced_with_interfacing() -> None:
    for garment in SAMPLES.values():
        for piece in garment.pieces:
            layouts = {one.layout for one in piece.cutting}
            assert layouts == ({Layout.ON_FOLD} if piece.on_fold else {Layout.PAIR})
            stiffened = piece.id.endswith("_facing") or piece.id == "waistband"
            assert any(c.cloth is Cloth.INTERFACING for c in piece.cutting) == stiffened


def test_the_demo_keeps_its_cap_ease_inside_the_limits() -> None:
    drafted = draft(SHIRT, demo_notes())
    before, after = (next(w for w in walks if w.seam == "sleeve_cap") for walks in (drafted.before, drafted.after))
    for walked in (before, after):
        # Knit 0 to 13 mm, and none under the arm: common practice, no source.
        assert 0.0 <= walked.difference_mm <= 13.0 and walked.verdict == "ease"
        assert [s.kind for s in walked.stretches] == ["even", "eased", "even"]
    assert all(step.done for step in drafted.followed.steps)
    for one in drafted.blended.pieces.values():
        for blend in one.blends:
            assert blend.within_bounds is not False and blend.new_inflections == 0
            assert blend.max_curvature_ratio is not None and blend.max_curvature_ratio <= 1.4
    assert not [w for w in drafted.after if w.verdict not in ("true", "ease")]
    # The fold loses 25 + 6 mm: subtraction.
    assert drafted.redrawn.piece("front").edge("front.fold").length == pytest.approx(515.0 - 31.0, abs=1e-6)


def test_the_traced_pair_is_2_mm_off_and_says_so() -> None:
    drafted = draft(traced_two_mm_off(), ())
    sides = next(w for w in drafted.after if w.seam == "sides")
    # Above 1/16 in, up to 1/8 in: warn (Threads no. 200, 2018, “10 patternwork skills”).
    assert sides.difference_mm == pytest.approx(2.0, abs=1e-6)
    assert sides.verdict == "warn" and sides.since == "traced"
    assert [f.code for f in drafted.findings] == ["seam-warn"]


def test_a_note_forgotten_on_the_back_is_a_fault_of_that_note() -> None:
    drafted = draft(SHIRT, front_only_notes())
    sides = next(w for w in drafted.after if w.seam == "sides")
    # 25 mm out of the front alone; the seam leans, so its own length falls by a little less.
    assert sides.difference_mm == pytest.approx(25.0, abs=0.5)
    assert sides.verdict == "fault" and sides.since == "note-1"
