"""Marks placed by clicks in the picture: what is to be clicked, and the answer that follows."""

from __future__ import annotations

import math
from collections.abc import Sequence

from app.tracing.found import Found
from app.tracing.placed_marks import DOT, NOTCH, mark_words, placed
from app.tracing.questions import Answers
from app.window.trace_side import TAKE_AWAY
from geometry.motions import Point


def mark_sentences(kind: str) -> list[str]:
    """What is to be clicked for a mark, a sentence for each point."""
    if kind == TAKE_AWAY:
        return ["Click the mark that is to go; only those that you placed can be taken away."]
    if kind == NOTCH:
        return ["Click the edge where the notch stands."]
    if kind == DOT:
        return ["Click where the dot stands."]
    return [f"Click one end of the {kind}.", f"Click the other end of the {kind}."]


def marked(found: Found, answers: Answers, kind: str, points: Sequence[Point]) -> list[str]:
    """The rows of the answer “marks” with one more mark at points in mm, or without the one nearest to the point."""
    rows = [row for row in answers.get("marks", "").split("\n") if row.strip()]
    if kind != TAKE_AWAY:
        return [*rows, mark_words(found, kind, points)]
    away = [min(math.dist(points[0], point) for point in there) for _, there in placed(found, answers)]
    if rows:
        del rows[away.index(min(away))]
    return rows
