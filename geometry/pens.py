"""The one protocol through which everything is drawn: roles, how each looks on paper, strokes and words.

A pen is told what a line means, never how to draw it; ``LOOKS`` says how it looks in black and grey on paper.
Coordinates are mm, y up. Canvas, paper, SVG and DXF are pens or read what a recorder kept.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType
from typing import Protocol

import numpy as np

from geometry.letter_widths import CAPITALS, width_mm
from geometry.lines import Chain
from geometry.motions import FloatArray, Motion, Point


class Role(StrEnum):
    """What a line or a word means; the values are also the names of the layers."""

    SHADE = "altered"
    SIZE = "other sizes"
    CUT = "cutting line"
    STITCH = "stitching line"
    FOLD = "fold"
    GRAIN = "grainline"
    STRETCH = "greatest stretch"
    NOTCH = "notches"
    DART = "darts"
    GUIDE = "guide lines"
    PLACEMENT = "placement lines"
    TURN = "turn lines"
    MARK = "marks"
    TITLE = "piece name"
    INSTRUCTIONS = "cutting instructions"
    LABEL = "lettering"
    BEFORE = "as traced"
    STRIP = "altered strip"
    SQUARE = "test square"
    PAPER = "edge of the paper"
    INSIDE = "line on the paper"
    DRAW = "line to draw"
    CREASE = "line to crease"
    SLASH = "line to cut"
    TAPE = "tape"
    MOVE = "way it goes"


@dataclass(frozen=True)
class Look:
    """A line on paper: its width (mm), dashes and gaps in turn (mm, none for solid), grey 0 black to 1 white.

    What is ``filled`` has no line; its closed strokes of one name are filled together by the even-odd rule.
    """

    width: float
    dashes: tuple[float, ...] = ()
    grey: float = 0.0
    filled: bool = False


#: Roles are told apart by dash pattern, or by shape where a line is solid (bracket, arrow, circle, notch), never by
#: colour alone; no grey is lighter than 3:1 on white (WCAG 2.2, 1.4.11).
LOOKS: Mapping[Role, Look] = MappingProxyType(
    {
        Role.SHADE: Look(0.0, (), 0.86, filled=True),
        Role.SIZE: Look(0.3, (), 0.25),
        Role.CUT: Look(0.5),
        Role.STITCH: Look(0.3, (4.0, 2.0)),
        Role.FOLD: Look(0.35),
        Role.GRAIN: Look(0.35),
        Role.STRETCH: Look(0.35, (6.0, 1.5)),
        Role.NOTCH: Look(0.4),
        Role.DART: Look(0.3, (2.5, 1.5)),
        Role.GUIDE: Look(0.25, (12.0, 3.0), 0.25),
        Role.PLACEMENT: Look(0.3, (1.0, 1.5)),
        Role.TURN: Look(0.3, (9.0, 1.5, 1.0, 1.5, 1.0, 1.5)),
        Role.MARK: Look(0.3),
        Role.TITLE: Look(0.3),
        Role.INSTRUCTIONS: Look(0.2),
        Role.LABEL: Look(0.2),
        Role.BEFORE: Look(0.2, (1.0, 3.0), 0.4),
        Role.STRIP: Look(0.15, (), 0.4),
        Role.SQUARE: Look(0.3),
        # Small drawings of the steps by hand; their dashes are short, as the drawings are.
        Role.PAPER: Look(0.3),
        Role.INSIDE: Look(0.15, (), 0.4),
        Role.DRAW: Look(0.6),
        Role.CREASE: Look(0.35, (2.4, 0.8, 0.6, 0.8)),
        Role.SLASH: Look(0.5, (1.6, 0.9)),
        Role.TAPE: Look(0.2, (), 0.4),
        Role.MOVE: Look(0.3),
    }
)


#: Dashes of the other sizes in turn, so that neighbours in a nest are told apart (mm).
SIZE_DASHES = ((7.0, 1.5), (3.5, 1.5), (7.0, 1.2, 1.0, 1.2), (3.5, 1.2, 0.8, 1.2), (1.5, 1.2))

#: What only the small drawings of the steps by hand are made of.
SKETCHED = frozenset({Role.PAPER, Role.INSIDE, Role.DRAW, Role.CREASE, Role.SLASH, Role.TAPE, Role.MOVE})


@dataclass(frozen=True, eq=False)
class Stroke:
    """A line with its role; ``name`` says which one it is."""

    role: Role
    chain: Chain
    closed: bool = False
    name: str = ""

    def moved(self, motion: Motion) -> Stroke:
        return replace(self, chain=self.chain.moved(motion))


#: Which share of a line of lettering lies before its place, by the anchor.
_BEGUN = {"start": 0.0, "middle": 0.5, "end": 1.0}


@dataclass(frozen=True)
class Words:
    """One line of lettering, capitals ``height_mm`` high, turned anticlockwise by ``angle_deg``.

    ``at`` lies halfway up the capitals, at the "start", "middle" or "end" of the line (``anchor``).
    """

    role: Role
    at: Point
    words: str
    height_mm: float
    angle_deg: float = 0.0
    anchor: str = "middle"

    @property
    def bold(self) -> bool:
        return self.role is Role.TITLE

    @property
    def width_mm(self) -> float:
        return width_mm(self.words, self.height_mm, bold=self.bold)

    @property
    def size_mm(self) -> float:
        """The type size (em) in mm."""
        return self.height_mm / CAPITALS

    @property
    def base(self) -> Point:
        """Where the base line starts."""
        return self._corner(0.0, -0.5)

    def box(self, clear: float = 0.0) -> FloatArray:
        """(4, 2) corners of the lettering from descender to accent, ``clear`` mm added all round."""
        (x, y), width, up = self.at, self.width_mm, 0.85 * self.height_mm + clear
        cos, sin = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        left = -_BEGUN[self.anchor] * width - clear
        right = left + width + 2 * clear
        corners = ((left, -up), (right, -up), (right, up), (left, up))
        return np.array([(x + along * cos - off * sin, y + along * sin + off * cos) for along, off in corners])

    def moved(self, motion: Motion) -> Words:
        """The same words under a motion, never in mirror writing.

        Lettering of the roles LABEL and SIZE is given half a turn where it would stand on its head.
        """
        cos, sin = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        ux, uy = motion.vector((cos, sin))
        anchor = self.anchor
        on_its_head = ux < -1e-9 or (ux <= 1e-9 and uy < 0)
        if on_its_head and (motion.mirrors or self.role in (Role.LABEL, Role.SIZE)):
            ux, uy = -ux, -uy
            anchor = {"start": "end", "end": "start"}.get(anchor, anchor)
        angle = math.degrees(math.atan2(uy, ux))
        return replace(self, at=motion.point(self.at), angle_deg=0.0 if abs(angle) < 1e-9 else angle, anchor=anchor)

    def _corner(self, along: float, up: float) -> Point:
        """The point ``along`` mm from the start and ``up`` capital heights above the middle."""
        cos, sin = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        along -= _BEGUN[self.anchor] * self.width_mm
        up *= self.height_mm
        return (self.at[0] + along * cos - up * sin, self.at[1] + along * sin + up * cos)


class Pen(Protocol):
    """What draws, or keeps what is drawn; see the module's first lines."""

    def begin(self, piece_id: str, name: str) -> None:
        """What follows belongs to this piece."""

    def end(self) -> None:
        """The piece is done."""

    def line(self, role: Role, chain: Chain, name: str = "") -> None:
        """An open line, a true curve in mm."""

    def closed(self, role: Role, chain: Chain, name: str = "") -> None:
        """A closed line: the chain ends where it starts."""

    def text(
        self, role: Role, at: Point, words: str, height_mm: float, angle_deg: float = 0.0, anchor: str = "middle"
    ) -> None:
        """A line of lettering as ``Words`` describes it."""


def draw_stroke(pen: Pen, stroke: Stroke) -> None:
    """Hand one stroke to a pen."""
    if stroke.closed:
        pen.closed(stroke.role, stroke.chain, stroke.name)
    else:
        pen.line(stroke.role, stroke.chain, stroke.name)


def draw_words(pen: Pen, words: Words) -> None:
    """Hand one line of lettering to a pen."""
    pen.text(words.role, words.at, words.words, words.height_mm, words.angle_deg, words.anchor)
