"""Redrawing an edge freely: a corner carried along, the line behind it following to nothing."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from geometry.fitting import refit
from geometry.lines import Chain, joined, straight, tidied
from geometry.motions import Point
from geometry.pieces import Edge, Piece, Place, neighbours

#: The line follows a raised corner over this part of its run, as far as about the notch.
_FOLLOWS = 0.6
#: Points stand this close while a line is reshaped (mm).
_STEP_MM = 1.0


def corner_raised(piece: Piece, edge_id: str, at_start: bool, amount: float) -> Piece:
    """The piece with one end of an edge carried ``amount`` mm along the neighbouring edge, drawn straight on.

    The neighbour is made longer in its own direction; the edge itself follows smoothly to nothing and keeps its
    direction at the corner. Marks on both edges stay beside the place where they were. Raises PatternError when
    the outline would cross itself.
    """
    edge = piece.edge(edge_id)
    before, after = neighbours(piece, edge_id)
    beside = before if at_start else after
    tip = beside.runs[-1].chain if at_start else beside.runs[0].chain
    way = tip.end_tangent if at_start else (-tip.start_tangent[0], -tip.start_tangent[1])
    shift = (amount * way[0], amount * way[1])
    run_index = 0 if at_start else len(edge.runs) - 1
    old = edge.runs[run_index].chain
    new_chain = following(old if at_start else old.backwards(), shift)
    new_chain = new_chain if at_start else new_chain.backwards()
    corner = new_chain.start if at_start else new_chain.end
    runs = list(edge.runs)
    runs[run_index] = replace(runs[run_index], chain=new_chain)
    new_edge = replace(edge, runs=tuple(runs))
    new_beside = _lengthened(beside, corner, at_start)
    edges = tuple(new_edge if one.id == edge.id else new_beside if one.id == beside.id else one for one in piece.edges)
    moved = {edge.id: (edge, new_edge), beside.id: (beside, new_beside)}
    notches = tuple(
        replace(n, place=_carried(n.place, *moved[n.place.edge])) if n.place.edge in moved else n for n in piece.notches
    )
    return replace(piece, edges=edges, notches=notches)


def following(line: Chain, shift: Point, share: float = _FOLLOWS) -> Chain:
    """The line with its start carried by ``shift`` and the rest following, to nothing after a share of its length."""
    reach = share * line.length
    lengths = np.linspace(0.0, reach, max(16, math.ceil(reach / _STEP_MM)) + 1)
    us = line.at_lengths(lengths)
    end = float(us[-1])
    ways = np.array([line.tangent(float(u)) for u in us])
    x = lengths / reach
    weight = 1 - x**3 * (10 - 15 * x + 6 * x * x)
    slope = -30 * x * x * (1 - x) ** 2 / reach
    points = line.points(us) + weight[:, None] * np.array(shift)
    turned = ways + slope[:, None] * np.array(shift)
    angles = np.unwrap(np.arctan2(turned[:, 1], turned[:, 0]))
    steps = np.hypot(*np.diff(points, axis=0).T)
    new = refit(points, angles, np.concatenate([[0.0], np.cumsum(steps)]))
    return new if share == 1.0 else tidied(joined([new, line.part(end, len(line))]))


def _lengthened(edge: Edge, corner: Point, at_end: bool) -> Edge:
    runs = list(edge.runs)
    index = -1 if at_end else 0
    chain = runs[index].chain
    parts = [chain, straight(chain.end, corner)] if at_end else [straight(corner, chain.start), chain]
    runs[index] = replace(runs[index], chain=tidied(joined(parts)))
    return replace(edge, runs=tuple(runs))


def _carried(place: Place, old: Edge, new: Edge) -> Place:
    point = old.runs[place.run].chain.point(place.u)
    return replace(place, u=new.runs[place.run].chain.nearest(point)[0])
