"""Values of the trade and of plain geometry for bust, chest, darts and back, through the functions a user reaches."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from geometry.darts import mouth_of, opening_deg, set_back
from geometry.fairness import inflections
from geometry.lines import chain, straight
from geometry.moves import dart_mouth
from geometry.notes import Address, Note, Target
from geometry.pieces import EdgeKind, Finish, Line, LineKind, Mark, MarkKind, Piece
from geometry.pipeline import draft
from sample_pieces.draft import everything
from tests.canon import bodice, edge, front, level, piece
from tests.geometry.test_trade_values import alone, note, redrawn


@cache
def three_slash_front() -> Piece:
    """A front with the bust point A(90, 200), H(150, 290) on its armhole and D(220, 180) on its side seam."""
    lower, upper = ((222, 250), (190, 252), (150, 265), (150, 290)), ((150, 290), (150, 330), (158, 370), (160, 400))
    return piece(
        "front",
        edge("hem", EdgeKind.HEM, straight((0, 0), (218, 0)), finish=Finish.HEM_ONCE),
        edge("side", EdgeKind.SIDE, straight((218, 0), (220, 180)), straight((220, 180), (222, 250))),
        edge("armhole", EdgeKind.ARMHOLE, chain([lower, upper])),
        edge("shoulder", EdgeKind.SHOULDER, straight((160, 400), (60, 430))),
        edge("neck", EdgeKind.NECKLINE, chain([((60, 430), (55, 380), (30, 350), (0, 350))])),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 350), (0, 0)), finish=Finish.FOLD),
        marks=(Mark("bust.point", "bust point", MarkKind.BUST_POINT, (90, 200)),),
    )


def bust_note(**values: Any) -> Note:
    armhole = three_slash_front().edge("armhole")
    hinge = armhole.chain.length_to(1.0) / armhole.length
    below = math.dist((222, 250), (220, 180))
    return note("full_or_small_bust", Target("front"), hinge=hinge, below=below, **values)


@pytest.mark.parametrize(
    ("spread", "turned", "drop", "mouth"),
    [
        (6.35, 3.9547, 3.9238, 9.0767),
        (12.7, 7.7591, 7.2765, 17.7982),
        (20.0, 11.9868, 10.4988, 27.4670),
        (25.4, 15.0346, 12.4834, 34.4148),
    ],
)
def test_the_three_slashes_of_a_full_bust(spread: float, turned: float, drop: float, mouth: float) -> None:
    # a (1 - cos t) + b sin t = s with a 60, b 90; drop a sin t - b (1 - cos t); mouth 2 L sin(t/2) with L 131.5295;
    # worked by hand.
    given = three_slash_front()
    drafted = draft(alone(given), (bust_note(amount=spread),))
    assert drafted.followed.steps[0].done
    new = drafted.followed.garment.piece("front")
    (dart,) = new.darts
    assert abs(opening_deg(new, dart)) == pytest.approx(turned, abs=5e-5)
    assert dart.bust_point == pytest.approx((90 + spread, 200 - drop), abs=5e-5)
    assert new.marks[0].point == pytest.approx(dart.bust_point, abs=1e-9)
    assert mouth_of(new, dart).length == pytest.approx(mouth, abs=5e-5)
    # Hem and waist grow by s and the centre front by the drop; the rest keeps its length, the dart closed.
    assert new.edge("hem").length == pytest.approx(218 + spread, abs=1e-9)
    assert new.edge("fold").length == pytest.approx(350 + drop, abs=5e-5)
    assert new.edge("fold").chain.is_straight and not new.edge("hem").disturbed
    for kept in ("shoulder", "neck", "armhole", "side"):
        assert new.edge(kept).length == pytest.approx(given.edge(kept).length, abs=1e-9)
    assert new.edge("shoulder") is given.edge("shoulder")


def test_an_existing_dart_grows_by_the_angle_and_keeps_its_point_as_far_back() -> None:
    # The angle is conserved; “the dart grows by the spread” is false: worked by hand.
    given = front(with_dart=True)
    one, drafted = redrawn(given, note("full_or_small_bust", Target("front"), amount=12.7))
    was, now = (abs(opening_deg(p, p.darts[0])) for p in (given, drafted.followed.garment.piece("front")))
    assert now > was + 5 and set_back(one.darts[0]) == pytest.approx(set_back(given.darts[0]), abs=1e-9)
    mouth, dart = dart_mouth(one.edge("side"), "dart"), one.darts[0]
    assert math.dist(mouth.start, dart.sewn_point) == pytest.approx(math.dist(mouth.end, dart.sewn_point), abs=1e-6)
    growth = mouth.length - dart_mouth(given.edge("side"), "dart").length
    assert growth > 12.7 + 1


def test_a_bust_change_of_two_inches_in_all_is_one_inch_on_the_half_front() -> None:
    # Division: 2 in / 2 = 25.4 mm.
    drafted = draft(alone(three_slash_front()), (bust_note(amount=25.4),))
    assert "adds 25.4 mm at the bust on “front”, 50.8 mm round the body" in drafted.followed.steps[0].readings[0]


def test_a_full_bust_without_a_dart_is_eased_into_the_back_and_the_seam_still_walks() -> None:
    # The side seam's surplus is eased into the back: common practice, no source.
    drafted = draft(bodice(), (note("full_or_small_bust", Target("front"), amount=10.0, dartless="ease it in"),))
    (sides,) = [walked for walked in drafted.after if walked.seam == "sides"]
    assert sides.difference_mm < -5 and sides.verdict == "true"
    assert any("to be eased into the back" in line for line in drafted.followed.steps[0].readings)


def test_a_small_bust_closes_no_more_than_the_dart_has() -> None:
    closing = note("full_or_small_bust", Target("front"), way="small bust", amount=40.0)
    step = draft(alone(front(with_dart=True)), (closing,)).followed.steps[0]
    assert not step.done and "largest amount that fits" in step.findings[0].says


def test_waist_hem_and_grain_stay_level_and_straight_when_the_centre_drops() -> None:
    # Common practice, no source: the slash from the centre lies above the waist line, so that the waist stays level.
    one, _ = redrawn(front(), note("full_or_small_bust", Target("front"), amount=20.0))
    for kind in (LineKind.WAIST, LineKind.LENGTHEN):
        line = one.line(kind)
        assert line is not None and line.chain.start[1] == pytest.approx(line.chain.end[1], abs=1e-9)
    grain = one.line(LineKind.GRAIN)
    assert grain is not None and grain.chain.start[0] == grain.chain.end[0]
    assert grain.chain.length == pytest.approx(400.0, abs=1e-9)


def half_back() -> Piece:
    """A back 230 mm wide with its waist line 300 mm up and its centre back 412 mm above that, on the fold."""
    lower = chain([((230, 500), (190, 502), (180, 560), (180, 600))])
    return piece(
        "back",
        edge("hem", EdgeKind.HEM, straight((0, 0), (230, 0))),
        edge("side", EdgeKind.SIDE, straight((230, 0), (230, 500))),
        edge("armhole", EdgeKind.ARMHOLE, lower, straight((180, 600), (180, 690))),
        edge("shoulder", EdgeKind.SHOULDER, straight((180, 690), (70, 730))),
        edge("neck", EdgeKind.NECKLINE, chain([((70, 730), (60, 714), (30, 712), (0, 712))])),
        edge("fold", EdgeKind.CENTRE_BACK, straight((0, 712), (0, 0)), finish=Finish.FOLD),
        lines=(
            level("waist", LineKind.WAIST, (0, 300), (230, 300)),
            Line("grain", "grainline", LineKind.GRAIN, straight((60, 60), (60, 460))),
        ),
        marks=(Mark("dot", "dot", MarkKind.DOT, (20, 450)),),
    )


def test_a_swayback_tuck_turns_the_upper_back_and_swings_the_centre_back() -> None:
    # atan(12 / 230) = 2.987 degrees; 400 sin 2.987 = 20.84 mm at 400 mm; worked by hand.
    given = half_back()
    one, drafted = redrawn(given, note("swayback", Target("back"), amount=12.0))
    new = drafted.followed.garment.piece("back")
    (ux, uy) = new.edge("shoulder").chain.start_tangent
    (vx, vy) = given.edge("shoulder").chain.start_tangent
    assert math.degrees(math.atan2(vx * uy - vy * ux, vx * ux + vy * uy)) == pytest.approx(2.987, abs=5e-4)
    at_the_tuck = 230 - math.hypot(230, 12)
    assert at_the_tuck - new.edge("fold").start[0] == pytest.approx(20.84, abs=5e-3)
    # A fold must be one straight line again, the grainline parallel to it: common practice, no source.
    for p in (new, one):
        assert p.edge("fold").chain.is_straight
        grain = p.line(LineKind.GRAIN)
        assert grain is not None and grain.chain.length == pytest.approx(400.0, abs=1e-9)
        (ax, ay), (bx, by) = p.edge("fold").chain.start_tangent, grain.chain.start_tangent
        assert abs(ax * by - ay * bx) < 1e-9
    # Nothing at the side seam's stitching line: it keeps its length, and so do armhole, shoulder and neckline.
    for kept in ("side", "armhole", "shoulder", "neck", "hem"):
        assert new.edge(kept).length == pytest.approx(given.edge(kept).length, abs=1e-6)
    waist = new.line(LineKind.WAIST)
    assert waist is not None and new.edge("fold").chain.nearest(waist.chain.start)[1] < 1e-6


@pytest.mark.parametrize(("way", "sign"), [("hollow chest: fold out", 1), ("pigeon chest: spread", -1)])
def test_a_wedge_at_the_chest_keeps_the_armhole_and_a_straight_centre_front(way: str, sign: int) -> None:
    # atan(amount / width) for the turn, worked by hand; the centre straight again: common practice, no source.
    given = front()
    _, drafted = redrawn(given, note("hollow_or_pigeon_chest", Target("front"), way=way, amount=10.0))
    new = drafted.followed.garment.piece("front")
    armhole = given.edge("armhole").chain
    width = armhole.point(armhole.at_length(armhole.length / 2))[0]
    (ux, uy), (vx, vy) = new.edge("shoulder").chain.start_tangent, given.edge("shoulder").chain.start_tangent
    turned = sign * math.degrees(math.atan2(vx * uy - vy * ux, vx * ux + vy * uy))
    assert turned == pytest.approx(math.degrees(math.atan(10 / width)), abs=1e-6)
    assert new.edge("fold").chain.is_straight
    for kept in ("side", "armhole", "shoulder", "hem"):
        assert new.edge(kept).length == pytest.approx(given.edge(kept).length, abs=1e-6)
    if sign > 0:
        assert new.edge("neck").length == pytest.approx(given.edge("neck").length, abs=1e-6)
    else:
        # The centre front is ruled on from below and the neckline meets it square.
        assert new.edge("fold").start[0] == 0.0 and new.edge("neck").end[1] == pytest.approx(
            new.edge("neck").runs[-1].chain.start[1], abs=1e-9
        )


def test_a_round_upper_back_lengthens_the_centre_back_and_says_what_the_neckline_gains() -> None:
    # A corner 180 mm beside and 100 mm above the hinge, turned by t = atan(12 / 180), comes off the centre by
    # 100 sin t + 180 (1 - cos t); worked by hand.
    given = half_back()
    hinge = given.edge("armhole").chain
    at = hinge.length_to(hinge.nearest((180.0, 612.0))[0]) / hinge.length
    _, drafted = redrawn(given, note("round_or_erect_back", Target("back"), amount=12.0, hinge=at))
    new = drafted.followed.garment.piece("back")
    gained = new.edge("neck").length - given.edge("neck").length
    turned = math.atan(12 / 180)
    assert gained == pytest.approx(100 * math.sin(turned) + 180 * (1 - math.cos(turned)), abs=1e-3)
    assert new.edge("fold").length > given.edge("fold").length + 11.0 and new.edge("fold").start[0] == 0.0
    assert new.edge("shoulder").length == pytest.approx(given.edge("shoulder").length, abs=1e-9)


@pytest.mark.parametrize("amount", [6.0, 10.0, 20.0])
def test_the_neckline_of_a_round_upper_back_meets_the_fold_square_and_shows_no_peak_there(amount: float) -> None:
    # Square for a short run at a fold, or the opened piece shows a point: common practice, no source.
    # The corner, w beside and v above the hinge, rises by w sin t - v (1 - cos t) for a turn of t; worked by hand.
    given = everything()["undershirt"][0].piece("back")
    armhole, top = given.edge("back.armhole").chain, given.edge("back.neck").end
    x, y = armhole.point(armhole.at_length(0.6 * armhole.length))
    turned = math.atan(amount / x)
    rises = (x - top[0]) * math.sin(turned) - (top[1] - y) * (1 - math.cos(turned))
    _, drafted = redrawn(given, note("round_or_erect_back", Target("back"), amount=amount))
    neck = drafted.redrawn.piece("back").edge("back.neck").chain
    assert abs(neck.end_tangent[1]) < 1e-3 and not inflections(neck)
    assert neck.end[1] - min(neck.flat[0][:, 1]) < 0.15
    assert neck.end[1] - top[1] == pytest.approx(rises, abs=1e-6)


def test_a_wedge_above_the_centre_is_not_done() -> None:
    step = draft(alone(front()), (note("hollow_or_pigeon_chest", Target("front"), hinge=0.9),)).followed.steps[0]
    assert not step.done and "does not reach so high" in step.findings[0].says


@pytest.mark.parametrize("to", ["shoulder", "armhole", "neckline", "hem"])
def test_a_turned_dart_keeps_its_angle_and_its_mouth_follows_from_where_it_opens(to: str) -> None:
    # The angle is conserved; a longer dart has a wider mouth, 2 L sin(theta / 2): Erwin, Practical Dress Design, 1954.
    given = front(with_dart=True)
    old = given.darts[0]
    _, drafted = redrawn(given, note("dart_turned", Target("front"), to=to))
    new = drafted.followed.garment.piece("front")
    (dart,) = new.darts
    assert dart.id == old.id and dart.bust_point == old.bust_point
    assert abs(opening_deg(new, dart)) == pytest.approx(abs(opening_deg(given, old)), abs=1e-9)
    mouth = mouth_of(new, dart)
    length, theta = math.dist(mouth.start, dart.bust_point), math.radians(abs(opening_deg(given, old)))
    assert mouth.length == pytest.approx(2 * length * math.sin(theta / 2), abs=1e-9)
    # Legs equal, the point set back 25 mm: common practice, no source.
    assert math.dist(mouth.start, dart.sewn_point) == pytest.approx(math.dist(mouth.end, dart.sewn_point), abs=1e-9)
    assert set_back(dart) == pytest.approx(25.0, abs=1e-9)
    # Every edge keeps its sewn length, and the paper of the centre stays.
    for old_edge in given.edges:
        assert new.edge(old_edge.id).length == pytest.approx(old_edge.length, abs=1e-6)
    assert new.edge("fold") is given.edge("fold")


def test_six_millimetres_at_ninety_from_twelve_at_a_hundred_and_eighty() -> None:
    # 2 asin(12 / 360) = 3.820 degrees; 2 x 90 x sin(1.910) = 6.000 mm; worked by hand.
    assert 2 * math.degrees(math.asin(12 / 360)) == pytest.approx(3.820, abs=5e-4)
    given = front(with_dart=True)
    _, drafted = redrawn(given, note("armhole_gapes", Target("front"), amount=6.0, at=0.5))
    new = drafted.followed.garment.piece("front")
    grown = abs(opening_deg(new, new.darts[0])) - abs(opening_deg(given, given.darts[0]))
    armhole = given.edge("armhole").chain
    reach = math.dist(armhole.point(armhole.at_length(armhole.length / 2)), given.darts[0].bust_point)
    assert 2 * reach * math.sin(math.radians(grown) / 2) == pytest.approx(6.0, abs=1e-9)
    # Turned back to the armhole whole, the dart opens there by its whole angle.
    whole = draft(alone(given), (note("dart_turned", Target("front"), to="armhole", at=0.5, back=0.0),))
    dart = whole.followed.garment.piece("front").darts[0]
    assert dart.sewn_point == pytest.approx(dart.bust_point, abs=1e-9)


def test_upright_darts_are_pressed_to_the_centre_and_sideways_darts_down() -> None:
    # Oregon State University Extension, 4-H 92132.
    given = front(with_dart=True)
    for to, index in (("shoulder", 0), ("armhole", 1)):
        turned = note("dart_turned", Target("front"), to=to, at=0.9)
        new = draft(alone(given), (turned,)).followed.garment.piece("front")
        (dart,) = new.darts
        mouth = mouth_of(new, dart)
        folded, other = (mouth.start, mouth.end) if dart.fold_to == "start" else (mouth.end, mouth.start)
        assert folded[index] < other[index]


def test_no_dart_opens_on_a_fold() -> None:
    given = front(with_dart=True)
    step = draft(alone(given), (note("dart_turned", Target("front"), to="centre front"),)).followed.steps[0]
    assert not step.done and "on the fold" in step.findings[0].says


def test_a_dart_sewn_25_mm_shorter_closes_a_wider_angle() -> None:
    # 15.03 degrees with legs of 131.53 mm become 18.59 degrees: 2 asin(17.207 / 106.53), worked by hand.
    given = three_slash_front()
    full = bust_note(amount=25.4)
    made = draft(alone(given), (full,)).followed.garment.piece("front")
    assert set_back(made.darts[0]) == pytest.approx(25.0, abs=1e-9)
    to_point = replace(made, darts=(replace(made.darts[0], sewn_point=made.darts[0].bust_point),))
    one, _ = redrawn(to_point, note("dart_lengthened", Target("front"), amount=25.0))
    mouth, dart = dart_mouth(one.edge("side"), "note1.dart"), one.darts[0]
    assert mouth.length == pytest.approx(34.4148, abs=5e-5) and dart.bust_point == to_point.darts[0].bust_point
    leg = math.dist(mouth.start, dart.sewn_point)
    assert leg == pytest.approx(131.5295 - 25, abs=5e-4) and leg == pytest.approx(math.dist(mouth.end, dart.sewn_point))
    assert math.degrees(2 * math.asin(mouth.length / 2 / leg)) == pytest.approx(18.59, abs=5e-3)


def test_a_dart_is_not_sewn_past_its_bust_point() -> None:
    longer = note("dart_lengthened", Target("front"), way="lengthen", amount=40.0)
    step = draft(alone(front(with_dart=True)), (longer,)).followed.steps[0]
    assert not step.done and "past the bust point" in step.findings[0].says
    assert "largest amount that fits is 19.5 mm" in step.findings[0].says


def test_a_broad_back_leaves_the_front_and_eases_or_darts_the_shoulder() -> None:
    # Spread w, the shoulder's excess eased or turned into a dart, the front untouched: common practice, no source.
    given = bodice()
    for shoulder, seam_kind in (("eased into the front", "eased"), ("taken up in a shoulder dart", "even")):
        drafted = draft(given, (note("broad_or_narrow_back", Target("back"), amount=6.0, shoulder=shoulder),))
        assert drafted.followed.garment.piece("front") is given.piece("front")
        new = drafted.followed.garment.piece("back")
        assert new.edge("hem").length == pytest.approx(given.piece("back").edge("hem").length + 6.0, abs=1e-9)
        (walked,) = [w for w in drafted.after if w.seam == "shoulders"]
        assert walked.verdict in ("true", "ease") and walked.stretches[0].kind == seam_kind
        longer = new.edge("shoulder").length - given.piece("back").edge("shoulder").length
        if seam_kind == "eased":
            assert longer == pytest.approx(6.0, abs=1e-9)
        else:
            mouth, dart = dart_mouth(new.edge("shoulder"), "note1.dart"), new.darts[0]
            assert longer == pytest.approx(0.0, abs=1e-9) and mouth.length == pytest.approx(6.0, abs=1e-9)
            assert math.dist(mouth.start, dart.sewn_point) == pytest.approx(math.dist(mouth.end, dart.sewn_point))
            # Upright darts are pressed to the centre: Oregon State University Extension, 4-H 92132.
            assert (mouth.start if dart.fold_to == "start" else mouth.end)[0] == min(mouth.start[0], mouth.end[0])


def test_a_broad_back_shared_with_the_front_armhole_leaves_the_shoulders_equal() -> None:
    # The New Dressmaker, 1921: w/2 off the back armhole and w/2 onto the front's, to nothing at the notches.
    given = bodice()
    values: dict[str, Any] = {"amount": 12.0, "shoulder": "shared with the front armhole"}
    first = note("broad_or_narrow_back", Target("back"), **values)
    (offer,) = draft(given, (first,)).followed.steps[0].offers
    taken = Note("note2", offer.alteration, offer.amounts, offer.targets)
    drafted = draft(given, (first, taken))
    front_piece, back_piece = (drafted.followed.garment.piece(name) for name in ("front", "back"))
    old = given.piece("front").edge("shoulder").length
    assert front_piece.edge("shoulder").length == pytest.approx(old + 6.0, abs=1e-9)
    sewn = sum(run.chain.length for run in back_piece.edge("shoulder").runs)
    assert sewn == pytest.approx(old + 6.0, abs=1e-9)
    (walked,) = [w for w in drafted.after if w.seam == "shoulders"]
    assert abs(walked.difference_mm) < 0.8
    for name, shift in (("front", 0.0), ("back", 12.0)):
        notch = given.piece(name).notches[1]
        x, y = given.piece(name).point_at(notch.place)
        now = drafted.followed.garment.piece(name)
        assert now.point_at(now.notches[1].place) == pytest.approx((x + shift, y), abs=0.05)


def test_a_narrow_back_has_nothing_to_take_up_in_a_dart() -> None:
    narrow = note(
        "broad_or_narrow_back", Target("back"), way="narrow back: overlap", shoulder="taken up in a shoulder dart"
    )
    step = draft(bodice(), (narrow,)).followed.steps[0]
    assert not step.done and "nothing to take up" in step.findings[0].says


@pytest.mark.parametrize(("into", "part"), [("eased", 1.0), ("gathered", 1.0), ("eased", 0.5)])
def test_a_dart_left_unsewn_makes_the_seam_longer_by_its_mouth_and_the_seam_allows_it(into: str, part: float) -> None:
    # Addition; a dart worked in as ease or gathers: common practice, no source.
    given = replace(bodice(), pieces=(front(with_dart=True), bodice().pieces[1]))
    mouth = dart_mouth(given.piece("front").edge("side"), "dart").length
    drafted = draft(given, (note("dart_eased", Target("front"), into=into, part=part),))
    new = drafted.followed.garment.piece("front")
    longer = new.edge("side").length - given.piece("front").edge("side").length
    assert longer == pytest.approx(part * mouth, abs=1e-9)
    assert [d.id for d in new.darts] == ([] if part == 1.0 else ["dart"])
    seam = next(s for s in drafted.redrawn.seams if s.id == "sides")
    assert seam.stretches[0].kind == into and seam.stretches[0].least == pytest.approx(-longer, abs=1e-9)
    if part < 1.0:
        assert mouth_of(new, new.darts[0]).length == pytest.approx((1 - part) * mouth, abs=1e-9)


def test_a_dart_made_has_equal_legs_and_takes_its_mouth_out_of_the_edge() -> None:
    # Legs sqrt(90^2 + 12^2) = 90.796 mm; a straight edge is sewn 24 mm shorter; worked by hand.
    given = front()
    made = note("dart_made", Target("front", edge="shoulder"), width=24.0, length=90.0, at=0.5)
    _, drafted = redrawn(given, made)
    new = drafted.followed.garment.piece("front")
    (dart,) = new.darts
    mouth = mouth_of(new, dart)
    assert given.edge("shoulder").length - new.edge("shoulder").length == pytest.approx(24.0, abs=1e-9)
    for end in (mouth.start, mouth.end):
        assert math.dist(end, dart.sewn_point) == pytest.approx(90.796, abs=5e-4)
    assert abs(opening_deg(new, dart)) == pytest.approx(2 * math.degrees(math.atan(12 / 90)), abs=1e-9)
    assert new.polygon.area == pytest.approx(given.polygon.area, abs=1e-6)


def test_a_dart_is_not_made_over_a_notch_or_a_corner() -> None:
    given = front()
    over = given.edge("armhole").chain.length_to(0.6)
    for target, width in (
        (Target("front", edge="armhole", across=(Address("armhole", "start", length=over),)), 10.0),
        (Target("front", edge="shoulder"), 99.0),
    ):
        step = draft(alone(given), (note("dart_made", target, width=width),)).followed.steps[0]
        assert not step.done and "does not fit" in step.findings[0].says


@pytest.mark.parametrize("part", [0.5, 0.3])
def test_a_dart_split_in_two_shares_its_angle_about_one_bust_point(part: float) -> None:
    # The angle is conserved and shared; worked by hand.
    given = front(with_dart=True)
    whole = abs(opening_deg(given, given.darts[0]))
    _, drafted = redrawn(given, note("dart_split", Target("front"), part=part, apart=30.0))
    new = drafted.followed.garment.piece("front")
    old, second = new.darts
    assert (old.id, second.id) == ("dart", "note1.dart") and old.bust_point == second.bust_point
    assert abs(opening_deg(new, old)) == pytest.approx((1 - part) * whole, abs=1e-9)
    assert abs(opening_deg(new, second)) == pytest.approx(part * whole, abs=1e-9)
    assert new.edge("side").length == pytest.approx(given.edge("side").length, abs=1e-6)
    between = [r.chain.length for r in new.edge("side").runs if r.dart is None]
    assert any(length == pytest.approx(30.0, abs=1e-6) for length in between)
    for dart in (old, second):
        mouth = mouth_of(new, dart)
        assert math.dist(mouth.start, dart.sewn_point) == pytest.approx(math.dist(mouth.end, dart.sewn_point), abs=1e-6)


@pytest.mark.parametrize(("way", "shift"), [("raise", (0, 15)), ("lower", (0, -15)), ("move to the centre", (-15, 0))])
def test_a_bust_point_is_moved_and_its_dart_keeps_mouth_and_equal_legs(way: str, shift: tuple[float, float]) -> None:
    # Common practice, no source: the dart is slid along its seam in a box, or its legs ruled to the new point.
    given = front(with_dart=True)
    old = given.darts[0]
    one, drafted = redrawn(given, note("bust_point_moved", Target("front"), way=way, amount=15.0))
    new = drafted.followed.garment.piece("front")
    x, y = given.marks[0].point
    assert new.marks[0].point == pytest.approx((x + shift[0], y + shift[1]), abs=1e-9)
    (dart,) = new.darts
    assert mouth_of(new, dart).length == pytest.approx(mouth_of(given, old).length, abs=1e-9)
    wanted = (old.bust_point[0] + shift[0], old.bust_point[1] + shift[1])
    assert math.dist(dart.bust_point, wanted) < 0.1 * 15 + 1.5
    mouth = mouth_of(one, one.darts[0])
    legs = [math.dist(end, one.darts[0].sewn_point) for end in (mouth.start, mouth.end)]
    assert legs[0] == pytest.approx(legs[1], abs=1e-6)
    rise = mouth_of(new, dart).point(0.5)[1] - mouth_of(given, old).point(0.5)[1]
    assert rise == pytest.approx(shift[1], abs=1e-9)
    assert [line.chain for line in new.lines] == [line.chain for line in given.lines]


def test_a_shaped_centre_back_keeps_its_shape_over_a_swayback_tuck() -> None:
    # Common practice, no source: only a straight centre is ruled straight again.
    given = half_back()
    shaped = chain([((0, 712), (8, 480), (16, 240), (0, 0))])
    edges = tuple(edge("fold", EdgeKind.CENTRE_BACK, shaped) if e.id == "fold" else e for e in given.edges)
    one, drafted = redrawn(replace(given, edges=edges), note("swayback", Target("back"), amount=12.0))
    assert not one.edge("fold").chain.is_straight
    assert "keeps its shape" in drafted.followed.steps[0].readings[1]


def test_a_centre_line_grows_with_the_centre_front() -> None:
    # Common practice, no source.
    given = three_slash_front()
    line = Line("centre", "centre line", LineKind.CENTRE, straight((15, 350), (15, 0)))
    drafted = draft(alone(replace(given, lines=(line,))), (bust_note(amount=12.7),))
    new = drafted.followed.garment.piece("front").lines[0].chain
    assert new.start == (15, 350) and new.end == pytest.approx((15, -7.2765), abs=5e-5)
