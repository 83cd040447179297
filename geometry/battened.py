"""An edge drawn anew with a batten through chosen points, its corners held in place and direction."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from geometry.carrying import with_edges
from geometry.errors import PatternError
from geometry.joints import brought_to
from geometry.lines import Chain, joined, tidied
from geometry.motions import FloatArray, Point
from geometry.parallels import Profile, kinks_of, moved_line
from geometry.pieces import Edge, Notch, Piece, RunKind

#: Two parts of an edge that a kink leads this far apart had a corner between them, no kink (mm).
_SLIGHT_MM = 1.0
#: Points nearer to each other or to a fixed place than this are no shape for a batten (mm).
_LEAST_MM = 5.0


def battened(piece: Piece, edge: Edge, outward: Mapping[float, float]) -> Piece:
    """The piece with an edge led through points ``outward`` mm off it at sewn lengths (mm) from its start.

    The change is laid as a batten between them, to nothing at the corners and at the mouths of darts, where the edge
    keeps its place and direction: the cubic spline with the least bending of the change. Notches go square with the
    edge. Raises PatternError where points lie too close, and where the outline would cross itself.
    """
    if edge.on_fold:
        raise PatternError(f"“{edge.name}” of “{piece.name}” lies on the fold; a fold cannot bend.", piece.id, edge.id)
    fixed, along = [0.0], 0.0
    for run in edge.runs:
        if run.kind is RunKind.MOUTH:
            fixed.append(along)
        else:
            along += run.chain.length
    fixed.append(along)
    places = sorted({*fixed, *outward})
    for low, high in pairwise(places):
        if high - low < _LEAST_MM:
            raise PatternError(
                f"Two points on “{edge.name}” of “{piece.name}”, or a point and a corner, lie closer than "
                f"{_LEAST_MM:g} mm; set them further apart.",
                piece.id,
                edge.id,
            )
    amounts = np.array([outward.get(place, 0.0) for place in places])
    slopes = _slopes(np.array(places), amounts, set(fixed))
    return _moved(piece, edge, np.array(places), amounts, slopes)


def _moved(piece: Piece, edge: Edge, places: FloatArray, amounts: FloatArray, slopes: FloatArray) -> Piece:
    runs, seats, begun = [], {}, 0.0
    for index, run in enumerate(edge.runs):
        if run.kind is not RunKind.MOUTH:
            notches = [n for n in piece.notches if (n.place.edge, n.place.run) == (edge.id, index)]
            line, went = _led(piece, edge, run.chain, _Led(places, amounts, slopes, begun), notches)
            seats.update(went)
            begun += run.chain.length
            run = replace(run, chain=line)
        runs.append(run)
    new = with_edges(piece, (replace(edge, runs=tuple(runs)),))
    placed = tuple(replace(n, place=replace(n.place, u=seats[n.id])) if n.id in seats else n for n in new.notches)
    return replace(new, notches=placed)


@dataclass(frozen=True, eq=False)
class _Led:
    """The change along an edge (mm by sewn length), for a line that begins ``begun`` mm along it."""

    places: FloatArray
    amounts: FloatArray
    slopes: FloatArray
    begun: float

    def profile(self, further: float) -> Profile:
        return _profile(self.places, self.amounts, self.slopes, self.begun + further)


def _led(piece: Piece, edge: Edge, line: Chain, led: _Led, notches: list[Notch]) -> tuple[Chain, dict[str, float]]:
    """A line led off by the change, and where its notches come to stand; slight kinks stay as they are."""
    bounds = [0, *kinks_of(line), len(line)]
    parts: list[Chain] = []
    seats: dict[str, Point] = {}
    for low, high in pairwise(bounds):
        part = line.part(low, high)
        moved = moved_line(part, 0.0, led.profile(line.length_to(low)))
        for notch in notches:
            if notch.id not in seats and low <= notch.place.u <= high:
                seats[notch.id] = moved.line.point(moved.parameter(notch.place.u - low))
        new = moved.line
        if parts:
            ends = parts[-1].end, new.start
            if math.dist(*ends) > _SLIGHT_MM:
                raise PatternError(
                    f"“{edge.name}” of “{piece.name}” has a corner inside it; a batten does not lie round a corner.",
                    piece.id,
                    edge.id,
                    part.start,
                )
            meets = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
            parts[-1] = brought_to(parts[-1], meets)
            new = brought_to(new.backwards(), meets).backwards()
        parts.append(new)
    whole = tidied(joined(parts))
    return whole, {key: whole.nearest(point)[0] for key, point in seats.items()}


def _profile(places: FloatArray, amounts: FloatArray, slopes: FloatArray, begun: float) -> Profile:
    def at(lengths: FloatArray) -> tuple[FloatArray, FloatArray]:
        along = np.clip(lengths + begun, places[0], places[-1])
        index = np.clip(np.searchsorted(places, along, side="right") - 1, 0, len(places) - 2)
        size = places[index + 1] - places[index]
        t = (along - places[index]) / size
        a, b, c, d = amounts[index], amounts[index + 1], slopes[index] * size, slopes[index + 1] * size
        value = (2 * t**3 - 3 * t**2 + 1) * a + (t**3 - 2 * t**2 + t) * c + (3 * t**2 - 2 * t**3) * b
        value += (t**3 - t**2) * d
        slope = (6 * t**2 - 6 * t) * (a - b) + (3 * t**2 - 4 * t + 1) * c + (3 * t**2 - 2 * t) * d
        return value, slope / size

    return at


def _slopes(places: FloatArray, amounts: FloatArray, fixed: set[float]) -> FloatArray:
    """Slopes of the cubic spline through the points: level where the edge is fixed, smooth in bend elsewhere."""
    count, gaps = len(places), np.diff(places)
    matrix, right = np.eye(count), np.zeros(count)
    rises = np.diff(amounts) / gaps
    for i in range(1, count - 1):
        if float(places[i]) not in fixed:
            matrix[i, i - 1 : i + 2] = gaps[i], 2 * (gaps[i - 1] + gaps[i]), gaps[i - 1]
            right[i] = 3 * (gaps[i] * rises[i - 1] + gaps[i - 1] * rises[i])
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
