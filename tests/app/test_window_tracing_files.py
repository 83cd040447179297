"""More files on the page of tracing while it is open: added, refused, called otherwise, left out; leaving the page."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from app.window.trace_page import TracePage
from app.window.window import MainWindow
from geometry.motions import Motion
from tests.app.test_window_tracing import opened, settle
from tests.drawing_files import off, outline, path_data, svg, tiled_pdf
from tests.window_case import answer_with, bare_window

__all__ = ["bare_window"]


def drawing(folder: Path, name: str, called: str = "") -> Path:
    """The sample's front or back alone in a file."""
    path = folder / f"{called or name}.svg"
    path.write_bytes(svg(f'<path id="{name}" d="{path_data(outline(name), Motion(1, 0, 0, -1, 20, 680))}"/>'))
    return path


def drop(page: TracePage, *paths: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    action, button, key = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    page.dropEvent(QDropEvent(QPointF(50, 50), action, data, button, key))


def names(page: TracePage) -> list[str]:
    return [] if page.outcome is None else [piece.name for piece in page.outcome.garment.pieces]


def test_another_piece_is_added_and_sewn_to_the_first_and_taken_off_by_undo(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = opened(bare_window, qtbot, drawing(tmp_path, "front"))
    page.confirm_all()
    settle(page, qtbot)
    answer_with(monkeypatch, drawing(tmp_path, "back"))
    page.side.files_button.menu().actions()[0].trigger()
    settle(page, qtbot)
    assert names(page) == ["Front", "Back"] and page.file == 1 and page.name_of(1) == "back.svg"
    assert page.outcome is not None
    assert [seam.name for seam in page.outcome.garment.seams] == ["shoulder seam", "side seam"]
    page.undo()
    settle(page, qtbot)
    assert names(page) == ["Front"] and page.file == 0 and page.state.files[0]
    page.redo()
    settle(page, qtbot)
    assert names(page) == ["Front", "Back"]
    page.show_file(1)
    page.side.leave_out_act.trigger()
    settle(page, qtbot)
    assert names(page) == ["Front"] and page.file == 0
    page.undo()
    settle(page, qtbot)
    assert names(page) == ["Front", "Back"]


def test_a_file_that_cannot_be_read_leaves_the_page_as_it_was(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    page = opened(bare_window, qtbot, drawing(tmp_path, "front"))
    before = page.state
    torn = tmp_path / "torn.pdf"
    torn.write_bytes(b"%PDF-1.4\n1 0 obj <<")
    for path, says in ((torn, "torn.pdf"), (tmp_path, tmp_path.name), (tmp_path / "gone.svg", "gone.svg")):
        drop(page, path)
        settle(page, qtbot)
        assert says in page.notice.words() and page.notice.words().endswith(".")
        assert page.state == before and names(page) == ["Front"] and page.file == 0
        assert page.take_button.isEnabled()


def test_two_files_with_one_piece_are_told_apart_by_a_name(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    page = opened(bare_window, qtbot, drawing(tmp_path, "front"))
    drop(page, drawing(tmp_path, "front", "front of the lining"))
    settle(page, qtbot)
    assert "Two files hold a piece “Front”" in page.notice.words() and not page.take_button.isEnabled()
    assert page.file == 1 and [piece.name for piece in page.picture.pieces] == ["Front"]
    page.answer("name:front", "Front lining")
    settle(page, qtbot)
    assert names(page) == ["Front", "Front lining"] and not page.notice.words()
    page.undo()
    settle(page, qtbot)
    (leave_out,) = page.notice.buttons()
    qtbot.mouseClick(leave_out, Qt.MouseButton.LeftButton)
    settle(page, qtbot)
    assert names(page) == ["Front"] and page.file == 0 and not page.side.leave_out_act.isEnabled()
    qtbot.mouseClick(page.take_button, Qt.MouseButton.LeftButton)
    assert off(bare_window.session.garment.piece("front"), outline("front")) < 0.01


def test_answers_are_not_lost_by_escape(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = opened(bare_window, qtbot, drawing(tmp_path, "front"))
    asked: list[str] = []

    def answers(button: QMessageBox.StandardButton):  # type: ignore[no-untyped-def]
        return lambda box: (asked.append(box.text()), button)[1]

    page.answer("name:front", "Bodice")
    settle(page, qtbot)
    monkeypatch.setattr(QMessageBox, "exec", answers(QMessageBox.StandardButton.Cancel))
    page.side.mark_button.menu().actions()[0].trigger()
    assert page.picture.tool is not None
    QTest.keyClick(page.name_field, Qt.Key.Key_Escape)
    assert page.picture.tool is None and not asked
    QTest.keyClick(page.name_field, Qt.Key.Key_Escape)
    assert len(asked) == 1 and page.isVisible()
    page.close()
    assert len(asked) == 2 and page.isVisible() and names(page) == ["Bodice"]
    monkeypatch.setattr(QMessageBox, "exec", answers(QMessageBox.StandardButton.Discard))
    qtbot.mouseClick(page.leave_button, Qt.MouseButton.LeftButton)
    assert len(asked) == 3 and not page.isVisible()
    again = opened(bare_window, qtbot, drawing(tmp_path, "front"))
    QTest.keyClick(again.name_field, Qt.Key.Key_Escape)
    assert len(asked) == 3 and not again.isVisible()


def test_confirming_what_was_taken_reads_nothing_again(bare_window: MainWindow, qtbot: QtBot, tmp_path: Path) -> None:
    path = tmp_path / "pages.pdf"
    path.write_bytes(tiled_pdf())
    page = opened(bare_window, qtbot, path)
    read: list[str] = []
    page._work.reading.connect(lambda name, step: read.append(step))
    before = names(page)
    page.confirm_all()
    settle(page, qtbot)
    assert not read and names(page) == before and page.open_says.text() == "✓ Everything is answered."
    page.answer("pages", "1-8")
    settle(page, qtbot)
    assert any(step.endswith(" of 8") for step in read), "another answer has it read again, and says where it is"


def half(folder: Path, name: str, low: float, high: float) -> Path:
    """The sample's front as a plain block between two heights, 200 mm wide, in a file of its own."""
    path = folder / f"{name}.svg"
    corners = f"M 20 {680 - low} H 220 V {680 - high} H 20 Z"
    path.write_bytes(svg(f'<path id="skirt" fill="none" stroke="black" d="{corners}"/>'))
    return path


def test_two_parts_in_two_drawings_are_joined_on_their_match_line(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    page = opened(bare_window, qtbot, half(tmp_path, "skirt below", 0, 300), half(tmp_path, "skirt above", 300, 650))
    assert page.outcome is None and "Two files hold a piece" in page.notice.words()
    assert not page.side.pictures_button.isHidden() and page.side.pictures_button.text() == "Join drawings"
    (act,) = page.side.pictures_button.menu().actions()
    assert act.text() == ("with skirt below.svg" if page.file else "with skirt above.svg")
    page.show_file(0)
    page.side.pictures_button.menu().actions()[0].trigger()
    settle(page, qtbot)
    assert page.name_of(0) == "skirt below.svg + skirt above.svg" and names(page) == ["Skirt", "Skirt 2"]
    assert page.picture.tool is not None and "match line" in page.picture.tool.says
    low, high = page.picture.pieces
    above = max(low.edges, key=lambda edge: edge.line.start[1] + edge.line.end[1])
    below = min(high.edges, key=lambda edge: edge.line.start[1] + edge.line.end[1])
    for edge in (above, below):
        at = page.picture.view.at(edge.line.point(edge.line.at_length(edge.line.length / 3)))
        QTest.mouseClick(page.picture, Qt.MouseButton.LeftButton, pos=at.toPoint())
    settle(page, qtbot)
    assert page.outcome is not None
    (whole,) = page.outcome.garment.pieces
    assert whole.polygon.area == pytest.approx(200 * 650, abs=1.0) and len(whole.edges) == 4
    page.undo()
    settle(page, qtbot)
    assert names(page) == ["Skirt", "Skirt 2"]
    page.side.take_off_act.trigger()
    settle(page, qtbot)
    assert page.name_of(0) == "skirt below.svg" and "Two files hold a piece" in page.notice.words()
