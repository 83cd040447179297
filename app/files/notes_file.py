"""The notes file, ``*.notes.json``: a client's notes by themselves as one JSON text and back; docs/garment-file.md."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from app.files import safely
from app.files.garment_file import check_keys, note_from, note_to_plain
from app.files.json_text import check, layout, one_line, parse
from app.files.plain import as_list, from_plain, shown, step_into, to_plain
from app.kept_notes import KeptNotes, KeptPiece
from geometry.errors import PatternError

FORMAT, VERSION = "tuck-and-true notes", 1
ENDING = ".notes.json"
#: Files larger than this are not read (bytes).
LARGEST = 5_000_000
_KEYS = ("format", "version", "garment", "size", "for_whom", "pieces", "notes")


def save_file(path: Path | str, found: KeptNotes) -> None:
    """Save notes whole or not at all. Raises PatternError."""
    safely.write_bytes(path, to_bytes(found))


def open_file(path: Path | str) -> KeptNotes:
    """The notes in a file; raises PatternError when it cannot be read or holds none."""
    return read_bytes(safely.read_bytes(path, LARGEST), Path(path).name)


def to_bytes(found: KeptNotes) -> bytes:
    """Notes as a file holds them: UTF-8, the same bytes each time. Raises PatternError where they would not open."""
    plain: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "garment": found.garment,
        "size": found.size,
        "for_whom": found.for_whom,
        "pieces": to_plain(found.pieces),
        "notes": [note_to_plain(note) for note in found.notes],
    }
    check(plain)
    _from(plain)
    return layout(plain).encode("utf-8")


def read_bytes(data: bytes, name: str = "the file") -> KeptNotes:
    """The notes that the content of a file means; raises PatternError, in one sentence, where it is broken."""
    plain = parse(data, name)
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        raise PatternError(f"“{name}” is no file of notes: “format” does not say “{FORMAT}”.")
    version = plain.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or not 1 <= version <= VERSION:
        raise PatternError(f"“{name}” was not opened: {shown(version)} is no version known here; update the program.")
    try:
        return _from(plain)
    except PatternError as error:
        raise replace(error, says=one_line(f"“{name}” was not opened: {error.says}")) from error


def _from(plain: dict[str, Any]) -> KeptNotes:
    check_keys(plain, _KEYS, ("garment", "notes"), ())
    notes = as_list(plain["notes"], ("notes",))
    return KeptNotes(
        garment=from_plain(str, plain["garment"], ("garment",)),
        notes=tuple(note_from(note, step_into(("notes",), note, number)) for number, note in enumerate(notes)),
        pieces=from_plain(tuple[KeptPiece, ...], plain.get("pieces", []), ("pieces",)),
        size=from_plain(str, plain.get("size", ""), ("size",)),
        for_whom=from_plain(str, plain.get("for_whom", ""), ("for_whom",)),
    )
