"""Stitching line to cutting line: a width for each edge, a shape for each corner, notches carried out square."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
import shapely

from geometry.crossings import Trimmed, is_simple, outer_line
from geometry.cut_corners import CornerPlan, corner_plan, shaped
from geometry.dart_caps import dart_cap
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import EdgeRef, Garment, Seam
from geometry.hem_fullness import hem_findings
from geometry.joints import Joint, direct, one_straight, ruled_once, turn_deg
from geometry.kept import frozen
from geometry.lines import Chain, flatten, joined
from geometry.memory import Later, Recall, computed_anew
from geometry.motions import FloatArray, Point
from geometry.parallels import moved_line, moved_lines
from geometry.pieces import Edge, Notch, Piece, RunKind, place_in
from geometry.stages import BlendedPiece, CutNotch, CutPiece
from geometry.tolerances import MEET_MM, MITRE_LIMIT, SIMPLE_MM

#: Notches are cut this deep at most (mm), and never past half the allowance.
NICK_MM = 3.0
#: A step of a line of changing width that is no longer than this is none (mm).
_STEP_BACK_MM = 0.05
#: A loop longer than this many widths is no tight curve: the allowances of two stretches run into each other.
_LOOP = 4.0


def cut_piece(garment: Garment, blended: BlendedPiece, recall: Recall = computed_anew) -> CutPiece:
    """The piece with its allowances on; the garment gives widths by finish, order of sewing and pressing.

    ``recall`` spares edges and corners that are the same as before. ``cutting`` runs anticlockwise from the first
    edge's first corner. It is None, with a finding, where the allowances cannot be made. Raises PatternError for a
    width that is negative or no number.
    """
    return _cut(garment, blended.piece, garment, blended.piece, recall)


def cut_kept(
    garment: Garment,
    blended: BlendedPiece,
    cut_garment: Garment,
    cut_blended: BlendedPiece,
    recall: Recall = computed_anew,
) -> CutPiece:
    """As ``cut_piece``, with the cutting line of ``cut_blended``, where seams were sewn elsewhere since it was cut.

    The cut edge stays whole, corners and all; notches are carried out to it from where they are sewn.
    """
    return _cut(garment, blended.piece, cut_garment, cut_blended.piece, recall)


def _cut(garment: Garment, piece: Piece, cut_garment: Garment, cut: Piece, recall: Recall) -> CutPiece:
    widths = MappingProxyType({edge.id: _width(garment, piece, edge) for edge in piece.edges})
    lines, in_lines = _seam_lines(cut, recall)
    parts = cut_lines(cut_garment, cut, lines, recall)
    ring = _ring(parts)
    findings = [*in_lines, *_crowded(cut, parts), *hem_findings(cut_garment, cut, lines)]
    if not is_simple(ring):
        trimmed, more = _trimmed(cut, parts, ring)
        findings.extend(more)
        if trimmed is None:
            return CutPiece(piece, None, widths, (), tuple(findings))
        ring = trimmed
    by_edge = {part.edge.id: part for part in parts}
    notches = tuple(_carried_out(piece, notch, by_edge[notch.place.edge]) for notch in piece.notches)
    return CutPiece(piece, ring, widths, notches, tuple(findings))


def seam_line(piece: Piece, edge: Edge) -> Chain:
    """The stitching line of an edge from corner to corner, every dart mouth with its shaped end."""
    if all(run.kind is not RunKind.MOUTH for run in edge.runs):
        return edge.chain
    caps = {dart.id: dart for dart in piece.darts}
    return joined(
        [
            dart_cap(piece, caps[run.dart]) if run.kind is RunKind.MOUTH and run.dart in caps else run.chain
            for run in edge.runs
        ]
    )


def _seam_lines(piece: Piece, recall: Recall) -> tuple[list[Chain], list[Finding]]:
    """Every edge's seam line; where a dart's end cannot be shaped, straight across its mouth with a finding."""
    return recall("seam lines", (piece,), None, lambda: _seam_lines_anew(piece, recall))


def _seam_lines_anew(piece: Piece, recall: Recall) -> tuple[list[Chain], list[Finding]]:
    lines, findings = [], []
    for edge in piece.edges:
        darts = tuple(dart for dart in piece.darts if dart.edge == edge.id)
        try:
            if darts:
                how = (piece.id, piece.name, darts)
                lines.append(recall("seam line", (edge,), how, lambda edge=edge: seam_line(piece, edge)))  # type: ignore[misc]
            else:
                lines.append(seam_line(piece, edge))
        except PatternError as error:
            lines.append(edge.chain)
            findings.append(Finding("dart-end", Level.WARN, error.says, piece.id, None, error.point))
    return lines, findings


@dataclass(frozen=True, eq=False)
class CutEdge:
    """One edge's share of the cutting line, from corner point to corner point, and the joints at its ends."""

    edge: Edge
    width: float
    stitching: Chain
    line: Chain
    start: Joint
    end: Joint


def cut_lines(
    garment: Garment, piece: Piece, lines: list[Chain], recall: Recall = computed_anew
) -> tuple[CutEdge, ...]:
    """The cutting line edge by edge, before loops are trimmed; ``lines`` are the edges' seam lines.

    The line that ends a shaped allowance (mirrored, squared, reflected) is the other edge's.
    """
    widths = [_width(garment, piece, edge) for edge in piece.edges]
    moved, ends = _moved(piece, lines, widths, recall)
    joints = [
        _corner(corner_plan(garment, piece, i), (moved[i - 1], moved[i]), lines[i].start, (a[1], b[0]), recall)
        for i, (a, b) in enumerate(zip(ends[-1:] + ends[:-1], ends, strict=True))
    ]
    _keep_short_edges(moved, joints, lines)
    found = []
    for i, edge in enumerate(piece.edges):
        start, end = joints[i], joints[(i + 1) % len(joints)]
        found.append(CutEdge(edge, widths[i], lines[i], _between(start, moved[i], end, recall), start, end))
    return tuple(found)


def _moved(
    piece: Piece, lines: list[Chain], widths: list[float], recall: Recall
) -> tuple[list[Chain], list[tuple[float, float]]]:
    """Every edge's seam line moved out by its allowance, and the widths at its two ends."""
    plain = [width if width and not edge.tapers else 0.0 for edge, width in zip(piece.edges, widths, strict=True)]
    found = _moved_together(lines, plain, recall)
    ends = [(width, width) for width in widths]
    for i, (edge, line, width) in enumerate(zip(piece.edges, lines, widths, strict=True)):
        if edge.tapers:
            found[i], ends[i] = _tapered(edge, line, width)
    return found, ends


def _moved_together(lines: Sequence[Chain], widths: Sequence[float], recall: Recall) -> list[Chain]:
    """Each line moved out by its width, those together that were not before; one of no width stays as it is."""
    found = list(lines)
    waiting: list[tuple[int, Later[Chain]]] = []
    for i, (line, width) in enumerate(zip(lines, widths, strict=True)):
        if width:
            later: Later[Chain] = recall("moved line", (line,), width, Later)
            if later.value is None:
                waiting.append((i, later))
            else:
                found[i] = later.value
    anew = moved_lines([lines[i] for i, _ in waiting], [widths[i] for i, _ in waiting])
    for (i, later), line in zip(waiting, anew, strict=True):
        found[i] = later.value = line
    return found


def lines_moved(garment: Garment, pieces: Iterable[Piece], recall: Recall) -> None:
    """Moves the seam lines of several pieces out together, for ``cut_piece`` to recall one by one."""
    lines, widths = list[Chain](), list[float]()
    for piece in pieces:
        lines += _seam_lines(piece, recall)[0]
        widths += [0.0 if edge.tapers else _width(garment, piece, edge) for edge in piece.edges]
    _moved_together(lines, widths, recall)


def _corner(
    plan: CornerPlan, lines: tuple[Chain, Chain], corner: Point, widths: tuple[float, float], recall: Recall
) -> Joint:
    return recall("corner", lines, (plan, corner, widths), lambda: shaped(plan, *lines, corner, widths))


def _between(start: Joint, line: Chain, end: Joint, recall: Recall) -> Chain:
    """An edge's share of the cutting line from one corner point to the next."""

    def make() -> Chain:
        parts = [one for one in (start.after, line.part(start.v, end.u), end.before) if one is not None]
        return one_straight(parts) or ruled_once(joined(parts))

    return recall("cut edge", (start, line, end), None, make)


def _tapered(edge: Edge, line: Chain, width: float) -> tuple[Chain, tuple[float, float]]:
    """The cutting line of an edge whose allowance tapers, and its width at the edge's two ends."""

    def profile(lengths: FloatArray) -> tuple[FloatArray, FloatArray]:
        changes = [taper.at(lengths / line.length) for taper in edge.tapers]
        wide = width + sum((change for change, _ in changes), np.zeros_like(lengths))
        return wide, sum((slope for _, slope in changes), np.zeros_like(lengths)) / line.length

    at_ends = profile(np.array([0.0, line.length]))[0]
    return _without_back_steps(moved_line(line, width, profile).line), (float(at_ends[0]), float(at_ends[1]))


def _without_back_steps(line: Chain) -> Chain:
    """A line whose joints step back by a hundredth of a mm, as a changing width makes them, without those steps."""
    starts, ends = line.cubics[:, 0], line.cubics[:, 3]
    kept = np.hypot(*(ends - starts).T) > _STEP_BACK_MM
    if kept.all() or not kept.any():
        return line
    cubics = line.cubics[kept].copy()
    cubics[0, 0], cubics[-1, 3] = starts[0], ends[-1]
    cubics[1:, 0] = cubics[:-1, 3]
    return Chain(frozen(cubics), line.straight[kept].copy())


def _width(garment: Garment, piece: Piece, edge: Edge) -> float:
    width = garment.width(edge)
    if not (math.isfinite(width) and width >= 0):
        raise PatternError(f"The allowance of “{edge.name}” of “{piece.name}” must be 0 mm or more.", piece.id, edge.id)
    return width


def _keep_short_edges(moved: list[Chain], joints: list[Joint], lines: list[Chain]) -> None:
    """Where both ends of an edge would be trimmed past each other, its ends are joined straight instead."""
    for i in range(len(moved)):
        following = (i + 1) % len(joints)
        if joints[i].v < joints[following].u - 1e-9:
            continue
        for j in (i, following):
            if joints[j].u < len(moved[j - 1]) or joints[j].v > 0:
                joints[j] = direct(moved[j - 1], moved[j], lines[j].start, crossed=False)


def _ring(parts: tuple[CutEdge, ...]) -> Chain:
    """The whole cutting line, closed to the last digit."""
    ring = joined([part.line for part in parts])
    cubics = ring.cubics.copy()
    cubics[-1, 3] = cubics[0, 0]
    return Chain(frozen(cubics), ring.straight)


def _crowded(piece: Piece, parts: tuple[CutEdge, ...]) -> list[Finding]:
    """Inward corners so sharp that the two allowances run into each other far from the corner."""
    found = []
    for part, other in zip(parts, parts[1:] + parts[:1], strict=True):
        joint, width = part.end, max(part.width, other.width)
        if not joint.crossed or joint.reach <= MITRE_LIMIT * width + MEET_MM:
            continue
        if turn_deg(part.stitching.end_tangent, other.stitching.start_tangent) < 0:
            found.append(_crossing(piece, part.edge, other.edge, joint.point))
    return found


def _crossing(piece: Piece, first: Edge, second: Edge, place: Point) -> Finding:
    names = f"“{first.name}”" if first is second else f"“{first.name}” and “{second.name}”"
    says = (
        f"The allowances of {names} of “{piece.name}” run into each other "
        f"{piece.where(place)}; they are cut where they meet and are narrower there."
    )
    return _doubt("allowance-crosses", Level.WARN, says, piece, place, first, second)


def _doubt(code: str, level: Level, says: str, piece: Piece, place: Point, *edges: Edge) -> Finding:
    """A finding about the allowances of edges, the one that it is told of first; narrower ones put it right."""
    ids = tuple(dict.fromkeys(edge.id for edge in edges))
    return Finding(code, level, says, piece.id, None, place, cure=f"allowance:{piece.id}:{'+'.join(ids)}", edges=ids)


def _trimmed(piece: Piece, parts: tuple[CutEdge, ...], ring: Chain) -> tuple[Chain | None, list[Finding]]:
    """The ring with its loops cut off and a finding for each, or None where no cutting line is left."""
    walked = outer_line(ring)
    place = place_in(shapely.is_valid_reason(shapely.Polygon(ring.flat[0]))) or piece.edges[0].start
    if walked is not None:
        line, gone = walked
        findings = _merged_findings([_loop_finding(piece, parts, ring, one) for one in gone])
        place = gone[0].point if gone else place
        if _holds(piece, line):
            return line, findings
    says = (
        f"The cutting line of “{piece.name}” cannot be drawn: its allowances run into each other "
        f"{piece.where(place)}. Make them narrower there."
    )
    near = sorted(parts, key=lambda part: part.line.nearest(place)[1])[:2]
    return None, [_doubt("allowance-crosses", Level.FAULT, says, piece, place, *(part.edge for part in near))]


def _loop_finding(piece: Piece, parts: tuple[CutEdge, ...], ring: Chain, gone: Trimmed) -> Finding:
    ends = np.cumsum([len(part.line) for part in parts]).tolist()
    starts = [0, *ends[:-1]]
    span = gone.end - gone.start if gone.end > gone.start else gone.end - gone.start + ends[-1]
    first = max(i for i, start in enumerate(starts) if start <= gone.start)
    last = max(i for i, start in enumerate(starts) if start <= gone.end)
    between = [
        part
        for part, start, end in zip(parts, starts, ends, strict=True)
        if (start - gone.start + 1e-6) % ends[-1] + end - start <= span + 2e-6
    ]
    if between:
        part = max(between, key=lambda one: one.width)
        says = (
            f"The {part.width:.4g} mm allowance of “{part.edge.name}” of “{piece.name}” is wider than the piece bears "
            f"{piece.where(gone.point)}; what is left of it is cut where its neighbours meet. Make it narrower."
        )
        beside = (*(one.edge for one in between), parts[first].edge, parts[last].edge)
        return _doubt("allowance-too-wide", Level.WARN, says, piece, gone.point, part.edge, *beside)
    part = parts[first]
    if first != last or abs(ring.length_to(gone.end) - ring.length_to(gone.start)) > _LOOP * part.width:
        return _crossing(piece, part.edge, parts[last].edge, gone.point)
    says = (
        f"“{part.edge.name}” of “{piece.name}” curves more tightly than its {part.width:.4g} mm allowance "
        f"{piece.where(gone.point)}; the cutting line is trimmed to a point there. A narrower one goes round it."
    )
    return _doubt("allowance-tight", Level.NOTICE, says, piece, gone.point, part.edge)


def _merged_findings(findings: list[Finding]) -> list[Finding]:
    """One finding a sentence."""
    return list({one.says: one for one in findings}.values())


def _holds(piece: Piece, line: Chain) -> bool:
    polygon = shapely.Polygon(flatten(line, SIMPLE_MM)[0])
    return bool(polygon.is_valid and polygon.exterior.is_ccw and polygon.buffer(5 * SIMPLE_MM).contains(piece.polygon))


def _carried_out(piece: Piece, notch: Notch, part: CutEdge) -> CutNotch:
    """A notch carried out square to the stitching line, to the cutting line."""
    line = piece.run_at(notch.place).chain
    tangent = line.tangent(notch.place.u, before=notch.place.u >= len(line))
    stitch, outward = line.point(notch.place.u), (tangent[1], -tangent[0])
    if part.width <= MEET_MM:
        return CutNotch(notch.id, stitch, stitch, outward, False)
    reaches = [
        (x - stitch[0]) * outward[0] + (y - stitch[1]) * outward[1]
        for x, y in (part.line.point(u) for u in part.line.crossings(stitch, outward))
    ]
    ahead = [r for r in reaches if r > -MEET_MM]
    reach = min(ahead, key=lambda r: abs(r - part.width), default=part.width)
    cut = (stitch[0] + reach * outward[0], stitch[1] + reach * outward[1])
    return CutNotch(notch.id, stitch, cut, outward, True)


def nick_depth(width: float) -> float:
    """How deep a notch is cut into an allowance of ``width`` mm: 3 mm, and never past half the allowance."""
    return min(NICK_MM, max(width, 0.0) / 2)


def cut_by_widths(piece: Piece, widths: Mapping[str, float]) -> CutPiece:
    """The piece cut with a width for each edge id, 0 where none is given, unsewn: corners as their edges say."""
    edges = tuple(replace(edge, width=widths.get(edge.id, 0.0)) for edge in piece.edges)
    alone = replace(piece, edges=edges)
    return cut_piece(Garment("alone", piece.name, (alone,)), BlendedPiece(alone))


def differing_widths(garment: Garment) -> tuple[Finding, ...]:
    """A notice for every two edges that are sewn together with allowances of different widths.

    Bound edges are left out: they have no allowance by intent.
    """
    found = []
    for key, seam, first, second in differing_pairs(garment):
        one, other = garment.width(garment.edge(first)), garment.width(garment.edge(second))
        names = (garment.piece(first.piece).name, garment.piece(second.piece).name)
        says = (
            f"Seam “{seam.name}” has a {one:.4g} mm allowance on “{names[0]}” and {other:.4g} mm on “{names[1]}”; "
            "match the stitching lines, not the cut edges, or make the two alike."
        )
        at = garment.edge(first)
        found.append(
            Finding("allowance-differs", Level.NOTICE, says, first.piece, None, at.start, cure=key, edges=(at.id,))
        )
    return tuple(found)


def differing_pairs(garment: Garment) -> Iterator[tuple[str, Seam, EdgeRef, EdgeRef]]:
    """Every two edges that are sewn together with allowances of different widths, with what the pair is called."""
    for seam in garment.seams:
        for first, second in sewn_pairs(garment, seam):
            one, other = garment.width(garment.edge(first)), garment.width(garment.edge(second))
            if abs(one - other) > MEET_MM and 0.0 not in (one, other):
                yield f"widths:{seam.id}:{first.edge}:{second.edge}", seam, first, second


def sewn_pairs(garment: Garment, seam: Seam) -> list[tuple[EdgeRef, EdgeRef]]:
    """Edges of a seam's two sides that lie against each other when both are laid out over the same length."""
    spans = [_spans(garment, side) for side in (seam.first, seam.second)]
    return [
        (one, other)
        for one, low, high in spans[0]
        for other, from_, to in spans[1]
        if min(high, to) - max(low, from_) > 0.02
    ]


def _spans(garment: Garment, side: tuple[EdgeRef, ...]) -> list[tuple[EdgeRef, float, float]]:
    lengths = [garment.edge(ref).length for ref in side]
    ends = np.cumsum(lengths) / sum(lengths)
    return [(ref, float(end - n / sum(lengths)), float(end)) for ref, n, end in zip(side, lengths, ends, strict=True)]
