"""A fitting note: an alteration, its amounts, and the pieces it is done to. Notes hold no geometry."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from geometry.errors import PatternError
from geometry.motions import Point
from geometry.pieces import Edge, Piece, Place, RunKind


@dataclass(frozen=True)
class Address:
    """A place on an edge, found on the piece as earlier notes left it.

    From the edge's ``end`` ("start" or "end" in outline order), ``length`` mm along it, or the ``share`` 0..1.
    """

    edge: str
    end: str = "start"
    length: float | None = None
    share: float | None = None


@dataclass(frozen=True)
class Target:
    """A piece a note is done to: its own line or edge, its own amount, or a line drawn across.

    ``line`` and ``edge`` are ids on the piece (``line`` that of a notch or dart where one of these is meant);
    ``across`` is a line drawn between two addresses, or through one and squared to the fold or centre; ``amount``
    (mm) overrides the note's.
    """

    piece: str
    line: str | None = None
    edge: str | None = None
    across: tuple[Address, ...] | None = None
    amount: float | None = None


@dataclass(frozen=True)
class BlendChoice:
    """How a note's jogs are redrawn.

    ``share`` 0.5 shares the jog, 1 fills it out, 0 trims it in; ``before`` and ``after`` (mm) bound how far the
    blend runs on either side of the cut, None for as far as the next fixed point.
    """

    share: float = 0.5
    before: float | None = None
    after: float | None = None


#: Where nothing is chosen.
AS_USUAL = BlendChoice()


@dataclass(frozen=True)
class Note:
    """One fitting note; ``amounts`` is the frozen dataclass of its alteration, ``rule`` that rule's version."""

    id: str
    alteration: str
    amounts: Any
    targets: tuple[Target, ...]
    on: bool = True
    rule: int = 1
    blend: BlendChoice = field(default_factory=BlendChoice)
    remark: str = ""


def place_of(piece: Piece, address: Address) -> Place:
    """The place an address means on this piece; raises PatternError when it is off the edge.

    Lengths run over the sewn edge: dart mouths are left out, fillings are counted.
    """
    edge = piece.edge(address.edge)
    if (address.length is None) == (address.share is None):
        raise PatternError(f"An address on “{edge.name}” needs a length or a share.", piece.id, edge.id)
    whole = edge_run_length(edge)
    along = address.length if address.length is not None else (address.share or 0.0) * whole
    if not (math.isfinite(along) and -1e-9 <= along <= whole + 1e-9):
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” is {whole:.1f} mm long, so there is no place {along:.1f} mm along it.",
            piece.id,
            edge.id,
        )
    return place_at(edge, whole - along if address.end == "end" else along)


def edge_run_length(edge: Edge) -> float:
    """Length in mm of an edge's runs, dart mouths and jogs left out."""
    return sum(run.chain.length for run in edge.runs if run.kind is not RunKind.MOUTH)


def place_at(edge: Edge, along: float) -> Place:
    """The place ``along`` mm from the start of an edge, counted as in ``edge_run_length``."""
    last = 0
    for index, run in enumerate(edge.runs):
        if run.kind is RunKind.MOUTH:
            continue
        last = index
        if along <= run.chain.length + 1e-9:
            return Place(edge.id, index, run.chain.at_length(along))
        along -= run.chain.length
    return Place(edge.id, last, float(len(edge.runs[last].chain)))


def length_at(edge: Edge, place: Place) -> float:
    """Length in mm from the start of the edge to a place, counted as in ``edge_run_length``."""
    before = sum(run.chain.length for run in edge.runs[: place.run] if run.kind is not RunKind.MOUTH)
    here = edge.runs[place.run]
    return before if here.kind is RunKind.MOUTH else before + here.chain.length_to(place.u)


def point_of(piece: Piece, address: Address) -> Point:
    """The point (mm) an address means on this piece."""
    return piece.point_at(place_of(piece, address))
