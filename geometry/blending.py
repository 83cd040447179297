"""Blending: after the last note, every jogged edge of a piece is redrawn once, as fair as its length allows.

A jog lies between fixed points: corners, the ends of dart mouths, and where bust, waist and hip lines meet the edge.
Straight stretches are redrawn with a ruler, curved ones with a batten (``battens``); the marks on the edge follow.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from geometry.appraising import Teller
from geometry.characters import Character, character_of, character_of_band
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.jogs import (
    Band,
    LevelLine,
    Spot,
    bands_of,
    level_spots,
    levels_of,
    mouth_members,
    mouth_run,
    stretches_of,
)
from geometry.kept import changed
from geometry.lines import Chain, joined, straight, tidied
from geometry.memory import Recall, computed_anew
from geometry.motions import Point
from geometry.notes import AS_USUAL, BlendChoice
from geometry.pieces import Edge, EdgeKind, Piece, Run, RunKind, neighbours
from geometry.redrawing import assembled, redraw
from geometry.reseating import lines_reseated, notches_reseated
from geometry.stages import BlendedPiece, JogBlend
from geometry.tolerances import MEET_MM

#: When an outline would cross itself, the blend is tried again with its runs no longer than these (mm).
_SHORTER = (60.0, 25.0, 10.0)


@dataclass(frozen=True, eq=False)
class _EdgeBlend:
    """An edge redrawn: the new edge, new run number per old one, what is to be told and what is said beside it."""

    edge: Edge
    run_of: tuple[int, ...]
    tellers: tuple[Teller, ...] = ()
    said: tuple[Finding, ...] = ()

    @property
    def blends(self) -> tuple[JogBlend, ...]:
        return tuple(blend for teller in self.tellers for blend in teller.blends)

    @property
    def findings(self) -> tuple[Finding, ...]:
        return (*(finding for teller in self.tellers for finding in teller.findings), *self.said)


def blend_piece(
    piece: Piece,
    choices: Mapping[str, BlendChoice],
    *,
    traced: Piece | None = None,
    recall: Recall = computed_anew,
) -> BlendedPiece:
    """The piece with every edge fair again: dart mouths kept, one traced run between them, no joints left.

    choices: how the jogs of each note are redrawn, by note id (shared evenly where none is given). traced: the piece
    before any note; its edges tell the curvature to keep, else the old lines do. recall: spares edges that are the
    same objects as before. An undisturbed piece comes back as the same object, and so do undisturbed edges. Raises
    nothing: what cannot be redrawn is bridged, with a finding.
    """
    disturbed = [edge for edge in piece.edges if edge.disturbed]
    if not disturbed:
        return BlendedPiece(piece)
    blending = _Blending(piece, traced, levels_of(piece), recall)
    results = [blending.edge(edge, choices) for edge in disturbed]
    try:
        return _put_together(piece, results)
    except PatternError:
        return _one_at_a_time(blending, disturbed, choices)


def _put_together(piece: Piece, results: Sequence[_EdgeBlend]) -> BlendedPiece:
    by_id = {result.edge.id: result.edge for result in results}
    edges = tuple(by_id.get(edge.id, edge) for edge in piece.edges)
    runs = {result.edge.id: result.run_of for result in results}
    new = changed(
        piece,
        edges=edges,
        notches=notches_reseated(piece, by_id, runs),
        lines=lines_reseated(piece, by_id),
    )
    return BlendedPiece(new, tuple(results))


def _one_at_a_time(
    blending: _Blending, disturbed: Sequence[Edge], choices: Mapping[str, BlendChoice]
) -> BlendedPiece:
    """Edges are redrawn in turn; one that would make the outline cross itself is blended shorter, at last bridged."""
    kept: list[_EdgeBlend] = []
    piece = blending.piece
    notes = {joint.note for edge in disturbed for joint in edge.joints if joint is not None}
    for edge in disturbed:
        for longest in (math.inf, *_SHORTER):
            result = blending.edge(edge, _shortened(choices, notes, longest))
            problem = _problem(piece, [*kept, result])
            if problem is None:
                break
        else:
            result = _bridged(piece, edge, problem)
        if longest < math.inf and problem is None:
            result = replace(result, said=(*result.said, _shortened_finding(piece, edge, longest)))
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
        choice = choices.get(note, AS_USUAL)
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
            covered = mouth_members(edge, item)
        for source in covered:
            run_of[source] = len(runs) - 1
    place = problem.point if problem is not None and problem.point is not None else _first_jog_place(edge)
    says = (
        f"“{edge.name}” of “{piece.name}” could not be blended: its outline would cross itself "
        f"{piece.where(place)}. The jog is bridged with a straight line; make the amount smaller."
    )
    finding = Finding("blend-crossing", Level.FAULT, says, piece.id, _first_note(edge), place)
    return _EdgeBlend(_edge_with(edge, runs), tuple(run_of), (), (finding,))


def _first_note(edge: Edge) -> str | None:
    return next((joint.note for joint in edge.joints if joint is not None), None)


def _first_jog_place(edge: Edge) -> Point:
    index = next(i for i, joint in enumerate(edge.joints) if joint is not None)
    return edge.runs[index].chain.end


def _edge_with(edge: Edge, runs: Sequence[Run]) -> Edge:
    return changed(edge, runs=tuple(runs), joints=(None,) * (len(runs) - 1))


@dataclass(frozen=True, eq=False)
class _Blending:
    """One piece whose edges are being blended."""

    piece: Piece
    traced: Piece | None
    levels: Sequence[LevelLine]
    recall: Recall

    def edge(self, edge: Edge, choices: Mapping[str, BlendChoice]) -> _EdgeBlend:
        """An edge redrawn; recalled for the same edge between the same fixed points with the same choices."""
        if edge.on_fold:
            return _folded(self.piece, edge)
        items = self.recall("bands", (edge,), None, lambda: bands_of(edge))
        fixed = tuple(tuple(level_spots(self.levels, edge, one)) if isinstance(one, Band) else () for one in items)
        notes = sorted({joint.note for joint in edge.joints if joint is not None})
        how = (
            self.piece.id,
            self.piece.name,
            _square_at_centre(self.piece, edge),
            fixed,
            tuple((note, choices.get(note)) for note in notes),
        )
        old = _traced_edge(edge, self.traced)
        return self.recall(
            "blend of an edge",
            (edge, old),
            how,
            lambda: _blend_edge(self.piece, edge, items, fixed, choices, old, self.recall),
        )


def _blend_edge(
    piece: Piece,
    edge: Edge,
    items: Sequence[Band | int],
    fixed: Sequence[Sequence[Spot]],
    choices: Mapping[str, BlendChoice],
    traced: Edge | None,
    recall: Recall,
) -> _EdgeBlend:
    runs: list[Run] = []
    run_of = [0] * len(edge.runs)
    tellers: list[Teller] = []
    character = None
    if traced is not None:
        lines = [run.chain for run in traced.runs if run.kind is not RunKind.MOUTH]
        character = recall("character of an edge", (traced,), None, lambda: character_of(lines))
    for item, spots in zip(items, fixed, strict=True):
        if isinstance(item, Band):
            run, told = _blend_band(piece, edge, item, spots, choices, traced, character, recall)
            runs.append(run)
            tellers += told
            covered: tuple[int, ...] = item.sources
        else:
            runs.append(mouth_run(edge, item))
            covered = mouth_members(edge, item)
        for source in covered:
            run_of[source] = len(runs) - 1
    return _EdgeBlend(_edge_with(edge, runs), tuple(run_of), tuple(tellers))


def _folded(piece: Piece, edge: Edge) -> _EdgeBlend:
    """A fold is one straight line from corner to corner, whatever the notes left of it."""
    line = straight(edge.start, edge.end)
    moved = max(line.nearest(point)[1] for run in edge.runs for point in _along(run.chain))
    findings: tuple[Finding, ...] = ()
    if moved > MEET_MM:
        says = (
            f"The fold “{edge.name}” of “{piece.name}” was made one straight line again; it moved by up to "
            f"{moved:.3g} mm."
        )
        findings = (Finding("fold-straightened", Level.NOTICE, says, piece.id, _first_note(edge), edge.start),)
    return _EdgeBlend(_edge_with(edge, [Run(line)]), (0,) * len(edge.runs), (), findings)


def _along(line: Chain) -> Sequence[Point]:
    """Points of a line between which it does not stray from the straight way by anything that can be seen."""
    return (line.start, line.end) if line.is_straight else [(float(x), float(y)) for x, y in line.flat[0]]


def _traced_edge(edge: Edge, traced: Piece | None) -> Edge | None:
    if traced is None:
        return None
    return next((old for old in traced.edges if old.id == edge.id), None)


def _blend_band(
    piece: Piece,
    edge: Edge,
    band: Band,
    fixed: Sequence[Spot],
    choices: Mapping[str, BlendChoice],
    traced: Edge | None,
    character: Character | None,
    recall: Recall,
) -> tuple[Run, list[Teller]]:
    if not band.jogs:
        only = edge.runs[band.sources[0]]
        if len(band.sources) == 1 and only.kind is RunKind.TRACED:
            return only, []
        return Run(tidied(band.lines[0])), []
    character = character or character_of_band(band)
    square = _square_at_centre(piece, edge)
    stretches = stretches_of(band, fixed, choices)
    drawn = tuple(redraw(band, stretch, character, choices, square, recall) for stretch in stretches)
    mine = {jog.note: choices[jog.note] for jog in band.jogs if jog.note in choices}
    teller = Teller(piece.id, piece.name, edge, band, mine, traced, drawn)
    return Run(tidied(assembled(band, band.first_spot, band.last_spot, drawn))), [teller]


def _square_at_centre(piece: Piece, edge: Edge) -> bool:
    """Whether an edge is a hem or a waist that meets a fold or a centre, where the piece must not have a point."""
    beside = neighbours(piece, edge.id)
    return edge.kind in (EdgeKind.HEM, EdgeKind.WAIST) and any(
        one.on_fold or one.kind in (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK) for one in beside
    )
