"""What was moved by hand on a photo is said, asked about, and part of the error that is stated."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from app.tracing.building import Drawn
from app.tracing.found import Found
from app.tracing.questions import Answers, Question, settled
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.motions import Motion
from geometry.units import read_length

#: How well a line is set by hand on a photo (common practice, no source), and what may be answered instead (mm).
SET_MM, LEAST_SET_MM, MOST_SET_MM = 0.5, 0.05, 5.0
#: The error is stated so many times as large as it is expected to be, as a photo's own is.
SAFE = 1.4
#: No outline is taken that states a larger error (mm).
MOST_ERROR_MM = 1.0
#: A moved point belongs to the edge that lies within this of it (mm).
_ON_EDGE_MM = 2.0


def set_by_hand(
    drawn: Drawn, names: Sequence[str], found: Found, lies: Motion, answers: Answers
) -> tuple[Question, float, Finding]:
    """How exactly the moved part is set, as a question; the error (mm) stated for the whole; and where it was moved.

    names: those of the drawn edges, in order. Raises PatternError for an answer that is no length, and where the error
    would be too large.
    """
    by_hand = drawn.raw.outline.line.by_hand
    assert by_hand is not None
    where = _edges(drawn, names, lies)
    says = f"{by_hand.length_mm:.0f} mm of the outline ({where}) were moved by hand, by up to {by_hand.most_mm:.1f} mm."
    asks = f"{says} Within how much are they right?"
    asked = Question(f"by-hand:{drawn.id}", asks, f"{SET_MM:g} mm", "--by-hand", piece=drawn.id)
    question = settled(asked, answers)
    exact = read_length(question.answer).mm
    if not LEAST_SET_MM <= exact <= MOST_SET_MM:
        limits = f"{LEAST_SET_MM:g} and {MOST_SET_MM:g} mm"
        raise PatternError(f"A line is set by hand within something between {limits}, not {exact:g} mm.", drawn.id)
    error = math.hypot(found.error_mm, SAFE * exact * math.sqrt(by_hand.share))
    if error > MOST_ERROR_MM:
        raise PatternError(
            f"The outline would only be right to {error:.1f} mm, so it is not taken; set it more exactly, or "
            "photograph again.",
            drawn.id,
        )
    error = math.ceil(error * 1000) / 1000
    told = f"{says} The whole outline is stated right within {error:g} mm."
    return question, error, Finding("moved-by-hand", Level.NOTICE, told, drawn.id)


def _edges(drawn: Drawn, names: Sequence[str], lies: Motion) -> str:
    """The names of the edges that were moved."""
    by_hand = drawn.raw.outline.line.by_hand
    assert by_hand is not None
    lines = [shapely.LineString(edge.whole.moved(lies).flat[0]) for edge in drawn.edges]
    away = np.stack([shapely.distance(shapely.points(by_hand.points), line) for line in lines])
    nearest = away.argmin(axis=0)[away.min(axis=0) < _ON_EDGE_MM]
    return ", ".join(name for i, name in enumerate(names) if (nearest == i).any()) or "between its edges"
