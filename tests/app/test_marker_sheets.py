"""Marker sheets as printed: page sizes, what is black where, and a raster that OpenCV itself reads."""

from __future__ import annotations

import io
import json
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pypdfium2
import pytest
import shapely

from app.command_line import main
from app.photo.marker_sheets import RULE_MM, black_parts, markers_pdf, place_of, places, touching_points
from geometry.errors import PatternError
from geometry.papers import A4, LETTER, Paper

DPI = 200


@cache
def raster(paper: Paper, sheet: int) -> np.ndarray:
    """A sheet printed: grey, rows from the top."""
    document = pypdfium2.PdfDocument(markers_pdf(paper, 4))
    image = document[sheet - 1].render(scale=DPI / 72, grayscale=True).to_numpy()
    return np.ascontiguousarray(image[..., 0] if image.ndim == 3 else image)


def pixels(points: np.ndarray, paper: Paper, image: np.ndarray) -> np.ndarray:
    """Where points in mm from the sheet's middle lie in its raster: page size over pixel size, as pdfium rounds up."""
    size = np.array([paper.width_mm, paper.height_mm])
    return (points * [1, -1] + size / 2) / size * np.array(image.shape[::-1]) - 0.5


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_pages_have_the_papers_size_and_ask_for_no_scaling(paper: Paper) -> None:
    """ISO 216 and ANSI/ASME Y14.1."""
    file = pikepdf.open(io.BytesIO(markers_pdf(paper, 5)))
    assert len(file.pages) == 5
    for page in file.pages:
        box = [float(side) * 25.4 / 72 for side in page.mediabox]
        assert box == pytest.approx([0, 0, paper.width_mm, paper.height_mm], abs=0.01)
    assert file.Root.ViewerPreferences.PrintScaling == "/None"
    assert markers_pdf(paper, 5) == markers_pdf(paper, 5)


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("sheet", [1, 4])
def test_what_is_printed_is_what_is_measured(paper: Paper, sheet: int) -> None:
    """OpenCV's own detector reads every marker from the raster where the sheet says it stands, within 0.2 mm."""
    image = raster(paper, sheet)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(image)
    assert sorted(numbers.ravel()) == [place.marker for place in places(sheet)]
    for quad, number in zip(corners, numbers.ravel()):
        place = place_of(int(number))
        assert place is not None and place.sheet == sheet
        off = quad[0] - pixels(np.array(place.corners), paper, image)
        assert np.abs(off).max() < 0.2 / 25.4 * DPI
    points = pixels(touching_points(), paper, image).astype(np.float32).reshape(-1, 1, 2)
    found = cv2.cornerSubPix(image, points.copy(), (8, 8), (-1, -1), (3, 60, 1e-4))
    assert np.abs(found - points).max() < 0.05 / 25.4 * DPI


def test_black_stays_clear_of_what_printers_leave_blank() -> None:
    """12.7 mm at the foot and 6.35 mm at the sides (common practice, no source)."""
    for paper in (A4, LETTER):
        x0, y0, x1, y1 = shapely.bounds(black_parts(1))
        assert y0 + paper.height_mm / 2 >= 12.7 and paper.height_mm / 2 - y1 >= 12.7
        assert x0 + paper.width_mm / 2 >= 6.35 and paper.width_mm / 2 - x1 >= 6.35


def test_the_rule_is_as_long_as_it_says() -> None:
    image = raster(A4, 1)
    (left, y), (right, _) = pixels(np.array([[-RULE_MM / 2, -16.0], [RULE_MM / 2, -16.0]]), A4, image)
    row = image[round(y) - 1 : round(y) + 2].min(axis=0) < 128
    dark = np.flatnonzero(row[round(left) - 30 : round(right) + 31]) + round(left) - 30
    assert (dark[-1] - dark[0]) * 25.4 / DPI == pytest.approx(RULE_MM, abs=0.4)


def test_the_command_writes_them_and_says_what_to_measure(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "markers.pdf"
    assert main(["markers", "--paper", "letter", "--out", str(out), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said == {"file": str(out), "sheets": 4, "markers": 16, "rule_mm": 150.0}
    assert len(pikepdf.open(out).pages) == 4
    assert main(["markers", "--out", str(out), "--sheets", "40"]) == 2
    assert "3 to 12 marker sheets" in capsys.readouterr().err
    assert main(["markers", "--out", str(tmp_path / "markers.png")]) == 2
    with pytest.raises(PatternError, match="can be printed"):
        markers_pdf(A4, 2)
