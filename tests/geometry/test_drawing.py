"""What is drawn of a piece: every mark, true curves, lettering clear of every line, the recorder."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from app.fonts import BOLD, PLAIN, font_bytes
from geometry import letter_widths
from geometry.drawing import LOOKS, Drawing, Recorder, Role, Stroke, Style, Words, draw_before, draw_piece, draw_strip
from geometry.lettering import Lettering, cutting_words, edge_words
from geometry.lines import arc, flatten
from geometry.motions import Motion, mirror, slide
from geometry.pens import SKETCHED
from geometry.pieces import Cloth, Cutting, Layout
from geometry.sameness import same
from geometry.stages import Strip
from geometry.strokes import DOUBLE_MM, hatching, notch_strokes, outline_of
from geometry.thinning import gap_between
from tests import canon, drawn


def of_role(drawing: Drawing, role: Role) -> list[Stroke]:
    return [stroke for stroke in drawing.strokes if stroke.role is role]


def shape(stroke: Stroke) -> shapely.LineString:
    return shapely.LineString(flatten(stroke.chain, 0.02)[0])


@pytest.mark.parametrize("index", range(4))
def test_stitching_and_cutting_line_are_the_curves_themselves(index: int) -> None:
    cut, drawing = drawn.cuts()[index], drawn.drawings()[index]
    (stitch,), (cutting,) = of_role(drawing, Role.STITCH), of_role(drawing, Role.CUT)
    assert stitch.closed and cutting.closed
    assert gap_between(stitch.chain, outline_of(cut.piece)) < 1e-9
    assert cutting.chain is cut.cutting
    assert len(stitch.chain) == sum(len(edge.chain) for edge in cut.piece.edges), "nothing may be flattened"


def test_every_kind_of_mark_is_drawn() -> None:
    front, _, sleeve, _ = drawn.drawings()
    found = {stroke.role for stroke in (*front.strokes, *sleeve.strokes)}
    elsewhere = {Role.TITLE, Role.INSTRUCTIONS, Role.LABEL, Role.BEFORE, Role.STRIP, Role.SQUARE}
    elsewhere |= {Role.SHADE, Role.SIZE}
    assert found == set(Role) - SKETCHED - elsewhere
    assert {"grainline", "placket", "cuff turn line", "elbow patch", "greatest stretch", "pleat dot"} <= {
        stroke.name for stroke in sleeve.strokes
    }


@pytest.mark.parametrize("index", range(4))
def test_lettering_is_clear_of_every_line_and_every_other_word(index: int) -> None:
    drawing = drawn.drawings()[index]
    boxes = [shapely.Polygon(words.box()) for words in drawing.words]
    for number, (box, words) in enumerate(zip(boxes, drawing.words)):
        touched = [s.name for s in drawing.strokes if shape(s).intersects(box)]
        assert not touched, f"“{words.words}” lies over {touched}"
        assert not any(box.intersects(other) for other in boxes[:number]), words.words
        assert words.height_mm >= 1.8


@pytest.mark.parametrize("index", range(4))
def test_everything_that_has_a_name_is_lettered(index: int) -> None:
    piece, drawing = drawn.cuts()[index].piece, drawn.drawings()[index]
    said = [words.words for words in drawing.words]
    size = [f"size {piece.size}"] if piece.size else []
    block = [piece.name, *size, *(cutting_words(one) for one in piece.cutting)]
    assert said[: len(block)] == block, "name, size and cutting instructions stand together, in this order"
    for name in [line.name for line in piece.lines] + [mark.name for mark in (*piece.marks, *piece.darts)]:
        assert name in said
    for edge in piece.edges:
        if edge.on_fold:
            assert "place on fold" in said
        else:
            assert any(words.startswith(f"{edge.name}, ") and words.endswith("allowance") for words in said)


def test_no_lettering_is_found_out_when_a_line_is_laid_through_it() -> None:
    """The check above can fail: a line through the name is seen."""
    drawing = drawn.drawings()[0]
    title = next(words for words in drawing.words if words.role is Role.TITLE)
    through = shapely.LineString([(title.at[0] - 50, title.at[1]), (title.at[0] + 50, title.at[1])])
    assert through.intersects(shapely.Polygon(title.box()))


def test_cutting_instructions_in_words() -> None:
    assert cutting_words(Cutting(Cloth.SELF, Layout.ON_FOLD)) == "cut 1 on fold, self"
    assert cutting_words(Cutting(Cloth.LINING, Layout.PAIR)) == "cut 1 pair, lining"
    assert cutting_words(Cutting(Cloth.SELF, Layout.PAIR, 2)) == "cut 2 pairs, self"
    assert cutting_words(Cutting(Cloth.INTERFACING, Layout.SINGLE, 3)) == "cut 3, interfacing"
    hem = canon.front().edge("hem")
    assert edge_words(hem, 0.0, str) == "hem, no allowance"


def test_nick_is_three_millimetres_deep_and_never_past_half_the_allowance() -> None:
    """Notches are cut 2-3 mm deep, never past half the allowance (common practice, no source)."""
    cut = drawn.cuts()[0]
    for stroke, carried in zip(notch_strokes(cut), cut.notches):
        assert stroke.chain.length == pytest.approx(3.0)
        assert math.dist(stroke.chain.start, carried.at_cut) < 1e-9
    at_four = [(n.at_stitch[0] + 4 * n.outward[0], n.at_stitch[1] + 4 * n.outward[1]) for n in cut.notches]
    narrow = replace(cut, notches=tuple(replace(n, at_cut=at) for n, at in zip(cut.notches, at_four)))
    assert [stroke.chain.length for stroke in notch_strokes(narrow)] == pytest.approx([2.0, 2.0])


def test_notch_styles_and_doubles() -> None:
    cut = drawn.cuts()[2]
    strokes = {name: [s for s in notch_strokes(cut) if s.name == name] for name in ("front notch", "back notch")}
    (v_out,) = strokes["front notch"]
    tip = v_out.chain.cubics[0, 3]
    assert not shapely.Polygon(flatten(cut.cutting, 0.02)[0]).contains(shapely.Point(tip)), "a V stands outward"
    first, second = strokes["back notch"]
    assert first.chain.length == pytest.approx(15.0, abs=0.005), "a line runs across the allowance"
    for stroke in (first, second):
        assert cut.cutting.nearest(stroke.chain.start)[1] < 0.02
        assert outline_of(cut.piece).nearest(stroke.chain.end)[1] < 0.02
    assert math.dist(first.chain.start, second.chain.start) == pytest.approx(DOUBLE_MM, abs=0.1)


def test_no_nick_where_nothing_may_be_cut_in() -> None:
    cut = drawn.cuts()[0]
    bound = replace(cut, notches=tuple(replace(n, at_cut=n.at_stitch, nick=False) for n in cut.notches))
    inside = shapely.Polygon(flatten(outline_of(cut.piece), 0.02)[0])
    for stroke in notch_strokes(bound):
        assert not inside.buffer(-0.05).intersects(shape(stroke))


def test_notches_without_a_cutting_line_stand_out_from_the_stitching_line() -> None:
    cut = replace(drawn.cuts()[2], cutting=None, notches=())
    strokes = list(notch_strokes(cut))
    assert len(strokes) == 4 and all(stroke.chain.length == pytest.approx(4.0) for stroke in strokes)
    recorder = Recorder()
    draw_piece(recorder, cut, style=Style(stitching=False))
    assert of_role(recorder.drawings[0], Role.STITCH), "a piece is never drawn without an outline"


def test_dart_legs_run_from_the_mouth_to_the_sewn_point() -> None:
    piece, drawing = drawn.cuts()[0].piece, drawn.drawings()[0]
    (dart,) = piece.darts
    legs = of_role(drawing, Role.DART)[0].chain
    mouth = next(run.chain for run in piece.edge(dart.edge).runs if run.dart == dart.id)
    assert (legs.start, legs.point(1.0), legs.end) == (mouth.start, dart.sewn_point, mouth.end)


def test_as_traced_lies_under_the_piece_and_strips_are_hatched() -> None:
    strip = Strip("front", np.array([(0.0, 200.0), (200.0, 200.0), (200.0, 225.0), (0.0, 225.0)]), False)
    recorder = Recorder()
    draw_piece(recorder, drawn.cuts()[0], before=canon.front(), strips=[strip])
    (drawing,) = recorder.drawings
    assert drawing.strokes[0].role is Role.BEFORE and drawing.strokes[0].closed
    assert len(of_role(drawing, Role.STRIP)) > 20
    alone = Recorder()
    alone.begin("front", "Front")
    draw_before(alone, canon.front())
    draw_strip(alone, replace(strip, added=True))
    alone.end()
    rays = [stroke.chain for stroke in of_role(alone.drawings[0], Role.STRIP)[1:]]
    assert all(ray.start_tangent[0] * ray.start_tangent[1] < 0 for ray in rays), "added: hatched the other way"


def test_hatching_covers_evenly() -> None:
    """Lines d apart across an area A have a length of A / d in all, whichever way they run (Cauchy and Crofton)."""
    square = np.array([(0.0, 0.0), (90.0, 0.0), (90.0, 60.0), (0.0, 60.0)])
    for angle in (0.0, 45.0, 135.0):
        total = sum(math.dist(*ray) for ray in hatching(square, spacing=0.5, angle_deg=angle))
        assert total == pytest.approx(90 * 60 / 0.5, rel=0.01)


@pytest.mark.parametrize("motion", canon.MOTIONS.values(), ids=canon.MOTIONS.keys())
def test_moving_a_drawing_moves_every_stroke_and_box(motion: Motion) -> None:
    drawing = drawn.drawings()[2]
    moved = drawing.moved(motion)
    for old, new in zip(drawing.strokes, moved.strokes):
        assert same(motion.points(old.chain.cubics), new.chain.cubics)
    for old_words, new_words in zip(drawing.words, moved.words):
        there = shapely.Polygon(motion.points(old_words.box()))
        assert there.symmetric_difference(shapely.Polygon(new_words.box())).area < 1e-6


def test_lettering_is_never_mirror_writing_nor_on_its_head() -> None:
    words = Words(Role.LABEL, (10.0, 20.0), "side seam", 3.0, 80.0, "start")
    flipped = words.moved(mirror((0.0, 0.0), (0.0, 1.0)))
    assert -90 < flipped.angle_deg <= 90
    half_turn = words.moved(Motion(-1.0, 0.0, 0.0, -1.0))
    assert half_turn.angle_deg == pytest.approx(80.0) and half_turn.anchor == "end"


def test_a_recorded_drawing_makes_the_same_calls_again() -> None:
    recorder = Recorder()
    drawn.drawings()[0].draw(recorder)
    again = recorder.drawings[0]
    assert same(again.strokes, drawn.drawings()[0].strokes, 0.0) and again.words == drawn.drawings()[0].words


def test_bounds_hold_everything_and_no_more() -> None:
    recorder = Recorder()
    recorder.begin("ring", "ring")
    recorder.closed(Role.CUT, arc((50.0, 40.0), 30.0, 0.0, 360.0))
    recorder.end()
    assert recorder.drawings[0].bounds() == pytest.approx((20.0, 10.0, 80.0, 70.0), abs=0.01)
    moved = recorder.drawings[0].moved(slide(5.0, -5.0))
    assert moved.bounds() == pytest.approx((25.0, 5.0, 85.0, 65.0), abs=0.01)


def test_a_tiny_piece_has_its_instructions_beside_it() -> None:
    tab = canon.piece(
        "tab",
        canon.edge("a", canon.EdgeKind.OTHER, canon.straight((0, 0), (20, 0))),
        canon.edge("b", canon.EdgeKind.OTHER, canon.straight((20, 0), (20, 15))),
        canon.edge("c", canon.EdgeKind.OTHER, canon.straight((20, 15), (0, 15))),
        canon.edge("d", canon.EdgeKind.OTHER, canon.straight((0, 15), (0, 0))),
    )
    recorder = Recorder()
    draw_piece(recorder, drawn.cut(tab))
    (drawing,) = recorder.drawings
    title = next(words for words in drawing.words if words.role is Role.TITLE)
    assert title.words == "tab"
    assert not any(shape(s).intersects(shapely.Polygon(title.box())) for s in drawing.strokes)


def test_what_is_lettered_can_be_chosen() -> None:
    recorder = Recorder()
    draw_piece(recorder, drawn.cuts()[0], style=Style(lettering=None))
    draw_piece(recorder, drawn.cuts()[0], style=Style(lettering=Lettering(edges=False, lines=False, more=("toile 2",))))
    assert not recorder.drawings[0].words
    assert {words.role for words in recorder.drawings[1].words} == {Role.TITLE, Role.INSTRUCTIONS}
    assert "toile 2" in [words.words for words in recorder.drawings[1].words]


def test_every_role_has_a_look_and_greys_stand_out() -> None:
    """Lines need a contrast of 3:1 (WCAG 2.2, 1.4.11), also on shading, and lettering on it 4.5:1; relative luminance
    as defined there."""
    assert set(LOOKS) == set(Role)
    shade = luminance(LOOKS[Role.SHADE].grey)
    assert (shade + 0.05) / (luminance(0.0) + 0.05) >= 4.5
    for look in LOOKS.values():
        assert look.filled or (shade + 0.05) / (luminance(look.grey) + 0.05) >= 3.0


def luminance(grey: float) -> float:
    return grey / 12.92 if grey <= 0.04045 else ((grey + 0.055) / 1.055) ** 2.4


def test_dashes_or_shape_tell_lines_apart_without_colour() -> None:
    long_lines = [Role.CUT, Role.STITCH, Role.DART, Role.GUIDE, Role.PLACEMENT, Role.TURN, Role.BEFORE, Role.STRETCH]
    patterns = [LOOKS[role].dashes for role in long_lines]
    assert len(set(patterns)) == len(patterns)


@pytest.mark.parametrize(("name", "bold"), [(PLAIN, False), (BOLD, True)])
def test_widths_of_letters_are_those_of_the_typeface(name: str, bold: bool) -> None:
    """Against the committed DejaVu file, read by reportlab's TrueType reader."""
    import io

    from reportlab.pdfbase.ttfonts import TTFont

    face = TTFont(f"check {name}", io.BytesIO(font_bytes(name))).face
    letters = "".join(chr(code) for code in [*range(32, 127), *range(161, 256)]) + "–—‘’“”•→"
    size_mm = 1.0 / letter_widths.CAPITALS
    for letter, width in zip(letters, letter_widths.advances_mm(letters, 1.0, bold=bold)):
        assert width / size_mm == pytest.approx(face.charWidths[ord(letter)] / 1000, abs=6e-4), letter
