"""Corners after sewing: do they run on smoothly where they should, and are they square at folds?

Joined pieces form one smooth line at both ends of a seam: a pointed line is rounded off, a scooped one filled in
(Conover, A Complete Course in Dressmaking, 1921-22, vol. 9 p. 22). The two angles then add to 180 degrees. At a
fold a corner is square, or the opened piece shows a point (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometry.findings import Finding, Level
from geometry.garments import EdgeRef, Garment, Seam
from geometry.motions import Point
from geometry.pieces import CornerKind, Finish, corner_angle
from geometry.tolerances import MEANT_TO_POINT_DEG, SQUARE_DEG


@dataclass(frozen=True)
class CornerPart:
    """One piece's share of a place where corners meet: its ``corner`` id, and the ``edge`` that runs on from there.

    ``at_start`` is True when that edge starts at the corner; ``degrees`` is the inner angle.
    """

    piece: str
    corner: str
    edge: str
    at_start: bool
    degrees: float


@dataclass(frozen=True)
class CornerWalk:
    """A place where corners meet: what they add up to and should (degrees), and what was said of it.

    ``id`` is the seam and its end, or the piece and its corner at the fold. ``meant_to_point`` and ``to_run_on`` are
    said of it; where neither is, what it was in the tracing decides.
    """

    id: str
    name: str
    place: Point
    wanted: float
    parts: tuple[CornerPart, ...]
    meant_to_point: bool
    to_run_on: bool

    @property
    def key(self) -> str:
        """What a finding about this corner is about."""
        return f"corner:{self.id}"

    @property
    def piece(self) -> str:
        return self.parts[0].piece

    @property
    def degrees(self) -> float:
        return sum(part.degrees for part in self.parts)

    @property
    def off(self) -> float:
        """By how much it is too open (more than 0: scooped) or too sharp (less: pointed), in degrees."""
        return self.degrees - self.wanted

    @property
    def runs_on(self) -> bool:
        return abs(self.off) <= SQUARE_DEG


def walk_corners(garment: Garment) -> tuple[CornerWalk, ...]:
    """Every seam end that should run on, then every corner at a fold."""
    found = [corner for seam in garment.seams for corner in _seam_ends(garment, seam)]
    for piece in garment.pieces:
        for index, edge in enumerate(piece.edges):
            before = piece.edges[index - 1]
            if edge.on_fold == before.on_fold:
                continue
            other = before if edge.on_fold else edge
            corner = piece.corners[index]
            part = CornerPart(piece.id, corner.id, other.id, other is edge, corner_angle(piece, index))
            name = f"{other.name} of {piece.name} at the fold"
            found.append(_walked(f"{piece.id}:{corner.id}", name, edge.start, 90.0, (part,), (corner.kind,)))
    return tuple(found)


def counts_as_pointing(corner: CornerWalk, traced: CornerWalk | None) -> bool:
    """Whether a corner is meant to point: said so, or far off in the tracing and nothing else was said."""
    if corner.meant_to_point or corner.to_run_on:
        return corner.meant_to_point
    return traced is not None and abs(traced.off) > MEANT_TO_POINT_DEG


def corner_findings(traced: tuple[CornerWalk, ...], now: tuple[CornerWalk, ...]) -> tuple[Finding, ...]:
    """Corners that do not run on; one that was more than 10 degrees off in the tracing counts as meant to point."""
    was = {corner.id: corner for corner in traced}
    findings = []
    for corner in now:
        before = was.get(corner.id)
        if corner.runs_on or counts_as_pointing(corner, before):
            continue
        as_traced = before is not None and abs(corner.off) <= abs(before.off) + 0.05
        level = Level.NOTICE if as_traced else Level.WARN
        wanted = "runs on at 180 degrees" if corner.wanted == 180 else "is square"
        says = (
            f"{corner.name}: the corner makes {corner.degrees:.1f} degrees where it {wanted}, "
            f"{'so in the tracing' if as_traced else 'since the notes'}; {_remedy(corner)}."
        )
        findings.append(Finding("corner", level, says, corner.piece, None, corner.place, corner.key))
    return tuple(findings)


def _remedy(corner: CornerWalk) -> str:
    """An angle that is too open is a hollow in the sewn line, one too sharp a point."""
    return "fill the hollow in" if corner.off > 0 else "round the point off"


def _seam_ends(garment: Garment, seam: Seam) -> list[CornerWalk]:
    """The corners at both ends of a seam; none where a facing is turned over the edge that it faces."""
    found: list[CornerWalk] = []
    if any(garment.edge(ref).finish is Finish.FACED for ref in (*seam.first, *seam.second)):
        return found
    for end, first, second in (
        ("start", seam.first[0], seam.second[0]),
        ("end", seam.first[-1], seam.second[-1]),
    ):
        parts = tuple(_part(garment, ref, end == "start") for ref in (first, second))
        a, b = (garment.piece(part.piece).edge(part.edge) for part in parts)
        if a.kind is not b.kind or a.on_fold or b.on_fold:
            continue
        corners = [c for part in parts for c in garment.piece(part.piece).corners if c.id == part.corner]
        name = f"{a.kind} at the {seam.name}".capitalize()
        place = a.start if parts[0].at_start else a.end
        found.append(_walked(f"{seam.id}:{end}", name, place, 180.0, parts, [corner.kind for corner in corners]))
    return found


def _walked(
    corner_id: str, name: str, place: Point, wanted: float, parts: tuple[CornerPart, ...], said: Sequence[CornerKind]
) -> CornerWalk:
    pointing, to_run_on = CornerKind.POINTS in said, CornerKind.TO_RUN_ON in said
    return CornerWalk(corner_id, name, place, wanted, parts, pointing, to_run_on and not pointing)


def _part(garment: Garment, ref: EdgeRef, at_start: bool) -> CornerPart:
    """The corner at one end of a seam's edge, with the edge beyond it."""
    piece = garment.piece(ref.piece)
    index = [edge.id for edge in piece.edges].index(ref.edge)
    if at_start != ref.backwards:
        corner, beyond, starts = index, piece.edges[index - 1], False
    else:
        corner = (index + 1) % len(piece.edges)
        beyond, starts = piece.edges[corner], True
    return CornerPart(piece.id, piece.corners[corner].id, beyond.id, starts, corner_angle(piece, corner))
