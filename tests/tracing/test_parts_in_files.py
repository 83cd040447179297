"""A piece whose two parts came in two files, drawings or pictures, is one piece after they are joined."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from app.command_line import main

#: A leg of 400 x 100 with a slanted end, cut straight across at 180: both parts in mm, y up.
UPPER = ((0, 0), (180, 0), (180, 100), (0, 100))
LOWER = ((0, 0), (190, 0), (220, 100), (0, 100))
WHOLE_MM2 = 180 * 100 + (190 + 220) / 2 * 100
DPI = 100


def drawing(path: Path, corners: tuple[tuple[int, int], ...]) -> Path:
    points = " ".join(f"{x},{150 - y}" for x, y in corners)
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="150mm" viewBox="0 0 300 150">'
        f'<polygon id="{path.stem}" points="{points}" fill="none" stroke="#000"/></svg>'
    )
    return path


def scan(path: Path, corners: tuple[tuple[int, int], ...], turned: float) -> Path:
    """A light part on dark, turned on the glass, four times finer and then made smaller."""
    fine, rows, columns = 4 * DPI / 25.4, 4 * 780, 4 * 1000
    cos, sin = np.cos(np.radians(turned)), np.sin(np.radians(turned))
    points = np.array(corners, dtype=float) @ np.array([[cos, sin], [-sin, cos]])
    points += 15 - points.min(axis=0)
    pixels = np.stack([points[:, 0] * fine, rows - points[:, 1] * fine], axis=1)
    large = np.full((rows, columns), 60, dtype=np.uint8)
    cv2.fillPoly(large, [np.round(pixels * 16).astype(np.int32)], 235, shift=4)
    small = cv2.resize(large, (columns // 4, rows // 4), interpolation=cv2.INTER_AREA)
    cv2.imwrite(str(path), cv2.cvtColor(small, cv2.COLOR_GRAY2BGR))
    return path


def traced(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, Any]:
    assert main(["trace", *map(str, words), "--json"]) == 0
    given: dict[str, Any] = json.loads(capsys.readouterr().out)
    return given


def match(piece: dict[str, Any]) -> str:
    """The edge along the cut: the one as long as the leg is wide, and square to it."""
    numbered = [(abs(edge["length_mm"] - 100), n) for n, edge in enumerate(piece["edges"], 1)]
    rights = [n for away, n in numbered if away < 1.0]
    return f"{piece['id']}:{rights[0 if piece['id'].startswith('upper') else -1]}"


def test_two_drawings_are_joined_on_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = drawing(tmp_path / "upper.svg", UPPER), drawing(tmp_path / "lower.svg", LOWER)
    out = tmp_path / "leg.garment.json"
    (made,) = traced(capsys, *files, "--out", out, "--join", "upper:2=lower:4")["pieces"]
    assert made["id"] == "upper" and made["area_mm2"] == pytest.approx(WHOLE_MM2, abs=0.5)
    assert sorted(round(edge["length_mm"]) for edge in made["edges"]) == [100, 104, 370, 400]


def test_two_scans_are_joined_beside_a_third_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = scan(tmp_path / "upper.png", UPPER, 3.0), scan(tmp_path / "lower.png", LOWER, -8.0)
    other = drawing(tmp_path / "cuff.svg", ((0, 0), (120, 0), (120, 90), (0, 90)))
    out = tmp_path / "leg.garment.json"
    apart = {one["id"]: one for one in traced(capsys, *files, other, "--out", out, "--scan", DPI)["pieces"]}
    assert list(apart) == ["upper", "lower", "cuff"]
    out.unlink()
    join = f"{match(apart['upper'])}={match(apart['lower'])}"
    made = traced(capsys, *files, other, "--out", out, "--scan", DPI, "--join", join)["pieces"]
    assert [one["id"] for one in made] == ["upper", "cuff"]
    assert made[0]["area_mm2"] == pytest.approx(WHOLE_MM2, rel=2e-3)
    assert made[0]["stated_error_mm"] >= max(apart[part]["stated_error_mm"] for part in ("upper", "lower"))
    assert made[1]["area_mm2"] == pytest.approx(120 * 90, abs=0.5)


@pytest.mark.parametrize(
    ("join", "says"),
    [
        ("upper:2=sleeve:4", "the pieces are upper, lower"),
        ("1:2=2:4", "the pieces are upper, lower"),
        ("upper:2", "PIECE:EDGE=PIECE:EDGE"),
    ],
)
def test_a_part_that_is_in_no_file_is_said(
    join: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = drawing(tmp_path / "upper.svg", UPPER), drawing(tmp_path / "lower.svg", LOWER)
    out = tmp_path / "leg.garment.json"
    assert main(["trace", *map(str, files), "--out", str(out), "--join", join]) == 2
    assert says in capsys.readouterr().err and not out.exists()


def test_a_part_that_two_files_hold_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "more").mkdir()
    files = drawing(tmp_path / "leg.svg", UPPER), drawing(tmp_path / "more" / "leg.svg", LOWER)
    out = tmp_path / "leg.garment.json"
    assert main(["trace", *map(str, files), "--out", str(out), "--join", "leg:2=leg:4"]) == 2
    assert "both hold a piece “leg”" in capsys.readouterr().err and not out.exists()
