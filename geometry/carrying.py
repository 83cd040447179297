"""Edges drawn anew where one of their corners is carried to another place, the other end staying where it is.

By hand: mark the new corner, lay the curve ruler to it so that it leaves both ends in the old directions, and draw.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from geometry.errors import PatternError
from geometry.kept import frozen
from geometry.lines import Chain, joined, straight, tidied
from geometry.motions import FloatArray, Motion, Point, slide
from geometry.pieces import Edge, Piece, RunKind
from geometry.readings import mm_words
from geometry.reseating import lines_reseated
from geometry.reshaping import following

#: An edge is not pressed together to less than this share of its height or width.
_LEAST_SHARE = 0.3
#: An edge lower or narrower than this has no shape that could be stretched (mm).
_LEAST_MM = 2.0
#: A notch this far off a trimmed edge was on the part that is gone (mm).
_GONE_MM = 0.01


def stretched(piece: Piece, edge: Edge, at_start: bool, shift: Point, across: Point) -> Edge:
    """An edge with one end carried by ``shift`` (mm), made longer or shorter along ``across`` (unit) and square to it.

    Every line keeps its place as a share of the way, so no curve gains a wave, level stays level, and the opposite
    shift gives everything back. A curved end keeps its direction. Raises PatternError where the edge holds a dart or
    would have next to no height or width left.
    """
    fixed, moving = (edge.end, edge.start) if at_start else (edge.start, edge.end)
    if len(edge.runs) == 1 and edge.chain.is_straight:
        ends = (_sum(moving, shift), fixed) if at_start else (fixed, _sum(moving, shift))
        return replace(edge, runs=(replace(edge.runs[0], chain=straight(*ends)),))
    if any(run.kind is RunKind.MOUTH for run in edge.runs):
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” holds a dart; turn the dart to another edge first.", piece.id, edge.id
        )
    up = (-across[1], across[0])
    frame = np.array([across, up])
    size, change = frame @ (np.array(moving) - fixed), frame @ np.array(shift)
    factors = np.ones(2)
    for k in (0, 1):
        if abs(change[k]) > 1e-9:
            factors[k] = (size[k] + change[k]) / size[k] if abs(size[k]) > _LEAST_MM else 0.0
    if factors.min() < _LEAST_SHARE:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” has no room for that; it would be next to flat.",
            piece.id,
            edge.id,
            moving,
        )
    runs = [replace(run, chain=_scaled(run.chain, np.array(fixed), frame, factors)) for run in edge.runs]
    runs[0] = replace(runs[0], chain=_led(edge.runs[0].chain, runs[0].chain, frame, factors))
    last = _led(edge.runs[-1].chain.backwards(), runs[-1].chain.backwards(), frame, factors)
    runs[-1] = replace(runs[-1], chain=last.backwards())
    return replace(edge, runs=tuple(runs))


def sheared(piece: Piece, edge: Edge, at_start: bool, shift: Point, across: Point) -> Edge:
    """An edge that runs across with one end carried by ``shift`` (mm), every point by its share of the way across.

    The opposite shift along the other axis gives everything back. Raises PatternError where it does not run across.
    """
    fixed, moving = (edge.end, edge.start) if at_start else (edge.start, edge.end)
    way = np.array(across) if _dot(across, fixed, moving) > 0 else -np.array(across)
    span = float(way @ (np.array(moving) - fixed))
    if span < _LEAST_MM:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” does not run across; its end cannot be moved so.",
            piece.id,
            edge.id,
            moving,
        )

    def moved(chain: Chain) -> Chain:
        share = (chain.cubics - fixed) @ way / span
        return _chain(chain.cubics + share[..., None] * np.array(shift), chain)

    return replace(edge, runs=tuple(replace(run, chain=moved(run.chain)) for run in edge.runs))


def heightened(edge: Edge, through: Point, up: Point, factor: float) -> Edge:
    """An edge with the height of every point above a level line multiplied; ``up`` (unit) is square to that line."""
    frame = np.array([(up[1], -up[0]), up])
    factors = np.array([1.0, factor])
    runs = tuple(replace(run, chain=_scaled(run.chain, np.array(through), frame, factors)) for run in edge.runs)
    return replace(edge, runs=runs)


def slid(edge: Edge, shift: Point) -> Edge:
    """An edge slid as it is."""
    return turned_along(edge, slide(*shift))


def turned_along(edge: Edge, motion: Motion) -> Edge:
    """An edge moved as it is."""
    return replace(edge, runs=tuple(replace(run, chain=run.chain.moved(motion)) for run in edge.runs))


def followed(piece: Piece, edge: Edge, at_start: bool, shift: Point, share: float = 0.6) -> Edge:
    """An edge with one end carried by ``shift`` (mm), to nothing after a ``share`` of the run there.

    A straight run is drawn straight from its other end. Raises PatternError where the run is too short for that.
    """
    index = 0 if at_start else len(edge.runs) - 1
    run = edge.runs[index]
    line = run.chain if at_start else run.chain.backwards()
    if math.hypot(*shift) > 0.45 * share * line.length:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” is too short to follow a corner moved by {mm_words(math.hypot(*shift))}.",
            piece.id,
            edge.id,
            line.start,
        )
    new = straight(_sum(line.start, shift), line.end) if line.is_straight else following(line, shift, share)
    runs = list(edge.runs)
    runs[index] = replace(run, chain=new if at_start else new.backwards())
    return replace(edge, runs=tuple(runs))


def run_on(piece: Piece, edge: Edge, at_start: bool, amount: float) -> Edge:
    """An edge run on straight by ``amount`` mm at one end, or trimmed when negative.

    Raises PatternError where there is not so much to trim.
    """
    index = 0 if at_start else len(edge.runs) - 1
    run = edge.runs[index]
    line = run.chain.backwards() if at_start else run.chain
    if amount > 0:
        way = line.end_tangent
        end = (line.end[0] + amount * way[0], line.end[1] + amount * way[1])
        line = tidied(joined([line, straight(line.end, end)]))
    elif line.length + amount < 1.0:
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” is only {mm_words(line.length)} long there, too short to trim "
            f"{mm_words(-amount)} off.",
            piece.id,
            edge.id,
            line.end,
        )
    else:
        line = tidied(line.part(0.0, line.at_length(line.length + amount)))
    runs = list(edge.runs)
    runs[index] = replace(run, chain=line.backwards() if at_start else line)
    return replace(edge, runs=tuple(runs))


def with_edges(piece: Piece, shaped: Iterable[Edge], trimmed: Iterable[Edge] = (), reach: float = 30.0) -> Piece:
    """The piece with edges put in place of the old ones of the same ids, its marks following.

    Notches of ``shaped`` edges keep their place as a share of their line, those of ``trimmed`` ones stay where they
    are. Lines that ended on a changed edge end on it again, going no further than ``reach`` mm. Raises PatternError
    where a notch would be cut away and where the outline would cross itself.
    """
    changed = {edge.id: edge for edge in (*shaped, *trimmed)}
    cut = {edge.id for edge in trimmed}
    notches = []
    for notch in piece.notches:
        place = notch.place
        if place.edge in changed:
            old, new = piece.run_at(place).chain, changed[place.edge].runs[place.run].chain
            if place.edge in cut:
                u, gap = new.nearest(old.point(place.u))
                if gap > _GONE_MM:
                    raise PatternError(
                        f"Notch “{notch.name}” of “{piece.name}” would be cut away; change it by less.",
                        piece.id,
                        place.edge,
                        old.point(place.u),
                    )
            elif len(new) == len(old):
                u = place.u
            else:
                u = new.nearest(old.point(place.u))[0]
            notch = replace(notch, place=replace(place, u=u))
        notches.append(notch)
    edges = tuple(changed.get(edge.id, edge) for edge in piece.edges)
    lines = lines_reseated(piece, changed, reach)
    return replace(piece, edges=edges, notches=tuple(notches), lines=lines)


def _scaled(chain: Chain, fixed: FloatArray, frame: FloatArray, factors: FloatArray) -> Chain:
    return _chain(fixed + ((chain.cubics - fixed) @ frame.T * factors) @ frame, chain)


def _led(old: Chain, new: Chain, frame: FloatArray, factors: FloatArray) -> Chain:
    """The new line led off in the old line's first direction, the handle as long as the stretching makes it."""
    if old.straight[0]:
        return new
    handle = old.cubics[0, 1] - old.cubics[0, 0]
    size = float(np.hypot(*handle))
    if size < 1e-9:
        return new
    share = (frame @ (handle / size)) ** 2
    cubics = new.cubics.copy()
    cubics[0, 1] = cubics[0, 0] + handle * float(np.prod(factors**share))
    return _chain(cubics, new)


def _chain(cubics: FloatArray, like: Chain) -> Chain:
    cubics = cubics.copy()
    cubics[1:, 0] = cubics[:-1, 3]
    return Chain(frozen(cubics), like.straight)


def _sum(point: Point, shift: Point) -> Point:
    return (point[0] + shift[0], point[1] + shift[1])


def _dot(way: Point, start: Point, end: Point) -> float:
    return way[0] * (end[0] - start[0]) + way[1] * (end[1] - start[1])
