"""Large sheets and rolls, halves opened out whole, and the fitting toile."""

from __future__ import annotations

import io
import itertools

import numpy as np
import pikepdf
import pytest
import shapely

import sample_pieces
from app.files.garment_file import open_file
from app.files.large_pdf import large_pdf
from geometry.drawing import Drawing, Role, Stroke, Style, record
from geometry.errors import PatternError
from geometry.lettering import Lettering
from geometry.lines import flatten, polyline
from geometry.opening_out import opened_out
from geometry.papers import PAPERS
from geometry.pipeline import draft
from geometry.rolls import ANSI, ROLLS, large_sheet, lay, roll
from geometry.sheets import APART_MM, Sheet
from geometry.toiles import TOILE_MM, toile
from tests import drawn


def block(name: str, wide: float, high: float) -> Drawing:
    outline = polyline([(0, 0), (wide, 0), (wide, high), (0, high), (0, 0)])
    return Drawing(name, name, (Stroke(Role.CUT, outline, True, name),), ())


def areas(sheet: Sheet) -> list[shapely.Geometry]:
    found = []
    for one in sheet.placed:
        cut = next(stroke for stroke in one.there.strokes if stroke.role is Role.CUT)
        found.append(shapely.Polygon(flatten(cut.chain, 0.02)[0]))
    return found


@pytest.mark.parametrize("width", [610.0, 914.0])
def test_pieces_lie_clear_of_each_other_on_the_roll_and_unstretched(width: float) -> None:
    (sheet,) = lay(drawn.drawings(), roll(width))
    assert sheet.height == width
    for one, other in itertools.combinations(areas(sheet), 2):
        assert one.distance(other) >= APART_MM - 1e-6
    paper = shapely.box(0, 0, sheet.width, sheet.height)
    for placed in sheet.placed:
        assert paper.contains(shapely.box(*placed.there.bounds()))
        m = placed.motion
        assert m.a * m.d - m.b * m.c == pytest.approx(1.0), "turned, never mirrored or scaled"
    least = sum(area.area for area in areas(sheet)) / width
    assert least <= sheet.width < 2 * least


def test_a_roll_is_cut_off_behind_the_last_piece_and_a_sheet_is_not() -> None:
    """Two blocks of 300 x 200 beside each other on 610 mm: 200 long, the margins of 10 and 1 mm at each end added."""
    pieces = [block("a", 300, 200), block("b", 270, 200)]
    (sheet,) = lay(pieces, roll(610.0))
    assert 220 <= sheet.width <= 230
    (sheet,) = lay(pieces, large_sheet(PAPERS["a1"]))
    assert (sheet.width, sheet.height) == (841.0, 594.0)


def test_what_one_sheet_does_not_hold_goes_on_the_next() -> None:
    sheets = lay([block(name, 700, 500) for name in "abc"], large_sheet(PAPERS["a1"]))
    assert [len(sheet.placed) for sheet in sheets] == [1, 1, 1]
    assert {one.piece_id for sheet in sheets for one in sheet.placed} == set("abc")
    long = lay([block(name, 500, 3000) for name in "ab"], roll(610.0))
    assert len(long) == 2 and all(sheet.width <= 5080 for sheet in long)


def test_larger_than_the_paper_is_said() -> None:
    with pytest.raises(PatternError, match="“curtain” is larger than a roll of 610 mm"):
        lay([block("curtain", 700, 900)], roll(610.0))
    with pytest.raises(PatternError, match="leaves no room"):
        roll(610.0, 300.0)
    with pytest.raises(PatternError, match="at most 5080 mm"):
        roll(6000.0)


def test_sizes_of_large_paper() -> None:
    """ANSI/ASME Y14.1: C 17 x 22, D 22 x 34, E 34 x 44 in; rolls of 24 and 36 in are sold as 610 and 914 mm."""
    inches = [(p.width_mm / 25.4, p.height_mm / 25.4) for p in ANSI.values()]
    assert inches == [(17, 22), (22, 34), (34, 44)]
    assert [round(width / 25.4) for name, width in ROLLS.items() if name != "841"] == [24, 36]


def test_the_page_is_as_large_as_the_paper() -> None:
    sheets = lay(drawn.drawings(), large_sheet(PAPERS["a0"]))
    data = large_pdf(sheets, "Wardrobe room")
    assert data == large_pdf(sheets, "Wardrobe room")
    with pikepdf.open(io.BytesIO(data)) as document:
        box = [float(value) for value in document.pages[0].mediabox]
    assert box == pytest.approx([0, 0, 1189 / 25.4 * 72, 841 / 25.4 * 72], abs=1e-3)


@pytest.mark.parametrize("index", [0, 1])
def test_a_half_opened_out_has_twice_the_area_and_its_own_mirror(index: int) -> None:
    cut = drawn.cuts()[index]
    half = record(cut)
    whole = opened_out(record(cut, style=Style(lettering=Lettering(opened=True))), cut.piece)

    def area(drawing: Drawing, role: Role) -> shapely.Polygon:
        (stroke,) = (s for s in drawing.strokes if s.role is role)
        assert stroke.closed
        return shapely.Polygon(flatten(stroke.chain, 0.001)[0])

    for role in (Role.CUT, Role.STITCH):
        assert area(whole, role).area == pytest.approx(2 * area(half, role).area, rel=1e-6)
        assert area(whole, role).is_valid and area(whole, role).contains(area(half, role).buffer(-0.01))
    assert not any(stroke.role is Role.FOLD for stroke in whole.strokes)
    assert not any("on fold" in words.words for words in whole.words)
    notches = [sum(s.role is Role.NOTCH for s in d.strokes) for d in (half, whole)]
    assert notches[0] < notches[1] <= 2 * notches[0]


def test_a_piece_without_a_fold_stays_as_it_is() -> None:
    cut = drawn.cuts()[2]
    half = record(cut)
    assert opened_out(half, cut.piece) is half


def test_a_toile_has_25_mm_at_every_seam_and_its_own_hems() -> None:
    """A fitting toile has an inch at its seams. Common practice, no source."""
    document, _ = open_file(sample_pieces.path("waistcoat.garment.json"))
    wide = draft(*toile(document.garment, document.notes))
    usual = draft(document.garment, document.notes)
    sewn = {(ref.piece, ref.edge) for seam in document.garment.seams for ref in (*seam.first, *seam.second)}
    for piece in wide.redrawn.pieces:
        for edge in piece.edges:
            width = wide.cut[piece.id].widths[edge.id]
            at_seam = edge.finish == "seam" or (piece.id, edge.id) in sewn
            expected = TOILE_MM if at_seam else usual.cut[piece.id].widths[edge.id]
            assert width == pytest.approx(expected)
        assert np.allclose(piece.edges[0].chain.cubics, usual.redrawn.piece(piece.id).edges[0].chain.cubics)


def test_a_waist_that_gets_a_band_has_25_mm_in_a_toile_as_the_band_has() -> None:
    document, _ = open_file(sample_pieces.path("skirt.garment.json"))
    widths = {piece: cut.widths for piece, cut in draft(*toile(document.garment, document.notes)).cut.items()}
    waists = [widths["front"]["front.waist"], widths["back"]["back.waist"], widths["waistband"]["waistband.waist"]]
    assert waists == [TOILE_MM] * 3
    assert widths["front"]["front.hem"] == pytest.approx(50.8), "the hem stays: 2 in, as it is drafted"
