"""What a command says when standard output is full, or knows no typographic signs."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from app.command_line import main
from app.documents import Document
from app.files.garment_file import save_file
from geometry.alterations import find
from geometry.notes import Note, Target
from tests.canon import bodice


@pytest.fixture
def garment(tmp_path: Path) -> Path:
    path, both = tmp_path / "bodice.garment.json", (Target("front"), Target("back"))
    shorten, tuck = find("shorten_or_lengthen"), find("armhole_too_low")
    notes = (
        Note("note-1", shorten.name, shorten.checked({"amount": 25.0}), both),
        Note("note-2", tuck.name, tuck.checked({"amount": 6.0}), both),
    )
    save_file(path, Document(bodice(), notes))
    return path


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("words", [["walk", "GARMENT"], ["walk", "GARMENT", "--json"], ["walk", "nowhere", "--json"]])
def test_an_output_that_takes_nothing_more_is_one_sentence(
    words: list[str], garment: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with open("/dev/full", "w", encoding="utf-8") as full:
        monkeypatch.setattr(sys, "stdout", full)
        assert main([str(garment) if word == "GARMENT" else word for word in words]) == 2
    said = capsys.readouterr().err.splitlines()[-1]
    assert said == "What was found could not be written out: no space left on device."


def test_an_output_without_typographic_signs_loses_them_and_no_more(
    garment: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    main(["walk", str(garment), "--json"])
    whole = json.loads(capsys.readouterr().out)
    for words in (["walk", garment], ["walk", garment, "--json"]):
        kept = io.BytesIO()
        monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(kept, encoding="ascii"))
        assert main([str(word) for word in words]) in (0, 1)
    assert "“" in json.dumps(whole, ensure_ascii=False) and json.loads(kept.getvalue()) == whole
