"""Printed pages put together again as paper is: by the marks found in their pictures, never by our own numbers.

Each page is a picture of 300 dots an inch; its scale is the page's size over the picture's, across and down apart, and
is never fitted. Marks are found by correlation with a drawn diamond, then placed by grey centroids across their sides.
Pages are turned and moved, never stretched, until shared marks meet (least squares).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pypdfium2

DPI = 300
#: The mark as the printing page of the docs says it: corners 3 mm from its middle.
DIAMOND = 3.0
Node = tuple[str, int, int, int]


@dataclass(frozen=True)
class Picture:
    """A page: darkness 0 to 1, and mm a dot across and down."""

    dark: np.ndarray
    mm: tuple[float, float]

    def at(self, points: np.ndarray) -> np.ndarray:
        """Darkness (n,) at points (n, 2) in mm from the upper left corner, y down; bilinear."""
        x, y = points[:, 0] / self.mm[0] - 0.5, points[:, 1] / self.mm[1] - 0.5
        i, j = np.floor(x).astype(int), np.floor(y).astype(int)
        i, j = np.clip(i, 0, self.dark.shape[1] - 2), np.clip(j, 0, self.dark.shape[0] - 2)
        s, t = np.clip(x - i, 0, 1), np.clip(y - j, 0, 1)
        d = self.dark
        upper, lower = d[j, i] * (1 - s) + d[j, i + 1] * s, d[j + 1, i] * (1 - s) + d[j + 1, i + 1] * s
        return upper * (1 - t) + lower * t


def pictures(pdf: bytes, first: int) -> list[Picture]:
    """The pages from number ``first`` (from 0) on."""
    document = pypdfium2.PdfDocument(pdf)
    found = []
    for index in range(first, len(document)):
        page = document[index]
        wide, high = (side * 25.4 / 72 for side in page.get_size())
        grey = np.asarray(page.render(scale=DPI / 72, grayscale=True).to_numpy(), dtype=float).squeeze()
        found.append(Picture(1 - grey / 255, (wide / grey.shape[1], high / grey.shape[0])))
    return found


def marks(picture: Picture, *, halves: bool) -> dict[str, np.ndarray]:
    """Marks by where they stand on the page, as (x, y) mm: "top left" and so on; half ones by side and end."""
    high, wide = (size * mm for size, mm in zip(picture.dark.shape, picture.mm[::-1], strict=True))
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

    First to a dot, by how dark its sides are and how white it is beside them, then fine.
    """
    sides = _sides(inward)
    along = np.linspace(0.08, 0.92, 15)
    points: list[tuple[np.ndarray, float]] = []
    for a, b in sides:
        normal = np.array([b[1] - a[1], a[0] - b[0]]) / math.dist(a, b)
        for at in a + along[:, None] * (b - a):
            points += [(at, 1.0), (at + 0.6 * normal, -0.25), (at - 0.6 * normal, -0.25)]
    rim = 60
    padded = np.pad(picture.dark, rim)
    left, top, wide, high = (round(value / picture.mm[k % 2]) for k, value in enumerate(box))
    left, top = max(0, left), max(0, top)
    score = np.zeros((high, wide))
    for at, weight in points:
        x, y = left + rim + round(at[0] / picture.mm[0]), top + rim + round(at[1] / picture.mm[1])
        part = padded[y : y + high, x : x + wide]
        score[: part.shape[0], : part.shape[1]] += weight / len(sides) / len(along) * part
    row, column = np.unravel_index(int(np.argmax(score)), score.shape)
    if score[row, column] < 0.45:
        return None
    best = np.array([(left + column + 0.5) * picture.mm[0], (top + row + 0.5) * picture.mm[1]])
    for _ in range(4):
        moved = _centred(picture, best, sides)
        if moved is None:
            return None
        best = best + moved
    return best


def _centred(picture: Picture, at: np.ndarray, sides: Sequence[tuple[np.ndarray, np.ndarray]]) -> np.ndarray | None:
    """How far the mark lies off ``at``: grey centroids across each side, the middle one of many, by least squares."""
    reach = np.linspace(-0.5, 0.5, 41)
    rows, offs = [], []
    for a, b in sides:
        normal = np.array([b[1] - a[1], a[0] - b[0]]) / math.dist(a, b)
        places = []
        for share in np.linspace(0.15, 0.85, 25):
            dark = picture.at(at + a + share * (b - a) + reach[:, None] * normal)
            if dark.sum() > 4:
                places.append(float((dark * reach).sum() / dark.sum()))
        if len(places) < 13:
            return None
        rows.append(normal)
        offs.append(float(np.median(places)))
    found: np.ndarray = np.linalg.lstsq(np.array(rows), np.array(offs), rcond=None)[0]
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
