"""The golden drawings are what is drawn today, and the comparison would see what matters."""

from __future__ import annotations

import copy
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from geometry.alterations import everything
from tests.golden_cases import GOLDENS
from tests.goldens import FOLDER, Values, blends, differences, drawn, kept, summary_lines, text_of

BY_NAME = {golden.name: golden for golden in GOLDENS}
AGAIN = "look at it (python -m tests.goldens look FOLDER NAME); if it is meant: python -m tests.goldens remake NAME"
FRONT = "shorten-at-the-line--undershirt-front-25mm"


@pytest.mark.parametrize("name", BY_NAME)
def test_what_is_drawn_today_is_what_was_looked_at_and_kept(name: str) -> None:
    found = differences(kept(BY_NAME[name]), drawn(BY_NAME[name]))
    assert not found, f"{AGAIN}\n" + "\n".join(found)


def test_every_alteration_has_a_drawing_and_no_drawing_is_left_over() -> None:
    assert {golden.notes[-1].alteration for golden in GOLDENS} == {alteration.name for alteration in everything()}
    assert {path.stem for path in FOLDER.iterdir()} == set(BY_NAME)
    assert len(BY_NAME) == len(GOLDENS)


@pytest.mark.parametrize("name", [FRONT, "full-bust--waistcoat-front-12.7mm"])
def test_a_drawing_is_kept_as_it_is_written(name: str) -> None:
    text = (FOLDER / f"{name}.json").read_text(encoding="utf-8")
    assert text == text_of(kept(BY_NAME[name]))
    assert max(map(len, text.splitlines())) <= 120


# --- the comparison can fail -----------------------------------------------------------------------------------


def changed(name: str = FRONT) -> tuple[Values, dict[str, Any]]:
    """A kept drawing and a copy of it to spoil, with its redrawn front."""
    values = copy.deepcopy(kept(BY_NAME[name]))
    return values, values["pieces"]["front"]["redrawn"]


def said(values: Values, name: str = FRONT) -> str:
    return "\n".join(differences(kept(BY_NAME[name]), values))


def test_a_drawing_does_not_differ_from_itself() -> None:
    assert not said(changed()[0])


@pytest.mark.parametrize("stage", ["moved", "redrawn"])
def test_a_corner_moved_by_0_02_mm_is_seen(stage: str) -> None:
    values, _ = changed()
    corners = values["pieces"]["front"][stage]["corners"]
    name = next(iter(corners))
    corners[name][0] += 0.02
    assert f"{stage}: {name} lies 0.020 mm off" in said(values)
    corners[name][0] -= 0.015
    assert not said(values)


def test_a_missing_notch_a_moved_one_and_a_double_one_are_seen() -> None:
    values, front = changed()
    name, notch = next(iter(front["notches"].items()))
    notch["count"] = 2
    assert "count is 1 in one, 2 in the other" in said(values)
    notch["count"] = 1
    notch["at"][1] += 0.02
    assert f"{name}, at lies 0.020 mm off" in said(values)
    del front["notches"][name]
    assert f"{name} is missing in one of them" in said(values)


def test_a_renamed_edge_and_edges_in_another_order_are_seen() -> None:
    values, front = changed()
    edges = front["edges"]
    front["edges"] = {("front.seam" if name == "front.side" else name): runs for name, runs in edges.items()}
    assert "front.side is missing" in said(values) and "front.seam is missing" in said(values)
    front["edges"] = dict(reversed(edges.items()))
    assert "stand in another order" in said(values)


@pytest.mark.parametrize("place", ["edge", "cutting line"])
def test_a_curve_bulged_by_0_02_mm_is_seen(place: str) -> None:
    values, front = changed()
    curves = front["edges"]["front.armhole"][0]["curves"] if place == "edge" else values["pieces"]["front"][place]
    start, curve = next((a, b) for a, b in pairwise(curves) if len(b) == 6)
    way = np.subtract(curve[4:], start[-2:])
    # Both controls out by 0.02 x 4/3 bulge the middle of a cubic by 0.02.
    out = np.array([way[1], -way[0]]) / np.hypot(*way) * 0.02 * 4 / 3
    curve[:4] = [float(value) for value in np.add(curve[:4], np.tile(out, 2))]
    assert ("front.armhole" if place == "edge" else "cutting line") in said(values)


def test_a_curve_divided_otherwise_is_the_same_curve() -> None:
    values, front = changed()
    curves = front["edges"]["front.armhole"][0]["curves"]
    index = next(i for i, part in enumerate(curves) if len(part) == 6)
    a, (b, c, d) = np.array(curves[index - 1][-2:]), np.array(curves[index]).reshape(3, 2)
    ab, bc, cd = (a + b) / 2, (b + c) / 2, (c + d) / 2
    abc, bcd = (ab + bc) / 2, (bc + cd) / 2
    halves = [[*ab, *abc, *(abc + bcd) / 2], [*bcd, *cd, *d]]
    curves[index : index + 1] = [[float(value) for value in half] for half in halves]
    assert not said(values)


def test_a_dart_pressed_the_other_way_and_a_run_of_another_kind_are_seen() -> None:
    name = "full-bust--waistcoat-front-12.7mm"
    values, front = changed(name)
    front["darts"]["front.bust_dart"]["pressed to"] = "end"
    assert "pressed to is start in one, end in the other" in said(values, name)
    front["edges"]["front.side"][1]["is"] = "traced"
    assert "is dart mouth in one, traced in the other" in said(values, name)
    del front["edges"]["front.side"][2]
    assert "in 3 parts in one, in 2 in the other" in said(values, name)


# --- the blends of the drawings --------------------------------------------------------------------------------


def test_every_blend_of_a_drawing_keeps_the_bounds_where_they_apply() -> None:
    applies = [(golden.name, blend) for golden, blend in blends() if blend.within_bounds is not None]
    assert len(applies) >= 20
    assert [(name, blend.edge) for name, blend in applies if not blend.within_bounds] == []
    # The bounds themselves, read off the figures: docs/decisions/0002-blending.md.
    for name, blend in applies:
        assert blend.max_curvature_ratio is not None and blend.max_curvature_ratio <= 1.4, name
        assert blend.end_tangent_deg is not None and max(blend.end_tangent_deg) <= 0.5, name
        assert blend.new_inflections == 0, name


def test_the_figures_of_the_drawings_are_told() -> None:
    assert f"{len(GOLDENS)} golden drawings, {len(blends())} blends" in summary_lines()[0]
