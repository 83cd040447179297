"""Marks that two pictures both show, clicked on one and then on the other, by which the pictures are laid together."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter

from app.photo.known_sizes import laid_together
from app.window.palette import Palette
from app.window.trace_tools import NEAR_PX, Tool, paint_number, pen_of
from app.window.view import View
from geometry.errors import PatternError
from geometry.motions import Point

#: Two pictures are joined on so many marks at least.
LEAST = 2
#: Marks that lie further apart than this may well be set better (mm).
_BETTER_MM = 0.3
_ARM_PX, _GAP_PX = 11.0, 3.0


class SharedMarks:
    """The marks on both pictures (mm of each, or pixels where ``in_mm`` is False), in the order in which they are
    numbered; ``changed`` is called after every change, ``joined`` when they are to be joined."""

    def __init__(self, names: tuple[str, str], joined: Callable[[SharedMarks], None], *, in_mm: bool) -> None:
        self.names, self._joined, self._in_mm = names, joined, in_mm
        self.points: tuple[list[Point], list[Point]] = ([], [])
        self.changed: Callable[[], None] = lambda: None

    @property
    def says(self) -> str:
        """What to do now, or how well the marks fit."""
        first, second = (len(points) for points in self.points)
        if first != second:
            return f"Click mark {max(first, second)} on “{self.names[first > second]}” too."
        if first < LEAST:
            return (
                "Click a mark that both pictures show, on one and then on the other: a corner, a notch, a cross."
                if first == 0
                else "One mark is set. Click another, as far from it as both pictures show."
            )
        wrong, left = self._fit()
        if wrong:
            return f"{wrong} Drag one, or take the last back with Undo."
        apart = f" Laid together they lie {left:.1f} mm apart." if self._in_mm else ""
        if left > _BETTER_MM:
            apart += " Look closer and drag one to set it better."
        return f"{first} marks are set.{apart} Click another, or join the pictures."

    @property
    def _whole(self) -> bool:
        """Whether as many are set on both as are needed."""
        first, second = (len(points) for points in self.points)
        return first == second >= LEAST

    @property
    def fit(self) -> bool:
        """Whether the pictures may be joined on them."""
        return self._whole and not self._fit()[0]

    @property
    def is_wrong(self) -> bool:
        """Whether they do not fit as they are set."""
        return self._whole and bool(self._fit()[0])

    def _fit(self) -> tuple[str, float]:
        """Why the marks do not fit, or “”, and how far apart they then lie (mm rms)."""
        if not self._in_mm:
            return "", 0.0
        try:
            return "", laid_together(*(np.array(points) for points in self.points))[1]
        except PatternError as error:
            return error.says, 0.0

    def set_mark(self, side: int, at: Point) -> None:
        """Set the next mark on one side; it waits for the other side to come after."""
        if len(self.points[side]) <= len(self.points[1 - side]):
            self.points[side].append(at)
            self.changed()

    def back(self) -> bool:
        """Take the last mark back; False where there is none."""
        side = 0 if len(self.points[0]) > len(self.points[1]) else 1
        if not self.points[side]:
            return False
        self.points[side].pop()
        self.changed()
        return True

    def join(self) -> None:
        if self.fit:
            self._joined(self)


class SharedMarksTool(Tool):
    """The marks on one of the two pictures, ``side`` 0 or 1."""

    end_words = "Join the pictures"

    def __init__(self, marks: SharedMarks, side: int) -> None:
        super().__init__()
        self._marks, self._side = marks, side
        self._held: int | None = None

    @property
    def _points(self) -> list[Point]:
        return self._marks.points[self._side]

    @property
    def says(self) -> str:
        return self._marks.says

    @property
    def is_wrong(self) -> bool:
        return self._marks.is_wrong

    @property
    def may_end(self) -> bool:
        return self._marks.fit

    def press(self, at: Point, view: View) -> bool:
        near = [(math.dist(at, point), index) for index, point in enumerate(self._points)]
        best = min(near, default=None)
        if best is None or best[0] * view.scale > NEAR_PX:
            return False
        self._held = best[1]
        return True

    def drag(self, at: Point) -> None:
        if self._held is not None:
            self._points[self._held] = at
            self._marks.changed()

    def drop(self) -> None:
        self._held = None
        self._marks.changed()

    def click(self, at: Point, view: View) -> bool:
        self._marks.set_mark(self._side, at)
        return True

    def back(self) -> bool:
        return self._marks.back()

    def end(self) -> None:
        self._marks.join()

    def paint(self, painter: QPainter, view: View, palette: Palette) -> None:
        for number, point in enumerate(self._points, 1):
            at = view.at(point)
            for colour, width in ((palette.paper, 4.0), (palette.paper_change, 2.0)):
                painter.setPen(pen_of(colour, width))
                for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
                    painter.drawLine(at + QPointF(dx, dy) * _GAP_PX, at + QPointF(dx, dy) * _ARM_PX)
            paint_number(painter, at, number, palette)


def marks_row(here: Sequence[Point], there: Sequence[Point]) -> str:
    """Marks as they are answered: “x,y=x,y x,y=x,y”, in pixels of either picture as it was taken."""
    return " ".join(f"{a:.3f},{b:.3f}={c:.3f},{d:.3f}" for (a, b), (c, d) in zip(here, there, strict=True))
