"""Lettering on a piece: name, size, cutting instructions, names of lines and edges, set where no line runs.

Words that find no free place on the piece's paper are set smaller, then elsewhere by their line, then said by a letter;
never across a line. What has no room at all is given back, to be said elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from types import MappingProxyType

from geometry.letter_widths import MOST_LETTERS, shortened, width_mm, wrapped
from geometry.lines import Chain
from geometry.motions import Point
from geometry.named_lines import ROW_PITCH, SMALL_MM, Lettered, Name, places_on, reading, set_by_letter, set_names
from geometry.paper_room import CLEAR_MM, Room
from geometry.pens import Role, Stroke, Words
from geometry.pieces import Cutting, Edge, Layout, Piece
from geometry.units import say_length

#: Said on a piece whose cutting line cannot be drawn.
NO_CUTTING_LINE = "NO CUTTING LINE: add the allowances by hand"
#: Said along a fold that has no room for more; its bracket says the rest.
ON_FOLD_SHORT = "fold"
NAME_MM, BODY_MM = 9.0, 4.5
#: A wider name (mm) goes on in another row, where there is little room a narrower one too.
NAME_WIDE_MM, NARROW_MM = 160.0, 80.0
FOLD_RISE_MM = 12.5
#: Role, words and height (mm) of one row of a block.
Row = tuple[Role, str, float]
#: A name is cut short to so many letters rather than set beside its piece, where it would be cut off.
FEW_LETTERS = 24


@dataclass(frozen=True)
class _Way:
    """How name and instructions are set: their scale, whether all in a row, as suits a band, how wide (mm, before they
    are scaled) the name's rows may be, and how many letters it may have."""

    scale: float
    in_a_row: bool = False
    wide: float = NAME_WIDE_MM
    letters: int = MOST_LETTERS


BLOCK_WAYS = (
    *(_Way(scale) for scale in (1.0, 0.75, 0.6)), _Way(0.6, True), _Way(0.6, wide=NARROW_MM), _Way(0.45),
    _Way(0.45, True), _Way(0.45, wide=NARROW_MM), _Way(0.4, True),
    *(_Way(scale, wide=NARROW_MM, letters=FEW_LETTERS) for scale in (0.6, 0.45, 0.4)),
    *(_Way(scale, letters=FEW_LETTERS) for scale in (0.45, 0.4)), _Way(0.4, True, letters=FEW_LETTERS),
)
OUTSIDE_SCALE = 0.6
ROW_GAP_MM = 8.0
#: How wide the rows of notes may be, over the height of their capitals.
NOTES_WIDE = (34.0, 22.0)
_TO_NOTHING: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True)
class Lettering:
    """What is lettered: lengths by ``say``; ``more`` are further rows under the cutting instructions.

    ``joined`` says by edge id what an edge is sewn to; ``notes`` are a heading and the notes done, where there are any.
    ``joins`` are joins between pages, in the piece's frame: words cross them only where there is no other room.
    ``opened`` is for a piece on the fold that is opened out whole. Blocks of rows are set so that they read where
    the piece lies turned anticlockwise by ``turned_deg``.
    """

    edges: bool = True
    lines: bool = True
    block: bool = True
    say: Callable[[float], str] = say_length
    more: tuple[str, ...] = ()
    joined: Mapping[str, str] = field(default_factory=lambda: _TO_NOTHING)
    notes: tuple[str, ...] = ()
    joins: Sequence[Chain] = ()
    opened: bool = False
    turned_deg: float = 0.0


def letter(
    piece: Piece, outline: Chain, strokes: Iterable[Stroke], widths: Mapping[str, float], what: Lettering
) -> Lettered:
    """All lettering of a piece, and what has no room on it.

    ``outline`` is its stitching line, ``widths`` the allowance (mm) by edge id.
    """
    lines = [stroke.chain for stroke in strokes]
    names = [*(_line_names(piece) if what.lines else ()), *(_edge_names(piece, widths, what) if what.edges else ())]
    said, left, room = _name_and_names(piece, outline, lines, names, what)
    set_by_letter(room, left, said, what.turned_deg)
    if what.notes:
        rows = list(_notes(room, piece, what))
        said.words += rows
        said.unsaid += [] if rows else what.notes
    return said


def _name_and_names(
    piece: Piece, outline: Chain, lines: Sequence[Chain], names: Sequence[Name], what: Lettering
) -> tuple[Lettered, list[Name], Room]:
    """Name and instructions, then the names of lines and edges; those that have no room, and the room that is left.

    The name is set smaller where it leaves too little room for the rest.
    """
    best: tuple[Lettered, list[Name], Room] | None = None
    way = 0 if what.block else len(BLOCK_WAYS)
    while best is None or (best[1] and way < len(BLOCK_WAYS) and BLOCK_WAYS[way].letters > FEW_LETTERS):
        room, block = Room(outline, lines, what.joins), list[Words]()
        if what.block:
            block, way = _block(room, piece, what, way)
            if not block and best is not None:
                break
        said = Lettered(block or (_outside(piece, what) if what.block else []))
        left = set_names(room, names, said)
        if best is None or len(left) < len(best[1]):
            best = said, left, room
        way += 1
    return best


def cutting_words(cutting: Cutting, *, opened: bool = False) -> str:
    """A cutting instruction: “cut 1 on fold, self”, “cut 1 pair, lining”; for a half ``opened`` out “cut 1, opened
    out, self”."""
    ways = {
        Layout.ON_FOLD: f"cut {cutting.count}, opened out" if opened else f"cut {cutting.count} on fold",
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


def _rows_of(piece: Piece, what: Lettering, way: _Way) -> list[Row]:
    """Name, size, cutting instructions and ``more``."""
    name = wrapped(shortened(piece.name, way.letters), NAME_MM, way.wide)
    rows: list[Row] = [(Role.TITLE, row, NAME_MM) for row in name]
    if piece.size:
        rows.append((Role.INSTRUCTIONS, f"size {piece.size}", BODY_MM))
    rows += [(Role.INSTRUCTIONS, cutting_words(one, opened=what.opened), BODY_MM) for one in piece.cutting]
    return rows + [(Role.INSTRUCTIONS, one, BODY_MM) for one in what.more]


def _block(room: Room, piece: Piece, what: Lettering, first: int) -> tuple[list[Words], int]:
    """The rows in one block on the piece, as large as the paper allows, and by which way; nothing where there is no
    room.

    The ways to set it before the ``first`` are not tried.
    """
    for paper, number in product(room.ways, range(first, len(BLOCK_WAYS))):
        way = BLOCK_WAYS[number]
        rows = _rows_of(piece, what, way)
        width, height = _block_size(rows, way.scale, way.in_a_row)
        for angle, box in ((0.0, (width, height)), (90.0, (height, width))):
            centre = room.centre_for(*box, piece.middle, paper)
            if centre is not None:
                room.take(centre, *box)
                setting = _set_row if way.in_a_row else _set_rows
                return setting(rows, way.scale, centre, reading(angle, what.turned_deg)), number
    return [], len(BLOCK_WAYS)


def _outside(piece: Piece, what: Lettering) -> list[Words]:
    """The block below a piece that has no room for it."""
    rows = _rows_of(piece, what, _Way(OUTSIDE_SCALE, wide=NARROW_MM))
    x0, y0, x1, _ = piece.polygon.bounds
    below = _block_size(rows, OUTSIDE_SCALE, False)[1] / 2 + _widest(piece)
    return _set_rows(rows, OUTSIDE_SCALE, ((x0 + x1) / 2, y0 - below), reading(0.0, what.turned_deg))


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


def _line_names(piece: Piece) -> Iterator[Name]:
    for line, places in zip(piece.lines, places_on([line.chain for line in piece.lines])):
        yield Name((line.name,), places, sides=(1.0, -1.0))
    for mark in piece.marks:
        yield Name((mark.name,), point=mark.point)
    for dart in piece.darts:
        yield Name((dart.name,), point=dart.sewn_point)
    for inner in piece.inner_darts:
        (x0, y0), (x1, y1) = inner.points
        yield Name((inner.name,), point=((x0 + x1) / 2, (y0 + y1) / 2))


def _edge_names(piece: Piece, widths: Mapping[str, float], what: Lettering) -> Iterator[Name]:
    edges = [edge for edge in piece.edges if not (edge.on_fold and what.opened)]
    for edge, places in zip(edges, places_on([edge.chain for edge in edges])):
        rise = FOLD_RISE_MM if edge.on_fold else 0.0
        whole = (what.joined.get(edge.id, ""), "")
        texts = dict.fromkeys(edge_words(edge, widths.get(edge.id, 0.0), what.say, joined) for joined in whole)
        yield Name((*texts, *([ON_FOLD_SHORT] if edge.on_fold else [])), places, rise=rise)


def _notes(room: Room, piece: Piece, what: Lettering) -> Iterator[Words]:
    """A heading and the notes under it, in rows one below the other, where there is room."""
    for way, height, wide in product(room.ways, SMALL_MM, NOTES_WIDE):
        texts = [row for note in what.notes for row in wrapped(note, height, wide * height)]
        rows: list[Row] = [(Role.INSTRUCTIONS, text, height) for text in texts]
        width, high = _block_size(rows, 1.0, False)
        for angle, box in ((0.0, (width, high)), (90.0, (high, width))):
            centre = room.centre_for(*box, piece.middle, way)
            if centre is not None:
                room.take(centre, *box)
                yield from _flush_left(_set_rows(rows, 1.0, centre, reading(angle, what.turned_deg)))
                return


def _flush_left(rows: Sequence[Words]) -> Iterator[Words]:
    """Centred rows, all begun where the widest begins."""
    half = max(row.width_mm for row in rows) / 2
    for row in rows:
        cos, sin = math.cos(math.radians(row.angle_deg)), math.sin(math.radians(row.angle_deg))
        yield replace(row, at=(row.at[0] - half * cos, row.at[1] - half * sin), anchor="start")
