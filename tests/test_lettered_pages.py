"""Lettering on the pages of every sample: all that is named is said, no words lie over a line, a join or a frame."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from dataclasses import replace
from functools import cache
from typing import Any
from unittest.mock import MagicMock

import numpy as np
import pytest
import shapely
from shapely.affinity import translate

import sample_pieces
from app import outputs
from app.files.clear_places import ClearPlaces
from app.files.first_page import draw_first_page
from app.files.first_page_lists import pieces_and_pages
from app.files.garment_file import open_file
from app.files.map_of_pages import draw_map, map_scale
from app.files.tile_page import draw_tile, pieces_named
from geometry.drawing import Box, Drawing
from geometry.letter_widths import width_mm
from geometry.lines import flatten
from geometry.motions import Point, turn
from geometry.papers import A4, BOTH, LETTER
from geometry.pens import LOOKS, Look, Role, Words
from geometry.pipeline import Draft, draft
from geometry.rolls import LargePaper, roll
from geometry.sheets import Page, Placed, Sheet, SheetSettings, join_lines, own_part, tile
from tests.vocabulary_words import SAMPLES

PAPERS = (SheetSettings(A4), SheetSettings(LETTER), SheetSettings(BOTH, BOTH.margin_mm, 0.0))
NAMES = ("A4", "Letter", "both, edge to edge")
DATE = "26 Nov 2026"
#: The back neck facing is so narrow that the name of one seam has room across a join alone, and of another none at all.
NARROW = "waistcoat.garment.json", "back_facing"
#: One of these stands on no piece for want of room and is said on the first page, with its letter.
UNSAID = ("shoulder seam to Front facing, 15 mm allowance", "neckline to Back, 15 mm allowance")


@cache
def drafted(name: str) -> Draft:
    document, _ = open_file(sample_pieces.path(name))
    return draft(document.garment, document.notes)


@cache
def beside(name: str) -> outputs.Beside:
    sizes = outputs.in_other_sizes(drafted(name)) if drafted(name).garment.nest else ()
    return outputs.Beside(before=True, shaded=True, sizes=sizes, date=DATE)


@cache
def laid(name: str, settings: SheetSettings) -> Sheet:
    return outputs.page_sheet(drafted(name), settings, closely=False, beside=beside(name))


def over_lines(one: Placed) -> Iterator[str]:
    """Words of a piece whose box meets one of its lines or other words."""
    lines = [shapely.LineString(flatten(s.chain, 0.05)[0]) for s in one.there.strokes if not LOOKS[s.role].filled]
    tree = shapely.STRtree(lines)
    boxes = [shapely.Polygon(words.box()) for words in one.there.words]
    for number, (words, box) in enumerate(zip(one.there.words, boxes, strict=True)):
        if len(tree.query(box, "intersects")) or any(box.intersects(other) for other in boxes[:number]):
            yield words.words


def across_joins(sheet: Sheet, settings: SheetSettings) -> list[tuple[str, str]]:
    """Pieces and their words whose box meets a join of the pages or the frame of one."""
    joins = shapely.STRtree([shapely.LineString(flatten(line, 0.1)[0]) for line in join_lines(sheet, settings)])
    return [
        (one.piece_id, words.words)
        for one in sheet.placed
        for words in one.there.words
        if len(joins.query(shapely.Polygon(words.box()), "intersects"))
    ]


@pytest.mark.parametrize("settings", PAPERS, ids=NAMES)
@pytest.mark.parametrize("name", SAMPLES)
def test_no_words_lie_over_a_line_and_one_across_a_join(name: str, settings: SheetSettings) -> None:
    sheet = laid(name, settings)
    assert sum(len(one.there.words) for one in sheet.placed) > 10
    assert [(one.piece_id, words) for one in sheet.placed for words in over_lines(one)] == []
    across = [(name, piece) for piece, _ in across_joins(sheet, settings)]
    assert across in ([], [NARROW]), across
    assert all(words.height_mm >= 1.8 for one in sheet.placed for words in one.there.words)


class Noted:
    """What a page is drawn with here: it keeps the words and the lines that it is given."""

    def __init__(self) -> None:
        self.canvas = MagicMock()
        self.said: list[Words] = []
        self.lines_drawn: list[shapely.Geometry] = []

    def layer(self, *_: str) -> nullcontext[None]:
        return nullcontext()

    def clip(self, box: Box) -> None:
        """Nothing is cut off here."""

    def words(self, words: Words, grey: float = 0.0) -> None:
        self.said.append(words)

    def lines(self, points: Sequence[Sequence[Point]], look: Look, *, closed: bool = False) -> None:
        self.lines_drawn += [shapely.LineString([*line, *line[:1]] if closed else line) for line in points]


@pytest.mark.parametrize("settings", PAPERS, ids=NAMES)
@pytest.mark.parametrize("name", SAMPLES)
def test_what_a_page_says_of_itself_stands_on_no_line_and_no_words(name: str, settings: SheetSettings) -> None:
    """Its name, its neighbours, pieces, garment, day, paper and number, each on every page."""
    sheet = laid(name, settings)
    pages = tile(sheet, settings)
    for page in pages:
        if page.skipped:
            continue
        noted: Any = Noted()
        draw_tile(noted, sheet, page, pages, settings, ("Wardrobe room", DATE, ""), "sheet")
        shapes = list(noted.lines_drawn)
        shift = settings.margin_mm - np.array(page.origin)
        shapes += [translate(one, *shift) for one in on_page(sheet, page)]
        drawn = shapely.STRtree(shapes)
        boxes = [shapely.Polygon(words.box()) for words in noted.said]
        over = [w.words for w, box in zip(noted.said, boxes, strict=True) if len(drawn.query(box, "intersects"))]
        assert over == [], page.name
        assert not any(one.intersects(other) for one, other in itertools.combinations(boxes, 2)), page.name
        assert all(words.height_mm >= 1.8 for words in noted.said)
        said = " ".join(words.words for words in noted.said)
        around = [side for side in (page.left, page.right, page.above, page.below) if side]
        for wanted in (page.name, "Wardrobe room", DATE, "paper", f"of {max(p.number or 0 for p in pages)}", *around):
            assert wanted in said, (page.name, wanted, said)


def on_page(sheet: Sheet, page: Page) -> list[shapely.Geometry]:
    """Lines and words of the sheet near a page."""
    (x, y), reach = page.origin, 1.5 * LETTER.height_mm
    return list(sheet.touched.geometries[sheet.touched.query(shapely.box(x - 20, y - 20, x + reach, y + reach))])


@pytest.mark.parametrize("degrees", [0.0, 90.0, 180.0, -90.0])
def test_blocks_of_rows_read_wherever_a_piece_is_turned(degrees: float) -> None:
    """Neither name nor notes stand on their head or run downwards on the pages, and their rows follow each other;
    on the narrow neckband they stand in one row."""
    sheet = laid("undershirt.garment.json", PAPERS[0])
    turned = Sheet(tuple(Placed(one.drawing, turn(degrees, (0.0, 0.0))) for one in sheet.placed), 2000.0, 2000.0)
    lettered = outputs.lettered_for_pages(
        drafted("undershirt.garment.json"), turned, PAPERS[0], beside=beside("undershirt.garment.json")
    )
    for one in lettered.placed:
        rows = [words for words in one.there.words if words.role in (Role.TITLE, Role.INSTRUCTIONS)]
        assert len(rows) >= 3
        for words, later in itertools.pairwise(rows):
            assert round(words.angle_deg) in (0, 90)
            if words.height_mm == later.height_mm and words.angle_deg == later.angle_deg:
                down = (words.at[1] - later.at[1]) if round(words.angle_deg) == 0 else (later.at[0] - words.at[0])
                assert down > 1.0 or (abs(down) < 0.01 and one.piece_id == "neckband"), (one.piece_id, words, later)


def test_names_read_on_rolls_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """However a piece is turned on a roll, here all on their heads; the test square among them stays as it is."""
    def on_their_heads(pieces: Sequence[Drawing], _: LargePaper) -> tuple[Sheet, ...]:
        return (Sheet(tuple(Placed(one, turn(180.0, (400.0, 400.0))) for one in pieces), 914.0, 900.0),)

    monkeypatch.setattr(outputs, "lay", on_their_heads)
    (sheet,) = outputs.large_sheets(drafted("waistcoat.garment.json"), roll(914.0), square=True)
    rows = [words for one in sheet.placed for words in one.there.words if words.role in (Role.TITLE, Role.INSTRUCTIONS)]
    assert len(rows) > 8
    assert {round(words.angle_deg) for words in rows} <= {0, 90}
    assert [words.words for one in sheet.placed for words in one.there.words if words.role is Role.SQUARE] == ["100 mm"]


def named_on(one: Placed) -> str:
    """The name that stands on a piece, its rows together; all of it inside the piece, so that it is cut out with it."""
    outer = Role.CUT if any(stroke.role is Role.CUT for stroke in one.there.strokes) else Role.STITCH
    rings = [flatten(s.chain, 0.05)[0] for s in one.there.strokes if s.role is outer and s.closed]
    rows = [words for words in one.there.words if words.role is Role.TITLE]
    (outline,) = (shapely.Polygon(ring) for ring in rings)
    assert all(outline.contains(shapely.Polygon(words.box())) for words in rows), one.piece_id
    return " ".join(words.words for words in rows).replace("- ", "")


@pytest.mark.parametrize("name", ["Front, for the second act, with the pocket let in by hand", "Nightingalejacket" * 3])
def test_a_long_name_goes_on_in_another_row_of_its_piece(name: str) -> None:
    """Sixty letters of 9 mm would take two pages; in rows they stand clear of the joins, those of a single word too."""
    document = drafted("skirt.garment.json").garment
    long = document.with_piece(replace(document.piece("front"), name=name))
    sheet = outputs.page_sheet(draft(long, ()), PAPERS[0], closely=False)
    front = next(one for one in sheet.placed if one.piece_id == "front")
    assert sum(words.role is Role.TITLE for words in front.there.words) > 1 and named_on(front) == name
    assert not any(piece == "front" for piece, _ in across_joins(sheet, PAPERS[0]))


def test_the_name_of_a_small_piece_is_cut_short_rather_than_set_beside_it() -> None:
    """Sixty letters on the back neck facing, where sixteen hardly have room; the first page says more of them."""
    garment, piece_id = drafted(NARROW[0]).garment, NARROW[1]
    name = "Back neck facing for the second act, with the label let in"
    sheet = outputs.page_sheet(
        draft(garment.with_piece(replace(garment.piece(piece_id), name=name)), ()), PAPERS[0], closely=False
    )
    facing = next(one for one in sheet.placed if one.piece_id == piece_id)
    said = named_on(facing)
    assert said.endswith("…") and name.startswith(said[:-1]) and len(said) > 12
    rows = " ".join(pieces_and_pages(sheet, tile(sheet, PAPERS[0]), 70.0))
    assert f"{name}: " in " ".join(rows.split())


def test_every_piece_on_a_page_is_named_however_long_the_names() -> None:
    names = ("Front, for the second act, with the pocket", "Back, for the second act, with the pocket", "Sleeve")
    said = pieces_named(names, 85.0)
    assert width_mm(said, 2.2) <= 85.0
    assert re.fullmatch(r"Front, for.*…, Back, for.*…, Sleeve", said), said
    assert pieces_named(("Front", "Back"), 85.0) == "Front, Back"


@pytest.mark.parametrize("settings", PAPERS, ids=NAMES)
@pytest.mark.parametrize("name", SAMPLES)
def test_the_map_names_every_printed_page_and_each_piece_within_its_outline(name: str, settings: SheetSettings) -> None:
    """In a column as wide as the first page has it; a small piece may be named by its number beside it."""
    sheet, box = laid(name, settings), (0.0, 0.0, 70.0, 150.0)
    pages, noted = tile(sheet, settings), MagicMock()
    draw_map(noted, sheet, pages, settings, box)
    said = [call.args[0] for call in noted.words.call_args_list]
    printed = [page.name for page in pages if not page.skipped]
    assert sorted(words.words for words in said if words.role is Role.TITLE) == sorted(printed)
    scale = map_scale(box, pages, settings)
    top = box[3] - settings.size_of(pages[-1].column, pages[-1].row)[1] * scale
    outlines = []
    for one in sheet.placed:
        rings = [flatten(s.chain, 0.5)[0] for s in one.there.strokes if s.closed and s.role is Role.CUT]
        outlines.append(shapely.union_all([shapely.Polygon(ring * scale + np.array((0.0, top))) for ring in rings]))
    labels = [words for words in said if words.role is Role.LABEL]
    assert len(labels) == len(outlines)
    for number, (words, outline) in enumerate(zip(labels, outlines, strict=True), 1):
        assert re.match(rf"{number}( |$)", words.words)
        letters = shapely.Polygon(words.box())
        assert outline.contains(letters) or words.words == str(number), words
        assert not any(shapely.boundary(other).intersects(letters) for other in outlines), words


def test_a_map_of_one_long_row_lies_on_its_side_and_is_the_larger_for_it() -> None:
    """Seven columns in a column of 70 mm would be 10 mm each; along it they are twice that."""
    upright, lying = MagicMock(), MagicMock()
    for brush, columns, rows in ((upright, 3, 3), (lying, 7, 2)):
        wide, high = PAPERS[0].size_of(columns, rows)
        sheet = Sheet(laid("skirt.garment.json", PAPERS[0]).placed, wide, high)
        draw_first_page(brush, sheet, tile(sheet, PAPERS[0]), PAPERS[0], "Skirt", "")
    said = [call.args[1] for call in lying.text.call_args_list]
    assert any("on its side" in words for words in said) and lying.turned.call_count == 1
    assert upright.turned.call_count == 0
    sizes = [call.args[0].height_mm for call in lying.words.call_args_list if call.args[0].words == "A1"]
    assert len(sizes) == 1 and sizes[0] > 2.5


def test_pieces_of_one_name_are_listed_with_their_own_pages() -> None:
    """Each number stands for the pages on which lines of its own piece lie, found with shapely."""
    garment = drafted("skirt.garment.json").garment
    alike = replace(garment, pieces=tuple(replace(piece, name="Panel") for piece in garment.pieces))
    sheet = outputs.page_sheet(draft(alike, ()), PAPERS[0], closely=False)
    pages = tile(sheet, PAPERS[0])
    listed = pieces_and_pages(sheet, pages, 300.0)
    assert len(listed) == len({row.partition(": ")[2] for row in listed}) == 3
    for number, (one, row) in enumerate(zip(sheet.placed, listed, strict=True), 1):
        assert row.startswith(f"{number} Panel: ")
        lines = shapely.union_all([shapely.LineString(flatten(s.chain, 0.1)[0]) for s in one.there.strokes])
        last = pages[-1]
        own = {page.name for page in pages if shapely.intersects(
            shapely.box(*own_part(page.row, page.column, last.row, last.column, PAPERS[0])), lines
        )}
        runs = [run.partition("–") for run in row.partition(": ")[2].split(", ")]
        said = {f"{a[0]}{n}" for a, _, b in runs for n in range(int(a[1:]), int((b or a)[1:]) + 1)}
        assert said == own


def test_words_in_rows_keep_together_where_there_is_room_for_them_together() -> None:
    """A strip too narrow for the words in one row: they stand one below the other in it, at one side."""
    clear = ClearPlaces((0.0, 0.0, 40.0, 100.0), [shapely.box(0.0, 60.0, 40.0, 100.0)])
    rows = [
        tuple(Words(Role.LABEL, (2.0, high - 3.0 * at), text, 1.8, anchor="start") for at, text in enumerate("ab"))
        for high in (70.0, 62.0, 55.0, 50.0)
    ]
    assert clear.first_rows(rows) == rows[2]
    assert clear.first_rows(rows[:2]) == ()
    assert clear.first_rows(rows[2:3]) == (), "what was given is taken up"


def test_words_on_halves_opened_out_lie_over_no_line() -> None:
    for name in ("undershirt.garment.json", "skirt.garment.json", "waistcoat.garment.json"):
        opened = outputs.paper_drawings(drafted(name), whole=True, beside=beside(name))
        assert [(one.piece_id, words) for one in opened for words in over_lines(Placed(one))] == []
        assert any(", opened out" in words.words for one in opened for words in one.words)
        assert all(named_on(Placed(one)) for one in opened)
        assert not any("on fold" in words.words for one in opened for words in one.words)


def test_words_that_are_not_set_for_the_pages_would_be_found_across_joins() -> None:
    """The check above can fail: the same sheet, lettered as if it were one large page."""
    name = "undershirt.garment.json"
    sheet = laid(name, PAPERS[0])
    whole = {one.piece_id: one for one in outputs.drawings(drafted(name), beside=beside(name))}
    placed = tuple(Placed(whole[one.piece_id], one.motion) for one in sheet.placed)
    assert len(across_joins(Sheet(placed, sheet.width, sheet.height), PAPERS[0])) > 5


@pytest.mark.parametrize("settings", PAPERS, ids=NAMES)
@pytest.mark.parametrize("name", SAMPLES)
def test_all_that_has_a_name_is_said_on_its_piece(name: str, settings: SheetSettings) -> None:
    """Name, size, cutting instructions, every line, mark, dart and edge, what it is sewn to, the notes done."""
    lacking, unsaid = [], []
    for one in laid(name, settings).placed:
        piece = drafted(name).redrawn.piece(one.piece_id)
        said = [words.words for words in one.there.words]
        assert named_on(one) == piece.name
        wanted = [line.name for line in (*piece.lines, *piece.marks, *piece.darts, *piece.inner_darts)]
        wanted += [edge.name for edge in piece.edges if not edge.on_fold]
        known = [re.sub(r"^\(\w\) ", "", text) for text in (*said, *one.drawing.unsaid)]
        lacking += [(piece.id, want) for want in wanted if want and not any(text.startswith(want) for text in known)]
        unsaid += [(piece.id, text) for text in one.drawing.unsaid if text != "place on fold"]
        for text in (*said, *one.drawing.unsaid):
            letter = re.match(r"\(\w\)(?= )", text)
            assert letter is None or said.count(letter[0]) == 1, "a letter stands where it is explained"
        notes = outputs.notes_done(drafted(name), piece.id, beside(name))
        if notes:
            start = said.index(f"Notes done, {DATE}")
            assert " ".join(said[start:]).startswith(" ".join(notes))
    assert lacking == []
    if name == NARROW[0]:
        assert len(unsaid) <= 1 and all(
            piece == NARROW[1] and re.match(r"\([ab]\) ", text) and text[4:] in UNSAID for piece, text in unsaid
        )
    else:
        assert unsaid == []


def test_edges_say_what_they_are_sewn_to() -> None:
    """As the seams of the undershirt are written in its file: the sleeve cap goes into the armholes of both."""
    said = {words.words for one in laid("undershirt.garment.json", PAPERS[0]).placed for words in one.there.words}
    for words in ("side seam to Back, 6 mm allowance", "armhole to Sleeve, 6 mm allowance",
                  "sleeve cap to Front and Back, 6 mm allowance", "neckline to Neckband, 6 mm allowance"):
        assert words in said
    assert any(words.startswith("front underarm seam") for words in said)


def test_notes_stand_on_the_pieces_they_changed_alone() -> None:
    """The undershirt's first note is done to front and back, its second to the sleeve as well."""
    counts = {piece: len(outputs.notes_done(drafted("undershirt.garment.json"), piece)) for piece in
              ("front", "back", "sleeve", "neckband")}
    assert counts == {"front": 3, "back": 3, "sleeve": 2, "neckband": 0}


def test_inches_are_said_where_the_garment_is_in_inches() -> None:
    inches = outputs.Beside(units="in")
    drawings = outputs.drawings(drafted("skirt.garment.json"), beside=inches)
    said = [words.words for one in drawings for words in one.words]
    assert any("in allowance" in words for words in said) and not any("mm allowance" in words for words in said)


def test_other_sizes_bear_their_names_beside_a_line_of_their_own() -> None:
    """Each of the four other sizes has its name, close by its own line."""
    for one in laid("tabard.garment.json", PAPERS[0]).placed:
        strokes = [stroke for stroke in one.there.strokes if stroke.role is Role.SIZE]
        lines = {stroke.name: shapely.LineString(flatten(stroke.chain, 0.05)[0]) for stroke in strokes}
        names = [words for words in one.there.words if words.role is Role.SIZE]
        assert len(lines) == 4 and {words.words for words in names} == set(lines)
        for words in names:
            away = {name: line.distance(shapely.Point(words.at)) for name, line in lines.items()}
            assert away[words.words] < 3.5
