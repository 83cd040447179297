"""The stages a garment passes through, a type each, so that none can be skipped.

traced garment -> Followed (notes done, edges jogged) -> Blended (edges fair) -> CutPiece per piece (allowances on).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Protocol

from geometry.findings import Finding
from geometry.garments import EdgeRef, Garment
from geometry.kept import kept_property
from geometry.lines import Chain
from geometry.motions import FloatArray, Point
from geometry.notes import Note, Target
from geometry.pieces import Piece
from geometry.tolerances import TRUE_MM, VERDICT_STEP_MM


def outside_range(difference: float, least: float, most: float) -> float:
    """How far a difference lies outside its allowed range (mm, signed), 0 inside."""
    return difference - min(max(difference, least), most)


@dataclass(frozen=True, eq=False)
class Strip:
    """What a note takes out of (or adds to) a piece, for hatching.

    ``paper`` is its outline, or what reckons it: a strip is hatched on the pieces that are looked at, and waits for
    that. ``wide`` is how much it is in mm where the note's main amount does not say it.
    """

    piece: str
    paper: FloatArray | Callable[[], FloatArray]
    added: bool
    wide: float | None = None

    @kept_property
    def outline(self) -> FloatArray:
        """The polygon (m, 2) in mm on the piece that the note read, or on the one it made where paper was added."""
        return self.paper() if callable(self.paper) else self.paper


@dataclass(frozen=True)
class Offer:
    """A note that can be added with one act: what it does in words, and what it is made of."""

    says: str
    alteration: str
    amounts: Any
    targets: tuple[Target, ...]


@dataclass(frozen=True, eq=False)
class Step:
    """One note followed: the garment after it (the same object where it was not done)."""

    note: Note
    before: Garment
    after: Garment
    done: bool
    strips: tuple[Strip, ...] = ()
    findings: tuple[Finding, ...] = ()
    readings: tuple[str, ...] = ()
    offers: tuple[Offer, ...] = ()


@dataclass(frozen=True, eq=False)
class Followed:
    """The garment after all its notes, edges still jogged."""

    traced: Garment
    garment: Garment
    steps: tuple[Step, ...]


@dataclass(frozen=True, eq=False)
class JogBlend:
    """How one jog was redrawn; the fields are those of the report (mm, degrees; None where undefined).

    original_line: the edge before any note; old_lines, blended: points (m, 2) on the old lines and on the new one.
    """

    piece: str
    edge: str
    note: str
    kind: str
    share: float
    jog_mm: float
    kink_deg: float
    run_mm: tuple[float, float]
    max_curvature_ratio: float | None
    new_inflections: int | None
    end_tangent_deg: tuple[float, float] | None
    off_line_mm: float
    within_bounds: bool | None
    original_line: Chain
    old_lines: tuple[FloatArray, FloatArray]
    blended: FloatArray

    @cached_property
    def original(self) -> FloatArray:
        """Points (m, 2) on the edge before any note."""
        return self.original_line.sampled


class Told(Protocol):
    """What is to be told of a redrawn edge: its figures, and findings where room was short."""

    @property
    def blends(self) -> tuple[JogBlend, ...]: ...

    @property
    def findings(self) -> tuple[Finding, ...]: ...


@dataclass(frozen=True, eq=False)
class BlendedPiece:
    """A piece whose edges are all fair again. ``told`` is reckoned when it is first asked for, ``said`` follows it."""

    piece: Piece
    told: tuple[Told, ...] = ()
    said: tuple[Finding, ...] = ()

    @property
    def blends(self) -> tuple[JogBlend, ...]:
        """The figures of every jog, edge by edge."""
        return tuple(blend for edge in self.told for blend in edge.blends)

    @property
    def findings(self) -> tuple[Finding, ...]:
        return (*(finding for edge in self.told for finding in edge.findings), *self.said)


@dataclass(frozen=True, eq=False)
class Blended:
    """A garment whose pieces were all blended; only this can be walked as redrawn or given allowances."""

    garment: Garment
    pieces: Mapping[str, BlendedPiece]


@dataclass(frozen=True, eq=False)
class CutNotch:
    """A notch carried out to the cutting line: where it stands, and the outward unit direction."""

    notch: str
    at_stitch: Point
    at_cut: Point
    outward: Point
    nick: bool


@dataclass(frozen=True, eq=False)
class CutPiece:
    """A blended piece with its cutting line (closed, anticlockwise), None where it cannot be made."""

    piece: Piece
    cutting: Chain | None
    widths: Mapping[str, float]
    notches: tuple[CutNotch, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class SeamNotch:
    """Where a pair of notches stands along each side of a seam (mm from the meeting end)."""

    name: str
    first_at: float
    second_at: float


@dataclass(frozen=True)
class StretchWalk:
    """One stretch of a seam between notches: both lengths in mm, the allowed range, the verdict."""

    kind: str
    first_mm: float
    second_mm: float
    least: float
    most: float
    verdict: str

    @property
    def outside_mm(self) -> float:
        """How far its difference (second less first, mm) lies outside the allowed range, 0 inside."""
        return outside_range(self.second_mm - self.first_mm, self.least, self.most)


@dataclass(frozen=True)
class SeamWalk:
    """One seam walked from end to end; differences are second less first, in mm."""

    seam: str
    name: str
    stage: str
    first: tuple[EdgeRef, ...]
    second: tuple[EdgeRef, ...]
    first_mm: float
    second_mm: float
    ease: tuple[float, float]
    verdict: str
    notches: tuple[SeamNotch, ...]
    stretches: tuple[StretchWalk, ...]
    since: str = "traced"
    findings: tuple[Finding, ...] = field(default=())

    @property
    def difference_mm(self) -> float:
        return self.second_mm - self.first_mm

    @property
    def outside_mm(self) -> float:
        """How far the whole difference lies outside the allowed range (mm, signed), 0 inside."""
        return outside_range(self.difference_mm, *self.ease)

    @property
    def whole_is_true(self) -> bool:
        """Whether the two sides are of one length from end to end, whatever their notches do."""
        return abs(self.outside_mm) <= TRUE_MM + VERDICT_STEP_MM / 2
