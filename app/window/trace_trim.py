"""The frame on which the pages of a PDF are trimmed, set by hand on one of them: by two corners that are clicked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.tracing.answering import for_reading
from app.tracing.found import Box, Found
from app.tracing.pdf_tiles import APART, trim_words
from app.window.palette import Palette
from app.window.trace_tools import NEAR_PX, PointsTool, pen_of
from app.window.view import View
from geometry.motions import FloatArray, Point

if TYPE_CHECKING:
    from app.window.trace_page import TracePage

#: A click is meant for a whole half millimetre within so many pixels.
_SURE_PX = 1.5
_SAYS = (
    "Click one corner of the frame on which the pages are trimmed, on any page; it snaps to a drawn line’s end.",
    "Click the opposite corner of the frame on the same page.",
)


class FrameTool(PointsTool):
    """Two opposite corners of a frame on one of the ``papers``, each on the end of a drawn line where one is near, else
    on whole half millimetres as far as the screen shows them; ``done`` as for points."""

    def __init__(self, papers: Sequence[Box], ends: FloatArray, done: Callable[[list[Point]], None]) -> None:
        super().__init__(_SAYS, done)
        self._papers, self._ends = tuple(papers), ends

    def click(self, at: Point, view: View) -> bool:
        return super().click(self._snapped(at, view.scale), view)

    def _snapped(self, at: Point, scale: float) -> Point:
        if len(self._ends):
            away = np.hypot(*(self._ends - at).T)
            best = int(away.argmin())
            if away[best] * scale <= NEAR_PX:
                return (float(self._ends[best, 0]), float(self._ends[best, 1]))
        paper = next((one for one in self._papers if _holds(one, at)), None)
        if paper is None:
            return at
        return _whole(at[0], paper[0], paper[2], scale), _whole(at[1], paper[1], paper[3], scale)

    def paint(self, painter: QPainter, view: View, palette: Palette) -> None:
        for point in self.points:
            for colour, width in ((palette.paper, 4.0), (palette.paper_change, 2.0)):
                painter.setPen(pen_of(colour, width))
                at = view.at(point)
                painter.drawRect(QRectF(at.x() - 4, at.y() - 4, 8, 8))


class TrimFrame:
    """Shows the pages of the file that is shown each by itself, and lets the frame be set on one of them."""

    def __init__(self, page: TracePage) -> None:
        self._page = page
        self._shows = False
        page.side.trimming.connect(self.begin)
        page.side.left.connect(self._leave)

    def begin(self) -> None:
        """Have the pages read apart, and show them."""
        self._page.look({**for_reading(self._page.answers), "grid": APART}, self._show)

    def _show(self, found: Found) -> None:
        page = self._page
        page.side.take_up(None)
        page.picture.show_found(found, (), None)
        nodes = [line.chain.cubics[:, (0, 3)].reshape(-1, 2) for line in found.lines]
        ends = np.concatenate(nodes) if nodes else np.zeros((0, 2))
        papers = [one.paper for one in found.pages]
        page.side.take_up(FrameTool(papers, ends, lambda points: self._take(found, points)))
        page.picture.fit()
        self._shows = True

    def _take(self, found: Found, points: list[Point]) -> None:
        page = self._page
        paper = next((one.paper for one in found.pages if all(_holds(one.paper, point) for point in points)), None)
        page.side.take_up(None)
        if paper is None:
            page.notice.say("The two corners should lie on one page; set the trim frame again.", wrong=True)
            return
        (x0, y0), (x1, y1) = points
        frame = (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
        apart = page.answers.get("grid") == APART
        page.change({"trim": trim_words(paper, frame), **({"grid": None} if apart else {})})

    def _leave(self) -> None:
        """Show the file again as it stands."""
        if self._shows:
            self._shows = False
            self._page.show_again()


def _holds(box: Box, point: Point) -> bool:
    return box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]


def _whole(at: float, low: float, high: float, scale: float) -> float:
    """A place between two edges of the paper, a whole half millimetre from the nearer one if that may be meant."""
    edge, way = (low, 1.0) if at - low < high - at else (high, -1.0)
    margin = round(2 * abs(at - edge)) / 2
    return edge + way * margin if abs(abs(at - edge) - margin) * scale <= _SURE_PX else at
