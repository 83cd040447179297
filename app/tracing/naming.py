"""Suggestions for what each edge of a piece is, from its place and shape: fold, hem, neck, armhole, side, shoulder.

Pieces are taken as they lie on the cloth: the grain upright, the foot below. Everything here is only suggested.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.tracing.roles import plain
from geometry.lines import Chain
from geometry.pieces import EdgeKind


class Shape(StrEnum):
    """What kind of piece it is."""

    FRONT = "front"
    BACK = "back"
    SLEEVE = "sleeve"
    BAND = "band"
    SKIRT = "skirt"
    TROUSERS = "trousers"
    OTHER = "other"


_WORDS: tuple[tuple[str, Shape], ...] = (
    (r"sleeve", Shape.SLEEVE),
    (r"band|cuff|binding|belt|strap|tie\b", Shape.BAND),
    (r"trouser|pants|leg\b|shorts", Shape.TROUSERS),
    (r"skirt", Shape.SKIRT),
    (r"\bback\b", Shape.BACK),
    (r"\bfront\b", Shape.FRONT),
)
#: An edge this much upright (share of its height in its length) is upright; this little, level.
_UPRIGHT, _LEVEL = 0.8, 0.45
#: A leg is at least so long (mm).
_LEG_MM = 700.0
_NAMES = {
    EdgeKind.NECKLINE: "neckline",
    EdgeKind.SHOULDER: "shoulder seam",
    EdgeKind.ARMHOLE: "armhole",
    EdgeKind.SIDE: "side seam",
    EdgeKind.WAIST: "waist",
    EdgeKind.HEM: "hem",
    EdgeKind.CENTRE_FRONT: "centre front",
    EdgeKind.CENTRE_BACK: "centre back",
    EdgeKind.CAP: "sleeve cap",
    EdgeKind.UNDERARM: "underarm seam",
    EdgeKind.INSEAM: "inseam",
    EdgeKind.CROTCH: "crotch",
    EdgeKind.BAND: "long edge",
    EdgeKind.OTHER: "edge",
}


@dataclass(frozen=True)
class Suggestion:
    """The kind of piece, the index of the edge that may lie on a fold, and a kind for every edge."""

    shape: Shape
    fold: int | None
    kinds: tuple[EdgeKind, ...]


def suggest(name: str, edges: Sequence[Chain], words: Sequence[str], fold: int | None) -> Suggestion:
    """What the edges (anticlockwise) of a piece are; ``fold`` is the index of an edge known to lie on the fold."""
    shape = shape_by_name(name, words)
    if shape is Shape.OTHER:
        shape = _shape_by_outline(edges)
    if shape in (Shape.FRONT, Shape.BACK):
        shape = _lower_body(shape, edges)
    on_fold = fold if fold is not None else _likely_fold(shape, edges)
    if shape is Shape.SLEEVE:
        kinds = _sleeve(edges)
    elif shape is Shape.BAND:
        kinds = _band(edges)
    elif shape is Shape.SKIRT:
        kinds = _skirt(name, edges, on_fold)
    elif shape is Shape.TROUSERS:
        kinds = _trousers(edges)
    elif shape in (Shape.FRONT, Shape.BACK) and len(edges) >= 4:
        kinds = _body(shape, edges, on_fold)
    else:
        kinds = [EdgeKind.OTHER] * len(edges)
    return Suggestion(shape, on_fold, tuple(kinds))


def shape_by_name(name: str, words: Sequence[str]) -> Shape:
    """The kind of piece that its name, or else the words on it, speak of."""
    for text in (name, *words):
        for pattern, shape in _WORDS:
            if re.search(pattern, plain(text)):
                return shape
    return Shape.OTHER


def names_for(kinds: Sequence[EdgeKind], fold: int | None) -> list[str]:
    """A name for every edge, all different: “side seam”, “side seam 2”."""
    found: list[str] = []
    for index, kind in enumerate(kinds):
        name = "fold" if index == fold else _NAMES.get(kind, kind.value)
        count = sum(one == name or one.startswith(f"{name} ") for one in found)
        found.append(name if not count else f"{name} {count + 1}")
    return found


def is_level(edge: Chain) -> bool:
    return abs(edge.end[1] - edge.start[1]) <= _LEVEL * math.dist(edge.start, edge.end)


def is_upright(edge: Chain) -> bool:
    return abs(edge.end[1] - edge.start[1]) >= _UPRIGHT * math.dist(edge.start, edge.end)


def _lower_body(shape: Shape, edges: Sequence[Chain]) -> Shape:
    """A front or back of four edges is a skirt's; one of five that is long, and narrower at its hem, is a leg's."""
    if len(edges) == 4:
        return Shape.SKIRT
    x0, y0, x1, y1 = _bounds(edges)
    long = y1 - y0 > _LEG_MM and y1 - y0 > 2.2 * (x1 - x0)
    return Shape.TROUSERS if len(edges) == 5 and long and edges[_foot(edges)].length < 0.9 * (x1 - x0) else shape


def _bounds(edges: Sequence[Chain]) -> tuple[float, float, float, float]:
    boxes = [edge.box for edge in edges]
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


def _likely_fold(shape: Shape, edges: Sequence[Chain]) -> int | None:
    """A straight upright edge at the very side of a front, back or skirt, square to both its neighbours."""
    if shape not in (Shape.FRONT, Shape.BACK, Shape.SKIRT):
        return None
    x0, _, x1, _ = _bounds(edges)
    found = []
    for index, edge in enumerate(edges):
        plumb = edge.is_straight and abs(edge.end[0] - edge.start[0]) <= 0.002 * edge.length
        if plumb and min(abs(edge.start[0] - x0), abs(edge.start[0] - x1)) < 0.5 and _is_square(edges, index):
            found.append(index)
    return max(found, key=lambda i: edges[i].length) if found else None


def _is_square(edges: Sequence[Chain], index: int) -> bool:
    before, edge, after = edges[index - 1], edges[index], edges[(index + 1) % len(edges)]
    return all(
        abs(a[0] * b[0] + a[1] * b[1]) < math.sin(math.radians(2.0))
        for a, b in ((before.end_tangent, edge.start_tangent), (edge.end_tangent, after.start_tangent))
    )


def _shape_by_outline(edges: Sequence[Chain]) -> Shape:
    """A rectangle is a band; four edges with a full arch on top a sleeve; four more or less upright ones a skirt."""
    if len(edges) == 4:
        if all(edge.is_straight for edge in edges):
            x0, y0, x1, y1 = _bounds(edges)
            thin = min(x1 - x0, y1 - y0) < 0.35 * max(x1 - x0, y1 - y0)
            return Shape.BAND if thin else Shape.OTHER
        top = max(edges, key=lambda edge: edge.box[3])
        arch = top.box[3] - max(top.start[1], top.end[1])
        if arch > 0.2 * (top.box[2] - top.box[0]):
            return Shape.SLEEVE
        return Shape.SKIRT
    if len(edges) in (5, 6, 7) and any(not edge.is_straight for edge in edges):
        return Shape.FRONT
    return Shape.OTHER


def _foot(edges: Sequence[Chain]) -> int:
    """The index of the lowest level edge."""
    level = [i for i, edge in enumerate(edges) if is_level(edge)] or list(range(len(edges)))
    return min(level, key=lambda i: (edges[i].box[1] + edges[i].box[3]) / 2)


def _sleeve(edges: Sequence[Chain]) -> list[EdgeKind]:
    foot = _foot(edges)
    count = len(edges)
    order = [(foot + step) % count for step in range(count)]
    kinds = [EdgeKind.CAP] * count
    kinds[foot] = EdgeKind.HEM
    if count >= 3:
        kinds[order[1]] = kinds[order[-1]] = EdgeKind.UNDERARM
    return kinds


def _band(edges: Sequence[Chain]) -> list[EdgeKind]:
    longest = max(edge.length for edge in edges)
    return [EdgeKind.BAND if edge.length > 0.6 * longest else EdgeKind.OTHER for edge in edges]


def _centre(shape: Shape) -> EdgeKind:
    return EdgeKind.CENTRE_BACK if shape is Shape.BACK else EdgeKind.CENTRE_FRONT


def _skirt(name: str, edges: Sequence[Chain], fold: int | None) -> list[EdgeKind]:
    centre = EdgeKind.CENTRE_BACK if re.search(r"\bback\b", plain(name)) else EdgeKind.CENTRE_FRONT
    foot = _foot(edges)
    count = len(edges)
    kinds = [EdgeKind.WAIST] * count
    kinds[foot] = EdgeKind.HEM
    sides = [(foot + 1) % count, (foot - 1) % count]
    straighter = fold if fold is not None else min(sides, key=lambda i: (not edges[i].is_straight, _lean(edges[i])))
    for index in sides:
        kinds[index] = centre if index == straighter else EdgeKind.SIDE
    return kinds


def _lean(edge: Chain) -> float:
    return abs(edge.end[0] - edge.start[0]) / max(math.dist(edge.start, edge.end), 1e-9)


def _trousers(edges: Sequence[Chain]) -> list[EdgeKind]:
    """From the hem up: inseam to the crotch point, crotch to the waist, and the side down again."""
    foot, count = _foot(edges), len(edges)
    kinds = [EdgeKind.OTHER] * count
    kinds[foot] = EdgeKind.HEM
    one, other = (foot + 1) % count, (foot - 1) % count
    # The inseam ends at the crotch, lower than the side ends at the waist.
    up, down = edges[one].end[1], edges[other].start[1]
    inseam, side, step = (one, other, 1) if up <= down else (other, one, -1)
    kinds[inseam], kinds[side] = EdgeKind.INSEAM, EdgeKind.SIDE
    rest = [(inseam + step * k) % count for k in range(1, count - 2)]
    for place, index in enumerate(rest):
        kinds[index] = EdgeKind.WAIST if place == len(rest) - 1 and len(rest) > 1 else EdgeKind.CROTCH
    return kinds


def _body(shape: Shape, edges: Sequence[Chain], fold: int | None) -> list[EdgeKind]:
    """From the hem outwards and up: side, armhole, shoulder, neckline, and the centre down again."""
    foot, count = _foot(edges), len(edges)
    kinds = [EdgeKind.OTHER] * count
    kinds[foot] = EdgeKind.HEM
    one, other = (foot + 1) % count, (foot - 1) % count
    if fold is None and count >= 7 and not any(_reaches_up(edges, i) for i in (one, other)):
        return _whole_body(edges, foot)
    centre = fold if fold in (one, other) else max((one, other), key=lambda i: _centre_like(edges[i]))
    step = 1 if centre == other else -1
    path = [(foot + step * k) % count for k in range(1, count)]
    kinds[centre] = _centre(shape)
    upper = path[:-1]
    # Sides come up from the hem until a hollow armhole begins.
    sides = 1
    while sides < len(upper) - 2 and is_upright(edges[upper[sides]]) and edges[upper[sides]].is_straight:
        sides += 1
    for index in upper[:sides]:
        kinds[index] = EdgeKind.SIDE
    rest = upper[sides:]
    if not rest:
        return kinds
    shoulder = _shoulder(edges, rest)
    for place, index in enumerate(rest):
        kinds[index] = (
            EdgeKind.ARMHOLE if place < shoulder else EdgeKind.SHOULDER if place == shoulder else EdgeKind.NECKLINE
        )
    return kinds


def _reaches_up(edges: Sequence[Chain], index: int) -> bool:
    """True where an edge from the hem goes up nearly as far as the piece, as a centre line does."""
    _, y0, _, y1 = _bounds(edges)
    return edges[index].box[3] - y0 > 0.74 * (y1 - y0)


def _whole_body(edges: Sequence[Chain], foot: int) -> list[EdgeKind]:
    """A front or back drawn whole: side, armhole, shoulder on both sides, and what is between them the neckline."""
    count = len(edges)
    kinds = [EdgeKind.NECKLINE] * count
    kinds[foot] = EdgeKind.HEM
    for step in (1, -1):
        for place, kind in enumerate((EdgeKind.SIDE, EdgeKind.ARMHOLE, EdgeKind.SHOULDER), 1):
            kinds[(foot + step * place) % count] = kind
    return kinds


def _centre_like(edge: Chain) -> float:
    """How much an edge looks like a centre line: straight, plumb and long."""
    return (2.0 if edge.is_straight else 0.0) - 20 * _lean(edge) + edge.length / 1000


def _shoulder(edges: Sequence[Chain], rest: Sequence[int]) -> int:
    """The place of the shoulder among the edges from armhole to neck: the straightest one high up."""
    if len(rest) == 1:
        return -1
    top = max(edges[i].box[3] for i in rest)

    def score(place: int) -> float:
        edge = edges[rest[place]]
        high = top - max(edge.start[1], edge.end[1])
        return 200 * (edge.length / max(math.dist(edge.start, edge.end), 1e-9) - 1) + high / 2

    inner = range(len(rest)) if len(rest) == 2 else range(1, len(rest))
    return min(inner, key=score)


def neck_depth(edges: Sequence[Chain], kinds: Sequence[EdgeKind]) -> float:
    """How far the neckline hangs down from the shoulder (mm)."""
    necks = [edge for edge, kind in zip(edges, kinds, strict=True) if kind is EdgeKind.NECKLINE]
    return max((edge.box[3] - edge.box[1] for edge in necks), default=0.0)
