"""Marks placed by hand, names of edges and declined seams: as options of the command line, on the sample's tracing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import shapely

from app.command_line import main
from app.tracing.joining import join
from app.tracing.placed_marks import placed, with_marks
from app.tracing.reading import read_found
from geometry.errors import PatternError

SVG = Path(__file__).resolve().parents[2] / "sample_pieces" / "tracings" / "undershirt-front-back.svg"


def traced(capsys: pytest.CaptureFixture[str], tmp_path: Path, *options: str) -> dict[str, Any]:
    assert main(["trace", str(SVG), "--out", str(tmp_path / "shirt.garment.json"), "--json", *options]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_marks_come_in_where_they_are_placed(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The sample's front begins at 20, 20 in its file; a notch beside its side stands on it; a waist line runs out to
    the edges that it meets."""
    plain = traced(capsys, tmp_path)
    said = traced(
        capsys, tmp_path, "--mark", "dot:120,320", "--mark", "notch:255,170", "--mark", "hip line:23,190 250,190"
    )
    before, front = (one["pieces"][0] for one in (plain, said))
    assert front["outline_mm"] == before["outline_mm"]
    added = [mark for mark in front["marks"] if mark not in before["marks"]]
    dot = next(mark for mark in added if mark["kind"] == "dot")
    assert dot["points_mm"] == [[100.0, 300.0]]
    notch = next(mark for mark in added if mark["kind"] == "notch")
    assert notch["name"] == "side seam notch" and abs(notch["points_mm"][0][1] - 150.0) < 3.0
    line = next(mark for mark in added if mark["kind"] == "hip line" and mark["points_mm"][0][1] == 170.0)
    (x0, y0), (x1, y1) = line["points_mm"]
    assert (x0, y0, y1) == pytest.approx((0.0, 170.0, 170.0))
    edge = shapely.LinearRing(front["outline_mm"])
    assert x1 != 230.0 and edge.distance(shapely.Point(x1, y1)) < 0.2, "it was placed short of the edge"


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("pleat:1,2", "kinds are"),
        ("notch", "kinds are"),
        ("notch:1,2 3,4", "kinds are"),
        ("waist line:1,2", "kinds are"),
        ("dot:nan,2", "kinds are"),
        ("dot:1", "kinds are"),
        ("waist line:1,2 2,2", "apart"),
        ("notch:130,320", "on an outline"),
    ],
)
def test_a_mark_that_cannot_stand_is_said(row: str, says: str) -> None:
    found = read_found(SVG.read_bytes(), "a", {})
    with pytest.raises(PatternError, match=says):
        with_marks(found, join(found.lines, 0.5), {"marks": row})


def test_marks_are_read_one_to_a_line() -> None:
    found = read_found(SVG.read_bytes(), "a", {})
    assert placed(found, {"marks": "dot:1,2\n\nwaist line:0,0 50.5,0"}) == (
        ("dot", ((1.0, 2.0),)),
        ("waist line", ((0.0, 0.0), (50.5, 0.0))),
    )


def test_edges_are_called_what_she_calls_them(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    said = traced(capsys, tmp_path, "--edge-name", "front:2=left side", "--edge-name", "front:hem=foot")
    edges = said["pieces"][0]["edges"]
    assert [edge["name"] for edge in edges[:2]] == ["foot", "left side"]
    assert [edge["kind"] for edge in edges[:2]] == ["hem", "side"], "what they are stays"
    for name in ("front:2=armhole", "front:2=" + "x" * 61, "front:11=a", "front=a"):
        out = str(tmp_path / "other.garment.json")
        assert main(["trace", str(SVG), "--out", out, "--edge-name", name]) == 2
        assert capsys.readouterr().err.count("\n") == 1


def test_a_proposed_seam_is_declined(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert [seam["name"] for seam in traced(capsys, tmp_path)["seams"]] == ["shoulder seam", "side seam"]
    assert [seam["name"] for seam in traced(capsys, tmp_path, "--no-seam", "side seam")["seams"]] == ["shoulder seam"]
    assert main(["trace", str(SVG), "--out", str(tmp_path / "b.garment.json"), "--no-seam", "inseam"]) == 2
    assert "shoulder seam, side seam" in capsys.readouterr().err
