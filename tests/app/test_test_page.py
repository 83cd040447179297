"""The test page alone: what its squares and rules measure, what the file says of itself."""

from __future__ import annotations

import io

import numpy as np
import pikepdf
import pypdfium2
import pytest

from app.files.large_pdf import large_pdf
from app.files.pdf import tiles_pdf
from app.files.test_page import test_page_pdf as page_pdf
from app.photo.marker_sheets import markers_pdf
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.errors import PatternError
from geometry.lines import polyline
from geometry.papers import A4, BOTH, LETTER, PAPERS, Paper
from geometry.sheets import Sheet, SheetSettings
from tests.app.test_pdf import long_lines
from tests.put_together import pictures

PAGES = [A4, LETTER, BOTH, PAPERS["tabloid"]]


@pytest.mark.parametrize("paper", PAGES, ids=lambda paper: paper.name)
def test_squares_and_both_rules_measure_what_they_say(paper: Paper) -> None:
    """Squares of 100 and 101.6 mm within 0.05 mm, both ways; rules of 200 mm within a dot of 300 dpi, both ways."""
    (page,) = pictures(page_pdf(paper), 0)
    across, down = page.mm
    dark = page.dark / 255
    between = round((paper.margin_mm + 1.0 + 20.0 + 100.0 + 5.0) / down)
    for part, side in ((dark[:between], 100.0), (dark[between:], 4 * 25.4)):
        for lines, along, other in ((part, across, down), (part.T, down, across)):
            first, last = long_lines(lines, along, other, side + 0.3)
            assert last - first == pytest.approx(side, abs=0.05)
    for lines, along, other in ((dark, across, down), (dark.T, down, across)):
        (at,) = long_lines(lines, along, other, 200.15)
        ink = np.flatnonzero(lines[:, int(at / along)] > 0.25)
        longest = max(np.split(ink, np.flatnonzero(np.diff(ink) > 1) + 1), key=len)
        assert len(longest) * other == pytest.approx(200.15, abs=0.15)


def test_a_lying_rule_that_comes_near_the_edge_says_where_to_measure_instead() -> None:
    """A4 is 210 mm wide (ISO 216): 200 mm leave 5 mm on either side, and some printers leave 6 mm blank."""
    says = {paper.name: words(page_pdf(paper)) for paper in (A4, PAPERS["tabloid"])}
    assert "200 mm; if your printer leaves its ends out, measure from 1 to 19, 180 mm." in says["A4"]
    assert "leaves its ends out" not in says["Tabloid"]
    assert "190 mm; if your" in words(page_pdf(Paper("narrow", 200.0, 300.0)))


def words(pdf: bytes) -> str:
    return str(pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_bounded())


def test_paper_too_small_for_the_squares_is_refused() -> None:
    with pytest.raises(PatternError, match="no room for the test page"):
        page_pdf(Paper("postcard", 105.0, 148.0))


def test_every_pdf_says_its_facts_in_the_same_way_and_is_the_same_twice() -> None:
    """Facts and XMP, language, no scaling asked for, typefaces embedded; without layers none are listed."""
    box = Drawing("tab", "tab", (Stroke(Role.CUT, polyline([(0, 0), (80, 0), (80, 60), (0, 60), (0, 0)]), True),), ())
    sheet = Sheet((Placed(box),), *SheetSettings().size_of(1, 1))
    made = [
        lambda: page_pdf(A4, "Workroom"),
        lambda: markers_pdf(A4, 3),
        lambda: large_pdf([sheet]),
        lambda: tiles_pdf(sheet, SheetSettings())[0],
    ]
    for make in made:
        assert make() == make()
        with pikepdf.open(io.BytesIO(make())) as document:
            info, root = document.docinfo, document.Root
            assert str(info.Author) == str(info.Creator) == "Tuck & True" and str(info.Title) and str(info.Subject)
            with document.open_metadata() as facts:
                assert facts["dc:title"] == str(info.Title) and facts["dc:description"] == str(info.Subject)
            assert str(root.ViewerPreferences.PrintScaling) == "/None" and str(root.Lang) == "en-GB"
            fonts = [font for page in document.pages for font in page.resources.Font.as_dict().values()]
            ours = [font for font in fonts if "DejaVu" in str(font.BaseFont)]
            assert ours and all("/FontFile2" in font.FontDescriptor for font in ours)
            assert ("/OCProperties" in root) is (make in made[2:])
