"""The same outlines out of every kind of file by readers that are not ours, within 0.03 mm; one number off is seen."""

from __future__ import annotations

import io
import re
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import islice
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
import svgelements
from ezdxf import recover

from app.files.dxf import DxfSettings, dxf_bytes
from app.files.hpgl import plotted
from app.files.large_pdf import large_pdf
from app.files.line_table import LINES
from app.files.machine_sheet import MachineSettings, for_machine
from app.files.pdf import tiles_pdf
from app.files.svg import svg_bytes
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.lines import flatten, polyline
from geometry.motions import slide, turn
from geometry.papers import A4
from geometry.sheets import Sheet, SheetSettings, page_records, tile
from tests import drawn
from tests.app.test_machine import read_by_hp2xx
from tests.read_by_pdfium import frames, lines

#: No reader may find an outline farther off than this (mm).
READ_BACK_MM = 0.03
#: How far a number of a file is changed to see that it is found out (mm).
CHANGED_MM = 0.1
PAGES = SheetSettings(A4)
#: svgelements gives CSS pixels, 96 an inch (CSS Values and Units Level 3); a unit of HP-GL is 0.025 mm.
PX, UNIT = 25.4 / 96, 0.025
Ring = np.ndarray


@cache
def sheet() -> Sheet:
    """A front and a panel on two by three pages of A4, the panel askew, and a small triangle at the corner.

    hp2xx moves what it reads to its lower left corner; the triangle keeps it there.
    """
    front, _, _, panel = drawn.drawings()
    triangle = polyline([(0.0, 0.0), (2.0, 0.0), (0.0, 2.0), (0.0, 0.0)])
    corner = Drawing("corner", "corner", (Stroke(Role.CUT, triangle, True),), ())
    laid = Placed(panel, turn(-83.0, (0.0, 0.0)).then(slide(30.0, 640.0)))
    return Sheet((Placed(corner), Placed(front, slide(10.0, 40.0)), laid), *PAGES.size_of(3, 4))


@cache
def outlines() -> tuple[Ring, ...]:
    """The cutting lines where they lie on the sheet, flattened within 0.001 mm."""
    cuts = [stroke for one in sheet().placed for stroke in one.there.strokes if stroke.role is Role.CUT]
    return tuple(flatten(stroke.chain, 0.001)[0][:-1] for stroke in cuts)


def farthest(read: Sequence[Ring]) -> float:
    """How far the outline that was read worst lies off (mm, both ways); infinite where one is missing."""
    worst = 0.0
    for outline in outlines():
        middle = outline.mean(axis=0)
        near = [ring for ring in read if len(ring) > 2 and np.abs(ring.mean(axis=0) - middle).max() < 60.0]
        worst = max(worst, min((drawn.apart(ring, outline) for ring in near), default=float("inf")))
    return worst


def tiled(data: bytes) -> Iterator[list[Ring]]:
    """Each page shows the whole sheet through its frame: what its matrices make of it, laid where the page lies."""
    records = page_records(sheet(), tile(sheet(), PAGES), PAGES, 2)["pages"]
    for record in records:  # type: ignore[attr-defined]
        if record["page"] is not None:
            x, y, wide, high = record["live_mm"]
            assert frames(data, record["page"] - 1) == [pytest.approx((x, y, x + wide, y + high), abs=0.001)]
            laid = np.array(record["origin_mm"]) - (x, y)
            yield [ring + laid for ring in cutting(data, record["page"] - 1)]


def large(data: bytes) -> Iterator[list[Ring]]:
    page = pypdfium2.PdfDocument(data)[0]
    assert np.array(page.get_size()) / 72 * 25.4 == pytest.approx((sheet().width, sheet().height), abs=0.001)
    yield cutting(data, 0)


def cutting(data: bytes, index: int) -> list[Ring]:
    return [line.points for line in lines(data, index) if line.layer == "cutting line" and line.closed]


def by_svgelements(data: bytes) -> Iterator[list[Ring]]:
    found, t = [], np.linspace(0.0, 1.0, 65)[1:]
    for one in svgelements.SVG.parse(io.BytesIO(data), reify=True).elements():
        if isinstance(one, svgelements.Path) and ".cutting-line." in one.id:
            curves = (part.npoint(t) if isinstance(part, svgelements.CubicBezier) else None for part in one)
            points = [[tuple(part.end)] if curve is None else curve for part, curve in zip(one, curves, strict=True)]
            found.append(np.concatenate(points) * PX * (1, -1) + (0.0, sheet().height))
    yield found


def by_ezdxf(data: bytes) -> Iterator[list[Ring]]:
    document, auditor = recover.read(io.BytesIO(data))
    assert not auditor.has_errors and not auditor.has_fixes
    found = []
    for insert in document.modelspace().query("INSERT"):
        for one in insert.virtual_entities():
            if one.dxf.layer == "CUTTING_LINE" and one.dxftype() == "LWPOLYLINE":
                found.append(np.array(one.get_points("xy")))
            elif one.dxf.layer == "CUTTING_LINE" and one.dxftype() == "POLYLINE":
                found.append(np.array([tuple(vertex.dxf.location)[:2] for vertex in one.vertices]))
            elif one.dxf.layer == "CUTTING_LINE" and one.dxftype() == "SPLINE":
                found.append(np.array([(point.x, point.y) for point in one.flattening(0.001)]))
    yield found


def by_hp2xx(data: bytes) -> Iterator[list[Ring]]:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "x.plt").write_bytes(data)
        parts = read_by_hp2xx(Path(folder) / "x.plt")
    rings: list[Ring] = []
    for part in parts:
        if rings and np.allclose(rings[-1][-1], part[0]):
            rings[-1] = np.concatenate([rings[-1], part[1:]])
        else:
            rings.append(part)
    yield rings


def machine_sheet() -> Sheet:
    """As a machine is given it, of cutting lines alone: hp2xx reads no layers."""
    others = {role: replace(LINES[role], drawn=False) for role in LINES if role is not Role.CUT}
    return for_machine(sheet(), MachineSettings({**LINES, **others}))


def changed_pdf(data: bytes) -> bytes:
    """The end of the first curve of the cutting lines a little to the side."""
    with pikepdf.open(io.BytesIO(data)) as document:
        forms = [one for page in document.pages for _, one in page.resources.get("/XObject", {}).items()]
        holder = forms[0] if forms else document.pages[0]
        commands = list(pikepdf.parse_content_stream(holder))
        first = next(k for k, one in enumerate(commands) if str(one.operator) == "c")
        numbers = [float(value) for value in commands[first].operands]
        numbers[-2:] = [value + CHANGED_MM / 25.4 * 72 for value in numbers[-2:]]
        commands[first] = pikepdf.ContentStreamInstruction(numbers, pikepdf.Operator("c"))
        return _with_content(document, holder, commands)


def changed_frame(data: bytes) -> bytes:
    """The sheet a little to the right on the third page."""
    with pikepdf.open(io.BytesIO(data)) as document:
        page = document.pages[2]
        commands = list(pikepdf.parse_content_stream(page))
        draws = next(k for k, one in enumerate(commands) if str(one.operator) == "Do")
        lays = max(k for k in range(draws) if str(commands[k].operator) == "cm")
        numbers = [float(value) for value in commands[lays].operands]
        numbers[4] += CHANGED_MM / 25.4 * 72
        commands[lays] = pikepdf.ContentStreamInstruction(numbers, pikepdf.Operator("cm"))
        return _with_content(document, page, commands)


def _with_content(document: pikepdf.Pdf, holder: pikepdf.Object, commands: list[object]) -> bytes:
    content = pikepdf.unparse_content_stream(commands)
    if isinstance(holder, pikepdf.Page):
        holder.Contents = document.make_stream(content)
    else:
        holder.write(content)
    changed = io.BytesIO()
    document.save(changed)
    return changed.getvalue()


def changed_text(words: Sequence[str], pattern: str, by: float) -> Callable[[bytes], bytes]:
    """Two numbers, the groups of a pattern found the fifth time behind these words in turn, larger by so much."""

    def change(data: bytes) -> bytes:
        text, start = data.decode("ascii", errors="surrogateescape"), 0
        for word in words:
            start = text.index(word, start)
        found = list(islice(re.compile(pattern).finditer(text, start), 5))[-1]
        for group in (2, 1):
            start, end = found.span(group)
            text = f"{text[:start]}{float(found[group]) + by:g}{text[end:]}"
        return text.encode("ascii", errors="surrogateescape")

    return change


@dataclass(frozen=True)
class Way:
    write: Callable[[], bytes]
    read: Callable[[bytes], Iterator[list[Ring]]]
    change: Callable[[bytes], bytes]


NUMBER = r"(-?[\d.]+)"
SVG_CHANGED = changed_text(["cutting-line"], rf" C (?:[-\d.]+ ){{4}}{NUMBER} {NUMBER}", CHANGED_MM)
DXF_CHANGED = changed_text(["BLOCKS", "FRONT", "CUTTING_LINE"], rf" 10\n{NUMBER}\n 20\n{NUMBER}\n", CHANGED_MM)
PLOT_CHANGED = changed_text(["SP1"], rf"PD(?:-?\d+,){{16}}{NUMBER},{NUMBER}", CHANGED_MM / UNIT)
WAYS = {
    "pages of a PDF by pypdfium2": Way(lambda: tiles_pdf(sheet(), PAGES)[0], tiled, changed_pdf),
    "a page of a PDF by pypdfium2": Way(lambda: tiles_pdf(sheet(), PAGES)[0], tiled, changed_frame),
    "a large sheet of a PDF by pypdfium2": Way(lambda: large_pdf([sheet()]), large, changed_pdf),
    "SVG by svgelements": Way(lambda: svg_bytes(sheet()), by_svgelements, SVG_CHANGED),
    "SVG for machines by svgelements": Way(
        lambda: svg_bytes(for_machine(sheet(), MachineSettings()), "", LINES), by_svgelements, SVG_CHANGED
    ),
    "DXF R2000 by ezdxf": Way(lambda: dxf_bytes(sheet()), by_ezdxf, DXF_CHANGED),
    "DXF R12 by ezdxf": Way(lambda: dxf_bytes(sheet(), DxfSettings("R12")), by_ezdxf, DXF_CHANGED),
    "DXF with curves by ezdxf": Way(lambda: dxf_bytes(sheet(), DxfSettings(flat_mm=None)), by_ezdxf, DXF_CHANGED),
    "HP-GL by hp2xx": Way(lambda: plotted(machine_sheet()).data, by_hp2xx, PLOT_CHANGED),
}


@pytest.mark.parametrize("way", WAYS)
def test_every_outline_is_read_back_and_one_number_off_is_seen(way: str) -> None:
    """Both ways within 0.03 mm, in every view of the sheet that the file gives; with a number 0.1 mm off farther."""
    one = WAYS[way]
    data = one.write()
    off = [farthest(read) for read in one.read(data)]
    assert off and max(off) < READ_BACK_MM
    assert max(farthest(read) for read in one.read(one.change(data))) > READ_BACK_MM
