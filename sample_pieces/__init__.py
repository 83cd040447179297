"""The sample garments: the wardrobe of a small repertory theatre, drafted by ``sample_pieces.draft``."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from geometry.errors import PatternError


def path(name: str) -> Path:
    """The path of a sample file, such as “undershirt.garment.json”; raises PatternError when there is none."""
    found = Path(str(files(__name__) / name))
    if not found.is_file():
        raise PatternError(f"There is no sample “{name}”.")
    return found


def names() -> tuple[str, ...]:
    """The file names of the sample garments, in order of the alphabet."""
    return tuple(sorted(one.name for one in files(__name__).iterdir() if one.name.endswith(".garment.json")))
