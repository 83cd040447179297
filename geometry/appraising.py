"""What is told of a blend: its figures jog by jog, the lines to compare it with, and a finding where room was short."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from geometry.findings import Finding, Level
from geometry.jogs import Band, Jog, Spot
from geometry.lines import Chain, flatten, joined
from geometry.motions import FloatArray, Point
from geometry.notes import BlendChoice
from geometry.pieces import Edge
from geometry.redrawing import Redrawn, assembled, end_turns
from geometry.stages import SAMPLED_MM, JogBlend
from geometry.stretches import most_off, room_of
from geometry.tolerances import FLATTEN_MM


@dataclass(frozen=True, eq=False)
class Teller:
    """Tells of the jogs of one band of an edge, once asked; ``traced`` is the edge as it was before any note."""

    piece_id: str
    piece_name: str
    edge: Edge
    band: Band
    choices: Mapping[str, BlendChoice]
    traced: Edge | None
    drawn: tuple[Redrawn, ...]

    @cached_property
    def blends(self) -> tuple[JogBlend, ...]:
        """The figures of each jog in order."""
        original = self.traced.chain if self.traced is not None else joined(self.band.lines)
        return tuple(self._blend(one, jog, original) for one in self.drawn for jog in one.stretch.jogs)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        jogs = [jog for one in self.drawn for jog in one.stretch.jogs]
        return tuple(f for jog, blend in zip(jogs, self.blends, strict=True) for f in self._findings(jog, blend))

    def _blend(self, redrawn: Redrawn, jog: Jog, original: Chain) -> JogBlend:
        """The figures of one jog; of several redrawn together each tells of the line up to half way to the next."""
        band, reached = self.band, redrawn.reached
        room = room_of(band, redrawn.stretch, jog, redrawn.greatest)
        low, high = band.walked(band.before(jog), -room.before), band.walked(band.after(jog), room.after)
        old = old_lines(band, low, high)
        new = sampled(self._portion(redrawn, low, high))
        off = off_lines(new, old)
        share = self.choices.get(jog.note, BlendChoice()).share
        within = None
        if reached is not None and room.applies:
            far = off if share == 0.5 else 0.0
            within = reached.short_of_bounds(far, most_off(jog, redrawn.greatest)) == 0.0
        return JogBlend(
            piece=self.piece_id,
            edge=self.edge.id,
            note=jog.note,
            kind=redrawn.kind,
            share=share,
            jog_mm=jog.jog_mm,
            kink_deg=abs(math.degrees(jog.kink)),
            run_mm=(room.before, room.after),
            max_curvature_ratio=reached.ratio if reached else None,
            new_inflections=reached.inflections if reached else None,
            end_tangent_deg=self._turns(redrawn),
            off_line_mm=off,
            within_bounds=within,
            original_line=original,
            old_lines=(old[0], old[-1]),
            blended=new,
        )

    def _turns(self, redrawn: Redrawn) -> tuple[float, float]:
        if redrawn.reached is not None:
            return redrawn.reached.turns
        parts = self.band.parts(redrawn.start, redrawn.end)
        return end_turns(redrawn.line, parts[0].start_tangent, parts[-1].end_tangent)

    def _findings(self, jog: Jog, blend: JogBlend) -> list[Finding]:
        """Where the bounds do not apply, or are not kept: what was reached."""
        if blend.max_curvature_ratio is None or blend.within_bounds:
            return []
        level = Level.NOTICE if blend.within_bounds is None else Level.WARN
        count = blend.new_inflections or 0
        turned = {0: "no new inflection", 1: "one new inflection"}.get(count, f"{count} new inflections")
        there = f"a jog of {jog.jog_mm:.1f} mm" if jog.jog_mm >= 0.05 else f"a kink of {blend.kink_deg:.1f} degrees"
        says = (
            f"“{self.edge.name}” of “{self.piece_name}”: {there} is redrawn as fair as "
            f"{blend.run_mm[0]:.0f} and {blend.run_mm[1]:.0f} mm of edge beside it allow: curvature "
            f"{blend.max_curvature_ratio:.2f} times the greatest before, {turned}, up to {blend.off_line_mm:.1f} mm "
            f"off the old lines."
        )
        return [Finding("blend-tight", level, says, self.piece_id, jog.note or None, self.band.lines[jog.index].end)]

    def _portion(self, redrawn: Redrawn, low: Spot, high: Spot) -> Chain:
        """The new line beside one jog, cut square to where the old lines were divided between it and the next jog."""
        stretch = redrawn.stretch
        whole = assembled(self.band, stretch.start, stretch.end, [redrawn])
        if (low, high) == (stretch.start, stretch.end):
            return whole
        first = 0.0 if low == stretch.start else whole.nearest(_point(self.band, low))[0]
        last = float(len(whole)) if high == stretch.end else whole.nearest(_point(self.band, high))[0]
        return whole.part(first, last) if last > first else whole


def old_lines(band: Band, start: Spot, end: Spot) -> list[FloatArray]:
    """The old lines between two places as points, each run on straight as far as the gap at its jog reaches.

    So a line drawn across added paper is measured from where either old line would have gone on.
    """
    parts = band.parts(start, end)
    lines = [sampled(part) for part in parts]
    for index, (before, after) in enumerate(pairwise(parts)):
        gap = np.subtract(after.start, before.end)
        way, back = np.array(before.end_tangent), np.array(after.start_tangent)
        ahead, behind = float(gap @ way), float(gap @ back)
        if ahead > 1e-3:
            lines[index] = np.concatenate([lines[index], [np.array(before.end) + ahead * way]])
        if behind > 1e-3:
            lines[index + 1] = np.concatenate([[np.array(after.start) - behind * back], lines[index + 1]])
    return lines


def sampled(line: Chain) -> FloatArray:
    """Points (m, 2) on a line within FLATTEN_MM of it, no more than 1 mm apart where it is curved."""
    return flatten(line, FLATTEN_MM, SAMPLED_MM)[0]


def _point(band: Band, spot: Spot) -> Point:
    line = band.lines[spot.line]
    return line.point(line.at_length(spot.at))


def off_lines(points: FloatArray, old_lines: Sequence[FloatArray]) -> float:
    """The greatest distance in mm from points (m, 2) to the nearer of some polylines."""
    nearest = np.full(len(points), np.inf)
    x, y = np.ascontiguousarray(points.T)
    for old in old_lines:
        best = np.argmin(np.einsum("kd,kd->k", old, old) - 2 * points @ old.T, axis=1)
        old_x, old_y = np.ascontiguousarray(old.T)
        step_x, step_y = old_x[1:] - old_x[:-1], old_y[1:] - old_y[:-1]
        sizes = np.maximum(step_x * step_x + step_y * step_y, 1e-18)
        for first in (np.maximum(best - 1, 0), np.minimum(best, len(old) - 2)):
            sx, sy, dx, dy = step_x[first], step_y[first], x - old_x[first], y - old_y[first]
            along = np.minimum(np.maximum((dx * sx + dy * sy) / sizes[first], 0.0), 1.0)
            nearest = np.minimum(nearest, np.hypot(dx - along * sx, dy - along * sy))
    return float(nearest.max())
