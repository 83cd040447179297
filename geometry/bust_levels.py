"""The bust line of a front whose bust point a note moved: level again, as far from the bust point as it was."""

from __future__ import annotations

from dataclasses import replace

from geometry.bust_slashes import Slashes
from geometry.lines import straight
from geometry.motions import Point
from geometry.pieces import Line, LineKind, Piece
from geometry.tolerances import MEET_MM

#: An end of a level line this near to the outline stands on it (mm).
_ON_OUTLINE_MM = 5.0


def bust_line_levelled(old: Piece, new: Piece, line: Line, plan: Slashes) -> Line:
    """A bust line that was level, drawn level at the new bust point's height; ``line`` is the one on the new piece.

    Its ends stand as near to the outline as they did. A line that leaned, or that ended inside the piece, stays as the
    paper carried it.
    """
    was = next((one.chain for one in old.lines if one.id == line.id), None)
    if line.kind is not LineKind.BUST or was is None or not was.is_straight:
        return line
    frame, before = plan.frame, plan.where.apex
    height = frame.height(was.start)
    if abs(frame.height(was.end) - height) > MEET_MM:
        return line
    after = plan.full if plan.opens else plan.small
    level = frame.height(after) + height - frame.height(before)
    ends = []
    for end, carried in ((was.start, line.chain.start), (was.end, line.chain.end)):
        here, there = _met(old, end, plan), _met(new, frame.at(frame.across(carried), level), plan)
        if here is None or there is None:
            return line
        ends.append(frame.at(there + frame.across(end) - here, level))
    return replace(line, chain=straight(*ends))


def _met(piece: Piece, point: Point, plan: Slashes) -> float | None:
    """How far across the level of a point meets the outline nearest to it, None where that is far from it."""
    frame, across = plan.frame, plan.frame.across(point)
    found = [frame.across(e.chain.point(u)) for e in piece.edges for u in e.chain.crossings(point, frame.out)]
    nearest = min(found, key=lambda one: abs(one - across), default=None)
    return None if nearest is None or abs(nearest - across) > _ON_OUTLINE_MM else nearest
