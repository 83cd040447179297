"""What may import what, and how large anything may grow, as plain sentences."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
GEOMETRY = "geometry"

#: From first to last: a module imports from its own row and the rows above it only.
LAYERS = (
    ("errors", "tolerances", "letter_widths", "memory", "kept"),
    ("motions", "units", "papers", "roots"),
    ("beziers", "regions", "quadratics"),
    ("coarse", "slabs"),
    ("lines",),
    ("sameness", "said_places", "splines"),
    ("closures", "pieces", "fairness", "crossings", "size_tables"),
    ("garments",),
    ("nests", "findings"),
    ("notes",),
    ("stages", "rings"),
    ("cuts",),
    (
        "measures", "moves", "joints", "parallels", "offsets", "fitting",
        "batten_knots", "gluing", "batten_rows", "battens", "slips",
    ),
    ("cutting_lines", "readings", "reshaping", "reseating", "named_corners"),
    ("sizing", "dart_legs"),
    ("shifting", "darts", "carrying"),
    (
        "seam_levels", "slashes", "joined_pieces", "legs", "body_regions", "bands",
        "bust_slashes", "centre_wedges", "dart_turning", "necklines",
    ),
    ("bust_levels", "pinches", "sleeves", "battened", "size_blends"),
    ("turned_wedges",),
    ("handwork",),
    ("hand_places",),
    ("hand_cuts", "hand_edges"),
    ("hand_ways", "hand_bust", "hand_seams"),
    ("alterations",),
    ("following",),
    ("jogs", "characters", "stretches", "old_lines", "bounded", "reaching", "battening", "redrawing", "appraising"),
    ("blending",),
    ("truing", "corners", "dart_caps", "grown_on", "getting_in"),
    ("cut_corners", "hem_fullness", "allowances", "setting_in"),
    ("pens", "strokes", "paper_room", "named_lines", "lettering", "underlay", "drawing", "thinning"),
    ("sheets", "travel"),
    ("print_scale",),
    ("shape_cells",),
    ("relaying", "clear_of_joins"),
    ("arranging", "opening_out", "toiles"),
    ("rolls", "laid_by_hand"),
    ("pipeline",),
    ("by_hand",),
    ("sketches", "step_sheets"),
    ("matters",),
    ("truing_acts",),
    ("mates_notes", "opening_acts", "allowance_acts"),
    ("remedies",),
    ("every_seam",),
)

#: Loaded only inside the function that needs them, so that the window's first paint waits for none of them.
HEAVY = {"ezdxf", "fontTools", "reportlab", "pikepdf", "pypdfium2", "jsonschema", "svgelements", "svgwrite"}
HEAVY |= {"scipy", "cv2", "PIL", "defusedxml"}

LONGEST_FILE = 420
LONGEST_FUNCTION = 60
LONG_FILES = {
    "geometry/pieces.py": "the words of a piece and the checks that hold them together",
}
LONG_FUNCTIONS: dict[str, str] = {}


def test_geometry_imports_only_numpy_shapely_the_standard_library_and_itself() -> None:
    for path, module in imports_of(GEOMETRY):
        top = module.split(".")[0]
        assert top in {"numpy", "shapely", GEOMETRY} or top in sys.stdlib_module_names, f"{path} imports {module}"


def test_geometry_touches_no_file_and_no_process() -> None:
    outside = {"os", "pathlib", "io", "tempfile", "subprocess", "socket", "shutil"}
    outside |= {"random", "secrets", "time", "datetime", "uuid"}
    for path, module in imports_of(GEOMETRY):
        assert module.split(".")[0] not in outside, f"{path} imports {module}"


def test_every_module_of_geometry_has_its_row() -> None:
    placed = {name for row in LAYERS for name in row}
    for path in files_of(GEOMETRY):
        name = part_of(path)
        assert name is None or name in placed, f"{path.name} has no row in LAYERS; give it one"


def test_geometry_imports_one_way() -> None:
    row_of = {name: row for row, names in enumerate(LAYERS) for name in names}
    for path, module in imports_of(GEOMETRY):
        here, there = part_of(path), target_of(module)
        if here is None or there is None:
            continue
        assert row_of[there] <= row_of[here], f"{path.name} imports {module}, which comes after it"


def test_no_import_in_geometry_goes_round_in_a_circle() -> None:
    links: dict[str, set[str]] = {}
    for path, module in imports_of(GEOMETRY):
        links.setdefault(module_name(path), set()).add(module)
    done: set[str] = set()

    def visit(module: str, trail: tuple[str, ...]) -> None:
        assert module not in trail, " -> ".join((*trail, module))
        if module in done:
            return
        for following in sorted(links.get(module, ())):
            visit(following, (*trail, module))
        done.add(module)

    for module in sorted(links):
        visit(module, ())


def test_geometry_does_not_know_the_app() -> None:
    assert not [path for path, module in imports_of(GEOMETRY) if module.split(".")[0] == "app"]


def test_an_alteration_does_not_know_what_comes_after_the_notes() -> None:
    for path, module in imports_of(f"{GEOMETRY}/alterations"):
        later = {"following", "blending", "truing", "allowances", "drawing", "sheets", "pipeline"}
        assert target_of(module) not in later, f"{path.name} imports {module}"


def test_only_the_pipeline_calls_the_chain() -> None:
    for path, module in imports_of("app"):
        assert target_of(module) not in {"following", "blending", "truing", "allowances"}, (
            f"{path.relative_to(ROOT)} imports {module}; ask geometry.pipeline"
        )


def test_only_the_window_imports_qt() -> None:
    for path, module in (*imports_of("app"), *imports_of(GEOMETRY), *imports_of("sample_pieces")):
        if module.split(".")[0] in {"PySide6", "shiboken6"}:
            assert path.is_relative_to(ROOT / "app" / "window"), f"{path.relative_to(ROOT)} imports {module}"


def test_files_and_the_command_line_do_not_import_the_window_when_they_load() -> None:
    for path, module in imports_of("app", at_load=True):
        if module.startswith("app.window"):
            assert path.is_relative_to(ROOT / "app" / "window"), f"{path.relative_to(ROOT)} imports {module}"


def test_heavy_libraries_are_loaded_only_where_they_are_used() -> None:
    for folder in ("app", GEOMETRY):
        for path, module in imports_of(folder, at_load=True):
            assert module.split(".")[0] not in HEAVY, f"{path.relative_to(ROOT)} loads {module} when it is imported"


def test_the_app_reads_no_clock_and_throws_no_dice() -> None:
    for path, module in (*imports_of("app"), *imports_of("sample_pieces")):
        assert module.split(".")[0] not in {"random", "uuid", "secrets"}, f"{path.relative_to(ROOT)} imports {module}"


def test_what_is_imported_is_declared_and_nothing_else() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = declared(project["dependencies"])
    own = {"app", GEOMETRY, "sample_pieces", "tests", "__future__"} | sys.stdlib_module_names
    used = {module.split(".")[0] for folder in ("app", GEOMETRY, "sample_pieces") for _, module in imports_of(folder)}
    assert used - own == needed
    in_tests = {module.split(".")[0] for _, module in imports_of("tests")}
    assert in_tests - own <= needed | declared(project["optional-dependencies"]["tests"])


def test_files_stay_short() -> None:
    for path in (*files_of("app"), *files_of(GEOMETRY), *files_of("sample_pieces")):
        name = path.relative_to(ROOT).as_posix()
        lines = len(path.read_text(encoding="utf-8").splitlines())
        if name in LONG_FILES:
            assert lines > LONGEST_FILE, f"{name} has {lines} lines and needs no exception any more"
        else:
            assert lines <= LONGEST_FILE, f"{name} has {lines} lines"


def test_functions_stay_short() -> None:
    long = set()
    for path in (*files_of("app"), *files_of(GEOMETRY), *files_of("sample_pieces")):
        for node in ast.walk(tree_of(path)):
            if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                continue
            if (node.end_lineno or node.lineno) - node.lineno >= LONGEST_FUNCTION:
                long.add(f"{path.relative_to(ROOT).as_posix()}:{node.name}")
    assert long == set(LONG_FUNCTIONS)


def test_public_modules_say_what_they_are_for() -> None:
    for path in (*files_of("app"), *files_of(GEOMETRY), *files_of("sample_pieces")):
        assert ast.get_docstring(tree_of(path)), f"{path.relative_to(ROOT)} has no first lines"


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("import numpy as np", ["numpy"]),
        ("from geometry import units", ["geometry.units"]),
        ("from geometry.alterations import find", ["geometry.alterations"]),
        ("def f():\n    import ezdxf", []),
        ("if True:\n    import ezdxf", ["ezdxf"]),
        ("class A:\n    import ezdxf", ["ezdxf"]),
        ("from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import ezdxf", ["typing"]),
    ],
)
def test_the_reader_of_imports_sees_what_loads(source: str, found: list[str]) -> None:
    assert list(names_in(ast.parse(source), at_load=True)) == found


def files_of(folder: str) -> Iterator[Path]:
    return (path for path in sorted((ROOT / folder).rglob("*.py")) if "__pycache__" not in path.parts)


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imports_of(folder: str, *, at_load: bool = False) -> Iterator[tuple[Path, str]]:
    """Every file of a folder with each module that it imports; with ``at_load`` only those outside functions."""
    for path in files_of(folder):
        for module in names_in(tree_of(path), at_load=at_load):
            yield path, module


def names_in(node: ast.AST, *, at_load: bool) -> Iterator[str]:
    for child in ast.iter_child_nodes(node):
        if at_load and isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if at_load and isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
            continue
        if isinstance(child, ast.Import):
            yield from (alias.name for alias in child.names)
        elif isinstance(child, ast.ImportFrom):
            assert child.level == 0 and child.module, "imports are written in full"
            if child.module in {GEOMETRY, "app"}:
                yield from (f"{child.module}.{alias.name}" for alias in child.names)
            else:
                yield child.module
        else:
            yield from names_in(child, at_load=at_load)


def declared(requirements: list[str]) -> set[str]:
    """The modules that a list of requirements brings."""
    names = {re.split(r"[^\w.-]", requirement)[0] for requirement in requirements}
    own = {"PySide6-Essentials": "PySide6", "fonttools": "fontTools", "pillow": "PIL", "pytest-qt": "pytestqt"}
    own["opencv-python-headless"] = "cv2"
    return {own.get(name, name.replace("-", "_")) for name in names}


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def part_of(path: Path) -> str | None:
    """The row name of a file in geometry: its module, or the folder that it stands in."""
    first = path.relative_to(ROOT / GEOMETRY).parts[0]
    return None if first == "__init__.py" else first.removesuffix(".py")


def target_of(module: str) -> str | None:
    parts = module.split(".")
    return parts[1] if parts[0] == GEOMETRY and len(parts) > 1 else None
