"""The picture laid flat: every pixel of the result is a square of the table, y up, its lower left corner at 0, 0."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.photo.solving import View
from geometry.errors import PatternError
from geometry.motions import FloatArray, Motion

#: Places are worked out on a grid of so many pixels and drawn straight between: 0.003 pixels off on a phone's lens.
_GRID = 16
#: The table is shown so far (mm) beyond what was measured, where the picture reaches.
BEYOND_MM = 200.0
#: No flat picture is larger than this (pixels).
MOST_PIXELS = 40_000_000


@dataclass(frozen=True)
class Area:
    """The part of the table that is laid flat: width and height in mm from 0, 0, and the side of a pixel in mm."""

    width: float
    height: float
    pixel_mm: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return max(1, math.ceil(self.height / self.pixel_mm)), max(1, math.ceil(self.width / self.pixel_mm))

    def points(self, pixels: FloatArray) -> FloatArray:
        """Points in mm at pixels (..., 2) of the flat picture."""
        x, y = pixels[..., 0], pixels[..., 1]
        points: FloatArray = np.stack(
            [(x + 0.5) * self.pixel_mm, (self.shape[0] - 0.5 - y) * self.pixel_mm],
            axis=-1,
        )
        return points

    def pixels(self, points: FloatArray) -> FloatArray:
        """Pixels of the flat picture at points (..., 2) in mm."""
        x, y = points[..., 0], points[..., 1]
        pixels: FloatArray = np.stack([x / self.pixel_mm - 0.5, self.shape[0] - 0.5 - y / self.pixel_mm], axis=-1)
        return pixels


def framed(view: View, size: tuple[int, int], about: FloatArray) -> tuple[View, Area]:
    """The view from a frame that stands as the picture does, and the area to lay flat.

    size: (columns, rows) of the picture; about: (n, 2) points of the table that were measured, in the view's mm. The
    area holds them and BEYOND_MM round them, as far as the picture reaches.
    """
    wide, high = size
    middle = view.table(np.array([[(wide - 1) / 2, (high - 1) / 2]]))[0]
    along = np.linalg.inv(view.slopes(middle[None])[0]) @ [1.0, 0.0]
    turned = Motion(*_turning(along / np.linalg.norm(along)))
    standing = view.moved(turned)
    measured = turned.undone().points(about)
    seen = standing.table(_border(wide, high))
    low = np.maximum(measured.min(axis=0) - BEYOND_MM, np.minimum(seen.min(axis=0), measured.min(axis=0)))
    top = np.minimum(measured.max(axis=0) + BEYOND_MM, np.maximum(seen.max(axis=0), measured.max(axis=0)))
    if not np.isfinite([low, top]).all() or (top - low).max() > 20_000 or (top - low).min() < 1:
        raise PatternError("The camera looked along the table; hold it above the middle and photograph again.")
    moved = standing.moved(Motion(e=float(low[0]), f=float(low[1])))
    width, height = (top - low).tolist()
    finest = 1 / math.sqrt(abs(float(np.linalg.det(moved.slopes(np.array([[width / 2, height / 2]]))[0]))))
    finest = max(finest, math.sqrt(width * height / MOST_PIXELS))
    return moved, Area(width, height, float(f"{finest:.3g}"))


def laid_flat(picture: NDArray[np.uint8], view: View, area: Area) -> NDArray[np.uint8]:
    """The picture (rows, columns[, 3]) seen from straight above; grey where it does not reach."""
    import cv2

    rows, columns = area.shape
    across = np.arange(0, columns + _GRID, _GRID, dtype=float)
    down = np.arange(0, rows + _GRID, _GRID, dtype=float)
    grid = np.stack(np.meshgrid(across, down), axis=-1)
    places = view.pixels(area.points(grid)).astype(np.float32)
    flat = np.empty((rows, columns, *picture.shape[2:]), np.uint8)
    # A strip at a time, so that the places never take much memory.
    band = max(_GRID, 512 // _GRID * _GRID)
    for start in range(0, rows, band):
        stop = min(rows, start + band)
        part = places[start // _GRID : math.ceil(stop / _GRID) + 1]
        x, y = (_filled(np.ascontiguousarray(part[..., k]), stop - start, columns) for k in (0, 1))
        flat[start:stop] = cv2.remap(
            picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=(128, 128, 128)
        )
    return flat


def _filled(part: NDArray[np.float32], rows: int, columns: int) -> Any:
    """Values on the grid drawn straight between, for every pixel."""
    import cv2

    flat = np.array([[1 / _GRID, 0, 0], [0, 1 / _GRID, 0]], dtype=np.float64)
    return cv2.warpAffine(part, flat, (columns, rows), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)


def _border(wide: int, high: int) -> FloatArray:
    """Points (n, 2) round the picture's edge, in pixels."""
    along = np.linspace(0.0, 1.0, 9)
    sides = [(along, 0 * along), (along, 0 * along + 1), (0 * along, along), (0 * along + 1, along)]
    return np.concatenate([np.stack([x * (wide - 1), y * (high - 1)], axis=1) for x, y in sides])


def _turning(way: FloatArray) -> tuple[float, float, float, float]:
    """The first four numbers of a motion that turns the x axis into a unit direction."""
    cos, sin = float(way[0]), float(way[1])
    return cos, sin, -sin, cos
