"""The fourth way in: the sample front and back, each photographed, become a garment whose seams walk."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from app.command_line import main
from app.documents import Document, lengths_of
from app.files.garment_file import to_bytes
from app.photo.tracing import piece_name
from app.tracing.gathering import garment_of
from app.tracing.guarded import read_guarded
from app.tracing.tracing import trace
from tests.drawing_files import drafted, outline
from tests.photo_scenes import Scene, beside, jpeg, scene

#: The bounds of a photo: its size, and a corner at worst (mm).
SIZE, CORNER_MM = 0.0015, 1.2


def photographed(name: str, seed: int) -> bytes:
    """A piece of the sample, cut out, in the middle of a scene and a little turned."""

    def change(one: Scene) -> Scene:
        line = outline(name)
        cos, sin = np.cos(np.radians(4.0)), np.sin(np.radians(4.0))
        middle = (np.array(line.box[:2]) + np.array(line.box[2:])) / 2
        turned = replace(line, cubics=(line.cubics - middle) @ np.array([[cos, sin], [-sin, cos]]))
        return replace(one, outline=turned, sheets=tuple(beside(laid, turned) for laid in one.sheets), samples=16)

    return jpeg(scene(seed, change))


@pytest.mark.parametrize(
    ("file", "called"),
    [
        ("front.jpg", "Front"),
        ("back_bodice.png", "Back bodice"),
        ("IMG_2041.jpg", "Piece 1"),
        ("20261126.jpg", "Piece 1"),
        ("photo (2).jpg", "Piece 1"),
    ],
)
def test_a_lone_piece_is_called_after_its_picture_unless_a_camera_called_it(file: str, called: str) -> None:
    assert piece_name(file) == called


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_a_photographed_front_and_back_agree_with_the_draft_and_pass_the_walk(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    traced = []
    for seed, name in ((41, "front"), (42, "back")):
        answers = {"fold:1": "6"}
        traced.append(trace(read_guarded(photographed(name, seed), f"{name}.jpg", answers), answers))
    for (one,) in (each.pieces for each in traced):
        original = drafted(one.piece.name.lower())
        assert one.piece.polygon.area == pytest.approx(original.polygon.area, rel=2 * SIZE)
        assert [edge.kind for edge in one.piece.edges] == [edge.kind for edge in original.edges]
        lengths = [edge.length for edge in original.edges]
        assert [edge.length for edge in one.piece.edges] == pytest.approx(lengths, abs=CORNER_MM)
        assert 0 < one.error_mm <= 1.0
    garment = garment_of(traced, "Undershirt")
    out = tmp_path / "shirt.garment.json"
    out.write_bytes(to_bytes(Document(garment, results=lengths_of(garment))))
    assert main(["walk", str(out), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert {seam["name"]: seam["verdict"] for seam in report["seams"]} == {"shoulder seam": "true", "side seam": "true"}
