"""``tucktrue trace``: files in, garments out, with every question that was answered by default said plainly."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import chain, count
from pathlib import Path
from typing import Any

from app.commands import Outcome
from app.documents import Document, lengths_of
from app.files.garment_file import ENDING, to_bytes
from app.files.safely import read_bytes, write_bytes
from app.photo.each_picture import of_picture
from app.report import finding_values, points_values
from app.saying import Say
from app.trace_options import answers_of
from app.tracing.gathering import garment_of, nest_findings
from app.tracing.guarded import read_guarded
from app.tracing.idle_answers import idle
from app.tracing.limits import LARGEST
from app.tracing.parts_in_files import sheets
from app.tracing.questions import Answers, Question, question_values
from app.tracing.reading import ENDINGS, name_after
from app.tracing.tracing import Traced, TracedPiece, trace
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.nests import size_names


def run(options: argparse.Namespace, say: Say) -> Outcome:
    """Trace every input: into one garment, or into one garment each where the output is a folder."""
    inputs = _files(options.inputs)
    out = Path(options.out)
    answers = answers_of(options)
    declined = None if options.no_seams else options.no_seam or ()
    if out.name.endswith(ENDING):
        name = options.garment or name_after(inputs[0])
        values = _one(inputs, out, name, answers, declined, say)
        return Outcome(values)
    if (out.exists() and not out.is_dir()) or out.suffix:
        raise PatternError(f"“{out.name}” should end in {ENDING}, or be a folder.")
    rows, refused = [], []
    for path, target in zip(inputs, _targets(inputs, out), strict=True):
        try:
            out.mkdir(parents=True, exist_ok=True)
            name = options.garment or name_after(path)
            rows.append(_one([path], target, name, answers, declined, say))
        except OSError as error:
            raise PatternError(f"The folder “{out}” cannot be made: {error.strerror}.") from error
        except PatternError as error:
            say(error.says)
            refused.append({"input": str(path), "says": error.says})
    if not rows:
        raise PatternError(refused[0]["says"])
    return Outcome({"garments": rows, "refused": refused})


def _targets(inputs: Sequence[Path], out: Path) -> list[Path]:
    """A garment's file in a folder for each input; those called alike are told apart by their kind, then by number."""
    alike = Counter(path.stem.lower() for path in inputs)
    taken: set[str] = set()
    targets = []
    for path in inputs:
        name = path.stem if alike[path.stem.lower()] == 1 else f"{path.stem}-{path.suffix.lstrip('.').lower()}"
        numbered = (f"{name}-{number}" for number in count(2))
        whole = next(one for one in chain([name], numbered) if one.lower() not in taken)
        taken.add(whole.lower())
        targets.append(out / f"{whole}{ENDING}")
    return targets


def _files(inputs: Sequence[str]) -> list[Path]:
    found: list[Path] = []
    for words in inputs:
        path = Path(words)
        if path.is_dir():
            inside = sorted(one for one in path.iterdir() if one.suffix.lower() in ENDINGS)
            if not inside:
                raise PatternError(f"There is no SVG, DXF, PDF or picture in the folder “{path}”.")
            found += inside
        else:
            found.append(path)
    return found


def _one(
    inputs: Sequence[Path], out: Path, name: str, answers: Answers, declined: Sequence[str] | None, say: Say
) -> dict[str, Any]:
    traced: list[Traced] = []
    further: list[bytes] = []
    if "shared-marks" in answers:
        further = [read_bytes(path, LARGEST) for path in inputs[1:]]
        inputs = inputs[:1]
    own = [of_picture(answers, number) for number in range(1, len(inputs) + 1)]
    names = [path.name for path in inputs]
    founds = [
        read_guarded(read_bytes(path, LARGEST), path.name, each, further)
        for path, each in zip(inputs, own, strict=True)
    ]
    for sheet in sheets(founds, own, names):
        traced.append(trace(sheet.found, sheet.answers))
        _say_file(" + ".join(names[place] for place in sheet.files), traced[-1], say)
    garment = _without(garment_of(traced, name, seams=declined is not None), declined or ())
    more = (*nest_findings(traced), *idle(answers, traced))
    for finding in more:
        say(f"{finding.level}: {finding.says}")
    write_bytes(out, to_bytes(Document(garment, results=lengths_of(garment))))
    for seam in garment.seams:
        say(f"proposed seam: {seam.name}, {_side(garment, seam.first)} to {_side(garment, seam.second)}")
    say(f"wrote {out}")
    return _values(out, garment, traced, more)


def _without(garment: Garment, declined: Sequence[str]) -> Garment:
    """The garment without the proposed seams that are declined, by name. Raises PatternError for one that is none."""
    unknown = sorted(set(declined) - {seam.name for seam in garment.seams})
    if unknown:
        listed = ", ".join(seam.name for seam in garment.seams) or "none"
        raise PatternError(f"No seam “{unknown[0]}” is proposed that could be left out; there are {listed}.")
    return replace(garment, seams=tuple(seam for seam in garment.seams if seam.name not in declined))


def _side(garment: Garment, refs: Sequence[Any]) -> str:
    return " and ".join(f"{garment.edge(ref).name} of {garment.piece(ref.piece).name}" for ref in refs)


def _say_file(name: str, traced: Traced, say: Say) -> None:
    say(f"{name}: size by {traced.found.size_source}; lines within {traced.found.error_mm:g} mm of the file's")
    for question in traced.questions:
        _say_question(question, say)
    for finding in traced.findings:
        say(f"{finding.level}: {finding.says}")
    for one in traced.pieces:
        x0, y0, x1, y1 = one.piece.polygon.bounds
        edges = ", ".join(f"{edge.name} {edge.length:.1f}" for edge in one.piece.edges)
        say(f"“{one.piece.name}”: {x1 - x0:.1f} x {y1 - y0:.1f} mm; {edges} mm")
        for question in one.questions:
            _say_question(question, say)
        for finding in one.findings:
            say(f"{finding.level}: {finding.says}")


def _say_question(question: Question, say: Say) -> None:
    if question.by_default:
        says = f"   asked: {question.asks} Taken: {question.answer} ({question.option})"
        others = [f"{one.value}: {one.says}" for one in question.choices if one.says and one.value != question.answer]
        say(says + (f"; or {'; '.join(others)}" if question.key == "units" else ""))


def _values(out: Path, garment: Garment, traced: Sequence[Traced], more: Sequence[Finding]) -> dict[str, Any]:
    return {
        "file": str(out),
        "garment": garment.name,
        "size": garment.size,
        "sizes": [size for size in size_names(garment) if size],
        "pieces": [_piece_values(one, each) for each in traced for one in each.pieces],
        "seams": [
            {"id": seam.id, "name": seam.name, "first": _refs(seam.first), "second": _refs(seam.second)}
            for seam in garment.seams
        ],
        "asked": [question_values(one) for each in traced for one in each.questions if one.by_default],
        "findings": [finding_values(one) for one in (*(one for each in traced for one in each.findings), *more)],
    }


def _refs(refs: Sequence[Any]) -> list[str]:
    return [f"{ref.piece}:{ref.edge}" for ref in refs]


def _piece_values(one: TracedPiece, traced: Traced) -> dict[str, Any]:
    piece = one.piece
    asked = (*traced.questions, *one.questions)
    findings: tuple[Finding, ...] = one.findings
    return {
        "id": piece.id,
        "name": piece.name,
        "on_fold": piece.on_fold,
        "area_mm2": round(float(piece.polygon.area), 2),
        "outline_mm": points_values(piece.outline),
        "edges": [
            {"id": edge.id, "name": edge.name, "kind": edge.kind.value, "length_mm": round(edge.length, 3)}
            for edge in piece.edges
        ],
        "marks": _marks(one),
        "size_source": one.size_source,
        "stated_error_mm": one.error_mm,
        "asked": [question_values(question) for question in asked if question.by_default],
        "findings": [finding_values(finding) for finding in findings],
    }


def _marks(one: TracedPiece) -> list[dict[str, Any]]:
    """Notches, dots, darts and lines with where they stand."""
    piece = one.piece
    rows: list[dict[str, Any]] = []
    for notch in piece.notches:
        rows.append(_mark(notch.id, notch.name, "notch", [piece.point_at(notch.place)]))
        rows[-1]["count"] = notch.count
    rows += [_mark(mark.id, mark.name, mark.kind.value, [mark.point]) for mark in piece.marks]
    rows += [_mark(dart.id, dart.name, "dart", [dart.bust_point]) for dart in piece.darts]
    rows += [_mark(line.id, line.name, line.kind.value, [line.chain.start, line.chain.end]) for line in piece.lines]
    return rows


def _mark(mark_id: str, name: str, kind: str, points: Sequence[tuple[float, float]]) -> dict[str, Any]:
    places = [[round(x, 4) + 0.0, round(y, 4) + 0.0] for x, y in points]
    return {"id": mark_id, "name": name, "kind": kind, "points_mm": places}
