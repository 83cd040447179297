"""How each kind of line goes into a file for a machine: its colour, width, pen and number, from a table she may change.

The table is a small JSON document; a role that it leaves out keeps what stands here. What only the small drawings of
steps are made of goes to no machine and has no row.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from app.files import safely
from app.files.json_text import json_bytes, parse
from app.files.plain import as_object, from_plain, refusal, to_plain
from geometry.errors import PatternError
from geometry.pens import Role

FORMAT, VERSION = "tuck-and-true line table", 1
#: A machine takes a line this thin as a path to follow, not as an area (mm). Common practice, no source.
HAIRLINE_MM = 0.01
#: No table is larger than this (bytes).
LARGEST = 1_000_000


@dataclass(frozen=True)
class LineRow:
    """One role's row: ``colour`` as #rrggbb, ``width_mm`` of the line, the plotter's ``pen`` from 1, the layer's
    ``number`` in the trade's exchange, and whether it is ``drawn`` at all.

    The numbers follow ASTM D6673, from memory: 1 the cut boundary, 4 notches, 6 the line on which a piece is mirrored,
    7 the grainline, 8 lines inside, 13 drill holes, 14 the sewn line, 15 lettering. The test square has 100, our own,
    so that it stands alone.
    """

    colour: str
    pen: int
    number: int
    width_mm: float = HAIRLINE_MM
    drawn: bool = True

    def __post_init__(self) -> None:
        if not re.fullmatch(r"#[0-9a-fA-F]{6}", self.colour):
            raise PatternError(f"a colour is written as # and six figures from 0 to f, not “{self.colour[:40]}”.")
        if not 1 <= self.pen <= 8:
            raise PatternError(f"A plotter's pens are numbered 1 to 8; {self.pen} is none of them.")
        if not 1 <= self.number <= 255:
            raise PatternError(f"A layer's number is 1 to 255, not {self.number}.")
        if not 0.001 <= self.width_mm <= 5.0:
            raise PatternError(f"A line is 0.001 to 5 mm wide, not {self.width_mm:g}.")


LineTable = Mapping[Role, LineRow]

#: What is cut is black, what is sewn blue, what is only read grey or green; each role also has its own layer.
LINES: LineTable = MappingProxyType(
    {
        Role.CUT: LineRow("#000000", 1, 1),
        Role.STITCH: LineRow("#0b4fa8", 2, 14),
        Role.FOLD: LineRow("#6a3d9a", 3, 6),
        Role.GRAIN: LineRow("#1b6e3c", 3, 7),
        Role.STRETCH: LineRow("#1b6e3c", 3, 8),
        Role.NOTCH: LineRow("#a31515", 1, 4),
        Role.DART: LineRow("#0b4fa8", 2, 8),
        Role.GUIDE: LineRow("#6b6b6b", 3, 8),
        Role.PLACEMENT: LineRow("#8a5a00", 3, 8),
        Role.TURN: LineRow("#8a5a00", 3, 8),
        Role.MARK: LineRow("#a31515", 3, 13),
        Role.TITLE: LineRow("#4a4a4a", 3, 15),
        Role.INSTRUCTIONS: LineRow("#4a4a4a", 3, 15),
        Role.LABEL: LineRow("#4a4a4a", 3, 15),
        Role.BEFORE: LineRow("#9a9a9a", 3, 8),
        Role.STRIP: LineRow("#9a9a9a", 3, 8),
        Role.SHADE: LineRow("#9a9a9a", 3, 8),
        Role.SIZE: LineRow("#9a9a9a", 3, 8),
        Role.SQUARE: LineRow("#d07000", 3, 100),
    }
)


def table_bytes(table: LineTable = LINES) -> bytes:
    """The table as a document to change."""
    rows = {role.value: to_plain(table[role], whole=True) for role in LINES}
    return json_bytes({"format": FORMAT, "version": VERSION, "lines": rows})


def read_table(path: str | Path) -> LineTable:
    """The table in a file; a row or a value that it leaves out stays as it is in LINES.

    Raises PatternError with the place of what is wrong.
    """
    file = Path(path).name
    values = as_object(parse(safely.read_bytes(path, LARGEST), file), ())
    if values.get("format") != FORMAT:
        raise PatternError(f"“{file}” is no line table; “format” should be “{FORMAT}”.")
    if values.get("version") != VERSION:
        raise PatternError(f"“{file}” is of a newer version than this program reads ({VERSION}).")
    for name in values:
        if name not in ("format", "version", "lines"):
            raise refusal((), f"“{name[:40]}” is not known here")
    table = dict(LINES)
    known = {role.value: role for role in LINES}
    for name, given in as_object(values.get("lines", {}), ("lines",)).items():
        if name not in known:
            raise refusal(("lines",), f"there is no kind of line “{name[:40]}”; there are {', '.join(known)}")
        table[known[name]] = _row(table[known[name]], given, ("lines", name))
    return MappingProxyType(table)


def _row(row: LineRow, given: Any, where: tuple[str, ...]) -> LineRow:
    kinds = {"colour": str, "pen": int, "number": int, "width_mm": float, "drawn": bool}
    values = as_object(given, where)
    for name in values:
        if name not in {field.name for field in fields(LineRow)}:
            raise refusal(where, f"“{name[:40]}” is not known here; there are {', '.join(kinds)}")
    try:
        return replace(row, **{name: from_plain(kinds[name], value, (*where, name)) for name, value in values.items()})
    except PatternError as error:
        if error.says.startswith(where[0]):
            raise
        raise refusal(where, error.says.rstrip(".")) from None
