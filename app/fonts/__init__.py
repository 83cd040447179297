"""The typefaces that come with the program: DejaVu Sans, plain and bold (LICENCE.txt)."""

from __future__ import annotations

from importlib.resources import files

PLAIN, BOLD = "DejaVuSans", "DejaVuSans-Bold"


def font_bytes(name: str) -> bytes:
    """The TrueType file of PLAIN or BOLD."""
    return files(__name__).joinpath(f"{name}.ttf").read_bytes()
