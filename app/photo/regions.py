"""Which part of the flat picture is a piece: paper on a table of another lightness or colour, to about a millimetre."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from app.photo.edges import Picture, Tone
from app.photo.flattening import Area
from geometry.errors import PatternError
from geometry.motions import FloatArray, Point

#: Pieces are looked for in a picture of this many mm a pixel.
COARSE_MM = 1.0
#: A piece has at least this area (mm²), and this share of the largest one's.
LEAST_MM2 = 2500.0
LEAST_SHARE = 0.15
#: Paper and table differ by at least this many times their own unevenness.
LEAST_APART = 2.0
#: Narrower specks and hairs are not looked at (mm).
_SPECK_MM = 3.0

Mask = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Region:
    """A piece roughly: its outline (n, 2) in mm, anticlockwise, the first point not repeated, and its area in mm²."""

    outline: FloatArray
    area_mm2: float


def regions(
    flat: Picture, area: Area, tone: Tone, sheets: list[FloatArray], whites: FloatArray, near: Point | None
) -> tuple[Region, ...]:
    """The pieces on the table, the largest first.

    flat: the flat picture; ``sheets`` corners (4, 2) in mm of the marker sheets, which are no pieces; ``whites`` (n, 2)
    mm where bare white paper is known to lie, to allow for uneven light; ``near``: only the piece round this point.
    Raises PatternError when no piece stands out.
    """
    import cv2

    light, there = _shrunk(flat, area, tone)
    light = light / _shade(light, area, whites)[..., None]
    for corners in sheets:
        there = cv2.fillPoly(there, [pixels_of(corners, area)], 0)
    grey, apart = _contrast(light, there > 0)
    if apart < LEAST_APART:
        raise PatternError(
            "The piece does not stand out from the table; lay it on something plainly darker or lighter and photograph "
            "again, or set points along its edge by hand."
        )
    found = _pieces(grey, there, area)
    if near is not None:
        found = [one for one in found if shapely.Polygon(one.outline).contains(shapely.Point(near))]
    if not found:
        raise PatternError(
            "No whole piece is found inside this picture; the whole piece must be seen with table all round it, and no "
            "sheet may lie against it."
        )
    found.sort(key=lambda one: -one.area_mm2)
    return tuple(one for one in found if one.area_mm2 >= LEAST_SHARE * found[0].area_mm2)


def _shrunk(flat: Picture, area: Area, tone: Tone) -> tuple[FloatArray, Mask]:
    """Light (rows, columns, channels) at COARSE_MM a pixel, and where the picture reaches."""
    import cv2

    rows, columns = max(1, round(area.height / COARSE_MM)), max(1, round(area.width / COARSE_MM))
    coloured = flat if flat.ndim == 3 else cv2.cvtColor(flat, cv2.COLOR_GRAY2BGR)
    small = cv2.resize(coloured, (columns, rows), interpolation=cv2.INTER_AREA)
    nothing = (coloured == 128).all(axis=2).astype(np.uint8)
    reach = cv2.resize(nothing, (columns, rows), interpolation=cv2.INTER_AREA) == 0
    open_air = cv2.morphologyEx((~reach).astype(np.uint8), cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    return tone.curve()[small].astype(float), (1 - open_air).astype(np.uint8)


def pixels_of(points: FloatArray, area: Area, pixel_mm: float = COARSE_MM) -> Any:
    """Pixels (n, 2) of a coarse picture of the area at points (n, 2) in mm."""
    return np.round(np.stack([points[:, 0], area.height - points[:, 1]], axis=1) / pixel_mm - 0.5).astype(np.int32)


def _shade(light: FloatArray, area: Area, whites: FloatArray) -> FloatArray:
    """How the light falls (rows, columns), 1 in the middle of known white places: a bowl through their logarithms."""
    rows, columns = light.shape[:2]
    shade: FloatArray = np.ones((rows, columns))
    if len(whites) < 12:
        return shade
    at = pixels_of(whites, area)
    inside = ((at >= 0) & (at < [columns, rows])).all(axis=1)
    at = at[inside]
    seen = np.log(np.maximum(light[at[:, 1], at[:, 0]].mean(axis=1), 1e-3))
    middle, size = np.array([columns, rows]) / 2, max(rows, columns) / 2

    def rows_of(x: FloatArray, y: FloatArray) -> FloatArray:
        return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)

    fitted = rows_of(*((at - middle) / size).T)
    hold = np.diag([0, 0, 0, 0.3, 0.3, 0.3])
    factors = np.linalg.solve(fitted.T @ fitted + hold, fitted.T @ seen)
    x, y = np.meshgrid((np.arange(columns) - middle[0]) / size, (np.arange(rows) - middle[1]) / size)
    shade = np.exp(np.clip(rows_of(x, y) @ factors - np.median(seen), -1.2, 1.2))
    return shade


def _contrast(light: FloatArray, there: NDArray[np.bool_]) -> tuple[Mask, float]:
    """The picture in 0 to 255 along the colour in which it falls most plainly in two, and how far the two are apart.

    Tried are the three channels, their mean, and the differences of two.
    """
    import cv2

    blue, green, red = (np.log(np.maximum(light[..., k], 0.004)) for k in range(3))
    best: tuple[float, Mask] | None = None
    for one in ((blue + green + red) / 3, blue, green, red, red - blue, green - blue, red - green):
        low, top = np.percentile(one[there], [0.5, 99.5])
        if top - low < 0.15:
            continue
        grey = (np.clip((one - low) / (top - low), 0, 1) * 255).astype(np.uint8)
        grey = cv2.medianBlur(grey, 5)
        level, _ = cv2.threshold(grey[there].reshape(-1, 1), 0, 1, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
        lower, upper = grey[there & (grey <= level)], grey[there & (grey > level)]
        if min(len(lower), len(upper)) < LEAST_MM2 / COARSE_MM**2:
            continue
        apart = float((upper.mean() - lower.mean()) / np.hypot(lower.std() + 1, upper.std() + 1))
        if best is None or apart > best[0]:
            best = (apart, (grey > level).astype(np.uint8))
    return (np.zeros(there.shape, np.uint8), 0.0) if best is None else (best[1], best[0])


def _pieces(upper: Mask, there: Mask, area: Area) -> list[Region]:
    """Every patch that is not of the table's kind and lies wholly inside what is seen."""
    import cv2

    rim = there - cv2.erode(there, np.ones((3, 3), np.uint8), borderValue=0)
    on_rim = upper[rim > 0]
    patch = upper if len(on_rim) and on_rim.mean() < 0.5 else 1 - upper
    patch = (patch & there).astype(np.uint8)
    round_mm = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (int(_SPECK_MM), int(_SPECK_MM)))
    patch = cv2.morphologyEx(cv2.morphologyEx(patch, cv2.MORPH_OPEN, round_mm), cv2.MORPH_CLOSE, round_mm)
    touched = cv2.dilate(rim, np.ones((3, 3), np.uint8)) > 0
    count, labels = cv2.connectedComponents(patch, connectivity=4)
    found = []
    sizes = np.bincount(labels.ravel(), minlength=count)
    at_rim = set(np.unique(labels[touched]).tolist())
    for label in range(1, count):
        if sizes[label] * COARSE_MM**2 < LEAST_MM2 or label in at_rim:
            continue
        rings, _ = cv2.findContours((labels == label).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        ring = max(rings, key=len)[:, 0].astype(float)
        points = np.stack([(ring[:, 0] + 0.5) * COARSE_MM, area.height - (ring[:, 1] + 0.5) * COARSE_MM], axis=1)
        signed = shapely.Polygon(points).area
        found.append(Region(points if shapely.LinearRing(points).is_ccw else points[::-1], float(signed)))
    return found
