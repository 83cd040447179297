"""The size of a picture without marker sheets: four corners of something of known size, or a scan's resolution.

What cannot be seen in such a picture is part of the error that is stated: how well four points were set, a tape measure
was read, and how far a lens bends straight lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from app.photo.edges import Picture, Tone
from app.photo.finding import through
from app.photo.flattening import Area, framed, laid_flat
from app.photo.photographs import Flattened
from app.photo.solving import UNIT_MM, Solved, View
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.motions import FloatArray, Motion, Point

#: How well a point is set by hand (pixels), and a side is measured by tape (mm) (common practice, no source).
SET_PX, TAPE_MM = 1.0, 0.5
#: How far a camera's lens may bend the picture at its corner, as a share (a phone's own picture; from memory).
LENS = 0.004
#: How far off a flat-bed scanner's own size may be, as a share (common practice, no source), and a length read by rule.
SCANNER, RULED_MM = 0.003, 0.25
#: A scan's size that is off by more than this share is said.
SCAN_OFF = 0.002
LEAST_DPI, MOST_DPI = 50.0, 2400.0
#: Marks on two pictures that lie further apart than this when these are laid together (mm rms) are not the same marks.
MARKS_MM = 1.0


def by_corners(picture: Picture, corners: Sequence[Point], size_mm: tuple[float, float]) -> Flattened:
    """The size from four corners of a rectangle: pixels anticlockwise from the lower left, and its width and height.

    Raises PatternError when they are no such four.
    """
    import cv2

    seen = np.array(corners, dtype=float)
    wide, high = size_mm
    flat = np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])
    upright = seen * [1.0, -1.0]
    polygon = shapely.Polygon(upright)
    if len(seen) != 4 or min(size_mm) < 20 or not polygon.is_valid or polygon.convex_hull.area > polygon.area * 1.0001:
        raise PatternError("The four corners should be those of a rectangle, one after another, at least 20 mm a side.")
    if not shapely.LinearRing(upright).is_ccw:
        raise PatternError("The four corners should go round anticlockwise, from the lower left one.")
    middle, radius, columns_rows = _middle_of(picture)
    across = cv2.getPerspectiveTransform(
        (flat / UNIT_MM).astype(np.float32), ((seen - middle) / radius).astype(np.float32)
    ).astype(float)
    view = View(tuple((across / across[2, 2]).ravel()[:8].tolist()), 0.0, (middle[0], middle[1]), radius)
    view, area = framed(view, columns_rows, flat)
    covariance = _corner_covariance(view, flat, radius)
    solved = Solved(view, covariance, SET_PX, (), np.zeros((0, 3)))
    tape = TAPE_MM / min(size_mm)

    def shape_error(points: FloatArray) -> float:
        return float(np.hypot(solved.shape_error(points), tape * _spread(points) / np.sqrt(2)))

    says = f"four corners {wide:g} mm × {high:g} mm apart"
    return Flattened(picture, laid_flat(picture, view, area), view, area, Tone(), shape_error, says)


def by_resolution(picture: Picture, dpi: tuple[float, float]) -> Flattened:
    """The size of a flat-bed scan from its resolution (pixels an inch across and down).

    Raises PatternError for a resolution that no scan has.
    """
    if not all(LEAST_DPI <= one <= MOST_DPI for one in dpi):
        raise PatternError(
            f"A scan has between {LEAST_DPI:g} and {MOST_DPI:g} pixels an inch; give the resolution that it was "
            "scanned with."
        )
    x, y = 25.4 / dpi[0], 25.4 / dpi[1]
    rows, columns = picture.shape[:2]
    area = Area(columns * x, rows * y, min(x, y))
    view = _straight_view(picture, x, y)
    says = f"the scan’s resolution, {dpi[0]:g} pixels an inch"
    flat = laid_flat(picture, view, area)
    return Flattened(picture, flat, view, area, Tone(), lambda points: SCANNER * _spread(points), says)


def flat_view(picture: Picture, area: Area) -> View:
    """The view of a picture that is flat already, of an area's pixels."""
    return _straight_view(picture, area.pixel_mm, area.pixel_mm)


def _straight_view(picture: Picture, x: float, y: float) -> View:
    """The view of a flat picture whose pixels are x by y mm; 0, 0 is the lower left corner of the lower left one."""
    middle, radius, (_, rows) = _middle_of(picture)
    left, foot = (-0.5 - middle[0]) / radius, (rows - 0.5 - middle[1]) / radius
    across = (UNIT_MM / x / radius, 0.0, left, 0.0, -UNIT_MM / y / radius, foot, 0.0, 0.0)
    return View(across, 0.0, (middle[0], middle[1]), radius)


def checked(scan: Flattened, first: Point, second: Point, length_mm: float) -> Flattened:
    """A scan with its size put right by a known length between two points (mm of the scan).

    Raises PatternError when the two points cannot be so far apart.
    """
    seen = float(np.hypot(second[0] - first[0], second[1] - first[1]))
    if seen < 20 or not 0.8 < length_mm / seen < 1.25:
        raise PatternError(
            f"These two points are {seen:.1f} mm apart by the scan’s resolution, which cannot be {length_mm:g} mm; "
            "give the resolution that it was scanned with."
        )
    scale = length_mm / seen
    share = RULED_MM / length_mm
    view = replace(scan.view, laid=scan.view.laid, scale=scan.view.scale * scale)
    view = replace(view, laid=replace(scan.view.laid, e=scan.view.laid.e * scale, f=scan.view.laid.f * scale))
    area = Area(scan.area.width * scale, scan.area.height * scale, scan.area.pixel_mm * scale)
    findings = scan.findings
    if abs(scale - 1) > SCAN_OFF:
        says = (
            f"The scan came out {abs(scale - 1) * 100:.1f} % too {'small' if scale > 1 else 'large'}; it was put right."
        )
        findings = (*findings, Finding("scan-off", Level.NOTICE, says))
    return replace(
        scan,
        view=view,
        area=area,
        shape_error=lambda points: share * _spread(points),
        size_source=f"{scan.size_source}, checked against {length_mm:g} mm",
        findings=findings,
    )


def laid_together(marks: FloatArray, others: FloatArray) -> tuple[Motion, float]:
    """How a second scan is moved onto a first by shared marks, (n, 2) mm on each, and the rms (mm) that is left.

    Raises PatternError with fewer than two marks, or when they do not fit.
    """
    if len(marks) < 2 or marks.shape != others.shape:
        raise PatternError("Two pictures are joined on at least two marks that are on both.")
    motion, left = _laid(marks, others)
    if left > MARKS_MM:
        raise PatternError(
            f"The marks of the two pictures are {left:.1f} mm apart after they are laid together"
            f"{_worst(marks, others)}; set them on the same places on both."
        )
    return motion, left


def _laid(marks: FloatArray, others: FloatArray) -> tuple[Motion, float]:
    one, two = others - others.mean(axis=0), marks - marks.mean(axis=0)
    turn = float(np.arctan2((one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum(), (one * two).sum()))
    cos, sin = float(np.cos(turn)), float(np.sin(turn))
    spun = Motion(cos, sin, -sin, cos)
    shift = marks.mean(axis=0) - spun.points(others.mean(axis=0))
    motion = replace(spun, e=float(shift[0]), f=float(shift[1]))
    return motion, float(np.sqrt(((motion.points(others) - marks) ** 2).sum(axis=1).mean()))


def _worst(marks: FloatArray, others: FloatArray) -> str:
    """Which mark is the one that does not fit, where the others do without it."""
    if len(marks) < 3:
        return ""
    without = [_laid(np.delete(marks, i, axis=0), np.delete(others, i, axis=0))[1] for i in range(len(marks))]
    best = int(np.argmin(without))
    return f" (without mark {best + 1}, {without[best]:.1f} mm)" if without[best] < MARKS_MM else ""


def _middle_of(picture: Picture) -> tuple[tuple[float, float], float, tuple[int, int]]:
    rows, columns = picture.shape[:2]
    return ((columns - 1) / 2, (rows - 1) / 2), float(np.hypot(columns, rows) / 2), (columns, rows)


def _corner_covariance(view: View, flat: FloatArray, radius: float) -> FloatArray:
    """(9, 9) of the view's numbers, from four points set by hand and a lens that is not known."""
    base = np.array(view.across)
    slopes = np.zeros((8, 8))
    points = flat / UNIT_MM
    for at in range(8):
        step = np.zeros(8)
        step[at] = 1e-6
        ahead, back = ((np.append(base + sign * step, 1.0)).reshape(3, 3) for sign in (1, -1))
        slopes[:, at] = ((through(ahead, points) - through(back, points)) / 2e-6).ravel()
    inverse = np.linalg.inv(slopes)
    whole = np.zeros((9, 9))
    whole[:8, :8] = inverse @ inverse.T * (SET_PX / radius) ** 2
    # A lens that bends moves the four corners as well; the homography then follows them.
    seen = through(np.append(base, 1.0).reshape(3, 3), points)
    follows = np.append(-inverse @ (seen * (seen**2).sum(axis=1, keepdims=True)).ravel(), 1.0)
    return whole + np.outer(follows, follows) * LENS**2


def _spread(points: FloatArray) -> float:
    """The rms distance (mm) of points from their middle."""
    return float(np.sqrt(((points - points.mean(axis=0)) ** 2).sum(axis=1).mean()))
