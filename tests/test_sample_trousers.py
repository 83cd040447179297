"""The sample trousers: size and ease, seams that walk, a crotch line that runs on, legs that hang along the grain."""

from __future__ import annotations

import math

import pytest

from geometry.joints import turn_deg
from geometry.moves import dart_mouth
from geometry.pieces import Finish, LineKind
from geometry.pipeline import draft
from tests.sample_measures import INCH, SAMPLES, angle, bends, edge_of, sewn, width_at

TROUSERS = SAMPLES["trousers"]
LEGS = ("front", "back")


def test_they_fit_the_published_size_with_the_ease_of_a_handbook() -> None:
    # Published envelope table, misses 14: waist 28, hip 38 in. Robinson, costume construction text, ch. 16, Central
    # Washington University: wearing ease 3/4 to 1 in at the waist, 2 to 2 3/4 in at the hip.
    hip = 2 * (width_at(TROUSERS, "front.hip") + width_at(TROUSERS, "back.hip"))
    band = 2 * sewn(TROUSERS, "waistband.waist")
    assert 2.0 <= hip / INCH - 38.0 <= 2.75 and hip == pytest.approx(40.0 * INCH, abs=1e-6)
    assert 0.75 <= band / INCH - 28.0 <= 1.0 + 1e-9 and band == pytest.approx(29.0 * INCH, abs=1e-6)


def test_every_seam_walks_and_only_the_waist_is_eased() -> None:
    drafted = draft(TROUSERS, ())
    assert drafted.findings == ()
    assert {walked.seam: walked.verdict for walked in drafted.after if walked.verdict != "true"} == {"waist": "ease"}
    assert all(corner.runs_on for corner in drafted.corners)
    for edge in ("side", "inseam"):
        assert sewn(TROUSERS, f"front.{edge}") == pytest.approx(sewn(TROUSERS, f"back.{edge}"), abs=1e-4)


def test_the_crotch_line_runs_on_from_front_to_back_without_a_wobble() -> None:
    # Conover, A Complete Course in Dressmaking, 1921-22, vol. 9 p. 22: joined edges form one smooth line.
    assert angle(TROUSERS, "front.inseam") + angle(TROUSERS, "back.inseam") == pytest.approx(180.0, abs=1.0)
    for name in LEGS:
        assert len(bends(edge_of(TROUSERS, f"{name}.crotch").chain)) == 1


@pytest.mark.parametrize("name", LEGS)
def test_the_legs_of_the_dart_are_equal_and_the_waist_runs_on_when_it_is_sewn(name: str) -> None:
    piece = TROUSERS.piece(name)
    (dart,) = piece.darts
    edge = piece.edge(dart.edge)
    mouth = dart_mouth(edge, dart.id)
    first, second = (math.dist(end, dart.sewn_point) for end in (mouth.start, mouth.end))
    assert first == pytest.approx(second, abs=1e-5)
    arriving, leaving = edge.runs[0].chain.end_tangent, edge.runs[2].chain.start_tangent
    legs = [(dart.sewn_point[0] - end[0], dart.sewn_point[1] - end[1]) for end in (mouth.start, mouth.end)]
    assert turn_deg(arriving, legs[0]) == pytest.approx(turn_deg(leaving, legs[1]), abs=0.01)


@pytest.mark.parametrize("name", LEGS)
def test_the_crease_runs_along_the_grain_and_halves_the_leg(name: str) -> None:
    # Common practice, no source.
    piece = TROUSERS.piece(name)
    grain, hem = piece.line(LineKind.GRAIN), piece.edge(f"{name}.hem").chain
    assert grain is not None and grain.chain.start[0] == grain.chain.end[0] == 0.0
    assert hem.start[0] == pytest.approx(-hem.end[0], abs=1e-6)


def test_the_hem_of_trousers_is_five_eighths_to_one_and_a_quarter_inches() -> None:
    # American Sewing Guild, hem table.
    assert 0.625 <= TROUSERS.widths[Finish.HEM_TWICE] / INCH <= 1.25
