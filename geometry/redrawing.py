"""Redrawing one stretch of an edge that notes left jogged: with a ruler where it is straight, else with a batten."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from geometry.battening import battened
from geometry.characters import Character
from geometry.fairness import CORNER_MM, angle_between
from geometry.jogs import Band, Spot, Stretch
from geometry.lines import Chain, joined, straight
from geometry.memory import Recall, computed_anew
from geometry.notes import AS_USUAL, BlendChoice
from geometry.reaching import Reached, end_turns, reached_on
from geometry.slips import rounded
from geometry.stretches import alone
from geometry.tolerances import SQUARE_DEG, STRAIGHT_DEG

#: A line whose ends lie this far from one direction (radians) is not straight, whatever it does between.
_SURELY_ROUND = math.radians(STRAIGHT_DEG + 0.01)


@dataclass(frozen=True, eq=False)
class Redrawn:
    """A stretch redrawn: the new line, how (“straight” or “batten”), where on the band; ``greatest`` is K in 1/mm."""

    line: Chain
    kind: str
    start: Spot
    end: Spot
    stretch: Stretch
    greatest: float
    band: Band
    measured: bool = True

    @cached_property
    def reached(self) -> Reached | None:
        """How fair a batten came out; reckoned when it is first asked for."""
        return reached_by(self) if self.measured and self.kind == "batten" else None


def redraw(
    band: Band,
    stretch: Stretch,
    character: Character,
    choices: Mapping[str, BlendChoice],
    square: bool = False,
    recall: Recall = computed_anew,
) -> Redrawn:
    """A stretch redrawn: with a ruler where it is straight, else with the first batten within the bounds, or the best.

    Where several jogs are redrawn together the largest one's share holds for all. ``square``: it keeps its directions
    at both ends, so a straight stretch that was fanned out is drawn round and not ruled. ``recall`` spares a stretch
    whose old lines are the same objects as before.
    """
    if is_straight(band, stretch):
        fanned = square and max(abs(jog.kink) for jog in stretch.jogs) > math.radians(SQUARE_DEG)
        return (drawn_round if fanned else ruled)(band, stretch, character.greatest)
    largest = max(stretch.jogs, key=lambda jog: jog.jog_mm)
    share = min(max(choices.get(largest.note, AS_USUAL).share, 0.0), 1.0)
    own = alone(band, stretch)
    told = (own.told, character.greatest, share)
    line, *ends = recall("batten", own.band.lines, told, lambda: battened(own, character.greatest, share))
    start, end = (Spot(spot.line + stretch.held_from.line, spot.at) for spot in ends)
    return Redrawn(line, "batten", start, end, stretch, character.greatest, band)


def reached_by(redrawn: Redrawn) -> Reached:
    """How fair a redrawn stretch is, measured with what is left of the old lines at its two ends."""
    band = redrawn.band
    first, last = redrawn.start.line, redrawn.end.line
    low, high = Spot(first, 0.0), Spot(last, band.lines[last].length)
    line = assembled(band, low, high, [redrawn])
    corners = (CORNER_MM if first == 0 else 0.0, CORNER_MM if last == len(band.lines) - 1 else 0.0)
    parts = band.parts(redrawn.start, redrawn.end)
    turns = end_turns(redrawn.line, parts[0].start_tangent, parts[-1].end_tangent)
    return reached_on(line, band.lines[first : last + 1], redrawn.greatest, corners, turns)


def assembled(band: Band, start: Spot, end: Spot, drawn: Sequence[Redrawn]) -> Chain:
    """A band's line from one place to another, with the redrawn stretches in it."""
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


def is_straight(band: Band, stretch: Stretch) -> bool:
    """True when the old lines between the fixed points turn less than half a degree in all, jogs and kinks left out."""
    turned = 0.0
    parts = band.parts(stretch.held_from, stretch.held_to)
    # A line turns at least as far as from its first direction to its last.
    if any(abs(angle_between(one.start_tangent, one.end_tangent)) > _SURELY_ROUND for one in parts):
        return False
    for part in parts:
        turned += part.turning_deg
        if turned >= STRAIGHT_DEG:
            return False
    return True


def ruled(band: Band, stretch: Stretch, greatest: float) -> Redrawn:
    """One straight line from end to end."""
    parts = band.parts(stretch.start, stretch.end)
    line = straight(parts[0].start, parts[-1].end)
    return Redrawn(line, "straight", stretch.start, stretch.end, stretch, greatest, band)


def drawn_round(band: Band, stretch: Stretch, greatest: float) -> Redrawn:
    """Straight lines that lean to each other as one smooth line, both ends left as they are."""
    line = rounded(band.parts(stretch.start, stretch.end))
    return Redrawn(line, "batten", stretch.start, stretch.end, stretch, greatest, band, measured=False)
