"""Sheets of several sizes drawn and scanned for tests, every line's true course known.

A sheet falls as the dice of its seed do: a front or a skirt in four sizes, each with its own kind of line. Armholes,
necks and hips cross; centre fronts or hems may lie on one another for their whole length; straight lines run right
across; the dash begins anywhere, so that corners lie in strokes and in gaps. The lines are 0.35 to 0.6 mm wide on a
scan of 0.25 to 0.35 mm a pixel, a little blurred and noisy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray

from geometry.lines import Chain, chain, flatten, joined, straight

Array = NDArray[np.float64]

#: Strokes and gaps in mm, least and most, of every kind of line that sheets are drawn with.
KINDS: dict[str, tuple[tuple[float, float], ...]] = {
    "full": (),
    "long dashes": ((8.0, 13.0), (2.5, 4.0)),
    "short dashes": ((3.0, 4.5), (1.5, 2.5)),
    "dots": ((0.6, 0.9), (1.4, 2.2)),
    "dash-dot": ((7.0, 10.0), (1.8, 2.6), (0.8, 1.6), (1.8, 2.6)),
    "dash-dot-dot": ((8.0, 11.0), (1.6, 2.2), (0.8, 1.3), (1.6, 2.2), (0.8, 1.3), (1.6, 2.2)),
}
WIDE_MM, HIGH_MM = 300.0, 330.0
_OVER = 4
#: A click goes where no other line is nearer than this, and so far off its line at most (mm).
_ALONE_MM, _OFF_MM = 4.0, 0.6


@dataclass(frozen=True)
class Taken:
    """How a picture of a sheet is taken: pixels and noise (levels of 255) within so much, the quality it is packed with
    as JPEG, by what share light falls off across it under a shade, and by what share lines vary in width."""

    pixel_mm: tuple[float, float] = (0.25, 0.35)
    noise: tuple[float, float] = (2.0, 6.0)
    jpeg: tuple[int, int] | None = None
    uneven: float = 0.0
    varied: float = 0.0


#: Pictures harder than the scan that sheets are usually seen on.
TAKEN = {
    "noise of 10 to 18 levels": Taken(noise=(10.0, 18.0)),
    "JPEG of quality 70 to 80": Taken(jpeg=(70, 80)),
    "light falling by half": Taken(uneven=0.5),
    "widths varying by a third": Taken(varied=0.33),
    "finer, 0.20 to 0.25 mm a pixel": Taken(pixel_mm=(0.20, 0.25)),
    "coarser, 0.35 to 0.42 mm a pixel": Taken(pixel_mm=(0.35, 0.42)),
    "noise, JPEG, light and widths together": Taken(noise=(8.0, 12.0), jpeg=(75, 85), uneven=0.35, varied=0.25),
}


@dataclass(frozen=True, eq=False)
class DrawnLine:
    """One size's line: its kind, strokes and gaps in mm, and its true course (n, 2) in mm, closed."""

    kind: str
    dash: tuple[float, ...]
    points: Array


@dataclass(frozen=True, eq=False)
class LineSheet:
    """A scanned sheet: its lines, a place clicked on each (mm), its picture (rows, columns, 3) and pixels an inch."""

    lines: tuple[DrawnLine, ...]
    clicks: tuple[tuple[float, float], ...]
    picture: NDArray[np.uint8]
    dpi: float

    def pixels(self, points: Array) -> Array:
        """Pixels (n, 2) of points (n, 2) in mm, y up."""
        x, y = points.T * self.dpi / 25.4
        return np.stack([x - 0.5, len(self.picture) - 0.5 - y], axis=1)


def hard_sheet(seed: int, kinds: tuple[str, ...] | None = None, taken: Taken | None = None) -> LineSheet:
    """The sheet of a seed, its sizes drawn with ``kinds`` of line from the smallest on, or as the dice fall, and its
    picture ``taken`` so."""
    dice = np.random.default_rng(41_000 + seed)
    chosen = tuple(dice.permutation(list(KINDS))[:4].tolist())
    chosen = chosen if kinds is None else kinds
    grow = float(dice.uniform(4.5, 8.0))
    share_front, share_hem = bool(dice.random() < 0.5), bool(dice.random() < 0.4)
    shape = _front if dice.random() < 0.6 else _skirt
    turn = float(dice.uniform(-4.0, 4.0))
    courses = [_turned(shape(size, grow, share_front, share_hem, dice.uniform(-1, 1, 2)), turn) for size in range(4)]
    y = dice.uniform(110, 230, 4)
    across = [np.array([(8.0, y[0]), (292.0, y[1])]), np.array([(y[2], 10.0), (y[3] - 40, 320.0)])]
    return _drawn(chosen, courses, across[: 1 + int(dice.random() < 0.5)], dice, taken or Taken())


def plain_sheet(seed: int, taken: Taken | None = None) -> LineSheet:
    """Sizes inside one another as they are graded, each with its own kind of line, that touch nowhere; no line lies
    across."""
    dice = np.random.default_rng(52_000 + seed)
    chosen = tuple(dice.permutation(list(KINDS))[:4].tolist())
    middle = np.array([150.0, 160.0])
    inner = _front(0, 0.0, True, True, dice.uniform(-1, 1, 2)) - middle
    inner = shapely.Polygon(inner).buffer(-15.0, join_style="mitre")
    grow = float(dice.uniform(5.0, 8.0))
    courses = []
    for size in range(4):
        ring = shapely.Polygon(inner).buffer(grow * size, join_style="mitre", mitre_limit=10.0).exterior
        courses.append(shapely.get_coordinates(ring) + middle)
    return _drawn(chosen, courses, [], dice, taken or Taken())


def _front(size: int, grow: float, share_front: bool, share_hem: bool, wild: Array) -> Array:
    """(n, 2) points in mm round one size of a front: armholes and necks of the sizes cross."""
    out = grow * size
    left = 42.0 + (0.0 if share_front else 0.7 * grow * (3 - size))
    hem = 48.0 - (0.0 if share_hem else 0.8 * out)
    side, under = 205.0 + out, 172.0 - 0.9 * out
    tip = (176.0 - 0.8 * out + 2 * wild[0], 266.0 + 0.2 * out)
    neck, deep = (106.0 - 0.3 * out, 286.0 + 0.8 * out), 233.0 + 0.7 * out + 2 * wild[1]
    return _flat(
        [
            straight((left, hem), (side - 8, hem + 2)),
            chain([[(side - 8, hem + 2), (side + 1, hem + 50), (side - 9, under - 40), (side, under)]]),
            chain([[(side, under), (side - 38 - out, under + 12), (tip[0] - 16, tip[1] - 45), tip]]),
            straight(tip, neck),
            chain([[neck, (neck[0] - 4, neck[1] - 28), (left + 34, deep), (left, deep)]]),
            straight((left, deep), (left, hem)),
        ]
    )


def _skirt(size: int, grow: float, share_front: bool, share_hem: bool, wild: Array) -> Array:
    """(n, 2) points in mm round one size of a skirt: hips and waists cross, and so may hems."""
    out = grow * size
    left = 45.0 + (0.0 if share_front else 0.5 * grow * (3 - size))
    hem, rise = 38.0 if share_hem else 44.0 - 0.5 * out, 0.0 if share_hem else 5.0 * (size - 1.5)
    waist, hip = 150.0 + 0.8 * out, 215.0 + out
    level = 285.0 + (2.5 if size % 2 else -2.5) + wild[0]
    return _flat(
        [
            straight((left, hem), (hip + 15 - 0.6 * out, hem + rise)),
            straight((hip + 15 - 0.6 * out, hem + rise), (hip, 190.0 - out)),
            chain([[(hip, 190.0 - out), (hip - 6, 235.0), (waist + 24 - out, 255.0), (waist, level + 9)]]),
            chain([[(waist, level + 9), (waist - 40, level + 2 * wild[1]), (left + 40, level), (left, level)]]),
            straight((left, level), (left, hem)),
        ]
    )


def _flat(parts: list[Chain]) -> Array:
    return flatten(joined(parts), 0.005)[0]


def _turned(points: Array, degrees: float) -> Array:
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    middle = np.array([WIDE_MM, HIGH_MM]) / 2
    turned: Array = (points - middle) @ np.array([[cos, sin], [-sin, cos]]) + middle
    return turned


def strokes_of(line: Array, dash: tuple[float, ...], begin: float) -> list[Array]:
    """The strokes, (n, 2) points each, of a closed line whose dash begins ``begin`` mm before the line does."""
    ring = shapely.LineString(line)
    if not dash:
        return [line]
    parts, at, on = [], -begin, 0
    while at < ring.length:
        run = dash[on % len(dash)]
        if on % 2 == 0 and at + run > 0:
            part = shapely.ops.substring(ring, max(at, 0.0), min(at + run, ring.length))
            parts.append(shapely.get_coordinates(part))
        at, on = at + run, on + 1
    return parts


def _drawn(
    kinds: tuple[str, ...], courses: list[Array], across: list[Array], dice: np.random.Generator, taken: Taken
) -> LineSheet:
    dpi, pen = 25.4 / float(dice.uniform(*taken.pixel_mm)), float(dice.uniform(0.35, 0.6))
    rows, columns = math.ceil(HIGH_MM * dpi / 25.4), math.ceil(WIDE_MM * dpi / 25.4)
    step, high = dpi * _OVER / 25.4, rows * 25.4 / dpi
    image = np.full((rows * _OVER, columns * _OVER), 235, np.uint8)
    lines, parts = [], list(across)
    for kind, course in zip(kinds, courses, strict=True):
        closed = np.concatenate([course, course[:1]]) if (course[0] != course[-1]).any() else course
        dash = tuple(float(dice.uniform(*span)) for span in KINDS[kind])
        lines.append(DrawnLine(kind, dash, closed))
        parts += strokes_of(closed, dash, float(dice.uniform(0.0, sum(dash) or 1.0)))
    for points in parts:
        for stretch, width in _of_widths(points, pen, taken.varied, dice):
            there = np.stack([stretch[:, 0], high - stretch[:, 1]], axis=1) * step - 0.5
            thick = round(width * step)
            cv2.polylines(image, [np.round(there * 16).astype(np.int32)], False, 25, thick, cv2.LINE_AA, 4)
    clicks = tuple(_clicked(at, lines, across, dice) for at in range(len(lines)))
    small = cv2.resize(image, (columns, rows), interpolation=cv2.INTER_AREA)
    blurred = cv2.GaussianBlur(small, (0, 0), float(dice.uniform(0.5, 0.9)))
    rough = float(dice.uniform(*taken.noise))
    lit = blurred * _light(small.shape, taken.uneven, dice) if taken.uneven else blurred
    grey = np.clip(lit + dice.normal(0, rough, small.shape), 0, 255).astype(np.uint8)
    picture = np.ascontiguousarray(np.repeat(grey[..., None], 3, axis=2))
    if taken.jpeg:
        quality = [cv2.IMWRITE_JPEG_QUALITY, int(dice.integers(*taken.jpeg))]
        picture = np.asarray(cv2.imdecode(cv2.imencode(".jpg", picture, quality)[1], cv2.IMREAD_COLOR), np.uint8)
    return LineSheet(tuple(lines), clicks, picture, dpi)


def _of_widths(points: Array, pen: float, varied: float, dice: np.random.Generator) -> list[tuple[Array, float]]:
    """Stretches of a stroke, (n, 2) points each, and how wide each is (mm): by so large a share more or less."""
    line = shapely.LineString(points)
    if not varied:
        return [(points, pen)]
    cuts = np.arange(0.0, line.length, 1.5).tolist()
    return [
        (
            shapely.get_coordinates(shapely.ops.substring(line, cut, min(cut + 1.5, line.length))),
            pen * (1 + varied * float(dice.uniform(-1.0, 1.0))),
        )
        for cut in cuts
    ]


def _light(shape: tuple[int, int], uneven: float, dice: np.random.Generator) -> Array:
    """The light on every pixel, 1 at most: it falls off from one side, and a hand's soft shade lies on it."""
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]] / max(shape)
    turn = float(dice.uniform(0.0, 2 * math.pi))
    ramp = math.cos(turn) * x + math.sin(turn) * y
    shade = 1 / (1 + np.exp(-(np.hypot(*(np.stack([x, y]).T - dice.uniform(0.2, 0.8, 2)).T) - 0.25) / 0.02))
    return np.asarray(1 - uneven * (0.6 * (ramp - ramp.min()) / np.ptp(ramp) + 0.4 * (1 - shade)))


def _clicked(at: int, lines: list[DrawnLine], across: list[Array], dice: np.random.Generator) -> tuple[float, float]:
    """A place on one of the lines where it runs alone, clicked a little beside it."""
    ring = shapely.LineString(lines[at].points)
    others = shapely.union_all(
        [shapely.LineString(line.points) for line in lines[:at] + lines[at + 1 :]]
        + [shapely.LineString(points) for points in across]
    )
    for _ in range(500):
        place = ring.interpolate(float(dice.uniform(0.0, ring.length)))
        if place.distance(others) > _ALONE_MM:
            break
    off = dice.uniform(-_OFF_MM, _OFF_MM, 2)
    return place.x + float(off[0]), place.y + float(off[1])
