"""Where an edge of light runs to a small part of a pixel, and how this camera draws an edge.

Blur spreads light evenly to both sides, but a camera's values are not light: they follow a curve, so that the middle of
the values lies outside the bright surface. The curve is measured on the marker sheets' own edges of black on white: the
power is taken under which the middle of the light lies where the edge was printed. (A printer whose black runs out by
0.05 mm shifts a piece's edge by less than that; it is part of the stated error.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.photo.marker_sheets import MARKER_MM, SQUARE_MM, middle_edges
from app.photo.solving import Solved, View
from geometry.motions import FloatArray, Motion

Picture = NDArray[np.uint8]

#: Powers tried of the sRGB curve: 1 is that curve itself, 0.45 about values that are light already.
_POWERS = (0.4, 0.6, 0.8, 1.0, 1.2)
#: The power where there is nothing to measure it on.
USUAL_POWER = 1.0
USUAL_BLUR_PX = 0.9
#: How unsure a blur is, as a share: the usual one where there is nothing to measure it on, and one that was measured.
USUAL_UNSURE, MEASURED_UNSURE = 0.3, 0.015
#: What lies further from an edge than so many blurs says less about it: a table's pattern is not one level.
USUAL_WINDOW = 4.0
#: Steps of a profile across an edge (pixels), and how far the profile of a marker's edge reaches.
_STEP_PX, _REACH_PX = 0.4, 6.0
#: So much white (mm) lies beside a measured edge, and so near (pixels) to what follows it blur has darkened it; a
#: profile is never shorter than this to each side (pixels).
_WHITE_MM, _BESIDE_PX, _LEAST_REACH_PX = (SQUARE_MM - MARKER_MM) / 2, 3.3, 2.0
_STEPS = 14
#: Places along a marker's edge, and blurs tried (pixels).
_ALONG = 12
_BLURS = np.arange(0.4, 4.01, 0.02)


@dataclass(frozen=True)
class Tone:
    """How a camera draws an edge: light is the sRGB curve's (IEC 61966-2-1) to the ``power``; an edge rises by a normal
    curve of ``blur_px``.

    ``shift_px`` is how far the black squares' edges are seen from where they were printed, white outward; ``spread_px``
    how much that differs between edges; ``blur_unsure`` how unsure the blur is, as a share of it.
    """

    power: float = USUAL_POWER
    blur_px: float = USUAL_BLUR_PX
    shift_px: float = 0.0
    spread_px: float = 0.0
    blur_unsure: float = USUAL_UNSURE

    def curve(self) -> NDArray[np.float32]:
        """(256,) light by value."""
        values = np.arange(256) / 255
        light = np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)
        return np.asarray(light**self.power, dtype=np.float32)


def sampled(picture: Picture, curve: NDArray[np.float32], pixels: FloatArray) -> FloatArray:
    """Light (n, channels) at pixels (n, 2), drawn straight between pixels; the nearest one outside the picture."""
    high, wide = picture.shape[:2]
    x, y = np.clip(pixels[:, 0], 0, wide - 1.001), np.clip(pixels[:, 1], 0, high - 1.001)
    left, top = x.astype(np.intp), y.astype(np.intp)
    across, down = (x - left)[:, None], (y - top)[:, None]
    flat = picture.reshape(high * wide, -1)
    at = top * wide + left
    upper = curve[flat[at]] * (1 - across) + curve[flat[at + 1]] * across
    lower = curve[flat[at + wide]] * (1 - across) + curve[flat[at + wide + 1]] * across
    light: FloatArray = upper * (1 - down) + lower * down
    return light


def profiles(
    picture: Picture, tone: Tone, view: View, points: FloatArray, ways: FloatArray, offsets: FloatArray
) -> FloatArray:
    """Light (n, m, channels) across an edge: at points (n, 2) moved along ways (n, 2) by offsets (m,), all in mm."""
    places = points[:, None] + offsets[None, :, None] * ways[:, None]
    light = sampled(picture, tone.curve(), view.pixels(places.reshape(-1, 2)))
    return light.reshape(len(points), len(offsets), -1)


def located(
    light: FloatArray,
    offsets: FloatArray,
    blur: FloatArray,
    start: FloatArray | None = None,
    window: float = USUAL_WINDOW,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Where each profile (n, m) rises from its start's to its end's level, by least squares.

    offsets: (m,) mm; blur: (n,) mm; ``start`` (n,) where to begin to look, if that is known; ``window`` how many
    blurs from the edge a place says less about it. Returns places (n,) in mm, the rise in light (n,) and the misfit's
    rms (n,).
    """
    count = max(2, len(offsets) // 5)
    low, top = light[:, :count].mean(axis=1), light[:, -count:].mean(axis=1)
    share = np.clip((light - low[:, None]) / np.where(np.abs(top - low) < 1e-6, 1e-6, top - low)[:, None], 0, 1)
    step = float(offsets[1] - offsets[0])
    place = offsets[-1] + step / 2 - share.sum(axis=1) * step if start is None else start.copy()
    for _ in range(_STEPS):
        away = (offsets[None] - place[:, None]) / blur[:, None]
        rise, slope = normal_sum(away), np.exp(-(away**2) / 2) / (np.sqrt(2 * np.pi) * blur[:, None])
        weight = np.exp(-((away / window) ** 2))
        miss = light - low[:, None] - (top - low)[:, None] * rise
        rows = np.stack([1 - rise, rise, -(top - low)[:, None] * slope], axis=2)
        normal = np.einsum("nmi,nm,nmj->nij", rows, weight, rows)
        normal += 1e-9 * np.eye(3)
        change = np.linalg.solve(normal, np.einsum("nmi,nm,nm->ni", rows, weight, miss)[..., None])[..., 0]
        limit = blur
        low, top = low + change[:, 0], top + change[:, 1]
        place = np.clip(place + np.clip(change[:, 2], -limit, limit), offsets[0], offsets[-1])
    rms = np.sqrt((weight * miss**2).sum(axis=1) / weight.sum(axis=1))
    return place, top - low, rms


def normal_sum(x: FloatArray) -> FloatArray:
    """The normal distribution's sum up to x, within 1e-7 (Abramowitz and Stegun 7.1.26)."""
    far = np.abs(x) / np.sqrt(2)
    t = 1 / (1 + 0.3275911 * far)
    series = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    tail = 0.5 * series * np.exp(-(far**2))
    return np.where(x > 0, 1 - tail, tail)


def measured_tone(picture: Picture, solved: Solved) -> Tone:
    """The camera's curve and blur from the edges of the black squares in the middle of every group."""
    points, ways = _marker_edges(solved)
    per_pixel = 1 / np.linalg.norm(np.einsum("nij,nj->ni", solved.view.slopes(points), ways), axis=1)
    # White ends where the next marker begins.
    reach = min(_REACH_PX, max(_LEAST_REACH_PX, _WHITE_MM / float(np.median(per_pixel)) - _BESIDE_PX))
    offsets = np.arange(-reach, reach + _STEP_PX / 2, _STEP_PX)
    places = points[:, None] + (offsets[None] * per_pixel[:, None])[..., None] * ways[:, None]
    pixels = solved.view.pixels(places.reshape(-1, 2)).reshape(-1, _ALONG, len(offsets), 2)
    grey = picture if picture.ndim == 2 else np.ascontiguousarray(picture[..., 1])
    whole = ((pixels > 1) & (pixels < np.array(grey.shape[::-1]) - 2)).all(axis=(1, 2, 3))
    tones = [_seen_with(grey, pixels[whole], offsets, power) for power in _POWERS]
    shifts = [tone.shift_px for tone in tones]
    if min(shifts) * max(shifts) > 0:
        return min(tones, key=lambda tone: abs(tone.shift_px))
    # The shift falls as the power grows.
    power = float(np.interp(0.0, shifts[::-1], _POWERS[::-1]))
    return _seen_with(grey, pixels[whole], offsets, power)


def _marker_edges(solved: Solved) -> tuple[FloatArray, FloatArray]:
    """Points (n, 2) along every middle edge of every sheet on the table, and the ways (n, 2) from black to white."""
    shares = np.linspace(0.25, 0.75, _ALONG)
    edges = middle_edges()
    points = (edges[:, :1] + shares[None, :, None] * (edges[:, 1:] - edges[:, :1])).reshape(-1, 2)
    along = np.repeat(edges[:, 1] - edges[:, 0], len(shares), axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    out = np.stack([-along[:, 1], along[:, 0]], axis=1)
    every, ways = [], []
    for x, y, turn in solved.poses:
        cos, sin = float(np.cos(turn)), float(np.sin(turn))
        pose = Motion(cos, sin, -sin, cos, float(x), float(y))
        every.append(pose.points(points))
        ways.append(Motion(cos, sin, -sin, cos).points(out))
    return np.concatenate(every), np.concatenate(ways)


def _seen_with(grey: Picture, pixels: FloatArray, offsets: FloatArray, power: float) -> Tone:
    """How edges seen at pixels (edges, places along, offsets, 2) are drawn, if this is the power."""
    light = sampled(grey, Tone(power).curve(), pixels.reshape(-1, 2)).reshape(pixels.shape[:3]).mean(axis=1)
    low, top = light[:, :4].mean(axis=1)[:, None], light[:, -4:].mean(axis=1)[:, None]
    good = (top - low)[:, 0] > 0.3 * np.median(top - low)
    shapes = (light[good] - low[good]) / (top - low)[good]
    middle = np.median(shapes, axis=0)[None]
    tried = np.repeat(middle, len(_BLURS), axis=0)
    places, _, misfits = located(tried, offsets, _BLURS)
    at = int(misfits.argmin())
    each, _, _ = located(shapes, offsets, np.full(len(shapes), _BLURS[at]))
    return Tone(power, float(_BLURS[at]), -float(places[at]), float(np.std(each)), MEASURED_UNSURE)
