"""The sample garments as drafted: size tables, the laws of truing, curves without a wobble, notches that meet.

Lengths are measured here on points, not by the chains' own length, so that the two check each other.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely

from geometry.allowances import cut_piece
from geometry.findings import Level
from geometry.garments import Garment
from geometry.lines import Chain, flatten, gap_between, joined
from geometry.motions import mirror, slide, turn
from geometry.pieces import Cloth, Edge, Finish, Layout, LineKind, Piece, RunKind, same
from geometry.pipeline import draft
from geometry.stages import BlendedPiece
from sample_pieces.draft import demo_notes, everything, front_only_notes, traced_two_mm_off

SAMPLES = {name: garment for name, (garment, _) in everything().items() if name != "front-only"}
SHIRT, WAISTCOAT, FUNNEL = SAMPLES["undershirt"], SAMPLES["waistcoat"], SAMPLES["funnel-neck"]
INCH = 25.4
QUARTER_INCH = INCH / 4
HALF_INCH = INCH / 2
#: Squared corners and corners that add to 180 degrees: common practice, no source, within 1 degree.
SQUARE_DEG = 1.0


def edge_of(garment: Garment, edge_id: str) -> Edge:
    return garment.piece(edge_id.split(".")[0]).edge(edge_id)


def sewn(garment: Garment, edge_id: str) -> float:
    """Sewn length of an edge, added up over points; dart mouths left out."""
    total = 0.0
    for run in edge_of(garment, edge_id).runs:
        if run.kind is not RunKind.MOUTH:
            steps = np.diff(flatten(run.chain, 1e-4)[0], axis=0)
            total += float(np.hypot(steps[:, 0], steps[:, 1]).sum())
    return total


def angle(garment: Garment, edge_id: str) -> float:
    """Inner angle in degrees at the corner where an edge starts, from points 0.01 mm either side of it."""
    piece = garment.piece(edge_id.split(".")[0])
    index = [edge.id for edge in piece.edges].index(edge_id)
    before, after = piece.edges[index - 1].chain, piece.edges[index].chain
    back = before.point(before.at_length(before.length - 0.01))
    on = after.point(after.at_length(0.01))
    corner = after.start
    to_back = math.atan2(back[1] - corner[1], back[0] - corner[0])
    to_on = math.atan2(on[1] - corner[1], on[0] - corner[0])
    return math.degrees((to_back - to_on) % (2 * math.pi))


def width_at(garment: Garment, line_id: str) -> float:
    piece = garment.piece(line_id.split(".")[0])
    chain = next(line.chain for line in piece.lines if line.id == line_id)
    return math.dist(chain.start, chain.end)


def bends(chain: Chain) -> list[float]:
    """Degrees turned left (+) or right (-) between changes of side; less than 0.5 degrees is not seen by an eye."""
    lengths = np.arange(0.25, chain.length, 0.5)
    turned = np.degrees(chain.curvature(chain.at_lengths(lengths)) * 0.5)
    found: list[float] = []
    for step in turned[np.abs(turned) > 1e-9]:
        if found and found[-1] * step > 0:
            found[-1] += float(step)
        else:
            found.append(float(step))
    return [bend for bend in found if abs(bend) > 0.5]


# --- sizes -----------------------------------------------------------------------------------------------------


def test_undershirt_fits_the_published_size_with_its_ease() -> None:
    # ASTM D5585-11e1, size 10: bust 37 1/4 in, waist 30 1/2 in. Ease 24 and 152 mm: chosen by us.
    assert "ASTM D5585-11e1" in SHIRT.size and "10" in SHIRT.size
    bust = 2 * (width_at(SHIRT, "front.bust") + width_at(SHIRT, "back.bust"))
    waist = 2 * (width_at(SHIRT, "front.waist") + width_at(SHIRT, "back.waist"))
    assert bust == pytest.approx(37.25 * INCH + 24.0, abs=1e-6)
    assert waist == pytest.approx(30.5 * INCH + 152.0, abs=1e-6)


def test_funnel_neck_fits_the_published_size_with_its_ease() -> None:
    # ASTM D5585-11e1, size 10. Ease 48 and 184 mm: chosen by us.
    bust = 2 * (width_at(FUNNEL, "front.bust") + width_at(FUNNEL, "back.bust"))
    waist = 2 * (width_at(FUNNEL, "front.waist") + width_at(FUNNEL, "back.waist"))
    assert bust == pytest.approx(37.25 * INCH + 48.0, abs=1e-6)
    assert waist == pytest.approx(30.5 * INCH + 184.0, abs=1e-6)


def test_waistcoat_fits_the_published_size_with_its_ease() -> None:
    # Published envelope table, misses 14: bust, waist, hip 36, 28, 38 in. Bust ease 3 1/2 in lies within the 3 to
    # 4 in of New Mexico State University Extension, Guide C-228; ease of 130 and 70 mm elsewhere: chosen by us.
    assert "14" in WAISTCOAT.size and "envelope" in WAISTCOAT.size
    dart = WAISTCOAT.piece("back").inner_darts[0]
    stand = 18.0
    waist = width_at(WAISTCOAT, "front.waist") - stand + width_at(WAISTCOAT, "back.waist")
    waist -= math.dist(*dart.widest)
    hip = width_at(WAISTCOAT, "front.hip") - stand + width_at(WAISTCOAT, "back.hip")
    bust = closed_side().point(closed_side().crossings((0.0, 385.0), (1.0, 0.0))[0])[0]
    assert 2 * (bust + width_at(WAISTCOAT, "back.bust")) == pytest.approx(36 * INCH + 3.5 * INCH, abs=1e-6)
    assert 2 * waist == pytest.approx(28 * INCH + 130.0, abs=1e-6)
    assert 2 * hip == pytest.approx(38 * INCH + 70.0, abs=1e-6)


def test_lengths_worked_by_hand() -> None:
    # A quarter of 994 mm; 610 - 95 - 0; the band is 0.86 of the neckline; a funnel seam of 160 mm; subtraction.
    assert sewn(SHIRT, "front.hem") == pytest.approx(248.5, abs=1e-6)
    assert sewn(SHIRT, "front.fold") == pytest.approx(515.0, abs=1e-6)
    assert sewn(SHIRT, "back.fold") == pytest.approx(586.0, abs=1e-6)
    neck = sewn(SHIRT, "front.neck") + sewn(SHIRT, "back.neck")
    assert sewn(SHIRT, "neckband.outer") / neck == pytest.approx(0.86, abs=1e-6)
    assert sewn(FUNNEL, "front.shoulder") == pytest.approx(160.0, abs=0.01)
    assert sewn(FUNNEL, "back.shoulder") == pytest.approx(160.0, abs=0.01)
    assert sewn(WAISTCOAT, "front.edge") == pytest.approx(425.0, abs=1e-6)


# --- truing ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", list(SAMPLES))
def test_corners_at_the_fold_are_square(name: str) -> None:
    corners = [
        edge.id
        for piece in SAMPLES[name].pieces
        for before, edge in zip(piece.edges[-1:] + piece.edges, piece.edges, strict=False)
        if edge.on_fold != before.on_fold
    ]
    for edge_id in corners:
        assert angle(SAMPLES[name], edge_id) == pytest.approx(90.0, abs=SQUARE_DEG), edge_id
    assert len(corners) == 2 * sum(piece.on_fold for piece in SAMPLES[name].pieces)


@pytest.mark.parametrize("edge_id", ["front.neck", "back.neck"])
def test_undershirt_neckline_is_square_for_a_short_run(edge_id: str) -> None:
    # Square for a short run at a fold, or the opened piece shows a point: common practice, no source.
    neck = edge_of(SHIRT, edge_id).chain
    near = neck.point(neck.at_length(neck.length - 5.0))
    assert near[1] == pytest.approx(neck.end[1], abs=1e-9)


#: Corners that lie side by side when the seam between them is sewn: each line runs on over the seam.
RUNNING_ON = [
    ("undershirt", "front.armhole", "back.armhole"),
    ("undershirt", "front.side", "back.side"),
    ("undershirt", "front.shoulder", "back.shoulder"),
    ("undershirt", "front.neck", "back.neck"),
    ("undershirt", "sleeve.back_underarm", "sleeve.hem"),
    ("undershirt", "sleeve.cap", "sleeve.front_underarm"),
    ("waistcoat", "front.armhole", "back.armhole"),
    ("waistcoat", "front.side", "back.side"),
    ("waistcoat", "front.shoulder", "back.shoulder"),
    ("waistcoat", "front.neck", "back.neck"),
    ("waistcoat", "back.hem", "back.hem"),
    ("waistcoat", "back.centre", "back.centre"),
    ("waistcoat", "front_facing.shoulder", "back_facing.shoulder"),
    ("waistcoat", "front_facing.neck", "back_facing.neck"),
    ("funnel-neck", "front.armhole", "back.armhole"),
    ("funnel-neck", "front.side", "back.side"),
    ("funnel-neck", "front.shoulder", "back.shoulder"),
    ("funnel-neck", "front.facing", "back.facing"),
    ("funnel-neck", "sleeve.back_underarm", "sleeve.hem"),
    ("funnel-neck", "sleeve.cap", "sleeve.front_underarm"),
    ("traced-pair", "front.side", "back.side"),
    ("traced-pair", "front.armhole", "back.armhole"),
]


@pytest.mark.parametrize(("name", "first", "second"), RUNNING_ON)
def test_joined_corners_add_to_180_degrees(name: str, first: str, second: str) -> None:
    # Conover, A Complete Course in Dressmaking, 1921-22, vol. 9 p. 22: one smooth line at both ends of a seam.
    assert angle(SAMPLES[name], first) + angle(SAMPLES[name], second) == pytest.approx(180.0, abs=SQUARE_DEG)


@pytest.mark.parametrize("name", ["undershirt", "waistcoat", "funnel-neck"])
@pytest.mark.parametrize("piece_id", ["front", "back"])
def test_armholes_meet_shoulders_and_sides_squarely(name: str, piece_id: str) -> None:
    # Common practice, no source.
    assert angle(SAMPLES[name], f"{piece_id}.shoulder") == pytest.approx(90.0, abs=SQUARE_DEG)
    assert angle(SAMPLES[name], f"{piece_id}.armhole") == pytest.approx(90.0, abs=SQUARE_DEG)


def test_the_v_neck_is_meant_to_point() -> None:
    corner = next(one for one in WAISTCOAT.piece("front").corners if one.id == "front.edge.corner")
    assert corner.kind == "meant to point"
    assert angle(WAISTCOAT, "front.edge") < 170.0
    pointing = {one.id for piece in WAISTCOAT.pieces for one in piece.corners if one.kind == "meant to point"}
    assert "front.shoulder.corner" not in pointing and "back.armhole.corner" not in pointing


@pytest.mark.parametrize("name", ["undershirt", "waistcoat", "funnel-neck"])
def test_every_seam_walks_as_drafted(name: str) -> None:
    garment = SAMPLES[name]
    drafted = draft(garment, ())
    for walked in drafted.before:
        first = sum(sewn(garment, ref.edge) for ref in walked.first)
        second = sum(sewn(garment, ref.edge) for ref in walked.second)
        assert walked.first_mm == pytest.approx(first, abs=0.01)
        assert walked.second_mm == pytest.approx(second, abs=0.01)
        assert walked.verdict in ("true", "ease"), walked.seam
    assert drafted.findings == ()


def test_only_caps_shoulders_and_bands_have_a_difference() -> None:
    # The band's is hand-worked: 0.14 of the neckline. A back shoulder may be 6 mm longer (Every Woman's
    # Encyclopaedia, vol. 4, c. 1911); a knit cap 0 to 13 mm (common practice, no source).
    different = {}
    for name in ("undershirt", "waistcoat", "funnel-neck"):
        for walked in draft(SAMPLES[name], ()).before:
            if abs(walked.difference_mm) > 0.01:
                different[name, walked.seam] = walked.difference_mm
    neck = sewn(SHIRT, "front.neck") + sewn(SHIRT, "back.neck")
    assert different == {
        ("undershirt", "neck"): pytest.approx(-0.14 * neck, abs=0.01),
        ("undershirt", "sleeve_cap"): pytest.approx(6.5, abs=0.01),
        ("waistcoat", "shoulders"): pytest.approx(4.0, abs=0.01),
        ("funnel-neck", "sleeve_cap"): pytest.approx(6.5, abs=0.01),
    }


# --- curves ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "edge_id"),
    [
        (name, f"{piece_id}.{what}")
        for name in ("undershirt", "waistcoat", "funnel-neck")
        for piece_id in ("front", "back")
        for what in ("armhole", *(() if name == "funnel-neck" else ("neck",)))
    ],
)
def test_armholes_and_necklines_bend_one_way(name: str, edge_id: str) -> None:
    assert len(bends(edge_of(SAMPLES[name], edge_id).chain)) == 1


@pytest.mark.parametrize("name", ["undershirt", "funnel-neck"])
def test_caps_are_hollow_full_hollow_and_level_at_the_top(name: str) -> None:
    cap = edge_of(SAMPLES[name], "sleeve.cap").chain
    assert [math.copysign(1, bend) for bend in bends(cap)] == [-1, 1, -1]
    top = next(n for n in SAMPLES[name].piece("sleeve").notches if n.id == "sleeve.cap.shoulder")
    dx, dy = cap.tangent(top.place.u)
    assert math.degrees(math.atan2(dy, -dx)) == pytest.approx(0.0, abs=0.01)
    assert cap.point(top.place.u)[1] == pytest.approx(float(cap.flat[0][:, 1].max()), abs=0.01)


@pytest.mark.parametrize("name", ["undershirt", "waistcoat", "funnel-neck"])
def test_side_seams_go_in_to_the_waist_and_out_again(name: str) -> None:
    # Before a dart is opened: out at the hip, in at the waist, out at the bust, and no more.
    side = closed_side() if name == "waistcoat" else edge_of(SAMPLES[name], "front.side").chain
    for chain in (side, edge_of(SAMPLES[name], "back.side").chain):
        assert [math.copysign(1, bend) for bend in bends(chain)] == [1, -1, 1]
    assert gap_between(aligned(side), aligned(edge_of(SAMPLES[name], "back.side").chain)) < 0.01


def aligned(chain: Chain) -> Chain:
    return chain.moved(slide(-chain.start[0], -chain.start[1]))


@pytest.mark.parametrize("name", ["undershirt", "waistcoat", "funnel-neck"])
def test_the_front_armhole_is_scooped_deeper_than_the_back(name: str) -> None:
    # Common practice, no source: across the chest is narrower than across the back.
    front, back = (float(edge_of(SAMPLES[name], f"{p}.armhole").chain.flat[0][:, 0].min()) for p in ("front", "back"))
    assert back - front >= 8.0


@pytest.mark.parametrize("name", list(SAMPLES))
def test_joins_inside_an_edge_are_smooth(name: str) -> None:
    for piece in SAMPLES[name].pieces:
        for edge in piece.edges:
            for run in edge.runs:
                for u in range(1, len(run.chain)):
                    (ax, ay), (bx, by) = run.chain.tangent(float(u), before=True), run.chain.tangent(float(u))
                    assert abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))) < 0.01, edge.id


# --- notches and lines -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["undershirt", "funnel-neck"])
def test_armhole_and_cap_notches_are_one_and_two_and_as_far_from_the_underarm(name: str) -> None:
    # One for the front, two for the back; even under the arm on both sides: common practice, no source.
    garment = SAMPLES[name]
    cap, sleeve = edge_of(garment, "sleeve.cap").chain, garment.piece("sleeve")
    for piece_id, count in (("front", 1), ("back", 2)):
        on_body = next(n for n in garment.piece(piece_id).notches if n.place.edge == f"{piece_id}.armhole")
        on_cap = next(n for n in sleeve.notches if n.id == f"sleeve.cap.{piece_id}")
        assert on_body.count == on_cap.count == count
        armhole = edge_of(garment, f"{piece_id}.armhole").chain
        part = cap.part(0.0, on_cap.place.u) if piece_id == "back" else cap.part(on_cap.place.u, float(len(cap)))
        assert armhole.part(0.0, on_body.place.u).length == pytest.approx(part.length, abs=0.01)


def test_notches_of_every_seam_stand_equally_far_and_well_apart() -> None:
    # Different notches at least 1/2 in apart: common practice, no source.
    for garment in SAMPLES.values():
        for walked in draft(garment, ()).before:
            if walked.seam in ("neck", "sleeve_cap"):
                continue
            places = sorted(notch.first_at for notch in walked.notches)
            assert all(b - a >= HALF_INCH for a, b in pairwise(places))
            for notch in walked.notches:
                assert notch.first_at == pytest.approx(notch.second_at, abs=0.01), notch.name


@pytest.mark.parametrize("name", ["undershirt", "waistcoat", "funnel-neck"])
def test_level_lines_are_square_to_the_centre_and_at_the_same_height(name: str) -> None:
    pieces = [SAMPLES[name].piece(one) for one in ("front", "back")]
    heights = {}
    for kind in (LineKind.WAIST, LineKind.LENGTHEN, LineKind.BUST):
        lines = [piece.line(kind) for piece in pieces]
        ys = {round(y, 6) for line in lines if line for y in (line.chain.start[1], line.chain.end[1])}
        assert len(ys) == 1 and None not in lines
        heights[kind] = ys.pop()
        for piece, line in zip(pieces, lines, strict=True):
            assert line is not None
            assert any(edge.chain.nearest(line.chain.end)[1] < 0.01 for edge in piece.edges)
    assert heights[LineKind.WAIST] + 25 < heights[LineKind.LENGTHEN] < heights[LineKind.BUST] - 25


@pytest.mark.parametrize("name", list(SAMPLES))
def test_grainlines_run_along_the_fold_and_knits_say_how_they_stretch(name: str) -> None:
    for piece in SAMPLES[name].pieces:
        grain = piece.line(LineKind.GRAIN)
        assert grain is not None and grain.chain.start[0] == grain.chain.end[0]
        stretch = piece.line(LineKind.STRETCH)
        assert (stretch is not None) == SAMPLES[name].knit
        if piece.fold is not None:
            assert piece.fold.start[0] == piece.fold.end[0]


# --- darts, facings, turns -------------------------------------------------------------------------------------


def closed_side() -> Chain:
    """The waistcoat front's side seam with its dart closed: what lies above it turned back about the bust point."""
    piece = WAISTCOAT.piece("front")
    lower, mouth, upper = (run.chain for run in piece.edge("front.side").runs)
    (px, py) = piece.darts[0].bust_point
    (ax, ay), (bx, by) = mouth.start, mouth.end
    opened = math.degrees(math.atan2(by - py, bx - px) - math.atan2(ay - py, ax - px))
    turned = upper.moved(turn(-opened, (px, py)))
    assert math.dist(turned.start, lower.end) < 1e-6
    return joined([lower, turned])


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
            assert (any(c.cloth is Cloth.INTERFACING for c in piece.cutting)) == piece.id.endswith("_facing")


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
