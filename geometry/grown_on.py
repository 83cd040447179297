"""Grown-on facings: paper beyond a turn line is the mirror image of the garment edge, and follows every note.

By hand the facing is folded under at the turn line and its sides are cut along the garment's own edges (common
practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.kept import frozen
from geometry.lines import Chain, straight
from geometry.motions import Motion, Point, mirror
from geometry.pieces import Edge, Line, LineKind, Notch, Piece, Run
from geometry.readings import mm_words

#: An end of a turn line this close to a corner stands on it (mm).
_AT_CORNER_MM = 0.5
#: A facing's side that lay this close to its mirror image in the tracing was drawn as one (mm).
_MIRRORED_MM = 0.3
#: A side is only drawn anew when it has left its mirror image by more than this (mm).
_LEFT_MM = 0.01


@dataclass(frozen=True)
class _Side:
    """A facing's side beyond a turn line, by edge id, with the garment edge it mirrors."""

    turn: str
    facing: str
    garment: str
    facing_first: bool


def facings_followed(piece: Piece, traced: Piece) -> tuple[Piece, tuple[Finding, ...]]:
    """The piece with every grown-on facing drawn again as the mirror of the garment edges beside its turn line.

    Only sides that mirrored the garment in the tracing are touched; the facing's outer edge is drawn to meet
    them. Where the outline would cross itself the piece stays as it was, with a finding.
    """
    if piece is traced:
        return piece, ()
    findings: list[Finding] = []
    for side in _sides(traced):
        moved, away = _followed(piece, side)
        if moved is None:
            findings.append(_finding(piece, side, "grown-on-facing-stuck", Level.WARN, away))
        elif moved is not piece:
            findings.append(_finding(piece, side, "grown-on-facing", Level.NOTICE, away))
            piece = moved
    return piece, tuple(findings)


def _sides(traced: Piece) -> list[_Side]:
    """The sides of grown-on facings as traced: an edge that starts or ends at a turn line and mirrors its neighbour."""
    found = []
    for line in (one for one in traced.lines if one.kind is LineKind.TURN and one.chain.is_straight):
        for index, edge in enumerate(traced.edges):
            before = traced.edges[index - 1]
            if min(math.dist(edge.start, end) for end in (line.chain.start, line.chain.end)) > _AT_CORNER_MM:
                continue
            if edge.on_fold or before.on_fold:
                continue
            pairs = ((edge, before, False), (before, edge, True))
            fitting = [pair for pair in pairs if _off(pair[0], _image(line, *pair)) <= _MIRRORED_MM]
            # Both may mirror each other; the facing is the one on the far side of the turn line from the piece.
            facing = max(fitting, key=lambda pair: _depth(traced, line, pair[0]), default=None)
            if facing is not None:
                found.append(_Side(line.id, facing[0].id, facing[1].id, facing[2]))
    return found


def _depth(piece: Piece, line: Line, edge: Edge) -> float:
    """How far an edge's middle lies on the other side of a line than most of the piece (mm)."""
    x, y = edge.chain.point(len(edge.chain) / 2)
    centre = piece.polygon.centroid
    away = _beside(line, (x, y))
    return -away if _beside(line, (centre.x, centre.y)) > 0 else away


def _beside(line: Line, point: Point) -> float:
    (ux, uy), (x, y) = line.chain.start_tangent, line.chain.start
    return ux * (point[1] - y) - uy * (point[0] - x)


def _image(line: Line, facing: Edge, garment: Edge, facing_first: bool) -> Chain:
    """The garment edge beside the turn line, as long as the facing's side, mirrored about the line."""
    chain, reach = garment.chain, min(facing.chain.length, garment.chain.length)
    if facing_first:
        part = chain.part(0.0, chain.at_length(reach))
    else:
        part = chain.part(chain.at_length(chain.length - reach), float(len(chain)))
    return part.moved(_reflection(line)).backwards()


def _reflection(line: Line) -> Motion:
    return mirror(line.chain.start, line.chain.start_tangent)


def _off(edge: Edge, image: Chain) -> float:
    """The greatest distance of the image from the edge at a few places (mm)."""
    places = [image.point(image.at_length(image.length * part)) for part in (0.0, 0.25, 0.5, 0.75, 1.0)]
    return max(edge.chain.nearest(place)[1] for place in places)


def _followed(piece: Piece, side: _Side) -> tuple[Piece | None, float]:
    """The piece with one side mirrored anew (the same object where it still is, None where it cannot be)."""
    line = next(one for one in piece.lines if one.id == side.turn)
    facing, garment = piece.edge(side.facing), piece.edge(side.garment)
    image = _image(line, facing, garment, side.facing_first)
    away = _off(facing, image)
    if away <= _LEFT_MM:
        return piece, away
    meeting, far = (image.end, image.start) if side.facing_first else (image.start, image.end)
    corner = facing.end if side.facing_first else facing.start
    # The image meets the garment edge at the turn line exactly; the rest of the outline meets the image.
    slip = (corner[0] - meeting[0], corner[1] - meeting[1])
    image = image.moved(Motion(e=slip[0], f=slip[1]))
    far = (far[0] + slip[0], far[1] + slip[1])
    edges = {facing.id: replace(facing, runs=(Run(image),), joints=())}
    index = [edge.id for edge in piece.edges].index(facing.id)
    outer = piece.edges[index - 1] if side.facing_first else piece.edges[(index + 1) % len(piece.edges)]
    edges[outer.id] = _met(outer, far, at_end=side.facing_first)
    try:
        outline = tuple(edges.get(edge.id, edge) for edge in piece.edges)
        notches = tuple(_carried(piece, notch, edges) for notch in piece.notches)
        return replace(piece, edges=outline, notches=notches), away
    except PatternError:
        return None, away


def _met(edge: Edge, point: Point, *, at_end: bool) -> Edge:
    """An edge with one end brought to a point; a straight one stays straight, a curved one follows evenly."""
    if edge.chain.is_straight:
        chain = straight(edge.start, point) if at_end else straight(point, edge.end)
        return replace(edge, runs=(Run(chain),), joints=())
    chain = edge.chain
    old = chain.end if at_end else chain.start
    cubics = chain.cubics.copy()
    for segment in range(len(chain)):
        for knot in range(4):
            part = (segment + knot / 3) / len(chain)
            weight = part if at_end else 1 - part
            cubics[segment, knot] += (weight * (point[0] - old[0]), weight * (point[1] - old[1]))
    return replace(edge, runs=(Run(Chain(frozen(cubics), chain.straight)),), joints=())


def _carried(piece: Piece, notch: Notch, edges: dict[str, Edge]) -> Notch:
    if notch.place.edge not in edges:
        return notch
    u = edges[notch.place.edge].chain.nearest(piece.point_at(notch.place))[0]
    return replace(notch, place=replace(notch.place, run=0, u=u))


def _finding(piece: Piece, side: _Side, code: str, level: Level, away: float) -> Finding:
    facing = piece.edge(side.facing)
    done = "was drawn again as" if level is Level.NOTICE else "would cross the outline as"
    says = (
        f"The grown-on facing of “{piece.name}”: “{facing.name}” {done} the mirror image of "
        f"“{piece.edge(side.garment).name}” ({mm_words(away)} at the most)."
    )
    return Finding(code, level, says, piece.id, None, facing.start)
