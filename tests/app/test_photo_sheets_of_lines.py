"""Lines drawn on paper and scanned: one size followed among several, points set by hand, two scans joined.

The scans are drawn here from points worked out by hand, so that every length is known."""

from __future__ import annotations

import json
from collections import Counter
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
import shapely.ops
from numpy.typing import NDArray

from app.command_line import main
from app.photo.following import followed
from app.photo.hand_points import by_hand
from app.photo.joined_pictures import together
from app.photo.known_sizes import by_resolution
from app.photo.pen_lines import LineSide
from app.photo.photographs import Flattened, pieces, with_error
from geometry.errors import PatternError
from geometry.lines import chain, flatten, joined, straight
from tests.line_sheets import TAKEN, LineSheet, hard_sheet, plain_sheet

DPI, OVER, HIGH_MM, WIDE_MM = 127.0, 3, 330.0, 300.0
STEP = DPI * OVER / 25.4
PEN_MM = 0.8
DASHES = {0: (1000.0, 0.0), 1: (6.0, 3.0), 2: (9.0, 3.0, 2.0, 3.0)}

Array = NDArray[np.float64]


@cache
def size_line(size: int) -> Array:
    """(n, 2) points in mm round one size: a bodice whose armholes cross those of the other sizes."""
    grow = 7.0 * size
    line = joined(
        [
            straight((40.0, 40.0 - grow), (200.0 + grow, 40.0 - grow)),
            straight((200.0 + grow, 40.0 - grow), (210.0 + grow, 170.0 - grow)),
            chain(
                [[(210.0 + grow, 170.0 - grow), (170.0 - grow, 180.0), (165.0 - grow, 230.0), (175.0 - grow, 270.0)]]
            ),
            straight((175.0 - grow, 270.0), (100.0, 290.0 + grow)),
            straight((100.0, 290.0 + grow), (40.0, 230.0 + grow)),
            straight((40.0, 230.0 + grow), (40.0, 40.0 - grow)),
        ]
    )
    return flatten(line, 0.005)[0] + np.array([10.0 * (2 - size), 0.0])


def pixel(points: Array) -> Array:
    """Pixels of the scan (n, 2) at points in mm, y up."""
    return np.stack([points[:, 0], HIGH_MM - points[:, 1]], axis=1) * DPI / 25.4 - 0.5


def dashed(line: Array, dash: tuple[float, ...]) -> list[Array]:
    ring = shapely.LineString(line)
    parts, at, on = [], 0.0, 0
    while at < ring.length:
        run = dash[on % len(dash)]
        if on % 2 == 0 and run:
            parts.append(shapely.get_coordinates(shapely.ops.substring(ring, at, min(at + run, ring.length))))
        at, on = at + run, on + 1
    return parts


@cache
def scan() -> NDArray[np.uint8]:
    """Three sizes on light paper, each with its own dash, and a line right across them all."""
    image = np.full((round(HIGH_MM * STEP), round(WIDE_MM * STEP)), 235, np.uint8)
    strokes = [part for size, dash in DASHES.items() for part in dashed(size_line(size), dash)]
    strokes.append(np.array([(10.0, 150.0), (290.0, 190.0)]))
    for points in strokes:
        there = np.stack([points[:, 0], HIGH_MM - points[:, 1]], axis=1) * STEP - 0.5
        cv2.polylines(image, [np.round(there * 16).astype(np.int32)], False, 25, round(PEN_MM * STEP), cv2.LINE_AA, 4)
    small = cv2.resize(image, None, fx=1 / OVER, fy=1 / OVER, interpolation=cv2.INTER_AREA)
    noise = np.random.default_rng(3).normal(0, 3, small.shape)
    grey = np.clip(cv2.GaussianBlur(small, (0, 0), 0.7) + noise, 0, 255).astype(np.uint8)
    return np.ascontiguousarray(np.repeat(grey[..., None], 3, axis=2))


@cache
def flat() -> Flattened:
    return by_resolution(scan(), (DPI, DPI))


@pytest.mark.parametrize(("size", "x"), [(0, 120.0), (2, 156.0)])
def test_one_size_is_followed_by_its_dash_through_crossings(size: int, x: float) -> None:
    """From a point on its hem."""
    true = shapely.LinearRing(size_line(size))
    found = followed(flat(), [(x, 40.0 - 7.0 * size)]).outline
    off = shapely.distance(true, shapely.points(flatten(found.chain, 0.01, 1.0)[0]))
    stated = with_error(flat(), found).error_mm
    rms = float(np.sqrt((off**2).mean()))
    assert rms < 0.3 and off.max() < 1.2 and rms < 1.5 * stated, (rms, off.max(), stated)
    assert found.chain.length == pytest.approx(true.length, rel=0.003)


def verdict(sheet: LineSheet, which: int, *more: tuple[float, float]) -> str:
    """How a line of a sheet is followed from its click, and from ``more``: right (0.3 mm rms, 1.2 mm at most), off or
    refused, and whether it is said that it may be another's."""
    flattened = by_resolution(sheet.picture, (sheet.dpi, sheet.dpi))
    try:
        found = followed(flattened, [sheet.clicks[which], *more])
        with_error(flattened, found.outline)
    except PatternError:
        return "refused"
    points = flatten(found.outline.chain, 0.01, 1.0)[0]
    true = shapely.LinearRing(sheet.lines[which].points)
    along = shapely.points(shapely.get_coordinates(shapely.segmentize(true, 1.0)))
    off = shapely.distance(true, shapely.points(points))
    missed = shapely.distance(shapely.LinearRing(points), along)
    is_right = float(np.sqrt((off**2).mean())) < 0.3 and max(off.max(), missed.max()) < 1.2
    return ("right" if is_right else "off") + (", said" if found.doubts else "")


def test_lines_of_plain_and_hard_sheets_are_right_or_said_to_be_unsure() -> None:
    """Dash-dot on a graded nest that nothing crosses, and a full line and dashes where sizes and other lines cross."""
    assert verdict(plain_sheet(0), 0) == "right"
    assert verdict(hard_sheet(3), 3) == "right"
    assert verdict(hard_sheet(2), 0).startswith("right")


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_no_line_of_many_sheets_is_followed_wrongly_in_silence() -> None:
    """48 lines of hard sheets: none is off without a word, at least 40 are right. 24 of graded nests: all right."""
    hard = [verdict(hard_sheet(seed), which) for seed in range(12) for which in range(4)]
    assert "off" not in hard and sum(one.startswith("right") for one in hard) >= 40, Counter(hard)
    plain = [verdict(plain_sheet(seed), which) for seed in range(6) for which in range(4)]
    assert Counter(plain) == {"right": 24}


@pytest.mark.long
@pytest.mark.timeout(900)
@pytest.mark.parametrize("taken", TAKEN)
def test_no_line_of_a_poorer_picture_is_followed_wrongly_in_silence(taken: str) -> None:
    """24 lines of hard sheets each: none is off without a word, at least 16 are right."""
    sheets = [hard_sheet(seed, taken=TAKEN[taken]) for seed in range(200, 206)]
    found = [verdict(sheet, which) for sheet in sheets for which in range(4)]
    assert "off" not in found and sum(one.startswith("right") for one in found) >= 16, Counter(found)


def beside(sheet: LineSheet, which: int, share: float, off: tuple[float, float]) -> tuple[float, float]:
    """A place so far round a line of a sheet from its click (a share of the whole), so far (mm) off it."""
    ring = shapely.LinearRing(sheet.lines[which].points)
    begin = ring.project(shapely.Point(sheet.clicks[which])) / ring.length
    place = ring.interpolate((begin + share) % 1.0, normalized=True)
    return place.x + off[0], place.y + off[1]


@pytest.mark.parametrize("share", [0.04, 0.95])
def test_a_second_point_may_lie_shortly_before_or_behind_the_first(share: float) -> None:
    """The way to it from the other side costs a whole round."""
    sheet = hard_sheet(3)
    assert verdict(sheet, 3, beside(sheet, 3, share, (0.5, -0.4))) == "right"


@pytest.mark.long
@pytest.mark.timeout(900)
def test_a_second_point_anywhere_on_a_line_is_taken() -> None:
    """Up to 0.8 mm off it, among crossings or not: what is right from one point is right from two."""
    dice = np.random.default_rng(5)
    for seed, which in ((3, 2), (5, 0), (2, 1), (1, 0)):
        sheet = hard_sheet(seed)
        for share in dice.uniform(0.0, 1.0, 3).tolist():
            second = beside(sheet, which, share, tuple(dice.uniform(-0.8, 0.8, 2).tolist()))
            assert verdict(sheet, which, second).startswith("right"), (seed, which, second)


def test_a_point_on_no_line_is_said() -> None:
    with pytest.raises(PatternError, match="no drawn line"):
        followed(flat(), [(120.0, 100.0)])
    with pytest.raises(PatternError, match="no drawn line at point 2"):
        followed(flat(), [(120.0, 40.0), (120.0, 100.0)])


def test_points_set_by_hand_snap_to_the_edge_that_they_lie_beside() -> None:
    """Set up to 2 mm off a piece of 220 by 250 mm with its corners, they give it back; on bare paper they stand."""
    whole = halves()[4]
    corners = np.array([(40.0, 40.0), (260.0, 40.0), (260.0, 290.0), (40.0, 290.0)])
    rough = np.concatenate([corners, (corners + np.roll(corners, -1, axis=0)) / 2])[[0, 4, 1, 5, 2, 6, 3, 7]]
    rough += np.random.default_rng(2).uniform(-1.4, 1.4, rough.shape)
    got = by_hand(by_resolution(whole, (DPI, DPI)), pixel(rough))
    assert got.snapped
    assert sorted(side.length for side in got.found.outline.sides) == pytest.approx([220, 220, 250, 250], abs=0.15)
    bare = np.array([(100.0, 90.0), (140.0, 90.0), (140.0, 120.0), (100.0, 120.0)])
    stood = by_hand(flat(), pixel(bare), LineSide.MIDDLE)
    assert not stood.snapped and stood.found.outline.chain.length == pytest.approx(140.0, abs=0.1)
    assert [one.code for one in stood.found.findings] == ["edge-hidden"]
    with pytest.raises(PatternError, match="once round"):
        by_hand(flat(), pixel(bare[:2]))


@cache
def halves() -> tuple[NDArray[np.uint8], NDArray[np.uint8], Array, Array, NDArray[np.uint8]]:
    """Two scans of one light piece of 220 by 250 mm, the second turned, four marks in pixels of each; the whole."""
    image = np.full((round(HIGH_MM * STEP), round(WIDE_MM * STEP), 3), 40, np.uint8)
    corners = np.array([(40.0, 40.0), (260.0, 40.0), (260.0, 290.0), (40.0, 290.0)])
    there = np.stack([corners[:, 0], HIGH_MM - corners[:, 1]], axis=1) * STEP - 0.5
    cv2.fillPoly(image, [np.round(there * 16).astype(np.int32)], (230, 235, 240), cv2.LINE_AA, 4)
    whole = cv2.resize(image, None, fx=1 / OVER, fy=1 / OVER, interpolation=cv2.INTER_AREA)
    marks = pixel(np.array([(130.0, 60.0), (170.0, 100.0), (135.0, 270.0), (175.0, 200.0)]))
    left = np.ascontiguousarray(whole[:, : round(190 * DPI / 25.4)])
    turn = cv2.getRotationMatrix2D((700.0, 800.0), 3.0, 1.0)
    turned = cv2.warpAffine(whole, turn, whole.shape[1::-1], flags=cv2.INTER_LINEAR, borderValue=(40, 40, 40))
    cut = round(115 * DPI / 25.4)
    others = marks @ turn[:, :2].T + turn[:, 2] - [cut, 0]
    return left, np.ascontiguousarray(turned[:, cut:]), marks, others, whole


def test_two_scans_are_joined_to_one_piece() -> None:
    """Sides worked out by hand: 220 and 250 mm, the joined ones across the seam."""
    left, right, marks, others, _ = halves()
    whole = together(by_resolution(left, (DPI, DPI)), by_resolution(right, (DPI, DPI)), marks, others)
    (found,) = pieces(whole)
    assert sorted(side.length for side in found.outline.sides) == pytest.approx([220, 220, 250, 250], abs=0.15)
    assert found.error_mm <= 1.0 and [one.code for one in whole.findings] == ["pictures-joined"]
    with pytest.raises(PatternError, match="apart after"):
        together(by_resolution(left, (DPI, DPI)), by_resolution(right, (DPI, DPI)), marks * 1.1, others)


def test_the_command_line_takes_pen_follow_points_and_shared_marks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet, out = tmp_path / "sheet.png", str(tmp_path / "out.garment.json")
    sheet.write_bytes(cv2.imencode(".png", scan())[1].tobytes())
    x, y = pixel(np.array([[120.0, 33.0]]))[0]
    scanned = ["--scan", f"{DPI:g}", "--out", out, "--json"]
    assert main(["trace", str(sheet), "--follow", f"{x:.1f},{y:.1f}", *scanned]) == 0
    (piece,) = json.loads(capsys.readouterr().out)["pieces"]
    area = shapely.Polygon(size_line(1)).area
    assert piece["area_mm2"] == pytest.approx(area, rel=0.003)
    assert main(["trace", str(sheet), "--follow", "five", *scanned]) == 2
    assert "--follow should be" in capsys.readouterr().out
    left, right, marks, others, whole = halves()
    for name, image in (("left.png", left), ("right.png", right), ("whole.png", whole)):
        (tmp_path / name).write_bytes(cv2.imencode(".png", image)[1].tobytes())
    pairs = " ".join(f"{a},{b}={c},{d}" for (a, b), (c, d) in zip(marks, others))
    points = tmp_path / "points.txt"
    corners = pixel(np.array([(41.0, 39.5), (150.0, 41.0), (259.0, 41.0), (260.5, 288.9), (40.0, 291.0)]))
    points.write_text("\n".join(f"{a:.1f},{b:.1f}" for a, b in corners))
    assert main(["trace", str(tmp_path / "whole.png"), "--points", str(points), *scanned]) == 0
    (piece,) = json.loads(capsys.readouterr().out)["pieces"]
    assert piece["area_mm2"] == pytest.approx(220 * 250, rel=0.002)
    both = [str(tmp_path / "left.png"), str(tmp_path / "right.png")]
    assert main(["trace", *both, "--shared-marks", pairs, *scanned]) == 0
    (piece,) = json.loads(capsys.readouterr().out)["pieces"]
    assert piece["area_mm2"] == pytest.approx(220 * 250, rel=0.002)
    assert main(["trace", both[0], "--shared-marks", pairs, *scanned]) == 2
    assert "--shared-marks once" in capsys.readouterr().out
