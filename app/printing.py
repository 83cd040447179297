"""The commands about paper: print, and what the printed square measures."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from app import outputs, printer_commands
from app.documents import Settings
from app.laying_stops import listening
from app.saying import Say, read_paper, said_length
from geometry.errors import PatternError
from geometry.laid_by_hand import arrangement_of
from geometry.papers import PAPERS, Paper
from geometry.pipeline import Draft
from geometry.print_scale import NONE, Correction
from geometry.sheets import Sheet, SheetSettings
from geometry.units import System

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec")


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``tucktrue print`` beside the garment."""
    parser.add_argument(
        "--paper", metavar="PAPER", help=f"{', '.join(PAPERS)}, or “200mm x 300mm” (the garment's if left out)"
    )
    parser.add_argument("--out", metavar="FILE.pdf", help="the pages; left out, the sheets are only counted")
    parser.add_argument(
        "--overlap", metavar="LENGTH", help="how far neighbouring pages overlap (12 mm if left out; 0: edge to edge)"
    )
    parser.add_argument("--margin", metavar="LENGTH", help="what the printer leaves blank all round (the paper's own)")
    parser.add_argument("--landscape", action="store_true", help="pages lying on their long side")
    parser.add_argument(
        "--either-way", action="store_true", help="pages upright or lying, whichever takes fewer sheets"
    )
    parser.add_argument(
        "--turn-freely", action="store_true", help="any piece may lie askew on the paper, if that saves sheets"
    )
    parser.add_argument(
        "--arrangement", metavar="FILE",
        help="lay the pieces as this file says: one saved in the window, or what print --json wrote",
    )
    parser.add_argument(
        "--save-arrangement", metavar="FILE.arrangement.json", help="save how the pieces are laid, for --arrangement"
    )
    parser.add_argument("--pages", metavar="NAMES", help="print these pages again: “B3” or “A1,C2-C4”")
    parser.add_argument(
        "--printer", metavar="NAME", help="print on this printer, or with --out write the pages with its correction"
    )
    parser.add_argument("--opened", action="store_true", help="halves on the fold opened out whole")
    parser.add_argument("--before", action="store_true", help="with the outline as traced, lightly dashed")
    parser.add_argument("--shaded", action="store_true", help="what was altered shaded grey")
    parser.add_argument("--nest", action="store_true", help="with the lines of the other sizes, each in its own layer")
    parser.add_argument("--toile", action="store_true", help="for a fitting toile: 25 mm at every seam")


def printed(drafted: Draft, usual: Settings, options: argparse.Namespace, say: Say) -> dict[str, Any]:
    """Lay the pages out, write them where a file is named, and say how many sheets it takes."""
    if options.out is not None and Path(options.out).suffix.lower() != ".pdf":
        raise PatternError(f"“{Path(options.out).name}” should end in .pdf; pages are written as PDF.")
    settings, correction = _settings(usual.paper, options, say)
    beside = beside_of(drafted, usual.units, options)
    sheet, settings = _arranged(drafted, settings, beside, options, say)
    only = page_names(options.pages)
    data, records = outputs.pdf_of(sheet, settings, drafted.garment.name, correction, only, beside.date)
    count, now = sum(not page["skipped"] for page in records["pages"]), _printed_now(records)
    alone = outputs.pages_alone(drafted, settings, whole=options.opened, beside=beside)
    saved = f"; {alone} if each piece were printed by itself" if alone > count else ""
    lying = " landscape" if settings.landscape else ""
    again = f"{now} of " if only is not None else ""
    say(f"{again}{_sheets(count)} of {settings.paper.name}{lying}{', printed again' if again else saved}")
    for one in sheet.placed:
        for words in one.drawing.unsaid:
            say(f"notice: no room on “{one.drawing.name}” for “{words}”; it stands on the first page.")
    if correction.says:
        say(f"notice: {correction.says}")
    if options.out is not None:
        from app.files.safely import write_bytes

        write_bytes(options.out, data)
        first = "without the first page" if again else "after a first page with test squares and map"
        say(f"wrote {options.out}: {_sheets(now)} {first}")
    sent = {}
    if options.out is None and options.printer:
        called = printer_commands.send(data, options.printer, settings.paper, drafted.garment.name, say)
        sent = {"sent_to": options.printer, "sent_on": called, "corrected": correction.says}
    if options.save_arrangement is not None:
        _save_arrangement(options.save_arrangement, sheet, drafted.garment.name, say)
    return records | {"sheets": count, "sheets_alone": alone} | sent


def _printed_now(records: Mapping[str, Any]) -> int:
    """How many pages to tape the file has."""
    return sum(page["page"] is not None for page in records["pages"])


def sent_words(values: Mapping[str, Any]) -> str:
    """What was sent to a printer, from what ``printed`` found."""
    pages, again = _printed_now(values), any(page["page"] == 1 for page in values["pages"])
    what = _sheets(pages) if again else f"{_sheets(pages)} and a first page"
    corrected = f", {values['corrected']}" if values["corrected"] else ""
    return (
        f"{what} sent to {values['sent_to']} on {values['sent_on']}, not scaled{corrected}. Measure the test square "
        "before you cut cloth."
    )


def saved_words(values: Mapping[str, Any], files: str) -> str:
    """What was written to the ``files`` of pages, from what ``printed`` found."""
    pages, first = _printed_now(values), all(page["page"] != 1 for page in values["pages"])
    what = "1 page" if pages == 1 else f"{pages} pages"
    what += " and a first page with the test squares were" if first else " to print again " + ("was", "were")[pages > 1]
    return f"{what} saved as {files}. Print at 100 %, never fitted to the page."


def _arranged(
    drafted: Draft, settings: SheetSettings, beside: outputs.Beside, options: argparse.Namespace, say: Say
) -> tuple[Sheet, SheetSettings]:
    """The sheet as the file given lays it, or as the program does. Raises PatternError where pieces lie over others."""
    whole, freely = options.opened, options.turn_freely
    if options.arrangement is None:
        with listening(say, askew=freely) as effort:
            if options.either_way:
                return outputs.page_sheet_either_way(
                    drafted, settings, whole=whole, freely=freely, beside=beside, effort=effort
                )
            sheet = outputs.page_sheet(drafted, settings, whole=whole, freely=freely, beside=beside, effort=effort())
            return sheet, settings
    if options.either_way:
        raise PatternError("An arrangement is for pages of one way; give --landscape or nothing, not --either-way.")
    from app.files.arrangement_file import open_file

    arrangement = open_file(options.arrangement)
    return outputs.page_sheet_as(drafted, settings, arrangement, whole=whole, beside=beside), settings


def _save_arrangement(path: str, sheet: Sheet, garment: str, say: Say) -> None:
    from app.files.arrangement_file import ENDING, save_file

    if not path.endswith(ENDING):
        raise PatternError(f"“{Path(path).name}” should end in {ENDING}.")
    save_file(path, arrangement_of(sheet), garment)
    say(f"wrote {path}: where each piece lies on the sheet")


def beside_of(drafted: Draft, units: System, options: argparse.Namespace) -> outputs.Beside:
    """What is drawn beside the pieces. Raises PatternError for a nest where there is one size."""
    sizes = outputs.in_other_sizes(drafted) if options.nest else ()
    return outputs.Beside(options.before, options.shaded, sizes, saved_on(options.garment), units)


def saved_on(path: str | Path) -> str:
    """The day on which a file was last saved, as “26 Nov 2026”; nothing where it cannot be told."""
    try:
        return day_words(date.fromtimestamp(Path(path).stat().st_mtime))
    except (OSError, OverflowError, ValueError):
        return ""


def day_words(day: date) -> str:
    """A day as “26 Nov 2026”."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _settings(usual_paper: str, options: argparse.Namespace, say: Say) -> tuple[SheetSettings, Correction]:
    paper = read_paper(options.paper) if options.paper is not None else PAPERS[usual_paper]
    margin, overlap = paper.margin_mm, SheetSettings().overlap_mm
    if options.margin is not None:
        margin = said_length("margin", options.margin, say)
    if options.overlap is not None:
        overlap = said_length("overlap", options.overlap, say)
    if options.landscape and options.either_way:
        raise PatternError("Pages lie on their long side or whichever way is less; give --landscape or --either-way.")
    correction = _correction(options, paper)
    return SheetSettings(paper, margin, overlap, options.landscape), correction


def _correction(options: argparse.Namespace, paper: Paper) -> Correction:
    """The correction of the printer that is named; where it prints itself, one that was not measured prints as it is.

    Raises PatternError, before the pages are laid out, for a printer that could not print them.
    """
    from app import printers, queues

    if not options.printer:
        return NONE
    if options.out is not None:
        return printers.correction(options.printer)
    known = printers.corrections()
    queues.taken(options.printer, paper)
    return known.get(options.printer, NONE)


def _sheets(count: int) -> str:
    return "1 sheet" if count == 1 else f"{count} sheets"


def page_names(given: str | None) -> frozenset[str] | None:
    """The page names that “A1,C2-C4” means; None for all. Raises PatternError for what names no page."""
    if given is None:
        return None
    found: set[str] = set()
    for part in given.upper().replace(" ", "").split(","):
        match = re.fullmatch(r"([A-Z]{1,2})(\d{1,2})(?:-(?:\1)?(\d{1,2}))?", part)
        if not match or (match[3] and int(match[3]) < int(match[2])):
            raise PatternError(f"“{part[:20]}” names no page; write “B3”, or “C2-C4” for several of a row.")
        found |= {f"{match[1]}{column}" for column in range(int(match[2]), int(match[3] or match[2]) + 1)}
    return frozenset(found)

