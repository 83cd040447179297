"""Photos on the page of tracing: shown flat under the outline or as they were refused, and read anew where that is
needed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from PySide6.QtCore import QPoint
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from app.photo.solving import View
from app.tracing.answering import for_reading
from app.tracing.found import Found, FoundPicture
from app.tracing.handing_over import from_bytes, refusal_bytes, refusal_of, to_bytes
from app.window.trace_page import TracePage
from app.window.window import MainWindow
from geometry.motions import FloatArray, Motion
from tests.app.test_window_tracing import opened, settle
from tests.photo_scenes import scene, small, usual_small
from tests.window_case import bare_window

__all__ = ["bare_window"]

@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """The usual small photograph as a file."""
    path = tmp_path / "piece.jpg"
    assert cv2.imwrite(str(path), usual_small())
    return path


@pytest.fixture
def page(bare_window: MainWindow, qtbot: QtBot, photo: Path) -> Iterator[TracePage]:
    """The page for the usual small photograph, read."""
    page = opened(bare_window, qtbot, photo)
    yield page
    page.reject()


def test_the_photo_lies_flat_under_its_outline(page: TracePage) -> None:
    """The outline over the flat picture is that of the scene as its own camera saw it; the picture is white paper
    inside it and dark table outside; and it has no more than two million pixels."""
    made = small(scene(31))
    picture, edges = page.shown_picture, page.picture.pieces[0].edges
    assert picture is not None and picture.in_mm
    over = np.concatenate([edge.line.flat[0] for edge in edges])
    ring = shapely.segmentize(shapely.LinearRing(made.truth), 2.0)
    truth = shapely.LinearRing(made.camera.seen(shapely.get_coordinates(ring)))
    off = shapely.distance(shapely.points(picture.view.pixels(over)), truth)
    assert off.max() < 1.0, "pixels of the picture as it was taken"
    shown = QImage.fromData(picture.jpeg)
    assert shown.width() * shown.height() <= 2_000_000
    middle = over.mean(axis=0)
    inside, outside = (
        shown.pixelColor(_pixel(shown, picture, middle + share * (over[0] - middle))).lightness()
        for share in (0.9, 1.1)
    )
    assert inside > 100 > outside
    assert "stated right within" in page.source_says.text() and "marker sheets" in page.source_says.text()


def test_a_refused_picture_is_shown_with_what_is_wrong(bare_window: MainWindow, qtbot: QtBot, tmp_path: Path) -> None:
    path = tmp_path / "bare.jpg"
    assert cv2.imwrite(str(path), np.ascontiguousarray(usual_small()[500:900, 600:1100]))
    page = opened(bare_window, qtbot, path)
    assert "no marker sheet" in page.notice.words() and "bare.jpg" in page.notice.words()
    picture = page.shown_picture
    assert picture is not None and not picture.in_mm and picture.box == (0.0, 0.0, 500.0, 400.0)
    assert picture.view.pixels(np.array([[0.5, 399.5]])) == pytest.approx(np.array([[0.0, 0.0]]), abs=1e-6)
    drawn = page.picture.grab().toImage()
    at = page.picture.view.at((250.0, 200.0)).toPoint()
    assert drawn.pixelColor(at) != drawn.pixelColor(3, 3), "the picture lies on the mat"
    page.reject()


def test_an_answer_about_reading_has_the_picture_read_anew_and_going_back_does_not(
    page: TracePage, qtbot: QtBot
) -> None:
    said: list[str] = []
    page._work.reading.connect(lambda _, step: said.append(step))
    before = page.outcome
    page.answer("rule", "149 mm")
    settle(page, qtbot)
    assert before is not None and page.outcome is not None
    one, other = (result.garment.pieces[0].polygon.area for result in (before, page.outcome))
    assert other / one == pytest.approx((149 / 150) ** 2, rel=1e-4)
    assert "opening the picture" in said and "following the outline" in said
    said.clear()
    page.undo()
    settle(page, qtbot)
    assert page.outcome.garment.pieces[0].polygon.area == pytest.approx(one)
    assert not said, "what was read before is kept"


@pytest.mark.parametrize("key", ["pen", "follow", "points", "shared-marks", "corners", "corner-size", "scan", "rule"])
def test_every_answer_that_reading_takes_has_the_picture_read_anew(key: str) -> None:
    assert for_reading({key: "x", "name:piece-1": "Front"}) == {key: "x"}


def test_a_picture_goes_through_the_process_unchanged() -> None:
    across = (1.0, 0.1, 0.2, 0.0, 1.1, 0.3, 0.01, 0.02)
    view = View(across, -0.03, (999.5, 749.5), 1250.0, Motion(0, 1, -1, 0, 5, 6), 1.01)
    picture = FoundPicture(b"\xff\xd8 not looked into", (0.0, 0.0, 310.5, 207.0), view, True)
    back = from_bytes(to_bytes(Found("photo", (), picture=picture))).picture
    assert back is not None
    assert (back.jpeg, back.box, back.view, back.in_mm) == (picture.jpeg, picture.box, picture.view, True)
    says, shown = refusal_of(refusal_bytes("“a” was not read: it is dark.", picture))
    assert says == "“a” was not read: it is dark." and shown is not None and shown.view == view
    assert refusal_of(refusal_bytes("no", None)) == ("no", None)


def _pixel(image: QImage, picture: FoundPicture, point: FloatArray) -> QPoint:
    x0, y0, x1, y1 = picture.box
    return QPoint(
        int((point[0] - x0) / (x1 - x0) * image.width()), int((y1 - point[1]) / (y1 - y0) * image.height())
    )
