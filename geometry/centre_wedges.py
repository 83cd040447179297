"""A wedge at the centre front or centre back that runs out to nothing at a hinge, and the centre made straight again.

By hand: a fold that is deepest at the centre, or a slash that opens there; the paper above it turns about the hinge.
A straight centre must end as one straight line. Where paper was folded out it is ruled from corner to corner; where
paper was let in, the line below is ruled on upwards and the upper edge run out to it, square.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import shapely

from geometry.cutting_lines import hem_side_normal, largest_part, square_direction
from geometry.darts import way_out, wedge
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.lines import Chain, straight
from geometry.motions import Motion, Point, bearing, direction, turn
from geometry.moves import lay_together
from geometry.pieces import Edge, EdgeKind, Joint, Line, LineKind, Piece, Run, RunKind
from geometry.readings import mm_words
from geometry.regions import Region, Sector, beside_slash
from geometry.stages import Strip
from geometry.tolerances import MEET_MM, STRAIGHT_DEG

#: A line that ends this near to the centre edge ends at it (mm).
_AT_EDGE_MM = 0.5
_ALONG_CENTRE = (LineKind.GRAIN, LineKind.STRETCH, LineKind.CENTRE)


@dataclass(frozen=True, eq=False)
class Wedged:
    """The piece after a wedge.

    ``turned_deg`` is the turn of the paper above it; ``aside_mm`` how far the ruled centre lies beside the turned one:
    at the fold where paper was folded out, at the top where it was let in. ``ruled`` is False for a shaped
    centre, which keeps its shape and is left for blending.
    """

    piece: Piece
    findings: tuple[Finding, ...]
    strip: Strip
    turned_deg: float
    aside_mm: float
    ruled: bool


def centre_wedge(
    piece: Piece, centre: Edge, hinge: Point, low: Point, amount: float, note: str, *, opened: bool
) -> Wedged:
    """A wedge ``amount`` mm wide at the centre, above the point ``low`` of it, to nothing at ``hinge``.

    The paper on the hem's side stays. Raises PatternError when the centre ends below the wedge.
    """
    along = direction(bearing(low, hinge))
    up = hem_side_normal(piece, low, along)
    rising = (centre.end[0] - centre.start[0]) * up[0] + (centre.end[1] - centre.start[1]) * up[1] > 0
    high = _higher(piece, centre, low, amount, rising)
    angle = (bearing(hinge, high) - bearing(hinge, low) + 180) % 360 - 180
    how = turn(angle if opened else -angle, hinge)
    slash = low if opened else high
    top = centre.end if rising else centre.start
    ways = (direction(bearing(hinge, slash)), way_out(piece, hinge, bearing(slash, hinge)))
    upper = Region(beside_slash((slash, hinge), ways, top), how)
    gap = Sector(hinge, bearing(hinge, low if angle > 0 else high), abs(angle))
    regions = [upper] if opened else [Region(gap, None), upper]
    loose = replace(piece, lines=tuple(line for line in piece.lines if line.kind not in _ALONG_CENTRE))
    moved = lay_together(loose, regions, note, along)
    new, aside = moved.piece, 0.0
    turned = Motion()
    ruled = centre.chain.turning_deg < STRAIGHT_DEG
    if ruled:
        if opened:
            new = _run_on(new, centre, rising, Joint(note, along))
            aside = math.dist(how.point(top), new.edge(centre.id).end if rising else new.edge(centre.id).start)
        else:
            aside = _aside(new.edge(centre.id))
            new = with_ruled(new, centre.id)
            turned = _turn_of(centre, new.edge(centre.id))
    new = replace(new, lines=tuple(_reaching(line, piece, new, centre.id) for line in _lines(piece, new, turned)))
    seen = new if opened else piece
    shape = shapely.Polygon(wedge(hinge, bearing(hinge, low), bearing(hinge, high)).corners)
    paper = shape.intersection(seen.polygon)
    return Wedged(new, moved.findings, Strip(piece.id, largest_part(paper), opened), abs(angle), aside, ruled)


def with_ruled(piece: Piece, edge_id: str) -> Piece:
    """The piece with an edge ruled straight from corner to corner, its notches carried square onto it."""
    edge = piece.edge(edge_id)
    return _with_line(piece, edge, straight(edge.start, edge.end))


def _higher(piece: Piece, centre: Edge, low: Point, amount: float, rising: bool) -> Point:
    length = centre.chain.length_to(centre.chain.nearest(low)[0])
    higher = length + amount if rising else length - amount
    if not 0.0 < higher < centre.chain.length:
        raise PatternError(
            f"“{centre.name}” of “{piece.name}” ends less than {mm_words(amount)} above the wedge; set it lower.",
            piece.id,
            centre.id,
            low,
        )
    return centre.chain.point(centre.chain.at_length(higher))


def _aside(edge: Edge) -> float:
    """How far the ruled line from corner to corner lies beside the turned centre (mm)."""
    line = straight(edge.start, edge.end)
    return max(line.nearest(point)[1] for run in edge.runs for point in (run.chain.start, run.chain.end))


def _run_on(piece: Piece, before: Edge, rising: bool, joint: Joint) -> Piece:
    """The centre ruled on from below as far as its turned top reaches, and the edge at the top run out to it."""
    edge = piece.edge(before.id)
    foot, top = (edge.start, edge.end) if rising else (edge.end, edge.start)
    ux, uy = before.chain.start_tangent
    reach = (top[0] - foot[0]) * ux + (top[1] - foot[1]) * uy
    corner = (foot[0] + reach * ux, foot[1] + reach * uy)
    index = [e.id for e in piece.edges].index(edge.id)
    beside = piece.edges[(index + 1) % len(piece.edges)] if rising else piece.edges[index - 1]
    if math.dist(corner, top) <= MEET_MM:
        return with_ruled(piece, before.id)
    filling = Run(straight(corner, top) if rising else straight(top, corner), RunKind.FILLED)
    if rising:
        longer = replace(beside, runs=(filling, *beside.runs), joints=(joint, *beside.joints))
    else:
        longer = replace(beside, runs=(*beside.runs, filling), joints=(*beside.joints, joint))
    ruled = replace(edge, runs=(Run(straight(foot, corner) if rising else straight(corner, foot)),), joints=())
    changed = {edge.id: ruled, beside.id: longer}
    notches = []
    for notch in piece.notches:
        place = notch.place
        if place.edge == edge.id:
            place = replace(place, run=0, u=ruled.chain.nearest(piece.point_at(place))[0])
        elif place.edge == beside.id and rising:
            place = replace(place, run=place.run + 1)
        notches.append(replace(notch, place=place))
    edges = tuple(changed.get(e.id, e) for e in piece.edges)
    return replace(piece, edges=edges, notches=tuple(notches))


def _with_line(piece: Piece, edge: Edge, line: Chain) -> Piece:
    new = replace(edge, runs=(Run(line),), joints=())
    notches = tuple(
        replace(n, place=replace(n.place, run=0, u=line.nearest(piece.point_at(n.place))[0]))
        if n.place.edge == edge.id
        else n
        for n in piece.notches
    )
    edges = tuple(new if e.id == edge.id else e for e in piece.edges)
    return replace(piece, edges=edges, notches=notches)


def _turn_of(before: Edge, after: Edge) -> Motion:
    """The turn of a ruled edge, as a motion about the origin: only its direction is used."""
    return turn(bearing(after.start, after.end) - bearing(before.start, before.end), (0.0, 0.0))


def _lines(old: Piece, new: Piece, turned: Motion) -> tuple[Line, ...]:
    """Grain and centre lines stay with the paper below, parallel to the ruled centre."""
    placed = {line.id: line for line in new.lines}
    return tuple(placed.get(line.id) or _turned_line(line, turned) for line in old.lines)


def _reaching(line: Line, old: Piece, new: Piece, centre: str) -> Line:
    """A straight line that ended at the centre ends at the ruled centre."""
    chain = next(one.chain for one in old.lines if one.id == line.id)
    if line.kind in _ALONG_CENTRE or not (chain.is_straight and line.chain.is_straight):
        return line
    at_start, at_end = (old.edge(centre).chain.nearest(p)[1] < _AT_EDGE_MM for p in (chain.start, chain.end))
    if at_start == at_end:
        return line
    fixed, loose = (line.chain.end, line.chain.start) if at_start else (line.chain.start, line.chain.end)
    met = new.edge(centre).chain
    found = met.crossings(fixed, direction(bearing(fixed, loose)))
    if not found:
        return line
    end = met.point(found[0])
    return replace(line, chain=straight(end, fixed) if at_start else straight(fixed, end))


def _turned_line(line: Line, turned: Motion) -> Line:
    if turned.stays:
        return line
    middle = line.chain.point(len(line.chain) / 2)
    return replace(line, chain=line.chain.moved(turn(turned.turned_deg, middle)))


def level_at(piece: Piece, centre: Edge, point: Point) -> Point:
    """The place of the centre edge square across from a point. Raises PatternError when the centre ends below it."""
    found = centre.chain.crossings(point, square_direction(piece))
    if not found:
        raise PatternError(
            f"“{centre.name}” of “{piece.name}” does not reach so high; choose a lower place on the armhole.",
            piece.id,
            centre.id,
            point,
        )
    return centre.chain.point(found[0])


def only_edge(piece: Piece, kind: EdgeKind, wanted: str) -> Edge:
    """The first edge of a kind; raises PatternError, asking for ``wanted``, when the piece has none."""
    for edge in piece.edges_of(kind):
        return edge
    raise PatternError(f"“{piece.name}” has no {kind}; choose {wanted}.", piece.id)
