"""Pieces traced in through the window's page: asked, answered, taken back, refused, and put on the table."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit
from pytestqt.qtbot import QtBot

from app.tracing.answering import for_the_window, open_questions
from app.window.trace_page import TracePage
from app.window.trace_side import TAKE_AWAY
from app.window.tracing_in import is_traced_in
from app.window.window import MainWindow
from geometry.nests import size_names
from geometry.pieces import EdgeKind
from tests.drawing_files import drafted, off, outline, path_data, single_sheet_pdf, svg, tiled_pdf
from tests.window_case import answer_with, bare_window, texts

__all__ = ["bare_window"]

TRACINGS = Path(__file__).resolve().parents[2] / "sample_pieces" / "tracings"
SVG, DXF = TRACINGS / "undershirt-front-back.svg", TRACINGS / "undershirt-front-back.dxf"
#: The project's own bounds (mm): an outline from an SVG or DXF, and from a PDF.
EXACT_MM, PDF_MM = 0.01, 0.02
_LONG_MS = 60_000


def opened(window: MainWindow, qtbot: QtBot, *paths: Path) -> TracePage:
    """The page that opens for some files, once the first has been worked out or refused."""
    assert window.garment_acts.open_paths(list(paths))
    page = next(one for one in window.findChildren(TracePage) if one.isVisible())
    settle(page, qtbot)
    return page


def settle(page: TracePage, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not page.is_busy, timeout=_LONG_MS)


def menu_of(page: TracePage, key: str) -> QComboBox:
    menu = page.questions.row(key).control
    assert isinstance(menu, QComboBox)
    return menu


def choose(page: TracePage, qtbot: QtBot, key: str, value: str) -> None:
    """Pick an answer from a question's menu, as the mouse would."""
    menu = menu_of(page, key)
    place = menu.findData(value)
    assert place >= 0
    menu.setCurrentIndex(place)
    menu.activated.emit(place)
    settle(page, qtbot)


@pytest.mark.parametrize(("kind", "bound"), [("svg", EXACT_MM), ("dxf", EXACT_MM), ("pdf", PDF_MM)])
def test_a_file_is_taken_in_through_the_page(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path, kind: str, bound: float
) -> None:
    """The outlines agree with the sample as it was drafted, within the bounds for each way in."""
    path = {"svg": SVG, "dxf": DXF}.get(kind) or tmp_path / "shirt.pdf"
    if kind == "pdf":
        path.write_bytes(single_sheet_pdf())
    page = opened(bare_window, qtbot, path)
    assert [piece.name for piece in page.picture.pieces] == ["Front", "Back"]
    assert "as taken" in page.open_says.text()
    qtbot.mouseClick(page.take_button, Qt.MouseButton.LeftButton)
    garment = bare_window.session.garment
    for name in ("front", "back"):
        assert off(garment.piece(name), outline(name)) < bound
        assert [edge.kind for edge in garment.piece(name).edges] == [edge.kind for edge in drafted(name).edges]
    assert bare_window.session.unsaved and bare_window.session.path is None
    assert len(garment.seams) == 2, "shoulders and sides are sewn together"


def test_what_was_found_lies_over_the_file(bare_window: MainWindow, qtbot: QtBot) -> None:
    """The outline over the picture is the file's own line: the sample's front begins at 20, 20 in its file."""
    page = opened(bare_window, qtbot, SVG)
    front = page.picture.pieces[0]
    assert front.edges[0].line.start == pytest.approx((20.0, 20.0), abs=1e-6)
    assert [edge.length_mm for edge in front.edges] == pytest.approx(
        [edge.length for edge in drafted("front").edges], abs=0.01
    )
    hem = front.edges[0].line
    on = page.picture.view.at(hem.point(hem.at_length(hem.length / 3)))
    assert page.picture.edge_at(on) == ("front", 0)
    QTest.mouseClick(page.picture, Qt.MouseButton.LeftButton, pos=on.toPoint())
    focused = page.focusWidget()
    assert isinstance(focused, QComboBox) and focused.property("about") == "front:0"


def test_the_wheel_looks_closer_about_the_pointer(bare_window: MainWindow, qtbot: QtBot) -> None:
    page = opened(bare_window, qtbot, SVG)
    at = QPointF(100.0, 120.0)
    under, scale = page.picture.view.mm((at.x(), at.y())), page.picture.view.scale
    turn = QWheelEvent(
        at, page.picture.mapToGlobal(at), QPoint(), QPoint(0, 240), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(page.picture, turn)
    assert page.picture.view.scale > 1.3 * scale
    assert page.picture.view.mm((at.x(), at.y())) == pytest.approx(under)
    page.picture.fit()
    assert page.picture.view.scale == pytest.approx(scale)


def test_answers_change_the_piece_and_are_taken_back(bare_window: MainWindow, qtbot: QtBot) -> None:
    page = opened(bare_window, qtbot, SVG)
    choose(page, qtbot, "line:front", "cutting line")
    assert page.outcome is not None
    set_in = page.outcome.garment.piece("front")
    assert set_in.polygon.area < drafted("front").polygon.area, "the allowance lies inside the line now"
    field = page.questions.row("allowance:front").control
    assert isinstance(field, QLineEdit)
    field.selectAll()
    QTest.keyClicks(field, "10 mm")
    QTest.keyClick(field, Qt.Key.Key_Return)
    settle(page, qtbot)
    assert page.outcome is not None
    assert page.outcome.garment.piece("front").polygon.area > set_in.polygon.area
    page.undo()
    settle(page, qtbot)
    assert page.outcome is not None and page.outcome.garment.piece("front").polygon.area == set_in.polygon.area
    page.undo()
    settle(page, qtbot)
    assert page.outcome is not None
    assert page.outcome.garment.piece("front").polygon.area == pytest.approx(drafted("front").polygon.area, rel=1e-5)
    assert not page.undo_button.isEnabled()
    page.redo()
    settle(page, qtbot)
    assert menu_of(page, "line:front").currentData() == "cutting line"


def test_an_answer_leaves_the_questions_where_they_are_scrolled_to(bare_window: MainWindow, qtbot: QtBot) -> None:
    page = opened(bare_window, qtbot, SVG)
    bar = page.right.area.verticalScrollBar()
    page.resize(1000, 600)
    qtbot.waitUntil(lambda: bar.maximum() > 300)
    bar.setValue(40)
    field = page.questions.row("name:front").control
    assert isinstance(field, QLineEdit)
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "Bodice")
    QTest.keyClick(field, Qt.Key.Key_Return)
    settle(page, qtbot)
    assert bar.value() == 40 and page.questions.row("name:front").control is page.focusWidget()


def test_an_edge_is_called_something_else(bare_window: MainWindow, qtbot: QtBot) -> None:
    page = opened(bare_window, qtbot, SVG)
    menu = menu_of(page, "edges:front")
    menu.setCurrentText(EdgeKind.WAIST.value)
    menu.activated.emit(menu.currentIndex())
    settle(page, qtbot)
    assert page.outcome is not None
    assert page.outcome.garment.piece("front").edges[0].kind is EdgeKind.WAIST
    assert page.picture.pieces[0].edges[0].name == "waist"
    row = page.questions.row("edges:front")
    qtbot.waitUntil(row.isVisible)
    assert "✓ answered" in texts(row)


def test_all_that_was_taken_is_confirmed_at_once(bare_window: MainWindow, qtbot: QtBot) -> None:
    page = opened(bare_window, qtbot, SVG)
    before = page.outcome
    assert before is not None and open_questions(before.each) == 9
    qtbot.mouseClick(page.confirm_button, Qt.MouseButton.LeftButton)
    settle(page, qtbot)
    assert page.outcome is not None and open_questions(page.outcome.each) == 0
    assert [e.name for p in page.outcome.garment.pieces for e in p.edges] == [
        e.name for p in before.garment.pieces for e in p.edges
    ]
    assert page.open_says.text().startswith("✓") and not page.confirm_button.isEnabled()


def test_a_size_left_open_is_asked_with_the_size_of_the_piece(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    """CSS Values and Units 3, absolute lengths: 96 pixels an inch; a file of 72 an inch is a third larger."""
    from geometry.motions import Motion

    path = tmp_path / "pixels.svg"
    body = f'<path d="{path_data(outline("front"), Motion(1, 0, 0, 1, 20, 20))}"/>'
    path.write_bytes(svg(body, 'width="700" height="800"'))
    page = opened(bare_window, qtbot, path)
    menu = menu_of(page, "units")
    assert any("the largest piece is" in menu.itemText(at) and "cm" in menu.itemText(at) for at in range(menu.count()))
    x0, _, x1, _ = _piece(page).polygon.bounds
    choose(page, qtbot, "units", "72dpi")
    wide, _, far, _ = _piece(page).polygon.bounds
    assert (far - wide) / (x1 - x0) == pytest.approx(96 / 72, rel=1e-6)


def test_an_answer_that_cannot_be_is_said_and_loses_nothing(bare_window: MainWindow, qtbot: QtBot) -> None:
    page = opened(bare_window, qtbot, SVG)
    choose(page, qtbot, "line:front", "cutting line")
    page.answer("allowance:front", "ten ells")
    qtbot.waitUntil(lambda: bool(page.notice.words()), timeout=_LONG_MS)
    settle(page, qtbot)
    assert "ten ells" in page.notice.words() and "--" not in page.notice.words()
    assert page.outcome is not None and menu_of(page, "line:front").currentData() == "cutting line"


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("torn.svg", b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0'),
        ("torn.pdf", b"%PDF-1.4\n1 0 obj <<"),
        ("empty.dxf", b""),
        ("words.svg", b"nothing drawn at all"),
        ("photo.heic", b"\0\0\0\x18ftypheic" + bytes(64)),
    ],
)
def test_a_broken_file_ends_in_one_sentence(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path, name: str, data: bytes
) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    page = opened(bare_window, qtbot, path)
    says = page.notice.words()
    assert name in says and says.endswith(".") and "Traceback" not in says
    assert not page.take_button.isEnabled() and page.outcome is None
    qtbot.mouseClick(page.leave_button, Qt.MouseButton.LeftButton)
    assert bare_window.session.document is None


def test_an_outline_that_does_not_close_can_be_closed_by_its_gap(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    path = tmp_path / "open.svg"
    path.write_bytes(svg('<path fill="none" stroke="black" d="M10 10 H300 V400 H10 V13"/>'))
    page = opened(bare_window, qtbot, path)
    assert "No closed outline" in page.notice.words() and "--" not in page.notice.words()
    page.answer("gap", "4 mm")
    settle(page, qtbot)
    assert page.outcome is not None and not page.notice.words()
    assert _piece(page).polygon.area == pytest.approx(290 * 390, rel=0.01)


def test_several_files_come_in_together_and_can_be_stopped(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    from geometry.motions import Motion

    paths = []
    for name in ("front", "back"):
        data = path_data(outline(name), Motion(1, 0, 0, -1, 20, 680))
        paths.append(tmp_path / f"{name}.svg")
        paths[-1].write_bytes(svg(f'<path id="{name}" d="{data}"/>'))
    assert bare_window.garment_acts.open_paths(paths)
    page = next(one for one in bare_window.findChildren(TracePage) if one.isVisible())
    qtbot.mouseClick(page.busy_stop, Qt.MouseButton.LeftButton)
    assert page.notice.words().startswith("It was stopped") and not page.is_busy
    qtbot.mouseClick(page.notice.buttons()[0], Qt.MouseButton.LeftButton)
    settle(page, qtbot)
    assert page.outcome is not None and len(page.outcome.garment.pieces) == 2
    page.show_file(1)
    assert [piece.name for piece in page.picture.pieces] == ["Back"]
    assert page.take_button.text() == "Take the pieces in"


def test_open_goes_to_the_page_for_a_drawing(
    bare_window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer_with(monkeypatch, SVG)
    bare_window.acts["open"].trigger()
    page = next(one for one in bare_window.findChildren(TracePage) if one.isVisible())
    settle(page, qtbot)
    assert page.outcome is not None
    assert not is_traced_in(Path("shirt.garment.json")) and is_traced_in(Path("SHIRT.SVG"))


def test_refusals_name_no_option_of_the_command_line() -> None:
    assert for_the_window("It is open; allow a wider gap with --gap.") == "It is open; allow a wider gap."
    assert for_the_window("Is the size right (--file-units)?") == "Is the size right?"
    assert for_the_window("--gap “x” should be more.") == "The answer “x” should be more."


def _piece(page: TracePage):  # type: ignore[no-untyped-def]
    assert page.outcome is not None
    return page.outcome.garment.pieces[0]


def test_marks_are_placed_by_clicks_and_taken_away(bare_window: MainWindow, qtbot: QtBot) -> None:
    page = opened(bare_window, qtbot, SVG)
    side = page.picture.pieces[0].edges[1].line
    before = len(_piece(page).notches)
    for kind, points in (
        ("notch", [side.point(side.at_length(side.length * 0.4))]),
        ("dot", [(150.0, 330.0)]),
        ("waist line", [(21.0, 200.0), (250.0, 200.0)]),
    ):
        action = next(one for one in page.side.mark_button.menu().actions() if one.text() == kind)
        action.trigger()
        for point in points:
            QTest.mouseClick(page.picture, Qt.MouseButton.LeftButton, pos=page.picture.view.at(point).toPoint())
        settle(page, qtbot)
    piece = _piece(page)
    assert len(piece.notches) == before + 1 and len(piece.marks) == 1
    near = [line for line in piece.lines if line.name.startswith("waist line") and abs(line.chain.start[1] - 180) < 2]
    assert len(near) == 1 and page.picture.tool is None
    page.side.marking.emit(TAKE_AWAY)
    QTest.mouseClick(page.picture, Qt.MouseButton.LeftButton, pos=page.picture.view.at((152.0, 331.0)).toPoint())
    settle(page, qtbot)
    assert not _piece(page).marks and len(_piece(page).notches) == before + 1
    page.undo()
    settle(page, qtbot)
    assert len(_piece(page).marks) == 1


def test_an_edge_gets_her_own_name_and_a_seam_is_declined(bare_window: MainWindow, qtbot: QtBot) -> None:
    page = opened(bare_window, qtbot, SVG)
    field = page.questions.row("edges:front").findChildren(QLineEdit)[1]
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "left side")
    QTest.keyClick(field, Qt.Key.Key_Return)
    settle(page, qtbot)
    assert [edge.name for edge in _piece(page).edges][:2] == ["hem", "left side"]
    assert page.outcome is not None and len(page.outcome.garment.seams) == 2
    page.seams.boxes["side seam"].click()
    settle(page, qtbot)
    assert [seam.name for seam in page.outcome.garment.seams] == ["shoulder seam"]
    assert not page.seams.boxes["side seam"].isChecked()
    page.undo()
    settle(page, qtbot)
    assert page.outcome is not None and len(page.outcome.garment.seams) == 2


def test_two_parts_are_joined_on_the_edges_that_are_clicked(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    """A rectangle of 200 by 300 mm drawn in two parts of 200 by 150 mm, beside each other."""
    path = tmp_path / "parts.svg"
    parts = [f'<rect id="{name}" x="{x}" y="10" width="200" height="150"/>' for name, x in (("a", 10), ("b", 230))]
    path.write_bytes(svg("".join(parts), 'width="450mm" height="200mm" viewBox="0 0 450 200"'))
    page = opened(bare_window, qtbot, path)
    assert len(page.picture.pieces) == 2
    upper, lower = page.picture.pieces
    foot, top = (
        sorted(edge.line.point(0.5) for edge in piece.edges if edge.line.box[1] == edge.line.box[3])
        for piece in (upper, lower)
    )
    qtbot.mouseClick(page.side.join_button, Qt.MouseButton.LeftButton)
    for point in (foot[0], top[1]):
        QTest.mouseClick(page.picture, Qt.MouseButton.LeftButton, pos=page.picture.view.at(point).toPoint())
    settle(page, qtbot)
    assert page.outcome is not None and len(page.outcome.garment.pieces) == 1, page.notice.words()
    assert _piece(page).polygon.area == pytest.approx(200 * 300, rel=1e-4)
    assert page.side.join_button.isHidden()


def test_marks_are_placed_with_the_keyboard_too(bare_window: MainWindow, qtbot: QtBot) -> None:
    """The place under the cross in the middle, brought there by the arrows; Escape leaves the mark and not the page."""
    page = opened(bare_window, qtbot, SVG)
    page.side.marking.emit("dot")
    QTest.keyClick(page.picture, Qt.Key.Key_Escape)
    assert page.picture.tool is None and page.isVisible()
    page.side.marking.emit("dot")
    view, size = page.picture.view, page.picture.size()
    at = view.at((150.0, 330.0))
    page.picture.pan(size.width() / 2 - at.x() - 4, size.height() / 2 - at.y())
    for _ in range(2):
        QTest.keyClick(page.picture, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    QTest.keyClick(page.picture, Qt.Key.Key_Return)
    settle(page, qtbot)
    (mark,) = _piece(page).marks
    assert mark.point == pytest.approx((130.0, 310.0), abs=0.1)


def test_a_corner_is_set_by_a_click_and_taken_away(bare_window: MainWindow, qtbot: QtBot) -> None:
    """A vent in the side, 180 mm above the hem; Undo takes it back; where there is no corner, one sentence says so."""
    page = opened(bare_window, qtbot, SVG)
    side = page.picture.pieces[0].edges[1].line
    vent = side.point(side.at_length(180.0))
    page.side.corner_button.menu().actions()[0].trigger()
    QTest.mouseClick(page.picture, Qt.MouseButton.LeftButton, pos=page.picture.view.at(vent).toPoint())
    settle(page, qtbot)
    names = [edge.name for edge in _piece(page).edges]
    assert names[:4] == ["hem", "side seam", "side seam 2", "armhole"] and page.picture.tool is None
    assert _piece(page).edges[1].length == pytest.approx(180.0, abs=2 / page.picture.view.scale)
    assert "between side seam and side seam 2" in page.found_says.text()
    for at, count in (((140.0, 330.0), 7), (vent, 6)):
        page.side.corner_button.menu().actions()[1].trigger()
        QTest.mouseClick(page.picture, Qt.MouseButton.LeftButton, pos=page.picture.view.at(at).toPoint())
        settle(page, qtbot)
        assert len(_piece(page).edges) == count
        assert ("no corner where you clicked" in page.notice.words()) == (count == 7)
    page.undo()
    settle(page, qtbot)
    assert [edge.name for edge in _piece(page).edges] == names


def test_the_trim_frame_is_set_by_two_clicks_on_a_page(bare_window: MainWindow, qtbot: QtBot, tmp_path: Path) -> None:
    """Pages of 210 by 297 mm without a frame, to be trimmed 10 mm inside their edges; clicked about there."""
    path = tmp_path / "tiles.pdf"
    path.write_bytes(tiled_pdf(frame=False))
    page = opened(bare_window, qtbot, path)
    assert page.outcome is None and page.side.trim_button.isVisible()
    qtbot.mouseClick(page.side.trim_button, Qt.MouseButton.LeftButton)
    settle(page, qtbot)
    picture = page.picture
    for point in ((270.0, 10.0), (460.0, 287.0)):
        picture.zoom(40.0, picture.view.at(point))
        QTest.mouseClick(picture, Qt.MouseButton.LeftButton, pos=picture.view.at(point).toPoint())
        picture.fit()
    settle(page, qtbot)
    assert page.state.files[0] == {"trim": "10 mm, 10 mm, 10 mm, 10 mm"}
    assert page.outcome is not None and [piece.name for piece in picture.pieces] == ["Front", "Back"]
    page.undo()
    settle(page, qtbot)
    assert page.outcome is None and "trim" not in page.state.files[0]
    qtbot.mouseClick(page.side.trim_button, Qt.MouseButton.LeftButton)
    settle(page, qtbot)
    qtbot.mouseClick(page.side.leave_button, Qt.MouseButton.LeftButton)
    assert picture.tool is None and not page.is_busy
    qtbot.mouseClick(page.side.trim_button, Qt.MouseButton.LeftButton)
    settle(page, qtbot)
    assert picture.tool is not None
    page.redo()
    settle(page, qtbot)
    assert picture.tool is None and page.outcome is not None


def test_a_file_of_several_sizes_is_taken_in_as_a_nest_in_the_size_that_is_picked(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    source = tmp_path / "skirt.svg"
    shapes = {"8": "M20 280 H270 L210 20 H20 Z", "10": "M20 280 H280 L216 20 H20 Z"}
    layers = [f'<g id="Size {s}"><path id="front" d="{d}" fill="none" stroke="black"/></g>' for s, d in shapes.items()]
    source.write_bytes(svg("".join(layers), 'width="300mm" height="300mm" viewBox="0 0 300 300"'))
    page = opened(bare_window, qtbot, source)
    assert "layers" not in [row.question.key for row in page.questions.rows], "each layer is a size"
    choose(page, qtbot, "size", "10")
    assert "2 sizes come in as a nest: 8, 10" in page.found_says.text()
    choose(page, qtbot, "other-sizes", "leave out")
    assert page.outcome is not None and not page.outcome.garment.nest
    page.undo()
    settle(page, qtbot)
    page.take_button.click()
    garment = bare_window.session.garment
    assert size_names(garment) == ("8", "10") and garment.size == "10"
