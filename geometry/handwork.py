"""The steps of an alteration by hand: what is said, the numbers in it, and what is drawn.

A step is one sentence with a small drawing. Its numbers are measures that say what they were taken between, so that
anybody can take them again; lengths are mm, words come in the units asked for. A sketch says what each line means
(``Ink``) and leaves how it looks to whoever draws it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Any

from geometry.cuts import Cut
from geometry.garments import Garment
from geometry.lines import Chain
from geometry.motions import FloatArray, Point
from geometry.notes import Target
from geometry.pieces import Piece
from geometry.units import System, tape_words


class Taken(Enum):
    """How a measure is taken."""

    APART = "straight between two points"
    ALONG = "along an edge from its end to a point"
    LENGTH = "the sewn length of an edge"
    AMOUNT = "an amount of the note"


class Stage(Enum):
    """On which paper a measure is taken: before the note, as cut and taped, after it with jogs left, or redrawn."""

    BEFORE = "before"
    LAID = "cut and taped"
    AFTER = "after"
    REDRAWN = "redrawn"


@dataclass(frozen=True)
class Measure:
    """A number of a step, in mm: ``part`` of what lies between its points, along an edge, or in an amount.

    APART has two points. ALONG has the edge, the end ("start" or "end") it is counted from, and one point on it; dart
    mouths are left out. LENGTH has the edge. AMOUNT has the name of the field, or none for the target's own amount.
    """

    mm: float
    taken: Taken
    points: tuple[Point, ...] = ()
    piece: str = ""
    edge: str = ""
    end: str = ""
    stage: Stage = Stage.BEFORE
    part: float = 1.0
    field: str = ""

    def words(self, system: System = "mm") -> str:
        """As a tape measure says it."""
        return tape_words(self.mm, system)


Phrase = tuple["str | Measure", ...]


class Ink(Enum):
    """What a line of a sketch means."""

    OLD = "as it was"
    PAPER = "edge of the piece"
    LINE = "line on the piece"
    GRAIN = "grainline"
    DRAW = "line to draw"
    CREASE = "line to crease"
    CUT = "line to cut"


@dataclass(frozen=True, eq=False)
class Inked:
    """A line of a sketch."""

    ink: Ink
    chain: Chain


@dataclass(frozen=True, eq=False)
class Hatched:
    """Paper taken out or folded under, or let in (``added``): outline (m, 2) mm."""

    outline: FloatArray
    added: bool


@dataclass(frozen=True)
class Spot:
    """A point of a sketch with its letter; a hinge is where paper is left uncut."""

    at: Point
    letter: str = ""
    hinge: bool = False


@dataclass(frozen=True)
class Moving:
    """An arrow: the way a part of the paper goes."""

    start: Point
    end: Point


@dataclass(frozen=True)
class Taped:
    """A strip of tape across a join, square to the unit direction ``along`` of the join."""

    at: Point
    along: Point


@dataclass(frozen=True, eq=False)
class Sketch:
    """A small drawing in the piece's own mm; ``sizes`` are measures written beside what they are taken between.

    ``look`` are points to be seen from near, where they are not the places of the work itself.
    """

    lines: tuple[Inked, ...] = ()
    hatched: tuple[Hatched, ...] = ()
    spots: tuple[Spot, ...] = ()
    moves: tuple[Moving, ...] = ()
    tapes: tuple[Taped, ...] = ()
    sizes: tuple[Measure, ...] = ()
    look: tuple[Point, ...] = ()

    def __add__(self, other: Sketch) -> Sketch:
        return Sketch(
            self.lines + other.lines,
            self.hatched + other.hatched,
            self.spots + other.spots,
            self.moves + other.moves,
            self.tapes + other.tapes,
            self.sizes + other.sizes,
            self.look + other.look,
        )


@dataclass(frozen=True, eq=False)
class HandStep:
    """One step: a sentence in the imperative and its drawing. ``about`` is before, during or after."""

    phrase: Phrase
    sketch: Sketch
    about: str = "during"

    def says(self, system: System = "mm") -> str:
        """The sentence in the units asked for."""
        said = "".join(part if isinstance(part, str) else part.words(system) for part in self.phrase)
        return said[:1].upper() + said[1:]

    @property
    def measures(self) -> tuple[Measure, ...]:
        return tuple(part for part in self.phrase if isinstance(part, Measure))


@dataclass(frozen=True, eq=False)
class Work:
    """What the steps of one piece are made from.

    ``before`` is the piece as the note found it, ``after`` as the note left it (edges jogged), ``cuts`` the cuts that
    were made in it, in order; ``garment`` and ``made`` the garment before and after. ``target`` is what the note was
    done to, None for a piece that followed another.
    """

    before: Piece
    after: Piece
    cuts: tuple[Cut, ...]
    amounts: Any
    target: Target | None
    garment: Garment
    made: Garment

    def amount(self, field: str = "amount", part: float = 1.0) -> Measure:
        """A part of an amount of the note, or of the target's own."""
        if self.target is not None and self.target.amount is not None:
            return Measure(part * self.target.amount, Taken.AMOUNT, part=part)
        return Measure(part * float(getattr(self.amounts, field)), Taken.AMOUNT, part=part, field=field)


def apart(first: Point, second: Point, part: float = 1.0) -> Measure:
    """The distance between two points, or a part of it."""
    return Measure(part * math.dist(first, second), Taken.APART, (first, second), part=part)


def phrase(*parts: str | Measure | Iterable[str | Measure]) -> Phrase:
    """A sentence from words, measures and shorter phrases."""
    found: list[str | Measure] = []
    for part in parts:
        if isinstance(part, str | Measure):
            found.append(part)
        else:
            found.extend(part)
    return tuple(found)


def lettered(points: Iterable[Point], first: str = "A") -> tuple[Spot, ...]:
    """Points with letters in turn."""
    return tuple(Spot(point, chr(ord(first) + index)) for index, point in enumerate(points))
