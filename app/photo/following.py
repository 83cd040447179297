"""One size's line on a sheet of several, followed by its dash from a point on it, straight on through crossings.

Ahead of the place reached, many ways on are tried: arcs, and a straight stretch with a corner in it. Taken is the way
along which paper and ink follow each other most like the dash that was seen round the first point, in step with what
lies behind: where lines run on each other, the one that keeps its step is the right one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from app.photo.outlines import round_about
from app.photo.pen_lines import LineSide, PenOutline, ink_of, pen_measure
from app.photo.photographs import Flattened
from app.photo.regions import LEAST_MM2, Region
from geometry.errors import PatternError
from geometry.motions import FloatArray, Point

#: The line is followed in a picture of so many mm a pixel, sampled so often (mm), so far at a step (mm).
_FINE_MM, _SAMPLE_MM, _STEP_MM = 0.25, 0.5, 2.0
#: The first point may lie so far off the line (mm), and the dash is learnt from so much of it on both sides (mm).
_NEAR_MM, _LEARNT_MM = 4.0, 26.0
#: Dash and gap together are between so much and so much (mm); a line with more ink than this share is a full line.
_SHORTEST_MM, _LONGEST_MM, _FULL = 2.0, 22.0, 0.93
#: How far ahead (mm) ways on are compared, at least, and the least share of a way that must agree with the dash.
_AHEAD_MM, _LEAST_AGREED = 16.0, 0.7
#: What a corner, and a turn of a degree, is held against a way.
_CORNER_COSTS, _DEGREE_COSTS = 0.04, 0.0015
#: The dash may slip so far at a step (mm); what is held against a way whose dash is out of step with the one behind.
_SLIP_MM, _OUT_OF_STEP_COSTS = 1.0, 0.05
#: No line is followed further than this (mm).
_FARTHEST_MM = 8_000.0
#: Ink this near (mm) to the followed line is its own.
_OWN_MM = 1.2


@dataclass(frozen=True, eq=False)
class _Ways:
    """Ways on, from 0, 0 along x: their points (w, n, 2) in mm, what is held against each (w,), and after how many mm
    each has a corner of how many radians (infinity and 0 for an arc)."""

    points: FloatArray
    costs: FloatArray
    corner_at: FloatArray
    turns: FloatArray


def followed(flattened: Flattened, near: Point, side: LineSide = LineSide.MIDDLE) -> PenOutline:
    """The outline along the closed line through ``near`` (mm), whatever other lines cross it.

    The gaps of its dash count as not seen. Raises PatternError when there is no line there, or when it is lost.
    """
    sheet = _Sheet(flattened)
    place, heading = sheet.started(near)
    dash = sheet.learnt(place, heading)
    try:
        ring = sheet.once_round(place, heading, dash)
    except PatternError as lost:
        # A crossing that leads astray one way round may not the other way.
        try:
            ring = sheet.once_round(place, heading + math.pi, dash)
        except PatternError:
            raise lost from None
    polygon = shapely.Polygon(ring)
    if not polygon.exterior.is_ccw:
        ring = ring[::-1]
    measure, widths = pen_measure(flattened, side, within=_OWN_MM)
    return PenOutline(round_about(measure, Region(ring, float(polygon.area)), least_seen=0.25), widths[0])


class _Sheet:
    """The ink on the sheet, 0 to 1, and the walk along one line of it."""

    def __init__(self, flattened: Flattened) -> None:
        import cv2

        self._area = flattened.area
        self._ink = cv2.dilate(ink_of(flattened, _FINE_MM).astype(np.float32), np.ones((3, 3), np.uint8))

    def seen(self, points: FloatArray) -> FloatArray:
        """Ink (0 to 1) at points (..., 2) in mm, between pixels in proportion; OpenCV's versions differ in it."""
        ink, flat = self._ink, points.reshape(-1, 2)
        x, y = flat[:, 0] / _FINE_MM - 0.5, (self._area.height - flat[:, 1]) / _FINE_MM - 0.5
        left, top = np.floor(x).astype(int), np.floor(y).astype(int)
        inside = (left >= 0) & (top >= 0) & (left < ink.shape[1] - 1) & (top < ink.shape[0] - 1)
        left, top = np.where(inside, left, 0), np.where(inside, top, 0)
        across, down = x - left, y - top
        row, ink = ink.shape[1], ink.ravel()
        at = top * row + left
        upper = ink[at] * (1 - across) + ink[at + 1] * across
        lower = ink[at + row] * (1 - across) + ink[at + row + 1] * across
        return np.where(inside, upper * (1 - down) + lower * down, 0.0).reshape(points.shape[:-1])

    def started(self, near: Point) -> tuple[FloatArray, float]:
        """The place on the line nearest to a point, and the line's direction there (radians)."""
        reach = np.arange(-_NEAR_MM, _NEAR_MM + 0.1, 0.2)
        grid = np.stack(np.meshgrid(reach, reach), axis=-1).reshape(-1, 2)
        grid = grid[np.argsort(np.hypot(grid[:, 0], grid[:, 1]), kind="stable")]
        inky = np.flatnonzero(self.seen(np.array(near) + grid) > 0.6)
        if not len(inky):
            raise PatternError("There is no drawn line at the point that --follow names; give a point on the line.")
        first = np.array(near) + grid[inky[0]]
        close = np.array(near) + grid[inky]
        middle = close[np.hypot(*(close - first).T) < 0.8].mean(axis=0)
        along = np.arange(-_LEARNT_MM, _LEARNT_MM, _SAMPLE_MM)
        best = (-1.0, 0.0)
        for angle in np.radians(np.arange(0.0, 180.0, 2.0)):
            for bend in np.linspace(-0.012, 0.012, 13):
                ink = float(self.seen(middle + _bow(along, float(angle), float(bend))).mean()) - 2 * abs(bend)
                best = max(best, (ink, float(angle)))
        return middle, best[1]

    def learnt(self, place: FloatArray, heading: float) -> FloatArray:
        """The dash: ink or paper (0 or 1) every _SAMPLE_MM over one dash and gap; (1,) of 1 for a full line."""
        along = np.arange(-_LEARNT_MM, _LEARNT_MM, _SAMPLE_MM)
        bends = np.linspace(-0.012, 0.012, 25)
        rows = [self.seen(place + _bow(along, heading, float(bend))) for bend in bends]
        row = max(rows, key=lambda one: float(one.mean()))
        inked = (row > 0.5).astype(float)
        if inked.mean() > _FULL:
            return np.ones(1)
        lags = range(round(_SHORTEST_MM / _SAMPLE_MM), round(_LONGEST_MM / _SAMPLE_MM) + 1)
        agreed = {lag: float((inked[lag:] == inked[:-lag]).mean()) for lag in lags}
        most = max(agreed.values())
        period = min(lag for lag in lags if agreed[lag] > most - 0.03)
        folds = [inked[at::period].mean() for at in range(period)]
        return (np.array(folds) > 0.5).astype(float)

    def once_round(self, place: FloatArray, heading: float, dash: FloatArray) -> FloatArray:
        """The whole line as a ring (n, 2) of points in mm that does not cross itself."""
        ring = self.walked(place, heading, dash)
        polygon = shapely.Polygon(ring)
        if not polygon.is_valid or polygon.area < LEAST_MM2:
            raise PatternError("The line that was followed crosses itself; set points along it by hand.")
        return ring

    def walked(self, place: FloatArray, heading: float, dash: FloatArray) -> FloatArray:
        """The whole line as a ring (n, 2) of points in mm."""
        ahead = min(18.0, max(_AHEAD_MM, 1.6 * len(dash) * _SAMPLE_MM))
        ways = _ways_on(ahead)
        count = ways.points.shape[1]
        shifts = np.stack([np.resize(np.roll(dash, -shift), count) for shift in range(len(dash))], axis=1)
        slipped = np.abs(np.arange(len(dash)) - np.arange(len(dash))[:, None])
        slipped = np.minimum(slipped, len(dash) - slipped) * _SAMPLE_MM > _SLIP_MM
        out_of_step = np.zeros(len(dash))
        ring, gone, start, first = [place], 0.0, place, heading
        while gone < _FARTHEST_MM:
            cos, sin = math.cos(heading), math.sin(heading)
            seen = self.seen(place + ways.points @ np.array([[cos, sin], [-sin, cos]]))
            agreed = (seen @ shifts + (1 - seen) @ (1 - shifts)) / count
            scores = agreed - out_of_step - ways.costs[:, None]
            at, shift = divmod(int(np.argmax(scores)), len(dash))
            if agreed[at].max() < _LEAST_AGREED:
                raise PatternError(
                    f"The line was lost after {gone:.0f} mm; follow it from another point, or set points along it by "
                    "hand."
                )
            way = ways.points[at] @ np.array([[cos, sin], [-sin, cos]])
            step = min(_STEP_MM, float(ways.corner_at[at]))
            index = max(1, round(step / _SAMPLE_MM))
            leg = way[index] - way[index - 1]
            place = place + way[index]
            heading = math.atan2(leg[1], leg[0])
            if ways.corner_at[at] <= _STEP_MM:
                heading += float(ways.turns[at])
            gone += index * _SAMPLE_MM
            out_of_step = _OUT_OF_STEP_COSTS * slipped[(shift + index) % len(dash)]
            if gone > 60 and float(np.hypot(*(place - start))) < 1.2 * _STEP_MM:
                if math.cos(heading - first) > 0.8:
                    return np.array(ring)
                if math.cos(heading - first) < -0.8:
                    break
            ring.append(place)
        raise PatternError("The line does not come back to where it began; set points along it by hand.")


def _bow(along: FloatArray, heading: float, bend: float) -> FloatArray:
    """Points (n, 2) along a line through 0, 0 that turns ``bend`` radians a mm."""
    across = bend * along**2 / 2
    cos, sin = math.cos(heading), math.sin(heading)
    return np.stack([cos * along - sin * across, sin * along + cos * across], axis=1)


def _ways_on(ahead: float) -> _Ways:
    """Every way that is tried: arcs that start a little turned or beside, and straight stretches with a corner."""
    along = np.arange(0.0, ahead, _SAMPLE_MM)
    points, costs, corner_at, turns = [], [], [], []
    for turn in np.radians([-6.0, -3.0, 0.0, 3.0, 6.0]):
        for beside in (-0.5, -0.25, 0.0, 0.25, 0.5):
            for bend in np.linspace(-0.03, 0.03, 21):
                way = _bow(along, float(turn), float(bend))
                points.append(way + np.array([0.0, beside]) * np.clip(along / _STEP_MM, 0.0, 1.0)[:, None])
                turned = math.degrees(abs(turn) + abs(bend) * ahead / 2)
                costs.append(_DEGREE_COSTS * turned + 0.01 * abs(beside))
                corner_at.append(math.inf)
                turns.append(0.0)
    for at in np.arange(_SAMPLE_MM, 0.7 * ahead, 1.0):
        for degrees in (*range(-150, -15, 5), *range(20, 151, 5)):
            turn = math.radians(degrees)
            beyond = np.maximum(along - at, 0.0)
            x, y = np.minimum(along, at) + beyond * math.cos(turn), beyond * math.sin(turn)
            points.append(np.stack([x, y], axis=1))
            costs.append(_CORNER_COSTS)
            corner_at.append(float(at))
            turns.append(turn)
    return _Ways(np.array(points), np.array(costs), np.array(corner_at), np.array(turns))
