"""Names of lines, marks, darts and edges, set beside them where no line runs; led out or said by a letter where they
have no room there, so that none is dropped.
"""

from __future__ import annotations

import math
import string
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from geometry.letter_widths import width_mm, wrapped
from geometry.lines import Chain, straight
from geometry.motions import FloatArray, Point
from geometry.paper_room import CLEAR_MM, Room, together
from geometry.pens import Role, Stroke, Words

SMALL_MM = (3.0, 2.4, 1.8)
NEAR_MM = (9.0, 14.0, 20.0, 28.0)
#: From here on a line leads from a mark to its words.
LED_MM = 20.0
#: Between a mark and the line that leads from it (mm).
FROM_MARK_MM = 4.0
#: Between words and the line that leads to them (mm).
LEAD_GAP_MM = 0.8
#: How much farther from their line words may stand: at first, and where there is no room so near.
FURTHER_MM, FAR_MM = np.array([0.0, 4.0]), np.array([9.0, 15.0, 22.0, 30.0, 42.0])
#: The run of a line is judged over so much on either side (mm), so that a rough tracing does not sway it.
RUN_MM = 15.0
#: From descender to accent, over the height of the capitals.
LETTER_BOX = 1.7
#: Rows one below the other, over the height of the capitals.
ROW_PITCH = 1.9
SHARES = np.array([0.5, 0.4, 0.6, 0.3, 0.7, 0.25, 0.75, 0.2, 0.8, 0.12, 0.88])
#: How wide the rows may be that say what a letter stands for, over the height of their capitals.
KEY_WIDE = (40.0, 26.0, 18.0, 12.0)


@dataclass(frozen=True)
class Name:
    """What is said of a line, an edge or a mark: the first of ``texts`` that has room.

    ``places`` are (k, 5) places on a line (``places_on``), the words on its left (side 1) or right (-1) and ``rise``
    farther off; or a mark's one ``point``.
    """

    texts: tuple[str, ...]
    places: FloatArray = field(default_factory=lambda: np.zeros((0, 5)))
    sides: tuple[float, ...] = (1.0,)
    rise: float = 0.0
    point: Point | None = None

    @property
    def near(self) -> Point:
        """A place that is named."""
        return self.point or (float(self.places[0, 0]), float(self.places[0, 1]))


@dataclass
class Lettered:
    """Words with the lines that lead to them, and what found no room on the piece."""

    words: list[Words] = field(default_factory=list)
    leads: list[Stroke] = field(default_factory=list)
    unsaid: list[str] = field(default_factory=list)


def set_names(room: Room, names: Iterable[Name], said: Lettered, way: int = 0) -> list[Name]:
    """Set each name beside what it names where it has room in this ``way``; gives back those that have none."""
    return [name for name in names if not (_by_point if name.point is not None else _beside)(room, name, said, way)]


def set_by_letter(room: Room, names: Sequence[Name], said: Lettered, turned_deg: float = 0.0) -> None:
    """Names that have no room clear of joins: a letter beside what is named, and anywhere on the piece what it says.

    Where there is no room for that either, they are set across a join; what has none at all is unsaid, with its letter
    where that could be set.
    """
    letters = list(string.ascii_lowercase)
    for name in names:
        letter, text = f"({letters[0]})", name.texts[0]
        mark = replace(name, texts=(letter,))
        by_letter = len(letters) > 1 and bool(key_rows(room, f"{letter} {text}", name.near, turned_deg))
        by_letter = by_letter and not set_names(room, [mark], said)
        if not by_letter and not set_names(room, [name], said, room.ways[-1]):
            continue
        if not by_letter and (len(letters) == 1 or set_names(room, [mark], said)):
            said.unsaid.append(text)
            continue
        # The letter itself takes paper.
        rows = key_rows(room, f"{letter} {text}", name.near, turned_deg)
        _take(room, rows)
        said.words += rows
        said.unsaid += [] if rows else [f"{letter} {text}"]
        letters.pop(0)


def key_rows(room: Room, text: str, near: Point, turned_deg: float = 0.0) -> list[Words]:
    """The text in one row or more, upright or turned a quarter, where there is free paper clear of joins, as near to a
    point as can be, reading well on a piece turned by ``turned_deg``; it is not taken up."""
    for height, wide in product(SMALL_MM, KEY_WIDE):
        texts = wrapped(text, height, wide * height)
        # Rows that are turned over one by one would change places.
        role = Role.LABEL if len(texts) == 1 else Role.INSTRUCTIONS
        across = max(width_mm(row, height) for row in texts) + 2 * CLEAR_MM
        down = ROW_PITCH * height * len(texts) + 2 * CLEAR_MM
        for angle, box in ((0.0, (across, down)), (90.0, (down, across))):
            centre = room.centre_for(*box, near)
            if centre is not None:
                return list(_rows(texts, height, role, centre, reading(angle, turned_deg)))
    return []


def reading(angle_deg: float, turned_deg: float) -> float:
    """The angle of a block of rows, or half a turn more where it would stand on its head once its piece is turned."""
    there = math.radians(angle_deg + turned_deg)
    on_its_head = math.cos(there) < -1e-9 or (math.cos(there) <= 1e-9 and math.sin(there) < 0)
    return angle_deg + 180.0 if on_its_head else angle_deg


def _rows(texts: Sequence[str], height: float, role: Role, centre: Point, angle: float) -> Iterator[Words]:
    down = (math.sin(math.radians(angle)), -math.cos(math.radians(angle)))
    for number, text in enumerate(texts):
        drop = ROW_PITCH * height * (number + 0.5 - len(texts) / 2)
        yield Words(role, (centre[0] + drop * down[0], centre[1] + drop * down[1]), text, height, angle)


def _take(room: Room, rows: Sequence[Words]) -> None:
    """Take up the paper of rows that stand upright or turned a quarter."""
    if not rows:
        return
    corners = np.concatenate([row.box(CLEAR_MM) for row in rows])
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    room.take(((x0 + x1) / 2, (y0 + y1) / 2), x1 - x0, y1 - y0)


def _beside(room: Room, name: Name, said: Lettered, way: int) -> bool:
    """One of the texts along a line, else square to it, else farther off and led out, at the first free place."""
    places = name.places
    for far in (FURTHER_MM, None, FAR_MM):
        for text, height in product([text for text in name.texts if text.strip()], SMALL_MM):
            width = width_mm(text, height)
            if far is None:
                centres, angles = _square_to(places, width, name.rise, room.cell)
            else:
                centres, angles = _along(places, width, height, name.sides, name.rise + far + room.cell / 2)
            each = len(centres) // len(places)
            starts = np.repeat(places[:, :2], each, axis=0)
            gap = LEAD_GAP_MM + (width / 2 if far is None else LETTER_BOX * height / 2)
            leads = None if far is FURTHER_MM else _leads(starts, centres, gap)
            best = room.first_free(centres, angles, width, LETTER_BOX * height, way, leads)
            if best is not None:
                at = (float(centres[best, 0]), float(centres[best, 1]))
                said.words.append(Words(Role.LABEL, at, text, height, math.degrees(angles[best])))
                if leads is not None:
                    _lead(room, leads[best], text, said)
                return True
    return not any(text.strip() for text in name.texts)


def _leads(starts: FloatArray, centres: FloatArray, gap: float) -> FloatArray:
    """(k, 2, 2) lines from where a line is named to ``gap`` mm before the middle of the words."""
    way = centres - starts
    reach = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    return np.stack([starts, starts + way / reach * np.maximum(reach - gap, 0.0)], axis=1)


def _lead(room: Room, ends: FloatArray, text: str, said: Lettered) -> None:
    (x0, y0), (x1, y1) = ends
    line = straight((float(x0), float(y0)), (float(x1), float(y1)))
    room.take_line(line)
    said.leads.append(Stroke(Role.LABEL, line, name=text))


def _along(
    places: FloatArray, width: float, height: float, sides: tuple[float, ...], off: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Centres (k, 2) mm and angles (k,) radians of words along a line, ``off`` mm from it on these sides."""
    side = np.array(sides)[None, :, None]
    x, y, ux, uy, bend = (column[:, None, None] for column in places.T)
    sagitta = np.maximum(0.0, side * bend * width * width / 8)
    aside = side * (off + LETTER_BOX * height / 2 + CLEAR_MM + sagitta)
    centres = np.stack([x - aside * uy, y + aside * ux], axis=-1).reshape(-1, 2)
    return centres, np.repeat(_readable(places[:, 2], places[:, 3]), len(centres) // len(places))


def _square_to(places: FloatArray, width: float, rise: float, cell: float) -> tuple[FloatArray, FloatArray]:
    """Centres and angles of words that run square into the piece from an edge too short for them."""
    x, y, ux, uy, _ = places.T
    off = rise + width / 2 + CLEAR_MM + cell
    return np.stack([x - off * uy, y + off * ux], axis=-1), _readable(-uy, ux)


def _readable(ux: FloatArray, uy: FloatArray) -> FloatArray:
    """The angles of directions, never on their head: of both half turns the one that reads best."""
    angles: FloatArray = (np.arctan2(uy, ux) + math.pi / 2 - 1e-9) % math.pi - math.pi / 2 + 1e-9
    return angles


def _by_point(room: Room, name: Name, said: Lettered, way: int) -> bool:
    """The words beside a marked point, at the first place that is free, led out where that is far."""
    assert name.point is not None
    x, y = name.point
    for text, height in product([text for text in name.texts if text.strip()], SMALL_MM):
        half = width_mm(text, height) / 2
        for nearer in (True, False):
            ways = [
                (x + dx * (half + (away if not dy else 4.0)), y + dy * away)
                for away in NEAR_MM if (away < LED_MM) is nearer
                for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1))
            ]
            centres = np.array(ways)
            leads = None if nearer else _from_mark(name.point, centres, half, LETTER_BOX * height / 2)
            best = room.first_free(centres, np.zeros(len(ways)), 2 * half, LETTER_BOX * height, way, leads)
            if best is not None:
                said.words.append(Words(Role.LABEL, ways[best], text, height))
                if leads is not None:
                    _lead(room, leads[best], text, said)
                return True
    return not any(text.strip() for text in name.texts)


def _from_mark(point: Point, centres: FloatArray, half: float, up: float) -> FloatArray:
    """(k, 2, 2) lines from beside a mark to the nearest place before each box of words."""
    at = np.array(point)
    size = np.array([half + LEAD_GAP_MM, up + LEAD_GAP_MM])
    ends = np.clip(at, centres - size, centres + size)
    way = ends - at
    reach = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    return np.stack([at + way / reach * np.minimum(FROM_MARK_MM, reach), ends], axis=1)


def places_on(chains: Sequence[Chain]) -> FloatArray:
    """(n, k, 5) for n lines at about k SHARES of their length: x, y, unit direction, curvature."""
    if not chains:
        return np.zeros((0, len(SHARES), 5))
    us, first = [], 0
    for one in chains:
        sums = np.concatenate([[0.0], one.segment_lengths.cumsum()])
        at = SHARES * sums[-1]
        run = min(RUN_MM, 0.09 * float(sums[-1]))
        us.append(first + np.interp([at, at - run, at + run], sums, np.arange(len(sums))))
        first += len(one)
    line = together(np.concatenate([one.cubics for one in chains]))
    here, before, after = np.moveaxis(line.points(np.array(us).ravel()).reshape(len(us), 3, -1, 2), 1, 0)
    half = (after - before) / 2
    reach = np.maximum(np.hypot(half[..., 0], half[..., 1]), 1e-12)[..., None]
    half /= reach
    rise = (after + before) / 2 - here
    bend = 2 * (half[..., :1] * rise[..., 1:] - half[..., 1:] * rise[..., :1]) / reach**2
    return np.concatenate([here, half, bend], axis=-1)
