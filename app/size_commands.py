"""The command about sizes: which there are, which is worked in, and which one a body wants."""

from __future__ import annotations

import argparse
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from app.documents import Document, with_size
from app.picked_sizes import own_stretch, picked_lines
from app.report import finding_values
from app.saying import Say
from app.size_table_rows import with_table
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.nests import size_names
from geometry.readings import mm_words
from geometry.size_tables import LEVELS_OF_BODY, Girths, SizeTable
from geometry.sizing import Body, Picked, picked
from geometry.units import read_length

_STRETCH = "by how much the cloth stretches, such as 40%% or 0.4; else as the garment says"
_MEASURED = ("high_bust", *LEVELS_OF_BODY)


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``tucktrue sizes``."""
    parser.add_argument("garment", metavar="GARMENT")
    for name in _MEASURED:
        words = name.replace("_", " ")
        parser.add_argument(f"--{name.replace('_', '-')}", metavar="LENGTH", help=f"the body's {words} girth")
    parser.add_argument("--stretch", metavar="SHARE", help=_STRETCH)
    parser.add_argument("--work-in", metavar="SIZE", help="work the garment in this size from now on")
    parser.add_argument(
        "--table",
        action="append",
        metavar="SIZE:BUST,WAIST,HIP",
        help="what body a size is for; leave a girth out where the table does not say",
    )
    parser.add_argument("--source", metavar="WORDS", help="where the table's numbers are from")
    parser.add_argument("--out", metavar="FILE", help="save here instead of into the garment itself")


def changes(options: argparse.Namespace) -> bool:
    """Whether the call changes the garment."""
    return bool(options.work_in is not None or options.table or options.source is not None)


def changed(document: Document, options: argparse.Namespace) -> Document:
    """The document with another table, and worked in another size, as the options ask. Raises PatternError."""
    if options.table or options.source is not None:
        table = table_with(document.garment, options.table or (), options.source)
        document = replace(document, garment=with_table(document.garment, table))
    return document if options.work_in is None else with_size(document, options.work_in)


def table_with(garment: Garment, rows: tuple[str, ...] | list[str], source: str | None) -> SizeTable:
    """The garment's table with rows put in place, each written SIZE:BUST,WAIST,HIP. Raises PatternError."""
    old = garment.size_table
    girths = dict(old.girths) if old is not None else {}
    for row in rows:
        size, colon, words = row.partition(":")
        given = [word.strip() for word in words.split(",")]
        if not colon or len(given) > len(LEVELS_OF_BODY):
            raise PatternError(f"“{row}” is no row of a table; write it as SIZE:BUST,WAIST,HIP.")
        lengths = [read_length(word).mm if word else None for word in given]
        girths[size.strip()] = Girths(*lengths)
    named = source if source is not None else (old.source if old is not None else "")
    order = [size for size in size_names(garment) if size in girths]
    order += [size for size in girths if size not in order]
    return SizeTable(named, MappingProxyType({size: girths[size] for size in order}))


def body_of(options: argparse.Namespace, say: Say) -> Body | None:
    """The body measured, None when no girth was given; what was understood is said."""
    measured: dict[str, float | None] = dict.fromkeys(_MEASURED)
    for name in _MEASURED:
        typed = getattr(options, name)
        if typed is not None:
            measured[name] = read_length(typed).mm
            say(f"{name.replace('_', ' ')}: “{typed}” understood as {measured[name]:g} mm")
    if not any(measured.values()):
        return None
    return Body(Girths(*(measured[level] for level in LEVELS_OF_BODY)), measured["high_bust"])


def stretch_of(word: str | None) -> float | None:
    """A stretch written as 40% or 0.4; raises PatternError for anything else."""
    if word is None:
        return None
    try:
        share = float(word[:-1]) / 100 if word.endswith("%") else float(word)
    except ValueError:
        raise PatternError(f"“{word}” is no stretch; write 0.4 or 40%.") from None
    if not 0.0 <= share <= 4.0:
        raise PatternError(f"“{word}” is no stretch; it goes from 0 to 400 %.")
    return share


def told(garment: Garment, body: Body | None, stretch: float | None, say: Say) -> dict[str, Any]:
    """Say the sizes, the table, and what a body wants; the same as plain values.

    ``stretch`` is that of the cloth as a share, None for as the garment says.
    """
    names = size_names(garment)
    say("sizes: " + ", ".join(f"{name} (worked in)" if name == garment.size else name for name in names))
    values: dict[str, Any] = {"garment": garment.name, "size": garment.size, "sizes": list(names), "table": None}
    table = garment.size_table
    if table is not None:
        say(f"table of sizes: {table.source}")
        for size, girths in table.girths.items():
            say(f"   {size}: {girth_words(girths)}")
        values["table"] = {
            "source": table.source,
            "girths": {s: {level: getattr(g, level) for level in LEVELS_OF_BODY} for s, g in table.girths.items()},
        }
    values["body"] = None
    if body is not None:
        if stretch is None and (stretch := own_stretch(garment)):
            say(f"the cloth stretches by {round(100 * stretch)} %, as the garment says")
        values["body"] = _told_of_body(picked(garment, body, stretch), body, say)
    return values


def girth_words(girths: Girths) -> str:
    """A row of a table in words."""
    given = [(level, getattr(girths, level)) for level in LEVELS_OF_BODY]
    return ", ".join(f"{level} {mm_words(girth)}" for level, girth in given if girth is not None) or "not said"


def _told_of_body(found: Picked, body: Body, say: Say) -> dict[str, Any]:
    for line in picked_lines(found, body):
        say(line)
    for level in LEVELS_OF_BODY:
        row = [f"{one.size} {round(one.ease, 1):+g}" for one in found.eases if one.level == level]
        if row:
            say(f"ease at the {level} by size, mm: {', '.join(row)}")
    for finding in found.findings:
        say(f"{finding.level}: {finding.says}")
    return {
        "sized_by": found.by,
        "at": dict(found.at),
        "ease": [
            {
                "size": one.size,
                "level": one.level,
                "garment_mm": round(one.garment, 3),
                "body_mm": round(one.body, 3),
                "ease_mm": round(one.ease, 3),
            }
            for one in found.eases
        ],
        "fuller_mm": None if found.fuller is None else round(found.fuller, 3),
        "findings": [finding_values(finding) for finding in found.findings],
    }
