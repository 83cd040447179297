"""A pen that makes painter's paths of a recorded drawing: what is shown of a print before it is printed.

It takes the same calls as the pages do, with the same looks, so that what is seen is what is printed.
"""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QFont, QPainter, QPainterPath, QPen, QTransform

from app.window.thumbnails import path_of
from geometry.drawing import LOOKS, Drawing, Look, Role, Words
from geometry.lines import Chain
from geometry.motions import Point
from geometry.pens import Pen

#: Letters are made so large (pixels to the em) and then brought to size, so that they keep their widths.
_LETTER_PX = 100
#: No line is thinner on the screen (pixels).
LEAST_PX = 0.8


class PathPen(Pen):
    """Collects one path a role, and one for lettering; y turned over for the screen, in mm."""

    def __init__(self) -> None:
        #: By role, and by name where it is filled: what has one name is filled together.
        self.lines: dict[tuple[Role, str], QPainterPath] = {}
        self.letters = QPainterPath()

    def begin(self, piece_id: str, name: str) -> None:
        pass

    def end(self) -> None:
        pass

    def line(self, role: Role, chain: Chain, name: str = "") -> None:
        self._add(role, path_of(chain), name)

    def closed(self, role: Role, chain: Chain, name: str = "") -> None:
        path = path_of(chain)
        path.closeSubpath()
        self._add(role, path, name)

    def _add(self, role: Role, path: QPainterPath, name: str) -> None:
        self.lines.setdefault((role, name if LOOKS[role].filled else ""), QPainterPath()).addPath(path)

    def text(
        self, role: Role, at: Point, words: str, height_mm: float, angle_deg: float = 0.0, anchor: str = "middle"
    ) -> None:
        said = Words(role, at, words, height_mm, angle_deg, anchor)
        font = QFont("DejaVu Sans")
        font.setPixelSize(_LETTER_PX)
        font.setBold(said.bold)
        path = QPainterPath()
        path.addText(QPointF(0.0, 0.0), font, words)
        size = said.size_mm / _LETTER_PX
        x, y = said.base
        self.letters.addPath(QTransform().translate(x, -y).rotate(-angle_deg).scale(size, size).map(path))

    def looks(self) -> Iterator[tuple[Look, QPainterPath]]:
        """The lines in the order in which they are printed."""
        for role in Role:
            yield from ((LOOKS[role], path) for (of, _), path in self.lines.items() if of is role)


def pictured(drawing: Drawing) -> PathPen:
    """The paths of a recorded drawing."""
    pen = PathPen()
    drawing.draw(pen)
    return pen


def paint(painter: QPainter, paths: PathPen, scale: float) -> None:
    """Paint in a frame of mm at ``scale`` pixels a mm: widths and dashes as on paper, but never too thin to see."""
    for look, path in paths.looks():
        grey = QColor.fromRgbF(look.grey, look.grey, look.grey)
        if look.filled:
            # Inside an odd number of its outlines, as on paper.
            painter.fillPath(path, grey)
            continue
        width = max(look.width, LEAST_PX / scale)
        pen = QPen(grey, width)
        if look.dashes:
            pen.setDashPattern([dash / width for dash in look.dashes])
        painter.strokePath(path, pen)
    painter.fillPath(paths.letters, QColor("#000000"))
