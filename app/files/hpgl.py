"""A sheet for a pen plotter or a knife in HP-GL: 40 units a mm, a pen a role, little travel with the pen lifted.

The language as P. Bourke's notes on HP-GL give it: two capitals, whole numbers, commas, a semicolon. Curves are
flattened, dashes drawn as dashes, words as outlines (``machine_sheet``).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from app.files.line_table import LINES, LineTable
from geometry.lines import flatten
from geometry.motions import FloatArray
from geometry.pens import LOOKS, Role, Stroke
from geometry.sheets import Sheet
from geometry.travel import Drawn, lifted_mm, lifts, ordered

UNITS_PER_MM = 40
#: Readers with whole numbers of 16 bits stop here (units; 819.175 mm).
LARGEST_16_BIT = 32_767
#: So many points stand in one instruction at most; old readers keep few in their store.
MOST_POINTS = 32
FLAT_MM = 0.008
Origin = Literal["lower-left", "middle"]


@dataclass(frozen=True)
class Plotted:
    """The file, and what it asks of the plotter: pen lifts and lifted travel (mm), before and after the lines were
    put in order; the farthest coordinate (mm), and whether it is beyond what a reader of 16 bits takes."""

    data: bytes
    lifts: int
    lifted_mm: float
    lifts_unordered: int
    lifted_mm_unordered: float
    farthest_mm: float

    @property
    def beyond_16_bits(self) -> bool:
        return self.farthest_mm * UNITS_PER_MM > LARGEST_16_BIT


def plotted(sheet: Sheet, table: LineTable = LINES, *, origin: Origin = "lower-left") -> Plotted:
    """The sheet's strokes in HP-GL, pens in the order of their numbers; words are not drawn.

    ``origin`` is where the plotter has (0, 0): at the sheet's "lower-left" corner or in its "middle". The same
    sheet gives the same bytes.
    """
    shift = np.array([0.0, 0.0] if origin == "lower-left" else [sheet.width / 2, sheet.height / 2])
    strokes = [stroke for one in sheet.placed for stroke in one.there.strokes if table[stroke.role].drawn]
    pens = sorted({table[stroke.role].pen for stroke in strokes})
    parts = ["IN;"]
    counts = np.zeros(4)
    farthest, at = 0.0, (0.0, 0.0)
    for pen in pens:
        lines = [line for stroke in strokes if table[stroke.role].pen == pen for line in _lines(stroke, shift)]
        plain = [Drawn(_closed(points) if closed else points, index) for index, (points, closed) in enumerate(lines)]
        walk = ordered(lines, at)
        counts += (lifts(walk, at), lifted_mm(walk, at), lifts(plain, at), lifted_mm(plain, at))
        parts.append(f"SP{pen};")
        parts += _instructions(walk)
        farthest = max(farthest, *(float(np.abs(points).max()) for points, _ in lines))
        at = (float(walk[-1].points[-1, 0]), float(walk[-1].points[-1, 1]))
    parts.append("PU;SP0;\n")
    return Plotted("\n".join(parts).encode("ascii"), int(counts[0]), counts[1], int(counts[2]), counts[3], farthest)


def _lines(stroke: Stroke, shift: FloatArray) -> Iterator[tuple[FloatArray, bool]]:
    points = flatten(stroke.chain, FLAT_MM)[0] - shift
    pattern = LOOKS[stroke.role].dashes
    # A line that is cut is cut whole; only what is drawn to be read has dashes.
    if pattern and stroke.role is not Role.CUT:
        yield from ((dash, False) for dash in dashes(points, pattern))
    elif stroke.closed:
        yield points[:-1], True
    else:
        yield points, False


def dashes(points: FloatArray, pattern: Sequence[float]) -> list[FloatArray]:
    """The dashes of a line (n, 2) after a pattern of dash and gap in turn (mm); the last may be cut short."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    ends = np.cumsum(np.tile(pattern, math.ceil(along[-1] / sum(pattern)) + 1))
    starts = np.concatenate([[0.0], ends[:-1]])
    found = []
    for start, end in list(zip(starts, ends, strict=True))[::2]:
        if start >= along[-1] - 1e-9:
            break
        stops = np.concatenate([[start], along[(along > start) & (along < end)], [min(end, along[-1])]])
        found.append(np.stack([np.interp(stops, along, points[:, k]) for k in (0, 1)], axis=1))
    return found


def _closed(points: FloatArray) -> FloatArray:
    return np.concatenate([points, points[:1]])


def _instructions(walk: Sequence[Drawn]) -> Iterator[str]:
    at: tuple[int, int] | None = None
    for one in walk:
        units = [(int(x), int(y)) for x, y in np.rint(one.points * UNITS_PER_MM)]
        units = [point for index, point in enumerate(units) if index == 0 or point != units[index - 1]]
        if units[0] != at:
            yield f"PU{units[0][0]},{units[0][1]};"
        down = units[1:] or units[:1]
        for start in range(0, len(down), MOST_POINTS):
            yield "PD" + ",".join(f"{x},{y}" for x, y in down[start : start + MOST_POINTS]) + ";"
        at = units[-1]
