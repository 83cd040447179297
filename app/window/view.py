"""From millimetres on the table to pixels on the screen and back: one scale, one place, the same for both pieces."""

from __future__ import annotations

from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF
from PySide6.QtGui import QTransform

from geometry.motions import Motion, Point

#: Pixels for each mm, from a whole garment on a small screen to a nick in full view.
LEAST_SCALE = 0.05
MOST_SCALE = 60.0

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class View:
    """``scale`` pixels for each mm; the table's origin lies at pixel (``x``, ``y``); pixels run down, mm run up."""

    scale: float = 1.0
    x: float = 0.0
    y: float = 0.0

    def px(self, point: Point) -> Point:
        """The pixel of a point in mm."""
        return (self.x + self.scale * point[0], self.y - self.scale * point[1])

    def mm(self, pixel: Point) -> Point:
        """The point in mm under a pixel."""
        return ((pixel[0] - self.x) / self.scale, (self.y - pixel[1]) / self.scale)

    def at(self, point: Point) -> QPointF:
        return QPointF(*self.px(point))

    def zoomed(self, factor: float, about: Point) -> View:
        """Larger or smaller about a pixel, which keeps its place."""
        scale = min(max(self.scale * factor, LEAST_SCALE), MOST_SCALE)
        factor = scale / self.scale
        return View(scale, about[0] + (self.x - about[0]) * factor, about[1] + (self.y - about[1]) * factor)

    def panned(self, dx: float, dy: float) -> View:
        """Pushed by so many pixels."""
        return replace(self, x=self.x + dx, y=self.y + dy)

    def transform(self, motion: Motion) -> QTransform:
        """For a painter that draws in the mm of a piece laid on the table by a motion."""
        s = self.scale
        return QTransform(
            s * motion.a, -s * motion.b, s * motion.c, -s * motion.d, self.x + s * motion.e, self.y - s * motion.f
        )


def fitted(box: Box, area: Box) -> View:
    """The view that shows a box (x0, y0, x1, y1 in mm) as large as an area (in pixels) allows, in its middle."""
    x0, y0, x1, y1 = box
    left, top, right, bottom = area
    scale = min((right - left) / max(x1 - x0, 1.0), (bottom - top) / max(y1 - y0, 1.0))
    scale = min(max(scale, LEAST_SCALE), MOST_SCALE)
    return View(
        scale, (left + right) / 2 - scale * (x0 + x1) / 2, (top + bottom) / 2 + scale * (y0 + y1) / 2
    )
