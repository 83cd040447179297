"""A nest of sizes: the same pieces drawn in several sizes over each other, sharing every id."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from types import MappingProxyType
from typing import Any

from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.pieces import Piece
from geometry.sameness import same

#: What a size has of its own; all else of a garment is shared by its sizes.
_OWN = ("pieces", "size", "nest")
#: Of each group of a piece's parts, what is drawn and so differs from size to size.
DRAWN = MappingProxyType(
    {
        "edges": ("runs", "joints"),
        "notches": ("place",),
        "marks": ("point",),
        "darts": ("bust_point", "sewn_point"),
        "inner_darts": ("points", "widest"),
        "lines": ("chain",),
    }
)


def size_names(garment: Garment) -> tuple[str, ...]:
    """The sizes there are, as the nest has them in order; the garment's own where it is the only one."""
    return tuple(garment.nest) or (garment.size,)


def nested(garments: Sequence[Garment], size: str) -> Garment:
    """One garment in ``size`` of the same garment drawn in several.

    Raises PatternError when two are of one size, or when one does not share everything but its lines.
    """
    first = garments[0]
    nest: dict[str, tuple[Piece, ...]] = {}
    for one in garments:
        if one.size in nest:
            raise PatternError(f"“{first.name}” has the size “{one.size}” twice.")
        if not _shares(first, one):
            raise PatternError(f"Size “{one.size}” of “{first.name}” does not share everything but its lines.")
        nest[one.size] = one.pieces
    if len(nest) == 1:
        return in_size(first, size)
    return in_size(replace(first, nest=MappingProxyType(nest)), size)


def in_size(garment: Garment, size: str) -> Garment:
    """The garment as traced in another of its sizes; the same object in its own.

    Raises PatternError when it was not drawn in that size.
    """
    if size == garment.size:
        return garment
    return replace(garment, pieces=pieces_in(garment, size), size=size)


def pieces_in(garment: Garment, size: str) -> tuple[Piece, ...]:
    """The pieces as traced in a size of the nest; raises PatternError when it was not drawn in that size."""
    if size not in garment.nest:
        names = ", ".join(name or "one without a name" for name in size_names(garment))
        raise PatternError(f"“{garment.name}” is not drawn in size “{size}”; it is drawn in {names}.")
    return garment.nest[size]


def piece_in(garment: Garment, size: str, piece_id: str) -> Piece:
    """One piece as traced in a size of the nest; raises PatternError when there is none."""
    for piece in pieces_in(garment, size):
        if piece.id == piece_id:
            return piece
    raise PatternError(f"There is no piece “{piece_id}” in size “{size}” of “{garment.name}”.", piece=piece_id)


def other_sizes(garment: Garment, piece_id: str) -> tuple[tuple[str, Piece], ...]:
    """A piece as traced in every size but the garment's own, with the sizes' names, in the order of the nest."""
    return tuple(
        (size, piece)
        for size, pieces in garment.nest.items()
        if size != garment.size
        for piece in pieces
        if piece.id == piece_id
    )


def in_every_size(garment: Garment, change: Callable[[Garment], Garment]) -> Garment:
    """The garment with a change done to what was traced, in every size of the nest."""
    if not garment.nest:
        return change(garment)
    return nested([change(in_size(garment, size)) for size in garment.nest], garment.size)


def alone(garment: Garment) -> Garment:
    """The garment in its own size alone, as it must be once its pieces are no longer those of the nest."""
    return replace(garment, nest=MappingProxyType({})) if garment.nest else garment


def _shares(one: Garment, other: Garment) -> bool:
    if one is other:
        return True
    if len(one.pieces) != len(other.pieces):
        return False
    common = [name.name for name in fields(Garment) if name.name not in _OWN]
    return all(same(getattr(one, name), getattr(other, name), 0.0) for name in common) and all(
        _shares_piece(a, b) for a, b in zip(one.pieces, other.pieces, strict=True)
    )


def _shares_piece(one: Piece, other: Piece) -> bool:
    for name in (field.name for field in fields(Piece)):
        a, b = getattr(one, name), getattr(other, name)
        if name in DRAWN:
            a, b = (tuple(_undrawn(part, DRAWN[name]) for part in parts) for parts in (a, b))
        if name != "size" and not same(a, b, 0.0):
            return False
    return True


def _undrawn(part: Any, drawn: Sequence[str]) -> tuple[object, ...]:
    return tuple(getattr(part, field.name) for field in fields(part) if field.name not in drawn)
