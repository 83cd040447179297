"""True every seam and what is said of a corner, from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import sample_pieces
from app.command_line import main
from app.files.garment_file import open_file
from geometry.pieces import CornerKind
from geometry.pipeline import draft


@pytest.fixture
def garment(tmp_path: Path) -> Path:
    copy = tmp_path / "front-only.garment.json"
    copy.write_bytes(Path(sample_pieces.path("front-only.garment.json")).read_bytes())
    return copy


def test_a_dry_run_says_the_notes_and_saves_nothing(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = garment.read_bytes()
    assert main(["true", str(garment), "--dry-run", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert [one["about"] for one in said["trued"]] == ["seam:sides"] and said["left"] == []
    assert said["trued"][0]["out_before"] > 20 and said["trued"][0]["out_after"] == 0
    assert garment.read_bytes() == before


def test_every_seam_is_trued_once_and_for_all(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["walk", str(garment)]) == 1
    assert main(["true", str(garment)]) == 0
    assert main(["walk", str(garment)]) == 0
    document, _ = open_file(garment)
    assert [note.id for note in document.notes] == ["note-1", "note-2"]
    assert [f for f in draft(document.garment, document.notes).findings if f.about is not None] == []
    capsys.readouterr()
    assert main(["true", str(garment)]) == 0
    assert "every seam is true" in capsys.readouterr().out
    assert open_file(garment)[0].notes == document.notes


def test_what_was_traced_can_be_left(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    copy = tmp_path / "pair.garment.json"
    copy.write_bytes(Path(sample_pieces.path("traced-pair.garment.json")).read_bytes())
    assert main(["true", str(copy), "--leave-traced"]) == 0
    assert "so in the tracing" in capsys.readouterr().out and open_file(copy)[0].notes == ()
    assert main(["true", str(copy)]) == 0
    assert [note.alteration for note in open_file(copy)[0].notes] == ["true_a_seam"]


@pytest.mark.parametrize(
    ("saying", "kind"),
    [("points", CornerKind.POINTS), ("runs-on", CornerKind.TO_RUN_ON), ("nothing", CornerKind.RUNS_ON)],
)
def test_a_corner_is_said_to_point_or_to_run_on_on_both_pieces(garment: Path, saying: str, kind: CornerKind) -> None:
    assert main(["corner", str(garment), "sides:end", saying]) == 1  # the seam itself is still out by a fault
    pieces = open_file(garment)[0].garment
    for piece, corner in (("front", "front.side.corner"), ("back", "back.side.corner")):
        assert next(c for c in pieces.piece(piece).corners if c.id == corner).kind is kind


def test_a_corner_that_is_not_there_is_refused_with_those_that_are(
    garment: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["corner", str(garment), "elbow", "points"]) == 2
    assert "There is no corner “elbow”" in capsys.readouterr().err
