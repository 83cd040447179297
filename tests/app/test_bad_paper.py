"""Bad input on the way to paper and machines: one sentence each, and no half-written file left behind."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest

from app import command_line, printers
from app.documents import Document
from app.files import garment_file
from geometry.errors import PatternError
from geometry.print_scale import Correction
from tests import canon

#: Stands for the garment's file.
BODICE = "the bodice"
LONG = "n" * 300


@pytest.fixture(scope="module", autouse=True)
def bodice(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("bodice") / "bodice.garment.json"
    garment_file.save_file(path, Document(canon.bodice(), ()))
    _FILES[BODICE] = str(path)
    return str(path)


_FILES: dict[str, str] = {}


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What a command says when it refuses: one sentence or two, no more than 300 letters, and nothing else."""
    status = command_line.main([*(_FILES.get(word, word) for word in words), "--json"])
    said = capsys.readouterr()
    values = json.loads(said.out)
    assert status == 2 and set(values) == {"error"}
    says = values["error"]["says"]
    assert says.endswith(".") and len(says) < 300 and "Traceback" not in said.err
    return str(says)


@pytest.mark.parametrize(
    ("options", "says", "ending"),
    [
        (["--roll", "200mm"], "is larger than a roll of 200 mm; take a wider one", "pdf"),
        (["--roll", "200mm"], "is larger than a roll of 200 mm; take a wider one", "plt"),
        (["--roll", "100mm"], "leaves no room on a roll of 100 mm", "pdf"),
        (["--roll", "6m"], "at most 5080 mm", "svg"),
        (["--roll", "wide"], "wide", "dxf"),
        (["--sheet", "a3"], "is larger than A3", "dxf"),
    ],
)
def test_rolls_and_sheets(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, options: list[str], says: str, ending: str
) -> None:
    assert says in refused(capsys, "export", BODICE, *options, "--out", str(tmp_path / f"x.{ending}"))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["print", BODICE, "--margin", "110mm"], "leaves no room to print on A4"),
        (["print", BODICE, "--margin", "-1mm"], "margin"),
        (["print", BODICE, "--overlap", "60mm"], "overlap by 10 to 15 mm"),
        (["print", BODICE, "--paper", "60mm x 80mm"], "leaves no room"),
        (["print", BODICE, "--paper", LONG], "is no paper"),
        (["print", BODICE, "--pages", LONG], "names no page"),
        (["print", BODICE, "--paper", ""], "is no paper"),
        (["print", BODICE, "--margin", ""], "No length was given"),
        (["print", BODICE, "--overlap", ""], "No length was given"),
        (["test-page", "--paper", LONG], "is no paper"),
        (["test-square", "--reading-across", "94", "--reading-down", "94", "--of", "5mm"], "tells too little"),
        (["test-square", "--reading-across", "94", "--reading-down", "94", "--loaded", ""], "is no paper"),
        (["test-square", "--reading-across", "94", "--reading-down", "wide"], "wide"),
    ],
)
def test_papers_margins_and_readings(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, words: list[str], says: str
) -> None:
    out = [] if words[0] == "test-square" else ["--out", str(tmp_path / "x.pdf")]
    assert says in refused(capsys, *words, *out)
    assert not list(tmp_path.iterdir())


COMMANDS = {
    "print": (["print", BODICE], "pdf"),
    "test page": (["test-page"], "pdf"),
    "drawing": (["export", BODICE], "dxf"),
    "plot": (["export", BODICE], "plt"),
    "line table": (["line-table"], "json"),
}


@pytest.mark.parametrize("what", COMMANDS)
class TestDisk:
    def test_a_full_disk(self, capsys: pytest.CaptureFixture[str], tmp_path: Path, what: str) -> None:
        """/dev/full takes nothing, as a full disk does."""
        if not Path("/dev/full").exists():
            pytest.skip("there is no /dev/full here")
        words, ending = COMMANDS[what]
        out = tmp_path / f"x.{ending}"
        out.symlink_to("/dev/full")
        assert "because the disk is full" in refused(capsys, *words, "--out", str(out))
        assert [path.name for path in tmp_path.iterdir()] == [out.name]

    def test_a_file_that_no_longer_fits(
        self, capsys: pytest.CaptureFixture[str], tmp_path: Path, what: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """What was there before stays as it was where the system refuses to write on."""
        import errno
        import os

        def full(_: int) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        words, ending = COMMANDS[what]
        out = tmp_path / f"x.{ending}"
        out.write_bytes(b"as it was")
        monkeypatch.setattr(os, "fsync", full)
        assert "disk is full; what was there before is kept" in refused(capsys, *words, "--out", str(out))
        assert out.read_bytes() == b"as it was" and [path.name for path in tmp_path.iterdir()] == [out.name]

    def test_a_name_of_300_letters(self, capsys: pytest.CaptureFixture[str], tmp_path: Path, what: str) -> None:
        words, ending = COMMANDS[what]
        assert "the name is too long" in refused(capsys, *words, "--out", str(tmp_path / f"{LONG}.{ending}"))
        assert not list(tmp_path.iterdir())


@pytest.fixture
def long_named(tmp_path: Path, bodice: str) -> str:
    """A garment whose own name and a piece's name have 300 letters."""
    document, _ = garment_file.open_file(bodice)
    (piece, *others) = document.garment.pieces
    garment = replace(document.garment, name=LONG, pieces=(replace(piece, name=LONG), *others))
    path = tmp_path / "long.garment.json"
    garment_file.save_file(path, replace(document, garment=garment))
    return str(path)


def test_a_garment_whose_names_have_300_letters(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, long_named: str
) -> None:
    """It is written all the same: names are shown cut short, or left out where they do not fit."""
    for words, name in (
        (["print", "--paper=a3"], "pages.pdf"), (["export", "--dxf-version=R12"], "x.dxf"),
        (["export", "--sheet=a0"], "sheets.pdf"),
    ):
        out = tmp_path / name
        status = command_line.main([words[0], long_named, *words[1:], "--out", str(out), "--json"])
        said = capsys.readouterr()
        assert status in (0, 1) and out.stat().st_size > 1000, said.out
    shown = pypdfium2.PdfDocument(tmp_path / "sheets.pdf")[0].get_textpage().get_text_range()
    assert f"{'n' * 59}…" in shown.splitlines(), "on the piece; at the foot of the sheet there is room for all of it"


def test_a_correction_for_a_name_of_300_letters(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TUCKTRUE_PRINTERS", str(tmp_path / "printers.json"))
    with pytest.raises(PatternError, match="at most 100 letters"):
        printers.keep(LONG, Correction(99.0, 99.0))
    with pytest.raises(PatternError, match="name for the printer"):
        printers.keep("  ", Correction(99.0, 99.0))
    says = refused(
        capsys, "test-square", "--reading-across", "99", "--reading-down", "99.2", "--printer", LONG
    )
    assert "at most 100 letters" in says and not list(tmp_path.iterdir())
    assert "was not measured" in refused(
        capsys, "print", BODICE, "--printer", LONG, "--out", str(tmp_path / "x.pdf")
    )
