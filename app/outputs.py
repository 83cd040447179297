"""From a draft to files: which drawings go into which, as bytes. Nothing here writes to the disk."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

from app.note_options import note_words
from geometry.arranging import alone, arrange
from geometry.by_hand import ByHand
from geometry.drawing import Drawing, Style, record
from geometry.errors import PatternError
from geometry.joined_pieces import sewn_to
from geometry.laid_by_hand import Arrangement, lay_as, refuse_overlapping
from geometry.lettering import Lettering
from geometry.lines import Chain
from geometry.nests import in_size
from geometry.opening_out import opened_out
from geometry.pipeline import Draft
from geometry.pipeline import draft as draft_anew
from geometry.print_scale import NONE, Correction
from geometry.relaying import Effort
from geometry.rolls import LargePaper, lay
from geometry.sheets import Sheet, SheetSettings, join_lines, tile
from geometry.sheets import beside as side_by_side
from geometry.step_sheets import steps_sheet
from geometry.units import System, in_system, tape_words

if TYPE_CHECKING:
    from app.files.dxf import DxfSettings
    from app.files.hpgl import Plotted
    from app.files.machine_sheet import MachineSettings


@dataclass(frozen=True)
class Beside:
    """What is drawn and said of the redrawn pieces beside their own lines.

    ``before``: the outline as traced, lightly dashed; ``shaded``: what was altered in grey; ``sizes``: drafts of other
    sizes by name; ``date``: of the notes done; lengths are said in ``units``.
    """

    before: bool = False
    shaded: bool = False
    sizes: tuple[tuple[str, Draft], ...] = ()
    date: str = ""
    units: System = "mm"


ALONE = Beside()


def drawings(draft: Draft, *, redrawn: bool = True, beside: Beside = ALONE) -> tuple[Drawing, ...]:
    """A recorded drawing of each piece, as redrawn with what is wanted ``beside`` it, or as traced."""
    if redrawn:
        return tuple(_redrawn(draft, piece.id, beside) for piece in draft.garment.pieces)
    return tuple(
        record(draft.cut_before[piece.id], style=Style(lettering=_lettering(draft, piece.id, beside)))
        for piece in draft.garment.pieces
    )


def _redrawn(
    draft: Draft, piece_id: str, beside: Beside, joins: Sequence[Chain] = (), *, whole: bool = False,
    turned_deg: float = 0.0,
) -> Drawing:
    """One piece as redrawn, ``whole`` with its half opened out; lettering keeps clear of ``joins`` between pages.

    Its blocks of rows read once the piece is ``turned_deg``.
    """
    piece = draft.garment.piece(piece_id)
    altered = draft.redrawn.piece(piece_id) is not piece
    notes = notes_done(draft, piece_id, beside)
    plain = _lettering(draft, piece_id, beside)
    lettering = replace(plain, notes=notes, joins=joins, opened=whole, turned_deg=turned_deg)
    drawn = record(
        draft.cut[piece_id],
        style=Style(lettering=lettering),
        before=piece if beside.before and altered else None,
        shaded=draft.cut_before[piece_id] if beside.shaded and altered else None,
        sizes=[(name, other.cut[piece_id]) for name, other in beside.sizes],
    )
    return opened_out(drawn, draft.cut[piece_id].piece) if whole else drawn


def _lettering(draft: Draft, piece_id: str, beside: Beside) -> Lettering:
    return Lettering(say=lambda mm: tape_words(mm, beside.units), joined=sewn_to(draft.garment, piece_id))


def notes_done(draft: Draft, piece_id: str, beside: Beside = ALONE) -> tuple[str, ...]:
    """A heading with the date, and the notes that changed a piece, numbered as they are listed; () where none did."""
    rows = [
        f"{number} {in_system(note_words(draft.garment, step.note), beside.units)}"
        for number, step in enumerate(draft.followed.steps, 1)
        if step.done and step.before.piece(piece_id) is not step.after.piece(piece_id)
    ]
    return (f"Notes done{', ' if beside.date else ''}{beside.date}", *rows) if rows else ()


def in_other_sizes(draft: Draft) -> tuple[tuple[str, Draft], ...]:
    """The same notes done in every other size of the nest, by the size's name.

    Raises PatternError where the garment is drawn in one size.
    """
    garment = draft.garment
    if not garment.nest:
        raise PatternError(f"“{garment.name}” is drawn in one size; there is no other to print with it.")
    notes = [step.note for step in draft.followed.steps]
    return tuple((size, draft_anew(in_size(garment, size), notes)) for size in garment.nest if size != garment.size)


def svg_file(
    draft: Draft, *, redrawn: bool = True, beside: Beside = ALONE, machine: MachineSettings | None = None
) -> bytes:
    """All pieces side by side as SVG; for a ``machine`` in hairlines of the colours of its line table."""
    return sheet_svg(side_by_side(drawings(draft, redrawn=redrawn, beside=beside)), draft.garment.name, machine)


def sheet_svg(sheet: Sheet, title: str, machine: MachineSettings | None = None) -> bytes:
    """A sheet as SVG; for a ``machine`` in hairlines of the colours of its line table."""
    from app.files.svg import svg_bytes

    return svg_bytes(_for(machine, sheet), title, machine.table if machine else None)


def dxf_file(draft: Draft, settings: DxfSettings | None = None, machine: MachineSettings | None = None) -> bytes:
    """All pieces side by side as DXF."""
    from app.files.dxf import DxfSettings

    return sheet_dxf(side_by_side(drawings(draft)), settings or DxfSettings(), machine)


def sheet_dxf(sheet: Sheet, settings: DxfSettings, machine: MachineSettings | None = None) -> bytes:
    """A sheet as DXF; for a ``machine`` with no line twice."""
    from app.files.dxf import dxf_bytes

    return dxf_bytes(_for(machine, sheet), settings)


def plot_file(draft: Draft, machine: MachineSettings, origin: Literal["lower-left", "middle"]) -> Plotted:
    """All pieces side by side in HP-GL, lettering as outlines."""
    return sheet_plot(side_by_side(drawings(draft)), machine, origin)


def sheet_plot(sheet: Sheet, machine: MachineSettings, origin: Literal["lower-left", "middle"]) -> Plotted:
    """A sheet in HP-GL, lettering as outlines."""
    from app.files.hpgl import plotted

    return plotted(_for(replace(machine, outlines=True), sheet), machine.table, origin=origin)


def _for(machine: MachineSettings | None, sheet: Sheet) -> Sheet:
    """The sheet as a machine is given it; as it is without one."""
    from app.files.machine_sheet import for_machine

    return for_machine(sheet, machine) if machine else sheet


def paper_drawings(draft: Draft, *, whole: bool = False, beside: Beside = ALONE) -> tuple[Drawing, ...]:
    """The drawings, ``whole`` with halves on the fold opened out."""
    return tuple(_redrawn(draft, piece.id, beside, whole=whole) for piece in draft.garment.pieces)


def large_sheets(
    draft: Draft, paper: LargePaper, *, whole: bool = False, square: bool = False, beside: Beside = ALONE
) -> tuple[Sheet, ...]:
    """The pieces laid on large sheets or a roll, with a test ``square`` of 100 mm among them if asked."""
    from app.files.machine_sheet import test_square

    pieces = paper_drawings(draft, whole=whole, beside=beside)
    laid = lay((*pieces, test_square()) if square else pieces, paper)
    return tuple(_lettered_there(draft, sheet, (), whole=whole, beside=beside) for sheet in laid)


def _lettered_there(draft: Draft, sheet: Sheet, joins: Sequence[Chain], *, whole: bool, beside: Beside) -> Sheet:
    """The sheet with its pieces lettered anew as they lie, no words across ``joins``; its test square as it was."""
    placed = []
    for one in sheet.placed:
        if one.piece_id not in draft.cut:
            placed.append(one)
            continue
        back = one.motion.undone()
        lines = [line.moved(back) for line in joins]
        drawing = _redrawn(draft, one.piece_id, beside, lines, whole=whole, turned_deg=one.motion.turned_deg)
        placed.append(replace(one, drawing=drawing))
    return replace(sheet, placed=tuple(placed))


def large_file(sheets: Sequence[Sheet], title: str) -> bytes:
    """Large sheets as PDF, a page each."""
    from app.files.large_pdf import large_pdf

    return large_pdf(sheets, title)


def page_sheet(
    draft: Draft,
    settings: SheetSettings,
    *,
    closely: bool = True,
    whole: bool = False,
    freely: bool = False,
    beside: Beside = ALONE,
    effort: Effort | None = None,
) -> Sheet:
    """The pieces arranged on a sheet for these pages; not ``closely`` only as boxes, quicker; ``whole`` opened out;
    ``freely`` at any angle where that saves sheets, until the ``effort`` is over."""
    drawn = paper_drawings(draft, whole=whole, beside=beside)
    sheet = arrange(drawn, settings, closely=closely, freely=freely, effort=effort)
    return lettered_for_pages(draft, sheet, settings, whole=whole, beside=beside)


def lettered_for_pages(
    draft: Draft, sheet: Sheet, settings: SheetSettings, *, whole: bool = False, beside: Beside = ALONE
) -> Sheet:
    """The sheet with its pieces where they lie, lettered anew so that no words lie across a join of these pages."""
    return _lettered_there(draft, sheet, join_lines(sheet, settings), whole=whole, beside=beside)


def page_sheet_either_way(
    draft: Draft, settings: SheetSettings, *, whole: bool = False, freely: bool = False, beside: Beside = ALONE,
    effort: Callable[[], Effort] = Effort,
) -> tuple[Sheet, SheetSettings]:
    """The sheet with pages upright or lying, whichever takes fewer (upright where both take as many).

    Each way is tried with an ``effort`` of its own.
    """
    ways = [replace(settings, landscape=lying) for lying in (False, True)]
    sheets = [
        (page_sheet(draft, way, whole=whole, freely=freely, beside=beside, effort=effort()), way) for way in ways
    ]
    return min(sheets, key=lambda one: count_of(*one))


def count_of(sheet: Sheet, settings: SheetSettings) -> int:
    """How many pages of a sheet are printed."""
    return sum(not page.skipped for page in tile(sheet, settings))


def page_sheet_as(
    draft: Draft, settings: SheetSettings, arrangement: Arrangement, *, whole: bool = False, beside: Beside = ALONE
) -> Sheet:
    """The pieces laid as an arrangement says. Raises PatternError for pieces it lacks, or that lie over each other."""
    sheet = lay_as(paper_drawings(draft, whole=whole, beside=beside), arrangement, settings)
    refuse_overlapping(sheet)
    return lettered_for_pages(draft, sheet, settings, whole=whole, beside=beside)


def pages_alone(draft: Draft, settings: SheetSettings, *, whole: bool = False, beside: Beside = ALONE) -> int:
    """How many pages it would take if each piece were printed by itself."""
    return alone(paper_drawings(draft, whole=whole, beside=beside), settings)


def pdf_file(draft: Draft, settings: SheetSettings) -> tuple[bytes, dict[str, Any]]:
    """The pages to print and tape, and the page records of ``print --json``."""
    return pdf_of(page_sheet(draft, settings), settings, draft.garment.name)


def pdf_of(
    sheet: Sheet, settings: SheetSettings, title: str, correction: Correction = NONE,
    only: Collection[str] | None = None, date: str = "",
) -> tuple[bytes, dict[str, Any]]:
    """The pages of a sheet, with a printer's correction and the garment's date.

    ``only`` names pages to print again, without a first page.
    """
    from app.files.pdf import tiles_pdf

    data, records = tiles_pdf(sheet, settings, title, correction=correction, only=only, date=date)
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
