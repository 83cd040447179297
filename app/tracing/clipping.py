"""Lines cut at the border of a box."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from app.tracing.found import FoundLine
from geometry.tolerances import MEET_MM

Box = tuple[float, float, float, float]


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share anything, if only a border."""
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


def clipped(line: FoundLine, box: Box) -> list[FoundLine]:
    """The parts of a line inside a box (mm); what lies on the border counts as outside it."""
    x0, y0, x1, y1 = line.chain.box
    if x0 >= box[0] and y0 >= box[1] and x1 <= box[2] and y1 <= box[3]:
        return [line]
    if not overlap(line.chain.box, box):
        return []
    chain = line.chain
    cuts = {0.0, float(len(chain))}
    for x in (box[0], box[2]):
        cuts.update(chain.crossings((x, 0.0), (0.0, 1.0)))
    for y in (box[1], box[3]):
        cuts.update(chain.crossings((0.0, y), (1.0, 0.0)))
    stops = sorted(cuts)
    kept: list[tuple[float, float]] = []
    for start, stop in pairwise(stops):
        if stop - start < 1e-9:
            continue
        x, y = chain.point((start + stop) / 2)
        if box[0] + MEET_MM < x < box[2] - MEET_MM and box[1] + MEET_MM < y < box[3] - MEET_MM:
            if kept and kept[-1][1] == start:
                kept[-1] = (kept[-1][0], stop)
            else:
                kept.append((start, stop))
    if kept == [(0.0, float(len(chain)))]:
        return [line]
    return [replace(line, chain=chain.part(start, stop), closed=False) for start, stop in kept]
