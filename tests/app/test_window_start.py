"""Starting: what is loaded before the first paint, what is said when there is no screen, and a real X screen."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QSize, Qt
from pytestqt.qtbot import QtBot

from app.start import wants_window
from app.window.display import PACKAGES, needed_packages, what_is_missing
from app.window.main import show_fitting
from app.window.window import MainWindow
from tests.window_case import bare_window

__all__ = ["bare_window"]

ROOT = Path(__file__).resolve().parents[2]

_FIRST_PAINT = """
import sys
from app.window.main import make_window
from PySide6.QtWidgets import QApplication
app = QApplication([])
window = make_window(app, "the sample garment")
window.first_painted.connect(app.quit)
window.show()
app.exec()
heavy = ("ezdxf", "reportlab", "pikepdf", "pypdfium2", "cv2", "scipy", "jsonschema", "svgelements", "svgwrite", "PIL")
heavy += ("defusedxml", "numpy", "shapely")
loaded = [name for name in heavy if name in sys.modules]
light = ("geometry", "geometry.errors", "geometry.papers")
loaded += [name for name in sys.modules if name.split(".")[0] == "geometry" and name not in light]
print(",".join(loaded))
"""

_ON_A_SCREEN = """
import sys
from pathlib import Path
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from app.window.main import furnish_and_open, make_window
def wait(holds):
    for _ in range(400):
        if holds():
            return True
        QTest.qWait(25)
    return False

app = QApplication([])
assert app.platformName() == "xcb", app.platformName()
window = make_window(app, "the sample garment")
window.first_painted.connect(lambda: furnish_and_open(window, None))
window.show()
assert wait(lambda: hasattr(window, "session") and window.session.document is not None)
window.activateWindow()
assert wait(window.isActiveWindow)
note = window.session.notes[0]
dial = window.strip.card(note.id).dial("amount")
dial.setFocus(Qt.FocusReason.TabFocusReason)
QTest.keyClicks(dial, "1 1/2 in")
QTest.keyClick(dial, Qt.Key.Key_Return)
assert wait(lambda: window.session.notes[0].amounts.amount == 38.1)
QTest.keyClick(dial, Qt.Key.Key_Up)
assert wait(lambda: window.session.notes[0].amounts.amount == 39.0)
QTest.keyClick(dial, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
assert wait(lambda: window.session.notes[0].amounts.amount == 38.1)
window.grab().save(sys.argv[1])
window.session.save(Path(sys.argv[2]))
window.close()
app.processEvents()
"""


def run(
    code: str, *arguments: str, before: tuple[str, ...] = (), **environment: str
) -> subprocess.CompletedProcess[str]:
    """Run code in a process of its own, with nothing of her own settings."""
    kept = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    kept |= {"PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"} | environment
    return subprocess.run(
        [*before, sys.executable, "-c", code, *arguments], env=kept, capture_output=True, text=True, timeout=120
    )


def test_nothing_heavy_is_loaded_at_first_paint(tmp_path: Path) -> None:
    done = run(_FIRST_PAINT, QT_QPA_PLATFORM="offscreen", XDG_CONFIG_HOME=str(tmp_path))
    assert (done.returncode, done.stdout.strip()) == (0, ""), done.stderr


def test_without_a_screen_one_sentence_is_printed(tmp_path: Path) -> None:
    call = "import sys; from app.window.main import open_window; sys.exit(open_window())"
    done = run(call, QT_QPA_PLATFORM="xcb", XDG_CONFIG_HOME=str(tmp_path))
    assert done.returncode == 2
    assert "no screen" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="screens of X and Wayland only")
@pytest.mark.parametrize(
    ("environment", "says"),
    [
        ({}, "no screen"),
        ({"QT_QPA_PLATFORM": "offscreen"}, None),
        ({"WAYLAND_DISPLAY": "wayland-0"}, None),
        ({"QT_QPA_PLATFORM": "xcb", "WAYLAND_DISPLAY": "wayland-0"}, "no screen"),
        ({"DISPLAY": ":4711"}, ":4711"),
    ],
)
def test_a_screen_is_looked_for_before_qt_is_asked(environment: dict[str, str], says: str | None) -> None:
    missing = what_is_missing(environment)
    assert (missing is None) if says is None else (missing is not None and says in missing)


def test_a_missing_library_is_answered_with_what_to_install() -> None:
    said = needed_packages("libxcb-cursor.so.0")
    assert "libxcb-cursor.so.0" in said
    assert f"apt-get install -y {PACKAGES}" in said


@pytest.mark.skipif(shutil.which("xvfb-run") is None, reason="no virtual screen (xvfb) on this machine")
def test_on_a_real_x_screen_a_length_is_typed_turned_and_taken_back(tmp_path: Path) -> None:
    picture, saved = tmp_path / "window.png", tmp_path / "mine.garment.json"
    xvfb = ("xvfb-run", "-a", "-s", "-screen 0 1440x900x24")
    done = run(
        _ON_A_SCREEN, str(picture), str(saved), before=xvfb,
        QT_QPA_PLATFORM="xcb", XDG_CONFIG_HOME=str(tmp_path), XDG_STATE_HOME=str(tmp_path),
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert picture.stat().st_size > 20_000
    assert '"amount": 38.1' in saved.read_text(encoding="utf-8")


def test_asking_for_the_window_loads_nothing_of_the_geometry() -> None:
    done = run("import sys, app.start; print(any(name.split('.')[0] in ('numpy', 'geometry') for name in sys.modules))")
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize(
    ("words", "window"),
    [([], True), (["mine.garment.json"], True), (["--help"], False), (["walk", "mine.garment.json"], False)],
)
def test_a_call_is_for_the_window_or_for_the_command_line(words: list[str], window: bool) -> None:
    assert wants_window(words) is window


def test_with_a_command_it_is_the_command_line() -> None:
    done = run("import sys; from app.start import main; sys.exit(main(['walk', 'nowhere.garment.json', '--json']))")
    assert done.returncode == 2
    assert '"error"' in done.stdout


def test_a_window_larger_than_the_screen_covers_it_and_no_more(qtbot: QtBot, bare_window: MainWindow) -> None:
    room = bare_window.screen().availableSize()
    bare_window.hide()
    bare_window.resize(room + QSize(200, 100))
    show_fitting(bare_window)
    assert bare_window.isMaximized() and bare_window.size() == bare_window.size().boundedTo(room)
    bare_window.hide()
    bare_window.setWindowState(Qt.WindowState.WindowNoState)
    small = bare_window.minimumSizeHint()
    assert small == small.boundedTo(room)
    bare_window.resize(small)
    show_fitting(bare_window)
    assert not bare_window.isMaximized() and bare_window.isVisible()
