"""The tries made at one curved stretch, in a fixed order: soft battens first, one within hard bounds at the last."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice, pairwise

import numpy as np
from numpy.typing import NDArray

from geometry.batten_rows import COUNT, SharedRows, at_places
from geometry.battens import Laid, Stops, lay
from geometry.bounded import Bounds, held_within
from geometry.characters import senses_at
from geometry.fairness import CORNER_MM, TURN_BACK_DEG, angle_between, reversals
from geometry.gluing import STATIONS, Glued, averaged, glue
from geometry.jogs import Spot, Stretch
from geometry.kept import frozen
from geometry.lines import Chain, joined
from geometry.motions import FloatArray
from geometry.old_lines import off_lines, old_lines
from geometry.reaching import MOST_RATIO, Reached, end_turns, reached_on
from geometry.stretches import Alone, most_off, room_of
from geometry.tolerances import FLATTEN_MM

_AIM_BACK_DEG = 0.4
_HOLDS = 4
_FREE_MM = 1e4
#: Curvature read at the stations of a batten may be so much greater when it is read every 1 mm.
_COARSE = 1.01
#: Between its stations a batten may lie so much further off the old lines than at them (mm).
_BETWEEN_MM = 0.01
#: Reckoned at its stations to lie so near the limit, a batten is measured: its foot may lie beyond an old line's end,
#: or it may lie further off between two stations than at either by this share of how they differ.
_MEASURED, _HIDDEN, _BOTH_FAR = 0.96, 1 / 3, 0.75
#: Where it lies off by less than this share of the limit at the stations of a segment, that segment is not measured.
_FAR = 0.25
_ROUGHNESS = 0.25
#: Hard bounds stand at this share of those that are promised, turning at so many degrees; what is measured may be this.
_INSIDE, _GIVE_DEG, _SPARED = 0.99, 0.46, 0.999
#: A batten held by them has knots closer by this.
_CLOSER = 0.4
#: Where they are not promised it has so many rounds.
_FEW = 3
#: More segments than this cost a second where nothing is promised.
_LONG = 16


@dataclass(frozen=True)
class Try:
    """One way to lay the batten: stiffness over the first, and what gives.

    give: degrees the tangents at fixed points may turn; loosened: ends at corners may bend as they need for 10 mm;
    one_way: it may not turn back where the old lines do not; near: as near to the old lines as the bounds ask; firm:
    the stops stand closer to the bounds and give less; afresh: what was found to turn back in earlier tries binds it no
    more, and it is held further within how far off it may lie, for where its foot falls beyond an old line's end.
    """

    factor: float = 1.0
    give: float = 0.0
    loosened: bool = False
    one_way: bool = True
    near: bool = True
    firm: bool = False
    afresh: bool = False


#: In order. What gives first is what shows least; the last ones are for where no line within the bounds exists.
_TRIES = (
    Try(),
    Try(one_way=False),
    Try(1.6),
    Try(0.6),
    Try(give=0.45),
    Try(give=0.45, loosened=True),
    Try(firm=True),
    Try(give=0.45, firm=True),
    Try(0.7, give=0.45, firm=True),
    Try(0.5, give=0.45, firm=True),
    Try(0.7, give=0.45, loosened=True, firm=True),
    Try(0.4, firm=True),
    Try(give=0.45, near=False),
    Try(1.6, one_way=False, near=False),
    Try(0.35, one_way=False, near=False),
    Try(0.5, loosened=True, firm=True, afresh=True),
    Try(0.4, firm=True, afresh=True),
)


def battened(own: Alone, greatest: float, share: float) -> tuple[Chain, Spot, Spot]:
    """The first batten within the bounds, or the best, and where on its own band it lies."""
    work = Battening(own, greatest, share)
    best = work.best()
    if best is None:
        # No batten closes: the old lines, straight across their jogs.
        return joined(own.band.parts(own.stretch.start, own.stretch.end)), own.stretch.start, own.stretch.end
    return chain_of(best), work.start, work.end


class Battening:
    """One curved stretch and the tries made at it; every try is a batten held by stops."""

    def __init__(self, own: Alone, greatest: float, share: float) -> None:
        self.band, self.stretch, self.at_ends, self.share = own.band, own.stretch, own.at_ends, share
        band, stretch = own.band, own.stretch
        self.jogs = stretch.jogs
        self.greatest = max(greatest, 1e-6)
        self.rooms = [room_of(band, stretch, jog, greatest) for jog in stretch.jogs]
        self.limit = max(most_off(jog, self.greatest) for jog in stretch.jogs)
        self.stiffness = self._stiffness()
        self.start, self.end = self._reach(stretch)
        first, last = self.start == band.first_spot, self.end == band.last_spot
        self.corners = (CORNER_MM * (first and self.at_ends[0]), CORNER_MM * (last and self.at_ends[1]))
        parts = band.parts(self.start, self.end)
        self.ways = (parts[0].start_tangent, parts[-1].end_tangent)
        self.glued = glue(parts, self.stiffness)
        self.shared = SharedRows(self.glued)
        self.curved = at_places(self.glued.curved)
        self.own = own
        self.sense, self.one_sense = self._senses(self.glued)
        self.held: list[tuple[int, int, float, float]] = []

    def _stiffness(self) -> float:
        jog = max(jog.jog_mm for jog in self.jogs)
        kink = max(abs(jog.kink) for jog in self.jogs)
        overlap = max(jog.overlap for jog in self.jogs)
        wanted = max(2.0 * math.sqrt(jog / self.greatest), 1.2 * kink / self.greatest, overlap, 6.0)
        span = max(room.before + room.after for room in self.rooms)
        return max(min(wanted, span / 3), 1.0)

    def _reach(self, stretch: Stretch) -> tuple[Spot, Spot]:
        """Beyond some nine times its stiffness a batten lies on the old line: no need to lay it there."""
        far = 9 * self.stiffness + 20
        start = max(stretch.start, self.band.walked(self.band.before(self.jogs[0]), -far))
        return start, min(stretch.end, self.band.walked(self.band.after(self.jogs[-1]), far))

    def _senses(self, glued: Glued) -> tuple[FloatArray | float, list[tuple[float, slice]]]:
        """+1 or -1 at each place, the way the old lines turn there, 0 where they begin to turn the other way (a number
        where it is one throughout); and over which places it is the same."""
        turns, signs = self.own.turns, self.own.signs
        if len(signs) == 1:
            return float(signs[0]), [(float(signs[0]), slice(0, len(glued.cubics) * COUNT))]
        places, sides = at_places(glued.lengths), np.repeat(glued.sides, COUNT)
        begins = []
        for side, begun in enumerate(glued.begun):
            line = Spot(self.start.line + side, self.start.at if side == 0 else 0.0)
            begins.append(self.band.between(self.band.first_spot, line) + begun)
        sense = senses_at(turns, signs, places, sides, begins)
        return sense, sorted(_unbroken(sense), key=lambda part: -part[0])

    def turn_back(self, laid: Laid) -> tuple[int, int, float, float] | None:
        """The stop against the worst turning back of a batten, when it turns back too far to pass unseen."""
        found: tuple[int, int, float, float] | None = None
        worst = math.radians(_AIM_BACK_DEG)
        turned = at_places(laid.angles)
        for sense, part in self.one_sense:
            angles = sense * turned[part]
            fallen = np.maximum.accumulate(angles) - angles
            last = int(fallen.argmax())
            back = float(fallen[last])
            if back > worst:
                first = int(angles[: last + 1].argmax())
                worst = back
                found = (part.start + first, part.start + last, sense, -0.9 * math.radians(_AIM_BACK_DEG))
        return found

    def stops(self, one: Try) -> Stops:
        """Stops for curvature, for the way off the old lines and for the turning of the ends."""
        aim_ratio, aim_off, firmness = (1.37, 0.98, 6.0) if one.firm else (1.3, 0.94, 1.0)
        aim_off = 0.88 if one.afresh else aim_off
        curved, cap, sense = self.curved, aim_ratio * self.greatest, self.sense if one.one_way else 0.0
        if isinstance(sense, float):
            low, high = -cap if sense <= 0 else 0.0, cap if sense >= 0 else 0.0
            least, most = np.minimum(curved, low), np.maximum(curved, high)
        else:
            least = np.minimum(curved, np.where(sense > 0, 0.0, -cap))
            most = np.maximum(curved, np.where(sense < 0, 0.0, cap))
        if one.loosened:
            free = ~self.off_corners(at_places(self.glued.lengths))
            least, most = np.where(free, -10 * cap, least), np.where(free, 10 * cap, most)
        far = np.full(len(curved), aim_off * self.limit - FLATTEN_MM if one.near else _FREE_MM)
        # Only a fixed point may show a turn: anywhere else it would be a kink within the line.
        held = (self.start == self.stretch.held_from, self.end == self.stretch.held_to)
        give = (math.radians(one.give) * held[0], math.radians(one.give) * held[1])
        turns = tuple(self.held) if one.one_way else ()
        return Stops(least, most, -far, far, give, turns, firmness)

    def held_within(self) -> Iterator[tuple[float, Laid]]:
        """At an even share: battens nearer and nearer to hard bounds, and how far short each is as measured.

        Where the bounds do not apply only the first few rounds of a line that is not too long to wait for, and nothing
        that is short of them.
        """
        if self.share != 0.5:
            return
        promised = any(room.applies for room in self.rooms)
        glued = glue(self.band.parts(self.start, self.end), _CLOSER * self.stiffness)
        if not promised and len(glued.cubics) > _LONG:
            return
        held = (self.start == self.stretch.held_from, self.end == self.stretch.held_to)
        bounds = Bounds(
            bent=_INSIDE * MOST_RATIO * self.greatest,
            off=_INSIDE * self.limit - FLATTEN_MM,
            old=old_lines(self.band, self.start, self.end),
            give=(math.radians(_GIVE_DEG) * held[0], math.radians(_GIVE_DEG) * held[1]),
            back=math.radians(_GIVE_DEG),
            corners=self.corners,
            ways=self.ways,
            senses=self._senses(glued)[1],
        )
        for laid in islice(held_within(glued, self.stiffness, self.even_out(), bounds), None if promised else _FEW):
            score = self.told(laid)
            if promised or score == 0.0:
                yield score, laid

    def told(self, laid: Laid) -> float:
        """As ``Reached.short_of_bounds``, measured as it is told of a blend, with a little to spare."""
        line, band = chain_of(laid), self.band
        before = band.parts(band.first_spot, self.start) if self.start != band.first_spot else []
        after = band.parts(self.end, band.last_spot) if self.end != band.last_spot else []
        whole = joined([*before, line, *after])
        corners = (CORNER_MM * self.at_ends[0], CORNER_MM * self.at_ends[1])
        reached = reached_on(whole, band.lines, self.greatest, corners, end_turns(line, *self.ways))
        spared = Reached(reached.ratio / _SPARED, reached.inflections, reached.turns)
        off = off_lines(line.sampled, old_lines(band, self.start, self.end)) if self.share == 0.5 else 0.0
        return spared.short_of_bounds(off / _SPARED, self.limit)

    def best(self) -> Laid | None:
        """The first batten within the bounds, else the best of all tries; None where none closes."""
        tries: list[tuple[float, Laid]] = []
        for one in _TRIES:
            laid = self.tried(one)
            if not laid.closed:
                continue
            score = self.short_of_bounds(laid)
            if score == 0.0:
                return laid
            tries.append((score, laid))
        found = self._best_of(tries)
        if found is not None and self.told(found) == 0.0:
            return found
        for score, laid in self.held_within():
            if score == 0.0:
                return laid
            tries.append((score, laid))
        return self._best_of(tries)

    def _best_of(self, tries: list[tuple[float, Laid]]) -> Laid | None:
        return min(tries, key=lambda one: one[0] + _ROUGHNESS * self.roughness(one[1]), default=(0.0, None))[1]

    def off_corners(self, lengths: FloatArray) -> NDArray[np.bool_]:
        """True at lengths (mm) that are not within the first 10 mm at a corner or a dart mouth."""
        low, high = self.corners
        return (lengths >= low) & (lengths <= lengths[-1] - high)

    def tried(self, one: Try) -> Laid:
        """A batten laid as asked; a turning back that shows is held, and it is laid again."""
        if one.afresh:
            self.held.clear()
        stiffness = self.stiffness * one.factor
        laid = self.laid(stiffness, self.stops(one))
        for _ in range(_HOLDS if one.one_way else 0):
            back = self.turn_back(laid)
            if back is None:
                break
            self.held.append(back)
            laid = self.laid(stiffness, self.stops(one))
        return laid

    def counted_off(self, laid: Laid) -> float:
        """How far a batten may be found to lie off its old lines (mm), where that is bounded: at an even share."""
        return laid.furthest_off + FLATTEN_MM if self.share == 0.5 else 0.0

    def short_of_bounds(self, laid: Laid) -> float:
        """As ``Reached.short_of_bounds``, read at the stations of the batten."""
        lengths, turned = laid.measured
        bent = np.abs(averaged(lengths, turned))
        if any(self.at_ends):
            bent = bent[self.off_corners(lengths)]
        least = math.radians(TURN_BACK_DEG)
        # What the ends give shows as a slight kink to the line beyond.
        before, after = angle_between(self.ways[0], laid.ways[0]), angle_between(laid.ways[1], self.ways[1])
        angles = np.empty(len(turned) + 2)
        angles[0], angles[1:-1], angles[-1] = turned[0] - before, turned, turned[-1] + after
        # Only how often it turns back is asked.
        inflections = len(reversals(angles, angles, least))
        if inflections:
            inflections = max(0, inflections - len(reversals(self.glued.lengths, self.glued.angles, least)))
        ratio = _COARSE * (float(np.maximum.reduce(bent)) if len(bent) else 0.0) / self.greatest
        reached = Reached(ratio, inflections, (abs(math.degrees(before)), abs(math.degrees(after))))
        off = self.counted_off(laid) + _BETWEEN_MM
        short = reached.short_of_bounds(off, self.limit)
        if short > 0.0:
            return short
        hidden, near = self.hidden_off(laid), _MEASURED * self.limit
        if off + hidden > near and (hidden or laid.closely_off + off - laid.furthest_off > near):
            return reached.short_of_bounds(self.measured_off(laid), self.limit)
        return 0.0

    def hidden_off(self, laid: Laid) -> float:
        """How much further off a batten may lie beside its furthest station, where it falls off steeply from a jog.

        Only where it lies far off the old lines on both sides of the jog: it is the nearer that counts.
        """
        if self.share != 0.5:
            return 0.0
        off = np.abs(laid.off)
        furthest = int(off.argmax())
        segment, station = divmod(furthest, STATIONS)
        if station == 0 and segment in laid.glued.joints:
            other = furthest - 1
        elif station == STATIONS - 1 and segment + 1 in laid.glued.joints:
            other = furthest + 1
        else:
            return 0.0
        if not 0 <= other < len(off) or off[other] < _BOTH_FAR * off[furthest]:
            return 0.0
        beside = off[max(furthest - 2, 0) : furthest + 3]
        return _HIDDEN * float(off[furthest] - np.minimum.reduce(beside))

    def measured_off(self, laid: Laid) -> float:
        """How far a batten lies off the nearer of its old lines (mm), measured as it is told of a blend.

        Only where it lies far off at its stations is it measured.
        """
        away = np.maximum.reduce(np.abs(laid.off).reshape(len(laid.cubics), -1), axis=1)
        far = (away >= min(_FAR * self.limit, float(np.maximum.reduce(away)))).nonzero()[0]
        line = chain_of(laid)
        part = Chain(line.cubics[far[0] : far[-1] + 1], line.straight[far[0] : far[-1] + 1])
        return off_lines(part.sampled, old_lines(self.band, self.start, self.end))

    def roughness(self, laid: Laid) -> float:
        """How much more curvature rises and falls along a batten than along the old lines, over the greatest there."""
        rises = (float(np.abs(np.diff(averaged(one.lengths, one.angles))).sum()) for one in (laid, self.glued))
        return (next(rises) - next(rises)) / self.greatest

    def even_out(self) -> float:
        """How far a step of curvature at the jog is evened out: not at all when nothing was taken out."""
        kink = max(abs(jog.kink) for jog in self.jogs)
        return min(1.0, kink / self.greatest / 6.0)

    def laid(self, stiffness: float, stops: Stops) -> Laid:
        laid = self._lay(stiffness, stops)
        return laid if self.share == 0.5 else self._shared(stiffness, stops, laid)

    def _shared(self, stiffness: float, stops: Stops, even: Laid) -> Laid:
        """Filled out or trimmed in: the even line is pressed to one side of the old lines, by as much as asked."""
        kept = 1 - abs(2 * self.share - 1)
        free = np.full(len(self.curved), _FREE_MM)
        if self.share > 0.5:
            held = replace(stops, right=-free, left=np.full(len(free), kept * max(float(even.off.max()), 0.0)))
        else:
            held = replace(stops, right=np.full(len(free), kept * min(float(even.off.min()), 0.0)), left=free)
        return self._lay(stiffness, held)

    def _lay(self, stiffness: float, stops: Stops) -> Laid:
        return lay(self.glued, stiffness, stops, even_out=self.even_out(), shared=self.shared)


def chain_of(laid: Laid) -> Chain:
    """A batten as a line."""
    return Chain(frozen(laid.cubics), frozen(np.zeros(len(laid.cubics), dtype=bool)))


def _unbroken(sense: FloatArray) -> list[tuple[float, slice]]:
    """The stretches of an array over which it is the same and not 0, with what it is there."""
    bounds = [0, *((sense[1:] != sense[:-1]).nonzero()[0] + 1).tolist(), len(sense)]
    return [(float(sense[a]), slice(a, b)) for a, b in pairwise(bounds) if sense[a]]
