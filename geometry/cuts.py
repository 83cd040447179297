"""The cuts that a change made, kept for showing how it is done by hand.

A cut is a piece as it lay, the regions it was cut into with their motions, and the piece laid together again.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

import shapely

from geometry.motions import STAY, Motion, direction
from geometry.pieces import Piece
from geometry.regions import FAR_MM, Band, Patch, Region, Sector


@dataclass(frozen=True, eq=False)
class Cut:
    """One cutting apart: ``piece`` as it lay, its regions in the order they count, ``laid`` what came of it."""

    piece: Piece
    regions: tuple[Region, ...]
    laid: Piece


@dataclass(frozen=True, eq=False)
class Part:
    """A part of the paper: its ``shape`` where it lay before it was cut, and its motion, None where it is taken out."""

    shape: shapely.Polygon
    motion: Motion | None

    @property
    def moved(self) -> shapely.Polygon:
        """The shape where it comes to lie; paper taken out stays where it was."""
        how = self.motion
        if how is None or how.stays:
            return self.shape
        return shapely.transform(self.shape, how.points)


_KEPT: ContextVar[list[Cut] | None] = ContextVar("cuts", default=None)


@contextmanager
def cuts_kept() -> Iterator[list[Cut]]:
    """While it is entered, every cut is kept in the list given."""
    found: list[Cut] = []
    token = _KEPT.set(found)
    try:
        yield found
    finally:
        _KEPT.reset(token)


def keep(cut: Cut) -> None:
    """Keeps a cut where someone asked for it."""
    kept = _KEPT.get()
    if kept is not None:
        kept.append(cut)


def parts_of(cuts: list[Cut] | tuple[Cut, ...], whole: shapely.Polygon) -> tuple[Part, ...]:
    """The paper after cuts that follow each other, in parts; what stays where it was comes last."""
    parts = [Part(whole, STAY)]
    for cut in cuts:
        parts = [piece for part in parts for piece in _divided(part, cut.regions)]
    return tuple(sorted(parts, key=lambda part: part.motion is not None and part.motion.stays))


def _divided(part: Part, regions: tuple[Region, ...]) -> list[Part]:
    if part.motion is None:
        return [part]
    left: shapely.Geometry = part.moved
    found: list[Part] = []
    back = part.motion.undone()
    for region in regions:
        area = area_of(region.area)
        held, left = shapely.intersection(left, area), shapely.difference(left, area)
        for shape in _polygons(held):
            there = shapely.transform(shape, back.points)
            found.append(Part(there, None if region.motion is None else part.motion.then(region.motion)))
    rest = [Part(shapely.transform(shape, back.points), part.motion) for shape in _polygons(left)]
    return found + rest


def _polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    """The polygons of a shape, slivers that come of rounding left out."""
    return [g for g in shapely.get_parts(shape) if isinstance(g, shapely.Polygon) and g.area > 0.05]


def area_of(area: Band | Sector | Patch) -> shapely.Polygon:
    """A region as a shapely polygon, run on far beyond any piece."""
    if isinstance(area, Patch):
        return shapely.Polygon(area.corners).buffer(0)
    if isinstance(area, Sector):
        steps = max(2, int(area.sweep_deg // 20) + 2)
        ring = [area.start_deg + area.sweep_deg * step / (steps - 1) for step in range(steps)]
        return shapely.Polygon([area.apex, *(_far_off(area.apex, degrees) for degrees in ring)])
    low, high = (max(-FAR_MM, min(FAR_MM, d)) for d in (area.low, area.high))
    (x, y), (ux, uy) = area.through, area.along
    return shapely.Polygon(
        [
            (x + s * ux - d * uy, y + s * uy + d * ux)
            for s, d in ((-FAR_MM, low), (FAR_MM, low), (FAR_MM, high), (-FAR_MM, high))
        ]
    )


def _far_off(apex: tuple[float, float], degrees: float) -> tuple[float, float]:
    x, y = direction(degrees)
    return (apex[0] + FAR_MM * x, apex[1] + FAR_MM * y)
