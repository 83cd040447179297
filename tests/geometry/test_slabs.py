"""Paper slid along a straight cut: where its outline is said to keep clear of itself, looking at it finds the same."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

import sample_pieces
from app.files.garment_file import open_file
from geometry import moves
from geometry.errors import PatternError
from geometry.lines import straight
from geometry.motions import Point, direction, slide
from geometry.pieces import EdgeKind, Piece
from geometry.regions import Band, Region
from geometry.slabs import keeps_clear
from tests.canon import edge, piece

NAMES = ("undershirt", "waistcoat", "funnel-neck", "skirt", "trousers")


def polygon(*points: Point) -> Piece:
    """A piece of straight edges through points, anticlockwise."""
    sides = enumerate(zip(points, points[1:] + points[:1], strict=True))
    return piece("one", *(edge(f"edge {i}", EdgeKind.OTHER, straight(a, b)) for i, (a, b) in sides))


def cut(through: Point, along: Point, strip: float, slid: Point) -> list[Region]:
    """What lies beyond a line slid, a strip beside the line taken out."""
    regions = [Region(Band(through, along, 0.0, strip), None)] if strip else []
    return [*regions, Region(Band(through, along, 0.0, math.inf), slide(*slid))]


class Asked:
    """What ``lay_together`` was told of each outline."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.answers = list[bool]()

        def asked(*given: object) -> bool:
            self.answers.append(keeps_clear(*given))  # type: ignore[arg-type]
            return self.answers[-1]

        monkeypatch.setattr(moves, "keeps_clear", asked)


def test_what_is_said_to_keep_clear_is_found_to_when_it_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    told, chance = Asked(monkeypatch), random.Random(11)
    pieces = [one for name in NAMES for one in open_file(sample_pieces.path(f"{name}.garment.json"))[0].garment.pieces]
    sure, tried = 0, 0
    for _ in range(400):
        given = chance.choice(pieces)
        x0, y0, x1, y1 = given.polygon.bounds
        through = (chance.uniform(x0, x1), chance.uniform(y0, y1))
        along = direction(chance.choice((0.0, 180.0, 90.0, chance.uniform(0, 360))))
        left, amount = (-along[1], along[0]), chance.uniform(0.01, 30.0)
        strip, aslant = chance.choice((0.0, amount)), chance.choice((0.0, chance.uniform(-20, 20)))
        size = -amount if strip else amount
        slid = (size * left[0] + aslant * along[0], size * left[1] + aslant * along[1])
        told.answers.clear()
        try:
            new = moves.lay_together(given, cut(through, along, strip, slid), "one", along).piece
        except PatternError:
            continue
        tried += 1
        if told.answers == [True]:
            sure += 1
            # Built anew it is checked as any piece is: closed, not crossing itself, anticlockwise, marks in place.
            assert replace(new).polygon.area > 0.0
    assert tried > 200 and sure > 0.4 * tried


def test_a_half_pushed_into_the_other_is_not_said_to_keep_clear(monkeypatch: pytest.MonkeyPatch) -> None:
    told = Asked(monkeypatch)
    # The upper half is narrower than the lower and would lie on it, its sides crossing nothing.
    given = polygon((0, 0), (100, 0), (100, 40), (60, 40), (60, 100), (40, 100), (40, 40), (0, 40))
    with pytest.raises(PatternError, match="crosses itself"):
        moves.lay_together(given, cut((0, 60), (1, 0), 0.0, (0.0, -40.0)), "one", (1, 0))
    assert told.answers == [False]


def test_two_legs_slid_into_each_other_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    told = Asked(monkeypatch)
    # A cut through both legs of an arch parts it at four places.
    given = polygon((0, 0), (30, 0), (30, 60), (70, 60), (70, 0), (100, 0), (100, 100), (0, 100))
    with pytest.raises(PatternError, match="crosses itself"):
        moves.lay_together(given, cut((0, 30), (1, 0), 0.0, (50.0, 0.0)), "one", (1, 0))
    assert told.answers == []


@pytest.mark.parametrize("slid", [0.0, 150.0])
def test_a_half_slid_past_the_other_is_not_said_to_keep_clear(slid: float, monkeypatch: pytest.MonkeyPatch) -> None:
    told = Asked(monkeypatch)
    given = polygon((0, 0), (100, 0), (100, 100), (0, 100))
    regions = cut((0, 50), (1, 0), 10.0, (slid, -10.0))
    area = moves.lay_together(given, regions, "one", (1, 0)).piece.polygon.area
    # Slid too far the two joints lie on each other, which rounding alone tells from a crossing.
    assert area == pytest.approx(9000.0) and told.answers == [not slid]


LEFT, RIGHT = ((0.0, 0.0), (1.0, 0.0)), ((99.0, 0.0), (100.0, 0.0))


def test_only_one_half_slid_straight_against_the_other_is_judged() -> None:
    taken, slid = cut((0, 0), (1, 0), 10.0, (0.0, -10.0))
    assert keeps_clear((taken, slid), (LEFT, RIGHT))
    assert not keeps_clear((taken, slid), (LEFT,)), "parted at one place"
    assert not keeps_clear((slid, taken), (LEFT, RIGHT)), "the strip lies in what is slid"
    assert not keeps_clear((taken, slid), (LEFT, LEFT)), "joints on each other"
    assert not keeps_clear((taken, slid), (((0.0, 0.0), (0.0, 2.0)), RIGHT)), "a joint off the cut"
    assert not keeps_clear((taken, replace(slid, motion=slide(0.0, -11.0))), (LEFT, RIGHT)), "slid too far"
    further = Region(Band((0, 20), (1, 0), 0.0, 10.0), None)
    assert not keeps_clear((further, slid), (LEFT, RIGHT)), "a strip somewhere else"
    below = Region(Band((0, 0), (1, 0), -math.inf, 10.0), slide(0.0, 10.0))
    shifted = tuple(tuple((x, y + 10.0) for x, y in ends) for ends in (LEFT, RIGHT))
    assert keeps_clear((taken, below), shifted)  # type: ignore[arg-type]
