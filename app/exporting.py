"""The commands that write drawings for other machines: export, and the line table they go by."""

from __future__ import annotations

import argparse
import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app import outputs
from app.saying import said_length
from geometry.errors import PatternError
from geometry.pipeline import Draft
from geometry.rolls import LARGE, large_sheet, roll

if TYPE_CHECKING:
    from app.files.dxf import DxfSettings
    from app.files.hpgl import Plotted
    from app.files.machine_sheet import MachineSettings
    from app.saying import Say

PLOT_ENDINGS = (".plt", ".hpgl")


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``tucktrue export`` beside the garment and the file."""
    parser.add_argument("--dxf-version", choices=("R2000", "R12"), default="R2000", help="for DXF (R2000 if left out)")
    parser.add_argument(
        "--before", action="store_true", help="for SVG: with the outline as traced under the redrawn one"
    )
    parser.add_argument(
        "--machine", action="store_true", help="for a cutter or plotter: no line twice, hairlines, colours by the table"
    )
    parser.add_argument("--lines", metavar="FILE", help="for a machine: the line table to go by")
    parser.add_argument("--outlines", action="store_true", help="lettering as outlines")
    parser.add_argument("--square", action="store_true", help="a test square of 100 mm on its own layer")
    parser.add_argument(
        "--every-line", action="store_true", help="for DXF: every line whole, also where two run together"
    )
    parser.add_argument("--roll", metavar="WIDTH", help="laid on a roll: 610mm, 841mm, 914mm or its own width")
    parser.add_argument("--sheet", choices=tuple(LARGE), help="laid on large sheets")
    parser.add_argument("--opened", action="store_true", help="on a roll or sheet: halves on the fold opened out whole")
    parser.add_argument("--flatten", metavar="LENGTH", help="for DXF: how far from a curve its line may lie (0.01 mm)")
    parser.add_argument("--curves", action="store_true", help="for DXF R2000: true curves, not flattened")
    parser.add_argument(
        "--layers", choices=("names", "numbers"), default="names", help="for DXF: layers by name, or by number"
    )
    parser.add_argument(
        "--origin",
        choices=("lower-left", "middle"),
        default="lower-left",
        help="for HP-GL: where the plotter has its 0,0",
    )


def drawings(drafted: Draft, out: Path, options: argparse.Namespace, say: Say) -> dict[Path, bytes]:
    """What is written, by its file: ``out``, or where the pieces take several sheets “out-1.svg”, “out-2.svg” and so on
    (a PDF has a page for each sheet)."""
    for one in outputs.paper_drawings(drafted, whole=getattr(options, "opened", False)):
        for words in one.unsaid:
            say(f"notice: no room on “{one.name}” for “{words}”")
    if getattr(options, "roll", None) or getattr(options, "sheet", None):
        made = _large(drafted, out, options, say)
        names = [out] if len(made) == 1 else [out.with_stem(f"{out.stem}-{at}") for at in range(1, len(made) + 1)]
        return dict(zip(names, made, strict=True))
    return {out: drawing(drafted, out, options, say)}


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write every file or, where one cannot be written, none that was not there before."""
    from app.files.safely import write_bytes

    made: list[Path] = []
    try:
        for path, data in files.items():
            new = not os.path.lexists(path)
            write_bytes(path, data)
            made += [path] if new else []
    except PatternError:
        for path in made:
            path.unlink(missing_ok=True)
        raise


def drawing(drafted: Draft, out: Path, options: argparse.Namespace, say: Say) -> bytes:
    """The redrawn pieces side by side as the file's ending says: .svg, .dxf, .plt or .hpgl."""
    ending = out.suffix.lower()
    if ending == ".svg":
        return outputs.svg_file(
            drafted, beside=outputs.Beside(before=getattr(options, "before", False)), machine=_machine(options)
        )
    if ending == ".dxf":
        return outputs.dxf_file(drafted, _dxf_settings(options, say), _for_dxf(options))
    if ending in PLOT_ENDINGS:
        machine = _machine(options, always=True)
        assert machine is not None
        found = outputs.plot_file(drafted, machine, getattr(options, "origin", "lower-left"))
        _say_plotted(found, say)
        return found.data
    raise PatternError(f"“{out.name}” should end in .svg, .dxf or .plt, which says what to write.")


def write_table(options: argparse.Namespace, say: Say) -> dict[str, Any]:
    """The line table as it is when none is given, to change and give to ``export --lines``."""
    from app.files.line_table import table_bytes
    from app.files.safely import write_bytes

    if Path(options.out).suffix.lower() != ".json":
        raise PatternError(f"“{Path(options.out).name}” should end in .json; the line table is written so.")
    write_bytes(options.out, table_bytes())
    say(f"wrote {options.out}")
    return {"file": options.out}


def _large(drafted: Draft, out: Path, options: argparse.Namespace, say: Say) -> list[bytes]:
    """Pieces laid on a roll or on large sheets: one PDF, or an SVG, DXF or HP-GL for each sheet."""
    if options.sheet and options.roll:
        raise PatternError("Pieces are laid on a roll or on large sheets; give --roll or --sheet, not both.")
    paper = large_sheet(LARGE[options.sheet]) if options.sheet else roll(said_length("roll", options.roll, say))
    square = getattr(options, "square", False)
    laid = outputs.large_sheets(drafted, paper, whole=options.opened, square=square)
    sizes = ", ".join(f"{sheet.width:.0f} x {sheet.height:.0f} mm" for sheet in laid)
    say(f"laid on {paper.name}: {len(laid)} {'sheet' if len(laid) == 1 else 'sheets'}, {sizes}")
    ending = out.suffix.lower()
    if ending == ".pdf":
        return [outputs.large_file(laid, drafted.garment.name)]
    machine = _machine(options, always=ending in PLOT_ENDINGS)
    machine = replace(machine, square=False) if machine else None
    if ending == ".svg":
        return [outputs.sheet_svg(sheet, drafted.garment.name, machine) for sheet in laid]
    if ending == ".dxf":
        dxf, settings = _for_dxf(options), _dxf_settings(options, say)
        return [outputs.sheet_dxf(sheet, settings, replace(dxf, square=False) if dxf else None) for sheet in laid]
    if ending in PLOT_ENDINGS and machine is not None:
        plots = [outputs.sheet_plot(sheet, machine, options.origin) for sheet in laid]
        for found in plots:
            _say_plotted(found, say)
        return [found.data for found in plots]
    raise PatternError(f"“{out.name}” should end in .pdf, .svg, .dxf or .plt; rolls and large sheets are written so.")


def _machine(options: argparse.Namespace, *, always: bool = False) -> MachineSettings | None:
    from app.files.line_table import LINES, read_table
    from app.files.machine_sheet import MachineSettings

    lines = getattr(options, "lines", None)
    asked = {name: getattr(options, name, False) for name in ("outlines", "square")}
    if not (always or lines or any(asked.values()) or getattr(options, "machine", False)):
        return None
    return MachineSettings(read_table(lines) if lines else LINES, **asked)


def _for_dxf(options: argparse.Namespace) -> MachineSettings | None:
    """A cutter is given no line twice, unless every line is asked for whole."""
    every = getattr(options, "every_line", False)
    machine = _machine(options, always=not every)
    return replace(machine, once=not every) if machine else None


def _dxf_settings(options: argparse.Namespace, say: Say) -> DxfSettings:
    from app.files.dxf import FLAT_MM, DxfSettings
    from app.files.line_table import LINES, read_table

    flat: float | None = FLAT_MM
    if getattr(options, "flatten", None):
        flat = said_length("flatten", options.flatten, say)
    if getattr(options, "curves", False):
        if getattr(options, "flatten", None):
            raise PatternError("Curves are either kept or flattened; give --curves or --flatten, not both.")
        flat = None
    numbers = None
    if getattr(options, "layers", "names") == "numbers":
        numbers = read_table(options.lines) if getattr(options, "lines", None) else LINES
        say("layers by the numbers of the trade's exchange (ASTM D6673, from memory): try one piece first")
    return DxfSettings("R12" if getattr(options, "dxf_version", "") == "R12" else "R2000", flat, numbers)


def _say_plotted(found: Plotted, say: Say) -> None:
    say(
        f"{found.lifts} pen lifts; {found.lifted_mm / 1000:.1f} m with the pen lifted, "
        f"{found.lifted_mm_unordered / 1000:.1f} m before the lines were put in order"
    )
    if found.beyond_16_bits:
        say(
            f"notice: the plot reaches {found.farthest_mm:.0f} mm; older plotters stop at 819 mm from 0,0. Where yours "
            "does, try --origin middle, or plot fewer pieces at a time."
        )
