"""Two pictures of one piece laid together on marks that are seen in both: one flat picture, as if taken at once."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from app.photo.edges import Picture
from app.photo.flattening import MOST_PIXELS, Area
from app.photo.known_sizes import flat_view, laid_together
from app.photo.photographs import Flattened
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.motions import FloatArray, Motion

#: How well a mark is set by hand in each picture (pixels) (common practice, no source).
SET_PX = 1.0
#: That counts as so many coordinates beside what is left between the marks themselves (common practice, no source).
_USUAL_COUNTS = 4
#: What drawing a picture anew between pixels adds to its blur (pixels), a triangle's spread twice; how unsure that is.
_DRAWN_PX, _DRAWN_UNSURE = math.sqrt(2 / 6), 0.15


def together(first: Flattened, second: Flattened, marks: FloatArray, others: FloatArray) -> Flattened:
    """One flat picture of both: ``marks`` (n, 2) in pixels of the first picture, ``others`` of the second, the same
    marks in the same order. Raises PatternError when they do not fit."""
    here, there = first.view.table(marks), second.view.table(others)
    motion, left = laid_together(here, there)
    apart = float(np.sqrt(((here - here.mean(axis=0)) ** 2).sum(axis=1).mean()))
    usual = SET_PX * np.hypot(first.area.pixel_mm, second.area.pixel_mm)
    # Two coordinates a mark, less the three that laying together takes up, tell how well these marks were set.
    told = 2 * len(here) - 3
    square = (_USUAL_COUNTS * usual**2 + len(here) * left**2) / (_USUAL_COUNTS + told)
    set_mm = float(np.sqrt(square / len(here)))
    if apart < 10:
        raise PatternError("The shared marks lie too close together; set them as far apart as both pictures show.")
    corners = np.concatenate([_corners(first.area), motion.points(_corners(second.area))])
    low, top = corners.min(axis=0), corners.max(axis=0)
    area = Area(float(top[0] - low[0]), float(top[1] - low[1]), min(first.area.pixel_mm, second.area.pixel_mm))
    if area.shape[0] * area.shape[1] > 2 * MOST_PIXELS:
        raise PatternError("The two pictures together are too large; save or scan them at a lower resolution.")
    slide = Motion(e=float(-low[0]), f=float(-low[1]))
    laid = motion.then(slide)
    one, depth = _placed(first, slide, area)
    other, other_depth = _placed(second, laid, area)
    picture = np.asarray(np.where((depth >= other_depth)[..., None], one, other), dtype=np.uint8)
    del one, other

    def shape_error(points: FloatArray) -> float:
        parts = [
            (flattened.shape_error(own[inside]), points[inside])
            for flattened, way in ((first, slide), (second, laid))
            for own in (way.undone().points(points),)
            for inside in (((own >= 0) & (own <= [flattened.area.width, flattened.area.height])).all(axis=1),)
            if inside.sum() > 2
        ]
        worst = max((part for part, _ in parts), default=0.0)
        middle = slide.points(here.mean(axis=0))
        lever = float(np.sqrt(((points - middle) ** 2).sum(axis=1).mean())) / apart
        return float(np.hypot(worst, set_mm * np.hypot(1.0, lever)))

    says = f"The two pictures were laid together on {len(here)} marks, which then lie {left:.2f} mm apart (rms)."
    return Flattened(
        picture,
        picture,
        flat_view(picture, area),
        area,
        # Drawn anew twice, each time straight between pixels, a picture is a little more blurred.
        replace(first.tone, blur_px=math.hypot(first.tone.blur_px, _DRAWN_PX), blur_unsure=_DRAWN_UNSURE),
        shape_error,
        f"{_sources(first.size_source, second.size_source)}, joined on {len(here)} marks",
        (*(slide.points(one) for one in first.sheets), *(laid.points(one) for one in second.sheets)),
        np.concatenate([slide.points(first.whites), laid.points(second.whites)]),
        (*first.findings, *second.findings, Finding("pictures-joined", Level.NOTICE, says)),
    )


def _sources(first: str, second: str) -> str:
    return f"{first} of both" if first == second else f"{first}, and {second}"


def _corners(area: Area) -> FloatArray:
    return np.array([(0.0, 0.0), (area.width, 0.0), (area.width, area.height), (0.0, area.height)])


def _placed(flattened: Flattened, laid: Motion, area: Area) -> tuple[Picture, Picture]:
    """A flat picture drawn where it lies in the whole, and how deep inside it every pixel is (0 outside)."""
    import cv2

    pixels = np.array([(0.0, 0.0), (100.0, 0.0), (0.0, 100.0)])
    there = area.pixels(laid.points(flattened.area.points(pixels)))
    across = cv2.getAffineTransform(pixels.astype(np.float32), there.astype(np.float32))
    rows, columns = area.shape
    flat = flattened.flat if flattened.flat.ndim == 3 else cv2.cvtColor(flattened.flat, cv2.COLOR_GRAY2BGR)
    drawn = cv2.warpAffine(
        flat, across, (columns, rows), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=(128,) * 3
    )
    reached = np.full(flat.shape[:2], 255, np.uint8)
    if flattened.picture is not flattened.flat:
        grey = (flat == 128).all(axis=2).astype(np.uint8)
        reached[cv2.morphologyEx(grey, cv2.MORPH_OPEN, np.ones((9, 9), np.uint8)) > 0] = 0
    reached[[0, -1]] = reached[:, [0, -1]] = 0
    inside = cv2.warpAffine(reached, across, (columns, rows), flags=cv2.INTER_NEAREST)
    deep = cv2.distanceTransform(inside, cv2.DIST_L2, 3)
    return np.asarray(drawn, dtype=np.uint8), np.asarray(np.clip(deep / 8, 0, 255), dtype=np.uint8)
