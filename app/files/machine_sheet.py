"""A sheet made ready for a cutter or a plotter: no line twice, letters as outlines, a square to measure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from app.files.line_table import LINES, LineTable
from geometry.drawing import Drawing, Placed
from geometry.lines import Chain, flatten, joined, polyline
from geometry.motions import FloatArray, Motion
from geometry.pens import Role, Stroke, Words
from geometry.sheets import Sheet

#: Lines this close together are one line for a knife (mm).
ONE_LINE_MM = 0.01
#: A stretch on another line shorter than this is a crossing and stays (mm).
LEAST_SHARED_MM = 2.0
#: Lines are compared every so often (mm).
STATION_MM = 0.5
SQUARE_MM = 100.0
#: Between the square and the pieces (mm).
BESIDE_MM = 20.0


@dataclass(frozen=True)
class MachineSettings:
    """What a machine is given. ``once`` draws no line twice; ``outlines`` letters as curves; ``square`` adds one of
    100 mm to measure; ``table`` says how each role goes into the file."""

    table: LineTable = field(default_factory=lambda: LINES)
    once: bool = True
    outlines: bool = False
    square: bool = False


def for_machine(sheet: Sheet, settings: MachineSettings) -> Sheet:
    """The sheet as a machine is given it; pieces lie where they lay."""
    placed = tuple(replace(one, drawing=_ready(one.drawing, settings)) for one in sheet.placed)
    ready = Sheet(placed, sheet.width, sheet.height)
    return _with_square(ready, settings) if settings.square else ready


def _ready(drawing: Drawing, settings: MachineSettings) -> Drawing:
    strokes = [stroke for stroke in drawing.strokes if settings.table[stroke.role].drawn]
    words = [words for words in drawing.words if settings.table[words.role].drawn]
    if settings.once:
        strokes = list(drawn_once(strokes))
    if settings.outlines:
        strokes += _as_outlines(words)
        words = []
    return Drawing(drawing.piece_id, drawing.name, tuple(strokes), tuple(words))


def _as_outlines(words: Sequence[Words]) -> list[Stroke]:
    from app.fonts.outlines import outlines

    return [stroke for one in words for stroke in outlines(one)]


def drawn_once(strokes: Sequence[Stroke]) -> Iterator[Stroke]:
    """The strokes without what an earlier one draws already; cutting lines come first and stay closed.

    A stretch counts as drawn where it runs within ONE_LINE_MM of an earlier line for LEAST_SHARED_MM and more. A
    closed line that loses a stretch becomes open ones.
    """
    drawn: list[shapely.Geometry] = []
    for stroke in sorted(strokes, key=lambda stroke: stroke.role is not Role.CUT):
        line = shapely.LineString(flatten(stroke.chain, ONE_LINE_MM / 4)[0])
        near = [other for other in drawn if shapely.dwithin(line, other, ONE_LINE_MM)]
        yield from _apart_from(stroke, shapely.union_all(near)) if near else [stroke]
        drawn.append(line)


def _apart_from(stroke: Stroke, drawn: shapely.Geometry) -> list[Stroke]:
    """The stretches of a stroke that do not run on lines drawn before."""
    chain = stroke.chain
    count = max(4, math.ceil(chain.length / STATION_MM))
    lengths = np.linspace(0.0, chain.length, count + 1)
    apart = np.asarray(shapely.distance(shapely.points(chain.points(chain.at_lengths(lengths))), drawn))
    near = apart <= ONE_LINE_MM
    edges = np.flatnonzero(np.diff(np.concatenate([[False], near, [False]]).astype(int)))
    spans = [(int(a), int(b) - 1) for a, b in edges.reshape(-1, 2)]
    gone = []
    for a, b in spans:
        wraps = stroke.closed and near[0] and near[-1] and (a == 0 or b == count)
        stations = spans[0][1] + count - spans[-1][0] if wraps else b - a
        if stations * chain.length / count >= LEAST_SHARED_MM:
            start = _edge(chain, lengths, a - 1, a, drawn) if a else 0.0
            end = _edge(chain, lengths, b + 1, b, drawn) if b < count else float(len(chain))
            gone.append((start, end))
    return _without(stroke, gone) if gone else [stroke]


def _edge(chain: Chain, lengths: FloatArray, apart: int, shared: int, drawn: shapely.Geometry) -> float:
    """The parameter at which a line leaves another, between a station apart from it and one on it."""
    far, near = float(lengths[apart]), float(lengths[shared])
    while abs(far - near) > 1e-4:
        middle = (far + near) / 2
        if shapely.distance(shapely.Point(chain.point(chain.at_length(middle))), drawn) <= ONE_LINE_MM:
            near = middle
        else:
            far = middle
    u = chain.at_length(near)
    joint = round(u)
    return float(joint) if abs(chain.length_to(joint) - near) < 5 * ONE_LINE_MM else u


def _without(stroke: Stroke, gone: Sequence[tuple[float, float]]) -> list[Stroke]:
    """What is left of a stroke when stretches (from, to) of its parameter are taken out."""
    size = float(len(stroke.chain))
    bounds = [0.0, *(u for span in gone for u in span), size]
    left = [(a, b) for a, b in zip(bounds[::2], bounds[1::2], strict=True) if b - a > 1e-9]
    parts = [stroke.chain.part(a, b) for a, b in left]
    if stroke.closed and len(left) > 1 and left[0][0] == 0.0 and left[-1][1] == size:
        parts = [joined([parts[-1], parts[0]]), *parts[1:-1]]
    return [Stroke(stroke.role, part, False, stroke.name) for part in parts]


def _with_square(sheet: Sheet, settings: MachineSettings) -> Sheet:
    """A square of 100 mm with its words, to the right of the pieces."""
    laid = Placed(_ready(test_square(), settings), Motion(e=sheet.width + BESIDE_MM, f=BESIDE_MM))
    width, height = sheet.width + SQUARE_MM + 2 * BESIDE_MM, max(sheet.height, SQUARE_MM + 2 * BESIDE_MM)
    return Sheet((*sheet.placed, laid), width, height)


def test_square() -> Drawing:
    """A square of 100 mm with its words, to be measured before anything is cut."""
    corners = [(0.0, 0.0), (SQUARE_MM, 0.0), (SQUARE_MM, SQUARE_MM), (0.0, SQUARE_MM), (0.0, 0.0)]
    words = Words(Role.SQUARE, (SQUARE_MM / 2, SQUARE_MM / 2), "100 mm", 5.0)
    stroke = Stroke(Role.SQUARE, polyline(corners), True, "test square")
    return Drawing("test-square", "test square", (stroke,), (words,))
