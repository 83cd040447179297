"""The proof of true size: printed pages put together again by their own marks carry the outline as it was drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pikepdf
import pytest
import shapely

from app.files.pdf import tiles_pdf
from geometry.drawing import Role
from geometry.lines import flatten
from geometry.print_scale import Correction
from geometry.sheets import A4, BOTH, LETTER, Sheet, SheetSettings
from tests import drawn
from tests.put_together import Picture, Pose, laid, marks, nodes, pictures, rigid

#: How far to either side of where the line should be it is looked for (mm).
REACH = 0.9
#: Nothing else is drawn so near a place that is measured (mm).
CLEAR = 1.6


@dataclass(frozen=True)
class Reading:
    """How far the line on paper lies off the geometry (mm): for 99 of 100 places, and at worst.

    ``share`` of the places were read; the others lie where a page's own joins, names or frame cross the line.
    """

    most: float
    worst: float
    share: float
    read: int
    marks_miss: float


def stations(sheet: Sheet) -> tuple[np.ndarray, np.ndarray]:
    """Places (n, 2) on the cutting lines every 2 mm, clear of all else, and the directions square to them."""
    places, squares = [], []
    for one in sheet.placed:
        cut = next(stroke for stroke in one.there.strokes if stroke.role is Role.CUT)
        others = [shapely.LineString(flatten(s.chain, 0.05)[0]) for s in one.there.strokes if s is not cut]
        others += [shapely.Polygon(words.box()) for words in one.there.words]
        ring = flatten(cut.chain, 0.002)[0]
        turns = np.unwrap(np.arctan2(*np.diff(ring, axis=0).T[::-1]))
        corners = ring[1:-1][np.abs(np.diff(turns)) > 0.15]
        others += [shapely.Point(corner) for corner in (*corners, ring[0])]
        tree = shapely.STRtree(others)
        lengths = np.arange(1.0, cut.chain.length, 2.0)
        for u in cut.chain.at_lengths(lengths):
            at, along = cut.chain.point(float(u)), cut.chain.tangent(float(u))
            if not len(tree.query(shapely.Point(at), predicate="dwithin", distance=CLEAR)):
                places.append(at)
                squares.append((-along[1], along[0]))
    return np.array(places), np.array(squares)


def read_together(pdf: bytes, records: dict[str, Any], sheet: Sheet, settings: SheetSettings) -> Reading:
    """Put the pages together and read the cutting lines off them.

    Of our own numbers only each page's row and column are taken (they are printed on it) and where on the whole the
    first page lies; the rest is fitted rigidly.
    """
    printed = [page for page in records["pages"] if page["page"] is not None]
    seen = pictures(pdf, 1)
    assert len(seen) == len(printed)
    found = [
        nodes(page["row"], page["column"], marks(picture, halves=not settings.overlap_mm))
        for page, picture in zip(printed, seen, strict=True)
    ]
    poses, miss = laid(found) if len(found) > 1 else ([Pose(0.0, np.zeros(2))], 0.0)
    places, squares = stations(sheet)
    # The first page's place on the sheet, y turned over, is where the search begins.
    x0, y0, _, high = printed[0]["live_mm"]
    ox, oy = printed[0]["origin_mm"]
    start = Pose(0.0, np.array([x0 - ox, y0 + high + oy + (settings.page[1] - 2 * y0 - high)]))
    down = np.array([1.0, -1.0])
    whole = start
    for _ in range(3):
        there = whole.there(places * down)
        normal = whole.there(squares * down) - whole.shift
        offs = np.full(len(places), np.nan)
        for picture, pose in zip(seen, poses, strict=True):
            _read_page(picture, pose, there, normal, settings, offs)
        known = ~np.isnan(offs)
        moved = there + np.where(known, offs, 0.0)[:, None] * normal
        if known.sum() >= 20:
            whole = rigid((places * down)[known], moved[known])
    known = ~np.isnan(offs)
    off = np.abs(offs[known])
    return Reading(float(np.percentile(off, 99)), float(off.max()), float(known.mean()), int(known.sum()), miss)


def _read_page(
    picture: Picture, pose: Pose, there: np.ndarray, normal: np.ndarray, settings: SheetSettings, offs: np.ndarray
) -> None:
    """The grey centroid across the line at each place that this page shows, in a band around where it should be."""
    at = pose.back(there)
    high, wide = (size * mm for size, mm in zip(picture.dark.shape, picture.mm[::-1], strict=True))
    margin = settings.margin_mm + 1.3
    inside = (at[:, 0] > margin) & (at[:, 0] < wide - margin) & (at[:, 1] > margin) & (at[:, 1] < high - margin)
    wanted = np.flatnonzero(inside & np.isnan(offs))
    if not len(wanted):
        return
    reach = np.linspace(-REACH, REACH, 73)
    square = pose.back(normal[wanted] + pose.shift)
    around = at[wanted][:, None, :] + reach[None, :, None] * square[:, None, :]
    dark = picture.at(around.reshape(-1, 2)).reshape(len(wanted), -1)
    middle = (dark * reach).sum(axis=1) / np.maximum(dark.sum(axis=1), 1e-9)
    # One line and white beside it: nothing of the page's own crosses here.
    beside = np.where(np.abs(reach - middle[:, None]) > 0.4, dark, 0.0).max(axis=1)
    clear = (beside < 0.05) & (dark.sum(axis=1) > 8) & (np.abs(middle) < REACH - 0.4)
    offs[wanted[clear]] = middle[clear]


WAYS = {
    "A4": SheetSettings(A4),
    "Letter": SheetSettings(LETTER),
    "A4 and Letter": SheetSettings(BOTH, BOTH.margin_mm),
    "A4, edge to edge": SheetSettings(A4, overlap_mm=0.0),
}


@pytest.mark.parametrize("way", WAYS)
def test_pages_put_together_carry_the_outline(way: str) -> None:
    """Within 0.05 mm of the geometry at 99 of 100 places and 0.1 mm at worst; shared marks meet within 0.05 mm."""
    settings = WAYS[way]
    sheet = drawn.arranged(settings)
    pdf, records = tiles_pdf(sheet, settings)
    reading = read_together(pdf, records, sheet, settings)
    assert reading.read > 1500 and reading.share > 0.95, reading
    assert reading.marks_miss < 0.05
    assert reading.most <= 0.05 and reading.worst <= 0.1, reading


@pytest.mark.parametrize("correction", [Correction(99.5, 99.5), Correction(100.5, 100.0)])
def test_half_a_percent_fails(correction: Correction) -> None:
    """Pages drawn half a percent too large or too small, or only across, are found out."""
    settings = WAYS["A4"]
    sheet = drawn.arranged(settings)
    reading = read_together(*tiles_pdf(sheet, settings, correction=correction), sheet, settings)
    assert reading.most > 0.1 and reading.worst > 0.2, reading


def test_content_half_a_millimetre_off_its_marks_fails() -> None:
    """On one page that carries outline what is drawn of the sheet is moved 0.5 mm, its marks are not."""
    settings = WAYS["A4"]
    sheet = drawn.arranged(settings)
    pdf, records = tiles_pdf(sheet, settings)
    reading = read_together(moved_on_page(pdf, 2, 0.5 * 72 / 25.4), records, sheet, settings)
    assert reading.worst > 0.3


def moved_on_page(pdf: bytes, index: int, points: float) -> bytes:
    """The file with the sheet on one page moved to the right by so much."""
    import io

    document = pikepdf.open(io.BytesIO(pdf))
    page = document.pages[index]
    commands = list(pikepdf.parse_content_stream(page))
    draws = next(k for k, command in enumerate(commands) if str(command.operator) == "Do")
    lays = max(k for k in range(draws) if str(commands[k].operator) == "cm")
    numbers = [float(value) for value in commands[lays].operands]
    numbers[4] += points
    commands[lays] = pikepdf.ContentStreamInstruction(numbers, pikepdf.Operator("cm"))
    page.Contents = document.make_stream(pikepdf.unparse_content_stream(commands))
    changed = io.BytesIO()
    document.save(changed)
    return changed.getvalue()
