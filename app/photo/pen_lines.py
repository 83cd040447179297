"""A closed pen line on paper: found by itself; its middle, its outside or its inside measured in the picture.

A pen line is about as wide as a camera's blur, so its two edges run into each other. Blur spreads darkness evenly to
both sides, so the middle of what the line darkens is the line's middle; all that it darkens, over how dark ink is, is
how wide it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely

from app.photo.cut_edges import Edge, Measure
from app.photo.edges import Picture, profiles
from app.photo.outlines import Outline, round_about
from app.photo.photographs import Flattened
from app.photo.regions import LEAST_MM2, Region, pixels_of
from geometry.errors import PatternError
from geometry.motions import FloatArray, Point


class LineSide(StrEnum):
    """Which part of a pen line the outline runs along."""

    OUTSIDE = "outside"
    MIDDLE = "middle"
    INSIDE = "inside"


#: Lines up to this wide are pen lines, and gaps in them up to this are closed (mm).
WIDEST_MM, GAP_MM = 3.0, 2.0
#: How much of the paper's light black ink takes (common practice, no source).
INK = 0.93
#: A line darkens its paper by at least this share of what the darkest lines do, and by so much at all.
_LEAST_SHARE, _LEAST_DARK = 0.4, 0.1
#: Ink that runs on from a line is still of it when there is so much of it.
_FAINT = 0.6
#: So many mm to both sides of a line, one side is at least so light a share of the other; told at so many places.
_BEYOND_MM, _AS_LIGHT, _PLACES = 3.5, 0.7, 200
#: The line is looked for in a picture of so many mm a pixel; paper is bright for so many mm beside it.
_FINE_MM, _PAPER_MM = 0.5, 9.0
#: The paper beside a line is seen at least so far out (mm); more ink than so many times the usual is that of two lines.
_BASE_MM, _CROSSED = 3.7, 1.6


@dataclass(frozen=True, eq=False)
class PenOutline:
    """An outline along a pen line, and how wide the line is (mm)."""

    outline: Outline
    width_mm: float


def pen_outline(
    flattened: Flattened, side: LineSide, near: Point | None = None, pen_mm: float | None = None
) -> PenOutline:
    """The outline along the closed pen line round ``near`` (mm), or along the one round the largest part of the paper.

    ``pen_mm`` is the line's width where it is known. Raises PatternError when no closed line is found.
    """
    measure, widths = pen_measure(flattened, side, pen_mm)
    return PenOutline(round_about(measure, _enclosed(flattened, near)), widths[0])


def pen_measure(
    flattened: Flattened, side: LineSide, pen_mm: float | None = None, within: float = WIDEST_MM
) -> tuple[Measure, list[float]]:
    """What measures a pen line, no further than ``within`` mm, and a list whose only entry is its width when measured
    last (mm)."""
    widths = [0.0]

    def measure(points: FloatArray, ways: FloatArray, reach: float) -> Edge:
        places, wide, weights = _across(flattened, points, ways, min(reach, within))
        good = weights > 0
        widths[0] = pen_mm if pen_mm is not None else float(np.median(wide[good])) if good.any() else widths[0]
        out = {LineSide.OUTSIDE: 0.5, LineSide.MIDDLE: 0.0, LineSide.INSIDE: -0.5}[side] * widths[0]
        return Edge(points + (places + out)[:, None] * ways, weights)

    return measure, widths


def _across(
    flattened: Flattened, points: FloatArray, ways: FloatArray, reach: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Where the line's middle lies across every point (n,), how wide it is (n,), and what the place counts (n,)."""
    step = 0.4 * flattened.area.pixel_mm
    beyond = max(reach + 1.5, _BASE_MM)
    offsets = np.arange(-beyond, beyond + step / 2, step)
    light = profiles(flattened.picture, flattened.tone, flattened.view, points, ways, offsets).mean(axis=2)
    paper = np.percentile(light, 75, axis=1)[:, None]
    dark = np.clip(1 - light / np.maximum(paper, 1e-6), 0.0, 1.0)
    even = np.apply_along_axis(lambda row: np.convolve(row, np.ones(3) / 3, mode="same"), 1, dark)
    even = np.where(np.abs(offsets)[None] <= reach + 1.5 if reach >= 2.0 else np.abs(offsets)[None] <= reach, even, 0.0)
    peak = offsets[even.argmax(axis=1)]
    deepest = even.max(axis=1)
    near = np.abs(offsets[None] - peak[:, None]) < WIDEST_MM / 2 + 0.6
    base = np.nanmedian(np.where(near, np.nan, dark), axis=1)
    ink = np.where(near, np.clip(dark - base[:, None], 0.0, None), 0.0)
    total = np.maximum(ink.sum(axis=1), 1e-9)
    place = (ink * offsets).sum(axis=1) / total
    usual = np.percentile(deepest, 75)
    good = (deepest > _LEAST_DARK) & (deepest > 0.4 * usual) & (np.abs(place - peak) < 1.0)
    if good.any():
        # Where another line crosses, there is ink of two.
        good &= total < _CROSSED * np.median(total[good])
    return place, total * step / INK, good.astype(float)


def _enclosed(flattened: Flattened, near: Point | None) -> Region:
    """The part of the paper that a line goes round."""
    import cv2

    area = flattened.area
    ink, paper = _ink_and_paper(flattened, _FINE_MM)
    drawn = _lines_of(ink)
    rows, columns = drawn.shape
    gap = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (int(GAP_MM / _FINE_MM) + 1,) * 2)
    closed = cv2.morphologyEx(drawn, cv2.MORPH_CLOSE, gap)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(1 - closed, connectivity=4)
    found = []
    for label in range(1, count):
        left, top, wide, high, size = stats[label].tolist()
        if size * _FINE_MM**2 < LEAST_MM2 or left == 0 or top == 0 or left + wide == columns or top + high == rows:
            continue
        rings, _ = cv2.findContours((labels == label).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        ring = max(rings, key=len)[:, 0].astype(float)
        points = np.stack([(ring[:, 0] + 0.5) * _FINE_MM, area.height - (ring[:, 1] + 0.5) * _FINE_MM], axis=1)
        points = points if shapely.LinearRing(points).is_ccw else points[::-1]
        wanted = near is None or shapely.Polygon(points).contains(shapely.Point(near))
        if wanted and _is_on_paper(paper, ring):
            found.append(Region(points, float(shapely.Polygon(points).area)))
    if not found:
        raise PatternError(
            "No closed pen line is found in this picture; close the gaps in the line, draw it darker, or set points "
            "along it by hand."
        )
    return max(found, key=lambda one: one.area_mm2)


def _lines_of(ink: FloatArray) -> Picture:
    """1 where a line runs in a picture of ink (rows, columns): thin lines grow faint between pixels and are followed
    on from where they are plain (two thresholds, Canny 1986)."""
    import cv2

    _, labels = cv2.connectedComponents((ink >= _FAINT).astype(np.uint8), connectivity=8)
    plain = np.zeros(int(labels.max()) + 1, np.uint8)
    plain[labels[ink >= 1.0]] = 1
    return np.asarray(plain[labels], dtype=np.uint8)


def _is_on_paper(paper: FloatArray, ring: FloatArray) -> bool:
    """Whether the paper (its light, rows by columns) runs on outside a ring of pixels (n, 2): a line is drawn on paper,
    while beyond the paper's own edge lies the table."""
    points = ring[:: max(1, len(ring) // _PLACES)]
    along = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    away = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    reach = _BEYOND_MM / _FINE_MM

    def seen(places: FloatArray) -> FloatArray:
        column, row = np.clip(np.round(places).astype(int), 0, np.array(paper.shape[::-1]) - 1).T
        return paper[row, column]

    beside = np.stack([seen(points + reach * away), seen(points - reach * away)])
    return float(np.median(beside.min(axis=0) / np.maximum(beside.max(axis=0), 1e-6))) > _AS_LIGHT


def ink_of(flattened: Flattened, fine_mm: float) -> FloatArray:
    """How much of a line's ink there is (rows, columns) in a flat picture of so many mm a pixel, at most 1, which is
    as much as makes a line."""
    return _ink_and_paper(flattened, fine_mm)[0]


def _ink_and_paper(flattened: Flattened, fine_mm: float) -> tuple[FloatArray, FloatArray]:
    """How much of a line's ink there is, and how light the paper is, line or not (rows, columns)."""
    import cv2

    area = flattened.area
    rows, columns = round(area.height / fine_mm), round(area.width / fine_mm)
    grey = flattened.flat if flattened.flat.ndim == 2 else cv2.cvtColor(flattened.flat, cv2.COLOR_BGR2GRAY)
    light = flattened.tone.curve()[cv2.resize(grey, (columns, rows), interpolation=cv2.INTER_AREA)]
    round_mm = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (int(_PAPER_MM / fine_mm),) * 2)
    paper = cv2.morphologyEx(light, cv2.MORPH_CLOSE, round_mm)
    dark = (paper - light) / np.maximum(paper, 1e-3)
    for corners in flattened.sheets:
        dark = cv2.fillPoly(dark, [pixels_of(corners, area, fine_mm)], 0.0)
    least = max(_LEAST_DARK, _LEAST_SHARE * float(np.percentile(dark, 99.7)))
    return np.asarray(np.clip(dark / least, 0.0, 1.0)), np.asarray(paper)
