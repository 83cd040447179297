"""The tiled PDF: page sizes, the squares measured on a raster, lines where they belong, marks, names, facts."""

from __future__ import annotations

import io
import itertools
import re
from functools import cache
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import pytest
from numpy.typing import NDArray

from app.files.paper_pen import fitted
from app.files.pdf import tiles_pdf
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.errors import PatternError
from geometry.letter_widths import width_mm, wrapped
from geometry.lines import polyline
from geometry.papers import A4, LETTER, Paper
from geometry.print_scale import Correction
from geometry.sheets import Page, Sheet, SheetSettings, joined_sides, tile
from tests import drawn

TITLE = "Lamplighter’s undershirt"
DPI = 300
SETTINGS = [SheetSettings(A4), SheetSettings(LETTER, landscape=True)]


@cache
def printed(settings: SheetSettings) -> tuple[bytes, dict[str, Any]]:
    return tiles_pdf(drawn.arranged(settings), settings, TITLE)


@cache
def raster(settings: SheetSettings, page: int, dpi: int = DPI) -> tuple[NDArray[np.float64], tuple[float, float]]:
    """Darkness 0..1 (rows from the top), and mm per pixel across and down: page size over pixel size, never 25.4/dpi,
    as pdfium rounds pages up to whole pixels."""
    document = pypdfium2.PdfDocument(printed(settings)[0])
    image = document[page].render(scale=dpi / 72, grayscale=True).to_numpy().astype(float)
    if image.ndim == 3:
        image = image[..., 0]
    wide, high = document[page].get_size()
    return 1 - image / 255, (wide / 72 * 25.4 / image.shape[1], high / 72 * 25.4 / image.shape[0])


def long_lines(dark: NDArray[np.float64], across: float, along: float, length: float) -> list[float]:
    """Where (mm) upright lines of about ``length`` mm (within 0.5 mm) stand: grey centroids of dark columns."""
    found: list[list[tuple[int, float]]] = []
    for column in range(dark.shape[1]):
        ink = np.concatenate([[0], (dark[:, column] > 0.25).astype(int), [0]])
        starts, ends = np.flatnonzero(np.diff(ink) == 1), np.flatnonzero(np.diff(ink) == -1)
        runs = (ends - starts) * along
        if not len(runs) or abs(runs.max() - length) > 0.5:
            continue
        best = int(np.argmax(runs))
        weight = float(dark[starts[best] : ends[best], column].mean())
        if found and column - found[-1][-1][0] == 1:
            found[-1].append((column, weight))
        else:
            found.append([(column, weight)])
    return [sum((c + 0.5) * w for c, w in group) / sum(w for _, w in group) * across for group in found]


@pytest.mark.parametrize("settings", SETTINGS)
def test_pages_have_the_size_of_the_paper(settings: SheetSettings) -> None:
    """A4 210 x 297 mm by ISO 216; Letter 8.5 x 11 in by ANSI/ASME Y14.1, lying; every page box, read by pikepdf."""
    size = {"A4": (210.0, 297.0), "Letter": (279.4, 215.9)}[settings.paper.name]
    with pikepdf.open(io.BytesIO(printed(settings)[0])) as document:
        for page in document.pages:
            box = [float(value) / 72 * 25.4 for value in page.mediabox]
            assert box == pytest.approx([0, 0, *size], abs=0.001)
            assert page.get("/UserUnit", 1) == 1 and page.get("/Rotate", 0) == 0


@pytest.mark.parametrize("settings", SETTINGS)
@pytest.mark.parametrize(("side", "line_mm"), [(100.0, 0.3), (4 * 25.4, 0.3)])
def test_squares_measure_what_they_say(settings: SheetSettings, side: float, line_mm: float) -> None:
    """Both squares, both ways, on a raster of 300 dpi: within 0.05 mm."""
    dark, (across, down) = raster(settings, 0)
    left, right = long_lines(dark, across, down, side + line_mm)
    assert right - left == pytest.approx(side, abs=0.05)
    top, bottom = long_lines(dark.T, down, across, side + line_mm)
    assert bottom - top == pytest.approx(side, abs=0.05)


@pytest.mark.parametrize("settings", SETTINGS)
def test_rule_is_two_hundred_millimetres_long(settings: SheetSettings) -> None:
    dark, (across, down) = raster(settings, 0)
    if settings.landscape:
        dark, across, down = dark.T, down, across
    (x,) = long_lines(dark, across, down, 200.15)
    ink = np.flatnonzero(dark[:, int(x / across)] > 0.25)
    longest = max(np.split(ink, np.flatnonzero(np.diff(ink) > 1) + 1), key=len)
    assert len(longest) * down == pytest.approx(200.15, abs=0.15)


@pytest.mark.parametrize("settings", SETTINGS)
def test_cutting_lines_are_printed_where_the_pages_origin_puts_them(settings: SheetSettings) -> None:
    """Points of every cutting line, carried onto each page that shows them, are dark on the raster of that page."""
    sheet = drawn.arranged(settings)
    live_wide, live_high = settings.live
    seen = 0
    for record in printed(settings)[1]["pages"]:
        if record["skipped"]:
            continue
        dark, (across, down) = raster(settings, record["page"] - 1, 150)
        for one in sheet.placed:
            (cut,) = (stroke for stroke in one.there.strokes if stroke.role is Role.CUT)
            points = cut.chain.points(np.linspace(0, len(cut.chain), 400)) - record["origin_mm"]
            inside = (points > 0.5).all(axis=1) & (points[:, 0] < live_wide - 0.5) & (points[:, 1] < live_high - 0.5)
            shown = points[inside] + record["live_mm"][:2]
            columns = (shown[:, 0] / across).astype(int)
            rows = ((settings.page[1] - shown[:, 1]) / down).astype(int)
            assert (dark[rows, columns] > 0.2).all()
            seen += len(shown)
    assert seen >= 4 * 399


@pytest.mark.parametrize("settings", [SheetSettings(A4), SheetSettings(A4, overlap_mm=15.0, landscape=True)])
def test_pages_taped_as_the_steps_say_show_every_cutting_line(settings: SheetSettings) -> None:
    assert not missing_when_taped(drawn.arranged(settings), settings)


def test_a_page_is_cut_below_where_its_corner_would_cover_a_page_diagonally_below() -> None:
    settings = SheetSettings(A4)
    x, y = (step + settings.overlap_mm / 2 for step in settings.step)
    corner = polyline([(x + 50, y + 50), (x - 4, y + 50), (x - 4, y - 4), (x - 50, y - 4)])
    drawing = Drawing("corner", "corner", (Stroke(Role.CUT, corner),), ())
    sheet = Sheet((Placed(drawing),), *settings.size_of(2, 2))
    assert [page.name for page in tile(sheet, settings) if page.skipped] == ["B2"]
    assert not missing_when_taped(sheet, settings)
    assert missing_when_taped(sheet, settings, cut_below_only_joined=True), "the check can fail"


def missing_when_taped(sheet: Sheet, settings: SheetSettings, *, cut_below_only_joined: bool = False) -> list[str]:
    """Pieces whose cutting line is hidden somewhere when the pages are taped: cut on the right and below where there
    is a join line, each page and each row laid over the next. Four pixels a millimetre, so that A4 has whole pixels.
    """
    scale, hidden = 4, []
    records = {record["name"]: record for record in tiles_pdf(sheet, settings)[1]["pages"]}
    document = pypdfium2.PdfDocument(tiles_pdf(sheet, settings)[0])
    pages = [page for page in tile(sheet, settings) if not page.skipped]
    names = {page.name for page in pages}
    table = np.zeros((int(sheet.height * scale) + 200, int(sheet.width * scale) + 200))
    half, (wide, high) = settings.overlap_mm / 2, settings.page
    for page in reversed(pages):
        sides = joined_sides(page, names)
        if cut_below_only_joined and page.below not in names:
            sides = tuple(side for side in sides if side != "below")
        image = document[records[page.name]["page"] - 1].render(scale=scale * 25.4 / 72, grayscale=True).to_numpy()
        paper = 1 - image.reshape(image.shape[:2]).astype(float) / 255
        right = wide - settings.margin_mm - half if "right" in sides else wide
        below = settings.margin_mm + half if "below" in sides else 0.0
        paper = paper[: round((high - below) * scale), : round(right * scale)]
        left = round((page.origin[0] - settings.margin_mm) * scale) + 100
        top = len(table) - 100 - round((page.origin[1] - settings.margin_mm + high) * scale)
        table[top : top + len(paper), left : left + paper.shape[1]] = paper
    for one in sheet.placed:
        (cut,) = (stroke for stroke in one.there.strokes if stroke.role is Role.CUT)
        points = cut.chain.points(np.linspace(0, len(cut.chain), 2000))
        columns = (points[:, 0] * scale).round().astype(int) + 100
        rows = len(table) - 100 - (points[:, 1] * scale).round().astype(int)
        near = np.max([table[rows + dy, columns + dx] for dx in (-1, 0, 1) for dy in (-1, 0, 1)], axis=0)
        hidden += [one.piece_id] if (near <= 0.2).any() else []
    return hidden


def test_content_half_a_millimetre_off_would_be_seen() -> None:
    """The check above can fail: read 0.5 mm to the side, points of an upright cutting line are blank."""
    settings = SETTINGS[0]
    records = [record for record in printed(settings)[1]["pages"] if not record["skipped"]]
    missed = 0
    for record, one in itertools.product(records, drawn.arranged(settings).placed):
        dark, (across, down) = raster(settings, record["page"] - 1, 150)
        (cut,) = (stroke for stroke in one.there.strokes if stroke.role is Role.CUT)
        points = cut.chain.points(np.linspace(0, len(cut.chain), 400)) - record["origin_mm"] + (0.5, 0.5)
        inside = (points > 1).all(axis=1) & (points < np.array(settings.live) - 1).all(axis=1)
        shown = points[inside] + record["live_mm"][:2]
        rows = ((settings.page[1] - shown[:, 1]) / down).astype(int)
        missed += int((dark[rows, (shown[:, 0] / across).astype(int)] <= 0.2).sum())
    assert missed > 50


@pytest.mark.parametrize("settings", SETTINGS)
def test_every_join_has_a_diamond_at_both_ends_on_both_pages(settings: SheetSettings) -> None:
    pages = {page.name: page for page in tile(drawn.arranged(settings), settings)}
    numbers = {record["name"]: record["page"] for record in printed(settings)[1]["pages"]}
    joins = 0
    for page in pages.values():
        for side in ("right", "below"):
            other = pages.get(getattr(page, side) or "")
            if page.skipped or other is None or other.skipped:
                continue
            joins += 1
            for at in join_ends(page, side, settings):
                for one in (page, other):
                    on_page = np.array(at) - one.origin + settings.margin_mm
                    dark, (across, down) = raster(settings, numbers[one.name] - 1, 150)
                    for dx, dy in ((-1.5, -1.5), (1.5, -1.5), (1.5, 1.5), (-1.5, 1.5)):
                        column = int((on_page[0] + dx) / across)
                        row = int((settings.page[1] - on_page[1] - dy) / down)
                        assert dark[row - 1 : row + 2, column - 1 : column + 2].max() > 0.3
    assert joins >= 10


def join_ends(page: Page, side: str, settings: SheetSettings) -> list[tuple[float, float]]:
    """Both ends of a join on the sheet, from the page's numbers: where the middles of the overlaps cross."""
    (x, y), (wide, high), half = page.origin, settings.live, settings.overlap_mm / 2
    if side == "right":
        return [(x + wide - half, y + half), (x + wide - half, y + high - half)]
    return [(x + half, y + half), (x + wide - half, y + half)]


@pytest.mark.parametrize("settings", SETTINGS)
def test_every_page_says_its_name_its_pieces_and_its_neighbours(settings: SheetSettings) -> None:
    document = pypdfium2.PdfDocument(printed(settings)[0])
    pages = tile(drawn.arranged(settings), settings)
    shown = [page for page in pages if not page.skipped]
    assert len(document) == 1 + len(shown)
    empty = {page.name for page in pages if page.skipped}
    for page in shown:
        text = document[page.number].get_textpage().get_text_bounded()
        assert page.name in text and f"overlap {settings.overlap_mm:g} mm" in text and TITLE in text
        for name in page.pieces:
            assert name in text
        for neighbour in (page.left, page.right, page.above, page.below):
            if neighbour is not None:
                assert (f"{neighbour} is empty" if neighbour in empty else f"{neighbour} joins here") in text


@pytest.mark.parametrize("settings", SETTINGS)
def test_first_page_has_title_squares_and_the_map(settings: SheetSettings) -> None:
    text = pypdfium2.PdfDocument(printed(settings)[0])[0].get_textpage().get_text_bounded()
    for words in (TITLE, "100 mm", "4 in", "200 mm", "Map of pages", f"Pages overlap by {settings.overlap_mm:g} mm"):
        assert words in text
    for page in tile(drawn.arranged(settings), settings):
        on_the_map = re.search(rf"(?<![A-Z]){page.name}(?!\d)", text.partition("Pages overlap by")[2]) is not None
        if page.name != settings.paper.name:  # The paper's own name is said elsewhere on the page.
            assert on_the_map is not page.skipped, page.name


def test_the_first_page_shows_how_its_own_first_join_is_taped() -> None:
    """Overlapping pages are cut on the right alone, those that meet edge to edge on both sides."""
    for overlap, says in ((12.0, "cut off on the right"), (0.0, "cut off on both")):
        settings = SheetSettings(overlap_mm=overlap)
        text = pypdfium2.PdfDocument(printed(settings)[0])[0].get_textpage().get_text_bounded()
        pages = [page for page in tile(drawn.arranged(settings), settings) if not page.skipped]
        first = next(page for page in pages if page.right in {other.name for other in pages})
        said = text.split()
        # Twice in the drawing and once on the map.
        assert says in text and said.count(first.name) == said.count(first.right) == 3


def test_the_list_of_lines_has_the_fold_and_the_notches() -> None:
    text = pypdfium2.PdfDocument(printed(SETTINGS[0])[0])[0].get_textpage().get_text_bounded()
    assert {"place on fold", "notches"} <= set(text.splitlines())


def test_characters_that_the_typeface_lacks_are_question_marks() -> None:
    data, _ = tiles_pdf(drawn.arranged(SETTINGS[0]), SETTINGS[0], "Châle 漢 \U0001fae0 №2")
    text = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_bounded()
    assert text.splitlines()[0] == "Châle ? ? №2"


def test_facts_fonts_and_print_preferences() -> None:
    with pikepdf.open(io.BytesIO(printed(SETTINGS[0])[0])) as document:
        info = document.docinfo
        assert (str(info.Title), str(info.Author)) == (TITLE, "Tuck & True")
        assert document.Root.ViewerPreferences.PrintScaling == pikepdf.Name("/None")
        fonts = {
            str(font.BaseFont).split("+")[-1]: font
            for page in document.pages
            for _, font in page.resources.get("/Font", {}).items()
        }
        sans = [font for name, font in fonts.items() if name.startswith("DejaVu")]
        assert sans and all("/FontFile2" in font.FontDescriptor for font in sans), "typefaces must be embedded"
        forms = {obj.objgen for page in document.pages for _, obj in page.resources.get("/XObject", {}).items()}
        assert len(forms) == 1, "the sheet is kept once and shown by every tile"


@pytest.mark.parametrize("step", [3.0, 60.0])
def test_correction_and_date_stand_whole_on_every_page_the_correction_also_where_no_place_is_free(step: float) -> None:
    """Upright lines every 3 mm leave no room for words; neither a long garment's name nor they leave the shares out."""
    lines = tuple(Stroke(Role.CUT, polyline([(x, 0.0), (x + 0.01, 280.0)])) for x in np.arange(0.0, 300.0, step))
    sheet = Sheet((Placed(Drawing("full", "full", lines, ())),), *SETTINGS[0].size_of(2, 1))
    correction = Correction(99.5, 99.51)
    said = {"correction": correction, "date": "26 Nov 2026"}
    for page in pypdfium2.PdfDocument(tiles_pdf(sheet, SETTINGS[0], "a long name " * 20, **said)[0]):
        words = " ".join(page.get_textpage().get_text_bounded().split())
        assert correction.says in words and ("26 Nov 2026" in words or step < 60.0)


def test_the_same_bytes_twice() -> None:
    for settings in SETTINGS:
        assert tiles_pdf(drawn.arranged(settings), settings, TITLE)[0] == printed(settings)[0]


def test_records_name_the_pages_of_the_file() -> None:
    data, records = printed(SETTINGS[0])
    numbers = [record["page"] for record in records["pages"] if not record["skipped"]]
    assert numbers == list(range(2, len(pypdfium2.PdfDocument(data)) + 1))


def test_one_small_piece_needs_two_pages_and_no_join() -> None:
    box = polyline([(0, 0), (80, 0), (80, 60), (0, 60), (0, 0)])
    drawing = Drawing("tab", "A name of many letters " * 13, (Stroke(Role.CUT, box, True),), ())
    data, records = tiles_pdf(Sheet((Placed(drawing),), *SETTINGS[0].size_of(1, 1)), SETTINGS[0], "x" * 300)
    document = pypdfium2.PdfDocument(data)
    assert len(document) == 2 and len(records["pages"]) == 1
    assert "joins here" not in document[1].get_textpage().get_text_bounded()


def test_a_small_own_paper_has_no_room_for_the_first_page() -> None:
    with pytest.raises(PatternError, match="too small"):
        tiles_pdf(drawn.side_by_side(), SheetSettings(Paper("card", 140.0, 200.0)), "")


def test_words_are_broken_and_cut_short_to_fit() -> None:
    rows = wrapped("lay the cut edge over the next page", 2.3, 30.0)
    assert " ".join(rows) == "lay the cut edge over the next page" and all(width_mm(row, 2.3) <= 30 for row in rows)
    long = wrapped("the underarmgussetoftheundershirt, cut 2", 2.3, 20.0)
    assert all(width_mm(row, 2.3) <= 20 for row in long) and len(long) > 2
    assert " ".join(long).replace("- ", "") == "the underarmgussetoftheundershirt, cut 2"
    assert fitted("undershirt", 2.0, 100.0) == "undershirt"
    short = fitted("undershirt", 2.0, 10.0)
    assert short.endswith("…") and width_mm(short, 2.0) <= 10.0
