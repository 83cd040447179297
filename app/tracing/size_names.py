"""Sizes in the names of layers and lines: “Size 12”, “12 cutting line”, “front-12”, “Back size XL”."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.tracing.pieces_found import NO_NAME, NOT_OUTLINES
from app.tracing.roles import SIZE_WORD, plain, role_of_words, size_of_layer

_ALONE = re.compile(rf"size ({SIZE_WORD})", re.IGNORECASE)
_BEFORE = re.compile(rf"(size )?({SIZE_WORD}) (.+)", re.IGNORECASE)
_BEHIND = re.compile(rf"(.+?) (size )?({SIZE_WORD})", re.IGNORECASE)


def sizes_of_layers(layers: Iterable[str]) -> Mapping[str, str]:
    """The size of each layer that is of one, in order: those called after a size, else those whose names begin or end
    with one, where two sizes at least have a layer called otherwise alike on which pieces may be drawn."""
    whole = {layer: size for layer in layers if (size := size_of_layer(layer)) is not None}
    if len(set(whole.values())) > 1:
        return whole
    parted = {layer: parts for layer in layers if (parts := parted_name(layer)) is not None}
    sizes: set[str] = set()
    for rest in {parts.rest for parts in parted.values()}:
        held = {parts.size for parts in parted.values() if parts.rest == rest}
        sure = any(parts.sure for parts in parted.values() if parts.rest == rest)
        if len(held) > 1 and sure and role_of_words(rest) not in NOT_OUTLINES:
            sizes |= held
    return {layer: parts.size for layer, parts in parted.items() if parts.size in sizes}


@dataclass(frozen=True)
class Parted:
    """A name parted in a size and the rest; ``sure`` where the size cannot as well be a count of pieces."""

    size: str
    rest: str
    sure: bool


def parted_name(name: str) -> Parted | None:
    """The size that a name is, begins or ends with, and the rest of the name; None where it has none."""
    words = plain(name)
    alone = _ALONE.fullmatch(words)
    if alone:
        return Parted(alone[1].upper(), "", True)
    before, behind = _BEFORE.fullmatch(words), _BEHIND.fullmatch(words)
    for said, size, rest in (
        (before[1], before[2], before[3]) if before else ("", "", ""),
        (behind[2], behind[3], behind[1]) if behind else ("", "", ""),
    ):
        if size and not NO_NAME.fullmatch(rest):
            return Parted(size.upper(), rest, bool(said) or len(size) > 1 or not size.isdigit())
    return None
