"""What was answered about the edges of a piece, kept where a corner is set or taken away: edges get other numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence

from app.tracing.building import SetCorner, index_of
from app.tracing.corners_by_hand import KEY, NEAR_MM, Changed, changed, corner_row, rows_of
from app.tracing.questions import Answers
from app.tracing.tracing import Traced, TracedPiece
from geometry.errors import PatternError
from geometry.motions import Point
from geometry.pieces import EdgeKind

_KINDS = frozenset(kind.value for kind in EdgeKind)


def corner_changes(traced: Traced, answers: Answers, at: Point, *, wanted: bool) -> dict[str, str | None]:
    """The answers that change when a corner is set at a place of the file (mm), or taken away.

    Raises PatternError where it cannot be.
    """
    piece = min(traced.pieces, key=lambda one: _away(one, at))
    if _away(piece, at) > NEAR_MM:
        raise PatternError(f"A corner stands on an outline, no further than {NEAR_MM:g} mm beside it.")
    own = piece.drawn.id
    if any(own in side.rpartition(":")[0] for row in answers.get("join", "").split("\n") for side in row.split("=")):
        raise PatternError(
            f"“{piece.piece.name}” is joined of two parts; take the joining back, set the corner, and join them again.",
            own,
        )
    place = piece.lies.undone().point(at)
    made = changed(piece.drawn, SetCorner(place, wanted))
    row = corner_row(traced.found, piece.lies.point(made.drawn.corners[-1].point), wanted=wanted)
    rows = answers.get(KEY)
    return {KEY: f"{rows}\n{row}" if rows else row, **_renumbered(piece, made, answers)}


def moved_corners(traced: Traced, answers: Answers, start: Point, to: Point) -> dict[str, str | None]:
    """The answers that change when a place of the outline is moved (mm): a corner that was set by hand goes along."""
    rows = answers.get(KEY, "").split("\n")
    places = rows_of(traced.found, answers)
    there = [
        corner_row(traced.found, to, wanted=wanted) if wanted and math.dist(point, start) <= 1e-3 else row
        for row, (wanted, point) in zip(rows, places, strict=False)
    ]
    return {KEY: "\n".join(there)} if places and there != rows else {}


def _away(piece: TracedPiece, at: Point) -> float:
    place = piece.lies.undone().point(at)
    return min(edge.whole.nearest(place)[1] for edge in piece.drawn.edges)


def _renumbered(piece: TracedPiece, made: Changed, answers: Answers) -> dict[str, str | None]:
    own, places = piece.drawn.id, made.places
    found: dict[str, str | None] = {}
    if (edges := answers.get(f"edges:{own}")) is not None:
        found[f"edges:{own}"] = _kinds(piece, made, edges)
    if (called := answers.get(f"called:{own}")) is not None:
        names: dict[int, str] = {}
        for word, name in _pairs(piece, called.split("\n")):
            names[_longest(made, places[word])] = name
        found[f"called:{own}"] = "\n".join(f"{i + 1}={name}" for i, name in sorted(names.items())) or None
    fold = answers.get(f"fold:{own}", "none")
    if fold != "none":
        there = places[index_of(piece.drawn, fold)]
        alone = len(there) == 1 and places.count(there) == 1
        found[f"fold:{own}"] = f"{there[0] + 1}" if alone else None
    if (allowance := answers.get(f"allowance:{own}")) is not None:
        found[f"allowance:{own}"] = ", ".join(_widths(piece, made, allowance))
    return found


def _kinds(piece: TracedPiece, made: Changed, edges: str) -> str | None:
    """The kinds that were answered; of an edge that has a true corner now, both halves are asked about again."""
    kinds: dict[int, str] = {}
    rows = _pairs(piece, edges.split(","))
    for i, kind in sorted(rows, key=lambda row: piece.drawn.edges[row[0]].whole.length):
        if len(made.places[i]) == 1 or not made.anew:
            kinds.update(dict.fromkeys(made.places[i], kind))
    return ",".join(f"{i + 1}={kind}" for i, kind in sorted(kinds.items())) or None


def _widths(piece: TracedPiece, made: Changed, allowance: str) -> list[str]:
    found = []
    for part in (one.strip() for one in allowance.split(",") if one.strip()):
        word, equals, width = part.rpartition("=")
        if not equals or word.strip().lower() in _KINDS:
            found.append(part)
        else:
            found += [f"{there + 1}={width}" for there in made.places[index_of(piece.drawn, word)]]
    return found


def _pairs(piece: TracedPiece, rows: Sequence[str]) -> list[tuple[int, str]]:
    split = [row.partition("=") for row in rows if row.strip()]
    return [(index_of(piece.drawn, word), value.strip()) for word, _, value in split]


def _longest(made: Changed, places: Sequence[int]) -> int:
    return max(places, key=lambda i: made.drawn.edges[i].whole.length)
