"""``tucktrue sizes`` and the option ``--size``, as a person types them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import sample_pieces
from app.command_line import main
from app.files.garment_file import open_file
from geometry.nests import in_size, size_names
from geometry.sameness import same
from sample_pieces.draft import tabard

SAMPLE = sample_pieces.path("tabard.garment.json")


@pytest.fixture
def garment(tmp_path: Path) -> Path:
    path = tmp_path / "tabard.garment.json"
    path.write_bytes(SAMPLE.read_bytes())
    return path


def run_json(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, dict[str, Any]]:
    capsys.readouterr()
    status = main([*(str(word) for word in words), "--json"])
    return status, json.loads(capsys.readouterr().out)


def test_it_says_the_sizes_the_table_and_what_a_body_wants(capsys: pytest.CaptureFixture[str]) -> None:
    measured = ("--high-bust", "34 in", "--bust", "36 1/2 in", "--waist", "26.5in", "--hip", "40in")
    assert main(["sizes", str(SAMPLE), *measured]) == 0
    said = capsys.readouterr().out
    for words in (
        "sizes: 10, 12, 14 (worked in), 16, 18",
        "table of sizes: published envelope table, misses",
        "12: bust 863.6 mm, waist 673.1 mm, hip 914.4 mm",
        "“36 1/2 in” understood as 927.1 mm",
        "sized by the high bust, for the full bust is 63.5 mm above it (2 in or more)",
        "at the bust: size 12, ease 32.5 mm",
        "at the hip: size 16, ease 76 mm",
        "a full bust of 31.8 mm on the half front",
        "ease at the hip by size, mm: 10 -63.7, 12 -25.6, 14 +25.2, 16 +76, 18 +126.8",
        "blend between two sizes",
    ):
        assert words in said
    status, values = run_json(capsys, "sizes", SAMPLE, *measured)
    assert status == 0 and values["sizes"] == ["10", "12", "14", "16", "18"] and values["size"] == "14"
    assert values["body"]["at"] == {"bust": "12", "waist": "12", "hip": "16"}
    assert values["table"]["girths"]["18"]["hip"] == pytest.approx(42 * 25.4)


def test_the_cloth_stretches_as_the_garment_says(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """46 in at the hip in size 18, 42 in and 76 mm: 1168.4 / 1142.8 mm is a stretch of 3 %."""
    assert main(["openings", str(garment), "--stretch", "2"]) in (0, 1)
    assert main(["sizes", str(garment), "--hip", "46 in"]) == 0
    said = capsys.readouterr().out
    assert "the cloth stretches by 2 %, as the garment says" in said and "the cloth stretches by 2 %: take" in said
    assert main(["sizes", str(garment), "--hip", "46 in", "--stretch", "3%"]) == 0
    said = capsys.readouterr().out
    assert "as the garment says" not in said and "take a size up" not in said


def test_the_size_worked_in_is_kept_and_all_that_is_made_is_in_it(
    garment: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sizes", str(garment), "--work-in", "18"]) == 0
    document, _ = open_file(garment)
    assert document.garment.size == "18" and size_names(document.garment) == size_names(tabard())
    assert same(document.garment, in_size(tabard(), "18"), 1e-9)
    assert document.results["front"]["front.hem"] == pytest.approx((42 * 25.4 + 76) / 4, abs=0.01)
    _, kept = run_json(capsys, "walk", garment)
    _, once = run_json(capsys, "walk", SAMPLE, "--size", "18")
    assert kept["pieces"] == once["pieces"]
    _, middle = run_json(capsys, "walk", SAMPLE)
    assert middle["pieces"] != once["pieces"]
    for name in ("a.svg", "a.dxf"):
        for path, size in ((garment, ()), (SAMPLE, ("--size", "18"))):
            assert main(["export", str(path), *size, "--out", str(tmp_path / f"{len(size)}-{name}")]) == 0
        assert (tmp_path / f"0-{name}").read_bytes() == (tmp_path / f"2-{name}").read_bytes()
    assert main(["redraw", str(garment), "--out", str(tmp_path / "redrawn.garment.json")]) == 0
    assert size_names(open_file(tmp_path / "redrawn.garment.json")[0].garment) == ("18",)


def test_the_table_is_edited_and_names_its_source(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sizes", str(garment), "--table", "12:35in,27in,", "--source", "our own bodies"]) == 0
    table = open_file(garment)[0].garment.size_table
    assert table is not None and table.source == "our own bodies"
    assert (table.girths["12"].bust, table.girths["12"].hip) == (pytest.approx(889.0), None)
    assert list(table.girths) == ["10", "12", "14", "16", "18"]
    skirt = garment.with_name("skirt.garment.json")
    skirt.write_bytes(sample_pieces.path("skirt.garment.json").read_bytes())
    assert main(["sizes", str(skirt), "--table", "14:36in,28in,38in"]) == 2
    assert "names its source" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--work-in", "19"), "is not drawn in size “19”; it is drawn in 10, 12, 14, 16, 18"),
        (("--table", "12"), "“12” is no row of a table"),
        (("--bust", "90in", "--stretch", "much"), "“much” is no stretch"),
        (("--bust", "2in"), "no body's"),
    ],
)
def test_what_is_wrong_gets_one_sentence_and_nothing_is_saved(
    garment: Path, words: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = garment.read_bytes()
    assert main(["sizes", str(garment), *words]) == 2
    assert says in capsys.readouterr().err
    assert garment.read_bytes() == before


def test_setting_in_is_done_in_every_size(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["set-in", str(garment), "--on", "front"]) == 0
    document, _ = open_file(garment)
    for size in size_names(document.garment):
        was, now = in_size(tabard(), size).piece("front"), in_size(document.garment, size).piece("front")
        narrower = was.edge("front.hem").length - now.edge("front.hem").length
        assert now.set_in and narrower == pytest.approx(15.0, abs=0.01)


def test_a_seam_accepted_is_accepted_in_every_size(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["accept", str(garment), "sides"]) == 0
    document, _ = open_file(garment)
    assert all(in_size(document.garment, size).seams[1].accepted_mm is not None for size in ("10", "14", "18"))
