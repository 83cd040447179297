"""A garment's table of sizes as rows of text and back: a row for each size, a cell for each girth. No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.nests import in_every_size, size_names
from geometry.size_tables import LEVELS_OF_BODY, Girths, SizeTable
from geometry.units import System, read_length, tape_words

#: The cells of a row: bust, waist and hip, "" where the table does not say.
Row = tuple[str, ...]


def sizes_of(garment: Garment, table: SizeTable | None) -> tuple[str, ...]:
    """The sizes that have a row: those that the garment is drawn in, then any others that a table names."""
    names = size_names(garment)
    return (*names, *(size for size in (table.girths if table is not None else ()) if size not in names))


def row_of(table: SizeTable | None, size: str, system: System) -> Row:
    """A size's cells as they are written in the tape measure in hand."""
    girths = table.girths.get(size, Girths()) if table is not None else Girths()
    given = (getattr(girths, level) for level in LEVELS_OF_BODY)
    return tuple("" if girth is None else tape_words(girth, system) for girth in given)


def table_from(
    old: SizeTable | None, source: str, rows: Mapping[str, Row], system: System
) -> SizeTable | None:
    """The table that rows and a source mean, None where all is empty. A cell left as it was keeps its very number.

    Raises PatternError, naming the cell, for what is no girth, and where the source is missing.
    """
    girths: dict[str, Girths] = {}
    for size, row in rows.items():
        before = row_of(old, size, system)
        kept = old.girths.get(size, Girths()) if old is not None else Girths()
        cells = {
            level: getattr(kept, level) if text.strip() == was else _read(text, size, level, system)
            for level, text, was in zip(LEVELS_OF_BODY, row, before, strict=True)
        }
        if any(cells.values()):
            girths[size] = Girths(**cells)
    if not girths and not source.strip():
        return None
    return SizeTable(source.strip(), MappingProxyType(girths))


def with_table(garment: Garment, table: SizeTable | None) -> Garment:
    """The garment with another table of sizes, the same in every size; without one where that is None."""
    return in_every_size(garment, lambda one: replace(one, size_table=table))


def _read(text: str, size: str, level: str, system: System) -> float | None:
    if not text.strip():
        return None
    try:
        girth = read_length(text, system).mm
        Girths(**{level: girth})
    except PatternError as error:
        raise PatternError(f"Size {size}, {level}: {error.says}") from error
    return girth
