"""Carrying places back to the piece as traced, where two pieces meet, and which lengths are called out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from app.carrying_back import carried_back, motion_back
from app.changed_lengths import changed_lengths, said_alike
from app.meeting import AS_THE_PAPER_LIES, meeting_places
from geometry.alterations import find
from geometry.following import follow
from geometry.garments import Garment
from geometry.lines import straight
from geometry.notes import Note, Target
from geometry.pieces import EdgeKind
from tests.canon import edge, front, leaning, piece, sleeve


def note(note_id: str, alteration: str, *targets: Target, **values: object) -> Note:
    return Note(note_id, alteration, find(alteration).checked(values), targets)


MANY = (
    note("n1", "shorten_or_lengthen", Target("front"), amount=25.0),
    note("n2", "armhole_too_low", Target("front"), amount=6.0),
    note("n3", "armhole_gapes", Target("front"), amount=8.0),
    note("n4", "shorten_or_lengthen", Target("front"), amount=12.0, way="lengthen", side="towards the hem"),
)


def test_every_corner_is_carried_back_to_where_it_was_traced() -> None:
    """Through a tuck, another, a wedge turned into the dart and a strip put in: within 1e-6 mm."""
    traced = front(with_dart=True)
    followed = follow(Garment("g", "g", (traced,)), MANY)
    assert all(step.done for step in followed.steps)
    now = followed.garment.piece("front")
    back = carried_back(np.array([one.start for one in now.edges]), followed.steps, "front")
    for found, was in zip(back, (one.start for one in traced.edges), strict=True):
        assert math.dist(found, was) < 1e-6
    assert max(math.dist(a.start, b.start) for a, b in zip(now.edges, traced.edges, strict=True)) > 20.0


def test_the_motion_back_is_the_one_of_the_part_that_holds_the_place() -> None:
    followed = follow(Garment("g", "g", (front(with_dart=True),)), MANY[:1])
    assert motion_back((50.0, 100.0), followed.steps, "front").stays
    up = motion_back((50.0, 400.0), followed.steps, "front")
    assert (up.e, up.f) == pytest.approx((0.0, 25.0), abs=1e-9)


def test_a_strip_put_in_closes_up_when_it_is_carried_back() -> None:
    """Lengthened by 20 at the line at 180: what lies above comes down by 20, what lies below stays."""
    garment = Garment("g", "g", (leaning(),))
    followed = follow(garment, [note("n", "shorten_or_lengthen", Target("panel"), way="lengthen", amount=20.0)])
    points = carried_back(np.array([(50.0, 300.0), (50.0, 100.0)]), followed.steps, "panel")
    assert points == pytest.approx(np.array([(50.0, 280.0), (50.0, 100.0)]), abs=1e-9)


def test_a_piece_that_no_note_touched_is_carried_nowhere() -> None:
    followed = follow(Garment("g", "g", (front(with_dart=True), sleeve())), MANY)
    points = np.array([(10.0, 20.0), (0.0, 500.0)])
    assert np.array_equal(carried_back(points, followed.steps, "sleeve"), points)


def test_two_fronts_meet_at_the_neck_point_unless_another_place_is_picked() -> None:
    followed = follow(Garment("g", "g", (front(),)), MANY[:2])
    traced, now = front(), followed.garment.piece("front")
    places = meeting_places(traced, now)
    assert places[0].name == "neck point"
    assert places[0].motion.point(now.edge("neck").start) == pytest.approx(traced.edge("neck").start)
    names = [place.name for place in places]
    assert {"shoulder tip", "underarm", "side at the hem", "fold at the hem", "fold at the neck", "waist"} <= set(names)
    assert names[-1] == AS_THE_PAPER_LIES and places[-1].motion.stays
    assert len(set(names)) == len(names)


def test_a_sleeve_meets_at_its_cap_notch_and_a_skirt_at_the_waist() -> None:
    assert meeting_places(sleeve(), sleeve())[0].name == "shoulder notch"
    assert meeting_places(leaning(), leaning())[0].name == "fold at the waist"


def test_a_piece_of_no_known_kind_meets_at_its_first_corner() -> None:
    patch = piece(
        "patch",
        edge("one", EdgeKind.OTHER, straight((0, 0), (50, 0))),
        edge("two", EdgeKind.OTHER, straight((50, 0), (0, 40))),
        edge("three", EdgeKind.OTHER, straight((0, 40), (0, 0))),
    )
    assert meeting_places(patch, patch)[0].name == "three and one"


def test_the_changed_lengths_are_those_worked_by_hand() -> None:
    """A panel leaning 10 degrees, 400 high, shortened by 25.4: fold 374.6; the side jogs by 25.4 tan 10 = 4.479."""
    garment = Garment("g", "g", (leaning(),))
    now = follow(garment, [note("n", "shorten_or_lengthen", Target("panel"), amount=25.4)]).garment.piece("panel")
    found = {changed.edge: changed for changed in changed_lengths(leaning(), now)}
    assert set(found) == {"side", "fold"}, "hem and waist keep their length"
    assert (found["fold"].was, found["fold"].now) == pytest.approx((400.0, 374.6))
    assert found["fold"].words("cm") == "fold 37.5 cm (was 40.0)"
    assert not found["side"].half


def test_an_edge_that_meets_the_fold_is_said_by_half_or_opened_whole() -> None:
    wide = leaning(height=400.0)
    narrow = leaning(degrees=8.0, height=400.0)
    hem = next(changed for changed in changed_lengths(wide, narrow) if changed.edge == "hem")
    assert hem.half
    assert hem.words("cm").startswith("half hem ") and hem.words("cm", opened=True).startswith("hem ")
    assert hem.words("cm", opened=True) == f"hem {hem.now / 5:.1f} cm (was {hem.was / 5:.1f})"


def test_nothing_is_called_out_when_nothing_changed() -> None:
    assert changed_lengths(front(), front()) == ()


@pytest.mark.parametrize(
    ("now", "was", "units", "said"),
    [
        (399.0, 424.0, "cm", ("39.9", "42.4")),
        (399.0, 400.2, "cm", ("39.9", "40.0")),
        (399.10, 399.45, "cm", ("39.91", "39.95")),
        (254.0, 279.4, "in", ("10", "11")),
        (15.875, 12.7, "in", ("5/8", "1/2")),
        (41.275, 38.1, "in", ("1 5/8", "1 1/2")),
        (254.0, 254.8, "in", ("10", "10 1/32")),
    ],
)
def test_two_lengths_are_said_to_a_mark_finer_than_what_they_differ_by(
    now: float, was: float, units: str, said: tuple[str, str]
) -> None:
    """An inch is 25.4 mm exactly (international yard and pound agreement, 1959)."""
    assert said_alike(now, was, units) == said
