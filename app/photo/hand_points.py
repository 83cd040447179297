"""An outline from points set by hand on a picture: each snaps to the edge or pen line beside it, and so does the line
between them, wherever it is seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from app.photo.cut_edges import Measure, edge_measure
from app.photo.outlines import Outline, round_about
from app.photo.pen_lines import LineSide, PenOutline, pen_measure, pen_with_error
from app.photo.photographs import SAFE, Flattened, PhotoOutline, with_error
from app.photo.regions import Region
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.lines import polyline
from geometry.motions import FloatArray

#: A point snaps to an edge this near (mm); between points the line is looked for until they are this close (mm).
SNAP_MM, _CLOSE_MM = 5.0, 4.0
#: A pen line may have others beside it, so points are set nearer to it (mm).
PEN_SNAP_MM = 1.9
#: How well a point is set by hand (pixels) (common practice, no source).
SET_PX = 1.0
MOST_POINTS = 5000


@dataclass(frozen=True, eq=False)
class HandOutline:
    """An outline from points set by hand; ``snapped`` is False where no edge was seen and the points stand as set."""

    found: PhotoOutline
    snapped: bool


def by_hand(flattened: Flattened, pixels: FloatArray, side: LineSide | None = None) -> HandOutline:
    """The outline through points (n, 2) in pixels of the picture, in order round the piece.

    With ``side`` they lie along a pen line, else along a cut edge. Raises PatternError when they go round nothing.
    """
    points = flattened.view.table(pixels)
    polygon = shapely.Polygon(points) if 3 <= len(points) <= MOST_POINTS else None
    if polygon is None or not polygon.is_valid or polygon.area < 100:
        raise PatternError("The points should go once round the piece, one after another, at least three of them.")
    if not polygon.exterior.is_ccw:
        points = points[::-1]
    if side is None:
        measure = edge_measure(flattened.picture, flattened.view, flattened.tone)
    else:
        measure, widths = pen_measure(flattened, side, within=PEN_SNAP_MM)
    try:
        outline = round_about(measure, Region(_drawn_near(measure, points), float(polygon.area)))
    except PatternError:
        return HandOutline(_as_set(flattened, points), snapped=False)
    if side is None:
        return HandOutline(with_error(flattened, outline), snapped=True)
    return HandOutline(pen_with_error(flattened, PenOutline(outline, widths[0]), side), snapped=True)


def _drawn_near(measure: Measure, ring: FloatArray) -> FloatArray:
    """The points and points halfway between them, each on the edge beside it, until they are close together."""
    around = float(np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1).sum())
    # Where neighbours snap to different edges, the gap between them never closes.
    most = min(4 * MOST_POINTS, 2 * len(ring) + int(8 * around / _CLOSE_MM))
    ring = _on_edge(measure, ring)
    while np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1).max() > _CLOSE_MM and len(ring) < most:
        halves = (ring + np.roll(ring, -1, axis=0)) / 2
        ring = np.stack([ring, halves], axis=1).reshape(-1, 2)
        snapped = _on_edge(measure, ring)
        ring[1::2] = snapped[1::2]
    return ring


def _on_edge(measure: Measure, ring: FloatArray) -> FloatArray:
    """Points (n, 2) of a ring moved square to it onto the edge, where one is seen."""
    along = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    edge = measure(ring, np.stack([along[:, 1], -along[:, 0]], axis=1), SNAP_MM)
    return np.where(edge.weights[:, None] > 0, edge.points, ring)


def _as_set(flattened: Flattened, points: FloatArray) -> PhotoOutline:
    line = polyline(np.concatenate([points, points[:1]]))
    set_mm = SET_PX * flattened.area.pixel_mm
    says = "No edge is seen beside the points, so the outline goes through them as they were set; look at it."
    error = SAFE * float(np.hypot(flattened.shape_error(points), set_mm))
    return PhotoOutline(Outline((line,), set_mm), error, (Finding("edge-hidden", Level.WARN, says),))
