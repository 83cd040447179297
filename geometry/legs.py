"""The legs of trousers: where knee and crotch lie on their seams, and both seams drawn anew from level to level."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.joined_pieces import only_edge
from geometry.pieces import EdgeKind, Piece
from geometry.seam_levels import HIP, level_place, places_of, seam_through, upright

#: The knee stands this part of the way up from hem to crotch: common practice, no source.
KNEE_SHARE = 0.56


@dataclass(frozen=True)
class LegLevels:
    """Places (mm, as a shift outward counts them) of a leg's seams: on the side hip, crotch, knee and foot; on the
    inseam crotch, knee and foot."""

    side: tuple[float, float, float, float]
    inseam: tuple[float, float, float]


def leg_levels(piece: Piece) -> LegLevels:
    """The levels of a leg; raises PatternError where it has no side seam or no inseam."""
    side = upright(piece, only_edge(piece, EdgeKind.SIDE).id)
    inseam = upright(piece, only_edge(piece, EdgeKind.INSEAM).id)
    top, foot = places_of(inseam)
    side_top, side_foot = places_of(side)
    knee = foot + KNEE_SHARE * (top - foot)
    # The same levels counted along the side's own outward direction, which is the inseam's the other way round.
    sense = (side_top - side_foot) / abs(side_top - side_foot) * (top - foot) / abs(top - foot)
    crotch, side_knee = sense * top, sense * knee
    hip = level_place(side, HIP)
    hip = hip if hip is not None else crotch + 0.3 * (side_top - crotch)
    return LegLevels((hip, crotch, side_knee, side_foot), (top, knee, foot))


def leg_changed(piece: Piece, crotch: float, knee: float, foot: float) -> Piece:
    """The piece with side and inseam let out (taken in when negative) by mm at crotch, knee and foot, each.

    On the side the change runs to nothing at the hip; at the crotch point it carries the crotch line along.
    """
    levels = leg_levels(piece)
    hip, level, side_knee, side_foot = levels.side
    side_id, inseam_id = (only_edge(piece, kind).id for kind in (EdgeKind.SIDE, EdgeKind.INSEAM))
    piece = seam_through(piece, side_id, {hip: 0.0, level: crotch, side_knee: knee, side_foot: foot})
    _, inner_knee, inner_foot = levels.inseam
    return seam_through(piece, inseam_id, {inner_knee: knee, inner_foot: foot}, crotch)


def crotch_point_moved(piece: Piece, outward: float) -> Piece:
    """The piece with its crotch point moved out (in when negative) by mm, the inseam drawn to nothing at the knee."""
    inseam_id = only_edge(piece, EdgeKind.INSEAM).id
    _, knee, foot = leg_levels(piece).inseam
    return seam_through(piece, inseam_id, {knee: 0.0, foot: 0.0}, outward)
