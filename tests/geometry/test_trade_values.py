"""Values of the trade and of plain geometry that the alterations must give, through the functions a user reaches."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from geometry.alterations import find
from geometry.garments import Garment
from geometry.motions import turn
from geometry.moves import dart_mouth
from geometry.notes import Address, Note, Target
from geometry.pieces import LineKind, Piece
from geometry.pipeline import Draft, draft
from geometry.thinning import gap_between
from tests.canon import bodice, front, leaning, moved, sleeve


def note(alteration: str, *targets: Target, note_id: str = "note1", **values: Any) -> Note:
    found = find(alteration)
    return Note(note_id, alteration, found.checked(values), targets)


def alone(piece: Piece) -> Garment:
    return Garment("alone", "alone", (piece,))


def redrawn(piece: Piece, *notes: Note) -> tuple[Piece, Draft]:
    drafted = draft(alone(piece), notes)
    assert all(step.done for step in drafted.followed.steps), [f.says for f in drafted.findings]
    return drafted.redrawn.piece(piece.id), drafted


def test_two_crosses_100_mm_apart_across_the_line_end_74_6_mm_apart() -> None:
    # Robinson, costume construction text, ch. 17, Central Washington University; and subtraction.
    piece, drafted = redrawn(leaning(10), note("shorten_or_lengthen", Target("panel"), amount=25.4))
    low, high = (mark.point for mark in piece.marks)
    assert math.dist(low, high) == pytest.approx(74.6, abs=1e-9)
    assert drafted.followed.steps[0].readings == ("takes out 25.4 mm (crease a fold 12.7 mm deep)",)


@pytest.mark.parametrize(("degrees", "jog"), [(2, 0.887), (5, 2.222), (10, 4.479), (15, 6.806)])
@pytest.mark.parametrize("way", ["shorten", "lengthen"])
def test_the_jog_of_a_leaning_edge(degrees: float, jog: float, way: str) -> None:
    # T tan(phi) for T 25.4 mm, worked by hand.
    _, drafted = redrawn(leaning(degrees), note("shorten_or_lengthen", Target("panel"), amount=25.4, way=way))
    (blend,) = drafted.blended.pieces["panel"].blends
    assert blend.jog_mm == pytest.approx(jog, abs=0.0006)
    assert blend.kind == "straight"


def test_a_straight_edge_is_redrawn_corner_to_corner() -> None:
    # H 400, phi 10 degrees, T 25.4: sqrt(374.6^2 + (400 tan 10)^2) = 381.18 mm, from 406.17; worked by hand.
    piece, drafted = redrawn(leaning(10), note("shorten_or_lengthen", Target("panel"), amount=25.4))
    assert drafted.garment.piece("panel").edge("side").length == pytest.approx(406.17, abs=0.005)
    assert piece.edge("side").length == pytest.approx(381.18, abs=0.005)
    assert piece.edge("side").chain.is_straight


def test_fold_and_grainline_stay_one_straight_line() -> None:
    piece, _ = redrawn(front(), note("shorten_or_lengthen", Target("front"), amount=25.4))
    assert piece.fold is not None and piece.fold.chain.is_straight
    assert piece.fold.length == pytest.approx(520 - 25.4, abs=1e-9)
    grain = piece.line(LineKind.GRAIN)
    assert grain is not None and grain.chain.length == pytest.approx(400 - 25.4, abs=1e-9)
    assert grain.chain.start[0] == grain.chain.end[0] == 60


def test_the_strip_lies_on_the_stated_side_and_the_other_side_stays() -> None:
    for side, hem_stays in (("away from the hem", True), ("towards the hem", False)):
        piece, drafted = redrawn(leaning(10), note("shorten_or_lengthen", Target("panel"), amount=20.0, side=side))
        low, high = (mark.point for mark in piece.marks)
        assert (low[1] == 150) == hem_stays and (high[1] == 250) != hem_stays
        ys = drafted.followed.steps[0].strips[0].outline[:, 1]
        expected = (180, 200) if hem_stays else (160, 180)
        assert (ys.min(), ys.max()) == pytest.approx(expected)


def test_a_strip_that_holds_a_level_line_or_a_notch_is_a_finding_and_nothing_is_lost() -> None:
    given = front()
    _, drafted = redrawn(
        given,
        note(
            "shorten_or_lengthen",
            Target("front", across=(Address("fold", "end", length=160.0),)),
            amount=20.0,
            line="line drawn across",
        ),
    )
    assert {f.code for f in drafted.followed.steps[0].findings} == {"level-in-strip"}
    _, drafted = redrawn(
        given,
        note(
            "shorten_or_lengthen",
            Target("front", across=(Address("fold", "end", length=100.0),)),
            amount=30.0,
            line="line drawn across",
        ),
    )
    assert [f.code for f in drafted.followed.steps[0].findings] == ["mark-in-strip"]
    assert "waist notch" in drafted.followed.steps[0].findings[0].says


def test_widths_at_the_levels_are_kept_by_a_change_of_length() -> None:
    # The blend stops at the bust and waist lines, so the piece is as wide there as it was (within 0.5 mm).
    given = front()
    for way in ("shorten", "lengthen"):
        piece, _ = redrawn(given, note("shorten_or_lengthen", Target("front"), amount=25.0, way=way))
        for kind in (LineKind.BUST, LineKind.WAIST):
            assert width_at(piece, kind) == pytest.approx(width_at(given, kind), abs=0.5)


def width_at(piece: Piece, kind: LineKind) -> float:
    line = piece.line(kind)
    assert line is not None and piece.fold is not None
    at = line.chain.start
    side = piece.edge("side").chain
    return side.point(side.crossings(at, (1.0, 0.0))[0])[0] - at[0]


def test_a_crossed_dart_keeps_its_mouth_and_equal_legs() -> None:
    # Common practice, no source: the legs are redrawn from their ends to the moved point and stay equal.
    given = front(with_dart=True)
    across = Target("front", across=(Address("fold", "end", length=322.0),))
    piece, _ = redrawn(given, note("shorten_or_lengthen", across, amount=8.0, line="line drawn across"))
    before, after = (dart_mouth(p.edge("side"), "dart") for p in (given, piece))
    assert after.length == pytest.approx(before.length, abs=1e-9)
    dart = piece.darts[0]
    assert math.dist(after.start, dart.sewn_point) == pytest.approx(math.dist(after.end, dart.sewn_point), abs=1e-6)


@pytest.mark.parametrize("amount", [6.0, 12.7])
def test_a_parallel_tuck_shortens_the_centre_and_keeps_every_width(amount: float) -> None:
    # A tuck takes as much out of the centre: subtraction. It leaves the side seam below the armhole alone.
    given = front()
    piece, drafted = redrawn(given, note("armhole_too_low", Target("front"), amount=amount, height=70.0))
    assert piece.fold is not None
    assert piece.fold.length == pytest.approx(520 - amount, abs=1e-9)
    assert piece.edge("side").length == pytest.approx(given.edge("side").length, abs=1e-9)
    assert any("shortens the centre" in line for line in drafted.followed.steps[0].readings)
    (offer,) = drafted.followed.steps[0].offers
    back = Note("note2", offer.alteration, offer.amounts, offer.targets)
    piece, _ = redrawn(given, note("armhole_too_low", Target("front"), amount=amount, height=70.0), back)
    assert piece.fold is not None and piece.fold.length == pytest.approx(520, abs=1e-9)


def test_a_tuck_takes_more_off_a_leaning_cap_than_off_an_upright_armhole() -> None:
    # A cap line that leans 45 degrees loses T / cos 45 = 1.41 T on each side; worked by hand.
    from geometry.lines import straight
    from geometry.pieces import EdgeKind
    from tests.canon import edge, piece

    pointed = piece(
        "sleeve",
        edge("wrist", EdgeKind.WRIST, straight((-100, 0), (100, 0))),
        edge("under.front", EdgeKind.UNDERARM, straight((100, 0), (150, 400))),
        edge("cap", EdgeKind.CAP, *(straight(a, b) for a, b in (((150, 400), (0, 550)), ((0, 550), (-150, 400))))),
        edge("under.back", EdgeKind.UNDERARM, straight((-150, 400), (-100, 0))),
    )
    done = draft(alone(pointed), (note("armhole_too_low", Target("sleeve"), amount=6.0, height=60.0),))
    jogged = done.followed.garment.piece("sleeve").edge("cap")
    kept = sum(run.chain.length for run in jogged.runs)
    assert pointed.edge("cap").length - kept == pytest.approx(2 * 6 * math.sqrt(2), abs=1e-9)


@pytest.mark.parametrize(("pinch", "reach", "degrees"), [(6, 110, 3.126), (12.7, 120, 6.067), (12, 180, 3.820)])
def test_a_pinch_at_the_armhole_opens_the_dart_by_the_same_angle(pinch: float, reach: float, degrees: float) -> None:
    # 2 asin(p / 2R), worked by hand: the angle is conserved when a dart is turned about the bust point.
    given = front(with_dart=True)
    armhole = given.edge("armhole").chain
    place = armhole.point(armhole.at_length(armhole.length / 2))
    dart = given.darts[0]
    away = (dart.bust_point[0] - place[0], dart.bust_point[1] - place[1])
    scale = reach / math.hypot(*away)
    bust = (place[0] + away[0] * scale, place[1] + away[1] * scale)
    given = replace(given, darts=(replace(dart, bust_point=bust),))
    piece, _ = redrawn(given, note("armhole_gapes", Target("front"), amount=float(pinch), at=0.5))

    def opening(p: Piece) -> float:
        mouth = dart_mouth(p.edge("side"), "dart")
        a, b = (math.atan2(q[1] - bust[1], q[0] - bust[0]) for q in (mouth.start, mouth.end))
        return math.degrees(abs((a - b + math.pi) % (2 * math.pi) - math.pi))

    assert opening(piece) - opening(given) == pytest.approx(degrees, abs=0.0006)
    assert piece.edge("shoulder").length == pytest.approx(given.edge("shoulder").length)


def test_a_wedge_with_nowhere_to_go_cannot_lie_flat_and_is_not_done() -> None:
    step = draft(alone(front()), (note("armhole_gapes", Target("front"), amount=6.0),)).followed.steps[0]
    assert not step.done and "has no bust dart" in step.findings[0].says


def test_sewing_a_seam_nearer_the_cut_edge_moves_the_stitching_line_and_leaves_the_cut_edge() -> None:
    # 5/8 in is 15.875 mm, 1/2 in is 12.7 mm: the stitching line moves 3.175 mm out; subtraction.
    garment = replace(bodice(), widths={**bodice().widths, "seam": 15.875})
    drafted = draft(garment, (note("sew_seam_at", Target("front", edge="shoulder"), width=12.7),))
    for piece_id in ("front", "back"):
        old, new = garment.piece(piece_id).edge("shoulder"), drafted.redrawn.piece(piece_id).edge("shoulder")
        middle = new.chain.point(0.5)
        assert old.chain.nearest(middle)[1] == pytest.approx(3.175, abs=1e-6)
        before, after = drafted.cut_before[piece_id].cutting, drafted.cut[piece_id].cutting
        assert before is not None and after is not None
        outside = (middle[0] + 12.7 * 0.30113, middle[1] + 12.7 * 0.95358)
        assert after.nearest(outside)[1] == pytest.approx(before.nearest(outside)[1], abs=1e-3)
        assert before.nearest(outside)[1] < 0.01


def test_a_seam_is_let_out_no_further_than_6_mm_short_of_the_cut_edge() -> None:
    step = draft(bodice(), (note("sew_seam_at", Target("front", edge="side"), width=5.0),)).followed.steps[0]
    assert not step.done and "no further than 6 mm" in step.findings[0].says


def test_an_allowance_width_moves_the_cutting_line_and_leaves_the_stitching_line() -> None:
    # The stitching line stays, the width is the one asked for: by what an allowance is.
    drafted = draft(bodice(), (note("allowance_width", Target("front", edge="side"), width=25.0),))
    assert drafted.redrawn.piece("front").edge("side").chain is drafted.garment.piece("front").edge("side").chain
    assert drafted.cut["front"].widths["side"] == 25.0
    assert any(f.code == "allowance-differs" for f in drafted.findings)


def test_a_note_on_a_turned_piece_is_the_same_note() -> None:
    how = turn(37.0, (10.0, 20.0))
    given = note("shorten_or_lengthen", Target("sleeve"), amount=20.0)
    one, _ = redrawn(sleeve(), given)
    other, _ = redrawn(moved(sleeve(), how), given)
    for edge in one.edges:
        assert other.edge(edge.id).length == pytest.approx(edge.length, abs=1e-6)


def test_a_tuck_is_offered_across_the_cap_and_an_offer_taken_is_not_made_again() -> None:
    from geometry.garments import EdgeRef, Seam

    garment = bodice()
    sewn = (EdgeRef("front", "armhole"), EdgeRef("back", "armhole"))
    cap = Seam("caps", "sleeve to armhole", sewn, (EdgeRef("sleeve", "cap"),))
    garment = replace(garment, pieces=(*garment.pieces, sleeve()), seams=(*garment.seams, cap))
    tuck = note("armhole_too_low", Target("front"), Target("back"), amount=6.0, height=60.0)
    offers = draft(garment, (tuck,)).followed.steps[0].offers
    assert [offer.says for offer in offers] == [
        "Do the same tuck across the cap of “sleeve”",
        "Give the 6 mm back at the lengthen/shorten line",
    ]
    taken = Note("note2", offers[0].alteration, offers[0].amounts, offers[0].targets)
    assert len(draft(garment, (tuck, taken)).followed.steps[0].offers) == 1


def test_a_seam_sewn_nearer_to_nothing_at_a_place_keeps_the_cut_edge_and_both_sides_alike() -> None:
    garment = bodice()
    fading = Target("front", edge="side", across=(Address("side", "start", share=0.8),))
    drafted = draft(garment, (note("sew_seam_at", fading, width=10.0),))
    assert drafted.followed.steps[0].done, drafted.followed.steps[0].findings
    for piece_id in ("front", "back"):
        old, new = garment.piece(piece_id).edge("side").chain, drafted.redrawn.piece(piece_id).edge("side").chain
        # 15 mm sewn at 10: 5 mm out at the hem, nothing from four fifths of the way up.
        assert old.nearest(new.point(new.at_length(2.0)))[1] == pytest.approx(5.0, abs=0.01)
        assert old.nearest(new.point(new.at_length(0.9 * new.length)))[1] == pytest.approx(0.0, abs=1e-6)
        before, after = drafted.cut_before[piece_id].cutting, drafted.cut[piece_id].cutting
        assert before is not None and after is not None
        assert gap_between(before, after) < 0.02
    assert drafted.after[1].difference_mm == pytest.approx(0.0, abs=1e-6)
