"""Lettering on the pages of every sample: all that is named is said, no words lie over a line, a join or a frame."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import pytest
import shapely

import sample_pieces
from app import outputs
from app.files.garment_file import open_file
from geometry.lines import flatten
from geometry.pens import LOOKS, Role
from geometry.pipeline import Draft, draft
from geometry.sheets import A4, LETTER, Placed, Sheet, SheetSettings, join_lines
from tests.vocabulary_words import SAMPLES

PAPERS = (SheetSettings(A4), SheetSettings(LETTER))
DATE = "26 Nov 2026"
#: Words that cross a join because their piece has no other room: of each sample no more than so many.
MOST_ACROSS_JOINS = 1
#: The back neck facing is so narrow that nothing but words across a join has room on it.
NARROW = "waistcoat.garment.json", "back_facing"


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


@pytest.mark.parametrize("settings", PAPERS, ids=("A4", "Letter"))
@pytest.mark.parametrize("name", SAMPLES)
def test_no_words_lie_over_a_line_and_hardly_any_across_a_join(name: str, settings: SheetSettings) -> None:
    sheet = laid(name, settings)
    assert sum(len(one.there.words) for one in sheet.placed) > 10
    assert [(one.piece_id, words) for one in sheet.placed for words in over_lines(one)] == []
    across = [(piece, words) for piece, words in across_joins(sheet, settings) if (name, piece) != NARROW]
    assert len(across) <= MOST_ACROSS_JOINS, across
    assert all(words.height_mm >= 1.8 for one in sheet.placed for words in one.there.words)


def test_words_that_are_not_set_for_the_pages_would_be_found_across_joins() -> None:
    """The check above can fail: the same sheet, lettered as if it were one large page."""
    name = "undershirt.garment.json"
    sheet = laid(name, PAPERS[0])
    whole = {one.piece_id: one for one in outputs.drawings(drafted(name), beside=beside(name))}
    placed = tuple(Placed(whole[one.piece_id], one.motion) for one in sheet.placed)
    assert len(across_joins(Sheet(placed, sheet.width, sheet.height), PAPERS[0])) > 5


@pytest.mark.parametrize("settings", PAPERS, ids=("A4", "Letter"))
@pytest.mark.parametrize("name", SAMPLES)
def test_all_that_has_a_name_is_said_on_its_piece(name: str, settings: SheetSettings) -> None:
    """Name, size, cutting instructions, every line, mark, dart and edge, what it is sewn to, the notes done."""
    lacking = []
    for one in laid(name, settings).placed:
        piece = drafted(name).redrawn.piece(one.piece_id)
        said = [words.words for words in one.there.words]
        assert said[0] == piece.name
        wanted = [line.name for line in (*piece.lines, *piece.marks, *piece.darts, *piece.inner_darts)]
        wanted += [edge.name for edge in piece.edges if not edge.on_fold]
        lacking += [(piece.id, want) for want in wanted if want and not any(text.startswith(want) for text in said)]
        notes = outputs.notes_done(drafted(name), piece.id, beside(name))
        if notes:
            start = said.index(f"Notes done, {DATE}")
            assert " ".join(said[start:]).startswith(" ".join(notes))
    allowed = [(NARROW[1], "shoulder seam")] if name == NARROW[0] else []
    assert [one for one in lacking if one not in allowed] == []


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
