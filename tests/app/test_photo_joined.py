"""A piece too long for one photograph: two, each with four marker sheets, laid together on corners of the sheets that
both show; against the true outline, with the error that is stated."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from app.photo.marker_sheets import sheet_corners
from app.photo.tracing import read_photos
from geometry.papers import A4
from tests.photo_scenes import Laid, Scene, aimed, beside, front_piece, picture, scene
from tests.photo_truth import worth

#: Sheets to the left of the piece, above and below its middle, and to its right.
SPOTS = ((-480.0, 150.0), (-480.0, -160.0), (20.0, 410.0), (-20.0, -420.0), (480.0, 170.0), (480.0, -150.0))
#: How far off a mark is clicked (pixels).
CLICKED_PX = 0.7


def halves(seed: int) -> tuple[Scene, Scene, str]:
    """The piece lying lengthwise among six sheets, seen by two cameras of 3 megapixels, each over two thirds of the
    table; and the marks that both show, as they were clicked."""
    dice = np.random.default_rng(2000 + seed)
    piece = front_piece()
    outline = replace(piece, cubics=piece.cubics @ np.array([[0.0, 1.0], [-1.0, 0.0]]))
    sheets = tuple(
        beside(Laid(number, (x + dice.uniform(-15, 15), y + dice.uniform(-15, 15)), dice.uniform(-25, 25)), outline)
        for number, (x, y) in enumerate(SPOTS, 1)
    )
    taken = []
    for some in (sheets[:4], sheets[2:]):
        camera = aimed(
            some, dice.uniform(2700, 3300), dice.uniform(-0.06, 0.04), dice.uniform(3, 15), *dice.uniform(0, 8, 2)
        )
        half = replace(camera, width=2000, height=1500, focal=camera.focal / 2)
        made = replace(scene(seed), camera=half, sheets=sheets, outline=outline, seed=seed + len(taken), samples=12)
        taken.append(replace(made, blur_px=0.7))
    marks = np.concatenate([laid.moved(sheet_corners(A4)) for laid in sheets[2:4]])
    first, second = (one.camera.seen(marks) + dice.uniform(-CLICKED_PX, CLICKED_PX, marks.shape) for one in taken)
    words = " ".join(f"{a:.1f},{b:.1f}={c:.1f},{d:.1f}" for (a, b), (c, d) in zip(first, second, strict=True))
    return taken[0], taken[1], words


@pytest.mark.long
@pytest.mark.timeout(900)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_two_photographs_on_shared_sheets_are_as_exact_as_is_stated(seed: int) -> None:
    first, second, marks = halves(seed)
    data = [
        cv2.imencode(".png", picture(one), [cv2.IMWRITE_PNG_COMPRESSION, 1])[1].tobytes() for one in (first, second)
    ]
    found = read_photos(data, "front.png", {"shared-marks": marks})
    assert "pictures-joined" in {one.code for one in found.findings} and len(found.lines) == 1
    got = worth(found.lines[0].chain, first)
    assert found.error_mm is not None
    print(
        f"seed {seed}: {got.rms:.3f} rms, {got.worst:.2f} at worst, size {got.size:+.5f}, {found.error_mm:.3f} stated"
    )
    assert got.rms < 1.5 * found.error_mm and found.error_mm <= 1.0
    assert got.rms < 0.3 and got.worst < 1.2 and abs(got.size) < 0.0015
