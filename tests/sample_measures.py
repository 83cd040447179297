"""Measuring the samples: lengths and angles read off points, bends off the curvature; the garments themselves."""

from __future__ import annotations

import math

import numpy as np

from geometry.fairness import curvatures_at
from geometry.garments import Garment
from geometry.lines import Chain, flatten, joined
from geometry.motions import slide, turn
from geometry.pieces import Edge, RunKind
from sample_pieces.draft import everything

SAMPLES = {name: garment for name, (garment, _) in everything().items() if name != "front-only"}
SHIRT, WAISTCOAT, FUNNEL = SAMPLES["undershirt"], SAMPLES["waistcoat"], SAMPLES["funnel-neck"]
INCH = 25.4
QUARTER_INCH = INCH / 4
HALF_INCH = INCH / 2
#: Squared corners and corners that add to 180 degrees: common practice, no source, within 1 degree.
SQUARE_DEG = 1.0


def edge_of(garment: Garment, edge_id: str) -> Edge:
    return garment.piece(edge_id.split(".")[0]).edge(edge_id)


def sewn(garment: Garment, edge_id: str) -> float:
    """Sewn length of an edge, added up over points; dart mouths left out."""
    total = 0.0
    for run in edge_of(garment, edge_id).runs:
        if run.kind is not RunKind.MOUTH:
            steps = np.diff(flatten(run.chain, 1e-4)[0], axis=0)
            total += float(np.hypot(steps[:, 0], steps[:, 1]).sum())
    return total


def angle(garment: Garment, edge_id: str) -> float:
    """Inner angle in degrees at the corner where an edge starts, from points 0.01 mm either side of it."""
    piece = garment.piece(edge_id.split(".")[0])
    index = [edge.id for edge in piece.edges].index(edge_id)
    before, after = piece.edges[index - 1].chain, piece.edges[index].chain
    back = before.point(before.at_length(before.length - 0.01))
    on = after.point(after.at_length(0.01))
    corner = after.start
    to_back = math.atan2(back[1] - corner[1], back[0] - corner[0])
    to_on = math.atan2(on[1] - corner[1], on[0] - corner[0])
    return math.degrees((to_back - to_on) % (2 * math.pi))


def width_at(garment: Garment, line_id: str) -> float:
    piece = garment.piece(line_id.split(".")[0])
    chain = next(line.chain for line in piece.lines if line.id == line_id)
    return math.dist(chain.start, chain.end)


def bends(chain: Chain) -> list[float]:
    """Degrees turned left (+) or right (-) between changes of side; less than 0.5 degrees is not seen by an eye."""
    lengths = np.arange(0.25, chain.length, 0.5)
    turned = np.degrees(curvatures_at(chain, chain.at_lengths(lengths)) * 0.5)
    found: list[float] = []
    for step in turned[np.abs(turned) > 1e-9]:
        if found and found[-1] * step > 0:
            found[-1] += float(step)
        else:
            found.append(float(step))
    return [bend for bend in found if abs(bend) > 0.5]


def closed_side() -> Chain:
    """The waistcoat front's side seam with its dart closed: what lies above it turned back about the bust point."""
    piece = WAISTCOAT.piece("front")
    lower, mouth, upper = (run.chain for run in piece.edge("front.side").runs)
    (px, py) = piece.darts[0].bust_point
    (ax, ay), (bx, by) = mouth.start, mouth.end
    opened = math.degrees(math.atan2(by - py, bx - px) - math.atan2(ay - py, ax - px))
    turned = upper.moved(turn(-opened, (px, py)))
    assert math.dist(turned.start, lower.end) < 1e-6
    return joined([lower, turned])


def aligned(chain: Chain) -> Chain:
    return chain.moved(slide(-chain.start[0], -chain.start[1]))
