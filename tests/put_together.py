"""Printed pages put together again as paper is: by the marks found in their pictures, never by our own numbers.

Each page is a picture of 300 dots an inch; its scale is the page's size over the picture's, across and down apart, and
is never fitted. Marks are found by correlation with a drawn diamond, then placed by grey centroids across their sides.
Pages are turned and moved, never stretched, until shared marks meet (least squares); then the cutting lines are read
off them (``Mosaic.reading``).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pypdfium2
import shapely

from geometry.drawing import Role
from geometry.lines import flatten
from geometry.sheets import Sheet, SheetSettings

DPI = 300
#: How far to either side of where the line should be it is looked for (mm).
REACH = 0.8
#: Nothing else is drawn so near a place that is measured (mm).
CLEAR = 1.6
#: The mark as the printing page of the docs says it: corners 3 mm from its middle.
DIAMOND = 3.0
Node = tuple[str, int, int, int]


@dataclass(frozen=True)
class Picture:
    """A page: darkness of its dots, 0 to 255, and mm a dot across and down."""

    dark: np.ndarray
    mm: tuple[float, float]

    def at(self, points: np.ndarray) -> np.ndarray:
        """Darkness (n,), 0 to 1, at points (n, 2) in mm from the upper left corner, y down; bilinear."""
        x, y = points[:, 0] / self.mm[0] - 0.5, points[:, 1] / self.mm[1] - 0.5
        i, j = np.floor(x).astype(int), np.floor(y).astype(int)
        i, j = np.clip(i, 0, self.dark.shape[1] - 2), np.clip(j, 0, self.dark.shape[0] - 2)
        s, t = np.clip(x - i, 0, 1), np.clip(y - j, 0, 1)
        d = self.dark
        upper, lower = d[j, i] * (1 - s) + d[j, i + 1] * s, d[j + 1, i] * (1 - s) + d[j + 1, i + 1] * s
        found: np.ndarray = (upper * (1 - t) + lower * t) / 255
        return found

    @property
    def size(self) -> tuple[float, float]:
        """How wide and high the page is (mm)."""
        high, wide = self.dark.shape
        return wide * self.mm[0], high * self.mm[1]


def pictures(pdf: bytes, first: int) -> list[Picture]:
    """The pages from number ``first`` (from 0) on."""
    document = pypdfium2.PdfDocument(pdf)
    return [picture(document[index]) for index in range(first, len(document))]


def picture(page: pypdfium2.PdfPage) -> Picture:
    """One page as it is printed."""
    wide, high = (side * 25.4 / 72 for side in page.get_size())
    grey = page.render(scale=DPI / 72, grayscale=True).to_numpy()
    dark = 255 - grey.reshape(grey.shape[:2])
    return Picture(dark, (wide / dark.shape[1], high / dark.shape[0]))


def marks(picture: Picture, *, halves: bool) -> dict[str, np.ndarray]:
    """Marks by where they stand on the page, as (x, y) mm: "top left" and so on; half ones by side and end."""
    wide, high = picture.size
    found: dict[str, np.ndarray] = {}
    corners = {"top left": (0, 0), "top right": (1, 0), "bottom left": (0, 1), "bottom right": (1, 1)}
    kinds = {"": (0, 0)} if not halves else {"left": (1, 0), "right": (-1, 0), "top": (0, 1), "bottom": (0, -1)}
    for name, (right, down) in corners.items():
        for side, inward in kinds.items():
            if side and side not in name:
                continue
            box = (right * (wide - 34), down * (high - 34), 34.0, 34.0)
            at = _seek(picture, box, inward)
            if at is not None:
                found[f"{name} on the {side}" if side else name] = at
    return found


def _sides(inward: tuple[int, int]) -> list[tuple[np.ndarray, np.ndarray]]:
    """Slanting sides of the mark as pairs of ends about its middle; of a half one those on its own side."""
    tips = [np.array(tip, dtype=float) * DIAMOND for tip in ((1, 0), (0, 1), (-1, 0), (0, -1))]
    sides = [(tips[k], tips[(k + 1) % 4]) for k in range(4)]
    return [(a, b) for a, b in sides if inward == (0, 0) or (a + b) @ np.array(inward) > 0]


def _seek(picture: Picture, box: tuple[float, float, float, float], inward: tuple[int, int]) -> np.ndarray | None:
    """The mark in a part of the page (x, y, width, height mm), or None.

    First to two dots, by how dark its sides are and how white it is beside them, then fine.
    """
    sides = _sides(inward)
    along = np.linspace(0.08, 0.92, 15)
    points: list[tuple[np.ndarray, float]] = []
    for a, b in sides:
        normal = np.array([b[1] - a[1], a[0] - b[0]]) / math.dist(a, b)
        for at in a + along[:, None] * (b - a):
            points += [(at, 1.0), (at + 0.6 * normal, -0.25), (at - 0.6 * normal, -0.25)]
    rim = 30
    mm = np.array(picture.mm) * 2
    left, top, wide, high = (max(0, round(value / mm[k % 2])) for k, value in enumerate(box))
    part = picture.dark[2 * top : 2 * (top + high), 2 * left : 2 * (left + wide)]
    part = part[: len(part) // 2 * 2, : part.shape[1] // 2 * 2].astype(np.float32)
    halved = (part[::2, ::2] + part[1::2, ::2] + part[::2, 1::2] + part[1::2, 1::2]) / 4 / 255
    padded = np.pad(halved, rim)
    high, wide = halved.shape
    score = np.zeros((high, wide), np.float32)
    for at, weight in points:
        x, y = (rim + round(float(value)) for value in at / mm)
        score += weight / len(sides) / len(along) * padded[y : y + high, x : x + wide]
    row, column = np.unravel_index(int(np.argmax(score)), score.shape)
    if score[row, column] < 0.35:
        return None
    best = np.array([left + column + 0.5, top + row + 0.5]) * mm
    for _ in range(4):
        moved = _centred(picture, best, sides)
        if moved is None:
            return None
        best = best + moved
    return best


def _centred(picture: Picture, at: np.ndarray, sides: Sequence[tuple[np.ndarray, np.ndarray]]) -> np.ndarray | None:
    """How far the mark lies off ``at``: grey centroids across each side, the middle one of many, by least squares.

    Where a side is thicker than elsewhere another line runs along it. None where too little of a side is clear.
    """
    reach, shares = np.linspace(-0.5, 0.5, 41), np.linspace(0.15, 0.85, 25)
    ends = np.array(sides)
    along = ends[:, 1] - ends[:, 0]
    normals = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]
    places = at + ends[:, None, :1] + shares[:, None, None] * along[:, None, None]
    places = places + reach[:, None] * normals[:, None, None]
    dark = picture.at(places.reshape(-1, 2)).reshape(len(ends), len(shares), -1)
    ink = dark.sum(axis=2)
    if ink.max() <= 4:
        return None
    clear = (ink > 4) & (ink < 1.3 * np.percentile(ink[ink > 4], 20))
    if clear.sum(axis=1).min() < 9:
        return None
    middles = (dark * reach).sum(axis=2) / np.maximum(ink, 1e-9)
    offs = [np.median(row[good]) for row, good in zip(middles, clear, strict=True)]
    found: np.ndarray = np.linalg.lstsq(normals, np.array(offs), rcond=None)[0]
    return found


def nodes(row: int, column: int, seen: Mapping[str, np.ndarray]) -> dict[Node, np.ndarray]:
    """A page's marks by which crossing of the grid they are; half ones also by which join they stand on."""
    found: dict[Node, np.ndarray] = {}
    for name, at in seen.items():
        corner, _, side = name.partition(" on the ")
        r, c = row - ("top" in corner), column - ("left" in corner)
        if not side:
            found[("", r, c, 0)] = at
        elif side in ("left", "right"):
            found[("upright", column - (side == "left"), row, int("top" in corner))] = at
        else:
            found[("lying", row - (side == "top"), column, int("left" in corner))] = at
    return found


@dataclass(frozen=True)
class Pose:
    """Where a page lies in the mosaic (mm, y down): turned by ``angle`` about its corner, then moved."""

    angle: float
    shift: np.ndarray

    def there(self, points: np.ndarray) -> np.ndarray:
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        return points @ np.array([[cos, sin], [-sin, cos]]) + self.shift

    def back(self, points: np.ndarray) -> np.ndarray:
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        return (points - self.shift) @ np.array([[cos, -sin], [sin, cos]])


def laid(pages: Sequence[Mapping[Node, np.ndarray]]) -> tuple[list[Pose], float]:
    """Where each page lies so that shared marks meet, the first page fixed; and by how far they miss at worst (mm)."""
    poses = _begun(pages)
    count = len(pages)
    for _ in range(6):
        rows, right = [], []
        for i, j, node in _shared(pages):
            row, offs = np.zeros((2, 3 * count)), np.zeros(2)
            for k, sign in ((i, 1.0), (j, -1.0)):
                at = pages[k][node][None]
                there = poses[k].there(at)[0]
                arm = there - poses[k].shift
                row[:, 3 * k] += sign * np.array([-arm[1], arm[0]])
                row[0, 3 * k + 1] += sign
                row[1, 3 * k + 2] += sign
                offs += sign * there
            rows.append(row)
            right.append(-offs)
        matrix, wanted = np.concatenate(rows)[:, 3:], np.concatenate(right)
        step = np.concatenate([np.zeros(3), np.linalg.lstsq(matrix, wanted, rcond=None)[0]]).reshape(-1, 3)
        poses = [Pose(p.angle + d[0], p.shift + d[1:]) for p, d in zip(poses, step, strict=True)]
    misses = [
        float(np.hypot(*(poses[i].there(pages[i][node][None])[0] - poses[j].there(pages[j][node][None])[0])))
        for i, j, node in _shared(pages)
    ]
    return poses, max(misses, default=0.0)


def _shared(pages: Sequence[Mapping[Node, np.ndarray]]) -> list[tuple[int, int, Node]]:
    pairs = [(i, j) for i in range(len(pages)) for j in range(i + 1, len(pages))]
    return [(i, j, node) for i, j in pairs for node in pages[i] if node in pages[j]]


def _begun(pages: Sequence[Mapping[Node, np.ndarray]]) -> list[Pose]:
    """Pages laid one after another beside those that lie, unturned, by one shared mark."""
    placed = {0: Pose(0.0, np.zeros(2))}
    while len(placed) < len(pages):
        for i, j, node in _shared(pages):
            for here, there in ((i, j), (j, i)):
                if here in placed and there not in placed:
                    shift = placed[here].shift + pages[here][node] - pages[there][node]
                    placed[there] = Pose(0.0, shift)
                    break
            else:
                continue
            break
        else:
            raise AssertionError("some pages share no mark with the others")
    return [placed[k] for k in range(len(pages))]


def rigid(points: np.ndarray, onto: np.ndarray) -> Pose:
    """The turn and shift, never a stretch, that lays points (n, 2) on others best (Kabsch 1976)."""
    middle, target = points.mean(axis=0), onto.mean(axis=0)
    a, b = points - middle, onto - target
    angle = math.atan2(float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()), float((a * b).sum()))
    turned = Pose(angle, np.zeros(2)).there(middle[None])[0]
    return Pose(angle, target - turned)


@dataclass(frozen=True)
class Reading:
    """How far the lines on paper lie off the geometry (mm): the middle one, 99 of 100 places, and at worst.

    ``share`` of the places were read; the others lie where a page's own joins, names or frame cross the line.
    ``marks_miss`` is how far shared marks lie apart at worst.
    """

    middle: float
    most: float
    worst: float
    share: float
    read: int
    marks_miss: float

    @property
    def proves(self) -> bool:
        """True size: 99 of 100 places within 0.05 mm and all within 0.1, shared marks within 0.05 mm."""
        return self.most <= 0.05 and self.worst <= 0.1 and self.marks_miss < 0.05


@dataclass(frozen=True)
class Mosaic:
    """The printed pages of a file: what the report says of each, its picture, and the marks found in it."""

    records: tuple[dict[str, Any], ...]
    pages: tuple[Picture, ...]
    found: tuple[dict[Node, np.ndarray], ...]
    settings: SheetSettings

    def with_page(self, index: int, page: Picture) -> Mosaic:
        """With another picture of one page, its marks found in it anew."""
        records, pages, found = (list(part) for part in (self.records, self.pages, self.found))
        pages[index], found[index] = page, _nodes_of(records[index], page, self.settings)
        return replace(self, pages=tuple(pages), found=tuple(found))

    def reading(self, sheet: Sheet) -> Reading:
        """Put the pages together and read the cutting lines off them.

        Of our own numbers only each page's row and column are taken (they are printed on it) and where on the whole
        the first page lies, to begin the search; the rest is fitted rigidly.
        """
        poses, miss = laid(self.found) if len(self.found) > 1 else ([Pose(0.0, np.zeros(2))], 0.0)
        places, squares = stations(sheet)
        # The first page's place on the sheet, y turned over.
        x0, y0, _, high = self.records[0]["live_mm"]
        ox, oy = self.records[0]["origin_mm"]
        aside = (np.array(self.pages[0].size) - self.settings.page) / 2
        whole = Pose(0.0, np.array([x0 - ox, y0 + high + oy + (self.settings.page[1] - 2 * y0 - high)]) + aside)
        down = np.array([1.0, -1.0])
        for _ in range(3):
            there = whole.there(places * down)
            normal = whole.there(squares * down) - whole.shift
            offs = np.full(len(places), np.nan)
            for page, pose in zip(self.pages, poses, strict=True):
                _read_page(page, pose, there, normal, self.settings, offs)
            seen = np.abs(offs) < REACH
            moved = there + np.where(seen, offs, 0.0)[:, None] * normal
            if seen.sum() >= 20:
                whole = rigid((places * down)[seen], moved[seen])
        known = ~np.isnan(offs)
        off = np.abs(offs[known])
        middle, most = np.percentile(off, [50, 99])
        return Reading(float(middle), float(most), float(off.max()), float(known.mean()), int(known.sum()), miss)


def put_together(
    pdf: bytes, records: Mapping[str, Any], settings: SheetSettings, printer: tuple[float, float] = (1.0, 1.0)
) -> Mosaic:
    """The pages of a tiled PDF, the first page left out, as pictures with their marks.

    A ``printer`` that is off prints them so many times as wide and as high.
    """
    printed = tuple(page for page in records["pages"] if page["page"] is not None)
    across, down = printer
    seen = tuple(Picture(one.dark, (one.mm[0] * across, one.mm[1] * down)) for one in pictures(pdf, 1))
    assert len(seen) == len(printed)
    found = tuple(_nodes_of(page, one, settings) for page, one in zip(printed, seen, strict=True))
    return Mosaic(printed, seen, found, settings)


def _nodes_of(record: Mapping[str, Any], page: Picture, settings: SheetSettings) -> dict[Node, np.ndarray]:
    return nodes(record["row"], record["column"], marks(page, halves=not settings.overlap_mm))


def stations(sheet: Sheet) -> tuple[np.ndarray, np.ndarray]:
    """Places (n, 2) on the cutting lines every 2 mm, clear of all else, and the directions square to them.

    A line that runs on the cutting line, as the stitching line does on a fold, is no other line.
    """
    places, squares = [], []
    for one in sheet.placed:
        cut = next(stroke for stroke in one.there.strokes if stroke.role is Role.CUT)
        ring = flatten(cut.chain, 0.002)[0]
        others = [shapely.LineString(flatten(s.chain, 0.05)[0]) for s in one.there.strokes if s is not cut]
        others = list(shapely.difference(others, shapely.buffer(shapely.LineString(ring), 0.06)))
        others += [shapely.Polygon(words.box()) for words in one.there.words]
        turns = np.unwrap(np.arctan2(*np.diff(ring, axis=0).T[::-1]))
        corners = ring[1:-1][np.abs(np.diff(turns)) > 0.15]
        others += [shapely.Point(corner) for corner in (*corners, ring[0])]
        tree = shapely.STRtree(others)
        us = cut.chain.at_lengths(np.arange(1.0, cut.chain.length, 2.0))
        at = cut.chain.points(us)
        near = np.unique(tree.query(shapely.points(at), predicate="dwithin", distance=CLEAR)[0])
        for index in np.setdiff1d(np.arange(len(us)), near):
            along = cut.chain.tangent(float(us[index]))
            places.append(at[index])
            squares.append((-along[1], along[0]))
    return np.array(places), np.array(squares)


def _read_page(
    picture: Picture, pose: Pose, there: np.ndarray, normal: np.ndarray, settings: SheetSettings, offs: np.ndarray
) -> None:
    """The grey centroid across the line at each place that this page shows, in a band around where it should be.

    A place where the paper is blank is off by all of REACH; one where more than a line runs is left as it is.
    """
    at = pose.back(there)
    wide, high = picture.size
    margin = settings.margin_mm + 0.9
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
    alone = np.where(np.abs(reach - middle[:, None]) > 0.4, dark, 0.0).max(axis=1) < 0.05
    blank = dark.sum(axis=1) <= 8
    offs[wanted[alone]] = middle[alone]
    offs[wanted[blank]] = REACH
