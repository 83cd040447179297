"""The ink on a flat picture: how dark every place is next to the paper round it, and where lines run."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.photo.photographs import Flattened
from app.photo.regions import pixels_of
from geometry.motions import FloatArray

Floats = NDArray[np.float32]

#: The ink is seen in the flat picture's own pixels, or in several together where those are finer than this (mm).
_FINEST_MM = 0.2
#: The paper is as bright as it is anywhere within so many mm, told in a picture of so many mm a pixel.
_PAPER_MM, _COARSE_MM = 9.0, 0.75
#: Noise is evened over so many mm.
_EVENED_MM = 0.15
#: Ink is looked for so far to both sides of a place (mm), as a walk lies a little beside its line.
_BESIDE_MM = 0.3
#: What lies this near a place counts as near it (mm).
_NEAR_MM = 0.3
#: Ink that is less dark than this share of black may be a speck of a grainy picture; twice as dark it is none.
_SPECK = 0.3
#: So many places are looked up in a row.
_A_ROW = 1024
#: Lines are about so wide as this (mm, one standard deviation), as blur leaves them.
_RIDGE_MM = 0.22


@dataclass(frozen=True, eq=False)
class Ridges:
    """Points (n, 2) in mm on the middle of lines, and how plainly each is seen (n,)."""

    points: FloatArray
    strength: FloatArray


@dataclass(frozen=True, eq=False)
class Ink:
    """Darkness (rows, columns), 0 for paper and 1 for black, in pixels of so many mm; ``height`` of the picture, mm."""

    dark: Floats
    pixel_mm: float
    height: float

    def at(self, points: FloatArray) -> Floats:
        """Darkness at points (..., 2) in mm, drawn straight between pixels; outside the picture there is paper."""
        import cv2

        flat = points.reshape(-1, 2)
        # A table of places, as OpenCV takes no list: rows of so many, the last one filled up.
        wanted = np.zeros((-(-len(flat) // _A_ROW) * _A_ROW, 2), np.float32)
        wanted[: len(flat), 0] = flat[:, 0] / self.pixel_mm - 0.5
        wanted[: len(flat), 1] = (self.height - flat[:, 1]) / self.pixel_mm - 0.5
        if not len(wanted):
            return np.zeros(points.shape[:-1], np.float32)
        table = wanted.reshape(-1, _A_ROW, 2)
        found = cv2.remap(self.dark, table, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0.0)
        return np.asarray(found, np.float32).ravel()[: len(flat)].reshape(points.shape[:-1])

    def along(self, points: FloatArray, ways: FloatArray) -> Floats:
        """The darkest within _BESIDE_MM across, at points (..., 2) of lines that run along unit ways (..., 2)."""
        across = _BESIDE_MM * np.stack([-ways[..., 1], ways[..., 0]], axis=-1)
        return np.maximum(np.maximum(self.at(points - across), self.at(points + across)), self.at(points))

    def near(self, points: FloatArray) -> Floats:
        """The darkest within about _NEAR_MM of points (..., 2) in mm, to a pixel."""
        rows, columns = self._spread.shape
        x = np.clip((points[..., 0] / self.pixel_mm).astype(np.int32), 0, columns - 1)
        y = np.clip(((self.height - points[..., 1]) / self.pixel_mm).astype(np.int32), 0, rows - 1)
        return self._spread.ravel()[y * columns + x]

    def inked_about(self, points: FloatArray, black: float, size: float) -> Floats:
        """What share is plainly ink within ``size`` mm up, down and to both sides of points (n, 2) in mm."""
        import cv2

        plain = np.clip((self.dark / black - _SPECK) / _SPECK, 0.0, 1.0)
        wide = 2 * round(size / self.pixel_mm) + 1
        return Ink(np.asarray(cv2.blur(plain, (wide, wide)), np.float32), self.pixel_mm, self.height).at(points)

    @cached_property
    def _spread(self) -> Floats:
        import cv2

        wide = 2 * max(1, round(_NEAR_MM / self.pixel_mm)) + 1
        return np.asarray(cv2.dilate(self.dark, np.ones((wide, wide), np.uint8)), np.float32)

    def ridges(self, least: float) -> Ridges:
        """Points on the middle of lines at least ``least`` as plain as black ink would be, every pixel or so.

        Where the picture bends most and rises neither way across (Steger 1998).
        """
        import cv2

        even = cv2.GaussianBlur(self.dark, (0, 0), _RIDGE_MM / self.pixel_mm)
        gy, gx = np.gradient(even)
        gxy = np.gradient(gx)[0]
        second = np.array([[1.0, -2.0, 1.0]], np.float32)
        gxx, gyy = cv2.filter2D(even, -1, second), cv2.filter2D(even, -1, second.T)
        half, apart = (gxx + gyy) / 2, np.hypot((gxx - gyy) / 2, gxy)
        bend = half - apart
        rows, columns = np.nonzero(-bend > least * _BLACK * (self.pixel_mm / _RIDGE_MM) ** 2)
        bent = bend[rows, columns]
        turn = np.arctan2(2 * gxy[rows, columns], gxx[rows, columns] - gyy[rows, columns]) / 2 + np.pi / 2
        nx, ny = np.cos(turn), np.sin(turn)
        off = -(gx[rows, columns] * nx + gy[rows, columns] * ny) / bent
        on = (np.abs(off * nx) <= 0.7) & (np.abs(off * ny) <= 0.7)
        x, y = (columns + off * nx)[on], (rows + off * ny)[on]
        points = np.stack([(x + 0.5) * self.pixel_mm, self.height - (y + 0.5) * self.pixel_mm], axis=1)
        return Ridges(points.astype(float), (-bent[on] / _BLACK * (_RIDGE_MM / self.pixel_mm) ** 2).astype(float))


#: How much the evened picture bends across a black line about as wide as _RIDGE_MM says (in units of that width).
_BLACK = 0.3


def ink_on(flattened: Flattened) -> Ink:
    """The ink on a flat picture. Marker sheets count as bare paper."""
    import cv2

    area = flattened.area
    grey = flattened.flat if flattened.flat.ndim == 2 else cv2.cvtColor(flattened.flat, cv2.COLOR_BGR2GRAY)
    light = flattened.tone.curve()[grey]
    height = len(light) * area.pixel_mm
    many = max(1, int(_FINEST_MM / area.pixel_mm))
    if many > 1:
        rows, columns = light.shape[0] // many, light.shape[1] // many
        light = cv2.resize(light[: rows * many, : columns * many], (columns, rows), interpolation=cv2.INTER_AREA)
    pixel = many * area.pixel_mm
    rows, columns = light.shape
    light = cv2.GaussianBlur(light, (0, 0), _EVENED_MM / pixel)
    coarse = (max(1, round(columns * pixel / _COARSE_MM)), max(1, round(rows * pixel / _COARSE_MM)))
    paper = cv2.resize(light, coarse, interpolation=cv2.INTER_AREA)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (round(_PAPER_MM / _COARSE_MM) | 1,) * 2)
    paper = cv2.resize(cv2.morphologyEx(paper, cv2.MORPH_CLOSE, kernel), (columns, rows))
    dark = np.clip((paper - light) / np.maximum(paper, 1e-3), 0.0, 1.0)
    for corners in flattened.sheets:
        dark = cv2.fillPoly(dark, [pixels_of(corners, area, pixel)], 0.0)
    return Ink(np.asarray(dark, np.float32), pixel, height)
