"""Lettering on a piece: name, size, cutting instructions, names of lines and edges, set where no line runs.

The paper of the piece is kept as a grid of square cells, taken where a line or a word lies. Words that find no
free place are set smaller, then elsewhere on their line; never across a line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.letter_widths import shortened, width_mm
from geometry.lines import Chain
from geometry.motions import FloatArray, Point
from geometry.pens import Role, Stroke, Words
from geometry.pieces import Cutting, Edge, Layout, Piece
from geometry.units import say_length

CELL_MM = 2.5
#: Said on a piece whose cutting line cannot be drawn.
NO_CUTTING_LINE = "NO CUTTING LINE: add the allowances by hand"
CLEAR_MM = 1.2
NAME_MM, BODY_MM = 9.0, 4.5
SMALL_MM = (3.0, 2.4, 1.8)
NEAR_MM = (9.0, 14.0, 20.0)
FOLD_RISE_MM = 12.5
FURTHER_MM = np.array([0.0, 4.0])
FIRST_FEW = 4
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
SHARES = np.array([0.5, 0.4, 0.6, 0.3, 0.7, 0.25, 0.75, 0.2, 0.8, 0.12, 0.88])


@dataclass(frozen=True)
class Lettering:
    """What is lettered: lengths by ``say``; ``more`` are further rows under the cutting instructions."""

    edges: bool = True
    lines: bool = True
    block: bool = True
    say: Callable[[float], str] = say_length
    more: tuple[str, ...] = ()


class Room:
    """The free paper inside a closed line, in cells of CELL_MM; words and lines take it up."""

    def __init__(self, outline: Chain, lines: Sequence[Chain]) -> None:
        edge = _sampled(outline.cubics)
        self._low = edge.min(axis=0) - CELL_MM
        columns, rows = np.ceil((edge.max(axis=0) - self._low) / CELL_MM).astype(int) + 2
        self._last = np.array([columns - 1, rows - 1])
        self._free = _filled((edge - self._low) / CELL_MM, int(rows), int(columns))
        self._take(self._cells(edge))
        if lines:
            self._take(self._cells(_sampled(np.concatenate([line.cubics for line in lines]))))

    def first_free(self, centres: FloatArray, angles: FloatArray, width: float, height: float) -> int | None:
        """Which of k boxes first lies on free paper, CLEAR_MM all round; its paper is then taken.

        ``centres`` (k, 2) mm, ``angles`` (k,) radians, box sizes in mm. The first few are tried before the rest.
        """
        for start, stop in ((0, FIRST_FEW), (FIRST_FEW, len(centres))):
            cells = self._cells(_spread(centres[start:stop], angles[start:stop], width, height))
            free = self._free[cells[..., 1], cells[..., 0]].all(axis=1)
            if free.any():
                best = int(np.argmax(free))
                self._take(cells[best])
                return start + best
        return None

    def take(self, centre: Point, width: float, height: float) -> None:
        """Take up an upright box (mm)."""
        self._take(self._cells(_spread(np.array([centre]), np.zeros(1), width, height)))

    def centre_for(self, width: float, height: float, near: Point) -> Point | None:
        """The centre nearest to ``near`` of a free upright box (mm), or None."""
        wide, high = math.ceil(width / CELL_MM) + 1, math.ceil(height / CELL_MM) + 1
        rows, columns = self._free.shape
        if wide > columns or high > rows:
            return None
        sums = np.zeros((rows + 1, columns + 1), dtype=np.int32)
        sums[1:, 1:] = self._free.cumsum(axis=0, dtype=np.int32).cumsum(axis=1)
        inside = sums[high:, wide:] - sums[:-high, wide:] - sums[high:, :-wide] + sums[:-high, :-wide]
        found_row, found_column = np.nonzero(inside == wide * high)
        if not len(found_row):
            return None
        x = self._low[0] + (found_column + wide / 2) * CELL_MM
        y = self._low[1] + (found_row + high / 2) * CELL_MM
        best = int(np.argmin((x - near[0]) ** 2 + (y - near[1]) ** 2))
        return (float(x[best]), float(y[best]))

    def _cells(self, points: FloatArray) -> NDArray[np.intp]:
        """(..., 2) column and row; the outermost cells, never free, stand for all beyond."""
        cells = ((points - self._low) / CELL_MM).astype(np.intp)
        clipped: NDArray[np.intp] = np.minimum(np.maximum(cells, 0), self._last)
        return clipped

    def _take(self, cells: NDArray[np.intp]) -> None:
        self._free[cells[..., 1], cells[..., 0]] = False


def piece_words(
    piece: Piece, outline: Chain, strokes: Iterable[Stroke], widths: Mapping[str, float], what: Lettering
) -> Iterator[Words]:
    """All lettering of a piece. ``outline`` is its stitching line, ``widths`` the allowance (mm) by edge id."""
    room = Room(outline, [stroke.chain for stroke in strokes])
    if what.block:
        yield from _block(room, piece, what)
    if what.lines:
        yield from _line_names(room, piece)
    if what.edges:
        yield from _edge_names(room, piece, widths, what)


def cutting_words(cutting: Cutting) -> str:
    """A cutting instruction: “cut 1 on fold, self”, “cut 1 pair, lining”."""
    ways = {
        Layout.ON_FOLD: f"cut {cutting.count} on fold",
        Layout.PAIR: f"cut {cutting.count} pair" + ("s" if cutting.count > 1 else ""),
        Layout.SINGLE: f"cut {cutting.count}",
    }
    return f"{ways[cutting.layout]}, {cutting.cloth.value}"


def edge_words(edge: Edge, width: float, say: Callable[[float], str]) -> str:
    """An edge's name with its allowance: “side seam, 15 mm allowance”; “place on fold” on a fold edge.

    An allowance that tapers is said at both ends, in outline order.
    """
    if edge.on_fold:
        return "place on fold"
    if edge.tapers:
        first, last = (say(width + change) for change in edge.taper_at_ends)
        return f"{edge.name}, {first} to {last} allowance"
    return f"{edge.name}, " + (f"{say(width)} allowance" if width > 0 else "no allowance")


def _block(room: Room, piece: Piece, what: Lettering) -> list[Words]:
    """Name, size, cutting instructions and ``more`` in one block, as large as the paper allows."""
    rows: list[Row] = [(Role.TITLE, shortened(piece.name), NAME_MM)]
    if piece.size:
        rows.append((Role.INSTRUCTIONS, f"size {piece.size}", BODY_MM))
    rows += [(Role.INSTRUCTIONS, cutting_words(one), BODY_MM) for one in piece.cutting]
    rows += [(Role.INSTRUCTIONS, one, BODY_MM) for one in what.more]
    for scale, in_a_row in BLOCK_WAYS:
        width, height = _block_size(rows, scale, in_a_row)
        for angle, box in ((0.0, (width, height)), (90.0, (height, width))):
            centre = room.centre_for(*box, piece.middle)
            if centre is not None:
                room.take(centre, *box)
                return _set_row(rows, scale, centre, angle) if in_a_row else _set_rows(rows, scale, centre, angle)
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
        yield from _beside(room, places, line.name, sides=(1.0, -1.0))
    for mark in piece.marks:
        yield from _near(room, mark.point, mark.name)
    for dart in piece.darts:
        yield from _near(room, dart.sewn_point, dart.name)
    for inner in piece.inner_darts:
        (x0, y0), (x1, y1) = inner.points
        yield from _near(room, ((x0 + x1) / 2, (y0 + y1) / 2), inner.name)


def _edge_names(room: Room, piece: Piece, widths: Mapping[str, float], what: Lettering) -> Iterator[Words]:
    for edge, places in zip(piece.edges, _places_on([edge.chain for edge in piece.edges])):
        text = edge_words(edge, widths.get(edge.id, 0.0), what.say)
        yield from _beside(room, places, text, sides=(1.0,), rise=FOLD_RISE_MM if edge.on_fold else 0.0)


def _beside(
    room: Room, places: FloatArray, text: str, *, sides: tuple[float, ...], rise: float = 0.0
) -> Iterator[Words]:
    """The words along a line on its left (side 1) or right (side -1), at the first of its places that is free."""
    if not text.strip():
        return
    side = np.array(sides)[None, :, None]
    x, y, ux, uy, bend = (column[:, None, None] for column in places.T)
    # Never on their head: the half turn that reads best.
    angles = (np.arctan2(places[:, 3], places[:, 2]) + math.pi / 2 - 1e-9) % math.pi - math.pi / 2 + 1e-9
    for height in SMALL_MM:
        width = width_mm(text, height)
        sagitta = np.maximum(0.0, side * bend * width * width / 8)
        off = side * (rise + LETTER_BOX * height / 2 + CLEAR_MM + CELL_MM / 2 + sagitta + FURTHER_MM)
        centres = np.stack([x - off * uy, y + off * ux], axis=-1).reshape(-1, 2)
        tries = len(centres) // len(places)
        best = room.first_free(centres, np.repeat(angles, tries), width, LETTER_BOX * height)
        if best is not None:
            at = (float(centres[best, 0]), float(centres[best, 1]))
            yield Words(Role.LABEL, at, text, height, math.degrees(angles[best // tries]))
            return


def _near(room: Room, point: Point, text: str) -> Iterator[Words]:
    """The words beside a marked point, at the first place that is free."""
    if not text.strip():
        return
    for height in SMALL_MM:
        half = width_mm(text, height) / 2
        ways = [
            (point[0] + dx * (away + half), point[1] + dy * away)
            for away in NEAR_MM
            for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))
        ]
        best = room.first_free(np.array(ways), np.zeros(len(ways)), 2 * half, LETTER_BOX * height)
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
    together = _together(np.concatenate([one.cubics for one in chains]))
    here, before, after = np.moveaxis(together.points(np.array(us).ravel()).reshape(len(us), 3, -1, 2), 1, 0)
    half = (after - before) / 2
    reach = np.maximum(np.hypot(half[..., 0], half[..., 1]), 1e-12)[..., None]
    half /= reach
    rise = (after + before) / 2 - here
    bend = 2 * (half[..., :1] * rise[..., 1:] - half[..., 1:] * rise[..., :1]) / reach**2
    return np.concatenate([here, half, bend], axis=-1)


def _together(cubics: FloatArray) -> Chain:
    """Cubics (n, 4, 2) that need not meet, to be evaluated at once."""
    return Chain(cubics, np.zeros(len(cubics), dtype=bool))


def _spread(centres: FloatArray, angles: FloatArray, width: float, height: float) -> FloatArray:
    """(k, m, 2) points less than a cell apart over k boxes with CLEAR_MM all round."""
    wide, high = width / 2 + CLEAR_MM, height / 2 + CLEAR_MM
    across = np.arange(-1, 1.0001, 2 / math.ceil(3 * wide / CELL_MM)) * wide
    up = np.arange(-1, 1.0001, 2 / math.ceil(3 * high / CELL_MM)) * high
    cos, sin = np.cos(angles)[:, None, None], np.sin(angles)[:, None, None]
    spread = np.empty((len(centres), len(across), len(up), 2))
    spread[..., 0] = cos * across[:, None] - sin * up + centres[:, :1, None]
    spread[..., 1] = sin * across[:, None] + cos * up + centres[:, 1:, None]
    return spread.reshape(len(centres), -1, 2)


def _sampled(cubics: FloatArray) -> FloatArray:
    """Points (m, 2) less than a cell apart along cubics (n, 4, 2) that need not meet."""
    sizes = np.linalg.norm(np.diff(cubics, axis=1), axis=2).sum(axis=1)
    counts = np.ceil(sizes / (CELL_MM / 1.5)).astype(int) + 1
    index = np.repeat(np.arange(len(cubics)), counts)
    t = (np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)) / np.maximum(counts[index] - 1, 1)
    return _together(cubics).points(np.minimum(index + t, index + 1 - 1e-9))


def _filled(edge: FloatArray, rows: int, columns: int) -> NDArray[np.bool_]:
    """Cells (rows, columns) whose middle lies inside a closed line of points (m, 2), in cells (even-odd rule)."""
    following = np.roll(edge, -1, axis=0)
    low = np.ceil(np.minimum(edge[:, 1], following[:, 1]) - 0.5).astype(int)
    high = np.ceil(np.maximum(edge[:, 1], following[:, 1]) - 0.5).astype(int)
    counts = high - low
    index = np.repeat(np.arange(len(edge)), counts)
    row = low[index] + np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)
    rise = following[index, 1] - edge[index, 1]
    x = edge[index, 0] + (row + 0.5 - edge[index, 1]) / rise * (following[index, 0] - edge[index, 0])
    column = np.clip(np.ceil(x - 0.5).astype(int), 0, columns)
    toggles = np.bincount(row * (columns + 1) + column, minlength=rows * (columns + 1)).astype(np.int16)
    inside: NDArray[np.bool_] = (toggles.reshape(rows, -1).cumsum(axis=1)[:, :columns] & 1).astype(bool)
    return inside
