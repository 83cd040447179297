"""Where the paper ends and the table begins, told by what both look like: a line of sight along the whole rim.

Paper is one colour under a light that changes slowly; a table may be anything, but beside a place it looks as it does
round about. Across the rough rim every place of a profile is weighed by how much likelier it is paper than table, and
the line that parts the two at the least cost without leaping is found for the whole rim at once (Viterbi 1967). So a
streak of the table that is as light as the paper leads the line astray only where nothing else tells the two apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from app.photo.cut_edges import along
from app.photo.edges import Picture, Tone, profiles, sampled
from app.photo.rings import even_as_it_stands, evened, outward, resampled, spaced
from app.photo.solving import View
from app.photo.turnings import STEP_MM
from geometry.motions import FloatArray

#: Places across the rim (mm from it, outward), and what of them is surely the table's.
_ACROSS: FloatArray = np.arange(-7.0, 7.01, 0.25)
_TABLE_FROM = 2.0
#: The table beside a place is learnt from so many mm of the rim to each side.
_BESIDE_MM = 25.0
#: Paper is learnt further inside than this (mm), at so many places at most.
_INSIDE_MM, _MOST_INSIDE = 8.0, 6000
#: What the light does that no bowl follows, as a shadow across the paper, is evened over so many mm.
_SHADOW_MM = 12.0
#: What holds such a plane level where little lies round about: its height, and its slope both ways.
_UNKNOWN = (1e-4, 1e-2, 1e-2)
#: Paper whose light is not known well, as at the tip of a narrow piece, still looks like paper within so much (square
#: root of light), though so much less likely (a logarithm).
_UNSURE, _UNSURE_COSTS = 0.03, 3.0
#: Neighbouring places of the picture tell the same thing: so many count as one.
_ALIKE = 4.0
#: No single place says more than this, as there is lettering on paper and dirt on tables.
_MOST_SAID = 6.0
#: What a leap of one step between neighbouring profiles costs, and how many steps it may be.
_LEAP, _MOST_STEPS = 0.35, 2
#: The line is found so many times, each time across the one before, evened over so many mm.
_TIMES, _EVENED_MM = 2, 2.0
#: A place that is blurred between the two is told for table: the edge lies so many blurs further out.
_OUT_BLURS = 1.2


def parted_rim(picture: Picture, view: View, tone: Tone, rough: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """The rim of the piece that a ring (m, 2) shows within 6 mm: points (n, 2) in mm about STEP_MM apart, and the ways
    outward (n, 2). None where too little is seen to know the paper."""
    ring = rough
    for _ in range(_TIMES):
        paper = paper_of(picture, view, tone, ring)
        if paper is None:
            return None
        points, ways = spaced(evened(ring, _EVENED_MM))
        per_pixel = 1 / np.sqrt(np.abs(np.linalg.det(view.slopes(points))))
        off = parted(picture, view, tone, paper, points, ways) + _OUT_BLURS * tone.blur_px * per_pixel
        ring = points + off[:, None] * ways
    points = resampled(ring)
    return points, outward(even_as_it_stands(points, _EVENED_MM))


@dataclass(frozen=True, eq=False)
class _Beside:
    """What is added to a colour (rows, columns, c) on a grid of so many mm, its first place at ``corner`` (mm)."""

    corner: FloatArray
    step: float
    values: FloatArray

    def at(self, points: FloatArray) -> FloatArray:
        """(n, c) at points (n, 2) mm, drawn straight between; the nearest beyond the grid."""
        rows, columns = self.values.shape[:2]
        x, y = np.clip((points - self.corner) / self.step, 0, np.array([columns, rows]) - 1.001).T
        left, low = x.astype(np.intp), y.astype(np.intp)
        across, up = (x - left)[:, None], (y - low)[:, None]
        first = self.values[low, left] * (1 - across) + self.values[low, left + 1] * across
        next_up = self.values[low + 1, left] * (1 - across) + self.values[low + 1, left + 1] * across
        value: FloatArray = first * (1 - up) + next_up * up
        return value


@dataclass(frozen=True, eq=False)
class Paper:
    """The paper's colour: its square root of light as a bowl over the piece, what shadows take from it beside, and the
    covariance (c, c) about both."""

    middle: FloatArray
    size: float
    factors: FloatArray
    beside: _Beside
    spread: FloatArray

    def at(self, points: FloatArray) -> FloatArray:
        """(n, c) square roots of light at points (n, 2) mm."""
        colour: FloatArray = _bowl((points - self.middle) / self.size) @ self.factors + self.beside.at(points)
        return colour


def paper_of(picture: Picture, view: View, tone: Tone, ring: FloatArray) -> Paper | None:
    """The colour of the piece inside a ring (n, 2) in mm; None for one too small to hold its own middle."""
    inner = shapely.Polygon(ring).buffer(-_INSIDE_MM)
    if inner.is_empty or inner.area < 400.0:
        return None
    x0, y0, x1, y1 = inner.bounds
    step = max(1.0, ((x1 - x0) * (y1 - y0) / _MOST_INSIDE) ** 0.5)
    grid = np.stack(np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step)), axis=-1).reshape(-1, 2)
    places = grid[shapely.contains_xy(inner, grid)]
    if len(places) < 60:
        return None
    seen = np.sqrt(sampled(picture, tone.curve(), view.pixels(places)).astype(np.float64))
    middle, size = places.mean(axis=0), float(np.ptp(places, axis=0).max()) / 2
    rows = _bowl((places - middle) / size)
    weights = np.ones(len(places))
    for _ in range(6):
        heavy = rows * weights[:, None]
        factors = np.linalg.solve(heavy.T @ rows + 1e-6 * np.eye(rows.shape[1]), heavy.T @ seen)
        off = seen - rows @ factors
        far = np.sqrt((off**2).mean(axis=1))
        weights = 1 / (1 + (far / (2 * float(np.median(far)) + 1e-4)) ** 2)
    beside, off = _shadows(places, off, step)
    far = np.sqrt((off**2).mean(axis=1))
    kept = off[far < 3 * np.median(far) + 1e-4]
    spread = np.cov(kept.T).reshape(seen.shape[1], -1) * 1.5 + 4e-5 * np.eye(seen.shape[1])
    return Paper(middle, size, np.asarray(factors, dtype=np.float64), beside, np.asarray(spread, dtype=np.float64))


def _shadows(places: FloatArray, off: FloatArray, step: float) -> tuple[_Beside, FloatArray]:
    """What colours (n, c) at places (n, 2) of a grid are off, by planes through what lies within about _SHADOW_MM, what
    strays from them counting less; and what is left (n, c)."""
    import cv2

    margin = math.ceil(2 * _SHADOW_MM / step)
    corner = places.min(axis=0) - margin * step
    columns, rows = np.round(np.ptp(places, axis=0) / step).astype(int) + 2 * margin + 1
    x, y = np.round((places - corner) / step).astype(np.intp).T
    far_x, far_y = np.meshgrid(np.arange(columns) * step / _SHADOW_MM, np.arange(rows) * step / _SHADOW_MM)
    plane = np.stack([np.ones((rows, columns)), far_x, far_y], axis=-1)

    def evenly(values: FloatArray) -> FloatArray:
        return np.asarray(cv2.GaussianBlur(values, (0, 0), _SHADOW_MM / step, borderType=cv2.BORDER_CONSTANT))

    left, weights = off, np.ones(len(places))
    for _ in range(3):
        count, heavy = np.zeros((rows, columns)), np.zeros((rows, columns, off.shape[1]))
        count[y, x], heavy[y, x] = weights, off * weights[:, None]
        square = np.stack([evenly(count[..., None] * plane * plane[..., k : k + 1]) for k in range(3)], axis=-1)
        pull = np.stack([evenly(heavy * plane[..., k : k + 1]) for k in range(3)], axis=-2)
        # About each place itself, where a slope that is hardly known is none.
        moved = np.zeros((rows, columns, 3, 3)) + np.eye(3)
        moved[..., 1:, 0] = -plane[..., 1:]
        square = moved @ square @ moved.swapaxes(-1, -2) + np.diag(_UNKNOWN) + 1e-9 * np.eye(3)
        heights = np.linalg.solve(square, moved @ pull)[..., 0, :]
        beside = _Beside(corner, step, np.asarray(heights, dtype=np.float64))
        left = off - beside.at(places)
        far = np.sqrt((left**2).mean(axis=1))
        weights = 1 / (1 + (far / (2 * float(np.median(far)) + 1e-4)) ** 2)
    return beside, left


def parted(picture: Picture, view: View, tone: Tone, paper: Paper, points: FloatArray, ways: FloatArray) -> FloatArray:
    """How far (n,) mm outward from points (n, 2) along ways (n, 2) all is surely paper."""
    light = np.sqrt(profiles(picture, tone, view, points, ways, _ACROSS))
    places = points[:, None] + _ACROSS[None, :, None] * ways[:, None]
    return _least(_said(light, paper.at(places.reshape(-1, 2)).reshape(light.shape), paper.spread))


def _said(light: FloatArray, paper: FloatArray, spread: FloatArray) -> FloatArray:
    """(n, m) the logarithm of how much likelier each place is paper than table, within _MOST_SAID."""
    channels = light.shape[2]
    table = light[:, _ACROSS >= _TABLE_FROM]
    mean = along(table.mean(axis=1), _BESIDE_MM / STEP_MM)
    second = along(np.einsum("nmi,nmj->nij", table, table) / table.shape[1], _BESIDE_MM / STEP_MM)
    around = second - mean[:, :, None] * mean[:, None, :] + 1e-4 * np.eye(channels)
    off = light - mean[:, None]
    of_table = -0.5 * np.einsum("nmi,nij,nmj->nm", off, np.linalg.inv(around), off)
    of_table -= 0.5 * np.linalg.slogdet(around)[1][:, None]
    away = light - paper
    of_paper = -0.5 * np.einsum("nmi,ij,nmj->nm", away, np.linalg.inv(spread), away)
    of_paper -= 0.5 * np.linalg.slogdet(spread)[1]
    roughly = -0.5 * (away**2).sum(axis=2) / _UNSURE**2 - channels * math.log(_UNSURE) - _UNSURE_COSTS
    of_paper = np.maximum(of_paper, roughly)
    said: FloatArray = np.clip(of_paper - np.maximum(of_table, -3.0), -_MOST_SAID, _MOST_SAID)
    return said


def _least(said: FloatArray) -> FloatArray:
    """The line of least cost (n,) in mm round the whole rim."""
    count, places = said.shape
    # Before a place all should be paper, from it on all table.
    before = np.concatenate([np.zeros((count, 1)), -said[:, :-1]], axis=1).cumsum(axis=1)
    after = said[:, ::-1].cumsum(axis=1)[:, ::-1]
    cost = (before + after) / _ALIKE
    sharp = np.partition(cost, 8, axis=1)[:, 8] - cost.min(axis=1)
    start = int(sharp.argmax())
    cost = np.roll(cost, -start, axis=0)
    total = np.full(places, np.inf)
    total[int(cost[0].argmin())] = 0.0
    came = np.zeros((count, places), np.int8)
    steps = np.arange(-_MOST_STEPS, _MOST_STEPS + 1)
    padded = np.full(places + 2 * _MOST_STEPS, np.inf)
    for row in range(1, count):
        padded[_MOST_STEPS:-_MOST_STEPS] = total
        tried = np.stack([padded[_MOST_STEPS + s : _MOST_STEPS + s + places] + _LEAP * abs(s) for s in steps])
        best = tried.argmin(axis=0)
        came[row] = steps[best]
        total = np.take_along_axis(tried, best[None], axis=0)[0] + cost[row]
    path = np.empty(count, np.intp)
    path[-1] = int(total.argmin())
    for row in range(count - 1, 0, -1):
        path[row - 1] = path[row] + came[row, path[row]]
    return np.roll(_ACROSS[path] - 0.125, start)


def _bowl(places: FloatArray) -> FloatArray:
    x, y = places[:, 0], places[:, 1]
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y, x**3, x * x * y, x * y * y, y**3], axis=1)
