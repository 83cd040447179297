"""A closed pen line on paper: found by itself; its middle, its outside or its inside measured in the picture.

A pen line is about as wide as a camera's blur, so its two edges run into each other. Blur spreads darkness evenly to
both sides, so the middle of what the line darkens is the line's middle; how wide it is, is told from how its darkness
is spread (``line_widths``), and how unsure that is counts where the outline runs along its outside or inside.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import shapely
from numpy.typing import NDArray

from app.photo.cut_edges import Edge, Measure, along
from app.photo.edges import Picture, profiles
from app.photo.line_widths import LineWidth, line_width
from app.photo.outlines import Outline, round_about
from app.photo.photographs import Flattened, PhotoOutline, with_error
from app.photo.regions import LEAST_MM2, Region, pixels_of
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.motions import FloatArray, Point


class LineSide(StrEnum):
    """Which part of a pen line the outline runs along."""

    OUTSIDE = "outside"
    MIDDLE = "middle"
    INSIDE = "inside"


#: Lines up to this wide are pen lines, and gaps in them up to this are closed (mm).
WIDEST_MM, GAP_MM = 3.0, 2.0
#: A line darkens its paper by at least this share of what the darkest lines do, and by so much at all.
_LEAST_SHARE, _LEAST_DARK = 0.4, 0.1
#: Where a line is known to run it may be as faint as this.
_FAINTEST_DARK = 0.05
#: An outside or inside that is less sure than this (mm) is said.
_SAY_MM = 0.1
#: Ink that runs on from a line is still of it when there is so much of it.
_FAINT = 0.6
#: So many mm to both sides of a line, one side is at least so light a share of the other; told at so many places.
_BEYOND_MM, _AS_LIGHT, _PLACES = 3.5, 0.7, 200
#: A table's grain is darker than this share over so many mm, which no line is.
_PLAIN, _PLAIN_MM = 0.07, 20.0
#: So many rings are looked into, none longer than this (mm).
_MOST_RINGS, _LONGEST_MM = 40, 10_000.0
#: The line is looked for in a picture of so many mm a pixel; paper is bright for so many mm beside it.
_FINE_MM, _PAPER_MM = 0.5, 9.0
#: The paper beside a line is seen at least so far out (mm); more ink than so many times the usual is that of two lines.
_BASE_MM, _CROSSED = 3.7, 1.6
#: A line's width is measured so far to both sides of its middle (mm), which is evened over so many places to each side;
#: places further from that (mm) say nothing. It is measured anew on nearly as many places as before, not on a side.
_WIDTH_MM, _EVENED, _ODD_MM, _AS_MANY = 2.4, 6, 0.5, 0.9


@dataclass(frozen=True, eq=False)
class PenOutline:
    """An outline along a pen line, and how wide the line is."""

    outline: Outline
    width: LineWidth


def pen_outline(flattened: Flattened, side: LineSide, near: Point | None = None) -> PenOutline:
    """The outline along the closed pen line round ``near`` (mm), or along the one round the largest part of the paper.

    Raises PatternError when no closed line is found.
    """
    measure, widths = pen_measure(flattened, side)
    return PenOutline(round_about(measure, _enclosed(flattened, near)), widths[0])


def pen_with_error(flattened: Flattened, pen: PenOutline, side: LineSide) -> PhotoOutline:
    """The outline along a side of a pen line with its stated error, in which the line's width counts by half."""
    half = 0.0 if side is LineSide.MIDDLE else pen.width.unsure_mm / 2
    found = with_error(flattened, pen.outline, half)
    if half <= _SAY_MM:
        return found
    says = (
        f"The line is about {pen.width.mm:.1f} mm wide, give or take {2 * half:.1f} mm, as it is thin or faint in this "
        f"picture, so its {side.value} is as unsure; take the middle of the line, or photograph it from nearer."
    )
    return replace(found, findings=(*found.findings, Finding("line-width-unsure", Level.NOTICE, says)))


def pen_measure(flattened: Flattened, side: LineSide, within: float = WIDEST_MM) -> tuple[Measure, list[LineWidth]]:
    """What measures a pen line, no further than ``within`` mm, and a list whose only entry is its width as it was last
    measured on the whole line."""
    widths, most = [LineWidth(0.0, 0.0)], 0

    def measure(points: FloatArray, ways: FloatArray, reach: float) -> Edge:
        nonlocal most
        across = _across(flattened, points, ways, min(reach, within))
        if across.good.sum() >= max(8, _AS_MANY * most):
            most = int(across.good.sum())
            widths[0] = _width(flattened, points, ways, across)
        out = {LineSide.OUTSIDE: 0.5, LineSide.MIDDLE: 0.0, LineSide.INSIDE: -0.5}[side] * widths[0].mm
        return Edge(points + (across.places + out)[:, None] * ways, across.good.astype(float))

    return measure, widths


@dataclass(frozen=True, eq=False)
class _Across:
    """A line across every point: what share of the light is gone (n, m) at offsets (m,) in mm, where the line's middle
    lies (n,), and where it is plainly seen (n,)."""

    offsets: FloatArray
    dark: FloatArray
    places: FloatArray
    good: NDArray[np.bool_]


def _across(flattened: Flattened, points: FloatArray, ways: FloatArray, reach: float) -> _Across:
    step = 0.4 * flattened.area.pixel_mm
    beyond = max(reach + 1.5, _BASE_MM)
    offsets = np.arange(-beyond, beyond + step / 2, step)
    light = profiles(flattened.picture, flattened.tone, flattened.view, points, ways, offsets).mean(axis=2)
    paper = np.percentile(light, 75, axis=1)[:, None]
    dark = 1 - light / np.maximum(paper, 1e-6)
    seen = np.clip(dark, 0.0, 1.0)
    even = np.apply_along_axis(lambda row: np.convolve(row, np.ones(3) / 3, mode="same"), 1, seen)
    even = np.where(np.abs(offsets)[None] <= reach + 1.5 if reach >= 2.0 else np.abs(offsets)[None] <= reach, even, 0.0)
    peak = offsets[even.argmax(axis=1)]
    deepest = even.max(axis=1)
    near = np.abs(offsets[None] - peak[:, None]) < WIDEST_MM / 2 + 0.6
    base = np.nanmedian(np.where(near, np.nan, seen), axis=1)[:, None]
    ink = np.where(near, np.clip(seen - base, 0.0, None), 0.0)
    total = np.maximum(ink.sum(axis=1), 1e-9)
    place = (ink * offsets).sum(axis=1) / total
    usual = np.percentile(deepest, 75)
    good = (deepest > _FAINTEST_DARK) & (deepest > 0.4 * usual) & (np.abs(place - peak) < 1.0)
    if good.any():
        # Where another line crosses, there is ink of two.
        good &= total < _CROSSED * np.median(total[good])
    return _Across(offsets, dark - base, place, good)


def _width(flattened: Flattened, points: FloatArray, ways: FloatArray, across: _Across) -> LineWidth:
    """How wide the line is that was seen across points (n, 2) in order along it, all its places together."""
    at = np.flatnonzero(across.good)
    middle = along(across.places[at], _EVENED)
    sound = np.abs(across.places[at] - middle) < _ODD_MM
    at, middle = at[sound], middle[sound]
    per_pixel = 1 / np.linalg.norm(np.einsum("nij,nj->ni", flattened.view.slopes(points[at]), ways[at]), axis=1)
    blur = flattened.tone.blur_px * float(np.sqrt((per_pixel**2).mean()))
    offsets = across.offsets - middle[:, None]
    return line_width(offsets.ravel(), across.dark[at].ravel(), blur, flattened.tone.blur_unsure, _WIDTH_MM)


def _enclosed(flattened: Flattened, near: Point | None) -> Region:
    """The part of the paper that a line goes round."""
    import cv2

    dark, paper = _dark_and_paper(flattened, _FINE_MM)
    plain = (cv2.blur(dark, (round(_PLAIN_MM / _FINE_MM),) * 2) < _PLAIN) & (dark > 0)
    drawn = _lines_of(_inked(dark, dark[plain] if plain.any() else dark))
    rows, columns = drawn.shape
    gap = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (int(GAP_MM / _FINE_MM) + 1,) * 2)
    closed = cv2.morphologyEx(drawn, cv2.MORPH_CLOSE, gap)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(1 - closed, connectivity=4)
    left, top, wide, high, size = stats.T
    inside = (left > 0) & (top > 0) & (left + wide < columns) & (top + high < rows)
    large = np.flatnonzero(inside & (size * _FINE_MM**2 >= LEAST_MM2) & (np.arange(len(stats)) > 0))
    found = []
    for label in large[np.argsort(-(wide * high)[large], kind="stable")][:_MOST_RINGS].tolist():
        x, y, w, h, _ = stats[label].tolist()
        part = (labels[y : y + h, x : x + w] == label).astype(np.uint8)
        rings, _ = cv2.findContours(part, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        ring = max(rings, key=len)[:, 0] + np.array([x, y], dtype=float)
        height = flattened.area.height
        points = np.stack([(ring[:, 0] + 0.5) * _FINE_MM, height - (ring[:, 1] + 0.5) * _FINE_MM], axis=1)
        points = points if shapely.LinearRing(points).is_ccw else points[::-1]
        if _may_be_asked_for(flattened, points, near) and _is_on_paper(paper, ring):
            found.append(Region(points, float(shapely.Polygon(points).area)))
    if not found:
        raise PatternError(
            "No closed pen line is found in this picture; close the gaps in the line, draw it darker, or set points "
            "along it by hand."
        )
    return max(found, key=lambda one: one.area_mm2)


def _may_be_asked_for(flattened: Flattened, points: FloatArray, near: Point | None) -> bool:
    """Whether a ring of points (n, 2) in mm goes round ``near`` and round no marker sheet, which lie beside a piece."""
    ring = shapely.Polygon(points)
    beside = all(not ring.contains(shapely.Point(*corners.mean(axis=0))) for corners in flattened.sheets)
    return ring.length < _LONGEST_MM and beside and (near is None or ring.contains(shapely.Point(near)))


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


def _inked(dark: FloatArray, among: FloatArray) -> FloatArray:
    """What is dark as ink, at most 1: as much as the darkest lines make ``among`` what is looked at."""
    least = max(_LEAST_DARK, _LEAST_SHARE * float(np.percentile(among, 99.7)))
    return np.asarray(np.clip(dark / least, 0.0, 1.0))


def _dark_and_paper(flattened: Flattened, fine_mm: float) -> tuple[FloatArray, FloatArray]:
    """What share of the paper's light is gone, and how light the paper is, line or not (rows, columns)."""
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
    return np.asarray(dark), np.asarray(paper)
