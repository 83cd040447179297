"""What a cutter is given as DXF by default: read back by ezdxf, measured with shapely."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from ezdxf import recover

import sample_pieces
from app import command_line
from app.files.dxf import CURVE_POINTS, TURN_POINTS, DxfSettings, dxf_bytes
from app.files.line_table import LINES
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.lines import arc, joined, polyline
from geometry.sheets import Sheet

UNDERSHIRT = str(sample_pieces.path("undershirt.garment.json"))


@cache
def exported(*options: str) -> Any:
    """The undershirt as the command line writes it, read back."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "piece.dxf"
        assert command_line.main(["export", UNDERSHIRT, "--out", str(out), *options]) == 0
        document, auditor = recover.readfile(str(out))
    assert not auditor.has_errors and not auditor.has_fixes
    return document


def blocks(document: Any) -> list[Any]:
    return [document.blocks[insert.dxf.name] for insert in document.modelspace().query("INSERT")]


def lines_of(block: Any) -> list[tuple[str, bool, shapely.Geometry]]:
    """Layer, closedness and line of every polyline of a block."""
    found = []
    for entity in block.query("LWPOLYLINE POLYLINE"):
        if entity.dxftype() == "LWPOLYLINE":
            closed, points = entity.closed, [tuple(point) for point in entity.get_points("xy")]
        else:
            closed, points = entity.is_closed, [tuple(vertex.dxf.location)[:2] for vertex in entity.vertices]
        found.append((entity.dxf.layer, closed, shapely.LineString([*points, points[0]] if closed else points)))
    return found


def run_together(lines: list[shapely.Geometry]) -> float:
    """The longest stretch (mm) that one line runs within 0.005 mm of another."""
    bands = [shapely.buffer(line, 0.005) for line in lines]
    worst = 0.0
    for i, line in enumerate(lines):
        for j in shapely.STRtree(bands).query(line):
            if j != i:
                worst = max(worst, *shapely.length(shapely.get_parts(shapely.intersection(line, bands[j]))), 0.0)
    return worst


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_no_line_is_written_twice_and_every_cutting_line_is_closed(version: str) -> None:
    for block in blocks(exported("--dxf-version", version)):
        lines = lines_of(block)
        assert run_together([line for _, _, line in lines]) < 1.0, block.name
        cutting = [(closed, line) for layer, closed, line in lines if layer == "CUTTING_LINE"]
        assert len(cutting) == 1 and cutting[0][0] and shapely.Polygon(cutting[0][1].coords).is_valid


def test_every_line_whole_only_where_it_is_asked_for() -> None:
    whole = blocks(exported("--every-line"))
    assert max(run_together([line for _, _, line in lines_of(block)]) for block in whole) > 100.0
    stitching = [(closed, line) for block in whole for layer, closed, line in lines_of(block) if "STITCH" in layer]
    assert len(stitching) == len(whole) and all(closed for closed, _ in stitching)


def test_a_roll_is_written_for_a_cutter_with_its_square() -> None:
    """The width of the roll less 10 mm on both sides holds every piece, and the square of 100 mm lies among them."""
    document = exported("--roll", "914mm", "--square", "--dxf-version", "R12")
    placed = []
    for insert in document.modelspace().query("INSERT"):
        for entity in insert.virtual_entities():
            if entity.dxf.layer in ("CUTTING_LINE", "TEST_SQUARE") and entity.dxftype() == "POLYLINE":
                placed.append(shapely.Polygon([tuple(vertex.dxf.location)[:2] for vertex in entity.vertices]))
    square = min(placed, key=lambda one: one.area)
    assert square.area == pytest.approx(100.0**2, abs=0.01) and square.length == pytest.approx(400.0, abs=0.001)
    bounds = shapely.total_bounds(placed)
    assert bounds[1] >= 10.0 - 1e-6 and bounds[3] <= 904.0 + 1e-6
    assert len(placed) == len(blocks(document)), "every piece, and the square"
    for index, one in enumerate(placed):
        assert all(shapely.distance(one, other) > 2.0 for other in placed[index + 1 :])


def points_on(block: Any, layer: str) -> set[tuple[float, ...]]:
    points = [point.dxf.location for point in block.query("POINT") if point.dxf.layer == layer]
    return {tuple(np.round(tuple(point)[:2], 3)) for point in points}


class TestPoints:
    """Layers 2 and 3 by the trade's exchange (ASTM D6673, from memory): turn points and curve points."""

    def sheet(self) -> Sheet:
        """A quarter of a disc of radius 100 with its corner run out to a square of 100: three corners that turn, and
        the arc's far end runs on smoothly into its edge."""
        bend = arc((0, 0), 100, 0, 90)
        ring = joined([bend, polyline([bend.end, (-100.0, 100.0), (-100.0, 0.0), bend.start])])
        drawing = Drawing("quarter", "quarter", (Stroke(Role.CUT, ring, True),), ())
        return Sheet((Placed(drawing),), 300, 200)

    @pytest.mark.parametrize("version", ["R2000", "R12"])
    def test_a_corner_turns_and_a_smooth_join_only_bends(self, version: Any) -> None:
        data = dxf_bytes(self.sheet(), DxfSettings(version, numbers=LINES))
        document, auditor = recover.read(io.BytesIO(data))
        assert not auditor.has_errors
        block = document.blocks["QUARTER"]
        turns, bends = (points_on(block, layer) for layer in (TURN_POINTS, CURVE_POINTS))
        # The arc runs into the edge y = 100 in its own direction and leaves the edge y = 0 at a right angle.
        assert turns == {(100.0, 0.0), (-100.0, 100.0), (-100.0, 0.0)}
        assert (0.0, 100.0) in bends and len(bends) > 10
        _, _, line = lines_of(block)[0]
        assert turns | bends == {tuple(np.round(point, 3)) for point in line.coords}, "one at each corner of the line"

    def test_points_are_for_numbered_layers_alone(self) -> None:
        assert not any(block.query("POINT") for block in blocks(exported()))
        found: set[str] = set()
        for block in blocks(exported("--layers", "numbers")):
            layers = {entity.dxf.layer for entity in block}
            assert {"1", TURN_POINTS} <= layers and all(layer.isdigit() for layer in layers)
            found |= layers
        assert CURVE_POINTS in found

    def test_true_curves_are_marked_where_their_parts_meet(self) -> None:
        document, _ = recover.read(io.BytesIO(dxf_bytes(self.sheet(), DxfSettings(flat_mm=None, numbers=LINES))))
        points = document.blocks["QUARTER"].query("POINT")
        assert 4 <= len(points) < 12


def test_what_had_no_room_on_a_piece_is_said_where_there_is_no_first_page(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    out = str(tmp_path / "waistcoat.dxf")
    assert command_line.main(["export", str(sample_pieces.path("waistcoat.garment.json")), "--out", out]) == 0
    wanted = "no room on “Back neck facing” for “(a) shoulder seam to Front facing, 15 mm allowance”"
    assert wanted in capsys.readouterr().out
