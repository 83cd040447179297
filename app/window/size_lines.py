"""The other sizes of a nest on the table: light dashed outlines, each with its own dash and its name on the line."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath

from app.scene import SizeLine
from app.window.mat import small
from app.window.palette import Palette
from app.window.piece_drawing import path_of
from app.window.sheet_painting import Sheet, pen
from app.window.view import View
from geometry.motions import Motion, Point
from geometry.pieces import Edge, EdgeKind, Piece

#: Dashes and gaps (pixels), by the place of a size in its nest; from the longest dash to dots and back with dots.
DASHES: tuple[tuple[float, ...], ...] = (
    (14, 3),
    (9, 3),
    (5, 3),
    (2, 3),
    (12, 3, 2, 3),
    (7, 3, 2, 3),
    (12, 3, 2, 3, 2, 3),
    (7, 3, 2, 3, 2, 3),
)
WIDTH_PX = 1.1
#: The first name stands this share of the seam above its foot, the others in steps so that none lies on another.
FIRST_AT, STEP_LINES = 0.14, 1.35


def paint_size_lines(
    painter: QPainter, view: View, sizes: Sequence[SizeLine], sheet: Sheet, palette: Palette, *, on_paper: bool
) -> None:
    """The outlines of the other sizes.

    They are painted twice, before the paper in a colour for the mat and after it, on the paper alone, in one for that.
    """
    if not sizes:
        return
    paths = [(_outline(one.piece), DASHES[one.rank % len(DASHES)]) for one in sizes]
    painter.save()
    if on_paper:
        painter.setClipPath(_paper(view, sheet))
    for motion in sheet.motions:
        painter.setTransform(view.transform(motion))
        for path, dashes in paths:
            painter.strokePath(path, pen(palette.paper_ghost if on_paper else palette.mat_ghost, WIDTH_PX, dashes))
    painter.restore()


def paint_size_names(
    painter: QPainter, view: View, sizes: Sequence[SizeLine], motion: Motion, palette: Palette
) -> None:
    """The name of each other size on its line, in steps up the side."""
    font = painter.font()
    painter.setFont(small(font))
    metrics = QFontMetricsF(painter.font())
    for number, one in enumerate(sizes):
        at = view.at(motion.point(name_place(one.piece, number, metrics.height() / view.scale)))
        wide = metrics.horizontalAdvance(one.name) + 6.0
        box = QRectF(at.x() - wide / 2, at.y() - metrics.height() / 2, wide, metrics.height())
        painter.setPen(pen(palette.paper_ghost, 1.0))
        painter.setBrush(QColor(palette.paper))
        painter.drawRoundedRect(box, 3.0, 3.0)
        painter.setPen(QColor(palette.paper_quiet))
        painter.drawText(QPointF(box.left() + 3.0, at.y() - metrics.height() / 2 + metrics.ascent()), one.name)
    painter.setFont(font)


def name_place(piece: Piece, number: int, line_mm: float) -> Point:
    """Where the ``number``-th name stands on its outline (mm), ``line_mm`` being the height of a line of letters."""
    edge = _named_edge(piece)
    length = edge.chain.length
    along = min(FIRST_AT * length + number * STEP_LINES * line_mm, 0.9 * length)
    return edge.chain.point(edge.chain.at_length(along))


def _named_edge(piece: Piece) -> Edge:
    """The side, on which sizes lie well apart, else the longest edge off the fold."""
    sides = [edge for kind in (EdgeKind.SIDE, EdgeKind.UNDERARM) for edge in piece.edges_of(kind)]
    return (sides or sorted((e for e in piece.edges if not e.on_fold), key=lambda e: -e.length))[0]


def _outline(piece: Piece) -> QPainterPath:
    path = QPainterPath()
    for edge in piece.edges:
        if not edge.on_fold:
            path.addPath(path_of(edge.chain))
    return path


def _paper(view: View, sheet: Sheet) -> QPainterPath:
    whole = QPainterPath()
    for motion in sheet.motions:
        whole = whole.united(view.transform(motion).map(sheet.drawing.paper))
    return whole
