"""What lies under a redrawn piece on paper where it is wanted: grey over what was altered, lines of other sizes.

Shading is two outlines, as traced and as redrawn; who draws them fills what lies inside one of them alone (even-odd
rule), so that curves stay as they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from geometry.lines import Chain, flatten
from geometry.pens import Role, Stroke, Words
from geometry.stages import CutPiece
from geometry.strokes import outline_of

#: Outlines that differ by less than this are one (mm).
SAME_MM = 0.01
#: Capitals of a size's name (mm), and what stays free round it.
NAME_MM = (2.4, 1.8)
CLEAR_MM = 0.6
#: A line this near another does not say whose name it bears (mm).
NOT_ALONE_MM = 2.0
#: How many of a size's names there are at most, and how far apart they stand at least (mm).
MOST_NAMES, APART_MM = 4, 150.0
EVERY_MM = 12.0


def shading(before: CutPiece, after: CutPiece) -> Iterator[Stroke]:
    """Stitching lines and cutting lines, each as traced and as redrawn, where they differ.

    Strokes of one name are filled together.
    """
    pairs = {"stitching line altered": (outline_of(before.piece), outline_of(after.piece))}
    if before.cutting is not None and after.cutting is not None:
        pairs["cutting line altered"] = (before.cutting, after.cutting)
    for name, pair in pairs.items():
        if not _alike(*pair):
            yield from (Stroke(Role.SHADE, outline, True, name) for outline in pair)


def size_strokes(sizes: Sequence[tuple[str, CutPiece]]) -> Iterator[Stroke]:
    """The cutting line of each other size, the stitching line where it has none; named “size 12”."""
    for name, cut in sizes:
        yield Stroke(Role.SIZE, cut.cutting or outline_of(cut.piece), True, f"size {name}")


def size_names(sizes: Sequence[Stroke], others: Sequence[Chain], words: Sequence[Words]) -> Iterator[Words]:
    """The name of each size along the inside of its line, here and there, where the line stands apart from others."""
    lines = [shapely.LineString(flatten(chain, 0.1)[0]) for chain in (*others, *(one.chain for one in sizes))]
    drawn = shapely.STRtree(lines)
    taken = [shapely.Polygon(one.box()) for one in words]
    for stroke in sizes:
        done: list[Words] = []
        for at in _places(stroke.chain):
            if len(done) < MOST_NAMES and all(math.dist(at[:2], one.at) >= APART_MM for one in done):
                beside = len(drawn.query(shapely.Point(at[:2]), "dwithin", distance=NOT_ALONE_MM)) > 1
                found = None if beside else _free(at, stroke.name, drawn, taken)
                if found is not None:
                    taken.append(shapely.Polygon(found.box()))
                    done.append(found)
        yield from done


def _free(
    place: tuple[float, float, float, float], name: str, drawn: shapely.STRtree, taken: Sequence[shapely.Geometry]
) -> Words | None:
    x, y, ux, uy = place
    angle = math.degrees((math.atan2(uy, ux) + math.pi / 2 - 1e-9) % math.pi - math.pi / 2 + 1e-9)
    for height in NAME_MM:
        # Half the lettering from descender to accent.
        off = 0.85 * height + CLEAR_MM + 0.1
        one = Words(Role.SIZE, (x - off * uy, y + off * ux), name, height, angle)
        box = shapely.Polygon(one.box(CLEAR_MM))
        if not len(drawn.query(box, "intersects")) and not any(box.intersects(other) for other in taken):
            return one
    return None


def _places(chain: Chain) -> Iterator[tuple[float, float, float, float]]:
    """Points along a line with the direction there, the middle first, then ever farther from it."""
    lengths = np.arange(EVERY_MM / 2, chain.length, EVERY_MM)
    for u in chain.at_lengths(lengths[np.argsort(np.abs(lengths - chain.length / 2), kind="stable")]):
        yield (*chain.point(float(u)), *chain.tangent(float(u)))


def _alike(one: Chain, other: Chain) -> bool:
    if one is other:
        return True
    return one.cubics.shape == other.cubics.shape and bool(np.abs(one.cubics - other.cubics).max() < SAME_MM)
