"""The cut edge of a piece measured across its rim, along the colours that tell paper from table at each place.

What the paper looks like beside a place is learnt from the rim round about, inside; what the table looks like, outside.
Each channel counts as its own rise over its unevenness there, so that a table which is as light as the paper in places
is told by its colour. A place counts by how plainly its edge is seen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.photo.edges import Picture, Tone, located, profiles
from app.photo.solving import View
from geometry.motions import FloatArray

Bools = NDArray[np.bool_]

#: Paper and table are learnt from the rim to each side of a place (mm), and how uneven the table is there.
_PAPER_MM, _TABLE_MM, _UNEVEN_MM = 8.0, 4.0, 15.0
#: They are looked at no nearer to the edge than this (mm), nor than so many blurs.
_OFF_MM, _OFF_BLURS = 0.9, 2.2
#: The edge is known to lie near where it is looked for no further than this (mm).
_NEAR_MM = 3.0
#: The edge is measured within so many blurs of it.
_WINDOW = 1.7
#: The edge of a place counts nothing when it rises by less than this share of what is usual round about.
_LEAST_RISE = 0.35
#: So many times the usual misfit is an edge that something lies across.
_ODD = 4.0
#: One place counts at most so many times as much as the usual one.
_MOST_WEIGHT = 2.0
#: Light of a channel is no surer than this.
_LEAST_SPREAD = 1e-6


@dataclass(frozen=True, eq=False)
class Edge:
    """Measured points (n, 2) round the piece and what each counts (n,).

    ``doubt`` (n,) is by how many mm (outward above nothing) another way of measuring puts them elsewhere, where there
    is one.
    """

    points: FloatArray
    weights: FloatArray
    doubt: FloatArray | None = None


#: Measures the edge beside points (n, 2) across along ways (n, 2), as far as so many mm.
Measure = Callable[[FloatArray, FloatArray, float], Edge]


def edge_measure(picture: Picture, view: View, tone: Tone) -> Measure:
    """What measures a cut edge in a picture, at points in order along it."""
    return lambda points, ways, reach: _measured(picture, view, tone, points, ways, reach)


def _measured(picture: Picture, view: View, tone: Tone, points: FloatArray, ways: FloatArray, reach: float) -> Edge:
    per_pixel = 1 / np.linalg.norm(np.einsum("nij,nj->ni", view.slopes(points), ways), axis=1)
    step = 0.45 * float(np.median(per_pixel))
    offsets = np.arange(-reach, reach + step / 2, step)
    blur = tone.blur_px * per_pixel
    light = profiles(picture, tone, view, points, ways, offsets)
    off = min(max(_OFF_MM, _OFF_BLURS * float(np.median(blur))), 0.7 * reach)
    apart = float(np.median(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    grey = _told_apart(light, offsets <= -off, offsets >= off, max(apart, 0.1))
    # From near by alone, shadows and streaks beside the edge move it least; how much it moves tells how much they may.
    wide, _, _ = located(grey, offsets, blur, np.zeros(len(points)) if reach <= _NEAR_MM else None)
    places, rises, misfits = located(grey, offsets, blur, wide, _WINDOW)
    good = (rises > _LEAST_RISE) & (np.abs(places) < 0.95 * reach) & (misfits < _ODD * float(np.median(misfits)) + 1e-6)
    plain = (rises / np.maximum(misfits, 1e-6)) ** 2
    weights = np.where(good, np.minimum(plain / float(np.median(plain)), _MOST_WEIGHT), 0.0)
    return Edge(points + places[:, None] * ways, weights, wide - places)


def _told_apart(light: FloatArray, inside: Bools, outside: Bools, apart: float) -> FloatArray:
    """Light (n, m) out of channels (n, m, c): 0 as the paper beside, 1 as the table; ``inside`` and ``outside`` (m,)
    say where on a profile these are seen, ``apart`` how far (mm) profiles stand from each other."""
    paper, table = light[:, inside], light[:, outside]
    here = along(paper.mean(axis=1), _PAPER_MM / apart)
    there = along(table.mean(axis=1), _TABLE_MM / apart)
    middle = along(table.mean(axis=1), _UNEVEN_MM / apart)
    uneven = along((table**2).mean(axis=1), _UNEVEN_MM / apart) - middle**2
    uneven = np.maximum(uneven, 0.0) + ((paper - here[:, None]) ** 2).mean(axis=(0, 1)) + _LEAST_SPREAD
    rise = there - here
    weights = rise / uneven
    whole = np.maximum((weights * rise).sum(axis=1), 1e-9)
    grey: FloatArray = np.einsum("nmc,nc->nm", light - here[:, None], weights / whole[:, None])
    return grey


def along(values: FloatArray, reach: float) -> FloatArray:
    """Means (n, ...) over the neighbours so many places to each side, fewer at the ends."""
    half = round(reach)
    sums = np.concatenate([np.zeros_like(values[:1]), values]).cumsum(axis=0)
    at = np.arange(len(values))
    first, last = np.maximum(at - half, 0), np.minimum(at + half + 1, len(values))
    means: FloatArray = (sums[last] - sums[first]) / (last - first).reshape(-1, *([1] * (values.ndim - 1)))
    return means
