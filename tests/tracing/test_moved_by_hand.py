"""An outline found on a photo, moved by hand: what moves and what stays, what is said, and the error that is stated."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from app.photo.flattening import Area
from app.photo.known_sizes import flat_view
from app.tracing.corner_finding import corners_of
from app.tracing.found import Found, FoundLine, FoundPicture
from app.tracing.moved_by_hand import Move, move_words, moved_line, with_moves
from app.tracing.tracing import trace
from geometry.errors import PatternError
from geometry.lines import Chain
from geometry.motions import FloatArray, Motion
from tests.photo_scenes import front_piece

#: Of the photo that the outline was found on (mm).
STATED = 0.03


def line() -> Chain:
    return front_piece().moved(Motion(e=300.0, f=400.0))


def found() -> Found:
    picture = np.zeros((8, 6, 3), np.uint8)
    view = flat_view(picture, Area(600.0, 800.0, 100.0))
    shown = FoundPicture(b"", (0.0, 0.0, 600.0, 800.0), view, True)
    return Found("photo", (FoundLine(line(), closed=True, name="Front"),), error_mm=STATED, picture=shown)


def off(one: Chain, points: FloatArray) -> FloatArray:
    return shapely.distance(shapely.points(points), shapely.LineString(one.flat[0]))


def evenly(one: Chain) -> FloatArray:
    return one.points(one.at_lengths(np.linspace(0.0, one.length, 4000, endpoint=False)))


def test_a_place_goes_where_it_is_taken_and_the_line_gives_on_both_sides_only() -> None:
    """The middle of the hollow armhole, 3 mm in and 40 mm to each side; no corner comes or goes."""
    before = line()
    armhole = before.part(2.0, 3.0)
    at = armhole.point(armhole.at_length(armhole.length / 2))
    after = moved_line(before, Move(at, (at[0] - 3.0, at[1]), 40.0))
    assert after.nearest((at[0] - 3.0, at[1]))[1] < 1e-6
    points = evenly(after)
    moved = off(before, points) > 0.01
    far = np.hypot(*(points - at).T) > 43.0
    assert moved.any() and not (moved & far).any()
    assert off(before, points).max() <= 3.0 + 1e-6
    assert len(corners_of(after)) == len(corners_of(before)) == 6
    assert after.start == after.end


def test_a_corner_takes_both_its_sides_and_a_straight_one_stays_straight() -> None:
    before = line()
    corner = before.point(1.0)
    to = (corner[0] + 2.0, corner[1] - 3.0)
    after = moved_line(before, Move(corner, to, 60.0))
    corners = [after.point(float(i)) for i in corners_of(after)]
    assert any(math.dist(one, to) < 1e-6 for one in corners) and len(corners) == 6
    hem = after.part(0.0, 1.0) if after.straight[0] else after.part(float(len(after) - 1), float(len(after)))
    assert hem.is_straight
    assert off(after, np.array([before.start])).max() < 1e-6, "the hem's other end stays"


def test_there_and_back_again_leaves_nothing_moved() -> None:
    here = found()
    at = line().part(1.0, 2.0).point(0.5)
    there = Move(at, (at[0] + 2.0, at[1]), 30.0)
    once = with_moves(here, {"moved": move_words(here, there)})
    assert once.lines[0].by_hand is not None and once.lines[0].by_hand.most_mm == pytest.approx(2.0, abs=0.1)
    back = Move(there.to, there.start, 30.0)
    again = with_moves(here, {"moved": "\n".join(move_words(here, one) for one in (there, back))})
    assert off(line(), evenly(again.lines[0].chain)).max() < 0.1


def test_what_was_moved_is_said_asked_and_part_of_the_error() -> None:
    """Worked by hand: a quarter of the outline set within 0.5 mm, stated 1.4 times, is 0.35 mm rms over all of it."""
    here = found()
    armhole = line().part(2.0, 3.0)
    at = armhole.point(armhole.at_length(armhole.length / 2))
    row = move_words(here, Move(at, (at[0] - 4.0, at[1]), 60.0))
    (piece,) = trace(here, {"moved": row}).pieces
    (finding,) = [one for one in piece.findings if one.code == "moved-by-hand"]
    assert "(armhole)" in finding.says and "up to 4.0 mm" in finding.says
    question = next(one for one in piece.questions if one.key == f"by-hand:{piece.piece.id}")
    assert question.by_default and question.answer == "0.5 mm" and question.option == "--by-hand"
    by_hand = piece.drawn.raw.outline.line.by_hand
    assert by_hand is not None and 60.0 < by_hand.length_mm < 120.0
    assert piece.error_mm == pytest.approx(math.hypot(STATED, 0.7 * math.sqrt(by_hand.share)), abs=0.002)
    (exact,) = trace(here, {"moved": row, f"by-hand:{piece.piece.id}": "0.2 mm"}).pieces
    assert STATED < exact.error_mm < piece.error_mm
    (plain,) = trace(here, {}).pieces
    assert plain.error_mm == STATED and not [one for one in plain.findings if one.code == "moved-by-hand"]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("up a little", "should be"),
        ("1,1=2,2", "should be"),
        ("0,0=1,1~x", "should be"),
        ("1.0.0,0=1,1~5", "should be"),
        ("3.1,3.9=3.1,3.8~30", "no outline"),
        ("4.5,1.9=0,1.9~40", "at most"),
    ],
)
def test_a_move_that_cannot_be_is_said(row: str, says: str) -> None:
    with pytest.raises(PatternError, match=says):
        with_moves(found(), {"moved": row})


def test_an_outline_that_would_cross_itself_and_a_drawing_are_refused() -> None:
    armhole = line().part(2.0, 3.0)
    at = armhole.point(armhole.at_length(armhole.length / 2))
    with pytest.raises(PatternError, match="cross itself"):
        moved_line(line(), Move(at, (at[0] - 400.0, at[1]), 40.0))
    drawing = Found("svg", (FoundLine(line(), closed=True),))
    with pytest.raises(PatternError, match="photo"):
        with_moves(drawing, {"moved": "1,1=2,2~30"})
