"""Sizes without marker sheets: four corners, a scan's resolution; and a photo all the way to a garment."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from app.command_line import main
from app.photo.known_sizes import by_corners, by_resolution, checked, laid_together
from app.photo.photographs import pieces
from geometry.errors import PatternError
from geometry.motions import turn
from tests.photo_scenes import front_piece, picture, scene, small, usual_small
from tests.photo_truth import worth


def scanned(dpi: float) -> np.ndarray:
    """A light square of 200 mm with one corner cut off, on dark, as a scan."""
    image = np.full((int(260 / 25.4 * dpi * 4), int(280 / 25.4 * dpi * 4), 3), 40, np.uint8)
    step = dpi * 4 / 25.4
    points = np.array([(30, 30), (230, 30), (230, 180), (180, 230), (30, 230)]) * step
    cv2.fillPoly(image, [np.round(points - 0.5).astype(np.int32)], (230, 235, 240))
    return cv2.resize(image, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)


def test_a_scan_goes_by_its_resolution() -> None:
    """Sides and area worked out by hand: 200 x 200 mm less a corner of 50 x 50 / 2."""
    (found,) = pieces(by_resolution(scanned(150.0), (150.0, 150.0)))
    sides = sorted(side.length for side in found.outline.sides)
    assert sides == pytest.approx([50 * np.sqrt(2), 150, 150, 200, 200], abs=0.15)
    assert found.error_mm > 0.2, "an unchecked scanner may be 0.3 % off"
    with pytest.raises(PatternError, match="pixels an inch"):
        by_resolution(scanned(30.0), (3.0, 3.0))


def test_a_scan_is_put_right_by_a_known_length() -> None:
    """A scanner whose resolution is 1 % off, found by a length of 200 mm that it shows as 198 mm."""
    scan = by_resolution(scanned(150.0), (150.0 / 0.99, 150.0 / 0.99))
    right = checked(scan, (20.0, 20.0), (218.0, 20.0), 200.0)
    (found,) = pieces(right)
    sides = sorted(side.length for side in found.outline.sides)
    assert sides == pytest.approx([50 * np.sqrt(2), 150, 150, 200, 200], abs=0.15)
    assert [one.code for one in right.findings] == ["scan-off"] and "1.0 %" in right.findings[0].says
    with pytest.raises(PatternError, match="cannot be"):
        checked(scan, (20.0, 20.0), (218.0, 20.0), 500.0)


def test_two_scans_are_joined_on_their_marks() -> None:
    marks = np.array([(10.0, 20.0), (180.0, 25.0), (90.0, 200.0)])
    moved = turn(31.0, (50.0, 70.0))
    motion, left = laid_together(moved.points(marks), marks)
    assert np.abs(motion.points(marks) - moved.points(marks)).max() < 1e-9 and left < 1e-9
    with pytest.raises(PatternError, match="apart after"):
        laid_together(marks * [1.1, 1.0], marks)
    with pytest.raises(PatternError, match="two marks"):
        laid_together(marks[:1], marks[:1])


def test_four_corners_give_the_size_within_the_error_that_is_stated() -> None:
    """The corners of a rectangle of 1000 x 600 mm on the table, set by hand up to half a pixel off, no marker sheet."""
    made = small(scene(31))
    made = replace(made, sheets=(), camera=replace(made.camera, radial=0.0))
    table = np.array([(-500.0, -300.0), (500.0, -300.0), (500.0, 300.0), (-500.0, 300.0)])
    seen = made.camera.seen(table) + np.random.default_rng(3).uniform(-0.5, 0.5, (4, 2))
    flattened = by_corners(picture(made), [(float(x), float(y)) for x, y in seen], (1000.0, 600.0))
    (found,) = pieces(flattened)
    got = worth(found.outline.chain, made)
    assert got.rms < 1.5 * found.error_mm and found.error_mm <= 1.0, (got, found.error_mm)
    with pytest.raises(PatternError, match="anticlockwise"):
        by_corners(picture(made), [(float(x), float(y)) for x, y in seen[::-1]], (1000.0, 600.0))


def test_a_photo_becomes_a_garment_on_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Edges against the piece that was photographed, named and measured by the same command as any drawing."""
    photo, out = tmp_path / "front.jpg", tmp_path / "front.garment.json"
    photo.write_bytes(cv2.imencode(".jpg", usual_small(), [cv2.IMWRITE_JPEG_QUALITY, 90])[1].tobytes())
    assert main(["trace", str(photo), "--out", str(out), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    (piece,) = said["pieces"]
    true = front_piece()
    corners = true.cubics[:, 0]
    lengths = [true.part(at, at + 1).length for at in range(len(corners))]
    assert sorted(edge["length_mm"] for edge in piece["edges"]) == pytest.approx(sorted(lengths), abs=1.0)
    assert "marker sheets" in piece["size_source"] and 0 < piece["stated_error_mm"] <= 1.0
    assert main(["walk", str(out)]) == 0
    capsys.readouterr()
    photo.write_bytes(photo.read_bytes()[:5000])
    assert main(["trace", str(photo), "--out", str(out)]) == 2
    assert "cut off" in capsys.readouterr().err
