"""A pen line on paper: outside, middle and inside, against the line that was drawn."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from app.photo.pen_lines import LineSide, pen_outline
from app.photo.photographs import Flattened, by_markers
from geometry.errors import PatternError
from geometry.lines import chain, flatten, joined, polyline, straight
from tests.photo_scenes import Scene, picture, scene
from tests.photo_truth import worth

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
    made = drawn()
    found = pen_outline(taken(), side)
    assert found.width_mm == pytest.approx(WIDTH_MM, abs=0.15)
    middle = shapely.Polygon(made.lines[0][0])
    out = {LineSide.OUTSIDE: 1, LineSide.MIDDLE: 0, LineSide.INSIDE: -1}[side] * WIDTH_MM / 2
    true = middle.buffer(out, join_style="mitre", mitre_limit=20) if out else middle
    ring = np.array(true.exterior.coords)[:: 1 if true.exterior.is_ccw else -1]
    got = worth(found.outline.chain, replace(made, outline=polyline(ring)))
    assert got.rms < 0.15 and got.worst < 1.2, got
    assert abs(got.outward) < 0.08, got


def test_paper_without_a_line_is_said() -> None:
    with pytest.raises(PatternError, match="No closed pen line"):
        pen_outline(taken(), LineSide.MIDDLE, near=(2.0, 2.0))
