"""The pieces of one size found again in another: which is which, and whether its edges run from corner to corner alike.

Corners and places of two sizes are compared as shares of the width and height of their pieces.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from app.tracing.building import Drawn
from app.tracing.outline_marks import DrawnEdge
from app.tracing.pieces_found import RawPiece
from app.tracing.roles import plain
from geometry.lines import Chain
from geometry.motions import FloatArray, Point

#: Pieces that lie over each other share this much of what they cover together.
_LIES_OVER = 0.3
#: A corner lies elsewhere in another size when it is off by this much of its piece's width or height …
ELSEWHERE = 0.25
#: … and is the same corner though it turns more or less when it is off by no more than this.
NEARBY = 0.08
_NAMELESS = re.compile(r"piece \d+")


def found_again(
    pieces: Sequence[RawPiece], size: str, others: Sequence[RawPiece], other_size: str
) -> list[RawPiece | None]:
    """Each piece in another size, None where it is not drawn: by its name, else by lying over it, else in order."""
    found: list[RawPiece | None] = [None] * len(pieces)
    left = list(others)
    ours, theirs = [_bare(one.name, size) for one in pieces], [_bare(one.name, other_size) for one in others]
    for i, name in enumerate(ours):
        if name and ours.count(name) == theirs.count(name) == 1:
            found[i] = others[theirs.index(name)]
            left.remove(others[theirs.index(name)])
    pairs = [(shared(one, other), i, k) for i, one in enumerate(pieces) for k, other in enumerate(others)]
    for share, i, k in sorted(pairs, key=lambda pair: -pair[0]):
        if share >= _LIES_OVER and found[i] is None and others[k] in left:
            found[i] = others[k]
            left.remove(others[k])
    missing = [i for i, one in enumerate(found) if one is None]
    if len(missing) == len(left) and not any(ours[i] for i in missing):
        for i, other in zip(missing, left, strict=True):
            found[i] = other
    return found


def _bare(name: str, size: str) -> str:
    """A piece's name without its size, “” where the file gives it none."""
    words = plain(name)
    if _NAMELESS.fullmatch(words):
        return ""
    return " ".join(re.sub(rf"\b(size )?{re.escape(plain(size))}\b", " ", words).split()) or words


def shared(one: RawPiece, other: RawPiece) -> float:
    """How much of what two pieces cover together both of them cover, as they lie in the file."""
    a, b = one.outline.polygon, other.outline.polygon
    if not shapely.intersects(a, b):
        return 0.0
    both = float(a.intersection(b).area)
    return both / (a.area + b.area - both)


def lies_over(one: RawPiece, other: RawPiece) -> bool:
    """Whether two sizes of a piece lie over each other in the file, and not side by side."""
    return shared(one, other) >= _LIES_OVER


def aligned(picked: Drawn, other: Drawn, within: float = ELSEWHERE) -> tuple[Drawn | None, str]:
    """The piece in another size with its edges begun where the picked size's are; None, and what differs, else.

    Corners are the same ones ``within`` this share of the piece's width and height.
    """
    names = picked.names
    if (picked.raw.stitching is None) != (other.raw.stitching is None):
        return None, f"only one of the two shows {'a' if picked.raw.stitching else 'its'} stitching line"
    ours, theirs = _corners(picked.edges), _corners(other.edges)
    if len(ours) != len(theirs):
        fewer, more = (theirs, ours) if len(ours) > len(theirs) else (ours, theirs)
        extra = int(_away(more, fewer).min(axis=1).argmax())
        if more is ours:
            where = f"no corner between {names[extra - 1]} and {names[extra]}"
        else:
            where = f"one more corner, on the {names[_edge_at(picked.edges, theirs[extra])]}"
        return None, f"it has {len(theirs)} edges, not {len(ours)}: {where}"
    away = _away(ours, theirs)
    count = len(ours)
    turns = [away[np.arange(count), (np.arange(count) + k) % count] for k in range(count)]
    first = min(range(count), key=lambda k: float(turns[k].sum()))
    if turns[first].max() > within:
        at = int(turns[first].argmax())
        return None, f"the corner between {names[at - 1]} and {names[at]} lies elsewhere"
    edges = (*other.edges[first:], *other.edges[:first])
    for name, mine, its in zip(names, picked.edges, edges, strict=True):
        darts = [sum(stretch.dart is not None for stretch in edge.stretches) for edge in (mine, its)]
        if [one.dart is None for one in mine.stretches] != [one.dart is None for one in its.stretches]:
            return None, f"it has {_darts(darts[1])} in the {name}, not {_darts(darts[0])}"
    raw = replace(other.raw, name=picked.raw.name)
    return replace(other, id=picked.id, raw=raw, edges=edges, suggestion=picked.suggestion), ""


def _darts(count: int) -> str:
    return {0: "no dart", 1: "one dart"}.get(count, f"{count} darts")


def _corners(edges: Sequence[DrawnEdge]) -> FloatArray:
    """(n, 2) where the edges start, as shares of the width and height of what they go round."""
    points = np.array([edge.stretches[0].line.start for edge in edges])
    return in_shares(box_of([edge.whole for edge in edges]), points)


def _edge_at(edges: Sequence[DrawnEdge], share: FloatArray) -> int:
    x0, y0, x1, y1 = box_of([edge.whole for edge in edges])
    point = (x0 + float(share[0]) * (x1 - x0), y0 + float(share[1]) * (y1 - y0))
    return min(range(len(edges)), key=lambda i: edges[i].whole.nearest(point)[1])


def _away(ours: FloatArray, theirs: FloatArray) -> FloatArray:
    """(n, m) the greater of the differences in width and height between every two places."""
    gaps: FloatArray = np.abs(ours[:, None] - theirs[None]).max(axis=2)
    return gaps


def box_of(lines: Sequence[Chain]) -> tuple[float, float, float, float]:
    """Left, lower, right and upper limit of some lines (mm)."""
    boxes = np.array([line.box for line in lines])
    x0, y0 = boxes[:, :2].min(axis=0).tolist()
    x1, y1 = boxes[:, 2:].max(axis=0).tolist()
    return x0, y0, x1, y1


def in_shares(box: tuple[float, float, float, float], points: FloatArray) -> FloatArray:
    """Points (n, 2) as shares of a box's width and height from its lower left corner."""
    x0, y0, x1, y1 = box
    found: FloatArray = (points - [x0, y0]) / [max(x1 - x0, 1e-9), max(y1 - y0, 1e-9)]
    return found


def carried(box: tuple[float, float, float, float], to: tuple[float, float, float, float], point: Point) -> Point:
    """The point of another box at the same share of its width and height."""
    (x, y), (x0, y0, x1, y1) = in_shares(box, np.array([point]))[0].tolist(), to
    return (x0 + x * (x1 - x0), y0 + y * (y1 - y0))
