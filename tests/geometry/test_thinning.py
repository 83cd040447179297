"""Fewer segments for files: the line stays where it was, corners stay corners."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.lines import Chain, arc, flatten, joined, polyline, straight
from geometry.thinning import THIN_MM, gap_between, most_segments, thinned
from tests import canon


def dense(line: Chain, step: float) -> Chain:
    count = max(2, round(line.length / step))
    return polyline(line.points(line.at_lengths(np.linspace(0, line.length, count + 1))))


@pytest.mark.parametrize("step", [0.3, 0.5, 1.0])
@pytest.mark.parametrize("edge", ["armhole", "neck", "side"])
def test_a_finely_traced_edge_is_written_in_few_segments(edge: str, step: float) -> None:
    traced = dense(canon.front().edge(edge).chain, step)
    fewer = thinned(traced)
    assert len(traced) > most_segments(traced.length) >= len(fewer)
    assert gap_between(fewer, traced) <= THIN_MM
    assert fewer.start == traced.start and fewer.end == traced.end


def test_corners_and_straight_stretches_stay() -> None:
    bent = joined([straight((0, 0), (60, 0)), dense(arc((60, 40), 40, -90, 0), 0.5), straight((100, 40), (100, 90))])
    corner = joined([bent, dense(arc((130, 90), 30, 180, 0), 0.5)])
    fewer = thinned(corner)
    assert len(fewer) <= most_segments(corner.length)
    assert gap_between(fewer, corner) <= THIN_MM
    for point in ((60, 0), (100, 40), (100, 90)):
        assert fewer.nearest(point)[1] < 1e-9


def test_a_line_of_few_segments_is_the_same_object() -> None:
    line = canon.sleeve().edge("cap").chain
    assert thinned(line) is line


def test_what_cannot_be_thinned_stays_as_it_is() -> None:
    """A saw of right-angled teeth has no smooth stretch: every tooth stays."""
    teeth = polyline([(i * 1.0, (i % 2) * 1.0) for i in range(200)])
    assert np.abs(flatten(thinned(teeth), 0.01)[0] - flatten(teeth, 0.01)[0]).max() < 1e-9
