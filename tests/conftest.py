"""What every test runs under: no screen, one thread for linear algebra, the same examples each time."""

from __future__ import annotations

import importlib
import os

# Before numpy and Qt are loaded, or they do not see it.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "same each time",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("same each time")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The versions that geometry was computed with; the figures of the blend cases and drawings that were tested."""
    import shapely

    terminalreporter.write_line(f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}")
    reports = [report for kind in ("passed", "failed") for report in terminalreporter.stats.get(kind, [])]
    for tested, module in (("blending", "blend_cases"), ("goldens", "goldens")):
        if any(tested in report.nodeid for report in reports):
            for line in importlib.import_module(f"tests.{module}").summary_lines():
                terminalreporter.write_line(line)
