"""Places on a piece are said from the nearer corner along the edge they lie on, worked by hand on straight edges."""

from __future__ import annotations

import pytest

from geometry.lines import straight
from geometry.motions import Point
from geometry.pieces import EdgeKind, Piece
from tests.canon import edge, front, piece


def straight_front() -> Piece:
    """A front of straight edges: hem 250 wide, side 400 high, armhole, shoulder, neck, fold."""
    corners: list[Point] = [(0, 0), (250, 0), (250, 400), (200, 580), (80, 620), (0, 560)]
    kinds = [
        ("hem", EdgeKind.HEM),
        ("side seam", EdgeKind.SIDE),
        ("armhole", EdgeKind.ARMHOLE),
        ("shoulder seam", EdgeKind.SHOULDER),
        ("neckline", EdgeKind.NECKLINE),
        ("centre front", EdgeKind.CENTRE_FRONT),
    ]
    following = [*corners[1:], corners[0]]
    lines = zip(kinds, corners, following, strict=True)
    return piece("front", *(edge(name, kind, straight(a, b)) for (name, kind), a, b in lines))


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((250, 360), "about 40 mm from the underarm corner along the side seam"),
        ((250, 30), "about 30 mm from the hem along the side seam"),
        ((100, -15), "about 100 mm from the centre front along the hem"),
        ((266, 398), "at the underarm corner"),
        ((200, 580), "at the shoulder tip"),
        ((82, 623), "at the neck point"),
        ((-3, -3), "at the corner of the hem and the centre front"),
        # 30 along the shoulder from its tip, the way being (-120, 40) / 126.49, and 5 beside it.
        ((200 - 30 * 0.94868 + 5 * 0.31623, 580 + 30 * 0.31623 + 5 * 0.94868),
         "about 30 mm from the shoulder tip along the shoulder seam"),
        # Midway it is said from where the edge starts.
        ((250, 200), "about 200 mm from the hem along the side seam"),
    ],
)  # fmt: skip
def test_a_place_is_said_from_the_nearer_corner(place: Point, words: str) -> None:
    assert straight_front().where(place) == words


def test_the_mouth_of_a_dart_does_not_count() -> None:
    darted = front(with_dart=True)
    side = next(one for one in darted.edges if one.kind is EdgeKind.SIDE)
    last = side.runs[-1].chain
    place = last.point(last.at_length(last.length - 20))
    assert darted.where(place) == f"about 20 mm from the underarm corner along the {side.name}"
    first = side.runs[0].chain
    place = first.point(first.at_length(first.length - 2))
    # Both sewn lines of the side, one after the other without the mouth: worked from the lengths of its runs.
    at, whole = first.length - 2, first.length + last.length
    nearer = f"{at:.0f} mm from the hem" if at <= whole - at else f"{whole - at:.0f} mm from the underarm corner"
    assert darted.where(place) == f"about {nearer} along the {side.name}"
