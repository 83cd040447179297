"""What a cutter or plotter is given: no line twice, outlined letters, a square; HP-GL read back by hp2xx."""

from __future__ import annotations

import io
import json
import re
import subprocess
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from ezdxf import recover

from app.files.dxf import DxfSettings, dxf_bytes
from app.files.hpgl import LARGEST_16_BIT, MOST_POINTS, dashes, plotted
from app.files.line_table import LINES, read_table, table_bytes
from app.files.machine_sheet import MachineSettings, drawn_once, for_machine
from app.files.svg import svg_bytes
from app.fonts.outlines import outlines
from geometry.drawing import Drawing, Placed, Role
from geometry.errors import PatternError
from geometry.letter_widths import width_mm
from geometry.lines import arc, flatten, joined, polyline
from geometry.pens import LOOKS, SKETCHED, Stroke, Words
from geometry.sheets import Sheet
from tests import drawn

#: From the notes on HP-GL: a unit is 0.025 mm.
UNIT_MM = 0.025


@cache
def ready(**settings: Any) -> Sheet:
    return for_machine(drawn.side_by_side(), MachineSettings(**settings))


def closed(*corners: tuple[float, float], role: Role) -> Stroke:
    return Stroke(role, polyline([*corners, corners[0]]), True)


def total(strokes: Any) -> float:
    return sum(stroke.chain.length for stroke in strokes)


class TestOnce:
    def test_a_stitching_line_on_the_cutting_line_is_not_drawn_again(self) -> None:
        """Allowance 10 on three sides, the fourth on the fold at x = 0: 100 of the inner 400 mm lie on the outer."""
        outer = closed((0, -10), (110, -10), (110, 110), (0, 110), role=Role.CUT)
        inner = closed((0, 0), (100, 0), (100, 100), (0, 100), role=Role.STITCH)
        first, *others = drawn_once([inner, outer])
        assert first is outer
        assert total(others) == pytest.approx(300, abs=0.1)
        assert len(others) == 1 and not others[0].closed

    def test_where_the_shared_stretch_runs_over_the_start(self) -> None:
        outer = closed((0, -10), (110, -10), (110, 110), (0, 110), role=Role.CUT)
        inner = closed((0, 50), (0, 0), (100, 0), (100, 100), (0, 100), role=Role.STITCH)
        others = list(drawn_once([outer, inner]))[1:]
        assert total(others) == pytest.approx(300, abs=0.1)

    def test_curves_are_kept_as_curves(self) -> None:
        bend = arc((0, 0), 100, 0, 90)
        ring = joined([bend, polyline([bend.end, (0.0, 0.0), bend.start])])
        again = joined([bend, polyline([bend.end, (-30.0, 50.0)])])
        left = list(drawn_once([Stroke(Role.CUT, ring, True), Stroke(Role.STITCH, again)]))[1:]
        assert total(left) == pytest.approx(np.hypot(30, 50), abs=0.1)
        opened = joined([polyline([(130.0, 0.0), bend.start]), bend])
        short = Stroke(Role.CUT, polyline([(130.0, 0.0), (100.0, 0.0)]))
        left = list(drawn_once([short, Stroke(Role.STITCH, opened)]))[1:]
        assert total(left) == pytest.approx(bend.length, abs=0.1) and not left[0].chain.straight.any()

    def test_the_same_mark_twice_is_drawn_once(self) -> None:
        ring = Stroke(Role.MARK, arc((5, 5), 2, 0, 360), True)
        assert len(list(drawn_once([ring, Stroke(Role.DART, arc((5, 5), 2, 0, 360), True)]))) == 1

    def test_lines_that_only_cross_or_touch_stay_whole(self) -> None:
        lines = [Stroke(Role.CUT, polyline([(0.0, 0.0), (100.0, 0.0)])),
                 Stroke(Role.GUIDE, polyline([(50.0, -5.0), (50.0, 5.0)])),
                 Stroke(Role.NOTCH, polyline([(20.0, 0.0), (20.0, 3.0)])),
                 Stroke(Role.GUIDE, polyline([(0.0, -0.5), (100.0, 0.5)]))]
        assert list(drawn_once(lines)) == lines

    def test_no_two_strokes_of_the_pieces_share_a_stretch(self) -> None:
        """Measured with shapely: within 0.005 mm of any other line of the piece, no stroke runs for a millimetre."""
        for one in ready().placed:
            lines = [shapely.LineString(flatten(stroke.chain, 0.001)[0]) for stroke in one.drawing.strokes]
            bands = [shapely.buffer(line, 0.005) for line in lines]
            for i, line in enumerate(lines):
                for j in shapely.STRtree(bands).query(line):
                    if j != i:
                        parts = shapely.get_parts(shapely.intersection(line, bands[j]))
                        assert max((part.length for part in parts), default=0.0) < 1.0, (
                            one.drawing.strokes[i].name, one.drawing.strokes[j].name)

    def test_every_line_is_still_on_the_sheet(self) -> None:
        for before, after in zip(drawn.side_by_side().placed, ready().placed, strict=True):
            drawn_there = shapely.union_all(
                [shapely.LineString(flatten(s.chain, 0.002)[0]) for s in after.drawing.strokes]
            )
            for stroke in before.drawing.strokes:
                points = shapely.points(flatten(stroke.chain, 0.002)[0])
                assert shapely.distance(points, drawn_there).max() < 0.03
            cut = [s for s in after.drawing.strokes if s.role is Role.CUT]
            assert len(cut) == 1 and cut[0].closed


def test_letters_as_outlines_are_as_wide_and_high_as_the_lettering() -> None:
    """Advance widths are the typeface's own; capitals of DejaVu Sans are flat, so an H is exactly as high as said."""
    words = Words(Role.LABEL, (10.0, 20.0), "HIH", 7.0, 0.0, "start")
    points = np.concatenate([flatten(stroke.chain, 0.001)[0] for stroke in outlines(words)])
    low, high = points.min(axis=0), points.max(axis=0)
    assert high[1] - low[1] == pytest.approx(7.0, abs=0.01)
    assert (high[1] + low[1]) / 2 == pytest.approx(20.0, abs=0.01)
    assert 0.75 * width_mm("HIH", 7.0) < high[0] - low[0] < width_mm("HIH", 7.0)
    turned = outlines(Words(Role.LABEL, (10.0, 20.0), "HIH", 7.0, 90.0, "start"))
    there = np.concatenate([flatten(stroke.chain, 0.001)[0] for stroke in turned])
    assert np.allclose(there - (10, 20), (points - (10, 20)) @ np.array([[0, 1], [-1, 0]]), atol=1e-9)


def test_the_outlines_area_is_the_rasters_ink() -> None:
    """“Bag 8” set by pypdfium2 from the same typeface inks as much as the outlines enclose (within 2 %)."""
    import pypdfium2
    from reportlab.pdfgen.canvas import Canvas

    from app.files.paper_pen import MM, Brush

    words = Words(Role.LABEL, (10.0, 20.0), "Bag 8", 12.0, 0.0, "start")
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(90 * MM, 40 * MM))
    Brush(canvas).words(words)
    canvas.save()
    page = pypdfium2.PdfDocument(stream.getvalue())[0]
    grey = np.asarray(page.render(scale=300 / 72, grayscale=True).to_numpy(), dtype=float).squeeze()
    ink = (1 - grey / 255).sum() * (90 / grey.shape[1]) * (40 / grey.shape[0])
    rings = [flatten(stroke.chain, 0.005)[0] for stroke in outlines(words)]
    # TrueType: outer lines run clockwise, holes against it, so that the signed areas add up to the ink.
    area = -sum(0.5 * float(np.sum(r[:-1, 0] * r[1:, 1] - r[1:, 0] * r[:-1, 1])) for r in rings)
    assert area == pytest.approx(ink, rel=0.02)


class TestHpgl:
    def test_only_the_instructions_it_says_and_whole_numbers(self) -> None:
        """As in P. Bourke's notes: IN; SPn; PUx,y; PDx,y,...; at the end PU;SP0;."""
        text = plotted(ready(outlines=True, square=True)).data.decode("ascii").replace("\n", "")
        assert text.startswith("IN;SP1;") and text.endswith("PU;SP0;")
        body = text.removesuffix("PU;SP0;").split(";")[:-1]
        assert body[0] == "IN"
        pens = [int(one[2:]) for one in body[1:] if one.startswith("SP")]
        assert pens == sorted(set(pens)) == [1, 2, 3]
        for one in body[1:]:
            assert re.fullmatch(r"SP\d|P[UD]-?\d+,-?\d+(,-?\d+)*", one), one
            assert one.count(",") <= 2 * MOST_POINTS

    @pytest.mark.parametrize("index", range(4))
    @pytest.mark.parametrize("role", [Role.CUT, Role.STITCH])
    def test_read_back_by_hp2xx(self, tmp_path: Path, index: int, role: Role) -> None:
        """The cutting line within 0.03 mm both ways (a unit is 0.025 mm); the dashes lie on the stitching line.

        hp2xx moves what it reads to its lower left corner, so a short line at 0,0 is plotted with it.
        """
        sheet = ready()
        one = sheet.placed[index]
        strokes = tuple(stroke for stroke in one.drawing.strokes if stroke.role is role)
        corner = Placed(Drawing("o", "o", (Stroke(Role.CUT, polyline([(0.0, 0.0), (1.0, 0.0)])),), ()))
        piece = Placed(Drawing(one.piece_id, one.drawing.name, strokes, ()), one.motion)
        file = tmp_path / "piece.plt"
        file.write_bytes(plotted(Sheet((corner, piece), sheet.width, sheet.height)).data)
        chains = [stroke.moved(one.motion).chain for stroke in strokes]
        truth = shapely.union_all([shapely.LineString(flatten(chain, 0.001)[0]) for chain in chains])
        lines = [line for line in read_by_hp2xx(file) if line.max() > 5.0]
        assert len(lines) >= (1 if role is Role.CUT else 20)
        back = shapely.union_all([shapely.LineString(line) for line in lines])
        assert off(back, truth) < 0.03
        if role is Role.CUT:
            assert off(truth, back) < 0.03

    def test_sixteen_bits_are_told(self) -> None:
        """32767 units are 819.175 mm (check value of the language's 16-bit readers)."""
        assert pytest.approx(819.175) == LARGEST_16_BIT * UNIT_MM

        def line_to(x: float, origin: Any = "lower-left") -> bool:
            drawing = Drawing("p", "p", (Stroke(Role.CUT, polyline([(0.0, 0.0), (x, 0.0)])),), ())
            return plotted(Sheet((Placed(drawing),), 1600.0, 0.0), origin=origin).beyond_16_bits

        assert not line_to(819.1) and line_to(819.3)
        assert not line_to(1600.0, "middle")

    def test_the_same_bytes_twice(self) -> None:
        assert plotted(ready()).data == plotted(ready()).data

    def test_less_travel_than_as_drawn(self) -> None:
        found = plotted(ready(outlines=True))
        assert found.lifted_mm < 0.6 * found.lifted_mm_unordered
        assert found.lifts <= found.lifts_unordered

    def test_dashes_of_a_line(self) -> None:
        """10 mm in dashes of 4 and gaps of 2: 0 to 4 and 6 to 10; round a corner the length counts along the line."""
        found = dashes(np.array([(0.0, 0.0), (10.0, 0.0)]), (4.0, 2.0))
        assert [dash[[0, -1], 0].tolist() for dash in found] == [[0, 4], [6, 10]]
        bent = dashes(np.array([(0.0, 0.0), (3.0, 0.0), (3.0, 7.0)]), (4.0, 2.0))
        assert np.allclose(bent[0], [(0, 0), (3, 0), (3, 1)]) and np.allclose(bent[1], [(3, 3), (3, 7)])


def off(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """How far a line goes from another at most (mm), looked at every 0.5 mm."""
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(one, 0.5)))
    return float(shapely.distance(points, other).max())


def read_by_hp2xx(file: Path) -> list[np.ndarray]:
    """The lines that hp2xx reads in a plot, in mm."""
    run = subprocess.run(
        ["hp2xx", "-q", "-t", "-m", "gpt", "-f", "-", str(file)], capture_output=True, text=True, check=True, timeout=60
    )
    lines: list[list[tuple[float, float]]] = []
    down = False
    for row in run.stdout.splitlines():
        if row.startswith("#"):
            down = row.startswith("#PD")
        elif row.strip():
            x, y = (float(value) for value in row.split())
            if down:
                lines[-1].append((x, y))
            else:
                lines.append([(x, y)])
    return [np.array(line) for line in lines if len(line) > 1]


class TestDxf:
    def test_true_curves_read_back_within_a_hundredth(self) -> None:
        """SPLINE by ezdxf's own flattening against our curves, both ways; closed lines close."""
        sheet = drawn.side_by_side()
        document, auditor = recover.read(io.BytesIO(dxf_bytes(sheet, DxfSettings(flat_mm=None))))
        assert not auditor.has_errors and not auditor.has_fixes
        for one in sheet.placed:
            block = document.blocks[one.piece_id.upper()]
            chain = next(s.chain for s in one.drawing.strokes if s.role is Role.STITCH)
            found = [e for e in block.query("SPLINE LWPOLYLINE") if e.dxf.layer == "STITCHING_LINE"]
            assert len(found) == 1
            if found[0].dxftype() == "SPLINE":
                points = np.array([(p.x, p.y) for p in found[0].flattening(0.001)])
            else:
                points = np.array(found[0].get_points("xy"))
            assert drawn.apart(points, flatten(chain, 0.001)[0][:-1]) < 0.01

    def test_layers_by_number(self) -> None:
        """1 the cut boundary, 4 notches, 7 the grainline, 14 the sewn line (ASTM D6673, from memory)."""
        data = dxf_bytes(drawn.side_by_side(), DxfSettings("R12", numbers=LINES))
        document, _ = recover.read(io.BytesIO(data))
        block = document.blocks[drawn.side_by_side().placed[0].piece_id.upper()]
        layers = {entity.dxf.layer for entity in block}
        assert {"1", "4", "7", "14", "15"} <= layers and all(layer.isdigit() for layer in layers)

    def test_coarser_lines_have_fewer_points_and_say_so(self) -> None:
        fine, coarse = (dxf_bytes(drawn.side_by_side(), DxfSettings(flat_mm=flat)) for flat in (0.01, 0.1))
        assert len(coarse) < 0.8 * len(fine)
        for flat in (0.0, 2.0, float("nan")):
            with pytest.raises(PatternError, match="flattened within"):
                DxfSettings(flat_mm=flat)

    def test_r12_has_no_curves(self) -> None:
        with pytest.raises(PatternError, match="R12 has no curves"):
            DxfSettings("R12", flat_mm=None)


def test_the_square_stands_alone_on_its_own_layer() -> None:
    sheet = ready(square=True)
    data = dxf_bytes(sheet)
    document, _ = recover.read(io.BytesIO(data))
    square = [e for e in document.blocks["TEST-SQUARE"].query("LWPOLYLINE") if e.dxf.layer == "TEST_SQUARE"]
    points = np.array(square[0].get_points("xy"))
    assert np.allclose(np.ptp(points, axis=0), 100.0) and square[0].closed
    *pieces, last = sheet.placed
    right = max(one.there.bounds()[2] for one in pieces)
    assert LINES[Role.SQUARE].number not in {row.number for role, row in LINES.items() if role is not Role.SQUARE}
    assert last.there.bounds()[0] > right


def test_svg_for_a_machine_has_hairlines_in_the_tables_colours() -> None:
    table = {**LINES, Role.CUT: read(b'{"cutting line": {"colour": "#ff0000", "width_mm": 0.05}}')[Role.CUT]}
    root = ElementTree.fromstring(svg_bytes(ready(), "", table))
    layers = {g.get("id"): g for g in root.findall("{http://www.w3.org/2000/svg}g")}
    assert (layers["cutting-line"].get("stroke"), layers["cutting-line"].get("stroke-width")) == ("#ff0000", "0.05")
    assert layers["stitching-line"].get("stroke-width") == "0.01"
    assert all(layer.get("stroke-dasharray") is None for layer in layers.values())
    assert LOOKS[Role.STITCH].dashes


def read(rows: bytes) -> Any:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.json"
        path.write_bytes(b'{"format": "tuck-and-true line table", "version": 1, "lines": ' + rows + b"}")
        return read_table(path)


class TestLineTable:
    def test_written_and_read_is_the_same(self, tmp_path: Path) -> None:
        (tmp_path / "l.json").write_bytes(table_bytes())
        assert dict(read_table(tmp_path / "l.json")) == dict(LINES)
        assert set(json.loads(table_bytes())["lines"]) == {role.value for role in set(Role) - SKETCHED}

    @pytest.mark.parametrize(
        ("rows", "says"),
        [
            (b'{"cutting lines": {}}', "no kind of line “cutting lines”"),
            (b'{"cutting line": {"color": "#000000"}}', "“color” is not known"),
            (b'{"cutting line": {"colour": "red"}}', "cutting line.*six figures"),
            (b'{"cutting line": {"pen": 9}}', "cutting line.*1 to 8"),
            (b'{"cutting line": {"pen": 1.5}}', "whole number"),
            (b'{"cutting line": {"width_mm": 0}}', "0.001 to 5 mm"),
            (b'{"cutting line": {"number": 0}}', "1 to 255"),
            (b'{"cutting line": {"drawn": "no"}}', "true or false"),
            (b"[]", "a list stands"),
            (b"{", "broken at line"),
        ],
    )
    def test_what_is_wrong_is_said_with_its_place(self, rows: bytes, says: str) -> None:
        with pytest.raises(PatternError, match=says):
            read(rows)

    def test_what_is_not_drawn_is_left_out(self) -> None:
        table = read(b'{"stitching line": {"drawn": false}, "lettering": {"drawn": false}}')
        sheet = for_machine(drawn.side_by_side(), MachineSettings(table))
        assert not any(s.role is Role.STITCH for one in sheet.placed for s in one.drawing.strokes)
        assert not any(w.role is Role.LABEL for one in sheet.placed for w in one.drawing.words)
