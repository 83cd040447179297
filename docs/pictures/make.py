"""Takes the pictures of the window anew: ``QT_QPA_PLATFORM=offscreen python docs/pictures/make.py``."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent.parent))

import cv2  # noqa: E402
import numpy as np  # noqa: E402
import pypdfium2  # noqa: E402
from numpy.typing import NDArray  # noqa: E402
from PySide6.QtCore import QEventLoop, QSettings, Qt  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402
from PySide6.QtWidgets import QApplication, QWidget  # noqa: E402

from app.picked_sizes import worked_in  # noqa: E402
from app.queues import Queue  # noqa: E402
from app.session import Session  # noqa: E402
from app.window.exporting import DXF_2000, ExportDialog  # noqa: E402
from app.window.main import make_window  # noqa: E402
from app.window.printer_box import Printers  # noqa: E402
from app.window.printing import PrintDialog  # noqa: E402
from app.window.size_dialog import SizeDialog  # noqa: E402
from app.window.square_dialog import SquareDialog  # noqa: E402
from app.window.trace_tools import OutlineTool  # noqa: E402
from app.window.tracing_in import trace_in  # noqa: E402
from app.window.window import MainWindow  # noqa: E402
from geometry.motions import FloatArray  # noqa: E402
from geometry.size_tables import Girths  # noqa: E402
from geometry.sizing import Body, picked  # noqa: E402
from tests.nest_files import svg_layers  # noqa: E402
from tests.new_users_path import walk  # noqa: E402
from tests.photo_scenes import front_piece, usual_small  # noqa: E402

#: Pixels an inch of the two scans that are joined.
JOIN_DPI = 75.0


def main() -> None:
    """One picture of each state that the documents show."""
    app = QApplication([])
    with tempfile.TemporaryDirectory() as folder:
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, folder)
        window = make_window(app)
        window.furnish(Session(Path(folder)))
        window.show()
        window.prefer(look="light")
        take(window, "window-empty")
        window.garment_acts.open_first(None)
        window.garment_acts.count_pages()
        take(window, "window-light")
        window.prefer(look="dark")
        take(window, "window-dark")
        window.prefer(look="light")
        note = window.session.notes[0]
        window.strip.choose(note.id)
        take(window, "window-note-chosen")
        window.note_acts.drag_amount(note.id, "amount", 80.0)
        window.note_acts.settle()
        take(window, "window-dialled-far")
        window.note_acts.drag_amount(note.id, "amount", 300.0)
        window.note_acts.settle()
        take(window, "window-not-done")
        window.acts["undo"].trigger()
        window.acts["undo"].trigger()
        window.strip.choose("")
        window.view_acts.set_units("in")
        window.resize(1280, 720)
        take(window, "window-small-inches")
        window.view_acts.set_units("cm")
        take_sizes(window)
        take_printing(window)
        take_machines(window)
        trace(window)
        trace_sizes(window, Path(folder))
        correct(window, Path(folder))
        join(window, Path(folder))
        walk_the_path(window, Path(folder))
        window.session.close()


def take_sizes(window: MainWindow) -> None:
    """The size for a body, and a seam blended between two sizes."""
    window.resize(1440, 900)
    window.garment_acts.open_sample("tabard.garment.json")
    document = window.session.document
    assert document is not None
    body = Body(Girths(36.5 * 25.4, 26.5 * 25.4, 40 * 25.4), 34 * 25.4)
    dialog = SizeDialog(window, document, "cm", body)
    dialog.show()
    QTest.qWait(100)
    dialog.grab().save(str(HERE / "which-size.png"))
    dialog.close()
    wanted = picked(document.garment, Body(Girths(36 * 25.4, 28 * 25.4, 42 * 25.4)))
    window.change(worked_in(document, wanted, blended=True), "work in size 14")
    window.strip.choose(window.session.notes[-1].id)
    take(window, "window-sizes")


def take_printing(window: MainWindow) -> None:
    """The printing page with a piece chosen that was laid by hand."""
    window.garment_acts.open_sample("undershirt.garment.json")
    assert window.draft is not None
    dialog = PrintDialog(window, window.draft, window.preferences)
    dialog.resize(1200, 760)
    dialog.show()
    with_laying = QEventLoop()
    dialog.laid.connect(with_laying.quit)
    with_laying.exec()
    dialog.view.choose("neckband")
    dialog.view.setFocus()
    for _ in range(6):
        QTest.keyClick(dialog.view, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    QTest.qWait(100)
    dialog.grab().save(str(HERE / "window-printing.png"))
    dialog.reject()


def take_machines(window: MainWindow) -> None:
    """Exporting for a cutter, and what the test square measures on a printer."""
    assert window.draft is not None
    export = ExportDialog(window, window.draft)
    export.choose(DXF_2000)
    export.show()
    QTest.qWait(100)
    export.grab().save(str(HERE / "export.png"))
    export.reject()
    square = SquareDialog(window, "a4")
    square.show()
    while square.printers.known is None:
        QTest.qWait(50)
    square.printers.take(Printers((Queue("Workroom", usual=True),)))
    square.printers.choose("Workroom")
    for dial, reading in ((square.across, "94.1 mm"), (square.down, "94 mm")):
        dial.setFocus()
        dial.selectAll()
        QTest.keyClicks(dial, reading)
        QTest.keyClick(dial, Qt.Key.Key_Return)
    square.down.clearFocus()
    QTest.qWait(100)
    square.grab().save(str(HERE / "test-square.png"))
    square.reject()


def trace(window: MainWindow) -> None:
    """The page of tracing with the sample's front and back."""
    drawing = HERE.parent.parent / "sample_pieces" / "tracings" / "undershirt-front-back.svg"
    page = trace_in(window, [drawing])
    assert page is not None
    while page.is_busy:
        QTest.qWait(50)
    page.picture.choose("front", 2)
    QTest.qWait(200)
    page.grab().save(str(HERE / "window-tracing.png"))
    page.reject()


def trace_sizes(window: MainWindow, folder: Path) -> None:
    """The page of tracing with the tabard drawn in its five sizes."""
    drawing = folder / "tabard.svg"
    drawing.write_bytes(svg_layers())
    page = trace_in(window, [drawing])
    assert page is not None
    for answer in ("", "14"):
        if answer:
            page.answer("size", answer)
        while page.is_busy:
            QTest.qWait(50)
    QTest.qWait(400)
    page.grab().save(str(HERE / "window-tracing-sizes.png"))
    page.reject()


def correct(window: MainWindow, folder: Path) -> None:
    """The page of tracing while a handle of a photo's outline is dragged."""
    photo = folder / "front.jpg"
    cv2.imwrite(str(photo), usual_small())
    page = trace_in(window, [photo])
    assert page is not None
    while page.is_busy:
        QTest.qWait(50)
    page.side.correct_button.click()
    view, tool = page.picture.view, page.picture.tool
    assert isinstance(tool, OutlineTool)
    x, y = tool.handles(view)[0][4]
    QTest.mousePress(page.picture, Qt.MouseButton.LeftButton, pos=view.at((x, y)).toPoint())
    QTest.mouseMove(page.picture, view.at((x - 22.0, y + 6.0)).toPoint())
    QTest.qWait(200)
    page.grab().save(str(HERE / "window-correcting.jpg"), quality=85)
    page.reject()


def join(window: MainWindow, folder: Path) -> None:
    """The page of tracing while marks are set on two scans of one piece."""
    step = JOIN_DPI / 25.4
    whole = np.full((round(700 * step), round(500 * step), 3), 52, np.uint8)
    outline = front_piece().flat[0]
    outline = outline - outline.min(axis=0) + 25.0
    marks = np.array([(210.0, 90.0), (290.0, 110.0), (205.0, 470.0), (285.0, 390.0)])
    cv2.fillPoly(whole, [_in_pixels(outline, step)], (228, 236, 240), cv2.LINE_AA, 4)
    for mark in marks:
        for arm in ((6.0, 0.0), (0.0, 6.0)):
            ends = _in_pixels(np.array([mark - arm, mark + arm]), step)
            cv2.line(whole, tuple(ends[0].tolist()), tuple(ends[1].tolist()), (60, 60, 60), 2, cv2.LINE_AA, 4)
    wide = whole.shape[1]
    turn = cv2.getRotationMatrix2D((wide / 2, 300.0), 4.0, 1.0)
    turned = cv2.warpAffine(whole, turn, whole.shape[1::-1], borderValue=(52, 52, 52))
    paths = [folder / "coat left.png", folder / "coat right.png"]
    cv2.imwrite(str(paths[0]), whole[:, : round(320 * step)])
    cv2.imwrite(str(paths[1]), turned[:, round(170 * step) :])
    page = trace_in(window, paths)
    assert page is not None
    for file in (1, 0):
        while page.is_busy:
            QTest.qWait(50)
        page.show_file(file)
        page.change({"scan": f"{JOIN_DPI:g}"})
    while page.is_busy:
        QTest.qWait(50)
    page.notice.hide()
    page.side.pictures_button.menu().actions()[0].trigger()
    QTest.qWait(200)
    first, second = page.shown_picture, page.picture_of(1)
    assert first is not None and second is not None
    pixels = _in_pixels(marks, step) / 16
    others = pixels @ turn[:, :2].T + turn[:, 2] - [round(170 * step), 0]
    pairs = zip(first.view.table(pixels), second.view.table(others), strict=True)
    for picture, point in ((one, at) for pair in pairs for one, at in zip((page.picture, page.side.beside), pair)):
        QTest.mouseClick(picture, Qt.MouseButton.LeftButton, pos=picture.view.at(tuple(point)).toPoint())
    QTest.qWait(200)
    page.grab().save(str(HERE / "window-joining.jpg"), quality=85)
    page.reject()


def _in_pixels(points: FloatArray, step: float) -> NDArray[np.int32]:
    """Points in mm, y up, on the sheet of 700 mm, in sixteenths of its pixels."""
    rows = np.stack([points[:, 0], 700.0 - points[:, 1]], axis=1) * step * 16
    return np.round(rows).astype(np.int32)


def walk_the_path(window: MainWindow, folder: Path) -> None:
    """A new user's path with a made-up photograph, a picture at each stage."""
    photo = folder / "IMG_2041.jpg"
    cv2.imwrite(str(photo), usual_small())
    small = cv2.resize(usual_small(), None, fx=0.4, fy=0.4, interpolation=cv2.INTER_AREA)
    cv2.imwrite(str(HERE / "path-photo.jpg"), small, [cv2.IMWRITE_JPEG_QUALITY, 80])
    window.resize(1280, 800)
    window.garment_acts.clear()

    def look(name: str, widget: QWidget) -> None:
        if name in ("loaded", "named", "note", "print"):
            QTest.qWait(900)
            window.statusBar().clearMessage()
            widget.grab().save(str(HERE / f"path-{name}.jpg"), quality=85)

    walk(window, photo, folder, look)
    with pypdfium2.PdfDocument(folder / "marker sheets.pdf") as document:
        sheet = document[0].render(scale=0.6).to_numpy()
    cv2.imwrite(str(HERE / "path-sheet.png"), sheet)


def take(window: MainWindow, name: str) -> None:
    """Let everything settle, then save a picture."""
    QTest.qWait(900)
    window.table.fit()
    QTest.qWait(100)
    window.grab().save(str(HERE / f"{name}.png"))


if __name__ == "__main__":
    main()
