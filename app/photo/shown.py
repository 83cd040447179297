"""A picture reduced so that it can be looked at and pointed into: laid flat in mm, or as it was taken.

What is handed over is encoded anew, so that nothing of a file that somebody else made is decoded where it is shown.
"""

from __future__ import annotations

import math

from app.photo.edges import Picture
from app.photo.flattening import Area
from app.photo.known_sizes import flat_view
from app.photo.photographs import Flattened
from app.photo.solving import View
from app.tracing.found import FoundPicture

#: A picture to look at has no more pixels than this.
MOST_PIXELS = 2_000_000
_QUALITY = 85


def laid_flat_picture(flattened: Flattened) -> FoundPicture:
    """The flat picture, in mm."""
    return _reduced(flattened.flat, flattened.area, flattened.view, in_mm=True)


def picture_as_taken(picture: Picture) -> FoundPicture:
    """A picture whose size is not known: each of its pixels counts as a mm."""
    area = Area(float(picture.shape[1]), float(picture.shape[0]), 1.0)
    return _reduced(picture, area, flat_view(picture, area), in_mm=False)


def _reduced(picture: Picture, area: Area, view: View, *, in_mm: bool) -> FoundPicture:
    import cv2

    rows, columns = picture.shape[:2]
    share = min(1.0, math.sqrt(MOST_PIXELS / (rows * columns)))
    size = (max(1, int(columns * share)), max(1, int(rows * share)))
    small = picture if share == 1.0 else cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    _, data = cv2.imencode(".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    box = (0.0, 0.0, columns * area.pixel_mm, rows * area.pixel_mm)
    return FoundPicture(data.tobytes(), box, view, in_mm)
