"""Values of the trade for neckline, shoulder and armhole, through the functions a user reaches."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

import sample_pieces
from app.files.garment_file import open_file
from geometry.alterations.neckline_gapes import INTO_DART
from geometry.darts import opening_deg
from geometry.following import take_step
from geometry.garments import EdgeRef, Garment, Seam, Stretch, StretchKind
from geometry.lines import arc, chain, straight
from geometry.motions import slide
from geometry.notes import Address, Note, Target
from geometry.pieces import Dart, EdgeKind, Finish, LineKind, Piece, Run, RunKind
from geometry.pipeline import draft
from geometry.sameness import same
from tests.canon import bodice, edge, front, level, neck_facing
from tests.canon import piece as canon_piece
from tests.geometry.test_trade_values import note, redrawn


@pytest.mark.parametrize(("way", "up"), [("square shoulder", 10.0), ("sloping shoulder", -10.0)])
def test_a_square_or_sloping_shoulder_keeps_the_shape_of_the_armhole(way: str, up: float) -> None:
    # Shoulder tip and underarm move by the same amount, the armhole keeps its shape: common practice, no source.
    given = front()
    piece, drafted = redrawn(given, note("square_or_sloping_shoulder", Target("front"), way=way, amount=10.0))
    armhole = piece.edge("armhole")
    assert same(armhole.chain, given.edge("armhole").chain.moved(slide(0.0, up)), 1e-9)
    assert piece.edge("shoulder").end == given.edge("shoulder").end
    # The shoulder is 95 mm across and 30 mm high: 40 or 20 mm high after it, by Pythagoras.
    assert piece.edge("shoulder").chain.is_straight
    assert piece.edge("shoulder").length == pytest.approx(math.hypot(95, 30 - up), abs=1e-9)
    assert f"from 99.6 mm to {103.1 if up < 0 else 97.1:g} mm" in drafted.followed.steps[0].readings[0]
    assert same(piece.edge("neck"), given.edge("neck"), 0.0)
    # The side seam runs to nothing: its lower part is the old line.
    side, old = piece.edge("side").chain, given.edge("side").chain
    assert old.nearest(side.point(side.at_length(100.0)))[1] < 0.01


def test_a_lowered_neckline_keeps_its_shape_and_stays_square_to_the_centre() -> None:
    # A quarter circle of 70 mm, 30 mm lower at the centre, is a quarter of an ellipse 70 mm by 100 mm: geometry.
    given = front().with_edge(edge("neck", EdgeKind.NECKLINE, arc((0, 590), 70, 0, -90)))
    given = replace(given, notches=())
    piece, drafted = redrawn(given, note("raise_or_lower_neckline", Target("front"), way="lower", amount=30.0))
    neck = piece.edge("neck").chain
    for x, y in neck.flat[0].tolist():
        assert math.hypot(x / 70, (y - 590) / 100) == pytest.approx(1.0, abs=1e-5)
    assert neck.end == pytest.approx((0.0, 490.0), abs=1e-9)
    assert neck.end_tangent == pytest.approx((-1.0, 0.0), abs=1e-9)
    assert "in all from 219.9 mm to" in drafted.followed.steps[0].readings[0]


def test_a_widened_neckline_shortens_both_shoulders_by_the_same_and_leaves_the_centre() -> None:
    # Follows from the geometry; common practice, no source.
    targets = (Target("front"), Target("back"))
    drafted = draft(bodice(), (note("widen_or_narrow_neckline", *targets, way="widen", amount=10.0),))
    for name in ("front", "back"):
        old, new = bodice().piece(name), drafted.redrawn.piece(name)
        assert new.edge("shoulder").length == pytest.approx(old.edge("shoulder").length - 10, abs=1e-9)
        assert new.edge("neck").end == old.edge("neck").end
        assert new.edge("neck").chain.end_tangent == pytest.approx(old.edge("neck").chain.end_tangent, abs=1e-9)
        assert new.edge("neck").chain.start_tangent == pytest.approx(old.edge("neck").chain.start_tangent, abs=1e-9)
    assert "20 mm in all" in drafted.followed.steps[0].readings[0]


def test_a_facing_keeps_its_width_when_its_neckline_is_lowered() -> None:
    # What is joined there changes with it (The Dressmaker, c. 1911-16); its width kept: common practice, no source.
    piece, _ = redrawn(neck_facing(), note("raise_or_lower_neckline", Target("facing"), way="lower", amount=15.0))
    assert piece.edge("fold").length == pytest.approx(60.0, abs=1e-9)
    assert piece.edge("fold").start == pytest.approx((0.0, 505.0), abs=1e-9)
    assert widths_of(piece) == pytest.approx(widths_of(neck_facing()), abs=3.0)


def widths_of(facing: Piece) -> tuple[float, float]:
    """The least and the greatest width of a facing, from its inner edge to its neckline."""
    neck = facing.edge("neck").chain
    widths = [neck.nearest((x, y))[1] for x, y in facing.edge("inner").chain.flat[0].tolist()]
    return min(widths), max(widths)


def banded() -> Garment:
    """A front whose neckline is sewn to half a band, stretched on at 0.86."""
    body = front()
    half = 0.86 * body.edge("neck").length
    band = canon_piece(
        "band",
        edge("outer", EdgeKind.BAND, straight((0, 0), (half, 0))),
        edge("end", EdgeKind.CENTRE_BACK, straight((half, 0), (half, 40))),
        edge("inner", EdgeKind.BAND, straight((half, 40), (0, 40))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 40), (0, 0)), finish=Finish.FOLD),
    )
    on = Stretch(StretchKind.STRETCHED, ratio=0.86)
    seam = Seam("neck", "neck", (EdgeRef("front", "neck", True),), (EdgeRef("band", "outer"),), (on,))
    return Garment("banded", "banded", (body, band), (seam,))


@pytest.mark.parametrize("way", ["raise", "lower"])
def test_a_band_is_recut_by_the_share_at_which_it_is_stretched_on(way: str) -> None:
    # 0.86 of what the half neckline gains or loses: multiplication.
    garment = banded()
    changed = note("raise_or_lower_neckline", Target("front"), way=way, amount=12.0)
    drafted = draft(garment, (changed,))
    (offer,) = drafted.followed.steps[0].offers
    recut = Note("note2", offer.alteration, offer.amounts, offer.targets)
    after = draft(garment, (changed, recut)).redrawn
    gained = after.piece("front").edge("neck").length - garment.piece("front").edge("neck").length
    band, old = after.piece("band"), garment.piece("band")
    assert band.edge("outer").length - old.edge("outer").length == pytest.approx(0.86 * gained, abs=0.05)
    assert band.edge("inner").length == pytest.approx(band.edge("outer").length, abs=1e-9)
    assert band.edge("fold").length == 40


def square_necked() -> Piece:
    """A front with a level neckline 560 mm above the hem and a straight side."""
    return canon_piece(
        "front",
        edge("hem", EdgeKind.HEM, straight((0, 0), (240, 0)), finish=Finish.HEM_ONCE),
        edge("side", EdgeKind.SIDE, straight((240, 0), (240, 390))),
        edge("armhole", EdgeKind.ARMHOLE, chain([((240, 390), (190, 392), (175, 450), (180, 600))])),
        edge("shoulder", EdgeKind.SHOULDER, straight((180, 600), (120, 560))),
        edge("neck", EdgeKind.NECKLINE, straight((120, 560), (0, 560))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 560), (0, 0)), finish=Finish.FOLD),
        lines=(level("bust", LineKind.BUST, (0, 380), (240, 380)),),
    )


def test_a_neckline_pinched_to_the_hem_narrows_the_bust_by_similar_triangles() -> None:
    # Threads, 2019-03-22: half the excess on a half front, hinged at the hem. 6 x 380 / 560 = 4.07 mm, by hand.
    pinch = note("neckline_gapes", Target("front"), amount=6.0, into="to nothing at the hem", at=0.5)
    given = square_necked()
    piece, drafted = redrawn(given, pinch)
    before_blending = drafted.followed.garment.piece("front")
    assert run_length(before_blending, "neck") == pytest.approx(120 - 6, abs=1e-9)
    side = piece.edge("side").chain
    assert 240 - side.point(side.crossings((0, 380), (1, 0))[0])[0] == pytest.approx(4.1, abs=0.05)
    reading = drafted.followed.steps[0].readings[0]
    assert "takes 6 mm out" in reading and "12 mm in all" in reading and "narrows the bust line by 4.1 mm" in reading
    assert piece.edge("armhole").length == pytest.approx(given.edge("armhole").length, abs=1e-9)


def test_a_neckline_pinched_to_mid_armhole_keeps_the_armholes_length() -> None:
    # Threads, 2019-03-22: hinged on the armhole; before blending the neckline is shorter by exactly the total.
    given = front()
    piece, drafted = redrawn(given, note("neckline_gapes", Target("front"), amount=7.0))
    moved = drafted.followed.garment.piece("front")
    assert run_length(moved, "neck") == pytest.approx(given.edge("neck").length - 7.0, abs=1e-9)
    assert moved.edge("armhole").length == pytest.approx(given.edge("armhole").length, abs=1e-9)
    assert piece.edge("armhole").length == pytest.approx(given.edge("armhole").length, abs=0.3)
    assert piece.edge("neck").length == pytest.approx(given.edge("neck").length - 7.0, abs=1.5)
    assert same(piece.edge("fold"), given.edge("fold"), 0.0) and same(piece.edge("hem"), given.edge("hem"), 0.0)
    assert same(piece.line(LineKind.GRAIN), given.line(LineKind.GRAIN), 1e-9)


def dart_at(piece: Piece, bust: tuple[float, float]) -> Piece:
    """The square-necked front with a dart in its side, its mouth 10 mm wide in the level of the bust point."""
    (x, y), side = bust, piece.edge("side").chain.start[0]
    runs = (
        Run(straight((side, 0), (side, y - 5))),
        Run(straight((side, y - 5), (side, y + 5)), RunKind.MOUTH, "dart"),
        Run(straight((side, y + 5), (side, 390))),
    )
    edges = tuple(replace(e, runs=runs, joints=(None, None)) if e.id == "side" else e for e in piece.edges)
    return replace(piece, edges=edges, darts=(Dart("dart", "bust dart", "side", bust, (x + 20, y)),))


def test_a_neckline_pinched_into_the_bust_dart_opens_it_by_the_same_angle() -> None:
    # 2 asin(12 / 360) = 3.820 degrees for 12 mm pinched 180 mm above the bust point; at 90 mm from it that is 6.000 mm,
    # at the side, 180 mm away, 12.0 more than the 10 mm of its mouth: geometry, worked by hand.
    given = dart_at(square_necked(), (60.0, 380.0))
    piece, drafted = redrawn(given, note("neckline_gapes", Target("front"), amount=12.0, at=0.5, into=INTO_DART))
    moved = drafted.followed.garment.piece("front")
    dart, was = moved.darts[0], given.darts[0]
    assert opening_deg(moved, dart) - opening_deg(given, was) == pytest.approx(3.820, abs=5e-4)
    assert 2 * 90 * math.sin(math.radians(3.820) / 2) == pytest.approx(6.000, abs=1e-3)
    mouth = next(run.chain for run in moved.edge("side").runs if run.dart == "dart")
    assert mouth.length == pytest.approx(22.0, abs=0.05)
    # Cut squarely across: the neckline loses the pinch, shoulder and armhole nothing; the centre stays.
    assert moved.edge("neck").length == pytest.approx(120 - 12, abs=0.05)
    for edge_id in ("armhole", "shoulder", "hem", "fold"):
        assert piece.edge(edge_id).length == pytest.approx(given.edge(edge_id).length, abs=1e-6)
    assert moved.edge("fold").chain.start == given.edge("fold").chain.start
    legs = [math.dist(end, dart.sewn_point) for end in (mouth.start, mouth.end)]
    assert legs[0] == pytest.approx(legs[1], abs=1e-6)
    before = opening_deg(given, was)
    says = drafted.followed.steps[0].readings[0]
    assert f"the dart opens from {before:.1f} to {before + 3.820:.1f} degrees" in says and "24 mm in all" in says
    bare = take_step(Garment("g", "g", (square_necked(),)), note("neckline_gapes", Target("front"), into=INTO_DART))
    assert not bare.done and "has no bust dart" in bare.findings[0].says


def test_a_cut_across_a_slanting_neckline_says_that_it_takes_out_less() -> None:
    _, drafted = redrawn(front(), note("neckline_gapes", Target("front"), into="to nothing at the hem", at=0.65))
    assert [finding.code for finding in drafted.followed.steps[0].findings] == ["neckline-slants"]


def run_length(piece: Piece, edge_id: str) -> float:
    """The length of an edge's own lines, the step between them left out."""
    return sum(run.chain.length for run in piece.edge(edge_id).runs)


@pytest.mark.parametrize(("way", "sign"), [("narrow shoulder", -1), ("broad shoulder", 1)])
def test_a_narrow_or_broad_shoulder_keeps_the_armholes_length_and_is_ruled_straight(way: str, sign: int) -> None:
    # Slash from mid-shoulder to the armhole, hinge there, shoulder redrawn straight: common practice, no source.
    given = front()
    piece, drafted = redrawn(given, note("narrow_or_broad_shoulder", Target("front"), way=way, amount=9.0))
    moved = drafted.followed.garment.piece("front")
    shoulder = given.edge("shoulder").length
    assert moved.edge("armhole").length == pytest.approx(given.edge("armhole").length, abs=1e-9)
    assert piece.edge("armhole").length == pytest.approx(given.edge("armhole").length, abs=0.3)
    assert piece.edge("shoulder").chain.is_straight
    assert piece.edge("shoulder").length == pytest.approx(shoulder + sign * 9.0, abs=1e-9)
    assert "18 mm" in drafted.followed.steps[0].readings[0]
    for untouched in ("hem", "side", "neck", "fold"):
        assert same(piece.edge(untouched), given.edge(untouched), 0.0)


def test_a_forward_shoulder_takes_off_the_front_what_it_adds_to_the_back() -> None:
    # Front and back opposite amounts, the armhole as long in all: common practice, no source; addition.
    targets = (Target("front"), Target("back"))
    drafted = draft(bodice(), (note("forward_shoulder", *targets, amount=8.0),))
    for name, change in (("front", -8.0), ("back", 8.0)):
        old, new = bodice().piece(name), drafted.redrawn.piece(name)
        assert new.edge("armhole").length - old.edge("armhole").length == pytest.approx(change, abs=1e-6)
        assert new.edge("shoulder").chain.is_straight
        assert new.edge("shoulder").end == old.edge("shoulder").end
        assert same(new.edge("neck"), old.edge("neck"), 0.0)


def test_a_piece_without_a_centre_is_neither_front_nor_back() -> None:
    given = front()
    fold = replace(given.edge("fold"), kind=EdgeKind.OTHER)
    drafted = draft(Garment("g", "g", (given.with_edge(fold),)), (note("forward_shoulder", Target("front")),))
    assert "cannot be told" in drafted.followed.steps[0].findings[0].says


def test_a_lowered_underarm_shortens_both_sides_by_the_same_and_leaves_the_upper_armhole() -> None:
    # Follows from the geometry; common practice, no source.
    targets = (Target("front"), Target("back"))
    drafted = draft(bodice(), (note("raise_or_lower_underarm", *targets, way="lower", amount=12.0),))
    for name in ("front", "back"):
        old, new = bodice().piece(name), drafted.redrawn.piece(name)
        assert new.edge("side").length == pytest.approx(old.edge("side").length - 12, abs=1e-6)
        armhole, before = new.edge("armhole").chain, old.edge("armhole").chain
        assert armhole.start_tangent == pytest.approx(before.start_tangent, abs=1e-9)
        upper = before.part(before.at_length(0.65 * before.length), 2.0)
        assert max(armhole.nearest((x, y))[1] for x, y in upper.flat[0].tolist()) < 0.01


@pytest.mark.parametrize(("way", "sign"), [("cut in", -1), ("fill out", 1)])
def test_an_armhole_cut_in_or_filled_out_keeps_its_corners_and_their_directions(way: str, sign: int) -> None:
    # To nothing at the shoulder tip and the underarm: common practice, no source.
    given = front()
    piece, _ = redrawn(given, note("armhole_cut_in_or_filled_out", Target("front"), way=way, amount=6.0))
    old, new = given.edge("armhole").chain, piece.edge("armhole").chain
    middle = old.at_length(old.length / 2)
    x, y = old.point(middle)
    tx, ty = old.tangent(middle)
    assert new.nearest((x + sign * 6 * ty, y - sign * 6 * tx))[1] < 0.005
    assert (new.start, new.end) == (old.start, old.end)
    assert new.start_tangent == pytest.approx(old.start_tangent, abs=5e-4)
    assert new.end_tangent == pytest.approx(old.end_tangent, abs=5e-4)


def test_a_gape_run_out_at_the_hem_leaves_the_shoulder_seam_as_it_is() -> None:
    # Cut from the armhole to the hem and turned about the hem, the paper above the armhole stays: common practice, no
    # source. The cut, run on beyond the hollow of the armhole, would go through the shoulder tip.
    given = open_file(sample_pieces.path("undershirt.garment.json"))[0].garment.piece("front")
    out = Target("front", across=(Address("front.hem", "start", length=165.0),))
    _, drafted = redrawn(given, note("armhole_gapes", out, amount=6.0, at=0.3, into="run out at another edge"))
    new = drafted.followed.garment.piece("front")
    for kept in ("front.shoulder", "front.neck", "front.fold", "front.hem"):
        assert new.edge(kept).length == pytest.approx(given.edge(kept).length, abs=1e-6)
    armhole = sum(run.chain.length for run in new.edge("front.armhole").runs)
    assert armhole == pytest.approx(given.edge("front.armhole").length - 6.0, abs=1e-6)


@pytest.mark.parametrize("alteration", ["square_or_sloping_shoulder", "forward_shoulder"])
def test_a_facing_that_is_named_with_its_piece_follows_by_its_part_of_the_shoulder_seam(alteration: str) -> None:
    # A facing that reaches along a part of a straight seam moves at its end by that part of the amount: similar
    # triangles, worked by hand; so both keep lying on each other and are sewn true.
    garment = open_file(sample_pieces.path("waistcoat.garment.json"))[0].garment
    pieces = ("front", "back", "front_facing", "back_facing")
    drafted = draft(garment, (note(alteration, *map(Target, pieces), amount=10.0),))
    assert drafted.followed.steps[0].done and not [f.says for f in drafted.findings if "longer than" in f.says]
    for piece in pieces[2:]:
        part = garment.piece(piece).edges_of(EdgeKind.SHOULDER)[0].length
        whole = garment.piece(piece.split("_")[0]).edges_of(EdgeKind.SHOULDER)[0].length
        moved = [
            max(math.dist(old.start, new.start), math.dist(old.end, new.end))
            for old, new in zip(
                garment.piece(piece).edges_of(EdgeKind.SHOULDER),
                drafted.redrawn.piece(piece).edges_of(EdgeKind.SHOULDER),
                strict=True,
            )
        ]
        assert moved == pytest.approx([10.0 * part / whole], abs=0.006)


def test_offers_taken_up_leave_every_seam_of_a_facing_true() -> None:
    # What is done to one piece at a level is done to every piece joined to it there: The Dressmaker, c. 1911-16.
    document, _ = open_file(sample_pieces.path("waistcoat.garment.json"))
    for first in (
        note("raise_or_lower_neckline", Target("front"), Target("back"), way="lower", amount=12.0),
        note("widen_or_narrow_neckline", Target("front"), amount=12.0),
        note("forward_shoulder", Target("front"), amount=8.0),
        note("square_or_sloping_shoulder", Target("front"), amount=8.0),
    ):
        notes = [first]
        for turn in range(3):
            offers = [offer for step in draft(document.garment, notes).followed.steps for offer in step.offers]
            new = {(o.alteration, o.amounts, o.targets): o for o in offers}.values()
            notes += [Note(f"{turn}.{i}", o.alteration, o.amounts, o.targets) for i, o in enumerate(new)]
        drafted = draft(document.garment, notes)
        assert all(step.done for step in drafted.followed.steps)
        assert not [f.says for f in drafted.findings if "longer than" in f.says]
