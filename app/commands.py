"""What each command does: read, draft, say, write. Every refusal is a PatternError with its sentence."""

from __future__ import annotations

import argparse
import importlib.metadata
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from app import exporting, getting_in, kept_notes, note_options, outputs, printer_commands, printing, size_commands
from app.documents import Document, changed_on_opening, lengths_of, next_note_id, with_notes, with_size
from app.files.garment_file import open_file, to_bytes
from app.files.json_text import json_bytes
from app.files.lock import lock
from app.files.safely import made_folder, write_bytes
from app.report import finding_values, has_note_fault, report
from app.saying import Say
from geometry.alterations import find
from geometry.by_hand import by_hand
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.nests import alone, in_every_size
from geometry.notes import Note
from geometry.papers import PAPERS
from geometry.pipeline import Draft, draft
from geometry.setting_in import set_in
from geometry.sheets import SheetSettings
from geometry.toiles import toile
from geometry.units import System


@dataclass(frozen=True)
class Outcome:
    """What a command found: plain values for --json, and whether a note put a seam out."""

    values: dict[str, Any] = field(default_factory=dict)
    faulted: bool = False


def version() -> str:
    """The installed version of the program."""
    return importlib.metadata.version("tuck-and-true")


def demo(options: argparse.Namespace, say: Say) -> Outcome:
    """The whole job on the sample garment: six files in a folder."""
    import sample_pieces

    if not options.folder:
        raise PatternError("The folder to write to has no name; write a point for the one you are in.")
    folder = Path(options.folder)
    document, _ = open_file(sample_pieces.path("undershirt.garment.json"))
    drafted = draft(document.garment, document.notes)
    say(f"{document.garment.name}, size {document.garment.size}, {len(document.garment.pieces)} pieces")
    for number, note in enumerate(document.notes, 1):
        say(f"note {number}: {note_options.note_words(document.garment, note)}")
    values = report(drafted)
    pdf, _ = outputs.pdf_file(drafted, SheetSettings(PAPERS["a4"]))
    files = {
        "garment.garment.json": to_bytes(replace(document, results=lengths_of(drafted.redrawn))),
        "before.svg": outputs.svg_file(drafted, redrawn=False),
        "after.svg": outputs.svg_file(drafted),
        "after.dxf": outputs.dxf_file(drafted),
        "tiles-a4.pdf": pdf,
        "report.json": json_bytes(values),
    }
    with made_folder(folder):
        for name, data in files.items():
            write_bytes(folder / name, data)
            say(f"wrote {folder / name}")
    _say_findings(drafted, say)
    return Outcome(values, has_note_fault(drafted))


def redraw(options: argparse.Namespace, say: Say) -> Outcome:
    """The garment after its notes: as a garment of its own, a drawing, or the report, by the file's ending."""
    document, drafted = _drafted(options)
    out = Path(options.out)
    ending = out.suffix.lower()
    if out.exists() and out.samefile(options.garment):
        raise PatternError(
            f"“{out.name}” is the garment itself; what is redrawn would take the place of its tracing and notes. "
            "Write it under another name."
        )
    if out.name.endswith(".garment.json"):
        redrawn = replace(document, garment=alone(drafted.redrawn), notes=(), results=lengths_of(drafted.redrawn))
        data = to_bytes(redrawn)
    elif ending == ".json":
        data = json_bytes(report(drafted))
    elif ending in (".svg", ".dxf"):
        data = exporting.drawing(drafted, out, options, say)
    else:
        raise PatternError(f"“{out.name}” should end in .garment.json, .json, .svg or .dxf.")
    write_bytes(out, data)
    say(f"wrote {out}")
    _say_findings(drafted, say)
    return Outcome(report(drafted), has_note_fault(drafted))


def walk(options: argparse.Namespace, say: Say) -> Outcome:
    """The seams before and after the notes, and every finding."""
    _, drafted = _drafted(options)
    for before, after in zip(drafted.before, drafted.after, strict=True):
        since = "" if after.verdict in ("true", "ease") else f", {_since(drafted, after.since)}"
        say(
            f"{after.name}: {after.first_mm:.1f} / {after.second_mm:.1f} mm, {_signed(after.difference_mm)} mm "
            f"(was {_signed(before.difference_mm)}): {after.verdict}{since}"
        )
    for passage in drafted.passages:
        say(getting_in.passage_line(drafted.garment, passage))
    _say_findings(drafted, say)
    return Outcome(report(drafted), has_note_fault(drafted))


def openings(options: argparse.Namespace, say: Say) -> Outcome:
    """What has to pass neck, waist and wrists, and what the garment says of it, changed where options say so."""
    if getting_in.asked(options):
        document, drafted = saved(options, lambda d: replace(d, garment=getting_in.changed(d.garment, options)))
    else:
        document, drafted = _drafted(options)
    garment = document.garment
    for opening in garment.openings:
        say(f"{opening.id}: {getting_in.opening_words(garment, opening)}")
    for passage in drafted.passages:
        say(getting_in.passage_line(garment, passage))
    _say_findings(drafted, say)
    found = [getting_in.passage_values(passage) for passage in drafted.passages]
    return Outcome({"openings": found}, has_note_fault(drafted))


def print_pages(options: argparse.Namespace, say: Say) -> Outcome:
    """Pages at true size."""
    document, drafted = _drafted(options)
    records = printing.printed(drafted, document.settings, options, say)
    _say_findings(drafted, say)
    return Outcome(records, has_note_fault(drafted))


def test_square(options: argparse.Namespace, say: Say) -> Outcome:
    return Outcome(printer_commands.test_square(options, say))


def test_page(options: argparse.Namespace, say: Say) -> Outcome:
    return Outcome(printer_commands.test_page(options, say))


def list_printers(options: argparse.Namespace, say: Say) -> Outcome:
    return Outcome(printer_commands.list_printers(say))


def export(options: argparse.Namespace, say: Say) -> Outcome:
    """The redrawn pieces as SVG, DXF or HP-GL."""
    _, drafted = _drafted(options)
    out = Path(options.out)
    said: list[str] = []
    files = exporting.drawings(drafted, out, options, said.append)
    exporting.write_all(files)
    for line in (*said, *(f"wrote {file}" for file in files)):
        say(line)
    _say_findings(drafted, say)
    names = [str(file) for file in files]
    pieces = [piece.id for piece in drafted.garment.pieces]
    values: dict[str, Any] = {"file": names[0], "files": names, "pieces": pieces, "said": said}
    values["findings"] = [finding_values(finding) for finding in drafted.findings]
    return Outcome(values, has_note_fault(drafted))


def line_table(options: argparse.Namespace, say: Say) -> Outcome:
    return Outcome(exporting.write_table(options, say))


def show_steps(options: argparse.Namespace, say: Say) -> Outcome:
    """How a note is done by hand, said step by step; with --out drawn as well."""
    document, _ = open_file(options.garment)
    note = _note(document, options.note)
    system: System = options.units or document.settings.units
    found = by_hand(document.garment, document.notes, note.id)
    if options.out is not None:
        if Path(options.out).suffix.lower() != ".svg":
            raise PatternError(f"“{Path(options.out).name}” should end in .svg; the steps are drawn as SVG.")
        write_bytes(options.out, outputs.steps_svg(found, system))
    say(f"{found.title}, {note_options.note_words(document.garment, note)}")
    for one in found.pieces:
        say(f"{one.piece.name}:")
        for number, step in enumerate(one.steps, 1):
            say(f"{number:>4} {step.says(system)}")
    if options.out is not None:
        say(f"wrote {options.out}")
    return Outcome(outputs.steps_values(found, system))


def list_notes(options: argparse.Namespace, say: Say) -> Outcome:
    document, drafted = _drafted(options)
    return _told(document, drafted, say)


def add_note(options: argparse.Namespace, say: Say) -> Outcome:
    alteration = find(options.alteration.replace("-", "_"))

    def change(document: Document) -> Document:
        note = note_options.new_note(document.garment, next_note_id(document), alteration, options)
        note_options.check_places(document.garment, document.notes, note, options)
        for words in note_options.understood(alteration, options):
            say(words)
        if not options.on:
            for words in note_options.of_region(document.garment, alteration, alteration.place, note.amounts)[1]:
                say(words)
        return with_notes(document, (*document.notes, note))

    return changed_file(options, say, change)


def change_note(options: argparse.Namespace, say: Say) -> Outcome:
    def change(document: Document) -> Document:
        note = _note(document, options.note)
        changed = note_options.changed_note(document.garment, note, options)
        if changed == note:
            raise PatternError(f"Say what of “{note.id}” is to be another, as “--remark” with your own words does.")
        note_options.check_places(document.garment, document.notes[: document.notes.index(note)], changed, options)
        for words in note_options.understood(find(note.alteration), options):
            say(words)
        return _with_note(document, changed)

    return changed_file(options, say, change)


def save_notes(options: argparse.Namespace, say: Say) -> Outcome:
    """A client's notes kept by themselves."""
    from app.files import notes_file

    found = kept_notes.kept(open_file(options.garment)[0])
    if not options.out.endswith(notes_file.ENDING):
        raise PatternError(f"“{Path(options.out).name}” should end in {notes_file.ENDING}.")
    notes_file.save_file(options.out, found)
    say(f"wrote {options.out}: {len(found.notes)} note{'s' * (len(found.notes) != 1)} of “{found.garment}”")
    return Outcome({"file": options.out, "notes": len(found.notes)})


def apply_notes(options: argparse.Namespace, say: Say) -> Outcome:
    """Kept notes done to this garment; what was matched how, and what does not apply, is said."""
    from app.files import notes_file

    found = notes_file.open_file(options.notes)
    said: list[str] = []

    def change(document: Document) -> Document:
        made = kept_notes.fitted(document, found)
        said.extend(made.said)
        for line in made.said:
            say(line)
        return made.document

    outcome = changed_file(options, say, change)
    return replace(outcome, values=outcome.values | {"said": said})


def remove_note(options: argparse.Namespace, say: Say) -> Outcome:
    def change(document: Document) -> Document:
        gone = _note(document, options.note)
        return with_notes(document, [note for note in document.notes if note is not gone])

    return changed_file(options, say, change)


def switch_on(options: argparse.Namespace, say: Say) -> Outcome:
    return changed_file(options, say, lambda d: _with_note(d, replace(_note(d, options.note), on=True)))


def switch_off(options: argparse.Namespace, say: Say) -> Outcome:
    return changed_file(options, say, lambda d: _with_note(d, replace(_note(d, options.note), on=False)))


def move_note(options: argparse.Namespace, say: Say) -> Outcome:
    def change(document: Document) -> Document:
        moved = _note(document, options.note)
        if not 1 <= options.position <= len(document.notes):
            raise PatternError(f"There are {len(document.notes)} notes, so no place {options.position} in the list.")
        others = [note for note in document.notes if note is not moved]
        others.insert(options.position - 1, moved)
        return with_notes(document, others)

    return changed_file(options, say, change)


def _drafted(options: argparse.Namespace) -> tuple[Document, Draft]:
    """The garment in a file, drafted; what differs from when it was saved stands first among the findings."""
    document, _ = open_file(options.garment)
    size = getattr(options, "size", None)
    document = document if size is None else with_size(document, size)
    if getattr(options, "toile", False):
        return document, draft(*toile(document.garment, document.notes))
    drafted = draft(document.garment, document.notes)
    changed = changed_on_opening(document, drafted.redrawn)
    return document, replace(drafted, opened=tuple(changed))


def set_in_pieces(options: argparse.Namespace, say: Say) -> Outcome:
    """Pieces that were traced on their cutting line brought to their stitching line."""

    wanted = [word.strip() for given in options.on for word in given.split(",")]

    def change(document: Document) -> Document:
        return replace(document, garment=in_every_size(document.garment, set_in_here))

    def set_in_here(garment: Garment) -> Garment:
        for piece_id in wanted:
            traced = garment.piece(piece_id)
            if traced.set_in:
                raise PatternError(
                    f"“{traced.name}” was set in before; a second time would take its allowances twice.", piece_id
                )
            piece, findings = set_in(garment, traced)
            garment = garment.with_piece(replace(piece, set_in=True))
            say(f"“{piece.name}” set in by the width of each edge; what was traced is its cutting line")
            for finding in findings:
                say(f"{finding.level}: {finding.says}")
        return garment

    return changed_file(options, say, change)


def accept_seam(options: argparse.Namespace, say: Say) -> Outcome:
    """A difference that was traced, taken as it is from now on."""

    def change(document: Document) -> Document:
        walks = {walked.seam: walked for walked in draft(document.garment, ()).before}
        if options.seam not in walks:
            raise PatternError(f"There is no seam “{options.seam}”; there are {', '.join(walks)}.")
        accepted = round(walks[options.seam].difference_mm, 3)
        say(f"{walks[options.seam].name}: a difference of {accepted:+.1f} mm is accepted as traced")
        seams = tuple(
            replace(seam, accepted_mm=accepted) if seam.id == options.seam else seam for seam in document.garment.seams
        )
        return replace(document, garment=replace(document.garment, seams=seams))

    return changed_file(options, say, change)


def sizes(options: argparse.Namespace, say: Say) -> Outcome:
    """The sizes of a garment, and the size for a body; another size to work in, or another table, is saved."""
    body, stretch = size_commands.body_of(options, say), size_commands.stretch_of(options.stretch)
    if size_commands.changes(options):
        document, _ = saved(options, lambda document: size_commands.changed(document, options))
    else:
        document, _ = open_file(options.garment)
    return Outcome(size_commands.told(document.garment, body, stretch, say))


def changed_file(options: argparse.Namespace, say: Say, change: Callable[[Document], Document]) -> Outcome:
    document, drafted = saved(options, change)
    return _told(document, drafted, say)


def saved(options: argparse.Namespace, change: Callable[[Document], Document]) -> tuple[Document, Draft]:
    """Read, change and save under the garment's lock, so that a window that has it open is not overtaken."""
    in_place = options.out is None
    with lock(options.garment) if in_place else nullcontext():
        document = change(open_file(options.garment)[0])
        drafted = draft(document.garment, document.notes)
        whole = replace(document, results=lengths_of(drafted.redrawn))
        write_bytes(options.garment if in_place else options.out, to_bytes(whole))
    return document, drafted


def _told(document: Document, drafted: Draft, say: Say) -> Outcome:
    rows = []
    for number, (note, step) in enumerate(zip(document.notes, drafted.followed.steps, strict=True), 1):
        words = note_options.note_words(document.garment, note)
        state = "off" if not note.on else "done" if step.done else "not done"
        say(f"{number} {note.id} ({state}): {words}")
        for line in (*step.readings, *(finding.says for finding in step.findings)):
            say(f"   {line}")
        rows.append(
            {
                "id": note.id,
                "alteration": note.alteration,
                "on": note.on,
                "done": step.done,
                "says": words,
                "readings": list(step.readings),
                "findings": [finding_values(finding) for finding in step.findings],
            }
        )
    if not rows:
        say("no notes yet")
    return Outcome({"notes": rows}, has_note_fault(drafted))


def _note(document: Document, name: str) -> Note:
    for number, note in enumerate(document.notes, 1):
        if name in (note.id, str(number)):
            return note
    known = ", ".join(note.id for note in document.notes) or "none"
    raise PatternError(f"There is no note “{name}”; there are {known}.")


def _with_note(document: Document, changed: Note) -> Document:
    return with_notes(document, [changed if note.id == changed.id else note for note in document.notes])


def _signed(length: float) -> str:
    """A difference to a tenth of a millimetre with its sign, nothing as +0.0."""
    return f"{round(length, 1) + 0.0:+.1f}"


def _since(drafted: Draft, note: str) -> str:
    if note == "traced":
        return "so in the tracing"
    numbers = {step.note.id: number for number, step in enumerate(drafted.followed.steps, 1)}
    return f"since note {numbers[note]}"


def _say_findings(drafted: Draft, say: Say) -> None:
    for finding in drafted.findings:
        say(f"{finding.level}: {finding.says}")
