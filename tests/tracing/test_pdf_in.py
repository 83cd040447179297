"""PDF comes in: exact paths, layers, tiles joined to one sheet, our own pages; passwords and pictures are said."""

from __future__ import annotations

import io

import pikepdf
import pytest

import sample_pieces
from app.files.garment_file import open_file
from app.outputs import pdf_file
from geometry.errors import PatternError
from geometry.pipeline import draft
from geometry.sheets import PAPERS, SheetSettings
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
