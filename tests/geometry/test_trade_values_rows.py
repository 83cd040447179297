"""Rules and values of the trade that no single alteration owns, through the functions a user reaches."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from geometry.alterations import everything, find
from geometry.garments import EdgeRef, Garment, Match, Seam, Stretch, StretchKind
from geometry.lines import straight
from geometry.notes import Address, Target
from geometry.pieces import EdgeKind, LineKind, MarkKind, Notch, Place
from geometry.pipeline import draft
from sample_pieces.drafting.waistcoat import waistcoat
from tests.canon import bodice, edge, front, leaning, sleeve
from tests.geometry.test_trade_values import alone, note, redrawn

INCH = 25.4
BOTH = (Target("front"), Target("back"))


def test_length_comes_first_then_shoulders_then_bust_and_downwards() -> None:
    # Common practice, no source.
    order = {alteration.name: alteration.order for alteration in everything()}
    assert min(order, key=lambda name: order[name]) == "shorten_or_lengthen"
    downwards = ["forward_shoulder", "full_or_small_bust", "swayback", "waist_size", "hip_size", "seat", "leg_width"]
    assert [order[name] for name in downwards] == sorted(order[name] for name in downwards)


def test_lengthened_by_an_inch_the_halves_of_the_grainline_are_one_line() -> None:
    # Cut, spread T, the halves of the grainline collinear: Robinson, ch. 17, Central Washington University. Two crosses
    # 100 mm apart across the line end 125.4 mm apart, the grainline of 280 mm is 305.4 mm long: addition.
    new, drafted = redrawn(leaning(10), note("shorten_or_lengthen", Target("panel"), way="lengthen", amount=INCH))
    low, high = (mark.point for mark in new.marks)
    assert math.dist(low, high) == pytest.approx(125.4, abs=1e-9)
    grain = new.line(LineKind.GRAIN)
    assert grain is not None and grain.chain.is_straight
    assert grain.chain.length == pytest.approx(305.4, abs=1e-9)
    assert grain.chain.start[0] == pytest.approx(grain.chain.end[0], abs=1e-9)
    assert drafted.followed.steps[0].strips[0].added


def two_panels() -> Garment:
    """A front leaning 5 degrees and a back leaning 10, sides sewn, both 406.17 mm long, lines at the same height."""
    panels = []
    for name, degrees in (("front", 5.0), ("back", 10.0)):
        given = leaning(degrees, 406.1706 * math.cos(math.radians(degrees)))
        panels.append(replace(given, id=name, name=name))
    seam = Seam("sides", "side seam", (EdgeRef("front", "side"),), (EdgeRef("back", "side"),), sewn=1)
    return Garment("skirt", "skirt", tuple(panels), (seam,))


def test_sides_that_lean_differently_are_reported_apart_after_shortening() -> None:
    # H 400, T 25.4: 380.874 and 381.182 mm from 406.17 both, 0.31 mm apart; worked by hand.
    drafted = draft(two_panels(), (note("shorten_or_lengthen", *BOTH, amount=INCH),))
    (before,), (after,) = drafted.before, drafted.after
    assert before.difference_mm == pytest.approx(0.0, abs=1e-9)
    assert (after.first_mm, after.second_mm) == pytest.approx((380.874, 381.182), abs=1e-3)
    assert after.difference_mm == pytest.approx(0.308, abs=1e-3) and after.verdict == "true"


def test_a_notch_on_the_line_moves_with_the_half_that_carries_its_seam_and_its_partner_with_it() -> None:
    # Common practice, no source. The notches stand on the line at 240 mm; 20 mm are taken out above it.
    garment = bodice()
    pieces = []
    for name in ("front", "back"):
        given = garment.piece(name)
        u = given.edge("side").chain.crossings((0.0, 240.0), (1.0, 0.0))[0]
        on_line = Notch("line.notch", "line notch", Place("side", 0, u))
        pieces.append(replace(given, notches=(*given.notches, on_line)))
    sides = garment.seams[0]
    matches = (*sides.matches, Match("line", "front", "line.notch", "back", "line.notch"))
    garment = replace(garment, pieces=tuple(pieces), seams=(replace(sides, matches=matches), *garment.seams[1:]))
    for side, low in (("away from the hem", 240.0), ("towards the hem", 240.0)):
        drafted = draft(garment, (note("shorten_or_lengthen", *BOTH, amount=20.0, side=side),))
        heights = []
        for name in ("front", "back"):
            new = drafted.redrawn.piece(name)
            (notch,) = [one for one in new.notches if one.id == "line.notch"]
            heights.append(new.point_at(notch.place)[1])
        assert heights[0] == pytest.approx(heights[1], abs=1e-6)
        # It stays with the line, on whichever side the strip lies.
        assert heights[0] == pytest.approx(low, abs=0.5)
        (walked,) = [w for w in drafted.after if w.seam == "sides"]
        pair = next(one for one in walked.notches if one.name == "line")
        assert pair.first_at == pytest.approx(pair.second_at, abs=1e-6)


def test_a_quarter_inch_pinched_out_of_a_gaping_armhole_is_where_it_starts() -> None:
    # A small pinch of 1/4 in (6 mm) is routine: common practice, no source.
    assert find("armhole_gapes").fields()["amount"].default == 6.0


def test_a_front_pinched_by_p_and_a_back_by_q_leave_the_cap_p_and_q_more_ease() -> None:
    # Addition: common practice, no source. Drawn smooth again the armholes give a little of it back.
    garment = bodice()
    sewn = (EdgeRef("front", "armhole"), EdgeRef("back", "armhole", True))
    cap = Seam("caps", "sleeve to armhole", sewn, (EdgeRef("sleeve", "cap"),))
    pieces = (front(with_dart=True), garment.piece("back"), sleeve())
    garment = replace(garment, pieces=pieces, seams=(*garment.seams, cap))
    to_dart = note("armhole_gapes", Target("front"), amount=6.0, at=0.3)
    to_centre = Target("back", across=(Address("fold", "start", length=150.0),))
    run_out = note("armhole_gapes", to_centre, note_id="note2", amount=4.0, into="run out at another edge")
    drafted = draft(garment, (to_dart, run_out))
    assert all(step.done for step in drafted.followed.steps)
    before, after = (next(w for w in walks if w.seam == "caps") for walks in (drafted.before, drafted.after))
    assert after.difference_mm - before.difference_mm == pytest.approx(10.0, abs=0.2)


def test_a_pinch_that_leaves_a_step_in_the_armhole_says_that_it_comes_out_less_short() -> None:
    # Follows from geometry: a wedge nearly along the armhole takes its amount out lengthwise and leaves a step across.
    across = Target("front", across=(Address("hem", "start", length=150.0),))
    pinch = note("armhole_gapes", across, amount=6.0, at=0.3, into="run out at another edge")
    _, drafted = redrawn(front(), pinch)
    assert [finding.code for finding in drafted.followed.steps[0].findings] == ["armhole-slants"]
    for at, codes in ((0.3, []), (0.6, ["armhole-slants"])):
        _, drafted = redrawn(front(with_dart=True), note("armhole_gapes", Target("front"), amount=6.0, at=at))
        assert [finding.code for finding in drafted.followed.steps[0].findings] == codes


def test_buttons_below_the_slash_follow_the_centre_front_of_a_full_bust() -> None:
    # Centre front, and what stands on it, by what the bust point drops: geometry, worked by hand from the bust points.
    garment = waistcoat()
    drafted = draft(garment, (note("full_or_small_bust", Target("front"), amount=12.7),))
    old, new = garment.piece("front"), drafted.redrawn.piece("front")
    drop = old.darts[0].bust_point[1] - new.darts[0].bust_point[1]
    longer = new.edge("front.edge").length - old.edge("front.edge").length
    assert drop > 5.0 and longer == pytest.approx(drop, abs=1e-6)
    moved = {
        mark.id: (before.point[0] - mark.point[0], before.point[1] - mark.point[1])
        for before, mark in zip(old.marks, new.marks, strict=True)
        if mark.kind is MarkKind.DOT and "button" in mark.id
    }
    assert len(moved) == 5
    steps = [moved[name][1] for name in sorted(moved)]
    # Each stays or drops by the whole, those below the slash from the centre.
    assert steps[0] == pytest.approx(0.0, abs=1e-9) and steps[-1] == pytest.approx(drop, abs=1e-6)
    assert all(min(abs(step), abs(step - drop)) < 1e-6 for step in steps)
    assert all(across == pytest.approx(0.0, abs=1e-9) for across, _ in moved.values())


def test_a_swayback_tuck_is_a_quarter_inch_to_an_inch_deep() -> None:
    # 6 to 25 mm: common practice, no source; what it starts from lies within, and a note may ask for it all.
    field = find("swayback").fields()["amount"]
    assert 6.0 <= field.default <= 25.0 and field.least <= 6.0 and field.most >= 25.0


@pytest.mark.parametrize(("back_longer", "verdict"), [(0.0, "true"), (5.0, "ease"), (6.0, "ease"), (-5.0, "fault")])
def test_a_back_shoulder_may_be_a_quarter_inch_longer_and_never_the_front(back_longer: float, verdict: str) -> None:
    # Every Woman's Encyclopaedia vol. 4, c. 1911: 1/4 in (6 mm) longer, eased in; the other way round is an error.
    garment = bodice()
    given = garment.piece("back")
    x, y = given.edge("shoulder").end
    tip = given.edge("shoulder").start
    way = ((tip[0] - x) / math.dist(tip, (x, y)), (tip[1] - y) / math.dist(tip, (x, y)))
    out = (tip[0] + back_longer * way[0], tip[1] + back_longer * way[1])
    armhole = edge("armhole", EdgeKind.ARMHOLE, straight(given.edge("armhole").start, out))
    shoulder = edge("shoulder", EdgeKind.SHOULDER, straight(out, (x, y)))
    others = tuple(notch for notch in given.notches if notch.place.edge == "side")
    by_id = {"armhole": armhole, "shoulder": shoulder}
    longer = replace(given, notches=others, edges=tuple(by_id.get(one.id, one) for one in given.edges))
    eased = replace(garment.seams[1], stretches=(Stretch(StretchKind.EASED, 0.0, 6.0),))
    drafted = draft(replace(garment, pieces=(garment.piece("front"), longer), seams=(garment.seams[0], eased)), ())
    (walked,) = [w for w in drafted.after if w.seam == "shoulders"]
    assert walked.difference_mm == pytest.approx(back_longer, abs=1e-9)
    assert walked.verdict == verdict


def test_a_dart_s_point_is_set_back_half_an_inch_to_an_inch_and_a_half() -> None:
    # 12 to 40 mm: common practice, no source; what a turned dart starts from lies within.
    assert 12.0 <= find("dart_turned").fields()["back"].default <= 40.0


def test_a_corner_on_the_fold_is_square_within_a_degree_or_it_is_said() -> None:
    # 90 +/- 1 degrees, or the opened piece shows a point: common practice, no source; geometry.
    for degrees, said in ((0.9, False), (1.1, True)):
        drop = 222.0 * math.tan(math.radians(degrees))
        target = Target("front", across=(Address("side", "start", length=0.0),))
        lowered = note("move_a_corner", target, way="down", along_centre=drop)
        drafted = draft(alone(front()), (lowered,))
        found = [finding for finding in drafted.findings if finding.code == "corner" and "at the fold" in finding.says]
        assert bool(found) == said


@pytest.mark.parametrize(("way", "sign"), [("full bust", 1), ("small bust", -1)])
def test_the_bust_line_stays_level_and_as_far_from_the_bust_point(way: str, sign: int) -> None:
    # A level line is level, and the bust line is the one through the bust: common practice, no source. It is wider by
    # the amount: the waistcoat's bust line runs through its bust point, and grows by what the note gives there.
    garment = waistcoat()
    drafted = draft(garment, (note("full_or_small_bust", Target("front"), way=way, amount=6.0),))
    old, new = garment.piece("front"), drafted.followed.garment.piece("front")
    lines, points = [], []
    for given in (old, new):
        line = given.line(LineKind.BUST)
        assert line is not None and line.chain.start[1] == pytest.approx(line.chain.end[1], abs=1e-9)
        lines.append(line.chain)
        points.append(next(mark.point for mark in given.marks if mark.kind is MarkKind.BUST_POINT))
    assert lines[1].start[1] - points[1][1] == pytest.approx(lines[0].start[1] - points[0][1], abs=1e-9)
    assert (points[1][1] - points[0][1]) * sign < 0
    assert lines[1].start[0] == pytest.approx(lines[0].start[0], abs=1e-9)
    assert lines[1].length - lines[0].length == pytest.approx(sign * 6.0, abs=1.5)
