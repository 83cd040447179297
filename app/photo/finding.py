"""Finding the marker sheets in a picture: which they are, and their measured points to a small part of a pixel.

Pixels count from the middle of the upper left one, x to the right, y down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.photo.marker_sheets import (
    LEAST_SHEETS,
    MARKER_MM,
    SQUARE_MM,
    place_of,
    places,
    touching_points,
)
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.motions import FloatArray

Grey = NDArray[np.uint8]

#: Markers are looked for in a picture no longer than this (pixels); their points are measured in the whole one.
LOOKED_AT = 2600
#: White paper darker than this (of 255) leaves too little to measure.
LEAST_WHITE = 60
#: A point is measured within this share of a square all round it: no marker comes so near.
REACH = 0.13
#: Markers agree on their sheet within this share of a marker's side; the lens bends that much over a sheet.
AGREE = 0.12
#: So many of a sheet's measured points are needed to take it.
LEAST_POINTS = 8
#: Dark and light differ at least so much (of 255) round a measured point.
LEAST_CONTRAST = 30.0
#: No photo shows so many squares (one on a cloth of 12 mm checks 4,300); each takes its time to be looked into.
MOST_SQUARES = 6000
#: Markers go round at least this share of the picture's longer side, and are looked for against so many pixels round.
_LEAST_ROUND, _AGAINST_PX = 0.02, (9, 29)
#: Whether a picture is blurred is told from so many of its pixels.
_ROWS_OF = 8_000_000
#: A measured point is given up when it wanders this far (share of a square) from where the markers put it.
WANDER = 0.06


@dataclass(frozen=True, eq=False)
class SeenSheet:
    """A marker sheet in a picture: its number and the points measured on it.

    places: (n, 2) mm on the sheet; pixels: (n, 2) where they are seen; ``covered`` counts those that were not found;
    ``square_px`` is the side of a square in pixels.
    """

    sheet: int
    places: FloatArray
    pixels: FloatArray
    covered: int
    square_px: float


def find_sheets(grey: Grey) -> tuple[tuple[SeenSheet, ...], tuple[Finding, ...]]:
    """The sheets in a grey picture (rows, columns) of 0 to 255, by number, and what is doubtful about them.

    Raises PatternError, saying what to do, when there are too few, or when one number is seen twice.
    """
    markers = _markers(grey)
    if not markers:
        raise PatternError(_why_none(grey))
    sheets, findings = [], []
    for sheet in sorted({place_of(number).sheet for number in markers if place_of(number)}):  # type: ignore[union-attr]
        seen = _measured(grey, sheet, markers)
        if seen is None:
            continue
        sheets.append(seen)
        if seen.covered:
            findings.append(
                Finding(
                    "markers-covered",
                    Level.NOTICE,
                    f"Marker sheet {sheet} is covered in part: {len(seen.places)} of its {len(touching_points())} "
                    f"points are seen; the rest is measured without them.",
                )
            )
    if len(sheets) < LEAST_SHEETS:
        raise PatternError(_why_few(grey, len(sheets)))
    return tuple(sheets), tuple(findings)


def _markers(grey: Grey) -> dict[int, FloatArray]:
    """Corners (4, 2) in pixels of every marker, by its number."""
    import cv2

    from app.photo.marker_sheets import dictionary

    step = max(1.0, max(grey.shape) / LOOKED_AT)
    small = grey if step == 1.0 else cv2.resize(grey, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA)
    if _squares(small) > MOST_SQUARES:
        raise PatternError(
            "This picture is full of small squares, among which markers cannot be told; lay the piece and the sheets "
            "on a plain cloth and photograph again."
        )
    parameters = cv2.aruco.DetectorParameters()
    parameters.adaptiveThreshWinSizeMin, parameters.adaptiveThreshWinSizeMax = _AGAINST_PX
    parameters.adaptiveThreshWinSizeStep = _AGAINST_PX[1] - _AGAINST_PX[0]
    parameters.minMarkerPerimeterRate = _LEAST_ROUND
    parameters.maxMarkerPerimeterRate = 1.0
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary(), parameters).detectMarkers(small)
    found: dict[int, FloatArray] = {}
    twice: dict[int, int] = {}
    for quad, number in zip(corners, [] if numbers is None else np.asarray(numbers).ravel().tolist()):
        pixels = (np.asarray(quad, dtype=float).reshape(4, 2) + 0.5) * step - 0.5
        place = place_of(int(number))
        if place is None:
            continue
        if int(number) in found:
            twice[int(number)] = place.sheet
        found[int(number)] = pixels
    for sheet in twice.values():
        # A patterned table may look like a marker once, but not like two of one sheet.
        if list(twice.values()).count(sheet) > 1:
            raise PatternError(
                f"Marker sheet {sheet} is in the picture twice; lay sheets of different numbers and photograph again."
            )
    return {number: pixels for number, pixels in found.items() if number not in twice}


def _squares(grey: Grey) -> int:
    """How many four-cornered patches a picture holds that are large enough for a marker."""
    import cv2

    dark = cv2.adaptiveThreshold(grey, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, _AGAINST_PX[1], 7)
    rings, _ = cv2.findContours(dark, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    large = [ring for ring in rings if len(ring) >= _LEAST_ROUND * max(grey.shape)]
    return sum(len(cv2.approxPolyDP(ring, 0.03 * len(ring), True)) == 4 for ring in large)


def _measured(grey: Grey, sheet: int, markers: dict[int, FloatArray]) -> SeenSheet | None:
    """The points of one sheet, or None when its markers do not agree or too few points are clear."""
    held = [place for place in places(sheet) if place.marker in markers]
    if len(held) < 2:
        return None
    on_sheet = np.array([place.corners for place in held], dtype=float)
    seen = np.array([markers[place.marker] for place in held])
    across, good = _agreeing(on_sheet, seen)
    if across is None or good.sum() < 2:
        return None
    guessed, square = _near_markers(on_sheet[good], seen[good], across)
    measured, clear = _refined(grey, guessed, square)
    if clear.sum() < LEAST_POINTS:
        return None
    every = touching_points()
    return SeenSheet(sheet, every[clear], measured[clear], int((~clear).sum()), float(square))


def _agreeing(on_sheet: FloatArray, seen: FloatArray) -> tuple[FloatArray | None, NDArray[np.bool_]]:
    """The homography from sheet to picture that most markers agree on, and which of them do."""
    import cv2

    count = len(on_sheet)
    size = np.linalg.norm(seen - np.roll(seen, 1, axis=1), axis=2).mean(axis=1)
    best: tuple[FloatArray | None, NDArray[np.bool_]] = (None, np.zeros(count, bool))
    for first in range(count):
        # One marker's own homography says roughly where the others are; those near enough vote.
        own = cv2.getPerspectiveTransform(on_sheet[first].astype(np.float32), seen[first].astype(np.float32))
        off = np.linalg.norm(through(own, on_sheet.reshape(-1, 2)).reshape(-1, 4, 2) - seen, axis=2).max(axis=1)
        far = np.linalg.norm(on_sheet.mean(axis=1) - on_sheet[first].mean(axis=0), axis=1) / MARKER_MM
        votes = off < size * (AGREE + 0.12 * far)
        if votes.sum() < 2:
            continue
        across, _ = cv2.findHomography(on_sheet[votes].reshape(-1, 2), seen[votes].reshape(-1, 2))
        if across is None:
            continue
        off = np.linalg.norm(through(across, on_sheet.reshape(-1, 2)).reshape(-1, 4, 2) - seen, axis=2).max(axis=1)
        good = off < size * AGREE
        if good.sum() > best[1].sum():
            best = (np.asarray(across, dtype=float), good)
        if good.sum() == count:
            break
    return best


def _near_markers(on_sheet: FloatArray, seen: FloatArray, across: FloatArray) -> tuple[FloatArray, float]:
    """Where the sheet's measured points should be (n, 2): by the sheet as a whole, put right by the nearest marker."""
    every = touching_points()
    middles = on_sheet.mean(axis=1)
    off = (seen - through(across, on_sheet.reshape(-1, 2)).reshape(-1, 4, 2)).mean(axis=1)
    nearest = np.linalg.norm(every[:, None] - middles[None], axis=2).argmin(axis=1)
    guessed = through(across, every) + off[nearest]
    size = np.linalg.norm(seen - np.roll(seen, 1, axis=1), axis=2).mean()
    return guessed, float(size * SQUARE_MM / MARKER_MM)


def _refined(grey: Grey, guessed: FloatArray, square: float) -> tuple[FloatArray, NDArray[np.bool_]]:
    """The points where black squares touch, measured, and which of them are clearly to be seen."""
    import cv2

    reach = max(3, round(square * REACH))
    high, wide = grey.shape
    edge = 3 * reach + 2
    inside = ((guessed > edge) & (guessed < np.array([wide, high]) - edge)).all(axis=1)
    measured = guessed.astype(np.float32).reshape(-1, 1, 2).copy()
    rough = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 60, 1e-4)
    if inside.any():
        some = measured[inside]
        cv2.cornerSubPix(grey, some, (reach, reach), (-1, -1), rough)
        measured[inside] = some
    points = measured.reshape(-1, 2).astype(float)
    clear = inside & (np.linalg.norm(points - guessed, axis=1) < WANDER * square + 1.0)
    for index in np.flatnonzero(clear):
        clear[index] = _is_touching(grey, points[index], square)
    return points, clear


def _is_touching(grey: Grey, point: FloatArray, square: float) -> bool:
    """Whether dark and light take turns twice on a circle round the point, alike on opposite sides."""
    import cv2

    radius = REACH * square
    angles = np.arange(32) * (2 * np.pi / 32)
    ring = (point[None] + radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)).astype(np.float32)
    values = cv2.remap(grey, ring[:, None, :1], ring[:, None, 1:], cv2.INTER_LINEAR).ravel().astype(float)
    low, high = np.percentile(values, 20), np.percentile(values, 80)
    if high - low < LEAST_CONTRAST:
        return False
    light = values > (low + high) / 2
    alike = np.abs(values - np.roll(values, 16)).max() < 0.75 * (high - low)
    return bool(alike and (light != np.roll(light, 1)).sum() == 4)


def through(across: FloatArray, points: FloatArray) -> FloatArray:
    """Points (n, 2) through a homography (3, 3)."""
    moved = points @ across[:, :2].T + across[:, 2]
    return np.asarray(moved[:, :2] / moved[:, 2:], dtype=float)


def _why_none(grey: Grey) -> str:
    reason = _light_or_blur(grey)
    return reason or (
        "There is no marker sheet in this picture; lay four or more printed marker sheets round the piece, or give "
        "the four corners of something of known size."
    )


def _why_few(grey: Grey, count: int) -> str:
    reason = _light_or_blur(grey)
    if reason:
        return reason
    found = {0: "No marker sheet", 1: "Only one marker sheet", 2: "Only two marker sheets"}[count]
    return (
        f"{found} can be measured in this picture; lay four or more so that each is wholly seen and none is covered, "
        "and photograph again."
    )


def _light_or_blur(grey: Grey) -> str:
    """What spoils the whole picture, or nothing."""
    import cv2

    small = cv2.resize(grey, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    if np.percentile(small, 98) < LEAST_WHITE:
        return "This picture is too dark to measure; put more light on the table and photograph again."
    if _is_blurred(grey):
        return "This picture is blurred; hold the camera still or rest it on something, focus, and photograph again."
    return ""


def _is_blurred(grey: Grey) -> bool:
    """Whether even the strongest edges rise over many pixels: steps of one pixel are small against those of eight."""
    import cv2

    # Some rows say it as well as all.
    some = grey[:: max(1, grey.size // _ROWS_OF)]
    part = cv2.GaussianBlur(some, (7, 1), 0.7).astype(np.int16)
    near = np.abs(part[:, 1:] - part[:, :-1])
    far = np.abs(part[:, 8:] - part[:, :-8])
    return bool(np.percentile(near, 99.9) < 0.2 * np.percentile(far, 99.9))
