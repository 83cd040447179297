"""Marks placed by hand on a drawing or a photo: notches, dots, grainline, lines across; picked up like drawn ones."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from app.tracing.found import Found, FoundLine, FoundPoint
from app.tracing.joining import Joined
from app.tracing.questions import Answers
from geometry.errors import PatternError
from geometry.lines import straight
from geometry.motions import Point
from geometry.pieces import LineKind

#: Marks of one point, and lines of two.
NOTCH, DOT = "notch", "dot"
GUIDE = "guide line"
LINES = (
    LineKind.GRAIN.value, LineKind.LENGTHEN.value, LineKind.BUST.value, LineKind.WAIST.value, LineKind.HIP.value, GUIDE
)  # fmt: skip
KINDS = (NOTCH, DOT, *LINES)
#: Lines that go right across a piece.
_ACROSS = LINES[1:5]
#: A notch stands on the outline that lies this near (mm), and is drawn so far inward (mm).
NEAR_MM, _DEEP_MM = 15.0, 5.0
#: A line is at least this long (mm).
_LEAST_MM = 25.0
_ROW = re.compile(r"\s*([a-z/ ]+?)\s*:\s*(.+)")


def mark_words(found: Found, kind: str, points: Sequence[Point]) -> str:
    """A mark as it is answered: “notch:x,y”, in mm of a drawing, in pixels of a picture as it was taken."""
    there = np.array(points, dtype=float)
    if found.picture is not None:
        there = found.picture.view.pixels(there)
    return f"{kind}:" + " ".join(f"{x:.4f},{y:.4f}" for x, y in there.tolist())


def placed(found: Found, answers: Answers) -> tuple[tuple[str, tuple[Point, ...]], ...]:
    """The kind and the points (mm) of every mark that the answer “marks” names, one to a line. Raises PatternError."""
    return tuple(_read(found, row) for row in answers.get("marks", "").split("\n") if row.strip())


def with_marks(found: Found, joined: Joined, answers: Answers) -> tuple[Found, Joined]:
    """What was found with the placed marks among it. Raises PatternError where one cannot stand."""
    rest, points = list(joined.rest), list(found.points)
    for kind, there in placed(found, answers):
        if kind == DOT:
            points.append(FoundPoint(there[0]))
        elif kind == NOTCH:
            rest.append(_notch(joined, there[0]))
        else:
            first, last = _to_edges(joined, there) if kind in _ACROSS else there
            rest.append(FoundLine(straight(first, last), name=kind))
    return replace(found, points=tuple(points)), replace(joined, rest=tuple(rest))


def _read(found: Found, row: str) -> tuple[str, tuple[Point, ...]]:
    parts = _ROW.fullmatch(row)
    try:
        numbers = np.array([[float(n) for n in word.split(",")] for word in parts[2].split()] if parts else [])
    except ValueError:
        numbers = np.zeros(0)
    kind = parts[1] if parts else ""
    if kind not in KINDS or numbers.shape != ((2, 2) if kind in LINES else (1, 2)) or not np.isfinite(numbers).all():
        kinds = ", ".join(KINDS)
        raise PatternError(f"--mark “{row}” should be KIND:x,y, or for a line KIND:x,y x,y; the kinds are {kinds}.")
    there = numbers if found.picture is None else found.picture.view.table(numbers)
    points = tuple((x, y) for x, y in there.tolist())
    if kind in LINES and math.dist(*points) < _LEAST_MM:
        raise PatternError(f"The two ends of a {kind} should lie at least {_LEAST_MM:g} mm apart.")
    return kind, points


def _to_edges(joined: Joined, ends: Sequence[Point]) -> tuple[Point, Point]:
    """A line with each end on the edge that it meets nearby, where it meets one."""
    (x0, y0), (x1, y1) = ends
    length = math.dist(*ends)
    along = ((x1 - x0) / length, (y1 - y0) / length)
    met = [loop.chain.point(u) for loop in joined.loops for u in loop.chain.crossings((x0, y0), along)]
    first, last = (
        min((one for one in met if math.dist(one, end) <= NEAR_MM), key=lambda one: math.dist(one, end), default=end)
        for end in ends
    )
    return first, last


def _notch(joined: Joined, at: Point) -> FoundLine:
    """A notch on the nearest outline, drawn inward."""
    near = [(loop.chain.nearest(at)[1], n) for n, loop in enumerate(joined.loops) if loop.polygon.area > 0]
    best = min(near, default=(math.inf, 0))
    if best[0] > NEAR_MM:
        raise PatternError(f"A notch is placed on an outline, no further than {NEAR_MM:g} mm beside it.")
    chain = joined.loops[best[1]].chain
    u = chain.nearest(at)[0]
    (x, y), (dx, dy) = chain.point(u), chain.tangent(u)
    return FoundLine(straight((x, y), (x - _DEEP_MM * dy, y + _DEEP_MM * dx)), layer="notches")
