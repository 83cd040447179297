"""A pen line on paper: outside, middle and inside, against the line that was drawn."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest
import shapely

from app.photo.pen_lines import LineSide, pen_outline
from app.photo.photographs import Flattened, by_markers
from app.photo.tracing import read_photo
from geometry.errors import PatternError
from geometry.lines import Chain, chain, flatten, joined, polyline, straight
from tests.photo_scenes import Scene, picture, scene, small
from tests.photo_truth import Worth, worth

WIDTH_MM = 0.6
PAPER = shapely.box(-240, -300, 240, 300)


def drawn() -> Scene:
    """A pen line of 0.6 mm, one curve and three straight sides, on a sheet of paper among the marker sheets."""
    line = joined(
        [
            straight((-150.0, -220.0), (140.0, -220.0)),
            chain([[(140.0, -220.0), (190.0, -60.0), (90.0, 60.0), (150.0, 210.0)]]),
            straight((150.0, 210.0), (-150.0, 230.0)),
            straight((-150.0, 230.0), (-150.0, -220.0)),
        ]
    )
    made = replace(scene(33), samples=8)
    paper = polyline(np.array([*PAPER.exterior.coords]))
    ring = flatten(line, 0.01)[0]
    return replace(made, outline=paper, lines=((ring, WIDTH_MM),), table=(0.2, 0.25, 0.3))


@cache
def taken() -> Flattened:
    return by_markers(picture(drawn()))


@pytest.mark.parametrize("side", list(LineSide))
def test_the_side_of_the_line_that_is_asked_for(side: LineSide) -> None:
    found = pen_outline(taken(), side)
    assert found.width_mm == pytest.approx(WIDTH_MM, abs=0.15)
    got = against_the_line(found.outline.chain, drawn(), side)
    assert got.rms < 0.15 and got.worst < 1.2, got
    assert abs(got.outward) < 0.08, got


def against_the_line(found: Chain, made: Scene, side: LineSide) -> Worth:
    """An outline against that side of the line that was drawn."""
    line, width = made.lines[0]
    middle = shapely.Polygon(line)
    out = {LineSide.OUTSIDE: 1, LineSide.MIDDLE: 0, LineSide.INSIDE: -1}[side] * width / 2
    true = middle.buffer(out, join_style="mitre", mitre_limit=20) if out else middle
    ring = np.array(true.exterior.coords)[:: 1 if true.exterior.is_ccw else -1]
    return worth(found, replace(made, outline=polyline(ring)))


def thin(width: float, blur: float, noise: float, whole: bool) -> Scene:
    """The same line so many mm wide: at 1.4 pixels a mm, or at 2.8 in the whole picture."""
    made = drawn()
    line = replace(made, lines=((made.lines[0][0], width),), noise=noise)
    return replace(line if whole else small(line), blur_px=blur, samples=12)


def trace_both(made: Scene) -> None:
    """The outside and the middle as the command line has them, within 1.5 times what is stated."""
    data = png(made)
    for side in (LineSide.OUTSIDE, LineSide.MIDDLE):
        found = read_photo(data, "line.png", {"pen": side.value})
        got = against_the_line(found.lines[0].chain, made, side)
        print(f"{side} {got.rms:.3f} rms, {got.outward:+.3f} outward, {found.error_mm:.3f} stated")
        assert got.rms < 1.5 * found.error_mm, (side, got, found.error_mm)
        assert abs(got.outward) < 0.06, (side, got)


def png(made: Scene) -> bytes:
    done, data = cv2.imencode(".png", picture(made), [cv2.IMWRITE_PNG_COMPRESSION, 1])
    assert done
    return data.tobytes()


def test_a_line_thinner_than_a_pixel_is_found_on_the_side_asked_for_as_surely_as_is_stated() -> None:
    trace_both(thin(0.5, blur=0.7, noise=0.01, whole=False))


@pytest.mark.long
@pytest.mark.parametrize("width", [0.5, 0.75, 1.0])
@pytest.mark.parametrize(("blur", "noise", "whole"), [(0.7, 0.016, False), (0.9, 0.006, False), (1.3, 0.016, True)])
def test_thin_lines_blurred_and_noisy(width: float, blur: float, noise: float, whole: bool) -> None:
    trace_both(thin(width, blur, noise, whole))


def test_paper_without_a_line_is_said() -> None:
    with pytest.raises(PatternError, match="No closed pen line"):
        pen_outline(taken(), LineSide.MIDDLE, near=(2.0, 2.0))
