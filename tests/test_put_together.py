"""The proof of true size: printed pages put together again by their own marks carry the outline as it was drawn."""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pikepdf
import pypdfium2
import pytest

import sample_pieces
from app import outputs
from app.files.garment_file import open_file
from app.files.pdf import tiles_pdf
from geometry.drawing import Placed, Style, record
from geometry.lettering import Lettering
from geometry.motions import STAY, slide, turn
from geometry.papers import A4, BOTH, LETTER, PAPERS
from geometry.pipeline import draft
from geometry.print_scale import Correction
from geometry.sheets import Sheet, SheetSettings, join_lines
from tests import drawn
from tests.put_together import Mosaic, Picture, Reading, picture, put_together

PRINTING = Path(__file__).resolve().parent.parent / "docs" / "printing.md"

WAYS = {
    "A4": SheetSettings(A4),
    "Letter": SheetSettings(LETTER),
    "A4 and Letter": SheetSettings(BOTH, BOTH.margin_mm),
    "A4, edge to edge": SheetSettings(A4, overlap_mm=0.0),
}
PAGES = 9


@cache
def sheet(way: str) -> Sheet:
    """A front with its dart upright, as most pieces lie, and beside it a panel askew; three rows of pages."""
    wide, high = WAYS[way].size_of(4, 3)
    joins, placed, x = join_lines(Sheet((), wide, high), WAYS[way]), [], 12.0
    for cut, motion in ((drawn.cuts()[0], STAY), (drawn.cuts()[3], turn(7.0, (0.0, 0.0)))):
        x0, y0, x1, _ = record(cut).moved(motion).bounds()
        laid = motion.then(slide(x - x0, 40.0 - y0))
        kept_clear = Lettering(joins=[line.moved(laid.undone()) for line in joins])
        placed.append(Placed(record(cut, style=Style(lettering=kept_clear)), laid))
        x += x1 - x0 + 5.0
    return Sheet(tuple(placed), x, high)


@cache
def printed(way: str) -> tuple[bytes, Mosaic]:
    """The file, and its pages as pictures with their marks."""
    pdf, records = tiles_pdf(sheet(way), WAYS[way])
    return pdf, put_together(pdf, records, WAYS[way])


@pytest.mark.parametrize("way", WAYS)
def test_pages_put_together_carry_the_outline(way: str) -> None:
    """Within 0.05 mm of the geometry at 99 of 100 places and 0.1 mm at worst; shared marks meet within 0.05 mm."""
    reading = printed(way)[1].reading(sheet(way))
    assert reading.read > 1000 and reading.share > 0.95
    assert reading.proves, reading


@pytest.mark.parametrize("correction", [Correction(99.5, 99.5), Correction(100.5, 100.0)], ids=["both", "across"])
@pytest.mark.parametrize("way", WAYS)
def test_half_a_percent_fails(way: str, correction: Correction) -> None:
    """Pages drawn half a percent too large or too small, or only across, are found out."""
    pdf, records = tiles_pdf(sheet(way), WAYS[way], correction=correction)
    reading = put_together(pdf, records, WAYS[way]).reading(sheet(way))
    assert not reading.proves and reading.most > 0.1, reading


def test_a_printer_that_is_off_prints_true_with_its_correction() -> None:
    """It makes 99 mm of 100 across and 100.6 down; with the correction that was kept for it the outline is true."""
    way, off = "A4", (0.99, 1.006)
    pages = tiles_pdf(sheet(way), WAYS[way], correction=Correction(99.0, 100.6))
    reading = put_together(*pages, WAYS[way], off).reading(sheet(way))
    assert reading.proves and reading.share > 0.95, reading
    pdf, records = tiles_pdf(sheet(way), WAYS[way])
    assert not put_together(pdf, records, WAYS[way], off).reading(sheet(way)).proves


@pytest.mark.parametrize("way", WAYS)
def test_content_half_a_millimetre_off_its_marks_fails(way: str) -> None:
    """On any one page what is drawn of the sheet is moved 0.5 mm aslant, its marks are not."""
    pdf, mosaic = printed(way)
    for index in range(len(mosaic.pages)):
        reading = mosaic.with_page(index, moved_on_page(pdf, 1 + index, 0.5)).reading(sheet(way))
        assert not reading.proves and reading.worst > 0.2, (index, reading)


def moved_on_page(pdf: bytes, index: int, by_mm: float) -> Picture:
    """One page with the sheet on it moved so far to the upper right, as a picture."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        page = document.pages[index]
        commands = list(pikepdf.parse_content_stream(page))
        draws = next(k for k, command in enumerate(commands) if str(command.operator) == "Do")
        lays = max(k for k in range(draws) if str(commands[k].operator) == "cm")
        numbers = [float(value) for value in commands[lays].operands]
        numbers[4] += by_mm * 72 / 25.4 / 2**0.5
        numbers[5] += by_mm * 72 / 25.4 / 2**0.5
        commands[lays] = pikepdf.ContentStreamInstruction(numbers, pikepdf.Operator("cm"))
        page.Contents = document.make_stream(pikepdf.unparse_content_stream(commands))
        changed = io.BytesIO()
        document.save(changed)
    return picture(pypdfium2.PdfDocument(changed.getvalue())[index])


#: Rows of the table of figures in docs/printing.md beyond those of WAYS.
MORE_WAYS = {
    "A4, lying": SheetSettings(A4, landscape=True),
    "A4, overlap 10 mm": SheetSettings(A4, overlap_mm=10.0),
    "A4, overlap 15 mm": SheetSettings(A4, overlap_mm=15.0),
    "Letter, edge to edge": SheetSettings(LETTER, overlap_mm=0.0),
    "A4 and Letter, edge to edge": SheetSettings(BOTH, BOTH.margin_mm, 0.0),
    "A3": SheetSettings(PAPERS["a3"]),
    "Legal": SheetSettings(PAPERS["legal"]),
    "Tabloid": SheetSettings(PAPERS["tabloid"]),
}
GARMENTS = ("undershirt", "waistcoat", "funnel-neck", "skirt", "trousers", "front-only")


def sample_readings(settings: SheetSettings) -> Iterator[tuple[int, Reading]]:
    """For each sample garment its print's pages and what was read off them, lettered and noted as it is printed."""
    for name in GARMENTS:
        document, _ = open_file(sample_pieces.path(f"{name}.garment.json"))
        laid = outputs.page_sheet(draft(document.garment, document.notes), settings, closely=False)
        mosaic = put_together(*tiles_pdf(laid, settings), settings)
        yield len(mosaic.pages), mosaic.reading(laid)


@pytest.mark.long
@pytest.mark.parametrize("way", [*WAYS, *MORE_WAYS])
def test_the_samples_put_together_and_the_figures_in_the_documents(way: str) -> None:
    """Every page of every sample; what docs/printing.md says was reached is no better than what is reached."""
    found = list(sample_readings((WAYS | MORE_WAYS)[way]))
    pages, places = sum(count for count, _ in found), sum(reading.read for _, reading in found)
    most = [max(getattr(one, part) for _, one in found) for part in ("middle", "most", "worst", "marks_miss")]
    print(f"| {way} | {pages} | {places} | " + " | ".join(f"{value:.3f}" for value in most) + " |")
    assert all(reading.proves and reading.share > 0.85 for _, reading in found), found
    rows = [line.strip("| ").split(" | ") for line in PRINTING.read_text(encoding="utf-8").splitlines()]
    (said,) = [row for row in rows if row[0] == way and len(row) == 7]
    assert (int(said[1]), int(said[2])) == pytest.approx((pages, places), rel=0.05)
    assert all(value <= float(words) + 0.001 for value, words in zip(most, said[3:], strict=True)), most
