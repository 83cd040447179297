"""Which reader a file goes to: by what it begins with, not by what it is called."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from app.tracing.found import Found
from app.tracing.limits import refused
from app.tracing.questions import Answers
from app.tracing.watching import UNWATCHED, Watch

#: How the names of files end that may be read.
ENDINGS = (".svg", ".svgz", ".dxf", ".pdf", ".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp")
#: What the usual picture files begin with.
_PICTURES = (b"\xff\xd8\xff", b"\x89PNG\r\n", b"II*\x00", b"MM\x00*", b"BM", b"GIF8")


def is_picture(data: bytes) -> bool:
    """True for a photo or scan, HEIC too."""
    return data.startswith(_PICTURES) or data[4:8] == b"ftyp" or (data[:4] == b"RIFF" and data[8:12] == b"WEBP")


def name_after(file: Path) -> str:
    """What a garment is called after its file."""
    words = file.stem.replace("-", " ").replace("_", " ").strip() or "Garment"
    return words[:1].upper() + words[1:]


def read_found(data: bytes, name: str, answers: Answers, watch: Watch = UNWATCHED) -> Found:
    """What is drawn in an SVG, DXF or PDF, or lies in a picture.

    ``watch`` is told how far a picture or the pages of a PDF have come. Raises PatternError for anything else, and as
    the readers do.
    """
    from app.tracing.dxf_tags import is_dxf

    if not data.strip():
        raise refused(name, "it is empty; get the file once more.")
    if b"%PDF-" in data[:1024]:
        from app.tracing.pdf_reader import read_pdf

        return read_pdf(data, name, answers, watch)
    if is_dxf(data):
        from app.tracing.dxf_reader import read_dxf

        return read_dxf(data, name, answers)
    head = data[:400].lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n\x00")
    if head.startswith((b"<", b"\x1f\x8b")):
        from app.tracing.svg_reader import read_svg

        return read_svg(data, name, answers)
    if is_picture(data):
        from app.photo.tracing import read_photo

        return read_photo(data, name, answers, watch)
    raise refused(name, "it is no SVG, DXF or PDF, and no picture.")


def read_together(parts: Sequence[bytes], name: str, answers: Answers, watch: Watch = UNWATCHED) -> Found:
    """The pieces that several pictures show together. Raises PatternError for what is no picture, and as they do."""
    if not all(is_picture(part) for part in parts):
        raise refused(name, "only pictures are joined on shared marks.")
    from app.photo.tracing import read_photos

    return read_photos(parts, name, answers, watch)
