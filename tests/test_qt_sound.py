"""The installed PySide6 keeps its references: 6.12.0 on Python before 3.12 loses one to None per void call."""

from __future__ import annotations

import subprocess
import sys

VOID_CALLS = """
from PySide6.QtCore import QObject
one = QObject()
for _ in range(20_000):
    one.setObjectName("")
"""


def test_twenty_thousand_void_calls_end_well() -> None:
    done = subprocess.run([sys.executable, "-c", VOID_CALLS], capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
