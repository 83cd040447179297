"""Straight to a printer: a real print queue measured by what comes out of it, and every refusal in one sentence."""

from __future__ import annotations

import io
import json
import os
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pypdfium2
import pytest

import sample_pieces
from app import command_line, printers, queues
from app.files.test_page import test_page_pdf as page_pdf
from geometry.errors import PatternError
from geometry.papers import A4, BOTH, LETTER, PAPERS, Paper
from geometry.print_scale import Correction
from tests.print_queue import NARROW, PDF, PrintSystem, print_system, squares

FRONT = str(sample_pieces.path("front-only.garment.json"))
#: What a printed line may be off: the filters write pages in hundredths of a point and lines in whole pixels (mm).
CLOSE_MM = 0.05
#: Printed; 1 says besides that a note puts a seam of this garment out.
DONE = (0, 1)


@pytest.fixture(scope="module")
def system() -> Iterator[PrintSystem]:
    with print_system() as running:
        # The queue itself is set to fit every page to the paper, as most are.
        running.run("lpadmin", "-p", PDF, "-o", "print-scaling-default=fit", "-o", "number-up-default=2")
        yield running


@pytest.fixture
def there(system: PrintSystem, monkeypatch: pytest.MonkeyPatch) -> PrintSystem:
    for name, value in system.environment.items():
        monkeypatch.setenv(name, value)
    return system


@pytest.fixture(autouse=True)
def own_printers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TUCKTRUE_PRINTERS", str(tmp_path / "printers.json"))


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, object], str]:
    status = command_line.main([*words, "--json"])
    said = capsys.readouterr()
    return status, json.loads(said.out), said.err


class TestPrinted:
    def test_the_square_of_100_mm_comes_out_of_the_queue_true(
        self, there: PrintSystem, capsys: pytest.CaptureFixture[str]
    ) -> None:
        status, values, said = run(capsys, "test-page", "--printer", PDF)
        assert (status, values) == (0, {"printed_on": "A4"}) and "not scaled" in said
        (hundred, inches) = squares(there.printed())
        assert hundred == pytest.approx((100.0, 100.0), abs=CLOSE_MM)
        assert inches == pytest.approx((101.6, 101.6), abs=CLOSE_MM)

    def test_a_page_that_the_queue_fits_to_other_paper_is_measured_too_small(
        self, there: PrintSystem, tmp_path: Path
    ) -> None:
        """94.1 mm of 100: A4 fitted to Letter (279.4 / 297); without our options the queue does what it is set to."""
        (tmp_path / "page.pdf").write_bytes(page_pdf(A4))
        there.run("lp", "-d", PDF, "-o", "media=Letter", "-o", "number-up=1", str(tmp_path / "page.pdf"))
        hundred, _ = squares(there.printed())
        assert hundred == pytest.approx((94.1, 94.1), abs=0.1)

    def test_pages_are_printed_with_the_printers_correction_and_say_so(
        self, there: PrintSystem, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """A printer that makes 99 and 100.6 mm of 100 is given 101.01 and 99.40 mm, each page about its middle."""
        printers.keep(PDF, Correction(99.0, 100.6))
        status, values, said = run(capsys, "print", FRONT, "--paper", "letter", "--printer", PDF)
        assert status in DONE and "101.01 % across, 99.40 % down" in said and "on Letter" in said
        data = there.printed()
        hundred, _ = squares(data)
        assert hundred == pytest.approx((100 / 0.99, 100 / 1.006), abs=CLOSE_MM)
        document = pypdfium2.PdfDocument(data)
        assert len(document) == int(str(values["sheets"])) + 1
        for page in document:
            # Ghostscript turns a page to the way most of its words run.
            assert sorted(page.get_size()) == pytest.approx([612, 792])
            shown = page.get_textpage().get_text_range()
            assert "101.01 %" in shown and "99.40 %" in shown

    def test_lying_pages_are_not_scaled_either(self, there: PrintSystem, capsys: pytest.CaptureFixture[str]) -> None:
        assert run(capsys, "print", FRONT, "--landscape", "--printer", PDF)[0] in DONE
        hundred, inches = squares(there.printed())
        assert (*hundred, *inches) == pytest.approx((100.0, 100.0, 101.6, 101.6), abs=CLOSE_MM)

    def test_pages_of_their_own_size(self, there: PrintSystem, capsys: pytest.CaptureFixture[str]) -> None:
        assert run(capsys, "test-page", "--paper", "250mm x 300mm", "--printer", PDF)[0] == 0
        data = there.printed()
        assert squares(data)[0] == pytest.approx((100.0, 100.0), abs=CLOSE_MM)
        with pikepdf.open(io.BytesIO(data)) as document:
            box = [float(value) / 72 * 25.4 for value in document.pages[0].mediabox]
        assert box[2:] == pytest.approx([250, 300], abs=0.4), "within a point"


class TestWhichPrinters:
    def test_they_are_listed_with_what_is_kept(self, there: PrintSystem, capsys: pytest.CaptureFixture[str]) -> None:
        printers.keep(NARROW, Correction(99.0, 100.0))
        printers.keep("wardrobe room", Correction(100.0, 99.0))
        there.run("lpadmin", "-d", NARROW)
        status, values, said = run(capsys, "printers")
        assert status == 0 and [row["name"] for row in values["printers"]] == [NARROW, PDF]  # type: ignore[attr-defined]
        assert f"{NARROW}: the usual one, corrected for the printer: 101.01 % across, 100.00 % down" in said
        assert f"{PDF}: no correction" in said and "wardrobe room: " in said and "no printer of this machine" in said

    def test_pages_that_fit_a4_and_letter_go_on_what_the_printer_usually_takes(self, there: PrintSystem) -> None:
        assert (queues.media(PDF, BOTH), queues.media(NARROW, BOTH)) == ("A4", "Letter")
        assert queues.media(PDF, Paper("own", 200.0, 300.5)) == "Custom.200x300.5mm"
        assert queues.media(PDF, LETTER) == "Letter"


class TestRefused:
    def test_a_paper_that_the_printer_does_not_take(
        self, there: PrintSystem, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """The print system itself would take it and print on another paper."""
        for paper in ("a0", "250mm x 300mm"):
            status, values, _ = run(capsys, "print", FRONT, "--paper", paper, "--printer", NARROW)
            says = values["error"]["says"]  # type: ignore[index]
            assert status == 2 and "does not take" in says and "it takes Letter, Legal, Tabloid, A3, A4." in says
        assert not there.run("lpstat", "-o").strip()

    def test_a_printer_that_takes_no_pages(self, there: PrintSystem, capsys: pytest.CaptureFixture[str]) -> None:
        there.run("cupsreject", "-r", "toner on order", NARROW)
        try:
            status, values, _ = run(capsys, "test-page", "--printer", NARROW)
        finally:
            there.run("cupsaccept", NARROW)
        says = values["error"]["says"]  # type: ignore[index]
        assert status == 2 and says.startswith(f"The printer “{NARROW}” takes no pages now (toner on order);")

    def test_a_printer_that_is_switched_off_keeps_the_pages(
        self, there: PrintSystem, capsys: pytest.CaptureFixture[str]
    ) -> None:
        there.run("cupsdisable", "-r", "no paper", NARROW)
        try:
            status, _, said = run(capsys, "test-page", "--printer", NARROW)
            assert status == 0 and "is switched off, pages wait (no paper)" in said
            assert there.run("lpstat", "-o", NARROW).strip()
        finally:
            there.run("cancel", "-a", NARROW)
            there.run("cupsenable", NARROW)

    @pytest.mark.parametrize("name", ["attic", "a" * 300, "-h", "two words"])
    def test_a_printer_that_is_not_there(
        self, there: PrintSystem, capsys: pytest.CaptureFixture[str], name: str
    ) -> None:
        status, values, _ = run(capsys, "test-page", f"--printer={name}")
        says = values["error"]["says"]  # type: ignore[index]
        assert status == 2 and says.startswith("There is no printer “") and f"“{PDF}”" in says and len(says) < 200


class TestWithoutPrintSystem:
    """Stand-ins for lpstat, so that it holds on any machine."""

    def test_no_print_system(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        monkeypatch.setenv("PATH", str(tmp_path))
        for words in (["printers"], ["test-page", "--printer", "x"], ["print", FRONT, "--printer", "x"]):
            status, values, _ = run(capsys, *words)
            says = values["error"]["says"]  # type: ignore[index]
            assert status == 2 and says.startswith("This machine has no print system") and "PDF" in says

    @pytest.mark.parametrize(
        ("script", "says"),
        [
            ("echo 'lpstat: No destinations added.' >&2; exit 1", "No printer is set up on this machine"),
            ("echo 'lpstat: Connection refused' >&2; exit 1", "does not answer; start it"),
        ],
    )
    def test_no_printer(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], script: str,
        says: str,
    ) -> None:
        lpstat = tmp_path / "lpstat"
        lpstat.write_text(f"#!/bin/sh\n{script}\n")
        lpstat.chmod(0o755)
        monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
        status, values, _ = run(capsys, "test-page", "--printer", "x")
        assert status == 2 and says in values["error"]["says"]  # type: ignore[index]
        if "No destinations" in script:
            status, values, said = run(capsys, "printers")
            assert status == 0 and values["printers"] == [] and says in said


class TestTestPage:
    @pytest.mark.parametrize("name", PAPERS)
    def test_squares_and_page(self, name: str) -> None:
        """ISO 216 and ANSI/ASME Y14.1 sizes as in test_pdf; squares off a raster."""
        data = page_pdf(PAPERS[name])
        with pikepdf.open(io.BytesIO(data)) as document:
            box = [float(value) / 72 * 25.4 for value in document.pages[0].mediabox]
            assert str(document.Root.ViewerPreferences.PrintScaling) == "/None" and len(document.pages) == 1
        assert box == pytest.approx([0, 0, PAPERS[name].width_mm, PAPERS[name].height_mm], abs=0.001)
        if PAPERS[name].height_mm <= 450:
            hundred, inches = squares(data, dpi=150)
            assert (*hundred, *inches) == pytest.approx((100.0, 100.0, 101.6, 101.6), abs=0.1)
        assert data == page_pdf(PAPERS[name])

    def test_written(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        out = tmp_path / "page.pdf"
        assert run(capsys, "test-page", "--paper", "letter", "--out", str(out))[1] == {"file": str(out)}
        assert out.read_bytes() == page_pdf(LETTER)

    @pytest.mark.parametrize(
        ("words", "says"),
        [
            ([], "Say where the test page is to go"),
            (["--out", "page.svg"], "should end in .pdf"),
            (["--paper", "100mm x 150mm", "--out", "page.pdf"], "no room for the test page"),
        ],
    )
    def test_refused(self, words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
        status, values, _ = run(capsys, "test-page", *words)
        assert status == 2 and says in values["error"]["says"]  # type: ignore[index]
        assert not Path("page.pdf").exists()

    def test_a_long_printer_name_stays_on_the_page(self) -> None:
        text = pypdfium2.PdfDocument(page_pdf(A4, "p" * 300))[0].get_textpage().get_text_range()
        assert "ppp…" in text

    def test_paper_too_small_says_so_before_anything_is_written(self) -> None:
        with pytest.raises(PatternError, match="A4, Letter or larger"):
            page_pdf(Paper("small", 130.0, 200.0))
