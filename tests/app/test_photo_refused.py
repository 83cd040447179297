"""Pictures that cannot be measured, or only in part: one sentence each, with what to do."""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from app.apart import surroundings
from app.photo.photographs import by_markers, pieces
from app.photo.reading import MOST_PIXELS, read_head, read_picture
from app.tracing import guarded
from geometry.errors import PatternError
from tests.photo_scenes import Scene, picture, scene, small, usual_small
from tests.photo_truth import worth

ROOT = Path(__file__).resolve().parents[2]


@cache
def taken(number: int) -> np.ndarray:
    return picture(small(CHANGES[number](scene(31)))) if number else usual_small()


def first_sheets(count: int) -> Callable[[Scene], Scene]:
    return lambda one: replace(one, sheets=one.sheets[:count])


def covered(one: Scene) -> Scene:
    """Half of the first sheet lies under a box."""
    x, y = one.sheets[0].at
    return replace(one, covered=((x - 170, y, x + 170, y + 190),))


def curled(one: Scene) -> Scene:
    return replace(one, sheets=(replace(one.sheets[0], curl=25.0), *one.sheets[1:]))


CHANGES: list[Callable[[Scene], Scene]] = [
    lambda one: one,
    first_sheets(0),
    first_sheets(2),
    lambda one: replace(one, blur_px=0.6, exposure=0.02),
    covered,
    curled,
    lambda one: replace(one, sheets=(one.sheets[0], replace(one.sheets[1], sheet=1), *one.sheets[2:])),
    lambda one: replace(one, paper=(0.08, 0.12, 0.17)),
]


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (1, "There is no marker sheet in this picture; lay four or more"),
        (2, "Only two marker sheets can be measured"),
        (3, "too dark"),
        (6, "Marker sheet 1 is in the picture twice"),
    ],
)
def test_a_picture_that_cannot_be_measured_is_refused_in_a_sentence(number: int, says: str) -> None:
    with pytest.raises(PatternError, match=says) as refused:
        by_markers(taken(number))
    assert refused.value.says.endswith(".") and "\n" not in refused.value.says


def test_a_blurred_picture_is_called_blurred() -> None:
    with pytest.raises(PatternError, match="blurred"):
        by_markers(cv2.GaussianBlur(taken(0), (0, 0), 7))


def squares(pitch: int) -> np.ndarray:
    """White with black squares so many pixels from each other, 0.6 times as large, in a picture of 2600 by 1950."""
    row = np.arange(2600) % pitch < 0.6 * pitch
    return np.where(row[:1950, None] & row[None], 20, 235).astype(np.uint8)


def test_a_picture_of_nothing_but_small_squares_is_refused_before_each_is_looked_into() -> None:
    """8,000 of them, and 2,200, as a checked cloth may have, which hold no marker."""
    with pytest.raises(PatternError, match="full of small squares, among which markers cannot be told; lay"):
        by_markers(squares(25))
    with pytest.raises(PatternError, match="There is no marker sheet"):
        by_markers(squares(48))


def test_a_sheet_covered_in_part_is_used_as_far_as_it_is_seen() -> None:
    flattened = by_markers(taken(4))
    assert [finding.code for finding in flattened.findings] == ["markers-covered"]
    (found,) = pieces(flattened)
    assert worth(found.outline.chain, scene(31)).rms < 0.3


def test_a_sheet_that_does_not_lie_flat_is_left_out() -> None:
    flattened = by_markers(taken(5))
    assert [finding.code for finding in flattened.findings] == ["sheet-not-flat"]
    assert "Marker sheet 1" in flattened.findings[0].says
    (found,) = pieces(flattened)
    assert worth(found.outline.chain, scene(31)).rms < 0.3


def test_a_piece_like_the_table_is_not_guessed_at() -> None:
    with pytest.raises(PatternError, match=r"stand out|No whole piece"):
        pieces(by_markers(taken(7)))


def test_the_rule_that_was_measured_sets_the_size() -> None:
    """A rule that measures 148.5 mm instead of 150 was printed 1 % small, and so is everything measured by it."""
    plain, shrunk = (pieces(by_markers(taken(0), rule))[0].outline.chain.length for rule in (150.0, 148.5))
    assert shrunk / plain == pytest.approx(0.99, abs=1e-4)
    with pytest.raises(PatternError, match="too far off"):
        by_markers(taken(0), 120.0)


# -- files ---------------------------------------------------------------------------------------------------------


@cache
def files() -> dict[str, bytes]:
    image = Image.fromarray(np.random.default_rng(1).integers(0, 255, (120, 200, 3), dtype=np.uint8))
    made = {}
    for kind in ("JPEG", "PNG", "TIFF", "WEBP"):
        out = io.BytesIO()
        image.save(out, kind, dpi=(300, 200))
        made[kind] = out.getvalue()
    return made


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_size_and_resolution_are_read_from_the_head(kind: str) -> None:
    """Written by Pillow, which knows nothing of our reader. WebP has no resolution."""
    head = read_head(files()[kind])
    assert (head.columns, head.rows) == (200, 120)
    assert read_picture(files()[kind]).pixels.shape == (120, 200, 3)
    if kind != "WEBP":
        assert read_picture(files()[kind]).dpi == pytest.approx((300, 200), abs=0.1)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_way_up_that_exif_gives_is_honoured(orientation: int) -> None:
    """Pillow's own exif_transpose says how it should look."""
    from PIL import ImageOps

    corner = np.zeros((96, 160, 3), np.uint8)
    corner[:40, :60] = (250, 200, 30)
    image = Image.fromarray(corner)
    exif = image.getexif()
    exif[274] = orientation
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif, quality=98, subsampling=0, dpi=(300, 150))
    turned = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(out.getvalue()))))[..., ::-1].astype(int)
    got = read_picture(out.getvalue())
    assert got.pixels.shape == turned.shape
    assert np.abs(got.pixels.astype(int) - turned).mean() < 1.0
    assert got.dpi == pytest.approx((300, 150) if orientation < 5 else (150, 300))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\0\0\0\x18ftypheic\0\0\0\0", "HEIC"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0", "HEIC"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture"),
        (b"", "no picture"),
        (b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sIIBBBBBI", 13, b"IHDR", 60000, 60000, 8, 2, 0, 0, 0, 0), "cut off"),
    ],
)
def test_what_is_no_picture_is_said(data: bytes, says: str) -> None:
    with pytest.raises(PatternError, match=says):
        read_picture(data)


def test_a_small_file_that_claims_a_huge_picture_is_refused_unread() -> None:
    chunk = struct.pack(">I4sIIBBBBBI", 13, b"IHDR", 60000, 60000, 8, 2, 0, 0, 0, 0)
    with pytest.raises(PatternError, match="3600 million pixels"):
        read_picture(b"\x89PNG\r\n\x1a\n" + chunk + struct.pack(">I4sI", 0, b"IEND", 0))
    assert MOST_PIXELS < 3.6e9


def test_cut_and_mutated_files_end_in_a_sentence_and_print_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """Each file by itself within 10 s."""
    dice = np.random.default_rng(7)
    refused = 0
    for kind, data in files().items():
        for trial in range(60):
            broken = bytearray(data[: int(dice.integers(1, len(data)))] if trial % 3 == 0 else data)
            for _ in range(int(dice.integers(0, 12))):
                at = int(dice.integers(0, min(len(broken), 400 if trial % 2 else len(broken))))
                broken[at] = int(dice.integers(0, 256))
            began = time.process_time()
            try:
                assert read_picture(bytes(broken)).pixels.ndim == 3, kind
            except PatternError as error:
                refused += 1
                assert error.says.endswith(".") and "\n" not in error.says
            assert time.process_time() - began < 10, (kind, trial)
    assert refused > 60
    said = capfd.readouterr()
    assert said.err == "" and said.out == ""


_IN_A_PROCESS = """
import sys
from app.tracing.guarded import _limit
from app.tracing.reading import read_found
data = sys.stdin.buffer.read()
_limit(True)
print(len(read_found(data, "big.png", {}).lines))
# Of this program alone: the most that getrusage tells may be that of the one that started it.
print(next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM")))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="/proc/self/status is Linux's")
@pytest.mark.parametrize(("wide", "most_mb"), [(4612, 480), pytest.param(9224, 1000, marks=pytest.mark.long)])
def test_the_largest_picture_that_is_read_takes_less_than_a_gigabyte(wide: int, most_mb: int) -> None:
    """A photo of nearly 64 million pixels with its sheets and piece, read in a process of its own, its limits set; one
    of a quarter of that takes no more than a quarter, beside what the libraries take."""
    done, large = cv2.imencode(
        ".png",
        cv2.resize(usual_small(), (wide, wide * 3 // 4), interpolation=cv2.INTER_LINEAR),
        [cv2.IMWRITE_PNG_COMPRESSION, 1],
    )
    assert done
    own = {**os.environ, **surroundings()}
    run = [sys.executable, "-c", _IN_A_PROCESS]
    ended = subprocess.run(run, input=large.tobytes(), capture_output=True, check=True, cwd=ROOT, env=own)
    pieces_found, most = ended.stdout.decode().splitlines()
    assert int(pieces_found) == 1
    assert int(most) * 1024 < most_mb * 1_000_000, most


def test_two_pictures_of_a_phone_are_read_together_within_the_limits() -> None:
    """The same photo twice, its marks in both where the camera saw them."""
    done, one = cv2.imencode(".jpg", cv2.resize(usual_small(), (4000, 3000)), [cv2.IMWRITE_JPEG_QUALITY, 90])
    assert done
    camera = small(scene(31)).camera
    marks = camera.seen(np.array([(-150.0, -200.0), (100.0, -200.0), (0.0, 150.0)])) * 2
    words = " ".join(f"{x:.2f},{y:.2f}={x:.2f},{y:.2f}" for x, y in marks.tolist())
    found = guarded.read_guarded(one.tobytes(), "one.jpg", {"shared-marks": words}, [one.tobytes()])
    assert len(found.lines) == 1
