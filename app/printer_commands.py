"""The commands about printers: which there are, the test page alone, and pages sent straight to one of them."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from app.saying import Say, read_paper, said_length
from app.square_reading import Reading
from geometry.errors import PatternError
from geometry.papers import Paper
from geometry.print_scale import NONE


def add_test_square_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``tucktrue test-square``."""
    parser.add_argument(
        "--reading-across", required=True, metavar="LENGTH", help="what the square of 100 mm measures across"
    )
    parser.add_argument("--reading-down", required=True, metavar="LENGTH", help="what it measures down")
    parser.add_argument("--paper", default="a4", metavar="PAPER", help="the paper the pages were laid out for")
    parser.add_argument("--of", metavar="LENGTH", help="another line was measured, which should be so long (“4 in”)")
    parser.add_argument("--loaded", metavar="PAPER", help="the paper that is in the tray, where it is asked for")
    parser.add_argument("--printer", metavar="NAME", help="keep the correction for this printer")


def add_test_page_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``tucktrue test-page``."""
    parser.add_argument("--paper", default="a4", metavar="PAPER", help="the paper that is in the printer (a4)")
    parser.add_argument("--printer", metavar="NAME", help="print it on this printer")
    parser.add_argument("--out", metavar="FILE.pdf", help="write it")


def list_printers(say: Say) -> dict[str, Any]:
    """The printers of this machine, and the corrections that are kept by name, whether or not they are there."""
    from app import printers, queues

    known = printers.corrections()
    there = queues.queues()
    for one in there:
        usual = "the usual one" if one.usual else ""
        kept = known.get(one.name, NONE).says or "no correction"
        say(f"{one.name}: {', '.join(word for word in (usual, one.says, kept) if word)}")
    for name in known.keys() - {one.name for one in there}:
        say(f"{name}: {known[name].says}, kept by that name; no printer of this machine is called so")
    if not there:
        say("No printer is set up on this machine.")
    rows = [{"name": one.name, "usual": one.usual, "accepting": one.accepting, "says": one.says} for one in there]
    return {"printers": rows, "corrected": {name: known[name].says for name in sorted(known)}}


def test_square(options: argparse.Namespace, say: Say) -> dict[str, Any]:
    """What a reading of the printed square means; with a printer's name its correction is kept."""
    from app import printers

    across = said_length("reading across", options.reading_across, say)
    down = said_length("reading down", options.reading_down, say)
    of = said_length("of", options.of, say) if options.of is not None else 100.0
    loaded = read_paper(options.loaded) if options.loaded is not None else None
    reading = Reading(read_paper(options.paper), across, down, of, loaded)
    for sentence in reading.says():
        say(sentence)
    if reading.trays:
        say("--loaded says which.")
    if options.printer:
        correction = reading.correction()
        kept = printers.keep(options.printer, correction)
        say(f"kept for “{options.printer}” in {kept}: {correction.says or 'no correction'}")
    return {
        "true": reading.is_true,
        "causes": [{"says": cause.says, "measures_mm": round(cause.measures_mm, 3)} for cause in reading.causes],
    }


def test_page(options: argparse.Namespace, say: Say) -> dict[str, Any]:
    """The test page written or printed."""
    from app.files.safely import write_bytes
    from app.files.test_page import test_page_pdf

    if (options.out is None) == (options.printer is None):
        raise PatternError("Say where the test page is to go: --out FILE.pdf writes it, --printer NAME prints it.")
    paper = read_paper(options.paper)
    data = test_page_pdf(paper, options.printer or "")
    if options.printer is not None:
        return {"printed_on": send(data, options.printer, paper, "Test page", say)}
    if Path(options.out).suffix.lower() != ".pdf":
        raise PatternError(f"“{Path(options.out).name}” should end in .pdf; the test page is written as PDF.")
    write_bytes(options.out, data)
    say(f"wrote {options.out}")
    return {"file": options.out}


def send(data: bytes, name: str, paper: Paper, title: str, say: Say) -> str:
    """Send pages to a printer and say what was sent; gives what the printer calls the paper."""
    from app import printers, queues

    called = queues.send(data, name, paper, title)
    say(f"sent to “{name}” on {called}, not scaled, one-sided")
    queue = queues.queue(name)
    if queue.says:
        say(f"notice: “{name}” is {queue.says}.")
    if name not in printers.corrections():
        say("notice: measure the test square before cutting cloth (tucktrue test-square).")
    return called
