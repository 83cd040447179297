"""The steps by hand: every number can be taken again, every drawing shows its piece, and the moves give the piece."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import shapely

from geometry.alterations import everything, find
from geometry.by_hand import ByHand, PieceByHand, by_hand
from geometry.cuts import Cut, cuts_kept, parts_of
from geometry.drawing import Recorder
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.handwork import HandStep, Measure, Stage, Taken
from geometry.notes import Note
from geometry.pieces import Edge, Piece, RunKind
from geometry.pipeline import draft
from geometry.sketches import draw_sketch
from geometry.step_sheets import WIDTH_MM, steps_sheet
from tests.alteration_cases import CASES, Case
from tests.geometry.test_trade_values_bust import bust_note, three_slash_front

BY_NAME = {case.name: case for case in CASES}
LONGEST_SENTENCE = 160
FRAME = (0.0, 0.0, 88.0, 66.0)


@cache
def told(name: str) -> ByHand:
    case = BY_NAME[name]
    return by_hand(case.garment, (case.note(),), "note1")


@cache
def stages(name: str) -> dict[Stage, Garment]:
    case = BY_NAME[name]
    drafted = draft(case.garment, (case.note(),))
    return {
        Stage.BEFORE: case.garment,
        Stage.AFTER: drafted.followed.garment,
        Stage.REDRAWN: drafted.redrawn,
    }


def all_steps(name: str) -> list[tuple[PieceByHand, HandStep]]:
    return [(one, step) for one in told(name).pieces for step in one.steps]


def says(name: str, piece: str = "") -> list[str]:
    return [step.says() for one, step in all_steps(name) if piece in ("", one.piece.id)]


# -- what is said ------------------------------------------------------------------------------------------------------


def test_every_alteration_tells_its_own_steps() -> None:
    assert {one.name for one in everything() if one.steps is None} == set()


@pytest.mark.parametrize("name", BY_NAME)
def test_every_piece_that_changes_has_steps_in_short_plain_sentences_with_its_numbers(name: str) -> None:
    changed = stages(name)
    pieces = {p.id for p in changed[Stage.BEFORE].pieces if changed[Stage.AFTER].piece(p.id) is not p}
    assert {one.piece.id for one in told(name).pieces} == pieces
    for one in told(name).pieces:
        assert sum(bool(step.measures) for step in one.steps) >= 2, one.piece.id
        for step in one.steps:
            for system in ("mm", "cm", "in"):
                said = step.says(system)  # type: ignore[arg-type]
                assert len(said) <= LONGEST_SENTENCE, said
                assert said[0].isupper() and said.endswith(".") and "  " not in said and "None" not in said, said
                assert "the the" not in said and "the point marked" not in said, said


@pytest.mark.parametrize("name", BY_NAME)
def test_every_number_of_a_step_can_be_taken_again_from_the_geometry(name: str) -> None:
    for one, step in all_steps(name):
        for measure in (*step.measures, *step.sketch.sizes):
            again = taken_again(BY_NAME[name], one.piece, measure)
            assert measure.mm == pytest.approx(again, abs=0.02), (step.says(), measure)
            assert measure.mm > 0.02, step.says()
            for point in measure.points if measure.taken is Taken.APART else ():
                assert away_from_all_drawn(name, one, point) < 0.5, (step.says(), point)


def taken_again(case: Case, piece: Piece, measure: Measure) -> float:
    """A measure taken anew, along flattened lines and with nothing of the steps' own arithmetic."""
    if measure.taken is Taken.APART:
        (ax, ay), (bx, by) = measure.points
        return measure.part * float(np.hypot(bx - ax, by - ay))
    if measure.taken is Taken.AMOUNT:
        own = [t.amount for t in case.targets if t.piece == piece.id and t.amount is not None]
        amounts = case.note().amounts
        return measure.part * (own[0] if own and not measure.field else float(getattr(amounts, measure.field)))
    if measure.stage is Stage.LAID:
        edge = [cut for cut in cuts_of(case.name) if cut.piece.id == measure.piece][-1].laid.edge(measure.edge)
    else:
        edge = stages(case.name)[measure.stage].piece(measure.piece).edge(measure.edge)
    lines = sewn_lines(edge)
    if measure.taken is Taken.LENGTH:
        return measure.part * (sum(line.length for line in lines) + jogs_of(edge))
    point, before = shapely.Point(measure.points[0]), 0.0
    if measure.end == "end":
        lines = [line.reverse() for line in reversed(lines)]
    for line in lines:
        if line.distance(point) < 0.3:
            return before + line.project(point)
        before += line.length
    raise AssertionError(f"{measure} does not lie on its edge")


def sewn_lines(edge: Edge) -> list[shapely.LineString]:
    return [shapely.LineString(run.chain.flat[0]) for run in edge.runs if run.kind is not RunKind.MOUTH]


def jogs_of(edge: Edge) -> float:
    return sum(math.dist(a.chain.end, b.chain.start) for a, b in zip(edge.runs, edge.runs[1:], strict=False))


def away_from_all_drawn(name: str, one: PieceByHand, point: tuple[float, float]) -> float:
    """How far a point lies from everything that is drawn in the steps of its piece or marked on it (mm)."""
    shapes: list[shapely.Geometry] = [
        shapely.LineString(line.chain.flat[0]) for step in one.steps for line in step.sketch.lines
    ]
    for garment in stages(name).values():
        piece = garment.piece(one.piece.id)
        shapes.append(piece.polygon.exterior)
        shapes += [shapely.Point(dart.bust_point) for dart in piece.darts]
    return min(shape.distance(shapely.Point(point)) for shape in shapes)


def piece_near(name: str, piece_id: str) -> shapely.Geometry:
    """The neighbourhood of a piece: everywhere it lies before and after, and what an amount reaches beyond."""
    shapes = [garment.piece(piece_id).polygon for garment in stages(name).values()]
    return shapely.union_all(shapes).buffer(60.0)


# -- what is drawn -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BY_NAME)
def test_every_drawing_shows_something_near_its_piece_and_stays_in_its_frame(name: str) -> None:
    for one, step in all_steps(name):
        near = piece_near(name, one.piece.id)
        for line in step.sketch.lines:
            assert near.covers(shapely.LineString(line.chain.flat[0])), step.says()
        recorder = Recorder()
        recorder.begin("step", "step")
        draw_sketch(recorder, step.sketch, FRAME)
        recorder.end()
        (drawn,) = recorder.drawings
        assert len(drawn.strokes) >= 2, step.says()
        x0, y0, x1, y1 = drawn.bounds()
        # Tape, an arrow or a letter at the frame may stand a little over it.
        assert x0 > -6 and y0 > -6 and x1 < FRAME[2] + 6 and y1 < FRAME[3] + 6, step.says()


def test_the_sheet_of_a_note_holds_every_step_in_its_width() -> None:
    steps = told("shorten a bodice")
    sheet = steps_sheet(steps)
    count = sum(len(one.steps) for one in steps.pieces)
    assert len(sheet.placed) == count + 1 + len(steps.pieces)
    for placed in sheet.placed:
        x0, y0, x1, y1 = placed.there.bounds()
        assert x0 >= 0 and x1 <= WIDTH_MM and y0 >= 0 and y1 <= sheet.height


# -- the moves ---------------------------------------------------------------------------------------------------------


@cache
def cuts_of(name: str) -> tuple[Cut, ...]:
    case = BY_NAME[name]
    with cuts_kept() as kept:
        find(case.alteration).do(case.garment, case.note().amounts, case.targets, "note1")
    return tuple(kept)


@pytest.mark.parametrize("name", [name for name in BY_NAME if cuts_of(name)])
def test_following_the_moves_on_the_plain_paper_gives_the_jogged_piece(name: str) -> None:
    for cut in cuts_of(name):
        parts = parts_of((cut,), cut.piece.polygon)
        assert sum(part.shape.area for part in parts) == pytest.approx(cut.piece.polygon.area, abs=1.0)
        paper = shapely.union_all([part.moved for part in parts if part.motion is not None])
        # Corners of the steps are bridged straight, so slivers lie over the line there; no more may.
        over = paper.difference(cut.laid.polygon.buffer(0.3))
        assert over.area < 0.01 * paper.area, name
        gap = cut.laid.polygon.difference(paper.buffer(0.3))
        took = [part for part in parts if part.motion is None]
        turned = any(part.motion is not None and not part.motion.stays for part in parts)
        assert turned and (took or gap.area > 1.0)


def test_paper_that_is_folded_out_covers_the_piece_and_nothing_else() -> None:
    (front, back) = cuts_of("shorten a bodice")
    for cut in (front, back):
        parts = parts_of((cut,), cut.piece.polygon)
        paper = shapely.union_all([part.moved for part in parts if part.motion is not None])
        assert paper.symmetric_difference(cut.laid.polygon).area < 30.0
        assert sum(part.shape.area for part in parts if part.motion is None) == pytest.approx(25.0 * 217, rel=0.01)


# -- worked by hand ----------------------------------------------------------------------------------------------------


def test_a_fold_is_half_as_deep_as_what_it_takes_out() -> None:
    # Robinson, ch. 17: a fold T/2 deep removes T; 25 mm is 12.5 deep, 25.4 is 12.7.
    assert "Crease along the second line and bring the crease to the first: the fold is 12.5 mm deep." in says(
        "shorten a bodice", "front"
    )
    assert any("the fold is 12.7 mm deep" in said for said in says("shorten a leaning panel"))
    inches = [step.says("in") for _, step in all_steps("shorten a leaning panel")]
    assert any("the fold is 1/2 in deep" in said for said in inches)


def lengths_in(steps: list[HandStep], words: str) -> list[float]:
    """The lengths of the one step whose sentence holds some words."""
    (found,) = [step for step in steps if words in step.says()]
    return [measure.mm for measure in found.measures]


def steps_of(given: Piece, note: Note) -> list[HandStep]:
    return list(by_hand(Garment("g", "g", (given,)), (note,), note.id).pieces[0].steps)


def test_the_three_slashes_of_a_full_bust_with_their_lengths() -> None:
    # A(90, 200) H(150, 290) D(220, 180), s 12.7: drop 7.2765, mouth 17.7982; a (1 - cos t) + b sin t = s, by hand.
    steps = steps_of(three_slash_front(), bust_note(amount=12.7))
    assert lengths_in(steps, "spread the long cut") == [pytest.approx(12.7, abs=1e-6)]
    assert lengths_in(steps, "The bust point drops") == [pytest.approx(7.2765, abs=5e-4)]
    assert lengths_in(steps, "Rule the bust dart's legs")[0] == pytest.approx(17.7982, abs=5e-4)
    # H to P is the hypotenuse of 60 across and 90 up, P to B of 130 and 20.
    assert lengths_in(steps, "Rule from H to P") == [pytest.approx(math.hypot(60, 90), abs=1e-3)]
    assert lengths_in(steps, "to B on the side") == [pytest.approx(math.hypot(130, 20), abs=1e-3)]


def test_a_swayback_tuck_of_12_mm_is_folded_6_deep_to_nothing_at_the_side() -> None:
    # A fold d deep takes out 2d: common practice, no source.
    steps = [step for one, step in all_steps("swayback at the waist") if one.piece.id == "back"]
    assert lengths_in(steps, "Mark B ") == [pytest.approx(12.0, abs=1e-6)]
    assert lengths_in(steps, "Crease from H to B") == [pytest.approx(6.0, abs=1e-6)]
    # 170 mm up on a straight fold, where the waist line lies.
    assert lengths_in(steps, "Mark A: ") == [pytest.approx(170.0, abs=1e-6)]


def test_a_gape_on_a_half_piece_is_folded_half_of_what_its_piece_loses() -> None:
    # Threads, 2019-03-22: the half pattern laps half of the gape; the neckline loses exactly that, here 6 mm.
    steps = [step for _, step in all_steps("pinch a gaping neckline out at mid-armhole")]
    (apart_mm,) = lengths_in(steps, "Mark B ")
    (deep,) = lengths_in(steps, "Crease from H to B")
    assert apart_mm == pytest.approx(6.0, abs=0.02) and deep == pytest.approx(apart_mm / 2)


def test_a_hip_smaller_by_24_mm_is_marked_6_in_on_each_of_four_edges() -> None:
    # A change is shared over all seam edges (1 in over 4 is 6.35 mm each): Robinson, ch. 17.
    steps = [step for one, step in all_steps("a smaller hip") if one.piece.id == "front"]
    for words in ("at the hip line", "Mark A "):
        assert lengths_in(steps, words)[0] == pytest.approx(24.0 / 4, abs=0.01)


def test_flare_is_shared_over_its_slashes_at_even_distances() -> None:
    # 90 mm over three slashes is 30 mm each, at the quarters of the waist: division.
    steps = [step for _, step in all_steps("add flare to a skirt")]
    assert lengths_in(steps, "spread every cut") == [pytest.approx(30.0)]
    firsts = [step.measures[0].mm for step in steps if "rule straight down to the hem" in step.says()]
    quarter = firsts[0]
    assert firsts == [pytest.approx(quarter), pytest.approx(2 * quarter), pytest.approx(quarter)]


def test_what_cannot_be_told_is_said_in_one_sentence() -> None:
    case = BY_NAME["tuck two armholes"]
    with pytest.raises(PatternError, match="There is no note “note7”; there are note1"):
        by_hand(case.garment, (case.note(),), "note7")
    off = Note("note1", case.alteration, case.note().amounts, case.targets, on=False)
    with pytest.raises(PatternError, match="switched off"):
        by_hand(case.garment, (off,), "note1")
    with pytest.raises(PatternError, match="Not done"):
        by_hand(case.garment, (case.note(amount=60.0, height=150.0),), "note1")
