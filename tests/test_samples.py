"""The sample garments as drafted: size tables, the laws of truing, curves without a wobble, notches that meet."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

import sample_pieces
from app.files.garment_file import open_file
from app.report import report
from geometry.lines import chain, straight
from geometry.pieces import LineKind
from geometry.pipeline import draft
from geometry.thinning import gap_between
from tests.sample_measures import (
    FUNNEL,
    HALF_INCH,
    INCH,
    SAMPLES,
    SHIRT,
    SQUARE_DEG,
    WAISTCOAT,
    aligned,
    angle,
    bends,
    closed_side,
    edge_of,
    sewn,
    width_at,
)

# --- the measures themselves -----------------------------------------------------------------------------------


def test_a_wobble_would_be_seen() -> None:
    # An S turns 90 degrees one way and 90 the other; a ruler turns not at all.
    wave = chain([((0, 0), (0, 55), (100, -55), (100, 0))])
    assert [math.copysign(1, bend) for bend in bends(wave)] == [-1, 1]
    assert bends(straight((0, 0), (100, 0))) == []
    assert angle(WAISTCOAT, "front.edge") == pytest.approx(156.4, abs=0.1)


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
    for line in (side, edge_of(SAMPLES[name], "back.side").chain):
        assert [math.copysign(1, bend) for bend in bends(line)] == [1, -1, 1]
    assert gap_between(aligned(side), aligned(edge_of(SAMPLES[name], "back.side").chain)) < 0.01


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


@pytest.mark.parametrize("amount", [60.0, 70.0, 80.0])
def test_a_length_note_that_leaves_little_of_the_side_seam_is_drawn_fair(amount: float) -> None:
    """Shortened so far that 15 to 35 mm are left to the next level: bent hard, but without a new inflection or a loop.

    The limit is what the first method of blending reached there (2.81 times the greatest curvature at 80 mm), with 5 %.
    """
    document, _ = open_file(sample_pieces.path("undershirt.garment.json"))
    note = replace(document.notes[0], amounts=replace(document.notes[0].amounts, amount=amount))
    drafted = draft(document.garment, (note,))
    seams = [one for one in report(drafted)["blends"] if one["edge"] == "front.side"]
    assert seams and all(one["new_inflections"] == 0 for one in seams)
    assert max(one["max_curvature_ratio"] for one in seams) < 2.81 * 1.05
    assert not any(finding.level == "warn" for finding in drafted.findings)
