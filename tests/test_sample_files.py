"""The sample files: what the drafting script writes, and what other readers make of the tracings."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import shapely

import sample_pieces
from app.command_line import main
from app.files.garment_file import open_file
from geometry.errors import PatternError
from geometry.lines import flatten
from geometry.sameness import same
from sample_pieces.draft import everything, sample_files, undershirt
from sample_pieces.drafting.tracings import SHEET_HEIGHT, traced_pieces

SAMPLES = everything()
FILES = sample_files()
FOLDER = Path(sample_pieces.__file__).parent


@pytest.mark.parametrize("name", list(FILES))
def test_the_committed_file_is_what_the_script_writes(name: str) -> None:
    kept = (FOLDER / name).read_bytes()
    if name.endswith(".dxf"):
        # Other releases of the writer order the file's tables otherwise; the lines are what counts.
        assert dxf_lines(kept) == dxf_lines(FILES[name]), "run python -m sample_pieces.draft"
    else:
        assert kept == FILES[name], "run python -m sample_pieces.draft"


def dxf_lines(data: bytes) -> list[tuple[str, bool, list[tuple[float, ...]]]]:
    """Every polyline of a DXF: its layer, whether it is closed, its points in mm."""
    import ezdxf

    document = ezdxf.read(io.StringIO(data.decode()))
    return [
        (line.dxf.layer, line.closed, [tuple(round(v, 6) for v in point[:2]) for point in line.get_points()])
        for line in document.modelspace().query("LWPOLYLINE")
    ]


def test_the_script_writes_the_same_bytes_twice() -> None:
    assert sample_files() == FILES


def test_every_sample_garment_is_named_and_found() -> None:
    assert set(sample_pieces.names()) == {
        name for name in FILES if name.endswith(".garment.json") and "/" not in name
    }
    for name in sample_pieces.names():
        assert sample_pieces.path(name).is_file()


def test_an_unknown_sample_is_refused_in_a_sentence() -> None:
    with pytest.raises(PatternError, match="no sample “breeches”"):
        sample_pieces.path("breeches")


@pytest.mark.parametrize("name", list(SAMPLES))
def test_a_sample_opens_as_it_was_drafted(name: str) -> None:
    garment, notes = SAMPLES[name]
    document, _ = open_file(sample_pieces.path(f"{name}.garment.json"))
    assert same(document.garment, garment, 1e-9)
    assert same(document.notes, notes)


@pytest.mark.parametrize(
    ("name", "status"),
    [("undershirt", 0), ("waistcoat", 0), ("funnel-neck", 0), ("traced-pair", 0), ("front-only", 1)],
)
def test_only_a_fault_that_a_note_caused_ends_with_1(
    name: str, status: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["walk", str(sample_pieces.path(f"{name}.garment.json"))]) == status
    assert capsys.readouterr().out


def outlines() -> dict[str, np.ndarray]:
    """The drafted outlines where the tracing lays them, y up, within 0.001 mm."""
    return {piece.id: flatten(outline, 0.001)[0] for piece, outline, _ in traced_pieces(undershirt())}


def test_svgelements_reads_the_svg_tracing_at_true_size() -> None:
    from svgelements import SVG
    from svgelements import Path as SvgPath

    # mm = px x 25.4 / 96 (CSS reference pixel).
    drawing = SVG.parse(io.BytesIO(FILES["tracings/undershirt-front-back.svg"]), ppi=96)
    paths = {one.id: one for one in drawing.elements() if isinstance(one, SvgPath)}
    for piece_id, drafted in outlines().items():
        # Per segment, or a long side is cut as coarsely as a short one.
        read = np.array(
            [(p.x, p.y) for s in paths[piece_id].segments() for p in (s.point(t) for t in np.linspace(0, 1, 200)) if p]
        )
        read = read * 25.4 / 96
        read[:, 1] = SHEET_HEIGHT - read[:, 1]
        assert hausdorff(read, drafted) < 0.02
    assert {"front.grain", "back.lengthen"} <= set(paths)


def test_ezdxf_reads_the_dxf_tracing_in_mm() -> None:
    import ezdxf

    document = ezdxf.read(io.StringIO(FILES["tracings/undershirt-front-back.dxf"].decode()))
    assert document.header["$INSUNITS"] == 4
    closed = list(document.modelspace().query("LWPOLYLINE[layer=='OUTLINE']"))
    assert all(one.closed for one in closed)
    for polyline, drafted in zip(closed, outlines().values(), strict=True):
        read = np.array([(x, y) for x, y, *_ in polyline.get_points()])
        assert hausdorff(np.concatenate([read, read[:1]]), drafted) < 0.01
    assert len(document.modelspace().query("LINE[layer=='LINES']")) == 10


def hausdorff(first: np.ndarray, second: np.ndarray) -> float:
    """The greatest distance between two closed lines, both ways (GEOS)."""
    one, other = shapely.LineString(first), shapely.LineString(second)
    here, there = shapely.distance(shapely.points(first), other), shapely.distance(shapely.points(second), one)
    return max(float(np.max(here)), float(np.max(there)))
