"""Hatching told apart by its shape: strips taken out rise to the right, strips put in rise to the left, and where
an edge was blended short strokes stand across it like the teeth of a comb, from the old line to the new one."""

from __future__ import annotations

import numpy as np
from PySide6.QtGui import QPainterPath

from geometry.motions import FloatArray
from geometry.stages import JogBlend
from geometry.strokes import hatching

#: Hatch lines stand at least this far apart on the screen (pixels).
HATCH_PX = 6.0
COMB_PX = 5.0
#: A comb's tooth reaches past both lines, so that it is seen where they lie close (pixels).
TOOTH_PX = 2.5
#: Where the new line lies nearer to the old than this there is no tooth (mm).
LEAST_SLIVER_MM = 0.05


def strip_hatch(outline: FloatArray, added: bool, scale: float) -> QPainterPath:
    """Hatch lines over a strip (m, 2) in mm, for a screen of ``scale`` pixels for each mm."""
    path = QPainterPath()
    for start, end in hatching(outline, spacing=spacing_mm(HATCH_PX, scale), angle_deg=135.0 if added else 45.0):
        path.moveTo(*start)
        path.lineTo(*end)
    return path


def spacing_mm(pixels: float, scale: float) -> float:
    """A spacing in mm that is at least so many pixels wide: 3 mm or half or twice of it, and so on."""
    spacing = 3.0
    while spacing * scale < pixels:
        spacing *= 2
    while spacing * scale >= 2 * pixels:
        spacing /= 2
    return spacing


def sliver_outlines(blend: JogBlend) -> tuple[FloatArray, FloatArray]:
    """The old line, jog included, and the blended line (m, 2), both run the same way."""
    old = np.concatenate([part for part in blend.old_lines if len(part)])
    new = blend.blended
    if len(old) and len(new) and np.hypot(*(old[0] - new[0])) > np.hypot(*(old[-1] - new[0])):
        old = old[::-1]
    return old, new


def sliver_comb(blend: JogBlend, scale: float) -> QPainterPath:
    """Teeth across a blended stretch in mm, one each few pixels, only where the line was moved."""
    path = QPainterPath()
    old, new = sliver_outlines(blend)
    if len(old) < 2 or len(new) < 2:
        return path
    points = _spaced(new, COMB_PX / scale)
    feet = _nearest_on(_spaced(old, 1.0 / scale), points)
    away = points - feet
    size = np.hypot(away[:, 0], away[:, 1])
    shown = size > LEAST_SLIVER_MM
    unit = away[shown] / size[shown, None]
    reach = TOOTH_PX / scale
    for start, end in zip(feet[shown] - reach * unit, points[shown] + reach * unit, strict=True):
        path.moveTo(*start)
        path.lineTo(*end)
    return path


def _spaced(line: FloatArray, step: float) -> FloatArray:
    """Points (k, 2) along a polyline, about ``step`` mm apart."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    wanted = np.linspace(0.0, along[-1], max(3, int(along[-1] / step) + 1))
    return np.stack([np.interp(wanted, along, line[:, 0]), np.interp(wanted, along, line[:, 1])], axis=1)


def _nearest_on(line: FloatArray, points: FloatArray) -> FloatArray:
    """(k, 2) for each point the nearest point of a polyline."""
    start, step = line[:-1], np.diff(line, axis=0)
    size = np.maximum((step**2).sum(axis=1), 1e-18)
    t = np.clip(((points[:, None] - start) * step).sum(axis=2) / size, 0.0, 1.0)
    feet = start + t[..., None] * step
    best = np.argmin(((points[:, None] - feet) ** 2).sum(axis=2), axis=1)
    return np.asarray(feet[np.arange(len(points)), best])
