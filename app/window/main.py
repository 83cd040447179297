"""Starting the window: a screen is looked for first, and the window is painted before any heavy work."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING

# Before numpy is loaded: more threads change the last digits of a solved batten.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from app.window.display import needed_packages, what_is_missing

if TYPE_CHECKING:
    from app.window.window import MainWindow

NO_WINDOW = 2


def open_window(path: str | None = None) -> int:
    """Open the window with a garment, or with the sample; returns the exit status when it is closed."""
    missing = what_is_missing()
    if missing is not None:
        print(missing, file=sys.stderr)
        return NO_WINDOW
    try:
        from PySide6.QtCore import QTimer
        from PySide6.QtWidgets import QApplication
    except ImportError as error:
        print(needed_packages(str(error)), file=sys.stderr)
        return NO_WINDOW
    app = QApplication.instance() or QApplication([sys.argv[0]])
    assert isinstance(app, QApplication)
    named = Path(path) if path else None
    window = make_window(app, named.name if named else "the sample garment")
    window.first_painted.connect(lambda: furnish_and_open(window, named))
    show_fitting(window)
    # Python looks at signals only when it runs; this lets Ctrl+C in the terminal close the window.
    signal.signal(signal.SIGINT, lambda *_: window.close())
    ticking = QTimer()
    ticking.start(500)
    ticking.timeout.connect(lambda: None)
    return int(app.exec())


def furnish_and_open(window: MainWindow, path: Path | None) -> None:
    """What is done once there is something to look at."""
    from app.session import Session

    window.furnish(Session())
    window.garment_acts.open_first(path)


def show_fitting(window: MainWindow) -> None:
    """Show a window at its size, or over the whole screen where that is too small for it."""
    room, wanted = window.screen().availableSize(), window.size()
    if wanted.width() < room.width() and wanted.height() < room.height():
        window.show()
        return
    window.resize(wanted.boundedTo(room))
    window.showMaximized()


def make_window(app: object, opening: str = "") -> MainWindow:
    """A window, dressed, not yet shown nor furnished; ``opening`` names what it will open."""
    from PySide6.QtWidgets import QApplication

    from app.window.look import dress, load_fonts, palette_for
    from app.window.preferences import Preferences
    from app.window.window import MainWindow

    assert isinstance(app, QApplication)
    app.setApplicationName("tuck-and-true")
    app.setApplicationDisplayName("Tuck & True")
    load_fonts()
    preferences = Preferences.read()
    palette = palette_for(preferences.look)
    dress(app, palette, preferences.text_size)
    return MainWindow(preferences, palette, opening)
