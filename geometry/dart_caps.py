"""The shaped dart end: the bent edge across a dart that makes the seam one line when the dart is closed."""

from __future__ import annotations

import math

from geometry.crossings import lengthened, snapped
from geometry.errors import PatternError
from geometry.joints import brought_to
from geometry.lines import Chain, joined, straight
from geometry.motions import Point, mirror
from geometry.pieces import Dart, Edge, Piece, RunKind

#: A seam line is followed at most this many mouths under the folded dart.
_REACH = 4.0


def mouth_index(piece: Piece, dart: Dart) -> int:
    """The index of the run of its edge that is the dart's mouth."""
    return next(i for i, run in enumerate(piece.edge(dart.edge).runs) if run.dart == dart.id)


def dart_cap(piece: Piece, dart: Dart) -> Chain:
    """The stitching line across a dart's mouth, from mouth start to mouth end, with its peak on the dart's fold.

    Found as on paper: the dart is closed and pressed towards ``fold_to``, the seam line on that side is followed
    across the folded dart, and the dart is opened again. Raises PatternError where the seam line does not cross
    the fold of the dart.
    """
    edge, index = piece.edge(dart.edge), mouth_index(piece, dart)
    mouth = edge.runs[index].chain
    if dart.fold_to == "start":
        return _cap(piece, dart, mouth.start, mouth.end, _seam_from(edge, index, -1))
    return _cap(piece, dart, mouth.end, mouth.start, _seam_from(edge, index, 1)).backwards()


def _seam_from(edge: Edge, index: int, step: int) -> Chain:
    """The seam line leading away from one end of a mouth; the mouth run straight on where the edge ends there."""
    at = index + step
    if 0 <= at < len(edge.runs) and edge.runs[at].kind is not RunKind.MOUTH:
        line = edge.runs[at].chain
        return line if step > 0 else line.backwards()
    mouth = edge.runs[index].chain
    (x0, y0), (x1, y1) = (mouth.start, mouth.end) if step > 0 else (mouth.end, mouth.start)
    return straight((x1, y1), (2 * x1 - x0, 2 * y1 - y0))


def _cap(piece: Piece, dart: Dart, near: Point, far: Point, seam: Chain) -> Chain:
    apex = dart.sewn_point
    fold = _fold_direction(apex, near, far)
    leg = (near[0] - apex[0], near[1] - apex[1])
    reach = _REACH * math.dist(near, far)
    under = lengthened(seam, after=max(0.0, reach - seam.length)).moved(mirror(near, leg))
    found = [u for u in under.crossings(apex, fold) if u > 1e-9 and _ahead(apex, fold, under.point(u))]
    if not found:
        raise PatternError(
            f"The end of dart “{dart.name}” of “{piece.name}” cannot be shaped: the seam misses the dart's fold.",
            piece.id,
            dart.edge,
            near,
        )
    first = under.part(0.0, snapped(under, found[0]))
    return joined([first, brought_to(first.backwards().moved(mirror(apex, fold)), far)])


def _fold_direction(apex: Point, near: Point, far: Point) -> Point:
    """Half way between the two legs."""
    a, b = math.dist(apex, near), math.dist(apex, far)
    return (
        (near[0] - apex[0]) / a + (far[0] - apex[0]) / b,
        (near[1] - apex[1]) / a + (far[1] - apex[1]) / b,
    )


def _ahead(apex: Point, direction: Point, point: Point) -> bool:
    return (point[0] - apex[0]) * direction[0] + (point[1] - apex[1]) * direction[1] > 0
