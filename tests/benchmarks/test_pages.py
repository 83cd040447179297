"""Tiles of a garment of ten pieces against the PDF library's own time for the same strokes, and memory over 200 pages.

Processor time, both in turn in one run; memory is the peak of a process of its own.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import time
from pathlib import Path
from statistics import median
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from app import outputs
from app.files.paper_pen import MM, register_fonts
from app.files.pdf import tiles_pdf
from app.fonts import BOLD, PLAIN
from geometry.arranging import arrange
from geometry.drawing import LOOKS, Drawing, Role
from geometry.papers import A4
from geometry.pipeline import draft
from geometry.sheets import Sheet, SheetSettings, tile
from sample_pieces.draft import everything

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = SheetSettings(A4)
ROUNDS = 7
MS_A_PAGE = 5.0

#: A sail of one outline and 200 lines over all its pages, of as many columns and rows as are asked for.
MEMORY = """
import re, sys, tracemalloc
from pathlib import Path
import numpy as np
from app.files.pdf import tiles_pdf
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.lines import polyline
from geometry.papers import A4
from geometry.sheets import Sheet, SheetSettings, tile
columns, rows = int(sys.argv[1]), int(sys.argv[2])
settings = SheetSettings(A4)
wide, high = settings.size_of(columns, rows)
rows_of = np.linspace(20.0, high - 20.0, 200)
lines = [np.column_stack([np.linspace(20.0, wide - 20.0, 40), y + 5 * np.sin(np.arange(40))]) for y in rows_of]
strokes = tuple(Stroke(Role.GUIDE, polyline(line)) for line in lines)
sheet = Sheet((Placed(Drawing("sail", "sail", strokes, ())),), wide, high)
pages = len([page for page in tile(sheet, settings) if not page.skipped])
tracemalloc.start()
data, _ = tiles_pdf(sheet, settings)
peak = tracemalloc.get_traced_memory()[1]
# Not getrusage: its peak is that of the process that started this one, where that is larger.
high = int(re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1])
print(pages, high / 1024, peak / 2**20, len(data))
"""


def ten_pieces() -> list[Drawing]:
    """The first ten pieces of waistcoat, undershirt and skirt, as they are printed."""
    drawn: list[Drawing] = []
    for name in ("waistcoat", "undershirt", "skirt"):
        drawn += outputs.drawings(draft(*everything()[name]))
    return drawn[:10]


def on_one_page(sheet: Sheet) -> bytes:
    """The same strokes and words on one page, written by the library alone: a path a role, a string a line of words."""
    register_fonts()
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(sheet.width * MM, sheet.height * MM), invariant=1, pageCompression=1)
    there = [one.there for one in sheet.placed]
    for role in Role:
        look, path = LOOKS[role], canvas.beginPath()
        canvas.setLineWidth(look.width * MM)
        canvas.setDash([dash * MM for dash in look.dashes] or [])
        for stroke in (stroke for drawing in there for stroke in drawing.strokes if stroke.role is role):
            points = (stroke.chain.cubics * MM).tolist()
            path.moveTo(*points[0][0])
            for (_, a, b, c), straight in zip(points, stroke.chain.straight.tolist(), strict=True):
                path.lineTo(*c) if straight else path.curveTo(*a, *b, *c)
        canvas.drawPath(path, stroke=1, fill=0)
    for words in (words for drawing in there for words in drawing.words):
        canvas.saveState()
        canvas.setFont(BOLD if words.bold else PLAIN, words.size_mm * MM)
        canvas.translate(words.base[0] * MM, words.base[1] * MM)
        canvas.rotate(words.angle_deg)
        canvas.drawString(0, 0, words.words)
        canvas.restoreState()
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def test_tiles_of_ten_pieces(benchmark: Any) -> None:
    """At most twice the library's time for the strokes on one page, and 5 ms a page."""
    sheet = arrange(ten_pieces(), SETTINGS)
    pages = sum(not page.skipped for page in tile(sheet, SETTINGS)) + 1
    ours, theirs = [], []

    def interleaved() -> None:
        for _ in range(ROUNDS):
            fresh = Sheet(tuple(sheet.placed), sheet.width, sheet.height)
            start = time.process_time()
            tiles_pdf(fresh, SETTINGS)
            middle = time.process_time()
            on_one_page(sheet)
            ours.append(middle - start)
            theirs.append(time.process_time() - middle)

    benchmark.pedantic(interleaved, rounds=1, iterations=1)
    mine, one = median(ours) * 1e3, median(theirs) * 1e3
    benchmark.extra_info |= {
        "pages": pages,
        "ours_ms": round(mine, 1),
        "one_page_ms": round(one, 1),
        "allowed_ms": round(2 * one + MS_A_PAGE * pages, 1),
        "of what is allowed": round(mine / (2 * one + MS_A_PAGE * pages), 2),
    }
    print(f"\ntiles of ten pieces: {benchmark.extra_info}")


def peak(columns: int, rows: int) -> list[float]:
    """Pages, peak of the process and of what is allocated while writing (MB), and the size of the file."""
    run = subprocess.run(
        [sys.executable, "-c", MEMORY, str(columns), str(rows)],
        check=True, cwd=ROOT, env=os.environ, capture_output=True, text=True,
    )
    return [float(part) for part in run.stdout.split()]


def test_memory_of_two_hundred_pages(benchmark: Any) -> None:
    """The peak of a process that prints 200 pages at most 1.2 times that of one that prints 5."""
    few, many = benchmark.pedantic(lambda: (peak(1, 5), peak(10, 20)), rounds=1, iterations=1)
    assert (few[0], many[0]) == (5, 200)
    benchmark.extra_info |= {
        "peak_mb_of_5": round(few[1], 1),
        "peak_mb_of_200": round(many[1], 1),
        "ratio": round(many[1] / few[1], 2),
        "at most": 1.2,
        "allocated_mb": (round(few[2], 1), round(many[2], 1)),
    }
    print(f"\nmemory of 200 pages: {benchmark.extra_info}")
