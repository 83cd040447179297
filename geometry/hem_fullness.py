"""What a turned-up hem asks for: fullness to ease on a curved hem, and room for its depth."""

from __future__ import annotations

from geometry.crossings import met
from geometry.cut_corners import HEMS, hem_turns
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.lines import Chain
from geometry.motions import mirror
from geometry.parallels import moved_line
from geometry.pieces import Edge, Piece
from geometry.tolerances import MITRE_LIMIT, STRAIGHT_DEG, TRUE_MM


def hem_findings(garment: Garment, piece: Piece, lines: list[Chain]) -> list[Finding]:
    """A notice where a hem's edge is longer or shorter than where it is sewn, a warning where it is too deep."""
    found = []
    for index, edge in enumerate(piece.edges):
        width = garment.width(edge)
        if edge.finish not in HEMS or width <= 0:
            continue
        found.extend(_too_deep(piece, lines, index, width))
        fullness = hem_fullness(piece, lines, index, hem_turns(edge.finish, width)[-1])
        if fullness is not None and abs(fullness) > TRUE_MM:
            found.append(_fullness_finding(piece, edge, fullness))
    return found


def hem_fullness(piece: Piece, lines: list[Chain], index: int, depth: float) -> float | None:
    """How much longer (mm) a hem ``depth`` mm deep is along its edge than along the line it is sewn to.

    Both are measured between the side stitching lines; on the hem these are reflected about the turn at the
    corner. 0 for a straight hem; None where the lines do not meet.
    """
    line = lines[index]
    if line.turning_deg < STRAIGHT_DEG:
        return 0.0
    before, after = lines[index - 1], lines[(index + 1) % len(lines)]
    sewn = _between(before, moved_line(line, -depth).line, after, depth)
    turned = (
        before.moved(mirror(line.start, line.start_tangent)),
        after.moved(mirror(line.end, line.end_tangent)),
    )
    edge = _between(turned[0], moved_line(line, depth).line, turned[1], depth)
    return None if sewn is None or edge is None else edge - sewn


def _between(before: Chain, line: Chain, after: Chain, depth: float) -> float | None:
    started = met(before, line, MITRE_LIMIT * depth)
    ended = met(started[1], after, MITRE_LIMIT * depth) if started else None
    return ended[0].length if ended else None


def _fullness_finding(piece: Piece, edge: Edge, fullness: float) -> Finding:
    if fullness > 0:
        says = (
            f"“{edge.name}” of “{piece.name}” is {fullness:.1f} mm longer along its edge than where it is sewn; "
            "ease the fullness in, or turn up less."
        )
    else:
        says = (
            f"“{edge.name}” of “{piece.name}” is {-fullness:.1f} mm shorter along its edge than where it is sewn; "
            "stretch or clip it, turn up less, or face it."
        )
    return Finding("hem-fullness", Level.NOTICE, says, piece.id, None, edge.chain.point(len(edge.chain) / 2))


def _too_deep(piece: Piece, lines: list[Chain], index: int, width: float) -> list[Finding]:
    edge = piece.edges[index]
    found = []
    for other in (index - 1, (index + 1) % len(lines)):
        if lines[other].length < width:
            says = (
                f"The {width:.4g} mm hem of “{edge.name}” of “{piece.name}” is deeper than “{piece.edges[other].name}” "
                f"is long ({lines[other].length:.1f} mm); turn up less."
            )
            corner = edge.start if other == index - 1 else edge.end
            found.append(Finding("allowance-too-wide", Level.WARN, says, piece.id, None, corner))
    return found
