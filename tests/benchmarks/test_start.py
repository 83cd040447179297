"""Start to first painted window, against a bare window in the same run: processes in turn, medians compared."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path
from statistics import median
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 11

BARE = """
import sys
import numpy, shapely
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMainWindow
class Window(QMainWindow):
    def paintEvent(self, event):
        super().paintEvent(event)
        QTimer.singleShot(0, QApplication.quit)
app = QApplication(sys.argv)
window = Window()
window.resize(1440, 900)
window.show()
app.exec()
"""

OURS = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
import app.start
from app.window.main import make_window
application = QApplication(sys.argv)
window = make_window(application)
window.first_painted.connect(lambda: QTimer.singleShot(0, application.quit))
window.resize(1440, 900)
window.show()
application.exec()
"""


def seconds(script: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", script], check=True, cwd=ROOT, env=os.environ, capture_output=True)
    return time.perf_counter() - start


def test_start_to_first_painted_window(benchmark: Any) -> None:
    bare: list[float] = []
    ours: list[float] = []

    def interleaved() -> None:
        for script in (BARE, OURS):
            seconds(script)
        for _ in range(ROUNDS):
            bare.append(seconds(BARE))
            ours.append(seconds(OURS))

    benchmark.pedantic(interleaved, rounds=1, iterations=1)
    ratio = median(a / b for a, b in zip(ours, bare, strict=True))
    benchmark.extra_info |= {
        "ours_ms": round(median(ours) * 1e3),
        "bare_ms": round(median(bare) * 1e3),
        "ratio": round(ratio, 2),
        "at most": 2.0,
    }
    print(f"\nfirst painted window: {benchmark.extra_info}")
