"""What is told of a blend: its figures jog by jog, the lines to compare it with, and a finding where room was short."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from geometry.findings import Finding, Level
from geometry.jogs import Band, Jog, Spot
from geometry.lines import Chain, joined
from geometry.motions import Point
from geometry.notes import AS_USUAL, BlendChoice
from geometry.old_lines import off_lines, old_lines
from geometry.pieces import Edge
from geometry.reaching import end_turns
from geometry.redrawing import Redrawn, assembled
from geometry.stages import JogBlend
from geometry.stretches import most_off, room_of


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
        new = self._portion(redrawn, low, high).sampled
        off = off_lines(new, old)
        share = self.choices.get(jog.note, AS_USUAL).share
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


def _point(band: Band, spot: Spot) -> Point:
    line = band.lines[spot.line]
    return line.point(line.at_length(spot.at))
