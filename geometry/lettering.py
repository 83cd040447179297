"""Lettering on a piece: name, size, cutting instructions, names of lines and edges, set where no line runs.

Words that find no free place on the piece's paper are set smaller, then elsewhere by their line; never across a line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from types import MappingProxyType

import numpy as np

from geometry.letter_widths import shortened, width_mm, wrapped
from geometry.lines import Chain
from geometry.motions import FloatArray, Point
from geometry.paper_room import CELL_MM, CLEAR_MM, Room, together
from geometry.pens import Role, Stroke, Words
from geometry.pieces import Cutting, Edge, Layout, Piece
from geometry.units import say_length

#: Said on a piece whose cutting line cannot be drawn.
NO_CUTTING_LINE = "NO CUTTING LINE: add the allowances by hand"
NAME_MM, BODY_MM = 9.0, 4.5
SMALL_MM = (3.0, 2.4, 1.8)
NEAR_MM = (9.0, 14.0, 20.0, 28.0)
FOLD_RISE_MM = 12.5
#: How much farther from their line words may stand: at first, and where there is no room so near.
FURTHER_MM, FAR_MM = np.array([0.0, 4.0]), np.array([9.0, 15.0, 22.0, 30.0, 42.0])
#: The run of a line is judged over so much on either side (mm), so that a rough tracing does not sway it.
RUN_MM = 15.0
#: Role, words and height (mm) of one row of a block.
Row = tuple[Role, str, float]
#: From descender to accent, over the height of the capitals.
LETTER_BOX = 1.7
#: How name and instructions are tried: the scale, and whether all in a row, as suits a band.
BLOCK_WAYS = ((1.0, False), (0.75, False), (0.6, False), (0.6, True), (0.45, False), (0.45, True))
OUTSIDE_SCALE = 0.6
ROW_GAP_MM = 8.0
ROW_PITCH = 1.9
#: How wide the rows of notes may be, over the height of their capitals.
NOTES_WIDE = (34.0, 22.0)
_TO_NOTHING: Mapping[str, str] = MappingProxyType({})
SHARES = np.array([0.5, 0.4, 0.6, 0.3, 0.7, 0.25, 0.75, 0.2, 0.8, 0.12, 0.88])


@dataclass(frozen=True)
class Lettering:
    """What is lettered: lengths by ``say``; ``more`` are further rows under the cutting instructions.

    ``joined`` says by edge id what an edge is sewn to; ``notes`` are a heading and the notes done, where there are any.
    ``joins`` are joins between pages, in the piece's frame: words cross them only where there is no other room.
    """

    edges: bool = True
    lines: bool = True
    block: bool = True
    say: Callable[[float], str] = say_length
    more: tuple[str, ...] = ()
    joined: Mapping[str, str] = field(default_factory=lambda: _TO_NOTHING)
    notes: tuple[str, ...] = ()
    joins: Sequence[Chain] = ()


def piece_words(
    piece: Piece, outline: Chain, strokes: Iterable[Stroke], widths: Mapping[str, float], what: Lettering
) -> Iterator[Words]:
    """All lettering of a piece. ``outline`` is its stitching line, ``widths`` the allowance (mm) by edge id."""
    lines = [stroke.chain for stroke in strokes]
    wanted = _wanted(piece, what)
    best: tuple[list[Words], Room] | None = None
    # The name is set smaller where it leaves too little room for the rest.
    for first in range(len(BLOCK_WAYS)) if what.block else (0,):
        room = Room(outline, lines, what.joins)
        block = _block(room, piece, what, first) if what.block else []
        if not block and what.block:
            if best is not None:
                break
            block = _outside(piece, what)
        words = [*(_line_names(room, piece) if what.lines else ()), *_edge_names(room, piece, widths, what)]
        if best is None or len(block) + len(words) > len(best[0]):
            best = [*block, *words], room
        if len(words) >= wanted:
            break
    assert best is not None
    yield from best[0]
    if what.notes:
        yield from _notes(best[1], piece, what.notes)


def _wanted(piece: Piece, what: Lettering) -> int:
    """How many names of lines, marks, darts and edges there are to letter."""
    names = [one.name for part in (piece.lines, piece.marks, piece.darts, piece.inner_darts) for one in part]
    return (sum(bool(name.strip()) for name in names) if what.lines else 0) + (len(piece.edges) if what.edges else 0)


def cutting_words(cutting: Cutting) -> str:
    """A cutting instruction: “cut 1 on fold, self”, “cut 1 pair, lining”."""
    ways = {
        Layout.ON_FOLD: f"cut {cutting.count} on fold",
        Layout.PAIR: f"cut {cutting.count} pair" + ("s" if cutting.count > 1 else ""),
        Layout.SINGLE: f"cut {cutting.count}",
    }
    return f"{ways[cutting.layout]}, {cutting.cloth.value}"


def edge_words(edge: Edge, width: float, say: Callable[[float], str], joined: str = "") -> str:
    """An edge's name, what it is sewn to and its allowance: “side seam to Back, 15 mm allowance”.

    A fold edge is “place on fold”. An allowance that tapers is said at both ends, in outline order.
    """
    if edge.on_fold:
        return "place on fold"
    name = f"{edge.name} to {joined}" if joined else edge.name
    if edge.tapers:
        first, last = (say(width + change) for change in edge.taper_at_ends)
        return f"{name}, {first} to {last} allowance"
    return f"{name}, " + (f"{say(width)} allowance" if width > 0 else "no allowance")


def _rows_of(piece: Piece, what: Lettering) -> list[Row]:
    """Name, size, cutting instructions and ``more``."""
    rows: list[Row] = [(Role.TITLE, shortened(piece.name), NAME_MM)]
    if piece.size:
        rows.append((Role.INSTRUCTIONS, f"size {piece.size}", BODY_MM))
    rows += [(Role.INSTRUCTIONS, cutting_words(one), BODY_MM) for one in piece.cutting]
    return rows + [(Role.INSTRUCTIONS, one, BODY_MM) for one in what.more]


def _block(room: Room, piece: Piece, what: Lettering, first: int) -> list[Words]:
    """The rows in one block on the piece, as large as the paper allows; nothing where there is no room.

    The ways to set it before the ``first`` are not tried.
    """
    rows = _rows_of(piece, what)
    for way, (scale, in_a_row) in product(room.ways, BLOCK_WAYS[first:]):
        width, height = _block_size(rows, scale, in_a_row)
        for angle, box in ((0.0, (width, height)), (90.0, (height, width))):
            centre = room.centre_for(*box, piece.middle, way)
            if centre is not None:
                room.take(centre, *box)
                return _set_row(rows, scale, centre, angle) if in_a_row else _set_rows(rows, scale, centre, angle)
    return []


def _outside(piece: Piece, what: Lettering) -> list[Words]:
    """The block below a piece that has no room for it."""
    rows = _rows_of(piece, what)
    x0, y0, x1, _ = piece.polygon.bounds
    below = _block_size(rows, OUTSIDE_SCALE, False)[1] / 2 + _widest(piece)
    return _set_rows(rows, OUTSIDE_SCALE, ((x0 + x1) / 2, y0 - below), 0.0)


def _block_size(rows: list[Row], scale: float, in_a_row: bool) -> tuple[float, float]:
    """Width and height (mm) of the block, rows one below the other or all in a row."""
    widths = [scale * width_mm(text, size, bold=role is Role.TITLE) for role, text, size in rows]
    heights = [scale * ROW_PITCH * size for _, _, size in rows]
    if in_a_row:
        return sum(widths) + scale * ROW_GAP_MM * (len(rows) - 1) + 2 * CLEAR_MM, max(heights) + 2 * CLEAR_MM
    return max(widths) + 2 * CLEAR_MM, sum(heights) + 2 * CLEAR_MM


def _set_row(rows: list[Row], scale: float, centre: Point, angle: float) -> list[Words]:
    along = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    done, words = CLEAR_MM - _block_size(rows, scale, True)[0] / 2, []
    for role, text, size in rows:
        at = (centre[0] + done * along[0], centre[1] + done * along[1])
        words.append(Words(role, at, text, size * scale, angle, "start"))
        done += words[-1].width_mm + scale * ROW_GAP_MM
    return words


def _widest(piece: Piece) -> float:
    return max((edge.width or 0.0) for edge in piece.edges) + 15.0


def _set_rows(rows: list[Row], scale: float, centre: Point, angle: float) -> list[Words]:
    down = (math.sin(math.radians(angle)), -math.cos(math.radians(angle)))
    total = scale * ROW_PITCH * sum(size for _, _, size in rows)
    done, words = 0.0, []
    for role, text, size in rows:
        pitch = scale * ROW_PITCH * size
        drop = done + pitch / 2 - total / 2
        at = (centre[0] + drop * down[0], centre[1] + drop * down[1])
        words.append(Words(role, at, text, size * scale, angle))
        done += pitch
    return words


def _line_names(room: Room, piece: Piece) -> Iterator[Words]:
    for line, places in zip(piece.lines, _places_on([line.chain for line in piece.lines])):
        yield from _beside(room, places, [line.name], sides=(1.0, -1.0))
    for mark in piece.marks:
        yield from _near(room, mark.point, mark.name)
    for dart in piece.darts:
        yield from _near(room, dart.sewn_point, dart.name)
    for inner in piece.inner_darts:
        (x0, y0), (x1, y1) = inner.points
        yield from _near(room, ((x0 + x1) / 2, (y0 + y1) / 2), inner.name)


def _edge_names(room: Room, piece: Piece, widths: Mapping[str, float], what: Lettering) -> Iterator[Words]:
    edges = piece.edges if what.edges else ()
    for edge, places in zip(edges, _places_on([edge.chain for edge in edges])):
        rise = FOLD_RISE_MM if edge.on_fold else 0.0
        whole = (what.joined.get(edge.id, ""), "")
        texts = list(dict.fromkeys(edge_words(edge, widths.get(edge.id, 0.0), what.say, joined) for joined in whole))
        yield from _beside(room, places, texts, sides=(1.0,), rise=rise)


def _notes(room: Room, piece: Piece, notes: Sequence[str]) -> Iterator[Words]:
    """A heading and the notes under it, in rows one below the other, where there is room."""
    for way, height, wide in product(room.ways, SMALL_MM, NOTES_WIDE):
        texts = [row for note in notes for row in wrapped(note, height, wide * height)]
        rows: list[Row] = [(Role.LABEL, text, height) for text in texts]
        width, high = _block_size(rows, 1.0, False)
        for angle, box in ((0.0, (width, high)), (90.0, (high, width))):
            centre = room.centre_for(*box, piece.middle, way)
            if centre is not None:
                room.take(centre, *box)
                yield from _flush_left(_set_rows(rows, 1.0, centre, angle))
                return


def _flush_left(rows: Sequence[Words]) -> Iterator[Words]:
    """Centred rows, all begun where the widest begins."""
    half = max(row.width_mm for row in rows) / 2
    for row in rows:
        cos, sin = math.cos(math.radians(row.angle_deg)), math.sin(math.radians(row.angle_deg))
        yield replace(row, at=(row.at[0] - half * cos, row.at[1] - half * sin), anchor="start")


def _beside(
    room: Room, places: FloatArray, texts: Sequence[str], *, sides: tuple[float, ...], rise: float = 0.0
) -> Iterator[Words]:
    """One of the texts along a line on its left (side 1) or right (side -1), at the first of its places that is free.

    Later texts are tried where an earlier one has no room.
    """
    said = [text for text in texts if text.strip()]
    for way, far in product(room.ways, (FURTHER_MM, None, FAR_MM)):
        for text, height in product(said, SMALL_MM):
            width = width_mm(text, height)
            if far is None:
                centres, angles = _square_to(places, width, height, rise)
            else:
                centres, angles = _along(places, width, height, sides, rise + far)
            best = room.first_free(centres, angles, width, LETTER_BOX * height, way)
            if best is not None:
                at = (float(centres[best, 0]), float(centres[best, 1]))
                yield Words(Role.LABEL, at, text, height, math.degrees(angles[best]))
                return


def _along(
    places: FloatArray, width: float, height: float, sides: tuple[float, ...], off: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Centres (k, 2) mm and angles (k,) radians of words along a line, ``off`` mm from it on these sides."""
    side = np.array(sides)[None, :, None]
    x, y, ux, uy, bend = (column[:, None, None] for column in places.T)
    sagitta = np.maximum(0.0, side * bend * width * width / 8)
    aside = side * (off + LETTER_BOX * height / 2 + CLEAR_MM + CELL_MM / 2 + sagitta)
    centres = np.stack([x - aside * uy, y + aside * ux], axis=-1).reshape(-1, 2)
    return centres, np.repeat(_readable(places[:, 2], places[:, 3]), len(centres) // len(places))


def _square_to(places: FloatArray, width: float, height: float, rise: float) -> tuple[FloatArray, FloatArray]:
    """Centres and angles of words that run square into the piece from an edge too short for them."""
    x, y, ux, uy, _ = places.T
    off = rise + width / 2 + CLEAR_MM + CELL_MM
    return np.stack([x - off * uy, y + off * ux], axis=-1), _readable(-uy, ux)


def _readable(ux: FloatArray, uy: FloatArray) -> FloatArray:
    """The angles of directions, never on their head: of both half turns the one that reads best."""
    angles: FloatArray = (np.arctan2(uy, ux) + math.pi / 2 - 1e-9) % math.pi - math.pi / 2 + 1e-9
    return angles


def _near(room: Room, point: Point, text: str) -> Iterator[Words]:
    """The words beside a marked point, at the first place that is free."""
    if not text.strip():
        return
    for way, height in product(room.ways, SMALL_MM):
        half = width_mm(text, height) / 2
        ways = [
            (point[0] + dx * (half + (away if not dy else 4.0)), point[1] + dy * away)
            for away in NEAR_MM
            for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1))
        ]
        best = room.first_free(np.array(ways), np.zeros(len(ways)), 2 * half, LETTER_BOX * height, way)
        if best is not None:
            yield Words(Role.LABEL, ways[best], text, height)
            return


def _places_on(chains: Sequence[Chain]) -> FloatArray:
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
