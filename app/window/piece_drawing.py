"""A piece as painter paths by role, made through the same calls as the printed one; curves stay curves."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Iterable

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath

from geometry.drawing import Style, draw_piece
from geometry.lines import Chain, flatten
from geometry.motions import FloatArray, Point
from geometry.pens import Pen, Role
from geometry.pieces import Piece
from geometry.sameness import same
from geometry.stages import CutPiece

#: Lettering on the table is set in screen sizes, so the paper's own is left out.
_WITHOUT_LETTERING = Style(lettering=None)
#: A segment of the cutting line this near the fold's line lies on the fold; edges this near are the same (mm).
_SAME_MM = 0.01
#: Where points will do for an outline they lie this close to the curve (pixels).
COARSE_PX = 0.8


def path_of(chain: Chain, closed: bool = False) -> QPainterPath:
    """A chain as a path in mm: each cubic one cubic, each straight segment one line."""
    path = QPainterPath(QPointF(*chain.start))
    for cubic, is_line in zip(chain.cubics.tolist(), chain.straight.tolist(), strict=True):
        if is_line:
            path.lineTo(*cubic[3])
        else:
            path.cubicTo(*cubic[1], *cubic[2], *cubic[3])
    if closed:
        path.closeSubpath()
    return path


def polygon_path(points: FloatArray) -> QPainterPath:
    """Points (m, 2) as one closed path."""
    path = QPainterPath(QPointF(*points[0]))
    for x, y in points[1:].tolist():
        path.lineTo(x, y)
    path.closeSubpath()
    return path


def polyline_path(points: FloatArray) -> QPainterPath:
    """Points (m, 2) as one open path."""
    path = QPainterPath(QPointF(*points[0]))
    for x, y in points[1:].tolist():
        path.lineTo(x, y)
    return path


class PathPen(Pen):
    """A pen that gathers one painter path for each role."""

    def __init__(self) -> None:
        self.paths: dict[Role, QPainterPath] = {}

    def begin(self, piece_id: str, name: str) -> None:
        self.paths = {}

    def end(self) -> None:
        """Nothing is left to do: the paths stand in ``paths``."""

    def line(self, role: Role, chain: Chain, name: str = "") -> None:
        self.paths.setdefault(role, QPainterPath()).addPath(path_of(chain))

    def closed(self, role: Role, chain: Chain, name: str = "") -> None:
        self.paths.setdefault(role, QPainterPath()).addPath(path_of(chain, closed=True))

    def text(
        self, role: Role, at: Point, words: str, height_mm: float, angle_deg: float = 0.0, anchor: str = "middle"
    ) -> None:
        """Lettering is set by the table in screen sizes, so that it can be read at every zoom."""


class PieceDrawing:
    """The paths of one piece in mm.

    ``paths`` by role; ``paper`` the cut-out shape; ``stitch`` and ``cutting`` the two lines without their stretch on
    the fold, which is ``fold``; ``cutting`` is None where there is no cutting line.
    """

    def __init__(self, cut: CutPiece) -> None:
        pen = PathPen()
        draw_piece(pen, cut, style=_WITHOUT_LETTERING)
        stitch, cutting = pen.paths.pop(Role.STITCH), pen.paths.pop(Role.CUT, None)
        self.cut = cut
        self._points: dict[tuple[bool, int], FloatArray] = {}
        self.paths = pen.paths
        self.paper = cutting if cutting is not None else stitch
        self.fold: QPainterPath | None = None
        self.stitch, self.cutting = stitch, cutting
        fold = cut.piece.fold
        if fold is not None:
            self.fold = path_of(fold.chain)
            self.stitch = _lines(edge.chain for edge in cut.piece.edges if not edge.on_fold)
            self.cutting = None if cut.cutting is None else _beside(cut.cutting, fold.start, fold.end)

    def points(self, scale: float, *, cut: bool) -> FloatArray:
        """The paper's outline (m, 2) in mm when ``cut``, else the stitching line.

        Less than a pixel from the curve on a screen of ``scale`` pixels for each mm.
        """
        zoom = math.ceil(math.log2(scale))
        key = (cut and self.cut.cutting is not None, zoom)
        if key not in self._points:
            chains = [self.cut.cutting] if key[0] else [edge.chain for edge in self.cut.piece.edges]
            flat = [flatten(chain, COARSE_PX / 2**zoom)[0][:-1] for chain in chains if chain is not None]
            self._points[key] = np.concatenate(flat)
        return self._points[key]


def _lines(chains: Iterable[Chain]) -> QPainterPath:
    path = QPainterPath()
    for chain in chains:
        path.addPath(path_of(chain))
    return path


def _beside(chain: Chain, start: Point, end: Point) -> QPainterPath:
    """A line without the segments that lie on the straight line from start to end."""
    along = np.array([end[0] - start[0], end[1] - start[1]])
    away = (chain.cubics - np.array(start)) @ np.array([-along[1], along[0]]) / np.hypot(*along)
    on = (np.abs(away) < _SAME_MM).all(axis=1)
    kept = [Chain(chain.cubics[i : i + 1], chain.straight[i : i + 1]) for i in np.flatnonzero(~on)]
    return _lines(kept)


class Drawings:
    """Drawings kept by the piece they were made from, the oldest given up first."""

    def __init__(self, most: int = 24) -> None:
        self._kept: OrderedDict[int, PieceDrawing] = OrderedDict()
        self._outlines: OrderedDict[tuple[int, int, bool], tuple[Piece, Piece | None, QPainterPath]] = OrderedDict()
        self._most = most

    def of(self, cut: CutPiece) -> PieceDrawing:
        """The drawing of a piece with its allowances."""
        if id(cut) not in self._kept:
            self._kept[id(cut)] = PieceDrawing(cut)
            if len(self._kept) > self._most:
                self._kept.popitem(last=False)
        self._kept.move_to_end(id(cut))
        return self._kept[id(cut)]

    def outline(self, piece: Piece, unlike: Piece | None = None, *, fold: bool = True) -> QPainterPath:
        """The stitching line alone, with or without the fold; with another piece, only the edges not alike on it."""
        key = (id(piece), id(unlike), fold)
        if key not in self._outlines:
            others = {edge.id: edge.chain for edge in unlike.edges} if unlike is not None else {}
            shown = [edge for edge in piece.edges if fold or not edge.on_fold]
            kept = [e.chain for e in shown if e.id not in others or not _alike(e.chain, others[e.id])]
            self._outlines[key] = (piece, unlike, _lines(kept))
            if len(self._outlines) > self._most:
                self._outlines.popitem(last=False)
        self._outlines.move_to_end(key)
        return self._outlines[key][2]


def _alike(one: Chain, other: Chain) -> bool:
    return one is other or same(one.cubics, other.cubics, _SAME_MM)
