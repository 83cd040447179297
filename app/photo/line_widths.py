"""How wide a pen or pencil line is, from how its darkness is spread across it.

A line as wide as a camera's blur, or thinner, is seen as a smudge: all that it darkens is its width times how dark its
ink is, and grey ink on a wide line darkens as much as black on a thin one. What tells them apart is that the wide one
is spread a little further than blur alone spreads a line. The smudge is therefore compared with those of all widths,
blurred as the camera is known to blur; widths that fit as well are weighed by how dark ink and pencil are, and how far
they lie apart is how unsure the width is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.photo.edges import normal_sum
from geometry.motions import FloatArray

#: Widths that are tried (mm), as shares of the blur and never less than this many mm.
_THINNEST_MM, _WIDEST_MM, _TRIED = 0.05, 3.2, 160
#: Blurs that are tried, in so many times how unsure it is, but none below this share of the known one; a faint line is
#: smudged a little more by noise and packing (the share for a line as dark as the paper is light, by the square).
_AWAY, _LEAST_BLUR, _FAINT = np.linspace(-3.0, 3.0, 37), 0.2, 0.0006
#: A smudge says as much as so many independent values of it.
_SAYS = 12.0
#: Black ink takes this share of the paper's light, within so much; many lines are drawn in it. Pencil may be as
#: faint as the last share (common practice, no source).
_BLACK, _BLACK_WITHIN, _OFTEN_BLACK, _FAINTEST = 0.93, 0.025, 0.4, 0.2
#: Lines are drawn this wide (mm), within so many times (common practice, no source).
_USUAL_MM, _USUAL_TIMES = 0.6, 1.6
#: A line is not less dark than this share.
_LEAST_DARK = 0.02
#: Smudges are put together in steps of so many mm.
_STEP_MM = 0.02


@dataclass(frozen=True)
class LineWidth:
    """The width of a drawn line and how unsure it is (standard deviation), both in mm."""

    mm: float
    unsure_mm: float


def line_width(offsets: FloatArray, dark: FloatArray, blur_mm: float, blur_unsure: float, reach: float) -> LineWidth:
    """The width of a line that darkens paper by the shares ``dark`` (n,) at ``offsets`` (n,) mm from its middle.

    blur_mm: the standard deviation of the camera's blur, and how unsure it is as a share; ``reach``: as far as this
    (mm) is looked at.
    """
    at, values, counts = _together(offsets, dark, reach)
    widths = np.linspace(_THINNEST_MM, _WIDEST_MM, _TRIED)
    deepest = max(float(values.max()), _LEAST_DARK)
    known = float(np.hypot(blur_unsure, _FAINT / deepest**2))
    blurs = blur_mm * np.maximum(1 + known * _AWAY, _LEAST_BLUR)
    spread = (at + widths[:, None, None] / 2) / blurs[:, None], (at - widths[:, None, None] / 2) / blurs[:, None]
    shapes = (normal_sum(spread[0]) - normal_sum(spread[1])) / widths[:, None, None]
    # By least squares, as much darkness and such a level beside the line as fits best.
    total = counts.sum()
    middle, level = (shapes * counts).sum(axis=2) / total, float((values * counts).sum() / total)
    shapes, values = shapes - middle[..., None], values - level
    darkness = (shapes * values * counts).sum(axis=2) / (shapes * shapes * counts).sum(axis=2)
    left = (counts * (values - darkness[..., None] * shapes) ** 2).sum(axis=2)
    against = _SAYS * (left / max(float(left.min()), 1e-12) - 1) / 2 + _AWAY**2 / 2
    usual = np.exp(-((np.log(widths / _USUAL_MM) / np.log(_USUAL_TIMES)) ** 2) / 2) / widths
    # A width and an ink are one darkness: an even spread of inks is not an even spread of widths.
    heavy = np.exp(-against) * _likely(darkness / widths[:, None]) * (usual / widths)[:, None]
    shares = heavy.sum(axis=1) / max(float(heavy.sum()), 1e-300)
    mean = float((shares * widths).sum())
    within = float(np.sqrt((shares * (widths - mean) ** 2).sum()))
    # As unsure as a blur is, so unsure is each of the two edges that it spreads.
    return LineWidth(mean, float(np.hypot(within, 2 * blur_unsure * blur_mm)))


def _likely(ink: FloatArray) -> FloatArray:
    """How likely it is that a line is drawn in ink or pencil which takes such shares of the light."""
    away = (ink - _BLACK) / _BLACK_WITHIN
    black = np.exp(-(away**2) / 2) / (_BLACK_WITHIN * np.sqrt(2 * np.pi))
    grey = np.where(ink > _BLACK, np.exp(-(away**2) / 2), 1.0) * (ink > _FAINTEST) / (_BLACK - _FAINTEST)
    return _OFTEN_BLACK * black + (1 - _OFTEN_BLACK) * grey


def _together(offsets: FloatArray, dark: FloatArray, reach: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Means of values in steps of their offsets: where these are (m,), the means (m,), of how many each is (m,)."""
    near = np.abs(offsets) < reach
    at = ((offsets[near] + reach) / _STEP_MM).astype(int)
    counts = np.bincount(at).astype(float)
    used = counts > 0
    sums, places = np.bincount(at, dark[near]), np.bincount(at, offsets[near])
    return places[used] / counts[used], sums[used] / counts[used], counts[used]
