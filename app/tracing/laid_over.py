"""What was found on a piece, where it lies in the file or picture: to be laid over that and looked at."""

from __future__ import annotations

from dataclasses import dataclass

from app.tracing.piece_questions import WRONG
from app.tracing.tracing import TracedPiece
from geometry.lines import Chain
from geometry.motions import Point


@dataclass(frozen=True, eq=False)
class SeenEdge:
    """An edge as it lies in the file, with its name, its kind and its length (mm) on the piece."""

    line: Chain
    name: str
    kind: str
    length_mm: float


@dataclass(frozen=True, eq=False)
class SeenPiece:
    """A piece's edges from corner to corner in the order of their numbers, its marks and its lines, all in mm of the
    file, y up; ``size_mm`` is width and height of the piece."""

    id: str
    name: str
    edges: tuple[SeenEdge, ...]
    notches: tuple[Point, ...]
    dots: tuple[Point, ...]
    lines: tuple[Chain, ...]
    size_mm: tuple[float, float]


def laid_over(traced: TracedPiece) -> SeenPiece:
    """A traced piece where it lies in its file."""
    piece, drawn, lies = traced.piece, traced.drawn, traced.lies
    over = any(one.key == f"up:{piece.id}" and one.answer == WRONG for one in traced.questions)
    # A piece that is turned over runs the other way round; its edges keep their names.
    named = piece.edges[::-1] if over else piece.edges
    edges = tuple(
        SeenEdge(edge.whole.moved(lies), one.name, one.kind.value, one.length)
        for edge, one in zip(drawn.edges, named, strict=True)
    )
    x0, y0, x1, y1 = piece.polygon.bounds
    return SeenPiece(
        piece.id,
        piece.name,
        edges,
        tuple(lies.point(point) for point, _ in drawn.notches),
        tuple(lies.point(mark.point) for mark in drawn.inside.marks),
        tuple(line.line.moved(lies) for line in drawn.inside.lines),
        (x1 - x0, y1 - y0),
    )


def lacking(traced: TracedPiece) -> tuple[str, ...]:
    """What a piece has not got that most have, one sentence each."""
    piece = traced.piece
    found = []
    if not any(line.kind.value == "grainline" for line in piece.lines) and not piece.on_fold:
        found.append(f"{piece.name} has no grainline; it is taken to stand upright as it is drawn.")
    if not piece.notches:
        found.append(f"{piece.name} has no notches.")
    nameless = sum(1 for edge in piece.edges if edge.kind.value == "other")
    if nameless:
        found.append(f"{piece.name} has edges that are called other; say what they are.")
    return tuple(found)
