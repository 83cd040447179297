"""Bad input on the way to paper and machines: one sentence each, and no half-written file left behind."""

from __future__ import annotations

import io
import json
import re
import unicodedata
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import ezdxf.recover
import pikepdf
import pypdfium2
import pytest

from app import command_line, printers
from app.documents import Document
from app.files import garment_file
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.print_scale import Correction
from tests import canon, drawn

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
    "marker sheets": (["markers"], "pdf"),
    "drawing": (["export", BODICE], "dxf"),
    "drawing for a machine": (["export", BODICE, "--machine"], "svg"),
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


def test_a_demo_on_a_full_disk_leaves_no_folder_behind(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import errno
    import os

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "disk is full" in refused(capsys, "demo", str(tmp_path / "new"))
    (tmp_path / "old").mkdir()
    assert "disk is full" in refused(capsys, "demo", str(tmp_path / "old"))
    assert [path.name for path in tmp_path.rglob("*")] == ["old"]


def test_several_sheets_are_a_file_each_all_of_them_or_none(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A front, a back and a sleeve take two sheets of A1 (594 x 841 mm, ISO 216)."""
    path = tmp_path / "three.garment.json"
    garment_file.save_file(path, Document(Garment("three", "Three", drawn.pieces()[:3]), ()))
    words = ["export", str(path), "--sheet=a1", "--out", str(tmp_path / "x.svg"), "--json"]
    assert command_line.main(words) in (0, 1)
    files = json.loads(capsys.readouterr().out)["files"]
    assert [Path(file).name for file in files] == ["x-1.svg", "x-2.svg"]
    shown = [ElementTree.parse(file).getroot() for file in files]
    assert all((one.get("width"), one.get("height")) == ("841mm", "594mm") for one in shown)
    on_each = [{g.get("data-piece") for g in one.iter() if g.get("data-piece")} for one in shown]
    assert set.union(*on_each) == {piece.id for piece in drawn.pieces()[:3]} and not set.intersection(*on_each)
    for file in files:
        Path(file).unlink()
    Path(files[1]).symlink_to("/dev/full")
    assert "x-2.svg" in refused(capsys, *words[:-1]) and not Path(files[0]).exists()


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
    rows = [line for line in shown.splitlines() if line.endswith("…")]
    assert [row.count("n") for row in rows] == [59], "on the piece; at its foot the sheet has room for all of it"


#: What closes elements; what other languages take for instructions; signs that turn the line round, nothing to be seen
#: at all; pictures beyond four figures.
HOSTILE = ("<&\"'>]]>-->", "%%d ^J (\\)%s{};PU;SP0;", "\u202egnp\u202c שלום\u200b", "\U0001f9f5✂️")


def _read(text: str) -> str:
    """The words of a DXF's text, its own signs read (DXF reference, control codes: from memory)."""
    text = text.replace("^ ", "^").replace("%%%", "%")
    return re.sub(r"\\U\+([0-9a-fA-F]{4})", lambda found: chr(int(found[1], 16)), text)


def test_hostile_signs_in_names(capsys: pytest.CaptureFixture[str], tmp_path: Path, bodice: str) -> None:
    """Whatever a garment, its pieces and their size are called, other readers open every file that is written."""
    document, _ = garment_file.open_file(bodice)
    first, second = document.garment.pieces
    pieces = (replace(first, name=HOSTILE[0], size=HOSTILE[3]), replace(second, name=HOSTILE[1], size=HOSTILE[2]))
    garment = replace(document.garment, name="".join(HOSTILE), pieces=pieces)
    path = tmp_path / "hostile.garment.json"
    garment_file.save_file(path, replace(document, garment=garment))

    def written(ending: str, *words: str) -> bytes:
        out = tmp_path / f"x.{ending}"
        assert command_line.main([words[0], str(path), *words[1:], "--out", str(out), "--json"]) in (0, 1)
        capsys.readouterr()
        return out.read_bytes()

    with pikepdf.open(io.BytesIO(written("pdf", "export", "--roll=914mm"))) as pdf:
        assert str(pdf.docinfo.Title) == "".join(HOSTILE)
    said = [*HOSTILE[:2], *(f"size {size}" for size in HOSTILE[2:])]
    drawing = ElementTree.fromstring(written("svg", "export"))
    assert set(said) <= {text.text for text in drawing.iter("{http://www.w3.org/2000/svg}text")}
    drafted, auditor = ezdxf.recover.read(io.BytesIO(written("dxf", "export")))
    assert not auditor.has_errors and not auditor.has_fixes
    shown = ("".join(sign for sign in name if unicodedata.category(sign) != "Cf") for name in said)
    texts = {_read(text.dxf.text) for block in drafted.blocks for text in block.query("TEXT")}
    assert {"".join("?" if sign > "\uffff" else sign for sign in name) for name in shown} <= texts
    assert set(written("plt", "export").decode("ascii")) <= set("INSPUD0123456789,;\n-")


@pytest.mark.parametrize("name", ["a\x00b", "a\x07b", "a\nb", "half \ud83e"])
def test_signs_that_no_name_has_are_refused_before_anything_is_written(tmp_path: Path, bodice: str, name: str) -> None:
    document, _ = garment_file.open_file(bodice)
    garment = replace(document.garment, name=name)
    with pytest.raises(PatternError, match=r"cannot be printed|half a sign|line break"):
        garment_file.save_file(tmp_path / "x.garment.json", replace(document, garment=garment))
    assert not list(tmp_path.iterdir())


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
