"""The command line. It needs no display; ``app.start`` opens the window when no command is given."""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any

# Before numpy: one thread gives the same answer on every machine, and these matrices are small.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from app import (
    commands,
    exporting,
    getting_in,
    note_options,
    printer_commands,
    printing,
    size_commands,
    trace_command,
    trace_options,
    truing_acts,
    truing_commands,
)
from app.photo import commands as photo_commands
from app.saying import Say
from geometry.alterations import everything
from geometry.errors import PatternError

DONE, FAULTED, REFUSED = 0, 1, 2
Command = Callable[[argparse.Namespace, Say], commands.Outcome]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit status is 0 done, 1 a fault that a note caused, 2 the call or the file is wrong."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    for stream in (sys.stdout, sys.stderr):
        # What the terminal or file cannot show, such as ⅝, stands as a question mark there and stops nothing.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        return _run(words, "--json" in words)
    except BrokenPipeError:
        # Whoever read the output stopped reading; nothing is left to tell them.
        _leave_off()
        return REFUSED
    except _UnheardError as error:
        _leave_off()
        _to_stderr(f"What was found could not be written out: {error}.")
        return REFUSED


def _run(words: list[str], as_json: bool) -> int:
    try:
        options = _parser().parse_args(words)
        run: Command = options.run
        say: Say = _to_stderr if as_json else _print
        outcome = run(options, say)
        if as_json:
            _print_json(outcome.values)
        _flush()
    except PatternError as error:
        return _refused(error, as_json)
    except KeyboardInterrupt:
        return _refused(PatternError("Stopped; nothing was left half written."), as_json)
    return FAULTED if outcome.faulted else DONE


class _Parser(argparse.ArgumentParser):
    """A parser whose refusals are sentences like all others."""

    def __init__(self, *words: Any, **how: Any) -> None:
        super().__init__(*words, **how)
        # “-5mm” is a length below nothing and not an option, so that it is refused as one.
        self._negative_number_matcher = re.compile(r"-\.?\d")

    def error(self, message: str) -> None:  # type: ignore[override]
        message = re.sub(r"invalid int value: '(.*)'$", r"“\1” is no whole number", message)
        raise PatternError(f"{message[:1].upper()}{message[1:]}; “{self.prog} --help” shows how it is called.")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="tucktrue",
        description="Redraws flat sewing-pattern pieces from fitting notes. Alone it opens the window.",
    )
    parser.add_argument("--version", action="version", version=f"tucktrue {commands.version()}")
    subparsers = parser.add_subparsers(metavar="COMMAND", required=True, parser_class=_Parser)

    def command(name: str, run: Command, words: str) -> argparse.ArgumentParser:
        made = subparsers.add_parser(name, help=words, description=words)
        made.add_argument(
            "--json", action="store_true", help="one JSON object on standard output, all else on standard error"
        )
        made.set_defaults(run=run)
        return made

    demo = command("demo", commands.demo, "do the whole job on the sample garment")
    demo.add_argument("folder", metavar="DIR", help="the folder to write to; made when it is not there")
    redraw = command("redraw", commands.redraw, "redraw a garment after its notes")
    redraw.add_argument("garment", metavar="GARMENT")
    redraw.add_argument(
        "--out", required=True, metavar="FILE", help="a .garment.json, .svg or .dxf, or a .json for the report"
    )
    walk = command("walk", commands.walk, "walk the seams before and after the notes")
    walk.add_argument("garment", metavar="GARMENT")
    opens = command("openings", commands.openings, "do head, hip and hand get through? say how far the cloth stretches")
    opens.add_argument("garment", metavar="GARMENT")
    getting_in.add_options(opens)
    opens.add_argument("--out", metavar="FILE", help="save here instead of into the garment itself")
    pages, export = _add_paper(command)
    setting = command("set-in", commands.set_in_pieces, "bring pieces traced as cut to their stitching line")
    setting.add_argument("garment", metavar="GARMENT")
    setting.add_argument("--on", action="append", required=True, metavar="PIECE", help="a piece that was traced so")
    setting.add_argument("--out", metavar="FILE", help="save here instead of into the garment itself")
    size_commands.add_options(command("sizes", commands.sizes, "the sizes of a garment, and the size for a body"))
    _add_truing(command)
    photo_commands.add_markers_options(
        command("markers", photo_commands.markers, "print marker sheets to lay round a piece that is photographed")
    )
    for made in (redraw, walk, pages, export):
        made.add_argument("--size", metavar="SIZE", help="in this size of the nest, this once")
    steps = command("steps", commands.show_steps, "how a note is done by hand, step by step")
    steps.add_argument("garment", metavar="GARMENT")
    steps.add_argument("note", metavar="NOTE")
    steps.add_argument("--units", choices=("mm", "cm", "in"), help="of the lengths said (the garment's if left out)")
    steps.add_argument("--out", metavar="FILE.svg", help="draw the steps as well, on one sheet")
    tracing = command("trace", trace_command.run, "bring in pieces from a drawing, photo or scan at true size")
    trace_options.add_options(tracing)
    _add_notes(command("notes", commands.list_notes, "list, write and change the fitting notes"))
    return parser


def _add_paper(
    command: Callable[[str, Command, str], argparse.ArgumentParser],
) -> tuple[argparse.ArgumentParser, argparse.ArgumentParser]:
    """The commands about paper, printers and machines; gives those that draw a garment."""
    pages = command("print", commands.print_pages, "pages to print at true size and tape together")
    pages.add_argument("garment", metavar="GARMENT")
    printing.add_options(pages)
    square = command("test-square", commands.test_square, "what the printed test square measures, and why")
    printer_commands.add_test_square_options(square)
    page = command("test-page", commands.test_page, "the page with the test squares alone, printed or written")
    printer_commands.add_test_page_options(page)
    command("printers", commands.list_printers, "the printers of this machine, and what is kept for them")
    export = command("export", commands.export, "write the redrawn pieces as SVG, DXF or HP-GL")
    export.add_argument("garment", metavar="GARMENT")
    export.add_argument("--out", required=True, metavar="FILE", help="its ending, .svg, .dxf or .plt, says which")
    exporting.add_options(export)
    table = command("line-table", commands.line_table, "write the line table, to change and give to export --lines")
    table.add_argument("--out", required=True, metavar="FILE.json")
    return pages, export


def _add_truing(command: Callable[[str, Command, str], argparse.ArgumentParser]) -> None:
    accept = command("accept", commands.accept_seam, "accept a seam's difference as it was traced")
    accept.add_argument("garment", metavar="GARMENT")
    accept.add_argument("seam", metavar="SEAM", help="the id of the seam, as walk --json gives it")
    accept.add_argument("--out", metavar="FILE", help="save here instead of into the garment itself")
    truing_acts.add_options(
        command("true", truing_commands.true_seams, "true every seam: add the notes that put right what was walked"),
        command("corner", truing_commands.say_corner, "say of a corner that it is meant to point, or is to run on"),
    )


def _add_notes(parser: argparse.ArgumentParser) -> None:
    acts = parser.add_subparsers(metavar="ACT", required=True, parser_class=_Parser)

    def act(name: str, run: Command, words: str, *, saves: bool = True) -> argparse.ArgumentParser:
        made = acts.add_parser(name, help=words, description=words)
        made.add_argument("--json", action="store_true", help="one JSON object on standard output")
        made.add_argument("garment", metavar="GARMENT")
        if saves:
            made.add_argument("--out", metavar="FILE", help="save here instead of into the garment itself")
        made.set_defaults(run=run)
        return made

    act("list", commands.list_notes, "list the notes in the order they are done", saves=False)
    add = act("add", commands.add_note, "write a note")
    kinds = add.add_subparsers(dest="alteration", metavar="ALTERATION", required=True, parser_class=_Parser)
    for alteration in everything():
        kind = kinds.add_parser(
            alteration.name.replace("_", "-"), help=alteration.title, description=alteration.describes
        )
        kind.formatter_class = argparse.RawDescriptionHelpFormatter
        kind.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help=argparse.SUPPRESS)
        kind.add_argument("--out", metavar="FILE", default=argparse.SUPPRESS, help="save here instead")
        note_options.add_amounts(kind, alteration)
    change = act("change", commands.change_note, "change amounts or pieces of a note")
    change.add_argument("note", metavar="NOTE")
    seen: dict[str, str] = {}
    for alteration in everything():
        for name, field in alteration.fields().items():
            seen.setdefault(name, field.label)
    note_options.add_all_amounts(change, seen)
    keep = act("save", commands.save_notes, "keep the notes by themselves, as a client's notes", saves=False)
    keep.add_argument("--out", required=True, metavar="FILE", help="a .notes.json")
    kept = act("apply", commands.apply_notes, "write kept notes on this garment and do them")
    kept.add_argument("notes", metavar="NOTES", help="a .notes.json")
    for name, run, words in (
        ("remove", commands.remove_note, "take a note away"),
        ("on", commands.switch_on, "switch a note on"),
        ("off", commands.switch_off, "switch a note off"),
    ):
        act(name, run, words).add_argument("note", metavar="NOTE")
    move = act("move", commands.move_note, "do a note earlier or later")
    move.add_argument("note", metavar="NOTE")
    move.add_argument("position", type=int, metavar="POSITION", help="its place in the list, from 1")


def _refused(error: PatternError, as_json: bool) -> int:
    if as_json:
        _print_json({"error": {"says": error.says, "where": error.where()}})
        _flush()
    else:
        _to_stderr(error.says)
    return REFUSED


class _UnheardError(Exception):
    """Standard output takes nothing more, and why."""


def _print_json(values: dict[str, Any]) -> None:
    unicode = str(getattr(sys.stdout, "encoding", "utf-8")).lower().startswith("utf")
    _print(json.dumps(values, ensure_ascii=not unicode, allow_nan=False))


def _print(words: str) -> None:
    with _heard():
        print(words)


def _flush() -> None:
    # There is none where it was closed before the program began.
    if sys.stdout is not None:
        with _heard():
            sys.stdout.flush()


@contextlib.contextmanager
def _heard() -> Iterator[None]:
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        raise _UnheardError((error.strerror or str(error)).lower()) from error


def _leave_off() -> None:
    """Whatever is still to be written to standard output goes nowhere, so that leaving does not fail on it again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _to_stderr(words: str) -> None:
    # Where not even a refusal can be told, its exit status still is.
    with contextlib.suppress(OSError):
        print(words, file=sys.stderr)
