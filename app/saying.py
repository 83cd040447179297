"""What a command says as it goes along, and how it reads the lengths and papers that people write."""

from __future__ import annotations

import re
from collections.abc import Callable

from geometry.errors import PatternError
from geometry.papers import PAPERS, Paper
from geometry.units import read_length

Say = Callable[[str], None]


def said_length(name: str, given: str, say: Say) -> float:
    """A length that was given as an option, in mm, after saying how it was understood."""
    length = read_length(given)
    say(f"{name}: “{given}” understood as {length.mm:g} mm")
    return length.mm


def read_paper(words: str) -> Paper:
    """A paper by its name or its two sides. Raises PatternError for neither."""
    name = words.strip().lower().replace(" ", "-")
    if name in PAPERS:
        return PAPERS[name]
    sides = re.split(r"\s*[x×]\s*", words.strip())
    if len(sides) != 2:
        raise PatternError(f"“{words[:40]}” is no paper; take {', '.join(PAPERS)}, or two sides as in “200mm x 300mm”.")
    wide, high = sorted(read_length(side).mm for side in sides)
    return Paper(f"{wide:g} x {high:g} mm", wide, high)
