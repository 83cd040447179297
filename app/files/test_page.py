"""The test page, printed alone: squares of 100 mm and 4 in and two rules, and what to do with what they measure."""

from __future__ import annotations

from app.files.first_page import (
    BODY_MM,
    FOUR_INCHES_MM,
    RULE_MM,
    SQUARE_MM,
    draw_rule,
    draw_square,
    draw_steps,
)
from app.files.paper_pen import Brush, fitted
from app.files.pdf_file import PdfFile
from geometry.errors import PatternError
from geometry.papers import Paper

#: Between the squares, with the words over the lower one (mm).
_APART_MM = 10.0
_HEADING_MM = 20.0
#: What the upright rule takes beside the squares, the lying one under them (mm).
_BESIDE_MM, _UNDER_MM = 16.0, 13.0
#: A lying rule comes this near the paper's edges (mm); printers leave 3 to 6 mm blank. Common practice, no source.
_LEAST_EDGE_MM = 5.0


def test_page_pdf(paper: Paper, printer: str = "") -> bytes:
    """One page of this paper, upright, as PDF; ``printer`` names the printer that it is sent to.

    It is drawn as it is, never with a printer's correction, so that what it measures can be kept as one. The same
    paper gives the same bytes. Raises PatternError for a paper with no room for the squares.
    """
    rim = paper.margin_mm + 1.0
    wide, high = paper.width_mm - 2 * rim, paper.height_mm - 2 * rim
    if wide < _BESIDE_MM + FOUR_INCHES_MM or high < _HEADING_MM + SQUARE_MM + _APART_MM + FOUR_INCHES_MM + _UNDER_MM:
        raise PatternError(f"{paper.name} has no room for the test page; print it on A4, Letter or larger.")
    says = f"Squares of 100 mm and 4 in and rules to measure on {paper.name}, print without scaling"
    file = PdfFile(f"Test page, {paper.name}", says, f"{paper.name} paper", (paper.width_mm, paper.height_mm))
    _draw(file.brush, paper, printer, rim, wide)
    file.end_page("test page")
    return file.closed()


def _draw(brush: Brush, paper: Paper, printer: str, rim: float, wide: float) -> None:
    top = paper.height_mm - rim
    brush.text((rim, top - 3.0), "Test page", 5.0, bold=True)
    to = f" For the printer “{printer}”." if printer else ""
    says = f"Made for {_on(paper)}.{to} Drawn without any printer's correction."
    brush.text((rim, top - 11.0), fitted(says, BODY_MM, wide), BODY_MM)
    left, upper = rim + _BESIDE_MM, top - _HEADING_MM
    first, second = upper - SQUARE_MM, upper - SQUARE_MM - _APART_MM - FOUR_INCHES_MM
    draw_rule(brush, (rim + 1.0, upper - RULE_MM), upright=True)
    draw_square(brush, (left, first), SQUARE_MM, "100 mm")
    draw_steps(brush, (left, first), SQUARE_MM, "What to measure", _measuring(paper))
    draw_square(brush, (left, second), FOUR_INCHES_MM, "4 in")
    draw_steps(brush, (left, second), FOUR_INCHES_MM, "What it means", _meaning())
    _lying_rule(brush, paper, second - _UNDER_MM, rim)


def _lying_rule(brush: Brush, paper: Paper, y: float, rim: float) -> None:
    """A rule of 200 mm across, right to the edge of what most printers reach, or as long as a narrower paper bears."""
    length = min(RULE_MM, 10.0 * int((paper.width_mm - 2 * _LEAST_EDGE_MM) / 10.0))
    left = (paper.width_mm - length) / 2
    draw_rule(brush, (left, y), upright=False, length=length, labelled=False)
    says = f"{length:g} mm"
    if left < rim:
        last = int(length / 10) - 1
        says += f"; if your printer leaves its ends out, measure from 1 to {last}, {10 * (last - 1)} mm."
    brush.text((rim + 1.0, y - 4.0), says, 2.0)


def _measuring(paper: Paper) -> list[str]:
    return [
        f"Print this page at “actual size”, “100 %” or “scaling: none” on {_on(paper)}.",
        "Lay a ruler that you trust along the sides of this square, across and down, and read both to half a "
        "millimetre.",
        "Check with the other square, which is 101.6 mm, and with the rules.",
    ]


def _on(paper: Paper) -> str:
    return f"{paper.name.replace(' and ', ' or ')} paper"


def _meaning() -> list[str]:
    return [
        "Both 100 mm, give or take half a millimetre: print your pages.",
        "Anything else: give both readings to “What does the test square measure?” in the window or to “tucktrue "
        "test-square”. It names what shrank the page, or keeps a correction for your printer.",
        "Do not cut cloth from pages whose square is wrong: half a millimetre here is 2.5 mm on half a metre of seam.",
    ]
