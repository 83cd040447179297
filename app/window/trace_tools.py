"""What the mouse does in the picture besides looking: taking places of the outline elsewhere, and setting points."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.tracing.moved_by_hand import Move, moved_line, sides_of
from app.window.palette import Palette
from app.window.piece_drawing import path_of
from app.window.view import View
from geometry.errors import PatternError
from geometry.lines import Chain
from geometry.motions import Motion, Point

#: A handle or point is taken hold of this near to it; handles stand about so far apart (pixels).
NEAR_PX, _APART_PX = 12.0, 70.0
_HANDLE_PX, _POINT_PX = 5.0, 4.5


class Tool:
    """Gestures in mm of the picture; ``changed`` is called when it should be painted anew or says something else."""

    #: What ends it with what is there.
    end_words = "Close the outline"

    def __init__(self) -> None:
        self.changed: Callable[[], None] = lambda: None

    @property
    def says(self) -> str:
        """What to do now, in a sentence."""
        raise NotImplementedError

    @property
    def is_wrong(self) -> bool:
        """Whether what it says is that something does not fit."""
        return False

    @property
    def may_end(self) -> bool:
        """Whether it may be ended with what is there."""
        return False

    def press(self, at: Point, view: View) -> bool:
        """True where something is taken hold of there."""
        raise NotImplementedError

    def drag(self, at: Point) -> None:
        """Take what is held to another place."""

    def drop(self) -> None:
        """Let go."""

    def click(self, at: Point, view: View) -> bool:
        """A click on nothing that can be held; True where it is of use here."""
        return False

    def back(self) -> bool:
        """Take the last step back; False where there is none."""
        return False

    def end(self) -> None:
        """Go on with what is there."""

    def paint(self, painter: QPainter, view: View, palette: Palette) -> None:
        raise NotImplementedError


class OutlineTool(Tool):
    """Handles on closed outlines (mm), at ``corners`` that were set by hand too; a handle that was dragged is handed to
    ``moved``."""

    def __init__(self, lines: Sequence[Chain], moved: Callable[[Move], None], corners: Sequence[Point] = ()) -> None:
        super().__init__()
        self._lines, self._moved = tuple(lines), moved
        self._corners: list[list[Point]] = [[] for _ in self._lines]
        for corner in corners:
            away = [line.nearest(corner)[1] for line in self._lines]
            self._corners[away.index(min(away))].append(corner)
        self._handles: tuple[float, list[list[Point]]] = (0.0, [])
        self._held: tuple[int, Move] | None = None
        self._shown: Chain | None = None
        self._wrong = ""

    @property
    def is_wrong(self) -> bool:
        return bool(self._wrong)

    @property
    def says(self) -> str:
        if self._wrong:
            return self._wrong
        if self._held is not None and self._held[1].to != self._held[1].start:
            by = math.dist(self._held[1].start, self._held[1].to)
            return f"Moved by {by:.1f} mm; the line gives for {2 * self._held[1].reach:.0f} mm."
        return "Drag a handle to where the edge is; look closer to move less of it. A corner takes both sides along."

    def handles(self, view: View) -> list[list[Point]]:
        """Places on each line to take hold of: its corners, and places between them so far apart on the screen."""
        if self._handles[0] != view.scale:
            reach = _APART_PX / view.scale
            pairs = zip(self._lines, self._corners, strict=True)
            self._handles = (view.scale, [[*_spread(line, reach), *corners] for line, corners in pairs])
        return self._handles[1]

    def press(self, at: Point, view: View) -> bool:
        near = [
            (math.dist(at, handle), index, handle)
            for index, handles in enumerate(self.handles(view))
            for handle in handles
        ]
        best = min(near, default=None)
        if best is None or best[0] * view.scale > NEAR_PX:
            return False
        self._held = (best[1], Move(best[2], best[2], _APART_PX / view.scale))
        return True

    def drag(self, at: Point) -> None:
        if self._held is None:
            return
        index, move = self._held
        self._held = (index, Move(move.start, at, move.reach))
        try:
            self._shown, self._wrong = moved_line(self._lines[index], self._held[1]), ""
        except PatternError as error:
            self._shown, self._wrong = None, error.says
        self.changed()

    def drop(self) -> None:
        held, self._held = self._held, None
        wrong, self._wrong, self._shown = self._wrong, "", None
        self.changed()
        if held is not None and not wrong and held[1].to != held[1].start:
            self._moved(held[1])

    def paint(self, painter: QPainter, view: View, palette: Palette) -> None:
        if self._shown is not None:
            painter.setTransform(view.transform(Motion()))
            for colour, width in ((palette.paper, 4.6), (palette.paper_change, 2.4)):
                painter.setPen(pen_of(colour, width))
                painter.drawPath(path_of(self._shown))
            painter.resetTransform()
        painter.setPen(pen_of(palette.paper_change, 1.6))
        painter.setBrush(QColor(palette.paper))
        for handles in self.handles(view):
            for handle in handles:
                at = view.at(handle)
                painter.drawRect(QRectF(at.x() - _HANDLE_PX, at.y() - _HANDLE_PX, 2 * _HANDLE_PX, 2 * _HANDLE_PX))
        if self._held is not None:
            painter.setBrush(QColor(palette.paper_change))
            painter.drawEllipse(view.at(self._held[1].to), _HANDLE_PX, _HANDLE_PX)
        painter.setBrush(Qt.BrushStyle.NoBrush)


class PointsTool(Tool):
    """Points set one after another, each with a sentence of its own; ``done`` is handed them (mm of the picture).

    With as many sentences as points they are done by themselves; else the last sentence stands for all further ones,
    and clicking the first point again or ending it closes the ring, from three points on.
    """

    def __init__(
        self, sentences: Sequence[str], done: Callable[[list[Point]], None], *, endless: bool = False,
        points: Sequence[Point] = (),
    ) -> None:  # fmt: skip
        super().__init__()
        self._sentences, self._done, self._endless = tuple(sentences), done, endless
        self.points: list[Point] = list(points)
        self._held: int | None = None
        self._touched = False

    @property
    def says(self) -> str:
        return self._sentences[min(len(self.points), len(self._sentences) - 1)]

    @property
    def may_end(self) -> bool:
        return self._endless and len(self.points) >= 3

    def press(self, at: Point, view: View) -> bool:
        near = [(math.dist(at, point), index) for index, point in enumerate(self.points)]
        best = min(near, default=None)
        if best is None or best[0] * view.scale > NEAR_PX:
            return False
        self._held, self._touched = best[1], False
        return True

    def drag(self, at: Point) -> None:
        if self._held is not None:
            self.points[self._held] = at
            self._touched = True
            self.changed()

    def drop(self) -> None:
        held, self._held = self._held, None
        if held == 0 and not self._touched and self.may_end:
            self.end()
        self.changed()

    def click(self, at: Point, view: View) -> bool:
        self.points.append(at)
        self.changed()
        if not self._endless and len(self.points) == len(self._sentences):
            self.end()
        return True

    def back(self) -> bool:
        if not self.points:
            return False
        self.points.pop()
        self.changed()
        return True

    def end(self) -> None:
        self._done(list(self.points))

    def paint(self, painter: QPainter, view: View, palette: Palette) -> None:
        pixels = [view.at(point) for point in self.points]
        for colour, width in ((palette.paper, 4.0), (palette.paper_change, 2.0)):
            painter.setPen(pen_of(colour, width))
            painter.drawPolyline(pixels)
        for number, at in enumerate(pixels, 1):
            painter.setPen(pen_of(palette.paper, 1.5))
            painter.setBrush(QColor(palette.paper_change))
            painter.drawEllipse(at, _POINT_PX, _POINT_PX)
            if not self._endless:
                paint_number(painter, at, number, palette)
        painter.setBrush(Qt.BrushStyle.NoBrush)


def paint_number(painter: QPainter, at: QPointF, number: int, palette: Palette) -> None:
    """A number beside a point."""
    room = QRectF(at.x() + 7, at.y() - 22, 18, 18)
    painter.fillRect(room, QColor(palette.paper))
    painter.setPen(QColor(palette.paper_change))
    painter.drawText(room, Qt.AlignmentFlag.AlignCenter, str(number))


def _spread(line: Chain, apart: float) -> list[Point]:
    """Corners of a closed line, and places between them evenly about so far apart (mm)."""
    found = []
    for side in sides_of(line, line.start):
        count = max(1, round(side.length / apart))
        found += [side.point(side.at_length(side.length * k / count)) for k in range(count)]
    return found


def pen_of(colour: str, width: float) -> QPen:
    pen = QPen(QColor(colour), width)
    pen.setCosmetic(True)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    return pen
