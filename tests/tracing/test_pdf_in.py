"""PDF comes in: exact paths, layers, tiles joined to one sheet, our own pages; passwords and pictures are said."""

from __future__ import annotations

import io

import pikepdf
import pytest

import sample_pieces
from app.files.garment_file import open_file
from app.outputs import pdf_file
from app.tracing.handing_over import from_bytes, to_bytes
from app.tracing.pdf_reader import read_pdf
from geometry.errors import PatternError
from geometry.papers import PAPERS
from geometry.pipeline import draft
from geometry.sheets import SheetSettings
from tests.drawing_files import MM, drafted, off, only, outline, pdf_path, single_sheet_pdf, tiled_pdf, traced

#: A PDF's outlines are met within this, and across the joins of pages within that (mm).
EXACT_MM, ACROSS_MM = 0.02, 0.1


def test_a_large_single_sheet_is_the_draft() -> None:
    result = traced(single_sheet_pdf())
    for name in ("front", "back"):
        piece = only(result, name).piece
        assert off(piece, outline(name)) < EXACT_MM
        assert [edge.kind for edge in piece.edges] == [edge.kind for edge in drafted(name).edges]


@pytest.mark.parametrize(("turned", "unit"), [(0, 1), (90, 1), (180, 1), (270, 1), (0, 2)])
def test_turned_pages_and_their_unit_keep_the_size(turned: int, unit: int) -> None:
    with pikepdf.open(io.BytesIO(single_sheet_pdf())) as file:
        file.pages[0].obj["/Rotate"] = turned
        if unit != 1:
            file.pages[0].obj["/UserUnit"] = unit
        stream = io.BytesIO()
        file.save(stream)
    areas = sorted(one.piece.polygon.area for one in traced(stream.getvalue()).pieces)
    expected = sorted(drafted(name).polygon.area * unit * unit for name in ("front", "back"))
    assert areas == pytest.approx(expected, rel=3e-5)


@pytest.mark.parametrize("frame", [True, False])
def test_home_print_tiles_are_joined_across_the_pages(frame: bool) -> None:
    data = tiled_pdf(frame=frame)
    result = traced(data, {} if frame else {"trim": "10 mm"})
    (grid,) = [question for question in result.questions if question.key == "grid"]
    assert grid.answer == "4x3"
    assert any(finding.code == "pages-joined" for finding in result.findings)
    for one in result.pieces:
        assert off(one.piece, outline(one.piece.id)) < ACROSS_MM
        assert [edge.kind for edge in one.piece.edges] == [edge.kind for edge in drafted(one.piece.id).edges]


def test_a_grid_that_is_said_is_taken_and_a_wrong_one_is_said_to_be_doubtful() -> None:
    data = tiled_pdf()
    assert len(traced(data, {"grid": "4x3", "pages": "1-12"}).pieces) == 2
    with pytest.raises(PatternError, match="no room for 12 pages"):
        traced(data, {"grid": "3x3"})
    with pytest.raises(PatternError, match="pages 1 to 12"):
        traced(data, {"pages": "9-14"})
    with pytest.raises(PatternError, match="columns x rows"):
        traced(data, {"grid": "many"})


def _pages(data: bytes, order: list[int]) -> bytes:
    """The pages of a PDF in another order, from 1; 0 is a page with nothing on it."""
    with pikepdf.open(io.BytesIO(data)) as file:
        blank = pikepdf.new()
        blank.add_blank_page(page_size=(210 * MM, 297 * MM))
        out = pikepdf.new()
        for number in order:
            out.pages.append(file.pages[number - 1] if number else blank.pages[0])
        stream = io.BytesIO()
        out.save(stream)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("order", "grid", "pages"),
    [
        (list(range(1, 13)), "4x3", "1-12"),
        ([1, 5, 9, 2, 6, 10, 3, 7, 11, 4, 8, 12], "4x3 down", "1-12"),
        ([0, *range(1, 13)], "4x3", "2-13"),
    ],
)
def test_what_is_taken_may_be_said_and_nothing_changes(order: list[int], grid: str, pages: str) -> None:
    """Pages row by row, down the columns, and after a first page that is none of them: the answers that stand, given,
    lay out the same sheet; its pages lie 190 by 277 mm apart."""
    data = _pages(tiled_pdf(), order)
    one = traced(data)
    taken = {question.key: question.answer for question in one.questions if question.key != "gap"}
    assert (taken["grid"], taken["pages"], taken["trim"]) == (grid, pages, "10 mm, 10 mm, 10 mm, 10 mm")
    other = traced(data, taken)
    assert not [question for question in other.questions if question.key in taken and question.by_default]
    for mine, theirs in zip(one.pieces, other.pieces, strict=True):
        assert off(theirs.piece, outline(mine.piece.id)) < ACROSS_MM
    assert [page.number for page in one.found.pages] == list(_numbers(pages))
    first, second = (page.frame for page in one.found.pages[:2])
    assert first is not None and second is not None and one.found.pages[0].paper[0] == pytest.approx(first[0] - 10.0)
    apart = (second[0] - first[0], first[1] - second[1])
    assert apart == pytest.approx((0.0, 277.0) if "down" in grid else (190.0, 0.0), abs=1e-4)


def _numbers(words: str) -> range:
    first, _, last = words.partition("-")
    return range(int(first), int(last) + 1)


def test_a_trim_frame_that_is_a_little_off_is_part_of_what_is_stated() -> None:
    """0.2 mm too wide and too high a frame: slanted lines no longer meet across the joins."""
    right, wide = (traced(tiled_pdf(frame=False), {"trim": trim, "gap": "1 mm"}) for trim in ("10 mm", "9.9 mm"))
    assert right.found.error_mm == 0.05 < wide.found.error_mm < 0.4
    (said,) = [one.says for one in wide.findings if one.code == "pages-joined"]
    assert "mm beside each other" in said
    for one in wide.pieces:
        assert off(one.piece, outline(one.piece.id)) < 2.0


def test_pages_each_by_themselves_say_what_may_be_answered() -> None:
    found = read_pdf(tiled_pdf(frame=False), "tiles.pdf", {})
    asked = {question.key: question for question in found.questions}
    assert asked["grid"].answer == "none" and "3x4" in asked["grid"].asks
    assert asked["trim"].answer == "paper edge" and [page.frame for page in found.pages] == [None] * 12
    assert from_bytes(to_bytes(found)).pages == found.pages
    with pytest.raises(PatternError, match="no names"):
        read_pdf(tiled_pdf(), "tiles.pdf", {"grid": "by name"})


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_our_own_pages_come_back_with_both_lines_of_every_piece(paper: str) -> None:
    document, _ = open_file(sample_pieces.path("undershirt.garment.json"))
    drawn = draft(document.garment, ())
    data, _ = pdf_file(drawn, SheetSettings(PAPERS[paper]))
    result = traced(data)
    assert sorted(one.piece.id for one in result.pieces) == ["back", "front", "neckband", "sleeve"]
    for one in result.pieces:
        original = drawn.redrawn.piece(one.piece.id)
        assert one.piece.polygon.area == pytest.approx(original.polygon.area, rel=2e-5)
        assert sorted(edge.length for edge in one.piece.edges) == pytest.approx(
            sorted(edge.chain.length for edge in original.edges), abs=EXACT_MM
        )
        assert one.piece.on_fold == original.on_fold
        assert sum(notch.count for notch in one.piece.notches) == sum(notch.count for notch in original.notches)
        widths = {edge.length: drawn.garment.width(edge) for edge in original.edges if not edge.on_fold}
        for edge in one.piece.edges:
            if not edge.on_fold:
                nearest = min(widths, key=lambda length: abs(length - edge.length))
                assert edge.width == pytest.approx(widths[nearest], abs=0.05)


def layered_pdf(off_layers: tuple[str, ...] = ()) -> bytes:
    """Front in two sizes, each a layer of its own, and a note layer, as optional content groups."""
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(400 * MM, 700 * MM), invariant=1, pageCompression=0)
    for name, grown in (("10", 0.0), ("12", 8.0)):
        canvas._code.append(f"/OC /L{name} BDC")
        pdf_path(canvas, outline("front"), 20.0 + grown, 20.0)
        canvas._code.append("EMC")
    canvas.save()
    with pikepdf.open(io.BytesIO(stream.getvalue())) as file:
        groups = {
            name: file.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=f"Size {name}"))
            for name in ("10", "12")
        }
        default = pikepdf.Dictionary(OFF=pikepdf.Array([groups[name] for name in off_layers]))
        file.Root["/OCProperties"] = pikepdf.Dictionary(OCGs=pikepdf.Array(list(groups.values())), D=default)
        properties = pikepdf.Dictionary({f"/L{name}": group for name, group in groups.items()})
        file.pages[0].obj["/Resources"]["/Properties"] = properties
        out = io.BytesIO()
        file.save(out)
    return out.getvalue()


def test_sizes_on_layers_are_listed_and_one_is_chosen() -> None:
    result = traced(layered_pdf())
    (question,) = [one for one in result.questions if one.key == "size"]
    assert [choice.value for choice in question.choices] == ["10", "12"] and question.answer == "10"
    assert len(result.pieces) == 1 and result.size == "10"
    assert traced(layered_pdf(), {"size": "12"}).size == "12"
    with pytest.raises(PatternError, match="there are 10, 12"):
        traced(layered_pdf(), {"size": "14"})


def test_layers_that_are_off_are_left_out_and_said() -> None:
    result = traced(layered_pdf(("12",)))
    assert len(result.pieces) == 1
    (question,) = [one for one in result.questions if one.key == "hidden"]
    assert "“Size 12”" in question.asks


def test_a_password_and_a_mere_picture_are_said_plainly() -> None:
    with pikepdf.open(io.BytesIO(single_sheet_pdf())) as file:
        stream = io.BytesIO()
        file.save(stream, encryption=pikepdf.Encryption(owner="wardrobe", user="lamplighter"))
    with pytest.raises(PatternError, match="asks for a password"):
        traced(stream.getvalue())
    from PIL import Image
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas = Canvas(stream)
    canvas.drawImage(ImageReader(Image.new("RGB", (40, 40), "red")), 0, 0)
    canvas.save()
    with pytest.raises(PatternError, match="only holds a picture"):
        traced(stream.getvalue())


def test_a_form_inside_itself_is_refused() -> None:
    with pikepdf.new() as file:
        page = file.add_blank_page(page_size=(500, 500))
        form = file.make_stream(b"/A Do 0 0 m 100 0 l S")
        form["/Type"], form["/Subtype"] = pikepdf.Name.XObject, pikepdf.Name.Form
        form["/BBox"] = pikepdf.Array([0, 0, 100, 100])
        form["/Resources"] = pikepdf.Dictionary(XObject=pikepdf.Dictionary(A=form))
        page.obj["/Resources"] = pikepdf.Dictionary(XObject=pikepdf.Dictionary(A=form))
        page.obj["/Contents"] = file.make_stream(b"/A Do")
        stream = io.BytesIO()
        file.save(stream)
    with pytest.raises(PatternError, match="inside itself"):
        traced(stream.getvalue())
