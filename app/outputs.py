"""From a draft to files: which drawings go into which, as bytes. Nothing here writes to the disk."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

from geometry.arranging import alone, arrange
from geometry.by_hand import ByHand
from geometry.drawing import Drawing, record
from geometry.laid_by_hand import Arrangement, lay_as, refuse_overlapping
from geometry.opening_out import opened_out
from geometry.pipeline import Draft
from geometry.print_scale import NONE, Correction
from geometry.rolls import LargePaper, lay
from geometry.sheets import Sheet, SheetSettings, beside, tile
from geometry.step_sheets import steps_sheet
from geometry.units import System

if TYPE_CHECKING:
    from app.files.dxf import DxfSettings
    from app.files.hpgl import Plotted
    from app.files.machine_sheet import MachineSettings


def drawings(draft: Draft, *, redrawn: bool = True, with_before: bool = False) -> tuple[Drawing, ...]:
    """A recorded drawing of each piece: as redrawn (with the traced outline under it if asked), or as traced."""
    cut = draft.cut if redrawn else draft.cut_before
    return tuple(
        record(cut[piece.id], before=piece if with_before and draft.redrawn.piece(piece.id) is not piece else None)
        for piece in draft.garment.pieces
    )


def svg_file(
    draft: Draft, *, redrawn: bool = True, with_before: bool = False, machine: MachineSettings | None = None
) -> bytes:
    """All pieces side by side as SVG; for a ``machine`` in hairlines of the colours of its line table."""
    return sheet_svg(beside(drawings(draft, redrawn=redrawn, with_before=with_before)), draft.garment.name, machine)


def sheet_svg(sheet: Sheet, title: str, machine: MachineSettings | None = None) -> bytes:
    """A sheet as SVG; for a ``machine`` in hairlines of the colours of its line table."""
    from app.files.svg import svg_bytes

    return svg_bytes(_for(machine, sheet), title, machine.table if machine else None)


def dxf_file(draft: Draft, settings: DxfSettings | None = None, machine: MachineSettings | None = None) -> bytes:
    """All pieces side by side as DXF."""
    from app.files.dxf import DxfSettings

    return sheet_dxf(beside(drawings(draft)), settings or DxfSettings(), machine)


def sheet_dxf(sheet: Sheet, settings: DxfSettings, machine: MachineSettings | None = None) -> bytes:
    """A sheet as DXF; for a ``machine`` with no line twice."""
    from app.files.dxf import dxf_bytes

    return dxf_bytes(_for(machine, sheet), settings)


def plot_file(draft: Draft, machine: MachineSettings, origin: Literal["lower-left", "middle"]) -> Plotted:
    """All pieces side by side in HP-GL, lettering as outlines."""
    return sheet_plot(beside(drawings(draft)), machine, origin)


def sheet_plot(sheet: Sheet, machine: MachineSettings, origin: Literal["lower-left", "middle"]) -> Plotted:
    """A sheet in HP-GL, lettering as outlines."""
    from app.files.hpgl import plotted

    return plotted(_for(replace(machine, outlines=True), sheet), machine.table, origin=origin)


def _for(machine: MachineSettings | None, sheet: Sheet) -> Sheet:
    """The sheet as a machine is given it; as it is without one."""
    from app.files.machine_sheet import for_machine

    return for_machine(sheet, machine) if machine else sheet


def whole_drawings(draft: Draft) -> tuple[Drawing, ...]:
    """The drawings with halves on the fold opened out whole."""
    return tuple(opened_out(one, draft.cut[one.piece_id].piece) for one in drawings(draft))


def large_sheets(
    draft: Draft, paper: LargePaper, *, whole: bool = False, square: bool = False
) -> tuple[Sheet, ...]:
    """The pieces laid on large sheets or a roll, with a test ``square`` of 100 mm among them if asked."""
    from app.files.machine_sheet import test_square

    pieces = whole_drawings(draft) if whole else drawings(draft)
    return lay((*pieces, test_square()) if square else pieces, paper)


def large_file(sheets: Sequence[Sheet], title: str) -> bytes:
    """Large sheets as PDF, a page each."""
    from app.files.large_pdf import large_pdf

    return large_pdf(sheets, title)


def page_sheet(
    draft: Draft, settings: SheetSettings, *, closely: bool = True, whole: bool = False, freely: bool = False
) -> Sheet:
    """The pieces arranged on a sheet for these pages; not ``closely`` only as boxes, quicker; ``whole`` opened out;
    ``freely`` at any angle where that saves sheets."""
    return arrange(whole_drawings(draft) if whole else drawings(draft), settings, closely=closely, freely=freely)


def page_sheet_either_way(
    draft: Draft, settings: SheetSettings, *, whole: bool = False, freely: bool = False
) -> tuple[Sheet, SheetSettings]:
    """The sheet with pages upright or lying, whichever takes fewer (upright where both take as many)."""
    ways = [replace(settings, landscape=lying) for lying in (False, True)]
    sheets = [(page_sheet(draft, way, whole=whole, freely=freely), way) for way in ways]
    return min(sheets, key=lambda one: sum(not page.skipped for page in tile(*one)))


def page_sheet_as(draft: Draft, settings: SheetSettings, arrangement: Arrangement, *, whole: bool = False) -> Sheet:
    """The pieces laid as an arrangement says. Raises PatternError for pieces it lacks, or that lie over each other."""
    sheet = lay_as(whole_drawings(draft) if whole else drawings(draft), arrangement, settings)
    refuse_overlapping(sheet)
    return sheet


def pages_alone(draft: Draft, settings: SheetSettings, *, whole: bool = False) -> int:
    """How many pages it would take if each piece were printed by itself."""
    return alone(whole_drawings(draft) if whole else drawings(draft), settings)


def pdf_file(draft: Draft, settings: SheetSettings) -> tuple[bytes, dict[str, Any]]:
    """The pages to print and tape, and the page records of ``print --json``."""
    return pdf_of(page_sheet(draft, settings), settings, draft.garment.name)


def pdf_of(
    sheet: Sheet, settings: SheetSettings, title: str, correction: Correction = NONE,
    only: Collection[str] | None = None,
) -> tuple[bytes, dict[str, Any]]:
    """The pages of a sheet, with a printer's correction; ``only`` names pages to print again, without a first page."""
    from app.files.pdf import tiles_pdf

    data, records = tiles_pdf(sheet, settings, title, correction=correction, only=only)
    return data, dict(records)


def steps_svg(steps: ByHand, system: System) -> bytes:
    """The steps of a note by hand, drawn on one sheet, as SVG."""
    from app.files.svg import svg_bytes

    return svg_bytes(steps_sheet(steps, system), steps.title)


def steps_values(steps: ByHand, system: System) -> dict[str, Any]:
    """The steps of a note as plain values: what is said, and the lengths in it in mm, in order."""
    pieces = [
        {
            "piece": one.piece.id,
            "steps": [
                {"says": step.says(system), "lengths_mm": [round(measure.mm, 3) for measure in step.measures]}
                for step in one.steps
            ],
        }
        for one in steps.pieces
    ]
    return {"note": steps.note.id, "pieces": pieces}


def json_bytes(values: Any) -> bytes:
    """Plain values as readable JSON; the same values always give the same bytes."""
    return (json.dumps(values, ensure_ascii=False, allow_nan=False, indent=1) + "\n").encode()
