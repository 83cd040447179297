"""The command that prints marker sheets."""

from __future__ import annotations

import argparse
from pathlib import Path

from app.commands import Outcome
from app.files.safely import write_bytes
from app.photo.marker_sheets import LEAST_SHEETS, MARKERS_A_SHEET, MOST_SHEETS, RULE_MM, markers_pdf
from app.saying import Say
from geometry.errors import PatternError
from geometry.papers import PAPERS

USUAL_SHEETS = 4


def add_markers_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--paper", choices=("a4", "letter"), default="a4", help="the paper in the printer (a4 if left out)"
    )
    parser.add_argument("--out", required=True, metavar="FILE.pdf")
    parser.add_argument(
        "--sheets",
        type=int,
        default=USUAL_SHEETS,
        metavar="NUMBER",
        help=f"how many, each with its own number ({USUAL_SHEETS} if left out, {LEAST_SHEETS} to {MOST_SHEETS})",
    )


def markers(options: argparse.Namespace, say: Say) -> Outcome:
    """Marker sheets to print, one a page."""
    out = Path(options.out)
    if out.suffix.lower() != ".pdf":
        raise PatternError(f"“{out.name}” should end in .pdf; marker sheets are written as PDF.")
    write_bytes(out, markers_pdf(PAPERS[options.paper], options.sheets))
    say(f"wrote {out}: {options.sheets} marker sheets with {MARKERS_A_SHEET} markers each; print them at “actual size”")
    say(f"measure the rule on each sheet: {RULE_MM:g} mm")
    return Outcome({"file": str(out), "sheets": options.sheets, "markers": MARKERS_A_SHEET, "rule_mm": RULE_MM})
