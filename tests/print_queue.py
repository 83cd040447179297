"""A print system of our own for tests: CUPS with its folders, its port and its queues, taken away again afterwards.

The queue prints into files: through the cups-pdf printer where this is the superuser's session, which that needs; else
what the system's filters made for the printer is kept and turned into a PDF with ghostscript, as cups-pdf itself does.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

PDF, NARROW = "Workroom_PDF", "Small_papers"
DESCRIBES = Path("/usr/share/ppd/cups-pdf/CUPS-PDF_opt.ppd")
NEEDED = ("cupsd", "lpadmin", "lp", "lpstat", "lpoptions", "gs")
_PATIENCE_S = 60
_PATH = os.pathsep.join([os.environ.get("PATH", os.defpath), "/usr/sbin", "/sbin"])


def lacking() -> str:
    """Why there can be no print system here; empty where there can."""
    missing = [name for name in NEEDED if shutil.which(name, path=_PATH) is None]
    missing += [] if DESCRIBES.exists() else [str(DESCRIBES)]
    return f"the packages cups and printer-driver-cups-pdf are not there ({', '.join(missing)})" if missing else ""


@dataclass
class PrintSystem:
    """A running print system with the queues PDF, which takes all sizes, and NARROW, which takes no larger than A3."""

    folder: Path
    server: str
    _made: set[Path] = field(default_factory=set)

    def run(self, *words: str) -> str:
        done = subprocess.run(words, capture_output=True, text=True, timeout=_PATIENCE_S, env=self.environment)
        assert done.returncode == 0, f"{' '.join(words)}: {done.stderr}"
        return done.stdout

    @property
    def environment(self) -> dict[str, str]:
        return {**os.environ, "CUPS_SERVER": self.server, "PATH": _PATH, "LC_ALL": "C.UTF-8"}

    def printed(self) -> bytes:
        """What the PDF queue printed last, as PDF; waits until its jobs are over."""
        until = time.monotonic() + _PATIENCE_S
        while self.run("lpstat", "-o").strip():
            assert time.monotonic() < until, "the print job does not end"
            time.sleep(0.05)
        if is_root():
            found = sorted(self._papers(), key=lambda path: path.stat().st_mtime_ns)
            data = found[-1].read_bytes()
            for path in found:
                path.unlink()
            return data
        script, out = self.folder / "printed", self.folder / "printed.pdf"
        self.run("gs", "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pdfwrite", f"-sOutputFile={out}", str(script))
        return out.read_bytes()

    def _papers(self) -> list[Path]:
        return [path for path in _HOME_PDF.glob("*.pdf") if path not in self._made]

    def begin(self) -> None:
        """Make the queues."""
        self._made = set(_HOME_PDF.glob("*.pdf")) if is_root() else set()
        device = "cups-pdf:/" if is_root() else f"file://{self.folder / 'printed'}"
        self.run("lpadmin", "-p", PDF, "-v", device, "-P", str(DESCRIBES), "-E")
        self.run("lpadmin", "-p", NARROW, "-v", "file:///dev/null", "-m", "drv:///sample.drv/generic.ppd", "-E")


#: Where the cups-pdf printer lays what it prints.
_HOME_PDF = Path("~root/PDF").expanduser()


def is_root() -> bool:
    return os.geteuid() == 0


@contextmanager
def print_system() -> Iterator[PrintSystem]:
    """A print system of its own, gone at the end with all that it wrote. Skips the test where there can be none."""
    if why := lacking():
        pytest.skip(why)
    before = {path: path.exists() for path in (_HOME_PDF, *_TRACES)} if is_root() else {}
    folder = Path(tempfile.mkdtemp(prefix="printing-"))
    # The filters run as another user, who must get in.
    folder.chmod(0o755)
    server = f"localhost:{_free_port()}"
    files = _settings(folder, server)
    log = (folder / "said").open("wb")
    daemon = subprocess.Popen(
        [str(shutil.which("cupsd", path=_PATH)), "-f", "-c", str(files[0]), "-s", str(files[1])], stdout=log, stderr=log
    )
    try:
        system = PrintSystem(folder, server)
        _wait_for(system, daemon)
        system.begin()
        yield system
    finally:
        daemon.terminate()
        daemon.wait(timeout=_PATIENCE_S)
        log.close()
        shutil.rmtree(folder)
        for path, was_there in before.items():
            if not was_there and path.exists():
                shutil.rmtree(path) if path.is_dir() else path.unlink()


#: What the cups-pdf printer leaves behind beside the pages.
_TRACES = (Path("/var/spool/cups-pdf/SPOOL"), Path(f"/var/log/cups/cups-pdf-{PDF}_log"))


def _settings(folder: Path, server: str) -> tuple[Path, Path]:
    for name in ("root", "root/ppd", "spool", "tmp", "cache", "state", "log"):
        (folder / name).mkdir()
    (folder / "tmp").chmod(0o1777)
    rules, places = folder / "cupsd.conf", folder / "cups-files.conf"
    rules.write_text(
        f"Listen {server}\nLogLevel info\nBrowsing No\nWebInterface No\nDefaultAuthType None\n"
        "<Location />\n  Order allow,deny\n  Allow localhost\n</Location>\n"
        "<Policy default>\n  <Limit All>\n    Order deny,allow\n  </Limit>\n</Policy>\n"
    )
    lines = [f"{name} {folder / where}" for name, where in (
        ("ServerRoot", "root"), ("RequestRoot", "spool"), ("TempDir", "tmp"), ("CacheDir", "cache"),
        ("StateDir", "state"), ("AccessLog", "log/access"), ("ErrorLog", "log/error"), ("PageLog", "log/page"),
    )]
    places.write_text("\n".join([*lines, "FileDevice Yes", "Printcap"]) + "\n")
    return rules, places


def _free_port() -> int:
    with closing(socket.socket()) as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def _wait_for(system: PrintSystem, daemon: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + _PATIENCE_S
    while "scheduler is running" not in _said(system):
        if daemon.poll() is not None or time.monotonic() > until:
            pytest.skip(f"the print system does not start here: {(system.folder / 'said').read_text()[-300:]}")
        time.sleep(0.05)


def _said(system: PrintSystem) -> str:
    return subprocess.run(["lpstat", "-r"], capture_output=True, text=True, env=system.environment, check=False).stdout


# -- measuring what came out -------------------------------------------------------------------------------------------


def squares(data: bytes, page: int = 0, dpi: int = 300) -> list[tuple[float, float]]:
    """Width and height (mm) of the two test squares on a page, the smaller first, off a raster of that page.

    A square is two upright lines of one length that stand that far apart (within 3 %), and two lying ones likewise;
    lines are told by their grey centroids, mm by page size over pixel size.
    """
    document = pypdfium2.PdfDocument(data)
    image = document[page].render(scale=dpi / 72, grayscale=True).to_numpy().astype(float)
    dark = 1 - (image[..., 0] if image.ndim == 3 else image) / 255
    wide, high = document[page].get_size()
    across, down = wide / 72 * 25.4 / dark.shape[1], high / 72 * 25.4 / dark.shape[0]
    widths = _sides(dark, across, down)
    heights = _sides(dark.T, down, across)
    assert len(widths) == len(heights) == 2, f"squares {widths} wide and {heights} high"
    return list(zip(sorted(widths), sorted(heights), strict=True))


def _sides(dark: NDArray[np.float64], across: float, along: float) -> list[float]:
    """How far apart the upright sides of squares of 60 to 120 mm stand."""
    lines = _long_lines(dark, along)
    pairs = [
        (other[0] - one[0]) * across
        for one in lines for other in lines
        if other[0] > one[0]
        and abs(other[1] - one[1]) < 0.5
        and abs(other[2] - one[2]) < 0.5
        and abs((other[0] - one[0]) * across / one[1] - 1) < 0.03
    ]
    return pairs


def _long_lines(dark: NDArray[np.float64], along: float) -> list[tuple[float, float, float]]:
    """Upright lines of 60 to 120 mm: where they stand (pixels, by grey centroid), how long they are and where they
    begin (mm)."""
    found: list[list[tuple[int, float, float, float]]] = []
    for column in range(dark.shape[1]):
        ink = np.concatenate([[0], (dark[:, column] > 0.2).astype(int), [0]])
        starts, ends = np.flatnonzero(np.diff(ink) == 1), np.flatnonzero(np.diff(ink) == -1)
        for start, end in zip(starts, ends, strict=True):
            length = float(end - start) * along
            if not 60 < length < 120:
                continue
            row = (column, float(dark[start:end, column].mean()), length, float(start) * along)
            group = next((g for g in found if column - g[-1][0] == 1 and abs(g[-1][3] - row[3]) < 0.5), None)
            if group is None:
                found.append([row])
            else:
                group.append(row)
    lines = []
    for group in found:
        columns, weights, lengths, begins = (np.array(values) for values in zip(*group, strict=True))
        lines.append((float((columns + 0.5) @ weights / weights.sum()), float(lengths.max()), float(begins.min())))
    return lines
