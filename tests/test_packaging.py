"""The wheel holds everything: built, installed in a clean environment outside the clone, and run there."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("app", "geometry", "sample_pieces")
DEMO_FILES = {
    "garment.garment.json",
    "before.svg",
    "after.svg",
    "after.dxf",
    "tiles-a4.pdf",
    "report.json",
}


def test_the_lowest_versions_are_those_that_are_allowed() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["tests"]]
    allowed = dict(re.findall(r"^([\w-]+)>=([\w.]+)", "\n".join(wanted), re.MULTILINE))
    lines = [line for line in (ROOT / ".lowest.txt").read_text(encoding="utf-8").splitlines() if "==" in line]
    pinned = dict(line.split("==") for line in lines)
    # Of the pins only shiboken6, which comes with PySide6, is asked for by no name.
    assert pinned.keys() - allowed.keys() == {"shiboken6"} and allowed.keys() <= pinned.keys()
    for name, low in allowed.items():
        first = [int(part) for part in re.findall(r"\d+", low)]
        assert [int(part) for part in re.findall(r"\d+", pinned[name])][: len(first)] == first, name


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from a copy so that the clone stays as it is."""
    source = tmp_path_factory.mktemp("source")
    for package in PACKAGES:
        shutil.copytree(ROOT / package, source / package, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "LICENSE", "README.md"):
        if (ROOT / name).exists():
            shutil.copy(ROOT / name, source)
    run(sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", "out", cwd=source)
    (built,) = (source / "out").glob("*.whl")
    return built


@pytest.fixture(scope="module")
def environment(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clean environment that holds the wheel and reads the libraries of this one."""
    place = tmp_path_factory.mktemp("clean") / "env"
    run(sys.executable, "-m", "venv", "--without-pip", str(place))
    pip = (sys.executable, "-m", "pip", "-q", "--disable-pip-version-check", "--python", str(place / "bin" / "python"))
    run(*pip, "install", "--no-deps", "--no-index", str(wheel))
    # Added only now, or pip would find the working copy in it. Its own .pth files are not followed from here.
    (site,) = place.glob("lib/python*/site-packages")
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return place


def test_every_data_file_is_in_the_wheel(wheel: Path) -> None:
    held = set(zipfile.ZipFile(wheel).namelist())
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                assert path.relative_to(ROOT).as_posix() in held, f"{path.name} is left out of the wheel"
    assert not [name for name in held if name.startswith(("tests", "docs"))]


def test_the_installed_program_runs_the_demo_and_finds_its_alterations(environment: Path, tmp_path: Path) -> None:
    run(str(environment / "bin" / "tucktrue"), "demo", "demo_out", cwd=tmp_path)
    assert {path.name for path in (tmp_path / "demo_out").iterdir()} == DEMO_FILES
    ask = "import json, geometry.alterations as a; print(json.dumps([a.__file__, [x.name for x in a.everything()]]))"
    where, names = json.loads(run(str(environment / "bin" / "python"), "-c", ask, cwd=tmp_path))
    assert Path(where).is_relative_to(environment)
    files = {path.stem for path in (ROOT / "geometry" / "alterations").glob("*.py")} - {"__init__", "base"}
    assert len(names) == len(files) >= 5
    assert set(names) == files, "an alteration is called after its file"


def run(*command: str, cwd: Path | None = None) -> str:
    """What a command prints, run without this process's Python settings; fails with its error output."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    done = subprocess.run(command, cwd=cwd, env=kept, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, f"{' '.join(command)}\n{done.stdout}\n{done.stderr}"
    return done.stdout
