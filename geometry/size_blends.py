"""One seam drawn from the line of one size over to that of another.

By hand: the seam follows the line of one size down to a level, is drawn over to the line of the other between two
levels, fair where they are curved and with a ruler where they are straight, and follows that one from there on. Only
widths are taken from the other size: heights stay those of the size worked in, so that all pieces keep their lengths.

The difference between two sizes is read square to the centre on the pieces as traced, at the same share of the way
between levels, and laid on the piece as the notes before left it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from geometry.errors import PatternError
from geometry.lines import Chain
from geometry.motions import Point
from geometry.pieces import EdgeKind, Piece, RunKind
from geometry.seam_levels import BUST, HEM, HIP, WAIST, Upright, carried_to, goes_along, level_place, places_of, upright
from geometry.shifting import Shift, edge_shifted
from geometry.splines import least_bent
from geometry.tolerances import STRAIGHT_DEG

PLACE = "place"
#: The difference of two sizes is read this close (mm); between, it runs smoothly.
_STEP_MM = 12.0
#: Levels closer than this are one (mm).
_ONE_LEVEL_MM = 1.0
_SAMPLES = 17
#: An upper corner is settled to this (mm), in so many rounds at the most.
_SETTLED_MM, _ROUNDS = 1e-9, 12


@dataclass(frozen=True, eq=False)
class SeamLine:
    """A seam read by height (mm, rising away from the hem), as a line in the frame of ``outward`` and ``up``."""

    seam: Upright
    outward: Point

    @cached_property
    def _chains(self) -> list[Chain]:
        pairs = zip(self.seam.edge.runs, self.seam.frames(), strict=True)
        return [run.chain.moved(frame) for run, frame in pairs if run.kind is not RunKind.MOUTH]

    @cached_property
    def sign(self) -> float:
        """1 where a place rises with the height, -1 where it falls."""
        ox, oy = self.outward
        return 1.0 if ox * self.seam.up[1] - oy * self.seam.up[0] > 0 else -1.0

    def height(self, point: Point) -> float:
        return self.sign * (self.outward[0] * point[1] - self.outward[1] * point[0])

    @cached_property
    def reference(self) -> float:
        """Where the fold lies along ``outward``; 0 on a piece without one, which is read in the nest's frame."""
        fold = self.seam.piece.fold
        return 0.0 if fold is None else self._out(fold.start)

    @cached_property
    def levels(self) -> dict[str, float]:
        """The heights of the seam's foot and top and of the levels that it passes, from the foot up."""
        top, foot = (self.sign * self._own_sign * place for place in places_of(self.seam))
        found = {"foot": foot, "top": top}
        for level in (HIP, WAIST, BUST):
            place = level_place(self.seam, level)
            if place is not None:
                found[level] = self.sign * self._own_sign * place
        return dict(sorted(found.items(), key=lambda item: item[1]))

    @property
    def _own_sign(self) -> float:
        """Places are counted in the seam's own outward direction, heights in ``outward``: the same or its opposite."""
        return 1.0 if self.outward[0] * self.seam.outward[0] + self.outward[1] * self.seam.outward[1] > 0 else -1.0

    def at(self, height: float) -> tuple[float, float]:
        """How far out the seam lies at a height (mm), and the slope of that (mm per mm)."""
        levels = list(self.levels.values())
        kept = min(max(height, levels[0]), levels[-1])
        place = self.sign * kept
        (ox, oy) = self.outward
        for chain in self._chains:
            found = chain.crossings((-oy * place, ox * place), self.outward)
            if found:
                point, (tx, ty) = chain.point(found[0]), chain.tangent(found[0])
                rise = self.sign * (ox * ty - oy * tx)
                slope = (ox * tx + oy * ty) / rise if abs(rise) > 0.05 else 0.0
                return self._out(point) - self.reference, slope
        ends = [point for chain in self._chains for point in (chain.start, chain.end)]
        return self._out(min(ends, key=lambda point: abs(self.height(point) - kept))) - self.reference, 0.0

    def is_straight(self, low: float, high: float) -> bool:
        """Whether the seam turns less than a ruler shows between two heights."""
        inset = 1e-3 * (high - low)
        leans = [self.at(h)[1] for h in np.linspace(low + inset, high - inset, _SAMPLES).tolist()]
        angles = [math.degrees(math.atan(lean)) for lean in leans]
        return max(angles) - min(angles) < STRAIGHT_DEG

    def _out(self, point: Point) -> float:
        return self.outward[0] * point[0] + self.outward[1] * point[1]


@dataclass(frozen=True, eq=False)
class Apart:
    """How far one size lies outside another along a seam, by height on a third line, the one that is redrawn."""

    on: SeamLine
    own: SeamLine
    other: SeamLine

    @cached_property
    def _heights(self) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        lines = (self.on, self.own, self.other)
        names = [name for name in self.on.levels if all(name in line.levels for line in lines)]
        rows = [[line.levels[name] for line in lines] for name in names]
        kept = [rows[0]]
        for row in rows[1:]:
            if all(new - old > _ONE_LEVEL_MM for new, old in zip(row, kept[-1], strict=True)):
                kept.append(row)
            elif row is rows[-1] and len(kept) > 1:
                kept[-1] = row
        on, own, other = (tuple(row[i] for row in kept) for i in range(3))
        return on, own, other

    def at(self, height: float) -> tuple[float, float]:
        """How far outside (mm) at a height on the line that is redrawn, and the slope of that."""
        on, own, other = self._heights
        i = min(max(int(np.searchsorted(on, height, side="right")) - 1, 0), len(on) - 2)
        share = (height - on[i]) / (on[i + 1] - on[i])
        (x, slope), (was, was_slope) = (
            line.at(row[i] + share * (row[i + 1] - row[i])) for line, row in ((self.other, other), (self.own, own))
        )
        stretch, was_stretch = ((row[i + 1] - row[i]) / (on[i + 1] - on[i]) for row in (other, own))
        return x - was, slope * stretch - was_slope * was_stretch


def seam_between_sizes(
    piece: Piece,
    edge_id: str,
    own: Piece,
    sizes: Mapping[str, Piece | None],
    marked: float | None = None,
) -> Piece:
    """The piece with one seam drawn through the lines of sizes at levels.

    ``sizes`` names for "bust", "waist", "hip", "hem", PLACE (``marked`` mm above the foot of the seam), "top" or
    "foot" the piece as traced in the size wanted there, None for as it is; what has no entry is drawn over. ``own``
    is the piece as traced in the size worked in. Between levels of one size the seam runs on that size's line, and
    so it does above the highest and below the lowest. Raises PatternError for a level that the seam does not pass,
    and where the outline would cross itself.
    """
    line = SeamLine(seam := upright(piece, edge_id), seam.outward)
    was = upright(own, edge_id)
    drawn = SeamLine(was, was.outward)
    apart = {
        level: None if other is None else Apart(line, drawn, SeamLine(upright(other, edge_id), was.outward))
        for level, other in sizes.items()
    }
    stops = sorted((height_of(line, level, marked), level) for level in apart)
    for (low, below), (high, above) in pairwise(stops):
        if high - low <= _ONE_LEVEL_MM:
            raise PatternError(
                f"“{seam.edge.name}” of “{piece.name}” passes {below} and {above} at the same height; "
                "name a size at one of them only.",
                piece.id,
                seam.edge.id,
            )
    return _settled(line, apart, stops)


def _settled(line: SeamLine, apart: Mapping[str, Apart | None], stops: Sequence[tuple[float, str]]) -> Piece:
    """The redrawn piece, its upper corner as far out as the size there has it.

    Where the edge above leans, the corner comes to lie higher or lower than before and so on another part of the
    seam; what it is out by is taken up between the level below and the corner.
    """
    seam, knots = line.seam, _knots(line, apart, stops)
    top, above = line.levels["top"], apart[stops[-1][1]]
    new = edge_shifted(seam.piece, seam.edge.id, *_shift(line, knots))
    if above is None or goes_along(seam):
        return new
    wanted = line.at(top)[0] + above.at(top)[0]
    below = max(height for name, height in line.levels.items() if name != "top")
    for _ in range(_ROUNDS):
        redrawn = upright(new, seam.edge.id)
        corner = SeamLine(redrawn, redrawn.outward)
        off = wanted - corner.at(corner.levels["top"])[0]
        if abs(off) < _SETTLED_MM:
            break
        knots = knots.ramped(off, below, top)
        new = edge_shifted(seam.piece, seam.edge.id, *_shift(line, knots))
    return new


def apart_at(
    piece: Piece, edge_id: str, own: Piece, other: Piece, level: str, marked: float | None = None
) -> float:
    """How far (mm) the seam of another size lies outside that of the size worked in at a level; negative inside.

    Raises PatternError for a level that the seam does not pass.
    """
    line = SeamLine(seam := upright(piece, edge_id), seam.outward)
    was = upright(own, edge_id)
    apart = Apart(line, SeamLine(was, was.outward), SeamLine(upright(other, edge_id), was.outward))
    return apart.at(height_of(line, level, marked))[0]


def passes(seam: Upright, level: str) -> bool:
    """Whether a seam passes a level, or ends at it."""
    return level == PLACE or level in SeamLine(seam, seam.outward).levels or _end_at(seam, level) is not None


def height_of(line: SeamLine, level: str, marked: float | None = None) -> float:
    """The height (mm) of a level on a seam; the ends of the seam stand for the levels that lie there.

    Raises PatternError where the seam does not pass it.
    """
    seam = line.seam
    if level == PLACE and marked is not None:
        return line.levels["foot"] + marked
    named = level if level in line.levels else _end_at(seam, level)
    if named is not None:
        return line.levels[named]
    raise PatternError(
        f"“{seam.edge.name}” of “{seam.piece.name}” does not pass the {level}; leave the size there drawn over.",
        seam.piece.id,
        seam.edge.id,
    )


def _end_at(seam: Upright, level: str) -> str | None:
    """The end of a seam that stands for a level without a line of its own."""
    if (level == BUST and goes_along(seam)) or (level == WAIST and seam.above.kind in (EdgeKind.WAIST, EdgeKind.BAND)):
        return "top"
    if level == (WAIST if seam.below.kind is EdgeKind.WAIST else HEM):
        return "foot"
    return None


@dataclass
class _Knots:
    """What a shift is made of, by height: the amount, and its slopes just below and just above."""

    rows: dict[float, tuple[float, float, float]]

    def put(self, height: float, amount: float, below: float | None, above: float | None) -> None:
        """A place of the shift; a slope that is None stays what it was, or is that of the other side."""
        old = self.rows.get(height)
        if below is None:
            below = old[1] if old is not None else above
        if above is None:
            above = old[2] if old is not None else below
        assert below is not None and above is not None
        self.rows[height] = (amount, below, above)

    def ramped(self, off: float, low: float, high: float) -> _Knots:
        """With ``off`` mm more at a height, less and less down to nothing at a lower one."""
        rows = dict(self.rows)
        for height, (amount, below, above) in self.rows.items():
            t = (height - low) / (high - low)
            if t >= 0:
                lean = 2 * off * t / (high - low)
                rows[height] = (amount + off * t * t, below + lean, above + lean)
        return _Knots(rows)


def _knots(line: SeamLine, apart: Mapping[str, Apart | None], stops: Sequence[tuple[float, str]]) -> _Knots:
    seam, knots = line.seam, _Knots({})
    foot, top = line.levels["foot"], line.levels["top"]
    sizes = [(height, apart[level]) for height, level in stops]
    _run_on(knots, sizes[0][1], foot, sizes[0][0])
    first = 0
    for i, ((low, below), (high, above)) in enumerate(pairwise(sizes)):
        if _same_size(below, above):
            _run_on(knots, below, low, high)
        elif _ruled(line, sizes[i], sizes[i + 1]):
            _rule(knots, sizes[i], sizes[i + 1])
        else:
            # A size named at one level alone is a width there: the line is drawn through it in one go.
            goes_on = i + 2 < len(sizes) and not _same_size(above, sizes[i + 2][1])
            if goes_on and not _ruled(line, sizes[i + 1], sizes[i + 2]):
                continue
            _draw_over(knots, sizes[first : i + 2])
        first = i + 1
    _run_on(knots, sizes[-1][1], sizes[-1][0], top)
    if goes_along(seam):
        amount, below_top, _ = knots.rows[top]
        knots.put(top, amount, below_top, 0.0)
        knots.put(line.sign * carried_to(seam), 0.0, 0.0, 0.0)
    return knots


def _shift(line: SeamLine, knots: _Knots) -> tuple[Shift, tuple[str, ...], str]:
    seam = line.seam
    return _as_shift(line, knots), (seam.above.id,) if goes_along(seam) else (), seam.fixed_end


def _as_shift(line: SeamLine, knots: _Knots) -> Shift:
    rows = sorted((line.sign * height, *row) for height, row in knots.rows.items())
    places, amounts, below, above = zip(*rows, strict=True)
    if line.sign > 0:
        return Shift(line.outward, places, amounts, above, below)
    return Shift(line.outward, places, amounts, tuple(-s for s in below), tuple(-s for s in above))


def _same_size(one: Apart | None, other: Apart | None) -> bool:
    if one is None or other is None:
        return one is other
    return one.other.seam.piece is other.other.seam.piece


def _read(apart: Apart | None, height: float) -> tuple[float, float]:
    return (0.0, 0.0) if apart is None else apart.at(height)


def _run_on(knots: _Knots, apart: Apart | None, low: float, high: float) -> None:
    """Along a size's line from one height to another."""
    if high - low <= 1e-6:
        amount, slope = _read(apart, low)
        knots.put(low, amount, slope, slope)
        return
    count = 1 if apart is None else _steps(high - low)
    inset = 1e-6 * (high - low)
    for height in np.linspace(low, high, count + 1).tolist():
        amount = _read(apart, height)[0]
        after, before = (_read(apart, min(max(height + side, low), high))[1] for side in (inset, -inset))
        knots.put(height, amount, None if height == low else before, None if height == high else after)


def _ruled(line: SeamLine, lower: tuple[float, Apart | None], upper: tuple[float, Apart | None]) -> bool:
    """Whether all lines are straight between two heights."""
    (low, below), (high, above) = lower, upper
    lines = [line, *(one.other for one in (below, above) if one is not None)]
    return all(_straight_between(one, line, low, high) for one in lines)


def _rule(knots: _Knots, lower: tuple[float, Apart | None], upper: tuple[float, Apart | None]) -> None:
    (low, below), (high, above) = lower, upper
    a, b = _read(below, low)[0], _read(above, high)[0]
    knots.put(low, a, None, (b - a) / (high - low))
    knots.put(high, b, (b - a) / (high - low), None)


def _draw_over(knots: _Knots, sizes: Sequence[tuple[float, Apart | None]]) -> None:
    """From the first size's line through the widths of others to the last one's line, as a batten lies.

    The batten stiffens the change; at both ends it runs on in the direction of that size's line.
    """
    heights = [height for height, _ in sizes]
    amounts = [_read(apart, height)[0] for height, apart in sizes]
    inset = 1e-6 * (heights[-1] - heights[0])
    slopes = [_read(apart, height + side)[1] for (height, apart), side in ((sizes[0], -inset), (sizes[-1], inset))]
    change = least_bent(heights, amounts, *slopes)
    for low, high in pairwise(heights):
        for height in np.linspace(low, high, _steps(high - low) + 1).tolist():
            amount, slope = change.at(height)
            below = None if height == heights[0] else slope
            knots.put(height, amount, below, None if height == heights[-1] else slope)


def _steps(run: float) -> int:
    """In how many steps a run is read; a rounding error in the run makes no step more."""
    return max(math.ceil(run / _STEP_MM - 1e-6), 2)


def _straight_between(one: SeamLine, on: SeamLine, low: float, high: float) -> bool:
    """Whether a line is straight over the stretch that lies between two heights on the line that is redrawn."""
    if one is on:
        return one.is_straight(low, high)
    names = [name for name in on.levels if name in one.levels]
    here, there = ([line.levels[name] for name in names] for line in (on, one))
    return one.is_straight(*(float(np.interp(height, here, there)) for height in (low, high)))
