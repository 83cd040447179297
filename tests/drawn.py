"""The canon's pieces with their allowances, recorded and laid on sheets, for tests of drawing and of files."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import shapely

from geometry.allowances import cut_piece
from geometry.arranging import arrange
from geometry.drawing import Drawing, record
from geometry.garments import Garment
from geometry.lines import arc, straight
from geometry.motions import FloatArray
from geometry.pieces import (
    Cloth,
    Cutting,
    InnerDart,
    Layout,
    Line,
    LineKind,
    Mark,
    MarkKind,
    Notch,
    NotchStyle,
    Piece,
    Place,
)
from geometry.sheets import Sheet, SheetSettings, beside
from geometry.stages import BlendedPiece, CutPiece
from tests import canon

CUT_TEXTS = (Cutting(Cloth.SELF, Layout.ON_FOLD), Cutting(Cloth.INTERFACING, Layout.SINGLE, 2))


def everything() -> Piece:
    """The sleeve with every kind of mark on it."""
    given = canon.sleeve()
    return replace(
        given,
        name="Sleeve",
        size="12",
        cutting=(Cutting(Cloth.SELF, Layout.PAIR),),
        notches=(
            Notch("cap.top", "shoulder notch", Place("cap", 0, 2.0)),
            Notch("cap.front", "front notch", Place("cap", 0, 0.6), 1, NotchStyle.V_OUT),
            Notch("cap.back", "back notch", Place("cap", 0, 3.4), 2, NotchStyle.LINE),
        ),
        marks=(Mark("dot", "pleat dot", MarkKind.DOT, (40.0, 480.0)),),
        inner_darts=(InnerDart("elbow", "elbow dart", ((-60, 330), (-60, 230)), ((-66, 280), (-54, 280))),),
        lines=(
            *given.lines,
            Line("stretch", "greatest stretch", LineKind.STRETCH, straight((30, 300), (110, 300))),
            Line("placket", "placket", LineKind.PLACEMENT, straight((-70, 0), (-70, 90))),
            Line("turn", "cuff turn line", LineKind.TURN, straight((-114, 40), (114, 40))),
            Line("patch", "elbow patch", LineKind.OTHER, arc((60, 220), 40, 0, 180)),
        ),
    )


def pieces() -> tuple[Piece, ...]:
    front = replace(canon.front(with_dart=True), name="Front", size="12", cutting=CUT_TEXTS)
    back = replace(canon.back(), name="Back", size="12", cutting=CUT_TEXTS[:1])
    return (front, back, everything(), replace(canon.leaning(), name="Skirt panel", cutting=CUT_TEXTS[:1]))


def cut(piece: Piece) -> CutPiece:
    """One piece with its allowances, sewn to nothing."""
    return cut_piece(Garment("alone", "alone", (piece,)), BlendedPiece(piece))


@cache
def cuts() -> tuple[CutPiece, ...]:
    garment = Garment("wardrobe", "Wardrobe room", pieces())
    return tuple(cut_piece(garment, BlendedPiece(piece)) for piece in garment.pieces)


@cache
def drawings() -> tuple[Drawing, ...]:
    return tuple(record(cut) for cut in cuts())


@cache
def side_by_side() -> Sheet:
    return beside(drawings())


@cache
def arranged(settings: SheetSettings) -> Sheet:
    return arrange(drawings(), settings)


def apart(one: FloatArray, other: FloatArray) -> float:
    """The greatest distance in mm between two closed lines of points (m, 2), both ways, looked at every 0.5 mm."""
    rings = [shapely.LinearRing(points) for points in (one, other)]
    return max(_farthest(rings[0], rings[1]), _farthest(rings[1], rings[0]))


def _farthest(ring: shapely.LinearRing, other: shapely.LinearRing) -> float:
    corners = shapely.get_coordinates(other)
    segments = shapely.STRtree(shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1)))
    looked_at = shapely.points(shapely.get_coordinates(shapely.segmentize(ring, 0.5)))
    return float(segments.query_nearest(looked_at, return_distance=True, all_matches=False)[1].max())
