"""Pages of a sheet: sizes, numbering, which are skipped, and that they put the sheet together again."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.arranging import arrange
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.errors import PatternError
from geometry.lines import flatten, polyline, straight
from geometry.motions import Motion
from geometry.papers import A4, LETTER, PAPERS, Paper
from geometry.sheets import APART_MM, Sheet, SheetSettings, beside, own_part, page_name, page_records, tile
from tests import drawn

SETTINGS = [SheetSettings(A4), SheetSettings(LETTER, overlap_mm=10.0), SheetSettings(A4, 10.0, 15.0, landscape=True)]


def box_drawing(piece_id: str, wide: float, high: float) -> Drawing:
    outline = polyline([(0, 0), (wide, 0), (wide, high), (0, high), (0, 0)])
    return Drawing(piece_id, piece_id, (Stroke(Role.CUT, outline, True, piece_id),), ())


def covered(placed: Placed) -> shapely.Geometry:
    outer = next(stroke for stroke in placed.there.strokes if stroke.role is Role.CUT)
    lines = [shapely.LineString(flatten(stroke.chain, 0.05)[0]) for stroke in placed.there.strokes]
    words = [shapely.Polygon(one.box()) for one in placed.there.words]
    return shapely.union_all([shapely.Polygon(flatten(outer.chain, 0.05)[0]), *lines, *words])


def test_papers_are_those_of_the_standards() -> None:
    """A0 to A4 by ISO 216; Letter and Tabloid, sizes A and B, by ANSI/ASME Y14.1; Legal: common practice, no source."""
    millimetres = {"a4": (210, 297), "a3": (297, 420), "a2": (420, 594), "a1": (594, 841), "a0": (841, 1189)}
    inches = {"letter": (8.5, 11), "legal": (8.5, 14), "tabloid": (11, 17)}
    wanted = millimetres | {name: (25.4 * wide, 25.4 * high) for name, (wide, high) in inches.items()}
    for name, size in wanted.items():
        assert (PAPERS[name].width_mm, PAPERS[name].height_mm) == pytest.approx(size), name
    assert set(PAPERS) == {*wanted, "a4-and-letter"}


def test_the_page_for_both_papers_fits_either() -> None:
    """No wider than A4 and no higher than Letter; what is printed is 180 x 249.4 mm, clear of either paper's edges."""
    both = SheetSettings(PAPERS["a4-and-letter"], PAPERS["a4-and-letter"].margin_mm)
    assert both.page == (A4.width_mm, LETTER.height_mm)
    assert both.live == pytest.approx((180.0, 249.4))


def test_page_names_are_row_letter_and_column_number() -> None:
    assert [page_name(1, 1), page_name(2, 3), page_name(26, 1), page_name(27, 12)] == ["A1", "B3", "Z1", "AA12"]


@pytest.mark.parametrize("settings", SETTINGS)
def test_pages_put_the_sheet_together_again(settings: SheetSettings) -> None:
    """Every line of the sheet, within 1e-6 mm: what each page shows of it, laid back by the page's origin."""
    sheet = drawn.arranged(settings)
    lines = [shapely.LineString(flatten(s.chain, 0.01)[0]) for one in sheet.placed for s in one.there.strokes]
    whole = shapely.union_all(lines)
    shown = []
    for page in tile(sheet, settings):
        if page.skipped:
            continue
        live = shapely.box(0, 0, *settings.live)
        on_page = shapely.transform(whole, lambda points, at=page.origin: points - at)
        shown.append(shapely.transform(shapely.intersection(on_page, live), lambda points, at=page.origin: points + at))
    assert shapely.union_all(lines).difference(shapely.union_all(shown).buffer(1e-6)).length < 1e-6


@pytest.mark.parametrize("settings", SETTINGS)
def test_every_page_is_printed_that_holds_a_line_and_no_other(settings: SheetSettings) -> None:
    sheet = drawn.arranged(settings)
    pages = tile(sheet, settings)
    rows, columns = pages[-1].row, pages[-1].column
    assert [(page.row, page.column) for page in pages] == list(
        itertools.product(range(1, rows + 1), range(1, columns + 1))
    )
    assert [page.number for page in pages if not page.skipped] == list(range(1, sum(not p.skipped for p in pages) + 1))
    outlines = {
        one.drawing.name: shapely.union_all([shapely.LineString(flatten(s.chain, 0.01)[0]) for s in one.there.strokes])
        for one in sheet.placed
    }
    for page in pages:
        part = shapely.box(*own_part(page.row, page.column, rows, columns, settings))
        with_lines = {name for name, lines in outlines.items() if lines.intersects(part)}
        assert with_lines <= set(page.pieces)
        if page.skipped:
            assert not with_lines


@pytest.mark.parametrize("settings", SETTINGS)
def test_neighbours_share_the_overlap(settings: SheetSettings) -> None:
    sheet = drawn.arranged(settings)
    pages = {page.name: page for page in tile(sheet, settings)}
    wide, high = settings.live
    for page in pages.values():
        x, y = page.origin
        if page.right:
            assert pages[page.right].origin == pytest.approx((x + wide - settings.overlap_mm, y))
            assert pages[page.right].left == page.name
        if page.below:
            assert pages[page.below].origin == pytest.approx((x, y - high + settings.overlap_mm))
            assert pages[page.below].above == page.name


@pytest.mark.parametrize("settings", SETTINGS)
def test_pieces_keep_apart_and_on_the_sheet(settings: SheetSettings) -> None:
    """Whatever is drawn of a piece, its area filled, stays clear of every other piece, words included."""
    sheet = drawn.arranged(settings)
    boxes = [shapely.box(*one.there.bounds()) for one in sheet.placed]
    for one, other in itertools.combinations([covered(placed) for placed in sheet.placed], 2):
        assert one.distance(other) >= APART_MM - 1e-6
    assert all(shapely.box(0, 0, sheet.width, sheet.height).contains(box) for box in boxes)
    assert [one.piece_id for one in sheet.placed] == [drawing.piece_id for drawing in drawn.drawings()]


@pytest.mark.parametrize("settings", SETTINGS)
def test_an_arrangement_is_the_same_each_time_and_needs_no_more_pages_than_the_pieces_in_a_row(
    settings: SheetSettings,
) -> None:
    first, second = drawn.arranged(settings), arrange(drawn.drawings(), settings)
    assert [one.motion for one in first.placed] == [one.motion for one in second.placed]
    in_a_row = beside(drawn.drawings(), APART_MM)
    needed = sum(not page.skipped for page in tile(first, settings))
    assert needed <= sum(not page.skipped for page in tile(in_a_row, settings))
    own_area = settings.step[0] * settings.step[1]
    least = sum(shapely.Polygon(flatten(cut.cutting, 0.1)[0]).area for cut in drawn.cuts() if cut.cutting) / own_area
    assert needed >= least, "fewer pages than the pieces have paper cannot be"


def test_a_piece_that_fits_one_page_is_laid_on_one_page() -> None:
    settings = SheetSettings(A4)
    for wide, high in ((150.0, 250.0), (250.0, 150.0), (180.0, 270.0)):
        sheet = arrange([box_drawing("pocket", wide, high), box_drawing("flap", wide, high)], settings)
        assert sum(not page.skipped for page in tile(sheet, settings)) == 2


def grained(one: Drawing) -> Drawing:
    """The same box with a grainline on it, which is laid by quarter turns alone."""
    x0, y0, x1, y1 = one.bounds()
    line = Stroke(Role.GRAIN, straight(((x0 + x1) / 2, y0), ((x0 + x1) / 2, y1)), False, "grainline")
    return replace(one, strokes=(*one.strokes, line))


def boxes_lie_clear_of_each_other(sizes: list[tuple[float, float]], on: SheetSettings, *, with_grain: bool) -> None:
    drawings = [box_drawing(f"box{i}", *size) for i, size in enumerate(sizes)]
    sheet = arrange([grained(one) for one in drawings] if with_grain else drawings, on)
    outlines = [shapely.Polygon(one.there.strokes[0].chain.cubics[:, 0]) for one in sheet.placed]
    assert all(one.distance(other) >= APART_MM - 1e-6 for one, other in itertools.combinations(outlines, 2))
    assert all(shapely.box(0, 0, sheet.width, sheet.height).contains(one) for one in outlines)
    for (wide, high), one in zip(sizes, sheet.placed):
        x0, y0, x1, y1 = one.drawing.moved(replace(one.motion, e=0.0, f=0.0)).bounds()
        across = sorted((x1 - x0, y1 - y0)) if with_grain else sorted(one.drawing.bounds()[2:])
        assert across == pytest.approx(sorted((wide, high)), abs=1e-6)
        assert one.motion.a**2 + one.motion.b**2 == pytest.approx(1.0) and not one.motion.mirrors


BOXES = st.lists(st.tuples(st.floats(5, 600), st.floats(5, 600)), min_size=1, max_size=5)


@settings(max_examples=10)
@given(BOXES, st.sampled_from(SETTINGS))
def test_any_boxes_are_laid_clear_of_each_other(sizes: list[tuple[float, float]], on: SheetSettings) -> None:
    boxes_lie_clear_of_each_other(sizes, on, with_grain=True)


@settings(max_examples=3)
@given(BOXES, st.sampled_from(SETTINGS))
def test_any_boxes_that_turn_freely_are_laid_clear(sizes: list[tuple[float, float]], on: SheetSettings) -> None:
    boxes_lie_clear_of_each_other(sizes, on, with_grain=False)


@pytest.mark.long
@settings(max_examples=60)
@given(BOXES, st.sampled_from(SETTINGS), st.booleans())
def test_many_boxes_are_laid_clear(sizes: list[tuple[float, float]], on: SheetSettings, with_grain: bool) -> None:
    boxes_lie_clear_of_each_other(sizes, on, with_grain=with_grain)


def test_a_line_along_a_join_is_on_both_pages() -> None:
    settings = SheetSettings(A4)
    join = settings.step[0] + settings.overlap_mm / 2
    line = Drawing("line", "line", (Stroke(Role.CUT, straight((join, 20), (join, 200))),), ())
    pages = tile(Sheet((Placed(line),), *settings.size_of(2, 1)), settings)
    assert [page.skipped for page in pages] == [False, False]


def test_records_are_those_of_the_report() -> None:
    settings = SheetSettings(A4)
    sheet = drawn.arranged(settings)
    pages = tile(sheet, settings)
    records = page_records(sheet, pages, settings, 2)
    assert next(record["page"] for record in records["pages"] if not record["skipped"]) == 2
    for record, page in zip(records["pages"], pages):
        assert record["live_mm"] == pytest.approx([6.35, 6.35, 197.3, 284.3])
        assert record["origin_mm"] == pytest.approx(page.origin, abs=1e-6) and record["turned_deg"] == 0
        assert (record["page"] is None) == record["skipped"] == page.skipped
    for record, one in zip(records["sheet"], sheet.placed):
        outline = one.drawing.strokes[0].chain
        back = Motion(*record["transform"])
        assert record["piece"] == one.piece_id
        assert np.abs(back.points(outline.cubics) - one.there.strokes[0].chain.cubics).max() < 1e-5


def test_side_by_side_is_unturned() -> None:
    sheet = drawn.side_by_side()
    assert all(one.motion == Motion(e=one.motion.e, f=one.motion.f) for one in sheet.placed)
    x0, y0, x1, y1 = shapely.union_all([shapely.box(*one.there.bounds()) for one in sheet.placed]).bounds
    assert (x0, y0, sheet.width - x1, sheet.height - y1) == pytest.approx((20, 20, 20, 20))


@pytest.mark.parametrize(
    ("margin", "overlap", "paper"),
    [(90.0, 12.0, A4), (-1.0, 12.0, A4), (6.0, 2.0, A4), (6.0, 40.0, A4), (6.0, 12.0, Paper("card", 60.0, 90.0))],
)
def test_settings_that_leave_no_page_are_refused(margin: float, overlap: float, paper: Paper) -> None:
    with pytest.raises(PatternError) as caught:
        SheetSettings(paper, margin, overlap)
    assert str(caught.value).endswith(".")


def test_nothing_to_print_and_too_wide_are_said_in_one_sentence() -> None:
    with pytest.raises(PatternError, match="There is no piece to print"):
        arrange([], SheetSettings(A4))
    with pytest.raises(PatternError, match="“curtain” is wider than"):
        arrange([replace(box_drawing("curtain", 9000.0, 9000.0))], SheetSettings(A4))
