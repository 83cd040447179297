"""Print and test-square on the command line: papers, counts, pages again, corrections kept for a printer."""

from __future__ import annotations

import json
from pathlib import Path

import pikepdf
import pytest

import sample_pieces
from app import command_line
from app.saying import read_paper
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
    import pypdfium2

    crowded = str(sample_pieces.path("front-only.garment.json"))
    for garment, paper in ((FRONT, "a4"), (crowded, "letter")):
        _, _, said = run(capsys, "print", garment, "--paper", paper, "--printer", "wardrobe", "--out", str(out))
        assert "101.01 % across, 99.40 % down" in said
        for page in pypdfium2.PdfDocument(out):
            shown = page.get_textpage().get_text_range()
            assert "101.01 %" in shown and "99.40 %" in shown, "on every page, however little room there is"
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


def test_an_arrangement_is_saved_and_laid_again(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """By the file and by the report of print --json: the same pages to the byte as the program's own."""
    own, kept, again, report = (tmp_path / n for n in ("own.pdf", "own.arrangement.json", "again.pdf", "report.json"))
    status, values, _ = run(capsys, "print", FRONT, "--out", str(own), "--save-arrangement", str(kept))
    assert status == 0
    report.write_text(json.dumps(values))
    for file in (kept, report):
        status, laid, _ = run(capsys, "print", FRONT, "--arrangement", str(file), "--out", str(again))
        assert status == 0 and laid["sheet"] == values["sheet"] and laid["sheets"] == values["sheets"]
        assert again.read_bytes() == own.read_bytes()
        again.unlink()


def test_an_arrangement_by_hand_is_printed_or_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file, out = tmp_path / "mine.arrangement.json", tmp_path / "pages.pdf"
    assert run(capsys, "print", FRONT, "--save-arrangement", str(file))[0] == 0
    whole = json.loads(file.read_text())

    def printed_with(change: object) -> tuple[int, dict[str, object]]:
        values = json.loads(json.dumps(whole))
        change(values)  # type: ignore[operator]
        file.write_text(json.dumps(values))
        status, found, _ = run(capsys, "print", FRONT, "--arrangement", str(file), "--out", str(out))
        return status, found

    status, values = printed_with(lambda v: v["sheet"][0].update(transform=[0, 1, -1, 0, -900.0, 573.4]))
    assert status == 0 and values["sheets"] > 10 and out.exists()
    out.unlink()
    refused = {
        "Pieces lie over each other": lambda v: v["sheet"][0].update(transform=v["sheet"][1]["transform"]),
        "stretched or mirrored": lambda v: v["sheet"][0].update(transform=[1.1, 0, 0, 1, 0, 0]),
        "where “Front” lies": lambda v: v["sheet"].pop(0),
        "6 are wanted": lambda v: v["sheet"][0].update(transform=[1, 0]),
        "“pages” is not known": lambda v: v.update(pages=[]),
        "“sheet” is missing": lambda v: v.pop("sheet"),
        "newer version": lambda v: v.update(version=2),
        "is no arrangement": lambda v: v.update(format="something else"),
    }
    for says, change in refused.items():
        status, values = printed_with(change)
        assert status == 2 and says in values["error"]["says"] and "\n" not in values["error"]["says"]
        assert not out.exists()
    status, values, _ = run(capsys, "print", FRONT, "--arrangement", str(file), "--either-way")
    assert status == 2 and "--either-way" in values["error"]["says"]
    status, values, _ = run(capsys, "print", FRONT, "--save-arrangement", str(tmp_path / "x.json"))
    assert status == 2 and ".arrangement.json" in values["error"]["says"]


def test_the_paper_in_the_tray_tells_two_causes_apart(capsys: pytest.CaptureFixture[str]) -> None:
    """Check values, section 9: 94.1 mm is A4 fitted to Letter, 94.0 mm shrunk to margins of 6.35 mm on A4."""
    reading = ["--reading-across", "94.1mm", "--reading-down", "94mm"]
    for loaded, says in (("letter", "fitted to Letter"), ("a4", "margins of 6.35 mm on A4")):
        status, values, said = run(capsys, "test-square", *reading, "--loaded", loaded)
        assert status == 0 and says in said and "Which paper" not in said
        assert len(values["causes"]) == 1  # type: ignore[arg-type]


def test_another_line_than_the_square_may_be_measured(capsys: pytest.CaptureFixture[str]) -> None:
    """The square of 4 in on A4 fitted to Letter: 101.6 x 279.4 / 297 = 95.6 mm; a rule of 200 mm: 188.1 mm."""
    for of, reading in (("4 in", "95.6mm"), ("200mm", "188.1mm")):
        measured = ["--reading-across", reading, "--reading-down", reading, "--of", of]
        words = ["test-square", *measured, "--loaded", "letter"]
        status, values, said = run(capsys, *words)
        assert status == 0 and f"{reading[:-2]} mm of" in said and values["causes"]
    words = ["--reading-across", "198mm", "--reading-down", "199mm", "--of", "200mm", "--printer", "attic"]
    assert run(capsys, "test-square", *words)[0] == 0
    from app import printers

    kept = printers.correction("attic")
    assert (kept.x_mm, kept.y_mm) == pytest.approx((99.0, 99.5))


def test_what_is_drawn_beside_the_pieces_is_chosen_in_the_window_as_on_the_command_line() -> None:
    from app.print_choice import PrintChoice
    from geometry.sheets import SheetSettings

    plain, both = (PrintChoice(before=chosen, shaded=chosen).options(SheetSettings()) for chosen in (False, True))
    assert [option for option in both if option not in plain] == ["--before", "--shaded"]
