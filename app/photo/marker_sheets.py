"""What stands on a marker sheet and where: groups of squares with markers between them, a rule, a number, a sentence.

A group is three by three squares, black at the corners and in the middle. The other four hold a marker each, which says
which sheet and which place it is; the four points where black squares touch are what is measured. Such a point is the
same seen from either side, so neither blur nor exposure moves it.

Places are in mm from the sheet's middle, y up, and the same on every paper. The markers are those of OpenCV's general
dictionary of 4 by 4 fields.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Any

import numpy as np
import shapely

from geometry.errors import PatternError
from geometry.kept import frozen
from geometry.letter_widths import wrapped
from geometry.motions import FloatArray, Point
from geometry.papers import Paper

SQUARE_MM = 26.0
#: A marker is smaller than its square, so that white lies all round it.
MARKER_MM = 18.0
#: Middles of the four groups.
GROUPS: tuple[Point, ...] = ((-56.0, 87.0), (56.0, 87.0), (-56.0, -87.0), (56.0, -87.0))
#: The white squares of a group, from its middle, in squares; each holds a marker.
_WHITE = ((0, 1), (-1, 0), (1, 0), (0, -1))
_BLACK = ((0, 0), (-1, 1), (1, 1), (-1, -1), (1, -1))
#: The four measured points of a group, from its middle, in squares.
_TOUCHING = ((-0.5, 0.5), (0.5, 0.5), (0.5, -0.5), (-0.5, -0.5))
MARKERS_A_GROUP = len(_WHITE)
MARKERS_A_SHEET = MARKERS_A_GROUP * len(GROUPS)
#: A marker is so many fields across, one of them black all round.
FIELDS = 6
MOST_SHEETS = 12
LEAST_SHEETS = 3
RULE_MM = 150.0
SENTENCE = (
    "Lay four or more of these sheets, each with another number, flat on the table round the piece, at any angle, and "
    "photograph them all together with the piece from above."
)


@dataclass(frozen=True)
class Place:
    """A marker's place on its sheet: its number, the sheet's, and its corners (4, 2) in mm.

    Corners go from the upper left clockwise, as the marker is printed.
    """

    marker: int
    sheet: int
    corners: tuple[Point, ...]


def places(sheet: int) -> tuple[Place, ...]:
    """The markers of a sheet (from 1)."""
    found = []
    for at, ((x, y), (column, row)) in enumerate(product(GROUPS, _WHITE)):
        mx, my, half = x + column * SQUARE_MM, y + row * SQUARE_MM, MARKER_MM / 2
        corners = ((mx - half, my + half), (mx + half, my + half), (mx + half, my - half), (mx - half, my - half))
        found.append(Place((sheet - 1) * MARKERS_A_SHEET + at, sheet, corners))
    return tuple(found)


@cache
def place_of(marker: int) -> Place | None:
    """The place of a marker by its number, or None when no sheet carries it."""
    sheet = marker // MARKERS_A_SHEET + 1
    return places(sheet)[marker % MARKERS_A_SHEET] if marker >= 0 and sheet <= MOST_SHEETS else None


@cache
def touching_points() -> FloatArray:
    """(16, 2) points in mm where black squares touch, group by group."""
    points = np.array([[(x + u * SQUARE_MM, y + v * SQUARE_MM) for u, v in _TOUCHING] for x, y in GROUPS])
    return frozen(points.reshape(-1, 2))


@cache
def middle_edges() -> FloatArray:
    """(16, 2, 2) edges in mm of the black squares in the middle of the groups; black lies right of their direction."""
    points = touching_points().reshape(-1, 4, 2)
    edges = np.stack([points, np.roll(points, -1, axis=1)], axis=2).reshape(-1, 2, 2)
    return frozen(edges)


@cache
def white_points() -> FloatArray:
    """(64, 2) points in mm of bare white, between markers and squares."""
    halfway = (SQUARE_MM + MARKER_MM) / 4
    points = np.array(
        [
            (x + column * SQUARE_MM + halfway * u, y + row * SQUARE_MM + halfway * v)
            for (x, y), (column, row), (u, v) in product(GROUPS, _WHITE, ((1, 0), (-1, 0), (0, 1), (0, -1)))
        ]
    )
    return frozen(points)


def sheet_corners(paper: Paper) -> FloatArray:
    """(4, 2) corners of the paper in mm, anticlockwise from the lower left."""
    x, y = paper.width_mm / 2, paper.height_mm / 2
    return np.array([(-x, -y), (x, -y), (x, y), (-x, y)])


@cache
def black_parts(sheet: int) -> shapely.Geometry:
    """Everything black that is measured on a sheet: squares and markers (mm)."""
    half = SQUARE_MM / 2
    middles = [(x + c * SQUARE_MM, y + r * SQUARE_MM) for (x, y), (c, r) in product(GROUPS, _BLACK)]
    boxes = [shapely.box(x - half, y - half, x + half, y + half) for x, y in middles]
    for place in places(sheet):
        (left, top), step = place.corners[0], MARKER_MM / FIELDS
        for row, column in zip(*np.nonzero(fields(place.marker))):
            x, y = left + column * step, top - row * step
            boxes.append(shapely.box(x, y - step, x + step, y))
    return shapely.union_all(boxes)


@cache
def fields(marker: int) -> Any:
    """(6, 6) True where a field of a marker is black, from the upper left."""
    import cv2

    image = cv2.aruco.generateImageMarker(dictionary(), marker, FIELDS)
    return frozen(np.asarray(image) == 0)


@cache
def dictionary() -> Any:
    """OpenCV's dictionary that the markers are taken from."""
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)


def checked_count(count: int) -> int:
    """The number of sheets to print; raises PatternError when there cannot be so many."""
    if not LEAST_SHEETS <= count <= MOST_SHEETS:
        raise PatternError(f"{LEAST_SHEETS} to {MOST_SHEETS} marker sheets can be printed; {count} was asked for.")
    return count


def markers_pdf(paper: Paper, count: int) -> bytes:
    """Marker sheets 1 to ``count``, one a page, at true size; the same call gives the same bytes.

    Raises PatternError when there cannot be so many.
    """
    from app.files.paper_pen import MM
    from app.files.pdf_file import PdfFile

    says = f"Marker sheets to photograph a piece with, on {paper.name}, print without scaling"
    file = PdfFile("Marker sheets", says, f"{paper.name} paper", (paper.width_mm, paper.height_mm))
    for sheet in range(1, checked_count(count) + 1):
        file.canvas.translate(paper.width_mm / 2 * MM, paper.height_mm / 2 * MM)
        _fill(file.canvas, black_parts(sheet))
        _middle(file.brush, sheet)
        file.end_page(f"sheet {sheet}")
    return file.closed()


def _fill(canvas: Any, black: shapely.Geometry) -> None:
    from app.files.paper_pen import MM

    path = canvas.beginPath()
    for polygon in shapely.get_parts(black):
        for ring in (polygon.exterior, *polygon.interiors):
            (x, y), *others = shapely.get_coordinates(ring)[:-1].tolist()
            path.moveTo(x * MM, y * MM)
            for x, y in others:
                path.lineTo(x * MM, y * MM)
            path.close()
    canvas.setFillGray(0.0)
    canvas.drawPath(path, stroke=0, fill=1, fillMode=0)


def _middle(brush: Any, sheet: int) -> None:
    """Number, sentence and rule, in the band between the groups."""
    from app.files.first_page import draw_rule

    brush.text((0.0, 32.0), f"Marker sheet {sheet}", 7.0, anchor="middle", bold=True)
    for at, row in enumerate(wrapped(SENTENCE, 2.6, 170.0)):
        brush.text((0.0, 16.0 - at * 5.4), row, 2.6, anchor="middle")
    draw_rule(brush, (-RULE_MM / 2, -16.0), upright=False, length=RULE_MM)
    says = (
        "Print at “actual size” and measure the rule: 150 mm. If it is off by more than half a millimetre, print again."
    )
    for at, row in enumerate(wrapped(says, 2.3, 170.0)):
        brush.text((0.0, -25.0 - at * 5.0), row, 2.3, anchor="middle")
