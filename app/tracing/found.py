"""What a reader found: lines, words and points in mm, y up, with the size's source and error. All ways in hand it over.

A reader of files gives the file's own curves; a photo gives closed outlines with the error that it states for them:
smooth lines with their corners where it found them itself, points (``points=True``) where they were set by hand.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.tracing.questions import Question
from geometry.findings import Finding
from geometry.lines import Chain
from geometry.motions import FloatArray, Point

if TYPE_CHECKING:
    from app.photo.solving import View


@dataclass(frozen=True, eq=False)
class ByHand:
    """What of an outline was moved by hand: points (n, 2) mm along it, its length and the most it was moved by (mm),
    and its share of the outline."""

    points: FloatArray
    length_mm: float
    most_mm: float
    share: float


@dataclass(frozen=True, eq=False)
class FoundLine:
    """One drawn line.

    ``group`` is what the lines of one piece may share: a block or a group's name. ``colour`` is “#rrggbb”, ``dash``
    dashes and gaps in mm. ``points`` is True where straight stretches only stand for points of a curve. ``closed``
    lines end where they start. ``by_hand`` is what was moved since it was found.
    """

    chain: Chain
    closed: bool = False
    layer: str = ""
    colour: str = ""
    dash: tuple[float, ...] = ()
    name: str = ""
    group: str = ""
    points: bool = False
    by_hand: ByHand | None = None


@dataclass(frozen=True)
class FoundWords:
    """One line of lettering; ``at`` is where it starts, in mm."""

    words: str
    at: Point
    height_mm: float = 0.0
    layer: str = ""
    group: str = ""


@dataclass(frozen=True)
class FoundPoint:
    """A marked point, in mm."""

    at: Point
    layer: str = ""
    group: str = ""


#: A box (x0, y0, x1, y1) in mm, y up.
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class FoundPage:
    """A page that was laid on the sheet, by its number: its paper, and the frame on which it is trimmed, None where it
    is not."""

    number: int
    paper: Box
    frame: Box | None = None


@dataclass(frozen=True, eq=False)
class FoundPicture:
    """A photo or scan, reduced to be looked at.

    ``jpeg`` covers ``box`` (x0, y0, x1, y1 in mm, y up); ``view`` tells in which pixel of the picture as it was taken a
    point of the box is seen. ``in_mm`` is False where its size is not known: a pixel then counts as a mm.
    """

    jpeg: bytes
    box: tuple[float, float, float, float]
    view: View
    in_mm: bool


@dataclass(frozen=True, eq=False)
class Found:
    """All that was found in a file or picture, at true size as far as the answers go.

    ``way`` is “svg”, “dxf”, “pdf” or “photo”. ``size_source`` says in words where the size comes from, ``error_mm`` how
    far a line may be from the file's (or the paper's) own. ``questions`` are those about reading: units, layers, pages.
    ``picture`` is the photo or scan that it was found in, ``pages`` are those of a PDF whose pages were laid out.
    """

    way: str
    lines: tuple[FoundLine, ...]
    words: tuple[FoundWords, ...] = ()
    points: tuple[FoundPoint, ...] = ()
    size_source: str = ""
    error_mm: float = 0.0
    questions: tuple[Question, ...] = ()
    findings: tuple[Finding, ...] = ()
    picture: FoundPicture | None = None
    pages: tuple[FoundPage, ...] = ()
