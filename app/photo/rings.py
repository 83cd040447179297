"""Closed rings of points: evened over, and spaced anew with the ways outward."""

from __future__ import annotations

import math

import numpy as np

from app.photo.turnings import STEP_MM
from geometry.motions import FloatArray


def evened(ring: FloatArray, over: float) -> FloatArray:
    """A closed ring (n, 2) in mm of points STEP_MM apart, evened over so many mm."""
    return even_as_it_stands(resampled(ring), over)


def even_as_it_stands(ring: FloatArray, over: float) -> FloatArray:
    """The same points (n, 2) of a ring, STEP_MM apart, evened over so many mm."""
    width = over / STEP_MM / 2.5
    steps = np.arange(-math.ceil(3 * width), math.ceil(3 * width) + 1)
    weights = np.exp(-((steps / width) ** 2) / 2)
    weights /= weights.sum()
    even = np.zeros_like(ring)
    for step, weight in zip(steps, weights):
        even += weight * np.roll(ring, int(step), axis=0)
    return even


def spaced(ring: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points (n, 2) STEP_MM apart round a ring, and the unit ways outward (n, 2) where it runs anticlockwise."""
    points = resampled(ring)
    return points, outward(points)


def outward(points: FloatArray) -> FloatArray:
    """The unit ways outward (n, 2) at points (n, 2) of a ring that runs anticlockwise."""
    along = np.roll(points, -3, axis=0) - np.roll(points, 3, axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    return np.stack([along[:, 1], -along[:, 0]], axis=1)


def resampled(ring: FloatArray) -> FloatArray:
    """The same ring with points (n, 2) STEP_MM apart."""
    closed = np.concatenate([ring, ring[:1]])
    lengths = np.concatenate([[0.0], np.linalg.norm(np.diff(closed, axis=0), axis=1).cumsum()])
    at = np.linspace(0.0, lengths[-1], max(8, round(lengths[-1] / STEP_MM)), endpoint=False)
    return np.stack([np.interp(at, lengths, closed[:, k]) for k in (0, 1)], axis=1)
