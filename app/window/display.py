"""Whether there is a screen to open a window on, asked before Qt is: a missing library would end the whole process."""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Mapping

PACKAGES = (
    "libegl1 libgl1 libglib2.0-0 libdbus-1-3 libfontconfig1 libxkbcommon0 "
    "libxcb-cursor0 libxcb-icccm4 libxcb-keysyms1 libxcb-shape0 libxcb-xkb1 libxkbcommon-x11-0"
)
_X_LIBRARIES = (
    "libxcb-cursor.so.0",
    "libxcb-icccm.so.4",
    "libxcb-keysyms.so.1",
    "libxcb-shape.so.0",
    "libxcb-xkb.so.1",
    "libxkbcommon-x11.so.0",
)
_NO_SCREEN = "There is no screen to open the window on; every command but this one works without (tucktrue --help)."


def what_is_missing(environment: Mapping[str, str] = os.environ) -> str | None:
    """The sentence to print instead of opening a window, or None when there is a screen and all it needs."""
    if not sys.platform.startswith("linux"):
        return None
    wanted = environment.get("QT_QPA_PLATFORM", "").split(":")[0]
    if wanted and wanted not in ("xcb", "wayland"):
        return None
    if environment.get("WAYLAND_DISPLAY") and wanted != "xcb":
        return None
    if not environment.get("DISPLAY"):
        return _NO_SCREEN
    missing = [name for name in _X_LIBRARIES if not _loads(name)]
    if missing:
        return needed_packages(missing[0])
    return None if _answers() else f"The screen “{environment['DISPLAY']}” does not answer. {_NO_SCREEN}"


def needed_packages(reason: str) -> str:
    """What to install when a system library is missing; ``reason`` names it."""
    return f"The window needs system libraries that are missing ({reason}). On Debian: apt-get install -y {PACKAGES}"


def _loads(name: str) -> bool:
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True


def _answers() -> bool:
    """Whether the X server named in DISPLAY lets us in."""
    try:
        xcb = ctypes.CDLL("libxcb.so.1")
    except OSError:
        return False
    xcb.xcb_connect.restype = ctypes.c_void_p
    connection = ctypes.c_void_p(xcb.xcb_connect(None, None))
    failed = bool(xcb.xcb_connection_has_error(connection))
    xcb.xcb_disconnect(connection)
    return not failed
