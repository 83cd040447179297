"""Corners after sewing: do they run on smoothly where they should, and are they square at folds?

Joined pieces form one smooth line at both ends of a seam: a pointed line is rounded off, a scooped one filled in
(Conover, A Complete Course in Dressmaking, 1921-22, vol. 9 p. 22). The two angles then add to 180 degrees. At a
fold a corner is square, or the opened piece shows a point (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.findings import Finding, Level
from geometry.garments import EdgeRef, Garment, Seam
from geometry.motions import Point
from geometry.pieces import CornerKind, Edge, Finish, corner_angle
from geometry.tolerances import MEANT_TO_POINT_DEG, SQUARE_DEG


@dataclass(frozen=True)
class CornerWalk:
    """A place where corners meet: what they add up to and should (degrees), and whether they are meant to point."""

    name: str
    piece: str
    place: Point
    degrees: float
    wanted: float
    meant_to_point: bool

    @property
    def off(self) -> float:
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
            points = piece.corners[index].kind is CornerKind.POINTS
            name = f"{other.name} of {piece.name} at the fold"
            found.append(CornerWalk(name, piece.id, edge.start, corner_angle(piece, index), 90.0, points))
    return tuple(found)


def corner_findings(traced: tuple[CornerWalk, ...], now: tuple[CornerWalk, ...]) -> tuple[Finding, ...]:
    """Corners that do not run on; one that was more than 10 degrees off in the tracing counts as meant to point."""
    was = {corner.name: corner for corner in traced}
    findings = []
    for corner in now:
        before = was.get(corner.name)
        meant = corner.meant_to_point or (before is not None and abs(before.off) > MEANT_TO_POINT_DEG)
        if corner.runs_on or meant:
            continue
        as_traced = before is not None and abs(corner.off) <= abs(before.off) + 0.05
        level = Level.NOTICE if as_traced else Level.WARN
        wanted = "runs on at 180 degrees" if corner.wanted == 180 else "is square"
        says = (
            f"{corner.name}: the corner makes {corner.degrees:.1f} degrees where it {wanted}, "
            f"{'so in the tracing' if as_traced else 'since the notes'}; {_remedy(corner)}."
        )
        findings.append(Finding("corner", level, says, corner.piece, None, corner.place))
    return tuple(findings)


def _remedy(corner: CornerWalk) -> str:
    return "round the point off" if corner.off > 0 else "fill the hollow in"


def _seam_ends(garment: Garment, seam: Seam) -> list[CornerWalk]:
    """The corners at both ends of a seam; none where a facing is turned over the edge that it faces."""
    found: list[CornerWalk] = []
    if any(garment.edge(ref).finish is Finish.FACED for ref in (*seam.first, *seam.second)):
        return found
    for at_start, first, second in (
        (True, seam.first[0], seam.second[0]),
        (False, seam.first[-1], seam.second[-1]),
    ):
        a, b = _corner(garment, first, at_start), _corner(garment, second, at_start)
        (index_a, next_a), (index_b, next_b) = a, b
        if next_a.kind is not next_b.kind or next_a.on_fold or next_b.on_fold:
            continue
        piece_a, piece_b = garment.piece(first.piece), garment.piece(second.piece)
        points = CornerKind.POINTS in (piece_a.corners[index_a].kind, piece_b.corners[index_b].kind)
        total = corner_angle(piece_a, index_a) + corner_angle(piece_b, index_b)
        place = piece_a.edges[index_a].start
        found.append(
            CornerWalk(f"{next_a.kind} at the {seam.name}".capitalize(), piece_a.id, place, total, 180.0, points)
        )
    return found


def _corner(garment: Garment, ref: EdgeRef, at_start: bool) -> tuple[int, Edge]:
    """The corner at one end of a seam's edge, and the edge beyond it."""
    piece = garment.piece(ref.piece)
    index = [edge.id for edge in piece.edges].index(ref.edge)
    if at_start != ref.backwards:
        return index, piece.edges[index - 1]
    following = (index + 1) % len(piece.edges)
    return following, piece.edges[following]
