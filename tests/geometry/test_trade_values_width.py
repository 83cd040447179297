"""Values of the trade and of plain geometry for length, width, waist and seat, through the functions a user reaches."""

from __future__ import annotations

import math
from typing import Any

import pytest

from geometry.alterations import find
from geometry.cutting_lines import runs_into
from geometry.garments import Garment
from geometry.lines import polyline, straight
from geometry.notes import Address, Note, Target
from geometry.pieces import EdgeKind, Finish, LineKind, Piece, corner_angle
from geometry.pipeline import Draft, draft
from geometry.stages import Offer
from sample_pieces.drafting.skirt import skirt as skirt_sample
from sample_pieces.drafting.trousers import trousers
from sample_pieces.drafting.waistcoat import waistcoat
from tests.canon import bodice, edge, front, leaning, piece, skirt

INCH = 25.4
BOTH = (Target("front"), Target("back"))


def note(alteration: str, *targets: Target, note_id: str = "note1", **values: Any) -> Note:
    found = find(alteration)
    return Note(note_id, alteration, found.checked(values), targets)


def drafted(garment: Garment, *notes: Note) -> Draft:
    done = draft(garment, notes)
    assert all(step.done for step in done.followed.steps), [f.says for f in done.findings]
    return done


def taken(offer: Offer, note_id: str = "note2") -> Note:
    return Note(note_id, offer.alteration, offer.amounts, offer.targets)


def out_at(before: Piece, after: Piece, edge: str, height: float) -> float:
    """How far the edge has gone out level at a height (mm), for pieces whose grain is upright."""
    return _across(after, edge, height) - _across(before, edge, height)


def _across(piece: Piece, edge: str, height: float) -> float:
    chain = piece.edge(edge).chain
    return chain.point(chain.crossings((0.0, height), (1.0, 0.0))[0])[0]


def test_a_cut_along_the_step_that_a_fold_left_in_a_seam_runs_into_nothing() -> None:
    """The side stands 5 mm out above the fold; a cut along that step leaves the paper, one upwards does not."""
    stepped = piece(
        "panel",
        edge("hem", EdgeKind.HEM, straight((0, 0), (100, 0))),
        edge("side", EdgeKind.SIDE, polyline([(100, 0), (100, 100), (105, 100), (105, 200)])),
        edge("waist", EdgeKind.WAIST, straight((105, 200), (0, 200))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 200), (0, 0)), finish=Finish.FOLD),
    )
    assert not runs_into(stepped, (100.0, 100.0), (1.0, 0.0)) and not runs_into(stepped, (0.0, 100.0), (-1.0, 0.0))
    assert runs_into(stepped, (100.0, 100.0), (0.0, 1.0))


# --- seams taken in and let out --------------------------------------------------------------------------------


def test_one_inch_over_four_edges_is_6_35_mm_each_and_a_fold_is_no_seam_edge() -> None:
    # Robinson, costume construction text, ch. 17, Central Washington University; and division.
    garment = bodice()
    shared = "in all, shared over the edges of the seam"
    given = note("take_in_or_let_out", Target("front", edge="side"), waist=INCH, counted=shared)
    done = drafted(garment, given)
    for piece_id in ("front", "back"):
        assert garment.piece(piece_id).fold is not None and garment.piece(piece_id).cut_count == 2
        before, after = garment.piece(piece_id), done.redrawn.piece(piece_id)
        assert out_at(before, after, "side", 170.0) == pytest.approx(-6.35, abs=1e-6)
    assert done.followed.steps[0].readings == (
        "“side seam” taken in on each of 4 edges by 6.3 mm at the waist (25.4 mm in all)",
    )
    fold = drafted_not(garment, note("take_in_or_let_out", Target("front", edge="fold")))
    assert "a fold is no seam" in fold


def drafted_not(garment: Garment, given: Note) -> str:
    step = draft(garment, (given,)).followed.steps[0]
    assert not step.done and step.after is garment
    return step.findings[0].says


def test_the_seam_runs_to_nothing_where_nothing_is_asked_and_the_amounts_hold_at_the_levels() -> None:
    garment = bodice()
    done = drafted(
        garment, note("take_in_or_let_out", Target("front", edge="side"), way="let out", waist=9.0, bust=4.0)
    )
    for piece_id in ("front", "back"):
        before, after = garment.piece(piece_id), done.redrawn.piece(piece_id)
        for height, out in ((170.0, 9.0), (335.0, 4.0), (345.0, 4.0), (0.0, 0.0)):
            assert out_at(before, after, "side", height) == pytest.approx(out, abs=1e-6)
        # Between two levels never more than at the larger of them.
        assert all(-1e-9 < out_at(before, after, "side", y) <= 9.0 + 1e-9 for y in range(5, 345, 10))
    assert done.after[1].difference_mm == pytest.approx(0.0, abs=1e-9)


def test_a_change_at_the_underarm_keeps_the_corner_and_the_shoulder() -> None:
    given = front()
    alone = Garment("alone", "alone", (given,))
    done = drafted(alone, note("take_in_or_let_out", Target("front", edge="side"), bust=8.0, waist=8.0, hem=8.0))
    new = done.redrawn.piece("front")
    index = [edge.id for edge in given.edges].index("armhole")
    assert corner_angle(new, index) == pytest.approx(corner_angle(given, index), abs=1e-6)
    assert new.edge("shoulder").chain is given.edge("shoulder").chain
    assert new.edge("armhole").end == given.edge("armhole").end
    assert new.edge("armhole").start[0] == pytest.approx(given.edge("armhole").start[0] - 8.0, abs=1e-9)


def test_one_edge_alone_offers_the_edges_that_are_sewn_to_it() -> None:
    garment = bodice()
    alone = note("take_in_or_let_out", Target("front", edge="side"), waist=6.0, counted="on this edge alone")
    done = drafted(garment, alone)
    assert done.redrawn.piece("back") is garment.piece("back")
    (offer,) = done.followed.steps[0].offers
    both = drafted(garment, alone, taken(offer))
    assert both.after[1].difference_mm == pytest.approx(0.0, abs=1e-9)


def test_a_dart_in_a_seam_that_is_taken_in_keeps_equal_legs() -> None:
    # Legs equal: common practice, no source.
    given = front(with_dart=True)
    side = Target("front", edge="side")
    done = drafted(Garment("alone", "alone", (given,)), note("take_in_or_let_out", side, bust=5.0, waist=12.0, hem=3.0))
    piece = done.redrawn.piece("front")
    mouth = next(run.chain for run in piece.edge("side").runs if run.dart == "dart")
    legs = [math.dist(end, piece.darts[0].sewn_point) for end in (mouth.start, mouth.end)]
    assert legs[0] == pytest.approx(legs[1], abs=1e-9)


def test_hip_the_full_amount_to_the_hem_and_nothing_at_the_waist() -> None:
    # Common practice, no source. 40 mm over 4 edges is 10 mm each; division.
    garment = skirt_sample()
    done = drafted(garment, note("hip_size", *BOTH, amount=40.0))
    for piece_id in ("front", "back"):
        before, after = garment.piece(piece_id), done.redrawn.piece(piece_id)
        for height in (1.0, 200.0, 430.0):
            assert out_at(before, after, f"{piece_id}.side", height) == pytest.approx(10.0, abs=1e-6)
        assert after.edge(f"{piece_id}.waist").length == pytest.approx(
            before.edge(f"{piece_id}.waist").length, abs=1e-9
        )
        hip = after.line(LineKind.HIP)
        assert hip is not None and hip.chain.end[0] == pytest.approx(
            _across(after, f"{piece_id}.side", 430.0), abs=1e-6
        )
    assert not [walked for walked in done.after if walked.verdict not in ("true", "ease")]


def test_a_larger_waist_is_shared_and_the_band_offered_with_it() -> None:
    # 1 in over 4 edges is 6.35 mm each (Robinson, ch. 17, Central Washington University); the band on the fold 12.7.
    garment = skirt_sample()
    larger = note("waist_size", *BOTH, amount=INCH)
    done = drafted(garment, larger)
    assert {walked.seam for walked in done.after if walked.verdict == "fault"} == {"waist"}
    (offer,) = done.followed.steps[0].offers
    both = drafted(garment, larger, taken(offer))
    band = both.redrawn.piece("waistband").edge("waistband.waist")
    assert band.length == pytest.approx(garment.piece("waistband").edge("waistband.waist").length + 12.7, abs=1e-9)
    assert not [walked for walked in both.after if walked.verdict not in ("true", "ease")]
    hip = [out_at(garment.piece(p), both.redrawn.piece(p), f"{p}.side", 430.0) for p in ("front", "back")]
    assert hip == pytest.approx([0.0, 0.0], abs=1e-9)


def test_a_side_seam_taken_in_at_the_waist_offers_the_band_its_share() -> None:
    # 4 edges of 5 mm are 20 mm round the body, 10 mm on a band cut on the fold; multiplication.
    garment = skirt_sample()
    given = note("take_in_or_let_out", Target("front", edge="front.side"), waist=5.0)
    (offer,) = drafted(garment, given).followed.steps[0].offers
    both = drafted(garment, given, taken(offer))
    band = both.redrawn.piece("waistband").edge("waistband.waist")
    assert band.length == pytest.approx(garment.piece("waistband").edge("waistband.waist").length - 10.0, abs=1e-9)
    assert not [walked for walked in both.after if walked.verdict not in ("true", "ease")]


def test_the_hip_curve_changes_halfway_and_nowhere_else() -> None:
    # Most halfway, to nothing at the waist and at the hip line: common practice, no source.
    garment = skirt_sample()
    done = drafted(garment, note("hip_curve", *BOTH, amount=5.0))
    before, after = garment.piece("front"), done.redrawn.piece("front")
    middle = (430.0 + before.edge("front.side").end[1]) / 2
    assert out_at(before, after, "front.side", middle) == pytest.approx(5.0, abs=1e-6)
    assert after.edge("front.side").end == before.edge("front.side").end
    assert out_at(before, after, "front.side", 430.0) == pytest.approx(0.0, abs=1e-9)


# --- hems ------------------------------------------------------------------------------------------------------


def test_raising_the_hem_of_a_shaped_piece_loses_flare_and_the_line_keeps_it() -> None:
    # Robinson, ch. 17, Central Washington University: straight skirts may change at the hem, shaped pieces must change
    # at the line. 25.4 / cos 10 degrees off the side, 25.4 tan 10 degrees off the hem; worked by hand.
    given = leaning(10)
    alone = Garment("alone", "alone", (given,))
    done = drafted(alone, note("hem", Target("panel"), centre=INCH, side=INCH))
    new = done.redrawn.piece("panel")
    assert given.edge("side").length - new.edge("side").length == pytest.approx(25.792, abs=0.0006)
    assert given.edge("hem").length - new.edge("hem").length == pytest.approx(4.479, abs=0.0006)
    assert new.fold is not None and new.fold.length == pytest.approx(400 - INCH, abs=1e-9)
    (offer,) = done.followed.steps[0].offers
    kept = drafted(alone, taken(offer)).redrawn.piece("panel")
    assert kept.edge("hem").length == pytest.approx(given.edge("hem").length, abs=1e-9)


@pytest.mark.parametrize("shape", ["levelling off at the side", "curving all the way to the side"])
def test_a_curved_hem_is_square_at_the_fold_and_as_high_as_asked(shape: str) -> None:
    # Square at a fold, 90 +/- 1 degrees: common practice, no source; geometry.
    given = skirt()
    alone = Garment("alone", "alone", (given,))
    new = drafted(alone, note("hem", Target("skirt"), centre=5.0, side=40.0, shape=shape)).redrawn.piece("skirt")
    assert new.edge("hem").start == pytest.approx((0.0, 5.0), abs=1e-9)
    assert new.edge("hem").end == pytest.approx((250.0, 40.0), abs=1e-6)
    assert corner_angle(new, 0) == pytest.approx(90.0, abs=1e-6)
    if shape == "levelling off at the side":
        assert corner_angle(new, 1) == pytest.approx(90.0, abs=1e-6)


def test_a_hem_high_at_the_side_and_low_at_the_back_offers_the_front_its_side() -> None:
    # What is done to one piece is done to every piece joined to it there: The Dressmaker, c. 1911-16.
    garment = bodice()
    dipping = note("hem", Target("back"), way="high at the side, low at the centre", centre=30.0, side=25.0)
    done = drafted(garment, dipping)
    assert done.redrawn.piece("back").fold is not None
    assert done.redrawn.piece("back").edge("hem").start[1] == pytest.approx(-30.0, abs=1e-9)
    (offer,) = done.followed.steps[0].offers
    both = drafted(garment, dipping, taken(offer))
    assert both.after[1].verdict == "true"
    assert both.redrawn.piece("front").edge("hem").start == garment.piece("front").edge("hem").start


def test_a_line_on_the_paper_cut_off_is_a_finding_and_the_facing_is_offered_its_share() -> None:
    garment = waistcoat()
    raised = note("hem", *BOTH, centre=30.0, side=30.0)
    done = drafted(garment, raised)
    step = done.followed.steps[0]
    assert [finding.code for finding in step.findings] == ["line-in-strip", "line-in-strip"]
    assert all("hip line" in finding.says for finding in step.findings)
    grain = done.redrawn.piece("front").line(LineKind.GRAIN)
    assert grain is not None and grain.chain.start[1] == pytest.approx(45.0, abs=1e-9)
    (offer,) = step.offers
    both = drafted(garment, raised, taken(offer))
    assert not [walked for walked in both.after if walked.verdict not in ("true", "ease")]


def test_a_hem_that_was_raised_at_the_side_is_levelled_to_what_it_was() -> None:
    # A level hem ends as high as it starts: geometry, worked by hand (0 mm at both ends, the side as long as before).
    given = skirt()
    up = note("hem", Target("skirt"), centre=0.0, side=40.0)
    alone = Garment("alone", "alone", (given,))
    level = drafted(alone, up, note("hem_levelled", Target("skirt"), note_id="note2")).redrawn.piece("skirt")
    assert level.edge("hem").chain.is_straight
    assert level.edge("hem").end == pytest.approx((250.0, 0.0), abs=1e-9)
    assert level.edge("side").length == pytest.approx(given.edge("side").length, abs=1e-9)
    once_more = note("hem_levelled", Target("skirt"), note_id="note3")
    assert drafted(Garment("alone", "alone", (level,)), once_more).followed.garment.piece("skirt") is level


# --- slashes ---------------------------------------------------------------------------------------------------


def test_a_slash_to_a_hinge_turns_the_paper_by_its_angle_and_leaves_the_hinged_edge_as_long() -> None:
    # 2 asin(50 / 2R) for a slash R long; the hinge lies on the stitching line (Robinson, ch. 17).
    given = skirt(darted=False)
    across = (Address("hem", "start", length=120.0), Address("waist", "end", length=80.0))
    spread = note(
        "slash_and_spread", Target("skirt", across=across), amount=50.0, hinge="to nothing where the line ends"
    )
    after = drafted(Garment("alone", "alone", (given,)), spread).followed.garment.piece("skirt")
    waist = given.edge("waist").chain
    hinge = waist.point(waist.at_length(waist.length - 80.0))
    angle = math.degrees(2 * math.asin(50.0 / 2 / math.dist(hinge, (120.0, 0.0))))
    x, y = after.edge("side").runs[0].chain.start_tangent
    assert math.degrees(math.atan2(y, x)) - 90.0 == pytest.approx(angle, abs=1e-6)
    assert after.edge("waist").length == pytest.approx(given.edge("waist").length, abs=1e-9)
    assert after.edge("hem").length == pytest.approx(250.0 + 50.0, abs=1e-9)
    assert after.polygon.area > given.polygon.area


def test_a_parallel_slash_adds_its_amount_at_both_ends() -> None:
    # A strip 12 mm wide and 400 mm long: addition and multiplication.
    given = leaning(10)
    across = (Address("hem", "start", length=80.0), Address("waist", "end", length=80.0))
    spread = note("slash_and_spread", Target("panel", across=across), amount=12.0)
    after = drafted(Garment("alone", "alone", (given,)), spread).redrawn.piece("panel")
    for name in ("hem", "waist"):
        assert after.edge(name).length == pytest.approx(given.edge(name).length + 12.0, abs=1e-9)
    assert after.polygon.area - given.polygon.area == pytest.approx(12.0 * 400.0, abs=0.5)


def test_a_slash_that_is_wider_than_long_and_a_line_of_no_length_are_refused() -> None:
    alone = Garment("alone", "alone", (skirt(),))
    here = Address("hem", "start", length=120.0)
    short = Target("skirt", across=(here, Address("hem", "start", length=120.5)))
    says = drafted_not(alone, note("slash_and_spread", short))
    assert "has no length" in says
    across = Target("skirt", across=(Address("hem", "end", length=5.0), Address("side", "start", length=5.0)))
    says = drafted_not(alone, note("slash_and_spread", across, amount=40.0, hinge="to nothing where the line ends"))
    assert "cannot open by 40 mm" in says


@pytest.mark.parametrize(("count", "words"), [(1, "one slash"), (2, "two slashes"), (4, "four slashes")])
def test_flare_opens_the_hem_by_its_amount_and_keeps_waist_and_fold(count: int, words: str) -> None:
    given = skirt()
    flared = drafted(Garment("alone", "alone", (given,)), note("flare", Target("skirt"), amount=60.0, slashes=words))
    after = flared.followed.garment.piece("skirt")
    assert after.edge("waist").length == pytest.approx(given.edge("waist").length, abs=1e-9)
    assert after.edge("side").length == pytest.approx(given.edge("side").length, abs=1e-9)
    # The hem's own length grows by the chords; drawn round it is a little shorter.
    assert after.edge("hem").length == pytest.approx(310.0, abs=1.5)
    turned = math.degrees(sum(2 * math.asin(60.0 / count / 2 / reach) for reach in _reaches(given, count)))
    x, y = after.edge("side").runs[0].chain.start_tangent
    assert math.degrees(math.atan2(y, x)) - 90.0 == pytest.approx(turned, abs=1e-6)
    assert corner_angle(flared.redrawn.piece("skirt"), 0) == pytest.approx(90.0, abs=0.01)


def _reaches(given: Piece, count: int) -> list[float]:
    """How high the waist stands over the hem at even shares of its sewn length."""
    from geometry.notes import edge_run_length, place_at

    waist = given.edge("waist")
    length = edge_run_length(waist)
    return [given.point_at(place_at(waist, length * (1 - i / (count + 1))))[1] for i in range(1, count + 1)]


# --- trousers --------------------------------------------------------------------------------------------------


def test_a_leg_wider_by_one_inch_has_6_35_mm_on_each_of_four_edges() -> None:
    # Robinson, ch. 17, Central Washington University; and division.
    garment = trousers()
    done = drafted(garment, note("leg_width", *BOTH, amount=INCH, where="from the knee down"))
    for piece_id in ("front", "back"):
        before, after = garment.piece(piece_id), done.redrawn.piece(piece_id)
        assert after.edge(f"{piece_id}.hem").length - before.edge(f"{piece_id}.hem").length == pytest.approx(
            12.7, abs=1e-9
        )
        assert out_at(before, after, f"{piece_id}.side", 300.0) == pytest.approx(6.35, abs=1e-9)
        assert out_at(before, after, f"{piece_id}.inseam", 300.0) == pytest.approx(-6.35, abs=1e-9)
        assert after.edge(f"{piece_id}.crotch").chain is before.edge(f"{piece_id}.crotch").chain


def test_a_wider_thigh_leaves_knee_hip_and_hem() -> None:
    # 24 mm over 4 edges is 6 mm each: division; where it runs to nothing: common practice, no source.
    garment = trousers()
    done = drafted(garment, note("leg_width", *BOTH, amount=24.0, where="at the thigh"))
    before, after = garment.piece("front"), done.redrawn.piece("front")
    assert out_at(before, after, "front.side", 760.0) == pytest.approx(6.0, abs=1e-6)
    assert after.edge("front.inseam").start[0] == pytest.approx(before.edge("front.inseam").start[0] - 6.0, abs=1e-9)
    for height in (845.0, 300.0):
        assert out_at(before, after, "front.side", height) == pytest.approx(0.0, abs=1e-9)


def test_a_deeper_crotch_lengthens_side_and_centre_by_its_amount() -> None:
    # Cut and spread by 12 mm: addition; Robinson, ch. 17, Central Washington University, for cutting and spreading.
    garment = trousers()
    done = drafted(garment, note("crotch_depth", *BOTH, amount=12.0))
    for piece_id in ("front", "back"):
        before, after = garment.piece(piece_id), done.redrawn.piece(piece_id)
        assert after.edge(f"{piece_id}.waist").end[1] - before.edge(f"{piece_id}.waist").end[1] == pytest.approx(12.0)
        assert after.edge(f"{piece_id}.inseam").chain is before.edge(f"{piece_id}.inseam").chain
    assert {walked.verdict for walked in done.after if walked.seam == "sides"} == {"true"}


def test_a_full_seat_lengthens_the_centre_and_not_the_side() -> None:
    # 2 asin(a / 2R): the wedge's angle; worked by hand.
    garment = trousers()
    done = drafted(garment, note("seat", Target("back"), amount=15.0))
    before, jogged = garment.piece("back"), done.followed.garment.piece("back")
    assert jogged.edge("back.side").length == pytest.approx(before.edge("back.side").length, abs=1e-9)
    assert jogged.edge("back.crotch").length == pytest.approx(before.edge("back.crotch").length + 15.0, abs=1e-9)
    side = next(walked for walked in done.after if walked.seam == "sides")
    assert side.verdict == "true"


def test_a_crotch_point_moved_out_makes_the_leg_wider_there_and_the_knee_not() -> None:
    # To nothing at the knee: common practice, no source; subtraction.
    garment = trousers()
    done = drafted(garment, note("crotch_length", Target("back"), amount=12.0))
    before, after = garment.piece("back"), done.redrawn.piece("back")
    tips = [piece.edge("back.inseam").start for piece in (before, after)]
    assert tips[0][0] - tips[1][0] == pytest.approx(12.0, abs=1e-9) and tips[0][1] == pytest.approx(
        tips[1][1], abs=1e-9
    )
    assert after.edge("back.crotch").length > before.edge("back.crotch").length + 4.0
    assert out_at(before, after, "back.inseam", 400.0) == pytest.approx(0.0, abs=1e-9)
    assert after.edge("back.crotch").start == before.edge("back.crotch").start


def test_a_hem_fanned_out_by_a_slash_is_drawn_round_and_stays_square_at_the_centre() -> None:
    # Square at a fold and a centre, 90 +/- 1 degrees, or the opened piece shows a point: common practice, no source.
    given = skirt(darted=False)
    across = (Address("hem", "start", length=120.0), Address("waist", "end", length=80.0))
    spread = note(
        "slash_and_spread", Target("skirt", across=across), amount=50.0, hinge="to nothing where the line ends"
    )
    new = drafted(Garment("alone", "alone", (given,)), spread).redrawn.piece("skirt")
    assert corner_angle(new, 0) == pytest.approx(90.0, abs=1e-9)
    assert corner_angle(new, 1) == pytest.approx(90.0, abs=1e-9)
    # It hangs below the straight line between its corners, and bends one way by as much as the paper turned.
    hem = new.edge("hem").chain
    angle = math.degrees(2 * math.asin(50.0 / 2 / math.dist((80.0, 600.0), (120.0, 0.0))))
    assert hem.turning_deg == pytest.approx(angle, abs=0.1)


def test_a_line_on_the_paper_that_a_levelled_hem_cuts_off_is_a_finding() -> None:
    garment = waistcoat()
    curved = note("hem", Target("front"), centre=0.0, side=30.0)
    level = note("hem_levelled", Target("front"), note_id="note2", height="as high as at the side")
    done = drafted(garment, curved, level)
    assert {finding.code for finding in done.followed.steps[1].findings} == {"line-in-strip"}
