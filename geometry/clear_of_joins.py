"""Pieces moved a little on the sheet where one of their lines would run along a join and be taken for it.

Sheet and pieces in mm, y up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.drawing import Placed
from geometry.lines import flatten
from geometry.motions import FloatArray, Motion
from geometry.pens import LOOKS
from geometry.sheets import APART_MM, LINE_MM, Sheet, SheetSettings, join_places, own_part, tile

#: A line that is nearer to a join than this for longer than that runs along it (mm).
NEAR_MM, LONG_MM = 2.5, 15.0
#: So far a piece is moved at most, either way across and up (mm).
FARTHEST_MM = 10
SHIFTS: FloatArray = np.arange(-FARTHEST_MM, FARTHEST_MM + 1, dtype=float)

_Shapes = NDArray[np.object_]


def clear_of_joins(sheet: Sheet, shapes: Sequence[shapely.Geometry], settings: SheetSettings) -> Sheet:
    """The sheet with each piece where its lines run along joins least, on no more pages, as near as that goes.

    ``shapes`` are all that is drawn of each piece, in its own frame, LINE_MM added all round.
    """
    joins = join_places(sheet, settings)
    printed = _printed_parts(sheet, settings)
    for index, shape in enumerate(shapes):
        one = sheet.placed[index]
        strokes = [stroke for stroke in one.there.strokes if not LOOKS[stroke.role].filled]
        lines = np.array([shapely.LineString(flatten(stroke.chain, 0.2)[0]) for stroke in strokes])
        if not any(_along(lines, at, axis, 0.0) for axis in (0, 1) for at in joins[axis]):
            continue
        others = [
            shapely.transform(other, laid.motion.points)
            for k, (other, laid) in enumerate(zip(shapes, sheet.placed, strict=True)) if k != index
        ]
        there = shapely.transform(shape, one.motion.points)
        drawn = np.array([*lines, *(shapely.Polygon(words.box()) for words in one.there.words)])
        for across, up in _shifts(lines, joins):
            by = Motion(e=across, f=up)
            if _fits(shapely.transform(there, by.points), others, sheet) and _within(
                shapely.transform(drawn, by.points), printed
            ):
                placed = list(sheet.placed)
                placed[index] = _moved(one, across, up)
                sheet = Sheet(tuple(placed), sheet.width, sheet.height)
                break
    return sheet


def _shifts(lines: _Shapes, joins: tuple[Sequence[float], Sequence[float]]) -> list[tuple[float, float]]:
    """How far to move across and up, best first: those that leave less along joins than there is, by LONG_MM."""
    runs = [
        np.array([sum(_along(lines, at, axis, shift) for at in joins[axis]) for shift in SHIFTS]) for axis in (0, 1)
    ]
    left = [
        (round(float(runs[0][i] + runs[1][k]), 3), math.hypot(SHIFTS[i], SHIFTS[k]), float(SHIFTS[i]), float(SHIFTS[k]))
        for i, k in product(range(len(SHIFTS)), repeat=2)
    ]
    now = float(runs[0][FARTHEST_MM] + runs[1][FARTHEST_MM])
    return [(across, up) for run, _, across, up in sorted(left) if run <= now - LONG_MM]


def _along(lines: _Shapes, join: float, axis: int, shift: float) -> float:
    """How long lines run along a join at x (axis 0) or y (1), after they are moved by ``shift`` there (mm)."""
    low, high = join - shift - NEAR_MM, join - shift + NEAR_MM
    far = 1e6
    band = shapely.box(low, -far, high, far) if axis == 0 else shapely.box(-far, low, far, high)
    parts = shapely.get_parts(shapely.intersection(lines[shapely.intersects(lines, band)], band))
    lengths = shapely.length(parts)
    return float(lengths[lengths > LONG_MM].sum())


def _fits(shape: shapely.Geometry, others: Sequence[shapely.Geometry], sheet: Sheet) -> bool:
    """Whether a piece lies on the sheet and keeps APART_MM from the others."""
    x0, y0, x1, y1 = (float(value) for value in shapely.bounds(shape))
    if min(x0, y0, sheet.width - x1, sheet.height - y1) < LINE_MM - 1e-6:
        return False
    return all(shapely.distance(shape, other) >= APART_MM - 2 * LINE_MM for other in others)


def _printed_parts(sheet: Sheet, settings: SheetSettings) -> tuple[_Shapes, NDArray[np.bool_]]:
    """The own part of every page, and whether it is printed."""
    pages = tile(sheet, settings)
    last = pages[-1]
    parts = [shapely.box(*own_part(page.row, page.column, last.row, last.column, settings)) for page in pages]
    return np.array(parts), np.array([not page.skipped for page in pages])


def _within(drawn: _Shapes, parts: tuple[_Shapes, NDArray[np.bool_]]) -> bool:
    """Whether what is drawn touches printed pages alone."""
    boxes, printed = parts
    return not shapely.intersects(drawn[:, None], boxes[~printed][None, :]).any()


def _moved(placed: Placed, across: float, up: float) -> Placed:
    """To a millionth of a mm, so that it comes back the same from a file."""
    motion = placed.motion
    return replace(placed, motion=replace(motion, e=round(motion.e + across, 6), f=round(motion.f + up, 6)))
