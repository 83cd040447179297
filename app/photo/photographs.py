"""A picture at true size, whichever way its size is known, and the outlines of the pieces in it with their error."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from app.photo.edges import Picture, Tone, measured_tone
from app.photo.finding import SeenSheet, find_sheets
from app.photo.flattening import Area, framed, laid_flat
from app.photo.marker_sheets import RULE_MM, sheet_corners, white_points
from app.photo.outlines import Outline, outlined
from app.photo.regions import regions
from app.photo.solving import Solved, View, solve
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.motions import FloatArray, Motion, Point
from geometry.papers import LETTER

#: A sheet that is off by this many times what the others are, and at least by so many pixels, does not lie flat.
UNEVEN = 3.0
UNEVEN_PX = 0.2
#: The rest is twice as good without such a sheet.
BETTER = 2.0
#: Edges that rise over more than this (mm) are blurred too much to be measured.
MOST_BLUR_MM = 1.2
#: No outline is handed over that states a larger error (mm).
MOST_ERROR_MM = 1.0
#: The error is stated so many times as large as it is expected to be.
SAFE = 1.4
#: On a patterned table neighbouring places of an edge err together: a smooth line through them errs so much more.
TOGETHER = 1.8
#: What is left of a bright edge's spread once the camera's curve is known, as a share of the blur.
LEFT_OF_BLUR = 0.015
#: Where the edge is not seen, an outline drawn straight on is off by so much (mm rms) (common practice, no source).
HIDDEN_MM = 0.5
#: So many stretches are named by their place.
_MOST_PLACES = 3
#: An outline of more sides than this, and shorter ones than this on the whole (mm), follows a table's pattern.
MOST_SIDES, LEAST_SIDE_MM = 12, 25.0
#: Paper of either size lies within so many times the larger one's corners.
_PAPER = 1.02


@dataclass(frozen=True, eq=False)
class Flattened:
    """A picture whose size is known.

    picture: as taken; ``view`` from mm of the flat picture to its pixels; ``area`` what is laid flat; ``flat`` the flat
    picture; ``shape_error`` gives the expected rms error (mm) of a shape at points (n, 2) mm; ``sheets`` corners (4, 2)
    mm of marker sheets and ``whites`` (n, 2) mm places of bare white on them.
    """

    picture: Picture
    flat: Picture
    view: View
    area: Area
    tone: Tone
    shape_error: Callable[[FloatArray], float]
    size_source: str
    sheets: tuple[FloatArray, ...] = ()
    whites: FloatArray = field(default_factory=lambda: np.zeros((0, 2)))
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, eq=False)
class PhotoOutline:
    """One piece's outline with the error (mm rms) that is stated for it."""

    outline: Outline
    error_mm: float
    findings: tuple[Finding, ...] = ()


def by_markers(picture: Picture, rule_mm: float = RULE_MM) -> Flattened:
    """The size from marker sheets in the picture; ``rule_mm`` is what their printed rule of 150 mm measures.

    Raises PatternError, saying what to do, when they cannot be measured.
    """
    import cv2

    scale = rule_mm / RULE_MM
    if not 0.9 < scale < 1.1:
        raise PatternError(
            f"The rule on the marker sheets is {RULE_MM:g} mm as drawn; {rule_mm:g} mm is too far off: print the "
            "sheets again at “actual size”."
        )
    grey = picture if picture.ndim == 2 else np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), dtype=np.uint8)
    size = (grey.shape[1], grey.shape[0])
    seen, findings = find_sheets(grey)
    solved, kept, uneven = _solved(seen, size)
    view = replace(solved.view, scale=scale)
    about = np.concatenate([view.table(sheet.pixels) for sheet in kept])
    view, area = framed(view, size, about)
    tone = measured_tone(picture, solved)
    _check_blur(tone, area)
    poses = [_pose(view, pose) for pose in solved.poses]
    solved = replace(solved, view=view)
    return Flattened(
        picture,
        laid_flat(picture, view, area),
        view,
        area,
        tone,
        solved.shape_error,
        f"{len(kept)} marker sheets" + ("" if scale == 1.0 else f", their rule measured as {rule_mm:g} mm"),
        tuple(_paper(view, sheet) for sheet in seen),
        np.concatenate([pose(white_points()) for pose in poses]),
        (*findings, *uneven),
    )


def pieces(flattened: Flattened, near: Point | None = None) -> tuple[PhotoOutline, ...]:
    """The outlines of the cut-out pieces in the picture, the largest first, or only of that which holds ``near`` (mm).

    Raises PatternError, saying what to do, when none is found or its error would be above MOST_ERROR_MM.
    """
    found = regions(flattened.flat, flattened.area, flattened.tone, list(flattened.sheets), flattened.whites, near)
    return tuple(
        with_error(flattened, outlined(flattened.picture, flattened.view, flattened.tone, one)) for one in found
    )


def with_error(flattened: Flattened, outline: Outline, beside: float = 0.0) -> PhotoOutline:
    """The outline with its stated error: of the sheets' solve, of the edge's place, of what blur leaves, and of how far
    (mm rms, as it is to be stated) the whole of it may lie ``beside`` the line that was asked for.

    Raises PatternError when it would be above MOST_ERROR_MM."""
    points = outline.chain.flat[0]
    shape = flattened.shape_error(points)
    pixel = flattened.area.pixel_mm
    tone = flattened.tone
    left = pixel * math.hypot(tone.shift_px, LEFT_OF_BLUR * tone.blur_px)
    length = outline.chain.length
    strays = len(outline.sides) > MOST_SIDES and length < LEAST_SIDE_MM * len(outline.sides)
    if strays or not shapely.LinearRing(points).is_simple:
        raise PatternError(
            "The piece’s edge cannot be told from the table’s pattern; lay it on a plainer table or a cloth and "
            "photograph again."
        )
    hidden = HIDDEN_MM * math.sqrt(min(outline.hidden_mm / length, 1.0))
    error = SAFE * math.hypot(shape, TOGETHER * outline.edge_mm, outline.doubt_mm, left, hidden)
    error = math.hypot(error, beside)
    if error > MOST_ERROR_MM:
        raise PatternError(
            f"The outline would only be right to {error:.1f} mm, so it is not taken; photograph again nearer, sharper "
            "and from straight above."
        )
    return PhotoOutline(outline, error, _hidden(flattened, outline))


def _hidden(flattened: Flattened, outline: Outline) -> tuple[Finding, ...]:
    """What is said of the stretches where no edge was seen, with their places in the photo."""
    if not outline.hidden:
        return ()
    longest = sorted(outline.hidden, key=lambda one: -one.length)[:_MOST_PLACES]
    pixels = flattened.view.pixels(np.array([one.at for one in longest]))
    places = "; ".join(
        f"{one.length:.0f} mm about pixel {x:.0f},{y:.0f}" for one, (x, y) in zip(longest, pixels.tolist(), strict=True)
    )
    more = f"; and {len(outline.hidden) - len(longest)} shorter" if len(outline.hidden) > len(longest) else ""
    says = (
        f"Over {outline.hidden_mm:.0f} mm the piece's edge is not seen and is drawn straight on ({places}{more}); look "
        "at it over the photo, or set points along it by hand."
    )
    return (Finding("edge-hidden", Level.WARN, says),)


def _solved(seen: tuple[SeenSheet, ...], size: tuple[int, int]) -> tuple[Solved, tuple[SeenSheet, ...], list[Finding]]:
    """The sheets solved together; one that does not lie flat is left out when enough others remain."""
    solved = solve(seen, size)
    worst = int(np.argmax(solved.sheet_rms_px))
    if solved.rms_px < UNEVEN_PX:
        return solved, seen, []
    trials = []
    for at in range(len(seen)):
        others = seen[:at] + seen[at + 1 :]
        if len(others) >= 3:
            trials.append((solve(others, size), at))
    if trials:
        best, worst = min(trials, key=lambda trial: trial[0].rms_px)
        if solved.rms_px < BETTER * best.rms_px:
            return solved, seen, []
        if best.rms_px < UNEVEN * UNEVEN_PX:
            words = (
                f"Marker sheet {seen[worst].sheet} does not lie flat, so it was left out; press it flat and photograph "
                "again to use it."
            )
            return best, seen[:worst] + seen[worst + 1 :], [Finding("sheet-not-flat", Level.WARN, words)]
    raise PatternError(
        f"Marker sheet {seen[worst].sheet} does not lie flat, and without it too few are left; press all sheets flat "
        "and photograph again."
    )


def _pose(view: View, pose: FloatArray) -> Callable[[FloatArray], FloatArray]:
    """From mm on a sheet to mm of the flat picture."""
    x, y, turn = pose.tolist()
    cos, sin = math.cos(turn), math.sin(turn)
    laid = Motion(cos, sin, -sin, cos, x, y)
    back = view.laid.undone()
    return lambda points: back.points(laid.points(points) * view.scale)


def _paper(view: View, sheet: SeenSheet) -> FloatArray:
    """(4, 2) corners in mm of the paper of a sheet as it is seen, flat or not."""
    rows = np.column_stack([sheet.places, np.ones(len(sheet.places))])
    factors, *_ = np.linalg.lstsq(rows, view.table(sheet.pixels), rcond=None)
    corners: FloatArray = np.column_stack([sheet_corners(LETTER) * _PAPER, np.ones(4)]) @ factors
    return corners


def _check_blur(tone: Tone, area: Area) -> None:
    if tone.blur_px * area.pixel_mm > MOST_BLUR_MM:
        raise PatternError(
            "This picture is blurred; hold the camera still or rest it on something, focus, and photograph again."
        )
