"""Which outline is a piece, which its stitching line, a frame or a mark, and what lies on each piece."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from app.tracing.found import Found, FoundLine, FoundPoint, FoundWords
from app.tracing.joining import Joined, Loop
from app.tracing.roles import plain, role_of_layer, role_of_words, size_of_layer
from app.tracing.sizing import LEAST_MM
from geometry.pens import Role

#: A piece holds at least so much paper (mm²).
LEAST_AREA = 500.0
#: A stitching line lies no further inside its cutting line than this (mm), and holds at least this share of it.
WIDEST_ALLOWANCE_MM, _LEAST_SHARE = 60.0, 0.3
#: What lies this close outside a piece still belongs to it (mm).
_BESIDE_MM = 12.0
#: Roles of lines that are never an outline.
NOT_OUTLINES = frozenset(
    {Role.GRAIN, Role.STRETCH, Role.NOTCH, Role.DART, Role.FOLD, Role.MARK, Role.TITLE, Role.INSTRUCTIONS}
    | {Role.LABEL, Role.BEFORE, Role.STRIP, Role.GUIDE, Role.PLACEMENT, Role.TURN}
)
#: Roles of lines that say nothing about the piece itself.
IGNORED = frozenset({Role.TITLE, Role.INSTRUCTIONS, Role.LABEL, Role.BEFORE, Role.STRIP})
#: Names that drawing programs give, which say nothing.
NO_NAME = re.compile(
    r"(path|rect|g|group|svg|polygon|polyline|line|use|layer|shape|lwpolyline|block|anonymous|outline|piece|\*|\$)"
    r"?[\s_-]*[\d\s_-]*",
    re.IGNORECASE,
)


@dataclass(frozen=True, eq=False)
class RawPiece:
    """One piece as found: its outline, its stitching line where one was drawn inside, and what lies on it."""

    name: str
    outline: Loop
    stitching: Loop | None = None
    lines: tuple[FoundLine, ...] = ()
    loops: tuple[Loop, ...] = ()
    words: tuple[FoundWords, ...] = ()
    points: tuple[FoundPoint, ...] = ()


@dataclass(frozen=True, eq=False)
class Sorted:
    """The pieces in reading order, and what was left aside: frames, lines on no piece, and outlines that cross
    themselves."""

    pieces: tuple[RawPiece, ...]
    frames: int = 0
    beside: tuple[FoundLine, ...] = ()
    crossing: tuple[Loop, ...] = ()


def is_exchange(found: Found) -> bool:
    """True where a DXF holds a block a piece with numbered layers."""
    numbered = [line for line in found.lines if line.layer.strip().isdigit()]
    return found.way == "dxf" and bool(numbered) and any(line.group for line in numbered)


def line_role(line: FoundLine, exchange: bool) -> Role | None:
    """What a line is for, by its layer, and where that says nothing by its own name."""
    role = role_of_layer(line.layer, exchange)
    if role in (None, Role.GUIDE):
        own = role_of_words(line.name)
        role = own if own not in (None, Role.CUT) and not line.closed else role
    return role


def sort_out(found: Found, joined: Joined) -> Sorted:
    """The pieces with what lies on each; a lone frame round everything is left aside.

    Blocks of a layered exchange are sorted one by one, as they may lie over each other.
    """
    if not is_exchange(found):
        return _sorted(found, joined)
    parts = []
    for group in dict.fromkeys(loop.line.group for loop in joined.loops):
        mine = replace(
            found,
            words=tuple(word for word in found.words if word.group == group),
            points=tuple(point for point in found.points if point.group == group),
        )
        loops = tuple(loop for loop in joined.loops if loop.line.group == group)
        rest = tuple(line for line in joined.rest if line.group == group)
        parts.append(_sorted(mine, replace(joined, loops=loops, rest=rest)))
    pieces = [replace(piece, name="") for part in parts for piece in part.pieces]
    beside = tuple(line for part in parts for line in part.beside)
    crossing = tuple(loop for part in parts for loop in part.crossing)
    return Sorted(_named(pieces), sum(part.frames for part in parts), beside, crossing)


def _sorted(found: Found, joined: Joined) -> Sorted:
    exchange = is_exchange(found)
    roles = {id(loop): line_role(loop.line, exchange) for loop in joined.loops}
    outlines = [loop for loop in joined.loops if roles[id(loop)] not in NOT_OUTLINES and min(loop.box) >= LEAST_MM]
    large = [loop for loop in outlines if loop.polygon.is_valid and loop.polygon.area >= LEAST_AREA]
    large.sort(key=lambda loop: -loop.polygon.area)
    large, frames = _without_frames(large)
    pieces: list[RawPiece] = []
    taken: set[int] = set()
    for loop in large:
        if id(loop) in taken:
            continue
        stitching = _stitching_in(loop, large, roles)
        if stitching is not None:
            taken |= {id(stitching)}
        elif _inside_another(loop, pieces) and roles[id(loop)] is not Role.CUT:
            continue
        taken.add(id(loop))
        pieces.append(RawPiece("", loop, stitching))
    inner = [loop for loop in joined.loops if id(loop) not in taken and id(loop) not in {id(f) for f in frames}]
    filled, beside = _filled(found, joined, pieces, inner)
    ordered = sorted(filled, key=_reading_place)
    crossing = [one for one in outlines if not one.polygon.is_valid and not _inside_another(one, pieces)]
    return Sorted(_named(ordered), len(frames), tuple(beside), tuple(crossing))


def _without_frames(large: list[Loop]) -> tuple[list[Loop], list[Loop]]:
    """The outlines without rectangles that hold other outlines further in than an allowance."""
    frames = []
    for loop in large:
        x0, y0, x1, y1 = loop.polygon.bounds
        if loop.polygon.area < 0.995 * (x1 - x0) * (y1 - y0):
            continue
        inside = [one for one in large if one is not loop and loop.polygon.covers(one.polygon)]
        outermost = [one for one in inside if not any(o is not one and o.polygon.covers(one.polygon) for o in inside)]
        if len(outermost) == 1:
            only = outermost[0]
            if _is_parallel(loop, only) or only.polygon.area < 0.2 * loop.polygon.area:
                continue
        if outermost:
            frames.append(loop)
    return [loop for loop in large if loop not in frames], frames


def _is_parallel(outer: Loop, inner: Loop) -> bool:
    # As open lines: between closed rings some versions of GEOS measure too far.
    rim, line = (shapely.LineString(loop.polygon.exterior.coords) for loop in (outer, inner))
    return bool(
        inner.polygon.area >= _LEAST_SHARE * outer.polygon.area
        and shapely.hausdorff_distance(rim, line) <= 2.5 * WIDEST_ALLOWANCE_MM
        and shapely.distance(shapely.points(shapely.get_coordinates(line)), rim).max() <= WIDEST_ALLOWANCE_MM
    )


def _stitching_in(outer: Loop, large: Sequence[Loop], roles: dict[int, Role | None]) -> Loop | None:
    """The stitching line drawn inside a cutting line: by its layer's name, or dashed inside a solid line."""
    if roles[id(outer)] is Role.STITCH:
        return None
    for loop in large:
        named = roles[id(loop)] is Role.STITCH
        dashed = bool(loop.line.dash) and not outer.line.dash
        if loop is outer or not (named or dashed or (roles[id(outer)] is Role.CUT and roles[id(loop)] is None)):
            continue
        if outer.grown.covers(loop.polygon) and _is_parallel(outer, loop):
            return loop
    return None


def _inside_another(loop: Loop, pieces: Sequence[RawPiece]) -> bool:
    line = loop.polygon if loop.polygon.is_valid else shapely.LineString(loop.chain.coarse)
    return any(piece.outline.grown.covers(line) for piece in pieces)


def _filled(
    found: Found, joined: Joined, pieces: list[RawPiece], inner: Sequence[Loop]
) -> tuple[list[RawPiece], list[FoundLine]]:
    """The pieces with the lines, small loops, words and points that lie on them, and the lines that lie on none."""
    holds: list[dict[str, list[object]]] = [{"lines": [], "loops": [], "words": [], "points": []} for _ in pieces]
    beside = []
    for line in joined.rest:
        at = _owner(pieces, _middle(line.chain.coarse), line.group)
        if at is None:
            beside.append(line)
        else:
            holds[at]["lines"].append(line)
    for loop in inner:
        at = _owner(pieces, _middle(loop.chain.coarse), loop.line.group)
        if at is not None:
            holds[at]["loops"].append(loop)
    for word in found.words:
        at = _owner(pieces, shapely.Point(word.at), word.group)
        if at is not None:
            holds[at]["words"].append(word)
    for point in found.points:
        at = _owner(pieces, shapely.Point(point.at), point.group)
        if at is not None:
            holds[at]["points"].append(point)
    filled = [
        replace(piece, **{key: tuple(values) for key, values in held.items()})  # type: ignore[arg-type]
        for piece, held in zip(pieces, holds, strict=True)
    ]
    return filled, beside


def _middle(points) -> shapely.Point:  # type: ignore[no-untyped-def]
    return shapely.Point((points.max(axis=0) + points.min(axis=0)) / 2)


def _owner(pieces: Sequence[RawPiece], point: shapely.Point, group: str) -> int | None:
    """The number of the smallest piece that a point lies on, or beside; of those of its own group first."""
    mine = [i for i, piece in enumerate(pieces) if group and piece.outline.line.group == group]
    for choice in (mine, range(len(pieces))):
        near = [(pieces[i].outline.polygon.distance(point), pieces[i].outline.polygon.area, i) for i in choice]
        near = [one for one in near if one[0] <= _BESIDE_MM]
        if near:
            return min(near)[2]
    return mine[0] if len(mine) == 1 else None


def _reading_place(piece: RawPiece) -> tuple[float, float]:
    """Rows of 200 mm from the top, from the left in each."""
    x0, _, _, y1 = piece.outline.polygon.bounds
    return (-round(y1 / 200), x0)


def _named(pieces: Sequence[RawPiece]) -> tuple[RawPiece, ...]:
    """Every piece with a name of its own: what the file calls it, else the largest words on it, else its number."""
    named: list[RawPiece] = []
    for number, piece in enumerate(pieces, 1):
        name = _name_of(piece) or f"Piece {number}"
        taken = {one.name for one in named}
        again = 2
        whole = name
        while whole in taken:
            whole, again = f"{name} {again}", again + 1
        named.append(replace(piece, name=whole))
    return tuple(named)


def _name_of(piece: RawPiece) -> str:
    line = piece.outline.line
    given = next((word for one in piece.words if (word := _after_colon(one.words, "piece name"))), "")
    if given:
        return _tidy(given)
    for name in (line.name, line.group):
        if name and not NO_NAME.fullmatch(plain(name)) and role_of_words(name) in (None, Role.GUIDE):
            return _tidy(name)
    titles = [one for one in piece.words if role_of_words(one.layer) is Role.TITLE] or list(piece.words)
    titles = [one for one in titles if re.search(r"[A-Za-z]{3}", one.words) and size_of_layer(one.words) is None]
    best = max(titles, key=lambda one: one.height_mm, default=None)
    return _tidy(best.words) if best is not None else ""


def _after_colon(words: str, key: str) -> str:
    head, colon, tail = words.partition(":")
    return tail.strip() if colon and head.strip().lower() == key else ""


def _tidy(name: str) -> str:
    words = re.sub(r"[\s_]+", " ", name).strip()[:40]
    words = words.lower() if words.isupper() else words
    return words[:1].upper() + words[1:]
