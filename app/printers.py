"""What each printer makes of 100 mm, kept between one print and the next."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from app.files import safely
from app.files.json_text import json_bytes, parse
from app.files.plain import as_object, from_plain, refusal
from geometry.errors import PatternError
from geometry.print_scale import NONE, Correction

FORMAT, VERSION = "tuck-and-true printers", 1
LARGEST = 1_000_000
LONGEST_NAME = 100


def kept_in() -> Path:
    """The file that holds the corrections; TUCKTRUE_PRINTERS names another."""
    given = os.environ.get("TUCKTRUE_PRINTERS")
    if given:
        return Path(given)
    import platformdirs

    return Path(platformdirs.user_config_dir("tuck-and-true", appauthor=False)) / "printers.json"


def corrections() -> dict[str, Correction]:
    """The printers that were measured, by name. Raises PatternError where the file is broken."""
    path = kept_in()
    if not path.exists():
        return {}
    values = as_object(parse(safely.read_bytes(path, LARGEST), path.name), ())
    if values.get("format") != FORMAT or values.get("version") != VERSION:
        raise PatternError(f"“{path}” is not a list of printers that this version reads; move it away to start anew.")
    return {name: _one(given, name) for name, given in as_object(values.get("printers", {}), ("printers",)).items()}


def correction(name: str) -> Correction:
    """One printer's correction. Raises PatternError for one that was not measured."""
    known = corrections()
    if name not in known:
        names = ", ".join(f"“{one}”" for one in known) or "none yet"
        name = name if len(name) <= 40 else f"{name[:30]}…"
        raise PatternError(f"The printer “{name}” was not measured; measured were {names} (tucktrue test-square).")
    return known[name]


def keep(name: str, correction: Correction) -> Path:
    """Keep a printer's correction; a correction of nothing forgets it. Raises PatternError for a name that is none."""
    if not name.strip():
        raise PatternError("Give a name for the printer, so that its correction can be found again.")
    if len(name) > LONGEST_NAME:
        raise PatternError(f"A printer's name has at most {LONGEST_NAME} letters; “{name[:20]}…” has {len(name)}.")
    known = corrections()
    known.pop(name, None)
    if correction != NONE:
        known[name] = correction
    path = kept_in()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PatternError(f"The folder “{path.parent}” cannot be made: {error.strerror}.") from error
    rows = {one: {"x_mm": given.x_mm, "y_mm": given.y_mm} for one, given in sorted(known.items())}
    safely.write_bytes(path, json_bytes({"format": FORMAT, "version": VERSION, "printers": rows}))
    return path


def _one(given: Any, name: str) -> Correction:
    where = ("printers", name[:40])
    values = as_object(given, where)
    if set(values) != {"x_mm", "y_mm"}:
        raise refusal(where, "“x_mm” and “y_mm” are wanted, and nothing else")
    return Correction(*(from_plain(float, values[side], (*where, side)) for side in ("x_mm", "y_mm")))
