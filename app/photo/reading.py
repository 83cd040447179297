"""Reading a photograph or a scan: which kind of file, how large, which way up, how many pixels to the inch.

Size, way up and resolution are read from the file's head before anything is decoded, so that a small file that claims
to be a huge picture is refused unread. Heads by ISO/IEC 10918-1 and JFIF 1.02 (JPEG), the PNG specification, TIFF 6.0,
RIFF WebP, and Exif 2.3.
"""

from __future__ import annotations

import contextlib
import os
import struct
import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.photo.edges import Picture
from geometry.errors import PatternError

#: The most that is decoded (pixels); a larger JPEG is made half as large while it is decoded, up to MOST_JPEG.
MOST_PIXELS = 64_000_000
MOST_JPEG = 4 * MOST_PIXELS
#: Smaller pictures hold nothing to measure (pixels a side).
LEAST_SIDE = 64
MOST_BYTES = 200_000_000
_EXIF_ORIENTATION, _X_RESOLUTION, _Y_RESOLUTION, _RESOLUTION_UNIT = 274, 282, 283, 296
_WIDTH, _HEIGHT = 256, 257
_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8}


@dataclass(frozen=True)
class Head:
    """What a file says of its picture: kind, columns and rows, way up (1 to 8 as in Exif), pixels an inch or None."""

    kind: str
    columns: int
    rows: int
    orientation: int = 1
    dpi: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class Read:
    """A picture: pixels (rows, columns, 3) as blue, green, red, the right way up, and its resolution if the file says
    so (pixels an inch across and down)."""

    pixels: Picture
    dpi: tuple[float, float] | None


def read_picture(data: bytes) -> Read:
    """The picture in a JPEG, PNG, TIFF or WebP file.

    Raises PatternError, saying what to do, for anything else, for damaged files and for too large ones.
    """
    head = read_head(data)
    if min(head.columns, head.rows) < LEAST_SIDE:
        raise PatternError("This picture is too small to measure; take the photo or the scan at its full size.")
    most = MOST_JPEG if head.kind == "JPEG" else MOST_PIXELS
    if head.columns * head.rows > most:
        raise PatternError(
            f"This picture has {head.columns * head.rows / 1e6:.0f} million pixels, more than the {most / 1e6:.0f} "
            "million that can be read; save it smaller or scan at a lower resolution."
        )
    half = head.columns * head.rows > MOST_PIXELS
    pixels = _decoded(data, half)
    if pixels is None:
        raise PatternError(f"This {head.kind} file is damaged and cannot be read; copy it anew or save it again.")
    pixels = _turned(pixels, head.orientation)
    if head.dpi is None:
        return Read(pixels, None)
    across, down = head.dpi[::-1] if head.orientation >= 5 else head.dpi
    return Read(pixels, (across / 2, down / 2) if half else (across, down))


def read_head(data: bytes) -> Head:
    """What a file says of its picture. Raises PatternError when it is no picture that can be read."""
    if len(data) > MOST_BYTES:
        raise PatternError(f"This picture’s file is larger than {MOST_BYTES // 1_000_000} MB; save it smaller.")
    if data[4:8] == b"ftyp" and data[8:12] in (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif"):
        raise PatternError(
            "This is a HEIC photo, which cannot be read; set the camera to take JPEG, or save the photo as JPEG."
        )
    try:
        if data[:3] == b"\xff\xd8\xff":
            return _jpeg(data)
        if data[:8] == b"\x89PNG\r\n\x1a\n":
            return _png(data)
        if data[:4] in (b"II*\0", b"MM\0*"):
            return _tiff(data)
        if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
            return _webp(data)
    except (struct.error, IndexError, KeyError, ZeroDivisionError, ValueError, OverflowError) as error:
        raise PatternError("This picture’s file is damaged; copy it anew or save it again.") from error
    raise PatternError("This file is no picture that can be read; give a JPEG, PNG, TIFF or WebP file.")


def _jpeg(data: bytes) -> Head:
    at, orientation, size = 2, 1, None
    jfif: tuple[float, float] | None = None
    exif: tuple[float, float] | None = None
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            raise ValueError("no segment")
        kind = data[at + 1]
        if kind == 0xFF or 0xD0 <= kind <= 0xD8:
            at += 1 if kind == 0xFF else 2
            continue
        (length,) = struct.unpack_from(">H", data, at + 2)
        body = data[at + 4 : at + 2 + length]
        if kind == 0xDA:
            if data.find(b"\xff\xd9", at) < 0:
                raise PatternError("This JPEG file is cut off; copy it anew from the camera.")
            break
        if 0xC0 <= kind <= 0xCF and kind not in (0xC4, 0xC8, 0xCC):
            rows, columns = struct.unpack_from(">HH", body, 1)
            size = (columns, rows)
        elif kind == 0xE0 and body[:5] == b"JFIF\0":
            unit, across, down = struct.unpack_from(">BHH", body, 7)
            jfif = _per_inch(across, down, {1: 1.0, 2: 2.54}.get(unit))
        elif kind == 0xE1 and body[:6] == b"Exif\0\0":
            # Its own directory may be broken without harm to the picture.
            with contextlib.suppress(struct.error, KeyError, IndexError, ValueError):
                tags = _tags(body[6:])
                orientation, exif = _way_up(tags), _tag_dpi(tags)
        at += 2 + length
    if size is None:
        raise ValueError("no frame")
    return Head("JPEG", *size, orientation, exif or jfif)


def _png(data: bytes) -> Head:
    columns, rows = struct.unpack_from(">II", data, 16)
    at, dpi, orientation = 8, None, 1
    while at + 8 <= len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        if kind == b"pHYs":
            across, down, unit = struct.unpack_from(">IIB", data, at + 8)
            dpi = _per_inch(across, down, 0.0254 if unit == 1 else None)
        elif kind == b"eXIf":
            with contextlib.suppress(struct.error, KeyError, IndexError, ValueError):
                orientation = _way_up(_tags(data[at + 8 : at + 8 + length]))
        elif kind == b"IDAT" and at + 12 + length > len(data):
            raise PatternError("This PNG file is cut off; copy it anew.")
        elif kind == b"IEND":
            return Head("PNG", columns, rows, orientation, dpi)
        at += 12 + length
    raise PatternError("This PNG file is cut off; copy it anew.")


def _tiff(data: bytes) -> Head:
    tags = _tags(data)
    return Head("TIFF", int(tags[_WIDTH]), int(tags[_HEIGHT]), 1, _tag_dpi(tags))


def _webp(data: bytes) -> Head:
    kind = data[12:16]
    if kind == b"VP8X":
        columns = int.from_bytes(data[24:27], "little") + 1
        rows = int.from_bytes(data[27:30], "little") + 1
    elif kind == b"VP8L":
        bits = struct.unpack_from("<I", data, 21)[0]
        columns, rows = (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    elif kind == b"VP8 ":
        columns, rows = (value & 0x3FFF for value in struct.unpack_from("<HH", data, 26))
    else:
        raise ValueError("no frame")
    return Head("WebP", columns, rows)


def _tags(data: bytes) -> dict[int, float]:
    """The numbers of the first directory of a TIFF or Exif block, each tag's first value."""
    order = {b"II": "<", b"MM": ">"}[data[:2]]
    (at,) = struct.unpack_from(order + "I", data, 4)
    (count,) = struct.unpack_from(order + "H", data, at)
    found: dict[int, float] = {}
    for entry in range(min(count, 512)):
        place = at + 2 + 12 * entry
        tag, kind, many = struct.unpack_from(order + "HHI", data, place)
        if kind not in _SIZES or many < 1:
            continue
        where = place + 8 if _SIZES[kind] * many <= 4 else struct.unpack_from(order + "I", data, place + 8)[0]
        if kind == 3:
            found[tag] = struct.unpack_from(order + "H", data, where)[0]
        elif kind == 4:
            found[tag] = struct.unpack_from(order + "I", data, where)[0]
        elif kind == 5:
            above, below = struct.unpack_from(order + "II", data, where)
            found[tag] = above / below if below else 0.0
    return found


def _way_up(tags: dict[int, float]) -> int:
    orientation = int(tags.get(_EXIF_ORIENTATION, 1))
    return orientation if 1 <= orientation <= 8 else 1


def _tag_dpi(tags: dict[int, float]) -> tuple[float, float] | None:
    across = tags.get(_X_RESOLUTION, 0.0)
    return _per_inch(across, tags.get(_Y_RESOLUTION, across), {2: 1.0, 3: 2.54}.get(int(tags.get(_RESOLUTION_UNIT, 2))))


def _per_inch(across: float, down: float, factor: float | None) -> tuple[float, float] | None:
    """A resolution in pixels an inch, or None when there is none that can be meant."""
    if factor is None or not (1 <= across * factor <= 20_000 and 1 <= down * factor <= 20_000):
        return None
    return across * factor, down * factor


def _decoded(data: bytes, half: bool) -> Picture | None:
    import cv2

    flags = (cv2.IMREAD_REDUCED_COLOR_2 if half else cv2.IMREAD_COLOR) | cv2.IMREAD_IGNORE_ORIENTATION
    with _quiet():
        try:
            pixels = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
        except (cv2.error, MemoryError):
            return None
    return None if pixels is None or pixels.ndim != 3 else np.asarray(pixels, dtype=np.uint8)


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """What the decoders print about a damaged file goes nowhere; the one sentence is ours."""
    sys.stderr.flush()
    try:
        kept = os.dup(2)
    except OSError:
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)


def _turned(pixels: Picture, orientation: int) -> Picture:
    """The picture the right way up, from the way that Exif says it was stored."""
    if orientation >= 5:
        pixels = pixels.transpose(1, 0, 2)
    if orientation in (2, 3, 6, 7):
        pixels = pixels[:, ::-1]
    if orientation in (3, 4, 7, 8):
        pixels = pixels[::-1]
    return np.ascontiguousarray(pixels)
