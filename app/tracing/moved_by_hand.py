"""An outline found on a photo, corrected by hand: a place of it is taken elsewhere, and the line beside it gives.

A place between corners takes the line on both sides with it, less and less, as far as it reaches but never past a
corner; a corner takes both its sides. A straight side whose corner is moved stays straight. What is moved is drawn as
smooth as it was.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely

from app.tracing.corner_finding import corners_of
from app.tracing.found import ByHand, Found, FoundLine
from app.tracing.questions import Answers
from geometry.errors import PatternError
from geometry.fitting import refit
from geometry.kept import frozen
from geometry.lines import Chain, joined, straight
from geometry.motions import FloatArray, Point

#: A place this near to a corner is the corner (mm); and to an outline, on it.
CORNER_MM, ON_MM = 0.4, 5.0
#: A place is taken no further than this, and pulls at least and at most so much of the line with it (mm).
FARTHEST_MM, LEAST_REACH, MOST_REACH = 100.0, 4.0, 400.0
#: The line that was moved is drawn through points so far apart, within so much (mm).
_STEP_MM, _WITHIN_MM = 1.0, 0.005
#: What lies further than this from the line as it was found was moved (mm).
_MOVED_MM = 0.03
_ROW = re.compile(r"\s*([-\d.]+),([-\d.]+)=([-\d.]+),([-\d.]+)~([\d.]+)\s*")


@dataclass(frozen=True)
class Move:
    """A place of an outline taken elsewhere, both in mm of the flat picture; it pulls ``reach`` mm of line each way."""

    start: Point
    to: Point
    reach: float


def move_words(found: Found, move: Move) -> str:
    """A move as it is answered: “x,y=x,y~mm”, from where to where in pixels of the picture as it was taken."""
    assert found.picture is not None
    (x0, y0), (x1, y1) = found.picture.view.pixels(np.array([move.start, move.to])).tolist()
    return f"{x0:.4f},{y0:.4f}={x1:.4f},{y1:.4f}~{move.reach:.2f}"


def with_moves(found: Found, answers: Answers) -> Found:
    """The outlines with every place moved that the answer “moved” names, one to a line. Raises PatternError."""
    rows = [row for row in answers.get("moved", "").split("\n") if row.strip()]
    if not rows:
        return found
    if found.picture is None:
        raise PatternError("--moved moves the outline found on a photo; the lines of a drawing stay as they are drawn.")
    lines = list(found.lines)
    for row in rows:
        move = _move(found, row)
        at = _line_at(lines, move.start)
        lines[at] = replace(lines[at], chain=moved_line(lines[at].chain, move))
    kept = zip(found.lines, lines, strict=True)
    return replace(found, lines=tuple(one if one is old else _said(one, old.chain) for old, one in kept))


def _move(found: Found, row: str) -> Move:
    parts = _ROW.fullmatch(row)
    try:
        numbers = [float(word) for word in parts.groups()] if parts else []
    except ValueError:
        numbers = []
    if len(numbers) != 5:
        raise PatternError("--moved should be “x,y=x,y~mm”: from where to where in pixels, and how far the line gives.")
    assert found.picture is not None
    start, to = found.picture.view.table(np.array(numbers[:4]).reshape(2, 2)).tolist()
    if math.dist(start, to) > FARTHEST_MM:
        raise PatternError(f"A place of the outline is moved at most {FARTHEST_MM:g} mm; else set points by hand.")
    return Move((start[0], start[1]), (to[0], to[1]), min(max(numbers[4], LEAST_REACH), MOST_REACH))


def _line_at(lines: Sequence[FoundLine], place: Point) -> int:
    away = [line.chain.nearest(place)[1] if line.closed else math.inf for line in lines]
    if not away or min(away) > ON_MM:
        raise PatternError("There is no outline at the place that --moved names; take hold of a place on the outline.")
    return away.index(min(away))


def moved_line(line: Chain, move: Move) -> Chain:
    """A closed line with one place moved. Raises PatternError where it would cross itself."""
    sides = sides_of(line, move.start)
    by = (move.to[0] - move.start[0], move.to[1] - move.start[1])
    corner = next((i for i, side in enumerate(sides) if math.dist(side.start, move.start) <= CORNER_MM), None)
    if corner is not None and len(sides) > 1:
        sides[corner] = _from_corner(sides[corner], by, move.reach)
        sides[corner - 1] = _from_corner(sides[corner - 1].backwards(), by, move.reach).backwards()
    else:
        at = min(range(len(sides)), key=lambda i: sides[i].nearest(move.start)[1])
        place = sides[at].length_to(sides[at].nearest(move.start)[0])
        reach = (min(move.reach, place), min(move.reach, sides[at].length - place))
        sides[at] = _bent(sides[at], place, reach, by)
    made = joined(sides)
    cubics = made.cubics.copy()
    cubics[-1, 3] = cubics[0, 0]
    found = replace(made, cubics=frozen(cubics))
    if not shapely.LinearRing(found.coarse).is_simple:
        raise PatternError("Moved so far the outline would cross itself; move it less, or look at it from further off.")
    return found


def sides_of(line: Chain, place: Point) -> list[Chain]:
    """The sides of a closed line from corner to corner; without a corner all of it, from the place opposite."""
    starts = corners_of(line)
    if not starts:
        opposite = (line.length_to(line.nearest(place)[0]) + line.length / 2) % line.length
        return [_begun_at(line, line.at_length(opposite))]
    turned = _begun_at(line, float(starts[0]))
    breaks = [float(start - starts[0]) for start in starts] + [float(len(turned))]
    return [turned.part(one, other) for one, other in pairwise(breaks)]


def _begun_at(line: Chain, u: float) -> Chain:
    if u <= 1e-9 or u >= len(line) - 1e-9:
        return line
    return joined([line.part(u, float(len(line))), line.part(0.0, u)])


def _from_corner(side: Chain, by: Point, reach: float) -> Chain:
    """A side whose start is moved."""
    if side.is_straight:
        return straight((side.start[0] + by[0], side.start[1] + by[1]), side.end)
    return _bent(side, 0.0, (0.0, min(reach, side.length)), by)


def _bent(side: Chain, place: float, reach: tuple[float, float], by: Point) -> Chain:
    """A side whose point at the length ``place`` is moved; it gives so far before and after it (mm), its ends stay."""
    low, high = place - reach[0], place + reach[1]
    parts = [_drawn(side, low, place, by, rising=True)] if reach[0] > 1e-6 else []
    parts += [_drawn(side, place, high, by, rising=False)] if reach[1] > 1e-6 else []
    if low > 1e-6:
        parts.insert(0, side.part(0.0, side.at_length(low)))
    if high < side.length - 1e-6:
        parts.append(side.part(side.at_length(high), float(len(side))))
    return joined(parts)


def _drawn(side: Chain, low: float, high: float, by: Point, *, rising: bool) -> Chain:
    """The stretch between two lengths, moved from nothing at one end to all of it at the other."""
    count = max(9, math.ceil((high - low) / _STEP_MM) + 1)
    lengths = np.linspace(low, high, count)
    us = side.at_lengths(lengths)
    ways = np.array([side.tangent(float(u), before=k == count - 1) for k, u in enumerate(us)])
    t = np.linspace(0.0, 1.0, count) if rising else np.linspace(1.0, 0.0, count)
    share = t**3 * (10 - 15 * t + 6 * t**2)
    slope = 30 * t**2 * (1 - t) ** 2 / (high - low) * (1 if rising else -1)
    points: FloatArray = side.points(us) + share[:, None] * by
    ways = ways + slope[:, None] * by
    angles = np.unwrap(np.arctan2(ways[:, 1], ways[:, 0]))
    run = np.concatenate([[0.0], np.linalg.norm(np.diff(points, axis=0), axis=1).cumsum()])
    return refit(points, angles, run, _WITHIN_MM)


def _said(line: FoundLine, before: Chain) -> FoundLine:
    """A line with what of it was moved."""
    count = max(8, round(line.chain.length / _STEP_MM))
    lengths = np.linspace(0.0, line.chain.length, count, endpoint=False)
    points = line.chain.points(line.chain.at_lengths(lengths))
    away = shapely.distance(shapely.points(points), shapely.LineString(before.flat[0]))
    moved = away > _MOVED_MM
    if not moved.any():
        return line
    share = float(moved.mean())
    return replace(line, by_hand=ByHand(points[moved], share * line.chain.length, float(away.max()), share))
