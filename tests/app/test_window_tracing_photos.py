"""Photos on the page of tracing: shown flat under the outline or as they were refused, and read anew where that is
needed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox
from pytestqt.qtbot import QtBot

from app.photo.each_picture import of_picture
from app.photo.solving import View
from app.tracing.answering import begun, for_reading
from app.tracing.found import Found, FoundPicture
from app.tracing.handing_over import from_bytes, refusal_bytes, refusal_of, to_bytes
from app.window.trace_page import TracePage
from app.window.trace_photo import BY_POINTS, CORNERS, FOLLOWED, OTHER_SIDES, PEN_MIDDLE, PEN_OUT, SCAN
from app.window.trace_tools import OutlineTool, PointsTool
from app.window.window import MainWindow
from geometry.motions import FloatArray, Motion
from tests.app.test_photo_known_sizes import scanned
from tests.app.test_photo_sheets_of_lines import DPI, halves, size_line
from tests.app.test_photo_sheets_of_lines import scan as sheet_of_lines
from tests.app.test_window_tracing import opened, settle
from tests.photo_scenes import scene, small, usual_small
from tests.window_case import answer_with, bare_window

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


@pytest.fixture
def scan_page(bare_window: MainWindow, qtbot: QtBot, tmp_path: Path) -> Iterator[TracePage]:
    """The page for a scan of a light square of 200 mm, one corner cut off, read by its resolution."""
    path = tmp_path / "scan.png"
    assert cv2.imwrite(str(path), scanned(150.0))
    page = opened(bare_window, qtbot, path)
    page.change({"scan": "150"})
    settle(page, qtbot)
    yield page
    page.reject()


def click(page: TracePage, point: tuple[float, float]) -> None:
    """Click a place of the picture, in mm."""
    QTest.mouseClick(page.picture, Qt.MouseButton.LeftButton, pos=page.picture.view.at(point).toPoint())


def pick(menu: QComboBox, words: str) -> None:
    """Pick from a menu, as the mouse would."""
    menu.setCurrentText(words)
    assert menu.currentText() == words
    menu.activated.emit(menu.currentIndex())


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


def test_the_outline_is_corrected_by_dragging_and_taken_back(scan_page: TracePage, qtbot: QtBot) -> None:
    """A handle dragged by hand: the line goes through the place, the error grows, and Undo puts it back."""
    page = scan_page
    before = page.outcome
    assert before is not None
    plain = before.traced[0].pieces[0].error_mm
    qtbot.mouseClick(page.side.correct_button, Qt.MouseButton.LeftButton)
    tool = page.picture.tool
    assert isinstance(tool, OutlineTool) and page.side.tool_says.text().startswith("Drag a handle")
    view = page.picture.view
    handle = max(tool.handles(view)[0], key=lambda point: point[1] - abs(point[0] - 130.0))
    start, to = view.at(handle).toPoint(), view.at((handle[0], handle[1] - 8.0)).toPoint()
    QTest.mousePress(page.picture, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(page.picture, to)
    assert page.side.tool_says.text().startswith("Moved by")
    QTest.mouseRelease(page.picture, Qt.MouseButton.LeftButton, pos=to)
    settle(page, qtbot)
    assert page.outcome is not None
    (piece,) = page.outcome.traced[0].pieces
    there = page.picture.view.mm((to.x(), to.y()))
    assert page.outcome.traced[0].found.lines[0].chain.nearest(there)[1] < 0.01
    assert [one.code for one in piece.findings] == ["moved-by-hand"] and piece.error_mm > plain
    assert f"within {piece.error_mm:g} mm" in page.source_says.text()
    assert page.questions.row("by-hand:piece-1").question.by_default
    assert isinstance(page.picture.tool, OutlineTool), "the next handle may be dragged at once"
    page.undo()
    settle(page, qtbot)
    assert page.outcome is not None and page.outcome.traced[0].pieces[0].error_mm == plain
    qtbot.mouseClick(page.side.leave_button, Qt.MouseButton.LeftButton)
    assert page.picture.tool is None and not page.side.correct_button.isChecked()


def test_a_scan_comes_in_by_its_resolution_and_is_checked_against_a_length(scan_page: TracePage, qtbot: QtBot) -> None:
    """A scan of a square of 200 mm that is said to have 1 % too many pixels an inch, put right by two clicks."""
    page = scan_page
    pick(page.photo.size_menu, SCAN)
    page.photo.dpi_field.setText("151.5")
    page.photo.dpi_field.setModified(True)
    page.photo.dpi_field.editingFinished.emit()
    settle(page, qtbot)
    assert page.outcome is not None
    x0, y0, x1, _ = page.outcome.traced[0].found.lines[0].chain.box
    assert x1 - x0 == pytest.approx(200 / 1.01, abs=0.1)
    page.photo.length_field.setText("200 mm")
    qtbot.mouseClick(page.photo.length_button, Qt.MouseButton.LeftButton)
    assert page.side.tool_says.text() == "Click one end of the length that you know."
    for point in ((x0, y0), (x1, y0)):
        click(page, point)
    settle(page, qtbot)
    assert page.outcome is not None and page.picture.tool is None
    box = page.outcome.traced[0].found.lines[0].chain.box
    # A click on the screen is a pixel off at most.
    assert box[2] - box[0] == pytest.approx(200.0, abs=2 / page.picture.view.scale)
    assert "checked against" in page.source_says.text()


def test_four_corners_are_clicked_either_way_round(scan_page: TracePage, qtbot: QtBot) -> None:
    """On the scan's square with 200 mm a side; its bottom right corner is cut off, so that corner lies in the air."""
    page = scan_page
    assert page.outcome is not None
    x0, y0, x1, y1 = page.outcome.traced[0].found.lines[0].chain.box
    pick(page.photo.size_menu, CORNERS)
    pick(page.photo.sheet_menu, OTHER_SIDES)
    page.photo.first_side.setText("400 mm")
    page.photo.second_side.setText("200 mm")
    for ring in ([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], [(x1, y1), (x1, y0), (x0, y0), (x0, y1)]):
        first_is_level = ring[0][1] == ring[1][1]
        qtbot.mouseClick(page.photo.corners_button, Qt.MouseButton.LeftButton)
        for point in ring:
            click(page, point)
        settle(page, qtbot)
        assert page.outcome is not None, page.notice.words()
        box = page.outcome.traced[0].found.lines[0].chain.box
        level, upright = (400.0, 200.0) if first_is_level else (200.0, 400.0)
        assert box[2] - box[0] == pytest.approx(level, rel=0.02)
        assert box[3] - box[1] == pytest.approx(upright, rel=0.02)
        assert "four corners" in page.source_says.text()
        page.undo()
        settle(page, qtbot)


def test_points_set_by_hand_and_the_pen_line(scan_page: TracePage, qtbot: QtBot) -> None:
    """Points set a little off the edge snap to it; Undo takes the last point back first; a refused answer is said."""
    page = scan_page
    assert page.outcome is not None
    area = page.outcome.garment.pieces[0].polygon.area
    x0, y0, x1, y1 = page.outcome.traced[0].found.lines[0].chain.box
    pick(page.photo.way_menu, BY_POINTS)
    qtbot.mouseClick(page.photo.points_button, Qt.MouseButton.LeftButton)
    ring = [(x0, y0), (x1 - 50, y0), (x1, y0 + 50), (x1, y1), ((x0 + x1) / 2, y1), (x0, y1), (x0, (y0 + y1) / 2)]
    for x, y in [*ring[:3], (x0 + 60.0, y0 + 80.0)]:
        click(page, (x + 1.5, y + 1.0))
    page.undo()
    tool = page.picture.tool
    assert isinstance(tool, PointsTool) and len(tool.points) == 3
    for x, y in ring[3:]:
        click(page, (x + 1.5, y + 1.0))
    click(page, tool.points[0])
    settle(page, qtbot)
    assert page.outcome is not None, page.notice.words()
    assert page.state.files[0]["points"].count("\n") == 6
    assert page.outcome.garment.pieces[0].polygon.area == pytest.approx(area, rel=0.001)
    # There is no pen line on the scan, so the points stand as they were set, which is said.
    pick(page.photo.line_menu, PEN_OUT)
    settle(page, qtbot)
    assert page.outcome is not None and page.state.files[0]["pen"] == "outside"
    assert "edge-hidden" in [one.code for one in page.outcome.traced[0].findings]


def test_one_line_of_several_is_followed_from_a_click(bare_window: MainWindow, qtbot: QtBot, tmp_path: Path) -> None:
    """The full line of the sheet with three sizes, from a point on its hem; within the bound of its own tests."""
    path = tmp_path / "sizes.png"
    assert cv2.imwrite(str(path), sheet_of_lines())
    page = opened(bare_window, qtbot, path)
    page.change({"scan": f"{DPI:g}"})
    settle(page, qtbot)
    pick(page.photo.way_menu, FOLLOWED)
    qtbot.mouseClick(page.photo.follow_button, Qt.MouseButton.LeftButton)
    click(page, (121.0, 41.0))
    settle(page, qtbot)
    assert page.outcome is not None, page.notice.words()
    true = shapely.LinearRing(size_line(0))
    over = np.concatenate([edge.line.flat[0] for edge in page.picture.pieces[0].edges])
    assert shapely.distance(true, shapely.points(over)).max() < 1.2
    # A second point on the same line changes nothing; both are kept.
    qtbot.mouseClick(page.photo.another_button, Qt.MouseButton.LeftButton)
    click(page, (60.0, 150.0))
    settle(page, qtbot)
    assert page.outcome is not None, page.notice.words()
    again = np.concatenate([edge.line.flat[0] for edge in page.picture.pieces[0].edges])
    assert page.state.files[0]["follow"].count(",") == 2
    assert shapely.distance(true, shapely.points(again)).max() < 1.2
    assert page.photo.line_menu.currentText() == PEN_MIDDLE
    page.reject()


def test_marker_sheets_are_saved_from_the_menu(
    bare_window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    out = tmp_path / "sheets.pdf"
    answer_with(monkeypatch, out)
    bare_window.acts["markers"].trigger()
    assert out.read_bytes().startswith(b"%PDF-")
    assert "150 mm" in bare_window.notices.words() and "actual size" in bare_window.notices.words()


def test_two_scans_are_joined_on_marks_that_are_clicked_on_both(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    """A piece of 220 by 250 mm in two scans, neither of which shows it whole: marks one after the other on both, the
    last by keyboard; one that does not fit is said and taken back; joined, undone, joined again, taken apart."""
    left, right, marks, others, _ = halves()
    paths = [tmp_path / "left.png", tmp_path / "right.png"]
    for path, image in zip(paths, (left, right), strict=True):
        assert cv2.imwrite(str(path), image)
    page = opened(bare_window, qtbot, *paths)
    for file in (1, 0):
        page.show_file(file)
        page.change({"scan": f"{DPI:g}"})
        settle(page, qtbot)
    assert page.outcome is None and "join them" in page.notice.words()
    page.side.pictures_button.menu().actions()[0].trigger()
    first, second = page.shown_picture, page.picture_of(1)
    assert first is not None and second is not None and page.side.beside.isVisible()
    here, there = first.view.table(marks), second.view.table(others)
    for k, off in ((0, 0.0), (1, 0.0), (2, 12.0)):
        click(page, tuple(here[k]))
        assert f"Click mark {k + 1} on “right.png” too" in page.side.tool_says.text()
        beside = page.side.beside
        at = beside.view.at((there[k][0] + off, there[k][1])).toPoint()
        QTest.mouseClick(beside, Qt.MouseButton.LeftButton, pos=at)
    assert "without mark 3" in page.side.tool_says.text() and page.side.end_button.isHidden()
    page.undo()
    beside.pan(beside.width() / 2 - beside.view.at(tuple(there[2])).x(), 0)
    beside.pan(0, beside.height() / 2 - beside.view.at(tuple(there[2])).y())
    QTest.keyClick(beside, Qt.Key.Key_Return)
    assert page.side.tool_says.text().startswith("3 marks are set.")
    qtbot.mouseClick(page.side.end_button, Qt.MouseButton.LeftButton)
    settle(page, qtbot)
    assert page.outcome is not None and not beside.isVisible() and page.name_of(0) == "left.png + right.png"
    assert page.outcome.garment.pieces[0].polygon.area == pytest.approx(220 * 250, rel=0.004)
    assert "joined on 3 marks; the outline is stated right within" in page.source_says.text()
    assert page.photo.joined_says.text() == "right.png on 3 marks"
    page.undo()
    settle(page, qtbot)
    assert page.outcome is None and page.state.shown == (0, 1)
    page.redo()
    settle(page, qtbot)
    assert page.outcome is not None and page.state.shown == (0,)
    qtbot.mouseClick(page.photo.take_off_button, Qt.MouseButton.LeftButton)
    settle(page, qtbot)
    assert page.state.shown == (0, 1) and page.outcome is None
    page.reject()


def test_the_size_of_a_joined_picture_is_its_own() -> None:
    """What was answered about the second picture's size goes with it; without that it is the first's."""
    state = begun("Front", 3).changed(0, {"scan": "300", "pen": "middle"}).changed(2, {"corners": "1,2", "rule": "149"})
    joined = state.with_picture(0, 2, "1,1=2,2").with_picture(0, 1, "3,3=4,4")
    assert joined.shown == (0,) and joined.joined_to(0) == (2, 1)
    reading = joined.reading(0)
    assert of_picture(reading, 1)["scan"] == "300" and "scan" not in of_picture(reading, 2)
    assert of_picture(reading, 2)["corners"] == "1,2" and of_picture(reading, 2)["pen"] == "middle"
    assert of_picture(reading, 3)["scan"] == "300"
    assert joined.without_picture(0).joined_to(0) == (2,)
