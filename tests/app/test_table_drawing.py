"""The view, the mat's divisions, exact painter paths, hatching by shape, and a drag told once a frame."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath

from app.handles import Handle
from app.window.dragging import Drag, OnceAFrame, stepped
from app.window.hatching import COMB_PX, sliver_comb, spacing_mm, strip_hatch
from app.window.laying_out import box_of, mirror_of
from app.window.mat import division, lines_between
from app.window.piece_drawing import Drawings, PieceDrawing, path_of
from app.window.view import LEAST_SCALE, MOST_SCALE, View, fitted
from geometry.lines import arc, joined, straight
from geometry.motions import mirror, slide, turn
from geometry.stages import CutPiece, JogBlend
from tests.canon import PIECES, front, leaning

REAL = st.floats(-2000, 2000)


@given(scale=st.floats(0.1, 20.0), pushed=st.tuples(REAL, REAL), point=st.tuples(REAL, REAL))
def test_pixels_and_points_are_each_others(
    scale: float, pushed: tuple[float, float], point: tuple[float, float]
) -> None:
    view = View(scale, *pushed)
    assert view.mm(view.px(point)) == pytest.approx(point, abs=1e-6)


@given(factor=st.floats(0.2, 5.0), about=st.tuples(REAL, REAL))
def test_zooming_keeps_the_place_under_the_pointer(factor: float, about: tuple[float, float]) -> None:
    view = View(1.3, 40.0, 500.0)
    zoomed = view.zoomed(factor, about)
    assert zoomed.px(view.mm(about)) == pytest.approx(about, abs=1e-6)
    assert zoomed.scale == pytest.approx(1.3 * factor)


def test_zooming_stops_at_its_ends() -> None:
    assert View().zoomed(1e9, (0.0, 0.0)).scale == MOST_SCALE
    assert View().zoomed(1e-9, (0.0, 0.0)).scale == LEAST_SCALE


@pytest.mark.parametrize("motion", [slide(30.0, -12.0), turn(25.0, (10.0, 40.0)), mirror((5.0, 0.0), (0.2, 1.0))])
def test_the_painter_draws_a_moved_piece_where_the_view_says(motion: object) -> None:
    view = View(0.8, 100.0, 420.0)
    for point in [(0.0, 0.0), (120.0, 40.0), (-33.0, 250.0)]:
        drawn = view.transform(motion).map(QPointF(*point))  # type: ignore[arg-type]
        assert (drawn.x(), drawn.y()) == pytest.approx(view.px(motion.point(point)))  # type: ignore[attr-defined]


def test_everything_is_seen_when_fitted_in() -> None:
    view = fitted((0.0, -20.0, 500.0, 600.0), (50.0, 40.0, 1000.0, 560.0))
    left, bottom = view.px((0.0, -20.0))
    right, top = view.px((500.0, 600.0))
    assert left >= 50.0 and top >= 40.0 - 1e-9 and right <= 1000.0 and bottom <= 560.0 + 1e-9
    assert view.scale == pytest.approx(520.0 / 620.0)


def test_the_divisions_are_those_of_a_tape_measure() -> None:
    """cm: 1 mm when enlarged, 1 cm usually, numbers every 10 cm when small. in: sixteenths, inches (25.4 mm)."""
    near, usual, far = (division("cm", scale, 6.0) for scale in (8.0, 0.8, 0.15))
    assert (near.minor, usual.minor, far.minor) == (1.0, 10.0, 50.0)
    assert usual.number == 100.0 and near.number == 10.0
    assert division("in", 8.0, 6.0).minor == pytest.approx(25.4 / 16)
    assert division("in", 2.0, 6.0).number == pytest.approx(25.4)
    assert list(lines_between(-25.0, 31.0, 10.0)) == [-2, -1, 0, 1, 2, 3]


def test_a_curve_is_painted_with_its_own_control_points() -> None:
    """Nothing is flattened: the path's elements are the chain's control points, to the last digit."""
    chain = joined([straight((0, 0), (40, 0)), arc((40, 30), 30.0, -90.0, 20.0)])
    path = path_of(chain)
    points = [(path.elementAt(i).x, path.elementAt(i).y) for i in range(path.elementCount())]
    wanted = [chain.start]
    for cubic, is_line in zip(chain.cubics, chain.straight, strict=True):
        wanted += [tuple(point) for point in (cubic[3:] if is_line else cubic[1:])]
    assert points == [tuple(map(float, point)) for point in wanted]


@pytest.mark.parametrize("name", sorted(PIECES))
def test_the_paper_has_the_area_of_the_piece(name: str) -> None:
    piece = PIECES[name]
    drawing = PieceDrawing(CutPiece(piece, None, {}))
    polygon = drawing.paper.toFillPolygon()
    points = np.array([(p.x(), p.y()) for p in polygon])
    area = abs(float(np.dot(points[:-1, 0], points[1:, 1]) - np.dot(points[1:, 0], points[:-1, 1]))) / 2
    assert area == pytest.approx(piece.polygon.area, rel=2e-3)


def test_the_fold_is_drawn_apart_from_the_stitching_line_and_an_opened_piece_is_twice_as_wide() -> None:
    piece = leaning()
    drawing = PieceDrawing(CutPiece(piece, None, {}))
    assert drawing.fold is not None and drawing.fold.length() == pytest.approx(400.0)
    around = sum(edge.chain.length for edge in piece.edges)
    assert drawing.stitch.length() == pytest.approx(around - 400.0, rel=1e-6)
    x0, _, x1, _ = box_of(piece)
    o0, _, o1, _ = box_of(piece, opened=True)
    assert o1 - o0 == pytest.approx(2 * (x1 - x0))
    assert mirror_of(piece).point((30.0, 70.0)) == pytest.approx((-30.0, 70.0))  # type: ignore[union-attr]
    assert mirror_of(PIECES["sleeve"]) is None


def test_a_drawing_is_made_once_for_a_piece_and_only_some_are_kept() -> None:
    drawings = Drawings(most=2)
    cuts = [CutPiece(front(), None, {}) for _ in range(3)]
    first = drawings.of(cuts[0])
    assert drawings.of(cuts[0]) is first
    drawings.of(cuts[1])
    drawings.of(cuts[2])
    assert drawings.of(cuts[0]) is not first


def test_only_edges_that_changed_are_dashed_as_they_were() -> None:
    drawings = Drawings()
    piece = leaning()
    assert drawings.outline(piece, piece).isEmpty()
    wider = leaning(degrees=12.0)
    changed = piece.edge("hem").length + piece.edge("side").length
    assert drawings.outline(piece, wider).length() == pytest.approx(changed)


def segments(path: QPainterPath) -> list[tuple[float, float, float, float]]:
    points = [(path.elementAt(i).x, path.elementAt(i).y) for i in range(path.elementCount())]
    return [(*points[i], *points[i + 1]) for i in range(0, len(points), 2)]


@pytest.mark.parametrize(("added", "sign"), [(False, 1.0), (True, -1.0)])
def test_strips_taken_out_rise_to_the_right_and_strips_put_in_to_the_left(added: bool, sign: float) -> None:
    strip = np.array([(0.0, 0.0), (120.0, 0.0), (120.0, 25.0), (0.0, 25.0)])
    lines = segments(strip_hatch(strip, added, 0.8))
    assert len(lines) > 5
    for x0, y0, x1, y1 in lines:
        assert math.copysign(1.0, (x1 - x0) * (y1 - y0)) == sign
        assert min(x0, x1) >= -1e-6 and max(x0, x1) <= 120.0 + 1e-6 and min(y0, y1) >= -1e-6


@given(scale=st.floats(0.06, 50.0))
def test_hatching_is_neither_too_dense_nor_too_wide_at_any_zoom(scale: float) -> None:
    assert 6.0 <= spacing_mm(6.0, scale) * scale < 12.0 + 1e-9


def test_the_comb_has_teeth_only_where_the_line_was_moved() -> None:
    """Two straight lines 4 mm apart in the middle third of 90 mm, redrawn along the lower one."""
    left, right = np.array([(0.0, 0.0), (30.0, 0.0)]), np.array([(30.0, 4.0), (60.0, 4.0), (60.0, 0.0), (90.0, 0.0)])
    new = np.array([(0.0, 0.0), (90.0, 0.0)])
    blend = JogBlend(
        "p", "e", "n", "straight", 0.5, 4.0, 0.0, (30.0, 60.0), None, None, None, 4.0, None, new, (left, right), new
    )
    teeth = segments(sliver_comb(blend, 1.0))
    assert len(teeth) == pytest.approx(30.0 / COMB_PX, abs=2)
    for x0, y0, x1, y1 in teeth:
        assert 29.0 <= x0 <= 61.0 and 29.0 <= x1 <= 61.0
        assert max(y0, y1) >= 0.0 >= min(y0, y1)


HANDLE = Handle("n", "amount", "amount", "mm", True, 20.0, 0.0, 60.0, ((0, 0), (9, 0)), (9, 0), (0.0, 1.0), 1.0)


def test_a_dragged_amount_goes_by_whole_millimetres_or_sixteenths_and_finely_on_demand() -> None:
    drag = Drag(HANDLE, (5.0, 100.0))
    assert drag.value((5.0, 107.4), "cm", False) == 27.0
    assert drag.value((5.0, 107.44), "cm", True) == pytest.approx(27.4)
    assert drag.value((5.0, 107.4), "in", False) == pytest.approx(17 * 25.4 / 16)
    assert drag.value((5.0, -900.0), "cm", False) == 1.0, "never dragged away altogether"
    assert drag.value((5.0, 900.0), "cm", False) == 60.0
    assert stepped(HANDLE, 12.6, "cm", False) == 13.0


def test_the_newest_value_wins_and_at_most_one_is_told_a_frame(qtbot: Any) -> None:
    told: list[float] = []
    teller = OnceAFrame()
    teller.told.connect(lambda what: told.append(what[2]))
    for value in range(50):
        teller.tell("n", "amount", float(value))
    assert told == [0.0]
    qtbot.waitUntil(lambda: len(told) == 2, timeout=1000)
    assert told == [0.0, 49.0]
    teller.tell("n", "amount", 51.0)
    teller.tell("n", "amount", 52.0)
    teller.flush()
    assert told[-1] == 52.0
    qtbot.wait(40)
    assert told.count(52.0) == 1
