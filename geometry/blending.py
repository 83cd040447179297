"""Blending: after the last note, every jogged edge of a piece is redrawn once, as fair as its length allows.

A jog lies between fixed points: corners, the ends of dart mouths, and where bust, waist and hip lines meet the edge.
Straight stretches are redrawn with a ruler, curved ones with a batten (``battens``); the marks on the edge follow.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.errors import PatternError
from geometry.fairness import CORNER_MM, greatest_curvature
from geometry.findings import Finding, Level
from geometry.jogs import Band, Jog, Spot, Stretch, bands_of, level_spots, mouth_run, stretches_of
from geometry.lines import Chain, flatten, joined, straight, tidied
from geometry.motions import FloatArray, Point
from geometry.notes import BlendChoice
from geometry.pieces import Edge, Piece, Run, RunKind
from geometry.redrawing import (
    END_TANGENT_DEG,
    MOST_RATIO,
    Battening,
    Character,
    Redrawn,
    character_of,
    character_of_band,
    count_of,
    end_turns,
    is_straight,
    most_off,
    off_lines,
    room_of,
    ruled,
)
from geometry.reseating import lines_reseated, notches_reseated
from geometry.stages import BlendedPiece, JogBlend
from geometry.tolerances import FLATTEN_MM, MEET_MM

#: Tries at one stretch, in order: stiffness over the first, give of the end tangents (degrees), free ends at corners.
_TRIES = ((1.0, 0.0, False), (1.6, 0.0, False), (0.6, 0.0, False), (1.0, 0.45, False), (1.0, 0.45, True))
#: When an outline would cross itself, the blend is tried again with its runs no longer than these (mm).
_SHORTER = (60.0, 25.0, 10.0)


@dataclass(frozen=True, eq=False)
class _EdgeBlend:
    """An edge redrawn: the new edge, new run number per old one, what is to be told."""

    edge: Edge
    run_of: tuple[int, ...]
    blends: tuple[JogBlend, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, eq=False)
class _Figures:
    """What a try reached; ``score`` is small when it is good, 0 when within all bounds."""

    ratio: float
    inflections: int
    turns: tuple[float, float]
    off: float
    score: float


def blend_piece(
    piece: Piece, choices: Mapping[str, BlendChoice], *, traced: Piece | None = None
) -> BlendedPiece:
    """The piece with every edge fair again: dart mouths kept, one traced run between them, no joints left.

    choices: how the jogs of each note are redrawn, by note id (shared evenly where none is given). traced: the piece
    before any note; its edges tell the curvature to keep, else the old lines do. An undisturbed piece comes back as
    the same object, and so do undisturbed edges. Raises nothing: what cannot be redrawn is bridged, with a finding.
    """
    disturbed = [edge for edge in piece.edges if edge.disturbed]
    if not disturbed:
        return BlendedPiece(piece)
    results = [_blend_edge(piece, edge, choices, traced) for edge in disturbed]
    try:
        return _put_together(piece, results)
    except PatternError:
        return _one_at_a_time(piece, disturbed, choices, traced)


def _put_together(piece: Piece, results: Sequence[_EdgeBlend]) -> BlendedPiece:
    by_id = {result.edge.id: result.edge for result in results}
    edges = tuple(by_id.get(edge.id, edge) for edge in piece.edges)
    runs = {result.edge.id: result.run_of for result in results}
    new = replace(
        piece,
        edges=edges,
        notches=notches_reseated(piece, by_id, runs),
        lines=lines_reseated(piece, by_id),
    )
    blends = tuple(blend for result in results for blend in result.blends)
    return BlendedPiece(new, blends, tuple(finding for result in results for finding in result.findings))


def _one_at_a_time(
    piece: Piece, disturbed: Sequence[Edge], choices: Mapping[str, BlendChoice], traced: Piece | None
) -> BlendedPiece:
    """Edges are redrawn in turn; one that would make the outline cross itself is blended shorter, at last bridged."""
    kept: list[_EdgeBlend] = []
    notes = {joint.note for edge in disturbed for joint in edge.joints if joint is not None}
    for edge in disturbed:
        for longest in (math.inf, *_SHORTER):
            result = _blend_edge(piece, edge, _shortened(choices, notes, longest), traced)
            problem = _problem(piece, [*kept, result])
            if problem is None:
                break
        else:
            result = _bridged(piece, edge, problem)
        if longest < math.inf and problem is None:
            result = replace(result, findings=(*result.findings, _shortened_finding(piece, edge, longest)))
        kept.append(result)
    return _put_together(piece, kept)


def _problem(piece: Piece, results: Sequence[_EdgeBlend]) -> PatternError | None:
    try:
        _put_together(piece, results)
    except PatternError as error:
        return error
    return None


def _shortened(choices: Mapping[str, BlendChoice], notes: set[str], longest: float) -> Mapping[str, BlendChoice]:
    if longest == math.inf:
        return choices
    short = {}
    for note in notes:
        choice = choices.get(note, BlendChoice())
        before = longest if choice.before is None else min(choice.before, longest)
        after = longest if choice.after is None else min(choice.after, longest)
        short[note] = replace(choice, before=before, after=after)
    return short


def _shortened_finding(piece: Piece, edge: Edge, longest: float) -> Finding:
    says = (
        f"“{edge.name}” of “{piece.name}”: redrawn over its whole length the outline would cross itself, so the blend "
        f"runs only {longest:.0f} mm to either side; look at it before cutting."
    )
    return Finding("blend-shortened", Level.WARN, says, piece.id, _first_note(edge), _first_jog_place(edge))


def _bridged(piece: Piece, edge: Edge, problem: PatternError | None) -> _EdgeBlend:
    """The edge as it is, straight across its jogs."""
    runs: list[Run] = []
    run_of = [0] * len(edge.runs)
    for item in bands_of(edge):
        if isinstance(item, Band):
            runs.append(Run(joined([edge.runs[i].chain for i in item.sources])))
            covered = item.sources
        else:
            runs.append(mouth_run(edge, item))
            covered = tuple(i for i in range(item, len(edge.runs)) if edge.runs[i].dart == edge.runs[item].dart)
        for source in covered:
            run_of[source] = len(runs) - 1
    place = problem.point if problem is not None and problem.point is not None else _first_jog_place(edge)
    says = (
        f"“{edge.name}” of “{piece.name}” could not be blended: its outline would cross itself near "
        f"({place[0]:.0f}, {place[1]:.0f}) mm. The jog is bridged with a straight line; make the amount smaller."
    )
    finding = Finding("blend-crossing", Level.FAULT, says, piece.id, _first_note(edge), place)
    return _EdgeBlend(_edge_with(edge, runs), tuple(run_of), (), (finding,))


def _first_note(edge: Edge) -> str | None:
    return next((joint.note for joint in edge.joints if joint is not None), None)


def _first_jog_place(edge: Edge) -> Point:
    index = next(i for i, joint in enumerate(edge.joints) if joint is not None)
    return edge.runs[index].chain.end


def _edge_with(edge: Edge, runs: Sequence[Run]) -> Edge:
    return replace(edge, runs=tuple(runs), joints=(None,) * (len(runs) - 1))


def _blend_edge(
    piece: Piece, edge: Edge, choices: Mapping[str, BlendChoice], traced: Piece | None
) -> _EdgeBlend:
    if edge.on_fold:
        return _folded(piece, edge)
    runs: list[Run] = []
    run_of = [0] * len(edge.runs)
    blends: list[JogBlend] = []
    findings: list[Finding] = []
    character = _traced_character(edge, traced)
    for item in bands_of(edge):
        if isinstance(item, Band):
            run, made, told = _blend_band(piece, edge, item, choices, traced, character)
            runs.append(run)
            blends += made
            findings += told
            covered: tuple[int, ...] = item.sources
        else:
            runs.append(mouth_run(edge, item))
            covered = _mouth_members(edge, item)
        for source in covered:
            run_of[source] = len(runs) - 1
    return _EdgeBlend(_edge_with(edge, runs), tuple(run_of), tuple(blends), tuple(findings))


def _mouth_members(edge: Edge, index: int) -> tuple[int, ...]:
    last = index
    while last + 1 < len(edge.runs) and edge.runs[last + 1].dart == edge.runs[index].dart:
        last += 1
    return tuple(range(index, last + 1))


def _folded(piece: Piece, edge: Edge) -> _EdgeBlend:
    """A fold is one straight line from corner to corner, whatever the notes left of it."""
    line = straight(edge.start, edge.end)
    moved = max(line.nearest((float(x), float(y)))[1] for run in edge.runs for x, y in run.chain.flat[0])
    findings: tuple[Finding, ...] = ()
    if moved > MEET_MM:
        says = (
            f"The fold “{edge.name}” of “{piece.name}” was made one straight line again; it moved by up to "
            f"{moved:.3g} mm."
        )
        findings = (Finding("fold-straightened", Level.NOTICE, says, piece.id, _first_note(edge), edge.start),)
    return _EdgeBlend(_edge_with(edge, [Run(line)]), (0,) * len(edge.runs), (), findings)


def _traced_edge(edge: Edge, traced: Piece | None) -> Edge | None:
    if traced is None:
        return None
    return next((old for old in traced.edges if old.id == edge.id), None)


def _traced_character(edge: Edge, traced: Piece | None) -> Character | None:
    old = _traced_edge(edge, traced)
    if old is None:
        return None
    return character_of([run.chain for run in old.runs if run.kind is not RunKind.MOUTH])


def _blend_band(
    piece: Piece,
    edge: Edge,
    band: Band,
    choices: Mapping[str, BlendChoice],
    traced: Piece | None,
    character: Character | None,
) -> tuple[Run, list[JogBlend], list[Finding]]:
    if not band.jogs:
        only = edge.runs[band.sources[0]]
        if len(band.sources) == 1 and only.kind is RunKind.TRACED:
            return only, [], []
        return Run(tidied(band.lines[0])), [], []
    character = character or character_of_band(band)
    stretches = stretches_of(band, level_spots(piece, edge, band), choices)
    drawn = [_redrawn(band, stretch, character, choices) for stretch in stretches]
    line = _assembled(band, band.first_spot, band.last_spot, drawn)
    old = _traced_edge(edge, traced)
    original = old.chain if old is not None else joined(band.lines)
    blends, findings = [], []
    for stretch, redrawn in zip(stretches, drawn, strict=True):
        for jog in stretch.jogs:
            blend = _report(piece, edge, band, stretch, redrawn, jog, character, choices, original)
            blends.append(blend)
            finding = _tight(piece, edge, band, jog, blend)
            findings += [finding] if finding else []
    return Run(tidied(line)), blends, findings


def _redrawn(band: Band, stretch: Stretch, character: Character, choices: Mapping[str, BlendChoice]) -> Redrawn:
    if is_straight(band, stretch):
        return ruled(band, stretch)
    largest = max(stretch.jogs, key=lambda jog: jog.jog_mm)
    share = min(max(choices.get(largest.note, BlendChoice()).share, 0.0), 1.0)
    work = Battening(band, stretch, character, share)
    best: Redrawn | None = None
    best_score = math.inf
    for factor, give, loosened in _TRIES:
        loose = (
            CORNER_MM if loosened and work.start == band.first_spot else 0.0,
            CORNER_MM if loosened and work.end == band.last_spot else 0.0,
        )
        laid = work.tried(factor, give, loose)
        if not (laid.closed and np.isfinite(laid.points).all()):
            continue
        redrawn = Redrawn(work.line(laid), "batten", work.start, work.end)
        figures = _figures(band, stretch, redrawn, character, stretch.jogs)
        score = figures.score
        if score < best_score - 1e-9:
            best, best_score = redrawn, score
        if score == 0.0:
            break
    return best if best is not None else ruled(band, stretch)


def _assembled(band: Band, start: Spot, end: Spot, drawn: Sequence[Redrawn]) -> Chain:
    """The band's line from one place to another, with the redrawn stretches in it."""
    parts: list[Chain] = []
    at = start
    for redrawn in drawn:
        if band.between(at, redrawn.start) > 1e-3:
            parts += band.parts(at, redrawn.start)
        parts.append(redrawn.line)
        at = redrawn.end
    if band.between(at, end) > 1e-3:
        parts += band.parts(at, end)
    return joined(parts)


def _context(band: Band, redrawn: Redrawn) -> tuple[Chain, list[Chain]]:
    """The redrawn stretch with what is left of the old lines at its two ends, and those old lines whole."""
    start, end = Spot(redrawn.start.line, 0.0), Spot(redrawn.end.line, band.lines[redrawn.end.line].length)
    return _assembled(band, start, end, [redrawn]), list(band.lines[start.line : end.line + 1])


def _figures(
    band: Band, stretch: Stretch, redrawn: Redrawn, character: Character, jogs: Sequence[Jog]
) -> _Figures:
    line, old = _context(band, redrawn)
    first = CORNER_MM if redrawn.start.line == 0 else 0.0
    last = CORNER_MM if redrawn.end.line == len(band.lines) - 1 else 0.0
    ratio = greatest_curvature(line, leave_start=first, leave_end=last) / max(character.greatest, 1e-9)
    inflections = max(0, count_of([line]) - count_of(old))
    parts = band.parts(redrawn.start, redrawn.end)
    turns = end_turns(redrawn.line, parts[0].start_tangent, parts[-1].end_tangent)
    off = off_lines(sampled(redrawn.line), _old_lines(band, redrawn.start, redrawn.end))
    limit = max(most_off(jog, character.greatest) for jog in jogs)
    score = (
        2.0 * inflections
        + max(0.0, ratio / MOST_RATIO - 1)
        + max(0.0, max(turns) / END_TANGENT_DEG - 1)
        + max(0.0, off / limit - 1)
    )
    return _Figures(ratio, inflections, turns, off, score)


def _old_lines(band: Band, start: Spot, end: Spot) -> list[FloatArray]:
    """The old lines between two places as points, each run on straight as far as the paper added at its jogs reaches."""
    parts = band.parts(start, end)
    lines = [sampled(part) for part in parts]
    for index, (before, after) in enumerate(zip(parts, parts[1:], strict=False)):
        gap = np.subtract(after.start, before.end)
        way, back = np.array(before.end_tangent), np.array(after.start_tangent)
        ahead, behind = max(float(gap @ way), 0.0), max(float(gap @ back), 0.0)
        if ahead > 1e-3:
            lines[index] = np.concatenate([lines[index], [np.array(before.end) + ahead * way]])
        if behind > 1e-3:
            lines[index + 1] = np.concatenate([[np.array(after.start) - behind * back], lines[index + 1]])
    return lines


def sampled(line: Chain) -> FloatArray:
    """Points (m, 2) on a line within FLATTEN_MM of it, no more than about 1 mm apart where it is curved."""
    fine, us = flatten(line, FLATTEN_MM)
    index = np.minimum(us[:-1].astype(int), len(line) - 1)
    sizes = np.linalg.norm(np.diff(fine, axis=0), axis=1)
    counts = np.where(line.straight[index], 1, np.maximum(np.ceil(sizes), 1)).astype(int)
    at = np.repeat(us[:-1], counts)
    ends = np.cumsum(counts)
    step = np.arange(ends[-1]) - np.repeat(ends - counts, counts)
    widths = np.diff(us)
    at = at + step / np.repeat(counts, counts) * np.repeat(widths, counts)
    return np.concatenate([line.points(at), fine[-1:]])


def _report(
    piece: Piece,
    edge: Edge,
    band: Band,
    stretch: Stretch,
    redrawn: Redrawn,
    jog: Jog,
    character: Character,
    choices: Mapping[str, BlendChoice],
    original: Chain,
) -> JogBlend:
    room = room_of(band, stretch, jog, character.greatest)
    low, high = band.walked(band.before(jog), -room.before), band.walked(band.after(jog), room.after)
    old = _old_lines(band, low, high)
    new = _portion(band, stretch, redrawn, low, high)
    figures = _figures(band, stretch, redrawn, character, [jog])
    off = off_lines(sampled(new), old)
    batten = redrawn.kind == "batten"
    share = choices.get(jog.note, BlendChoice()).share
    within = None
    if batten and room.applies:
        within = (
            figures.inflections == 0
            and figures.ratio <= MOST_RATIO
            and max(figures.turns) <= END_TANGENT_DEG
            and (share != 0.5 or off <= most_off(jog, character.greatest))
        )
    return JogBlend(
        piece=piece.id,
        edge=edge.id,
        note=jog.note,
        kind=redrawn.kind,
        share=share,
        jog_mm=jog.jog_mm,
        kink_deg=abs(math.degrees(jog.kink)),
        run_mm=(room.before, room.after),
        max_curvature_ratio=figures.ratio if batten else None,
        new_inflections=figures.inflections if batten else None,
        end_tangent_deg=figures.turns,
        off_line_mm=off,
        within_bounds=within,
        original=sampled(original),
        old_lines=(old[0], old[-1]),
        blended=sampled(new),
    )


def _portion(band: Band, stretch: Stretch, redrawn: Redrawn, low: Spot, high: Spot) -> Chain:
    """The new line beside one jog: cut square to where the old lines were divided between it and the next jog."""
    whole = _assembled(band, stretch.start, stretch.end, [redrawn])
    first = 0.0 if low == stretch.start else whole.nearest(_point(band, low))[0]
    last = float(len(whole)) if high == stretch.end else whole.nearest(_point(band, high))[0]
    return whole if (first, last) == (0.0, float(len(whole))) or last <= first else whole.part(first, last)


def _point(band: Band, spot: Spot) -> Point:
    line = band.lines[spot.line]
    return line.point(line.at_length(spot.at))


def _tight(piece: Piece, edge: Edge, band: Band, jog: Jog, blend: JogBlend) -> Finding | None:
    """Where the bounds do not apply, or are not kept: what was reached."""
    if blend.kind != "batten" or blend.within_bounds:
        return None
    level = Level.NOTICE if blend.within_bounds is None else Level.WARN
    turned = {0: "no new inflection", 1: "one new inflection"}.get(
        blend.new_inflections or 0, f"{blend.new_inflections} new inflections"
    )
    says = (
        f"“{edge.name}” of “{piece.name}”: a jog of {jog.jog_mm:.1f} mm is redrawn as fair as "
        f"{blend.run_mm[0]:.0f} and {blend.run_mm[1]:.0f} mm of edge beside it allow: curvature "
        f"{blend.max_curvature_ratio:.2f} times the greatest before, {turned}, up to {blend.off_line_mm:.1f} mm "
        f"off the old lines."
    )
    line = band.lines[jog.index]
    return Finding("blend-tight", level, says, piece.id, jog.note or None, line.end)
