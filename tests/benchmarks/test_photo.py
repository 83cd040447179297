"""A photo of 12 megapixels found and laid flat, against OpenCV's warpPerspective of the same size in the same run."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median
from typing import Any

import cv2
import numpy as np

from app.photo.photographs import by_markers, pieces
from tests.photo_scenes import picture, scene

ROUNDS = 5


def seconds(run: Callable[[], object]) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def test_finding_and_flattening(benchmark: Any) -> None:
    """Sheets found and solved with the lens, the picture laid flat; then the piece's outline besides."""
    photo = picture(scene(1))
    across = np.array([[1.0, 0.01, 3.0], [0.01, 1.0, 4.0], [1e-5, 1e-5, 1.0]])
    size = (photo.shape[1], photo.shape[0])
    warps: list[float] = []
    flats: list[float] = []
    outlines: list[float] = []

    def in_turn() -> None:
        for _ in range(ROUNDS):
            warps.append(seconds(lambda: cv2.warpPerspective(photo, across, size, flags=cv2.INTER_LINEAR)))
            flats.append(seconds(lambda: by_markers(photo)))
        flattened = by_markers(photo)
        outlines.append(seconds(lambda: pieces(flattened)))

    benchmark.pedantic(in_turn, rounds=1, iterations=1)
    benchmark.extra_info |= {
        "warpPerspective, ms": round(median(warps) * 1e3),
        "found and flattened, ms": round(median(flats) * 1e3),
        "ratio": round(median(flats) / median(warps), 1),
        "at most": 20,
        "outline besides, ms": round(median(outlines) * 1e3),
    }
    print(f"\n{benchmark.extra_info}")
    assert median(flats) > 0
