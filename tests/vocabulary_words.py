"""Every word that a user meets, found by walking the program itself: its types, its commands, its files, its window."""

from __future__ import annotations

import argparse
import ast
import importlib
import inspect
import json
import pkgutil
import re
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from xml.etree import ElementTree

import geometry
import sample_pieces
from app import command_line
from app.files.garment_file import open_file
from app.files.lock import lock
from app.report import report
from geometry.alterations import everything
from geometry.pipeline import Draft, draft

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = sorted(path.name for path in Path(sample_pieces.__file__).parent.glob("*.garment.json"))
SIGNS = re.compile(r"[…▾]")

#: The keys of a report whose value is a word of the vocabulary and no name or sentence of the garment's.
_SAYS_A_WORD = {"format", "units", "kind", "stage", "verdict", "level", "code"}


@dataclass(frozen=True)
class Word:
    """A word as it is met, ``owner`` what it belongs to where it might mean something else elsewhere."""

    text: str
    owner: str
    where: str

    @property
    def names(self) -> tuple[str, ...]:
        """The rows that may explain it: its own first, then the plain word."""
        return (*((f"{self.owner}: {self.text}",) if self.owner else ()), self.text)


def plain(text: str) -> str:
    """A text without capitals, mnemonics and the signs of a menu."""
    unmarked = re.sub(r"&(&|(?=\w))", lambda found: found[1], text)
    return " ".join(SIGNS.sub("", unmarked).lower().split())


def drafted(name: str) -> Draft:
    document, _ = open_file(sample_pieces.path(name))
    return draft(document.garment, document.notes)


# -- words of the geometry -------------------------------------------------------------------------------------------


@cache
def enumerations() -> list[type[StrEnum]]:
    """Every StrEnum that a module of geometry defines."""
    found: list[type[StrEnum]] = []
    for module in pkgutil.walk_packages(geometry.__path__, "geometry."):
        for _, member in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
            if issubclass(member, StrEnum) and member.__module__ == module.name:
                found.append(member)
    return found


def of_enumerations() -> Iterator[Word]:
    for kind in enumerations():
        for member in kind:
            yield Word(plain(member.value), _owner(kind), f"{kind.__module__}.{kind.__name__}")


def _owner(kind: type[StrEnum]) -> str:
    """NotchStyle is “notch style”."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", kind.__name__).lower()


def of_verdicts() -> Iterator[Word]:
    for verdict in verdicts():
        yield Word(verdict, "verdict", "geometry.truing")


def verdicts() -> set[str]:
    """Every word that the walking of seams can come to, from limits far below to far above what is allowed."""
    from geometry.truing import verdict

    tried = [(step / 10, *limits) for step in range(-60, 61) for limits in ((0.0, 0.0), (-1.0, 3.0))]
    return {str(verdict(*one)) for one in tried}


def of_alterations() -> Iterator[Word]:
    for alteration in everything():
        where = f"the alteration {alteration.name}"
        yield Word(alteration.name, "", where)
        yield Word(plain(alteration.title), "", where)
        yield Word(plain(alteration.region), "region", where)
        yield Word(plain(re.sub(r"\{\w+\}", "‹›", alteration.sentence)), "", where)
        for name, field in alteration.fields().items():
            yield Word(name, "amounts", where)
            yield Word(plain(field.label), "", where)
            yield from (Word(plain(choice), "", where) for choice in field.choices)


def of_findings() -> Iterator[Word]:
    """The codes of all findings, read from the source: what is put first into a Finding, followed to its callers."""
    for folder in ("geometry", "app"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            for call in _calls(tree, "Finding"):
                for code in _codes(tree, _first(call)):
                    yield Word(code, "", path.relative_to(ROOT).as_posix())


def _calls(tree: ast.AST, name: str) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and name in (getattr(node.func, "id", ""), getattr(node.func, "attr", "")):
            yield node


def _first(call: ast.Call) -> ast.expr:
    return call.args[0] if call.args else next(word.value for word in call.keywords if word.arg == "code")


def _codes(tree: ast.AST, node: ast.expr) -> Iterator[str]:
    """The strings that an expression may be; fails where it is one that cannot be followed."""
    if isinstance(node, ast.Constant):
        yield str(node.value)
    elif isinstance(node, ast.IfExp):
        yield from (*_codes(tree, node.body), *_codes(tree, node.orelse))
    elif isinstance(node, ast.JoinedStr):
        head = "".join(str(part.value) for part in node.values if isinstance(part, ast.Constant))
        assert "verdict" in ast.unparse(node), f"{ast.unparse(node)} is made from something else than a verdict"
        yield from (f"{head}{verdict}" for verdict in sorted(verdicts() - {"true", "ease"}))
    else:
        assert isinstance(node, ast.Name), f"the code {ast.unparse(node)} cannot be followed"
        yield from _named(tree, node.id)


def _named(tree: ast.AST, name: str) -> Iterator[str]:
    """What a name holds: what is assigned to it, and what the functions that take it as an argument are given."""
    found = [n.value for n in ast.walk(tree) if isinstance(n, ast.Assign) and getattr(n.targets[0], "id", "") == name]
    for function in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
        taken = [one.arg for one in function.args.args if one.arg != "self"]
        if name in taken:
            found += [call.args[taken.index(name)] for call in _calls(tree, function.name)]
    others = [one for one in found if not (isinstance(one, ast.Name) and one.id == name)]
    assert others, f"nothing is ever put into “{name}”"
    for one in others:
        yield from _codes(tree, one)


# -- words of the command line -----------------------------------------------------------------------------------------


def of_commands() -> Iterator[Word]:
    yield from _of_parser(command_line._parser(), "")


def _of_parser(parser: argparse.ArgumentParser, owner: str) -> Iterator[Word]:
    where = parser.prog
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            yield from _placeholders(action.metavar, where)
            for name, child in action.choices.items():
                yield Word(name.replace("-", "_") if owner.endswith("add") else name, owner, where)
                yield from _of_parser(child, name)
            continue
        yield from (Word(option, "", where) for option in action.option_strings if option not in ("-h", "--help"))
        yield from (Word(plain(str(choice)), "", where) for choice in action.choices or ())
        if "--help" not in action.option_strings and "--version" not in action.option_strings:
            yield from _placeholders(action.metavar, where)


def _placeholders(metavar: object, where: str) -> Iterator[Word]:
    """The words in capitals of a usage line: PIECE:EDGE gives piece and edge."""
    for name in re.findall(r"[A-Z]+", str(metavar or "")):
        yield Word(name.lower(), "stands for", where)


# -- words of files and reports ----------------------------------------------------------------------------------------


def of_garment_file() -> Iterator[Word]:
    schema = json.loads((ROOT / "app" / "files" / "garment.schema.json").read_text(encoding="utf-8"))
    yield from _properties(schema, "garment file")
    for name, part in schema["$defs"].items():
        yield from _properties(part, name)


def _properties(part: Any, owner: str) -> Iterator[Word]:
    """The property names of a schema and the words it allows, at every depth; ``$defs`` are gone through apart."""
    if isinstance(part, list):
        for one in part:
            yield from _properties(one, owner)
    if not isinstance(part, dict):
        return
    for name, inside in part.get("properties", {}).items():
        yield Word(name, owner, f"the file's {owner}")
        yield from _properties(inside, name)
    words = {word for word in (*part.get("enum", []), part.get("const")) if isinstance(word, str)}
    kinds = [_owner(kind) for kind in enumerations() if {member.value for member in kind} == words]
    yield from (Word(plain(word), kinds[0] if kinds else owner, f"the file's {owner}") for word in words)
    for name, inside in part.items():
        if name not in ("properties", "$defs"):
            yield from _properties(inside, owner)


def of_preferences() -> Iterator[Word]:
    from app.window.preferences import Preferences

    for field in fields(Preferences):
        yield Word(field.name, "settings", "the window's settings")


def of_reports() -> Iterator[Word]:
    """The keys of the report and of what each command prints as JSON."""
    yield from _keys(report(drafted("undershirt.garment.json")), "report")
    garment = str(sample_pieces.path("undershirt.garment.json"))
    traced = str(sample_pieces.path("tracings/undershirt-front-back.dxf"))
    with TemporaryDirectory() as folder:
        for words in (
            ["print", garment, "--paper", "a4", "--out", f"{folder}/pages.pdf"],
            ["export", garment, "--out", f"{folder}/pieces.svg"],
            ["markers", "--out", f"{folder}/markers.pdf"],
            ["notes", "list", garment],
            ["steps", garment, "1"],
            ["trace", traced, "--out", f"{folder}/one.garment.json"],
            ["walk", f"{folder}/nothing.garment.json"],
        ):
            with redirect_stdout(StringIO()) as said, redirect_stderr(StringIO()):
                command_line.main([*words, "--json"])
            yield from _keys(json.loads(said.getvalue()), words[0])


def _keys(values: Any, owner: str) -> Iterator[Word]:
    if isinstance(values, list):
        for one in values[:40]:
            yield from _keys(one, owner)
    elif isinstance(values, dict):
        for name, inside in values.items():
            yield Word(name, owner, f"the {owner} as JSON")
            if name in _SAYS_A_WORD and isinstance(inside, str):
                yield Word(plain(inside), name, f"the {owner} as JSON")
            yield from _keys(inside, name)


def of_layers() -> Iterator[Word]:
    """Layers as a DXF names them; an SVG names them as the roles are, a PDF also those of its pages."""
    from app.files import layers, pdf
    from app.files.dxf import layer_name
    from geometry.pens import Role

    for role in Role:
        yield Word(plain(layer_name(role).replace("_", " ")), "role", "the layers of a DXF")
    for name in (layers.OF_PIECES, layers.OF_SIZES, layers.OF_PAGES, layers.JOINS, layers.PAGE_NAMES, pdf.FIRST_PAGE):
        yield Word(name, "", "the layers and pages of a PDF")


def of_other_files() -> Iterator[Word]:
    """What an SVG holds beside its standard's own attributes, and what a lock says about who holds a garment."""
    from app import outputs

    drawing = ElementTree.fromstring(outputs.svg_file(drafted("undershirt.garment.json")))
    spaces = {"http://www.inkscape.org/namespaces/inkscape": "inkscape"}
    for name in sorted({name for element in drawing.iter() for name in element.attrib}):
        space, _, local = name.rpartition("}")
        if space or name.startswith("data-"):
            yield Word(f"{spaces[space[1:]]}:{local}" if space else name, "", "an SVG")
    with TemporaryDirectory() as folder, lock(f"{folder}/one.garment.json"):
        for file in Path(folder).glob(".*.lock"):
            yield from _keys(json.loads(file.read_text(encoding="utf-8")), "lock")


def of_line_table() -> Iterator[Word]:
    from app.files.line_table import table_bytes

    table = json.loads(table_bytes())
    yield from (Word(name, "line table", "the line table") for name in table)
    yield Word(plain(table["format"]), "line table", "the line table")
    yield from (Word(name, "line table", "the line table") for row in table["lines"].values() for name in row)


def on_paper() -> Iterator[str]:
    """Every text that stands on the pieces and pages of the samples, and what the pages' source writes out."""
    from app import outputs
    from geometry.papers import PAPERS
    from geometry.sheets import SheetSettings

    for sample in SAMPLES:
        draft = drafted(sample)
        sizes = outputs.in_other_sizes(draft) if draft.garment.nest else ()
        sheet = outputs.page_sheet(draft, SheetSettings(PAPERS["a4"]), beside=outputs.Beside(sizes=sizes))
        for placed in sheet.placed:
            # Notes are said as they are listed, their rows broken to fit.
            heading, *notes = outputs.notes_done(draft, placed.piece_id) or ("",)
            yield from (w.words for w in placed.there.words if w.words == heading or w.words not in " ".join(notes))
