"""Takes the picture of a made-up photo with its found outline anew: ``python docs/pictures/photo.py``."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent.parent))

import cv2  # noqa: E402
import numpy as np  # noqa: E402

from app.photo.photographs import by_markers, pieces  # noqa: E402
from geometry.lines import flatten  # noqa: E402
from tests.photo_scenes import usual_small  # noqa: E402


def main() -> None:
    """The photo as taken, the outline in red over it, corners ringed."""
    photo = usual_small().copy()
    flattened = by_markers(photo)
    for one in pieces(flattened):
        line = flattened.view.pixels(flatten(one.outline.chain, 0.02, 5.0)[0])
        cv2.polylines(photo, [np.round(line * 16).astype(np.int32)], True, (40, 40, 230), 4, cv2.LINE_AA, 4)
        for side in one.outline.sides:
            x, y = flattened.view.pixels(np.array([side.start]))[0]
            cv2.circle(photo, (round(x), round(y)), 14, (40, 40, 230), 3, cv2.LINE_AA)
    small = cv2.resize(photo, None, fx=0.45, fy=0.45, interpolation=cv2.INTER_AREA)
    cv2.imwrite(str(HERE / "photo-outline.jpg"), small, [cv2.IMWRITE_JPEG_QUALITY, 82])


if __name__ == "__main__":
    main()
