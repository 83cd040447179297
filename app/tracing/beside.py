"""Several drawings taken as one sheet, each to the right of the one before, so that parts of a piece can be joined."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from app.tracing.found import Found
from geometry.motions import Motion, slide

#: Drawings lie this far apart (mm).
_APART_MM = 50.0


def laid_beside(founds: Sequence[Found]) -> Found:
    """All that was found in some drawings, the first where it lies. How the others were read is asked of them alone."""
    sheet = founds[0]
    for number, found in enumerate(founds[1:], 2):
        _, low, right, _ = _box(sheet)
        left, bottom, _, _ = _box(found)
        sheet = _with(sheet, found, slide(right + _APART_MM - left, low - bottom), number)
    return sheet


def _with(sheet: Found, more: Found, by: Motion, number: int) -> Found:
    def group(name: str) -> str:
        # A block of one drawing is not one of another.
        return f"{name} ({number})" if name else ""

    lines = (replace(one, chain=one.chain.moved(by), group=group(one.group)) for one in more.lines)
    words = (replace(one, at=by.point(one.at), group=group(one.group)) for one in more.words)
    points = (replace(one, at=by.point(one.at), group=group(one.group)) for one in more.points)
    return replace(
        sheet,
        lines=(*sheet.lines, *lines),
        words=(*sheet.words, *words),
        points=(*sheet.points, *points),
        size_source=" and ".join(dict.fromkeys((sheet.size_source, more.size_source))),
        error_mm=max(sheet.error_mm, more.error_mm),
        findings=(*sheet.findings, *more.findings),
    )


def _box(found: Found) -> tuple[float, float, float, float]:
    boxes = [line.chain.box for line in found.lines]
    return (
        min(box[0] for box in boxes), min(box[1] for box in boxes),
        max(box[2] for box in boxes), max(box[3] for box in boxes),
    )  # fmt: skip
