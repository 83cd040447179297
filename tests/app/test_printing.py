"""Print and test-square on the command line: papers, counts, pages again, corrections kept for a printer."""

from __future__ import annotations

import json
from pathlib import Path

import pikepdf
import pytest

import sample_pieces
from app import command_line
from app.printing import read_paper
from geometry.errors import PatternError

FRONT = str(sample_pieces.path("undershirt.garment.json"))


@pytest.fixture(autouse=True)
def own_printers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TUCKTRUE_PRINTERS", str(tmp_path / "printers.json"))


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, object], str]:
    status = command_line.main([*words, "--json"])
    said = capsys.readouterr()
    return status, json.loads(said.out), said.err


def test_sheets_are_counted_and_what_was_saved_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, values, said = run(capsys, "print", FRONT)
    assert status == 0 and values["sheets"] < values["sheets_alone"]
    assert f"{values['sheets']} sheets of A4; {values['sheets_alone']} if each piece were printed by itself" in said
    assert not list(tmp_path.iterdir()), "counting writes nothing"


def test_either_way_takes_no_more_sheets_than_upright_or_lying(capsys: pytest.CaptureFixture[str]) -> None:
    counts = [run(capsys, "print", FRONT, *way)[1]["sheets"] for way in ([], ["--landscape"], ["--either-way"])]
    assert counts[2] == min(counts)


def test_pages_are_printed_again_without_the_first(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    out = tmp_path / "again.pdf"
    whole = run(capsys, "print", FRONT)[1]["pages"]
    names = [page["name"] for page in whole if page["page"] is not None][:3]
    status, values, _ = run(capsys, "print", FRONT, "--pages", f"{names[2]},{names[0]}", "--out", str(out))
    assert status == 0
    assert [page["name"] for page in values["pages"] if page["page"] is not None] == [names[0], names[2]]
    assert len(pikepdf.open(out).pages) == 2
    status, values, _ = run(capsys, "print", FRONT, "--pages", "Z9", "--out", str(out))
    assert status == 2 and "no page Z9" in values["error"]["says"]
    status, values, _ = run(capsys, "print", FRONT, "--pages", "first", "--out", str(out))
    assert status == 2 and "names no page" in values["error"]["says"]


@pytest.mark.parametrize(
    ("words", "size"),
    [("a3", (297, 420)), ("Legal", (215.9, 355.6)), ("250mm x 350 mm", (250, 350)), ("14in x 8.5in", (215.9, 355.6))],
)
def test_papers(words: str, size: tuple[float, float]) -> None:
    paper = read_paper(words)
    assert (paper.width_mm, paper.height_mm) == pytest.approx(size)


@pytest.mark.parametrize("words", ["b7", "40mm x 60mm", "9000 x 100", "a4 x"])
def test_no_paper(words: str) -> None:
    with pytest.raises(PatternError):
        read_paper(words)


def test_page_boxes_are_exact(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """ISO 216: A3 is 297 x 420 mm; a PDF's unit is 1/72 in."""
    out = tmp_path / "a3.pdf"
    assert run(capsys, "print", FRONT, "--paper", "a3", "--out", str(out))[0] == 0
    with pikepdf.open(out) as document:
        box = [float(value) for value in document.pages[0].mediabox]
    assert box[2:] == pytest.approx([297 / 25.4 * 72, 420 / 25.4 * 72], abs=1e-3)


def test_a_reading_is_explained(capsys: pytest.CaptureFixture[str]) -> None:
    status, values, said = run(capsys, "test-square", "--reading-across", "94.1mm", "--reading-down", "94mm")
    assert status == 0 and values["true"] is False
    assert "fitted to Letter" in said and "Which paper is in the tray" in said


def test_a_printers_correction_is_kept_used_and_shown(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    reading = ["--reading-across", "99mm", "--reading-down", "100.6mm"]
    assert run(capsys, "test-square", *reading, "--printer", "wardrobe")[0] == 0
    out = tmp_path / "pages.pdf"
    status, _, said = run(capsys, "print", FRONT, "--printer", "wardrobe", "--out", str(out))
    assert status == 0 and "101.01 % across, 99.40 % down" in said
    import pypdfium2

    document = pypdfium2.PdfDocument(out)
    for index in range(len(document)):
        assert "101.01 % across" in document[index].get_textpage().get_text_range()
    status, values, _ = run(capsys, "print", FRONT, "--printer", "attic", "--out", str(out))
    assert status == 2 and "“wardrobe”" in values["error"]["says"]


def test_a_scaling_setting_is_no_reason_to_correct_a_printer(capsys: pytest.CaptureFixture[str]) -> None:
    reading = ["--reading-across", "97.3", "--reading-down", "97.3", "--paper", "letter"]
    status, values, _ = run(capsys, "test-square", *reading, "--printer", "w")
    assert status == 2 and "put it right" in values["error"]["says"]


def test_broken_list_of_printers(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "printers.json").write_text('{"format": "tuck-and-true printers", "version": 1, "printers": {"w": {}}}')
    status, values, _ = run(capsys, "print", FRONT, "--printer", "w")
    assert status == 2 and "x_mm" in values["error"]["says"]
