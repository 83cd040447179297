"""Lettering as outlines, for machines that have no typefaces: the letters of DejaVu Sans as closed curves."""

from __future__ import annotations

import io
import math
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np

from app.fonts import BOLD, PLAIN, font_bytes
from geometry.lines import Chain, chain
from geometry.motions import Motion
from geometry.pens import Stroke, Words


def outlines(words: Words) -> tuple[Stroke, ...]:
    """The line of lettering as closed strokes of its role, where ``Words`` says that it stands.

    A letter that the typeface lacks is drawn as its empty box.
    """
    scale = words.size_mm / _face(words.bold)["em"]
    cos, sin = scale * math.cos(math.radians(words.angle_deg)), scale * math.sin(math.radians(words.angle_deg))
    x, y = words.base
    strokes: list[Stroke] = []
    for sign in words.words:
        rings, advance = _letter(sign, words.bold)
        laid = Motion(cos, sin, -sin, cos, x, y)
        strokes += [Stroke(words.role, ring.moved(laid), True, words.words) for ring in rings]
        x, y = x + advance * cos, y + advance * sin
    return tuple(strokes)


@cache
def _face(bold: bool) -> dict[str, Any]:
    from fontTools.ttLib import TTFont

    font = TTFont(io.BytesIO(font_bytes(BOLD if bold else PLAIN)))
    return {"letters": font.getGlyphSet(), "map": font.getBestCmap(), "em": font["head"].unitsPerEm}


@cache
def _letter(sign: str, bold: bool) -> tuple[tuple[Chain, ...], float]:
    """A letter's closed curves in the typeface's own units, and how far the next one stands from it."""
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    face = _face(bold)
    name = face["map"].get(ord(sign), ".notdef")
    pen = DecomposingRecordingPen(face["letters"])
    face["letters"][name].draw(pen)
    return tuple(_rings(pen.value)), float(face["letters"][name].width)


def _rings(calls: list[tuple[str, tuple[Any, ...]]]) -> list[Chain]:
    """The curves that a typeface's pen was told: straight, and quadratic with points between left out (TrueType)."""
    rings: list[Chain] = []
    segments: list[list[tuple[float, float]]] = []
    start = at = (0.0, 0.0)
    for verb, points in calls:
        if verb == "moveTo":
            start = at = points[0]
        elif verb == "lineTo":
            if points[0] != at:
                segments.append([at, points[0]])
            at = points[0]
        elif verb == "qCurveTo":
            *offs, end = points
            between = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise(offs)]
            for off, to in zip(offs, [*between, end], strict=True):
                segments.append(_cubic(at, off, to))
                at = to
        elif verb in ("closePath", "endPath"):
            if at != start:
                segments.append([at, start])
            if segments:
                rings.append(chain(segments))
            segments = []
    return rings


def _cubic(
    start: tuple[float, float], off: tuple[float, float], end: tuple[float, float]
) -> list[tuple[float, float]]:
    """A quadratic curve as the cubic that is the same."""
    a, b, c = (np.array(point, dtype=float) for point in (start, off, end))
    return [tuple(a.tolist()), tuple((a + 2 / 3 * (b - a)).tolist()), tuple((c + 2 / 3 * (b - c)).tolist()),
            tuple(c.tolist())]
