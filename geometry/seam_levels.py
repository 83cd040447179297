"""A seam that runs up and down, by the levels of the body it passes: what is taken in or let out at each.

Taking in at the underarm or the crotch carries the armhole or the crotch line along, to nothing further up.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from geometry.cutting_lines import hem_side_normal, square_direction
from geometry.errors import PatternError
from geometry.motions import Motion, Point
from geometry.pieces import Edge, EdgeKind, LineKind, Piece, RunKind, neighbours
from geometry.shifting import edge_shifted, run_frames, shift_through

BUST, WAIST, HIP, HEM = "bust", "waist", "hip", "hem"
_LINES = {BUST: LineKind.BUST, WAIST: LineKind.WAIST, HIP: LineKind.HIP}
#: An edge above the seam that is carried along with its corner.
_CARRIED = (EdgeKind.ARMHOLE, EdgeKind.CAP, EdgeKind.CROTCH)
#: Edges above a seam that ends at the waist.
_WAISTS = (EdgeKind.WAIST, EdgeKind.BAND)
#: The height of a corner that is still to be found is settled to this (mm), in so many rounds at the most.
_SETTLED_MM, _ROUNDS = 1e-9, 12
#: It is carried over this share of its height.
_CARRIED_SHARE = 0.6
#: A seam leaning further from upright than this runs across (degrees).
_UPRIGHT_DEG = 60.0


@dataclass(frozen=True, eq=False)
class Upright:
    """A seam with its upper and lower end.

    ``outward`` is the unit direction square to the centre that leads out of the piece, ``up`` the one away from the
    hem; ``top_first`` is True when the edge starts at the top. ``above`` and ``below`` are the neighbouring edges.
    """

    piece: Piece
    edge: Edge
    outward: Point
    up: Point
    top_first: bool
    above: Edge
    below: Edge

    @property
    def top(self) -> Point:
        return self.edge.start if self.top_first else self.edge.end

    @property
    def foot(self) -> Point:
        return self.edge.end if self.top_first else self.edge.start

    def place(self, point: Point) -> float:
        """The place (mm) of a point as a shift outward counts it."""
        return self.outward[0] * point[1] - self.outward[1] * point[0]

    def frames(self) -> list[Motion]:
        return run_frames(self.piece, self.edge, self.fixed_end)

    @property
    def fixed_end(self) -> str:
        return "end" if self.top_first else "start"


def upright(piece: Piece, edge_id: str) -> Upright:
    """A seam that runs up and down; raises PatternError where it lies on the fold or runs across."""
    edge = piece.edge(edge_id)
    if edge.on_fold:
        raise PatternError(f"“{edge.name}” of “{piece.name}” lies on the fold; a fold is no seam.", piece.id, edge.id)
    across = square_direction(piece)
    chord = (edge.end[0] - edge.start[0], edge.end[1] - edge.start[1])
    side = across[0] * chord[1] - across[1] * chord[0]
    if abs(side) < math.cos(math.radians(_UPRIGHT_DEG)) * math.hypot(*chord):
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” runs across; name a seam that runs up and down.", piece.id, edge.id
        )
    outward = across if side > 0 else (-across[0], -across[1])
    middle = edge.chain.point(len(edge.chain) / 2)
    up = hem_side_normal(piece, middle, across)
    top_first = chord[0] * up[0] + chord[1] * up[1] < 0
    before, after = neighbours(piece, edge_id)
    above, below = (before, after) if top_first else (after, before)
    return Upright(piece, edge, outward, up, top_first, above, below)


def level_place(seam: Upright, level: str) -> float | None:
    """Where a seam passes a level of the body, as a place (mm); None where it does not.

    A level beyond a dart counts as at that dart's mouth, where the two meet when it is sewn.
    """
    line = seam.piece.line(_LINES[level])
    if line is None or not line.chain.is_straight:
        return None
    through, along = line.chain.start, line.chain.start_tangent
    for i, (run, frame) in enumerate(zip(seam.edge.runs, seam.frames(), strict=True)):
        found = [] if run.kind is RunKind.MOUTH else run.chain.crossings(through, along)
        if found and frame.stays:
            return seam.place(run.chain.point(found[0]))
        if found:
            near = seam.edge.runs[i + 1].chain.start if seam.top_first else seam.edge.runs[i - 1].chain.end
            return seam.place(frame.point(near))
    return None


def seam_changed(piece: Piece, edge_id: str, outward: Mapping[str, float]) -> Piece:
    """The piece with a seam let out (taken in when negative) by mm at levels, the edge between them drawn smoothly.

    ``outward`` has an entry for each of bust, waist, hip and hem. Levels with a line on the piece count even when
    nothing is changed there; a level without one is left out, and raises PatternError when it has an amount. At a
    hem the seam runs on as it came, so that a change of the hem alone is a flare; at the other end it keeps its
    direction and so its corner. At a waist the whole amount begins at the height of the corner that lies nearer the
    centre, the old one when let out and the new one when taken in, so that what was let out is taken in again.
    """
    seam = upright(piece, edge_id)
    top, foot = places_of(seam)
    at_top, at_foot = seam.above.kind in _WAISTS, seam.below.kind is EdgeKind.WAIST
    if outward[WAIST] >= 0 or not (at_top or at_foot):
        return _changed(seam, outward, top, foot)
    for _ in range(_ROUNDS):
        new = _changed(seam, outward, top, foot)
        was, (new_top, new_foot) = (top, foot), places_of(upright(new, edge_id))
        top, foot = new_top if at_top else top, new_foot if at_foot else foot
        if math.dist(was, (top, foot)) <= _SETTLED_MM:
            break
    return new


def _changed(seam: Upright, outward: Mapping[str, float], top: float, foot: float) -> Piece:
    """The piece with the seam changed, whole from the places (mm) ``top`` and ``foot`` on where those are its ends."""
    amounts: dict[float, float] = {}
    follow = [seam.above.id] if goes_along(seam) else []
    ends = {}
    if follow:
        amounts[carried_to(seam)] = 0.0
        ends[BUST] = amounts[top] = outward[BUST]
    elif seam.above.kind in _WAISTS:
        ends[WAIST] = amounts[top] = outward[WAIST]
    else:
        amounts[top] = 0.0
    foot_level = WAIST if seam.below.kind is EdgeKind.WAIST else HEM
    ends[foot_level] = amounts[foot] = outward[foot_level]
    _add_levels(seam, outward, amounts, ends)
    steep = [foot] if foot_level == HEM else []
    return edge_shifted(
        seam.piece, seam.edge.id, shift_through(seam.outward, amounts, steep), follow, seam.fixed_end
    )


def seam_through(
    piece: Piece, edge_id: str, amounts: Mapping[float, float], carried: float | None = None, steep_foot: bool = False
) -> Piece:
    """The piece with a seam let out (taken in when negative) by mm at places of its own; see ``Upright.place``.

    With ``carried`` the edge above the seam goes along with the corner by that much, to nothing further up.
    """
    seam = upright(piece, edge_id)
    top, foot = (seam.place(point) for point in _ends(seam))
    stations = dict(amounts)
    if carried is not None:
        stations |= {top: carried, carried_to(seam): 0.0}
    shift = shift_through(seam.outward, stations, [foot] if steep_foot else [])
    return edge_shifted(piece, edge_id, shift, [seam.above.id] if carried is not None else [], seam.fixed_end)


def places_of(seam: Upright) -> tuple[float, float]:
    """The places (mm) of a seam's top and foot, darts folded out."""
    top, foot = _ends(seam)
    return seam.place(top), seam.place(foot)


def _add_levels(
    seam: Upright, outward: Mapping[str, float], amounts: dict[float, float], ends: Mapping[str, float]
) -> None:
    for level in (BUST, WAIST, HIP):
        place = level_place(seam, level)
        if place is not None and all(abs(place - other) > 1.0 for other in amounts):
            amounts[place] = outward[level]
        elif place is None and outward[level] and level not in ends:
            raise PatternError(
                f"“{seam.edge.name}” of “{seam.piece.name}” passes no {_LINES[level]}; "
                f"leave the amount at the {level} at nothing.",
                seam.piece.id,
                seam.edge.id,
            )
    if HEM not in ends and outward[HEM]:
        raise PatternError(f"“{seam.edge.name}” of “{seam.piece.name}” reaches no hem.", seam.piece.id, seam.edge.id)


def _ends(seam: Upright) -> tuple[Point, Point]:
    """Top and foot of the seam with its darts folded out."""
    frames = seam.frames()
    top, foot = (frames[0], frames[-1]) if seam.top_first else (frames[-1], frames[0])
    return top.point(seam.top), foot.point(seam.foot)


def goes_along(seam: Upright) -> bool:
    """Whether the edge above the seam is carried along with its corner."""
    return seam.above.kind in _CARRIED


def carried_to(seam: Upright) -> float:
    """The place up to which the edge above the seam is carried along, darts folded out."""
    frames = seam.frames()
    frame = frames[0] if seam.top_first else frames[-1]
    corner = seam.place(frame.point(seam.top))
    places = [seam.place(frame.point((x, y))) for x, y in seam.above.chain.flat[0].tolist()]
    return corner + _CARRIED_SHARE * (max(places, key=lambda place: abs(place - corner)) - corner)
