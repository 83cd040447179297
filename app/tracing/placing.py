"""A piece put where it lies in its garment: lower left corner at 0, 0, right side up; other sizes in the same frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from geometry.motions import Motion, Point, mirror, slide
from geometry.pieces import Edge, Piece, Place


def placed(piece: Piece, frame: Piece, *, wrong_side_up: bool) -> Piece:
    """The piece slid so that the lower left corner of ``frame``, itself or another size of it, is at 0, 0.

    Where it was drawn wrong side up both are turned over across the middle of ``frame``.
    """
    x, y = _lower_left(frame.edges)
    slid = moved(piece, slide(-x, -y))
    return turned_over(slid, frame.middle[0] - x) if wrong_side_up else slid


def _lower_left(edges: Sequence[Edge]) -> Point:
    boxes = [edge.chain.box for edge in edges]
    return (min(box[0] for box in boxes), min(box[1] for box in boxes))


def moved(piece: Piece, motion: Motion) -> Piece:
    """The piece slid or turned as a whole."""
    return replace(
        piece,
        edges=tuple(
            replace(edge, runs=tuple(replace(run, chain=run.chain.moved(motion)) for run in edge.runs))
            for edge in piece.edges
        ),
        marks=tuple(replace(mark, point=motion.point(mark.point)) for mark in piece.marks),
        darts=tuple(
            replace(d, bust_point=motion.point(d.bust_point), sewn_point=motion.point(d.sewn_point))
            for d in piece.darts
        ),
        lines=tuple(replace(line, chain=line.chain.moved(motion)) for line in piece.lines),
    )


def turned_over(piece: Piece, x: float) -> Piece:
    """The piece seen from its other side, mirrored across the upright at ``x``; edges keep their ids."""
    motion = mirror((x, 0.0), (0.0, 1.0))
    edges = []
    for edge in reversed(piece.edges):
        runs = tuple(replace(run, chain=run.chain.backwards().moved(motion)) for run in reversed(edge.runs))
        edges.append(replace(edge, runs=runs, joints=edge.joints[::-1], at_start=edge.at_end, at_end=edge.at_start))
    notches = tuple(replace(notch, place=_turned_place(piece, notch.place)) for notch in piece.notches)
    corners = tuple(reversed(piece.corners))
    return replace(
        piece,
        edges=tuple(edges),
        corners=(corners[-1], *corners[:-1]),
        notches=notches,
        marks=tuple(replace(mark, point=motion.point(mark.point)) for mark in piece.marks),
        darts=tuple(
            replace(
                d,
                bust_point=motion.point(d.bust_point),
                sewn_point=motion.point(d.sewn_point),
                fold_to="end" if d.fold_to == "start" else "start",
            )
            for d in piece.darts
        ),
        lines=tuple(replace(line, chain=line.chain.moved(motion)) for line in piece.lines),
    )


def _turned_place(piece: Piece, place: Place) -> Place:
    runs = piece.edge(place.edge).runs
    return Place(place.edge, len(runs) - 1 - place.run, len(runs[place.run].chain) - place.u)
