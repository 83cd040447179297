"""DXF read back by ezdxf: units, layers, one block a piece, closed outlines, the same bytes twice."""

from __future__ import annotations

import io
from functools import cache
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf import recover

from app.files.dxf import FLAT_MM, DxfSettings, Version, dxf_bytes, layer_name
from geometry.drawing import Placed, Role
from geometry.lines import flatten
from geometry.motions import Motion
from geometry.papers import A4
from geometry.sheets import Sheet, SheetSettings
from tests import drawn

VERSIONS: list[Version] = ["R12", "R2000"]


def read(data: bytes) -> Any:
    document, auditor = recover.read(io.BytesIO(data))
    assert not auditor.has_errors and not auditor.has_fixes
    return document


@cache
def side_by_side(version: Version) -> Any:
    return read(dxf_bytes(drawn.side_by_side(), DxfSettings(version)))


def outline(block: Any, role: Role) -> np.ndarray:
    entities = [e for e in block if e.dxf.layer == layer_name(role) and e.dxftype() in ("POLYLINE", "LWPOLYLINE")]
    first = entities[0]
    if first.dxftype() == "LWPOLYLINE":
        assert first.closed
        return np.array(first.get_points("xy"))
    assert first.is_closed
    return np.array([tuple(vertex.dxf.location)[:2] for vertex in first.vertices])


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("index", range(4))
@pytest.mark.parametrize("role", [Role.STITCH, Role.CUT])
def test_outlines_read_back_within_two_hundredths(version: Version, index: int, role: Role) -> None:
    """Both ways within 0.02 mm, read by ezdxf; each block is in the piece's own frame."""
    one = drawn.side_by_side().placed[index]
    document = side_by_side(version)
    ring = outline(document.blocks[one.piece_id.upper()], role)
    chain = next(stroke.chain for stroke in one.drawing.strokes if stroke.role is role)
    assert drawn.apart(ring, flatten(chain, 0.002)[0][:-1]) < 0.02


@pytest.mark.parametrize("version", VERSIONS)
def test_pieces_lie_on_the_sheet_where_they_were_laid(version: Version) -> None:
    sheet = drawn.arranged(SheetSettings(A4))
    assert any(one.motion.turned_deg for one in sheet.placed)
    document = read(dxf_bytes(sheet, DxfSettings(version)))
    inserts = list(document.modelspace().query("INSERT"))
    assert [insert.dxf.name for insert in inserts] == [one.piece_id.upper() for one in sheet.placed]
    for insert, one in zip(inserts, sheet.placed):
        corner = one.drawing.strokes[0].chain.start
        there = insert.matrix44().transform((corner[0], corner[1], 0))
        assert (there.x, there.y) == pytest.approx(one.motion.point(corner), abs=1e-9)


def test_units_are_millimetres() -> None:
    """$INSUNITS 4 is millimetres, $MEASUREMENT 1 metric (DXF reference); R12 knows no units."""
    header = side_by_side("R2000").header
    assert (header["$INSUNITS"], header["$MEASUREMENT"], header["$PSVPSCALE"]) == (4, 1, 1.0)
    assert b"$INSUNITS" not in dxf_bytes(drawn.side_by_side(), DxfSettings("R12"))


@pytest.mark.parametrize("version", VERSIONS)
def test_a_layer_per_role_with_its_own_dashes(version: Version) -> None:
    document = side_by_side(version)
    used = {layer_name(item.role) for d in drawn.drawings() for item in (*d.strokes, *d.words)}
    assert used <= {layer.dxf.name for layer in document.layers}
    assert {e.dxf.layer for block in document.blocks for e in block if not block.is_any_layout} == used
    assert document.layers.get("STITCHING_LINE").dxf.linetype == "STITCHING_LINE"
    assert document.layers.get("CUTTING_LINE").dxf.linetype.upper() == "CONTINUOUS"


def test_the_right_kind_of_line_for_each_version() -> None:
    kinds = {
        version: {e.dxftype() for block in side_by_side(version).blocks for e in block}
        for version in VERSIONS
    }
    assert "POLYLINE" in kinds["R12"] and "LWPOLYLINE" not in kinds["R12"]
    assert "LWPOLYLINE" in kinds["R2000"] and "POLYLINE" not in kinds["R2000"]


def test_curves_are_flattened_no_finer_than_needed() -> None:
    """An arc of radius R flattened with sagitta s has steps of about 2 sqrt(2 R s); here within a factor of two."""
    ring = next(s.chain for s in drawn.drawings()[2].strokes if s.name == "elbow patch")
    points = flatten(ring, FLAT_MM)[0]
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    longest = 2 * np.sqrt(2 * 40.0 * FLAT_MM)
    assert longest / 2 < steps.min() and steps.max() <= longest * 1.01


@pytest.mark.parametrize("version", VERSIONS)
def test_the_same_bytes_twice_and_nothing_said(version: Version, caplog: pytest.LogCaptureFixture) -> None:
    first, second = (dxf_bytes(drawn.side_by_side(), DxfSettings(version)) for _ in range(2))
    assert first == second
    assert not caplog.records
    assert ezdxf.options.write_fixed_meta_data_for_testing is False


def test_lettering_has_its_height_and_stands_where_it_was_set() -> None:
    document = side_by_side("R2000")
    texts = [e for e in document.blocks["FRONT"] if e.dxftype() == "TEXT"]
    words = drawn.drawings()[0].words
    assert [text.dxf.text for text in texts] == [one.words for one in words]
    for text, one in zip(texts, words):
        assert text.dxf.height == one.height_mm
        assert tuple(text.dxf.align_point)[:2] == pytest.approx(one.at, abs=1e-6)


def test_names_the_format_does_not_take_are_made_plain_and_kept_apart() -> None:
    drawing = drawn.drawings()[3]
    odd = type(drawing)("jupe évasée nº 1 with a very long name", "x", drawing.strokes, drawing.words)
    document = read(dxf_bytes(Sheet((Placed(odd), Placed(odd, Motion(e=400.0))), 900, 500), DxfSettings("R12")))
    names = [insert.dxf.name for insert in document.modelspace().query("INSERT")]
    assert len(set(names)) == 2 and all(len(name) <= 31 and name.isascii() for name in names)
