"""The arrangement of a print, ``*.arrangement.json``: where each piece lies on the sheet; docs/printing.md.

What ``print --json`` writes is read as well: its ``sheet`` says the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from app.files import safely
from app.files.json_text import layout, one_line, parse
from app.files.plain import from_plain, refusal
from geometry.errors import PatternError
from geometry.laid_by_hand import Arrangement, laid_piece
from geometry.motions import Motion
from geometry.sheets import six_numbers

FORMAT, VERSION = "tuck-and-true arrangement", 1
ENDING = ".arrangement.json"
#: Files larger than this are not read (bytes).
LARGEST = 5_000_000
#: Turns and places come back the same from so many decimals.
_DECIMALS = 9


@dataclass(frozen=True)
class _Row:
    """One piece: the six numbers that lay it on the sheet (mm, y up)."""

    piece: str
    transform: tuple[float, float, float, float, float, float]


def save_file(path: Path | str, arrangement: Arrangement, garment: str) -> None:
    """Save an arrangement whole or not at all. Raises PatternError."""
    safely.write_bytes(path, to_bytes(arrangement, garment))


def open_file(path: Path | str) -> Arrangement:
    """The arrangement in a file; raises PatternError when it cannot be read or holds none."""
    return read_bytes(safely.read_bytes(path, LARGEST), Path(path).name)


def to_bytes(arrangement: Arrangement, garment: str) -> bytes:
    """An arrangement as a file holds it: UTF-8, the same bytes each time."""
    rows = [
        {"piece": one.piece, "transform": [round(value, _DECIMALS) + 0.0 for value in six_numbers(one.motion)]}
        for one in arrangement
    ]
    return layout({"format": FORMAT, "version": VERSION, "garment": garment, "sheet": rows}).encode("utf-8")


def read_bytes(data: bytes, name: str = "the file") -> Arrangement:
    """The arrangement that the content of a file means; raises PatternError, in one sentence, where it is broken."""
    plain = parse(data, name)
    own = isinstance(plain, dict) and "format" in plain
    if not isinstance(plain, dict) or (plain["format"] != FORMAT if own else "sheet" not in plain):
        raise PatternError(
            f"“{name}” is no arrangement: “format” does not say “{FORMAT}”, and it is no report of print --json."
        )
    if own and plain.get("version") != VERSION:
        raise PatternError(f"“{name}” is of a newer version than this program reads ({VERSION}).")
    try:
        for key in plain if own else ():
            if key not in ("format", "version", "garment", "sheet"):
                raise refusal((), f"“{key[:40]}” is not known here")
        if "sheet" not in plain:
            raise refusal((), "“sheet” is missing")
        rows = from_plain(tuple[_Row, ...], plain["sheet"], ("sheet",))
        return tuple(laid_piece(row.piece, Motion(*row.transform)) for row in rows)
    except PatternError as error:
        raise replace(error, says=one_line(f"“{name}” was not opened: {error.says}")) from error
